//! Where the window of a load's current comes from, in words.

use super::expected::{Contribution, Expectation};
use super::input::Input;
use crate::quantity::unit::Units;

/// An input that moves an end of the window by less than this share of the current is left out.
const LEFT_OUT: f64 = 5e-4;

/// Milliamperes of an ampere.
const MILLI: f64 = 1e3;

/// What has a range, the nominal current, and how each end comes about: which inputs lie where, and
/// by how much each moves the current. The amounts add up to the whole way, but for what is left
/// out.
pub fn of(expected: &Expectation) -> String {
    let current = expected.current;
    let all = &expected.contributions[..];
    let Some(voltage) = all.first() else { return String::new() };
    let at = range(&voltage.input);
    let nominal = current.nominal.si();
    let lowest = end(current.lower.si(), nominal, all, |c| (c.at_lowest, -c.below_a));
    let highest = end(current.upper.si(), nominal, all, |c| (c.at_highest, c.above_a));
    let nominal = digits(MILLI * nominal);
    format!("load at {at}: nominal {nominal} mA; lowest {lowest}; highest {highest}")
}

fn range(input: &Input) -> String {
    if input.lower < input.upper {
        format!("{} to {} {}", digits(input.lower), digits(input.upper), input.unit)
    } else {
        format!("{} {}", digits(input.nominal), input.unit)
    }
}

fn end(
    current: f64,
    nominal: f64,
    contributions: &[Contribution],
    way: impl Fn(&Contribution) -> (f64, f64),
) -> String {
    let mut moved: Vec<_> = contributions.iter().map(|c| (c, way(c))).collect();
    moved.retain(|(_, (_, by))| by.abs() > LEFT_OUT * nominal.abs());
    moved.sort_by(|(_, (_, a)), (_, (_, b))| b.abs().total_cmp(&a.abs()));
    let parts: Vec<String> = moved
        .iter()
        .map(|(c, (at, by))| {
            let of = c.part.map_or(String::new(), |part| format!(" of load {part}"));
            let unit = if c.input.unit == "1" { "" } else { c.input.unit };
            let at = format!("{} {unit}", digits(*at));
            let sign = if *by < 0.0 { '-' } else { '+' };
            let by = digits(MILLI * by.abs());
            format!("{}{of} = {} ({sign}{by} mA)", c.input.name, at.trim_end())
        })
        .collect();
    let from = if parts.is_empty() { String::new() } else { format!(" with {}", parts.join(", ")) };
    format!("{} mA{from}", digits(MILLI * current))
}

/// Four digits that count.
fn digits(value: f64) -> String {
    let places = if value == 0.0 { 0.0 } else { 3.0 - value.abs().log10().floor() };
    let text = format!("{value:.*}", places.clamp(0.0, 9.0) as usize);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use crate::load::circuit::Circuit;
    use crate::load::expected::explained;
    use crate::load::fed::Fed;
    use crate::load::specimens::{motor, parallel, resistor, t};
    use crate::quantity::unit::Units;
    use uom::si::f64::Time;

    fn words(circuit: &Circuit, voltage: &str, most_ohm: f64) -> String {
        let fed = Fed::behind(t(voltage), most_ohm);
        super::of(&explained(circuit, &fed, Time::from_si(f64::INFINITY)))
    }

    #[test]
    fn say_what_lies_where_at_each_end() {
        insta::assert_snapshot!(words(&resistor("22 ohm ±5 %"), "12 V", 0.5));
    }

    /// At the stated voltage a running motor draws its run current whatever the exponent; beside it
    /// the exponent is what makes the ends.
    #[test]
    fn a_motor_on_its_supply() {
        let alone = words(&motor(), "12 V ±5 %", 0.0);
        let both = parallel([motor(), resistor("220 ohm ±5 %")]);
        let both = words(&both, "12 V ±5 %", 0.0);
        insta::assert_snapshot!(format!("{alone}\n{both}"));
    }
}
