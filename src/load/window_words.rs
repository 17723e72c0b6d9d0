//! Where the window of a load's current comes from: as data, and in words.

use super::expected::{Contribution, Expectation};
use crate::quantity::unit::Units;
use serde::{Deserialize, Serialize};

/// An input that moves an end of the window by less than this share of the current is left out.
const LEFT_OUT: f64 = 5e-4;

/// Milliamperes of an ampere.
const MILLI: f64 = 1e3;

/// What the window of a load's current is made of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WindowParts {
    /// The lowest voltage of the load's supply, volts.
    pub lowest_v: f64,
    /// The highest.
    pub highest_v: f64,
    /// The current that is due, amperes.
    pub nominal_a: f64,
    /// The lower end of the window.
    pub lowest: End,
    /// The upper end.
    pub highest: End,
}

/// How an end of a window comes about. The amounts add up to the whole way from the nominal current,
/// but for what is left out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct End {
    /// The current there, amperes.
    pub current_a: f64,
    /// What moves it there, the most first.
    pub moved_by: Vec<Moved>,
}

/// One input that moves an end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Moved {
    /// What it is.
    pub input: String,
    /// Place of the load among several in parallel, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load: Option<usize>,
    /// Its value at that end.
    pub at: f64,
    /// The unit of that; `1` for a share.
    pub unit: String,
    /// By how much it moves the current, amperes.
    pub by_a: f64,
}

impl WindowParts {
    /// Those of an expected current; `None` where it comes from nothing.
    pub fn of(expected: &Expectation) -> Option<Self> {
        let current = expected.current;
        let all = &expected.contributions[..];
        let voltage = all.first()?.input.clone();
        let nominal_a = current.nominal.si();
        let end = |current_a: f64, way: &dyn Fn(&Contribution) -> (f64, f64)| End {
            current_a,
            moved_by: moved(all, nominal_a, way),
        };
        Some(WindowParts {
            lowest_v: voltage.lower,
            highest_v: voltage.upper,
            nominal_a,
            lowest: end(current.lower.si(), &|c| (c.at_lowest, -c.below_a)),
            highest: end(current.upper.si(), &|c| (c.at_highest, c.above_a)),
        })
    }

    /// In words.
    pub fn words(&self) -> String {
        let at = if self.lowest_v < self.highest_v {
            format!("{} to {} V", digits(self.lowest_v), digits(self.highest_v))
        } else {
            format!("{} V", digits(self.lowest_v))
        };
        let nominal = digits(MILLI * self.nominal_a);
        let [lowest, highest] = [&self.lowest, &self.highest].map(End::words);
        format!("load at {at}: nominal {nominal} mA; lowest {lowest}; highest {highest}")
    }
}

/// What moves an end, the most first.
fn moved(
    contributions: &[Contribution],
    nominal_a: f64,
    way: &dyn Fn(&Contribution) -> (f64, f64),
) -> Vec<Moved> {
    let mut moved: Vec<Moved> = contributions
        .iter()
        .map(|c| {
            let ((at, by_a), input) = (way(c), &c.input);
            let (name, unit) = (input.name.to_owned(), input.unit.to_owned());
            Moved { input: name, load: c.part, at, unit, by_a }
        })
        .collect();
    moved.retain(|moved| moved.by_a.abs() > LEFT_OUT * nominal_a.abs());
    moved.sort_by(|a, b| b.by_a.abs().total_cmp(&a.by_a.abs()));
    moved
}

impl End {
    fn words(&self) -> String {
        let parts: Vec<String> = self.moved_by.iter().map(Moved::words).collect();
        let with =
            if parts.is_empty() { String::new() } else { format!(" with {}", parts.join(", ")) };
        format!("{} mA{with}", digits(MILLI * self.current_a))
    }
}

impl Moved {
    fn words(&self) -> String {
        let of = self.load.map_or(String::new(), |load| format!(" of load {load}"));
        let unit = if self.unit == "1" { "" } else { &self.unit };
        let at = format!("{} {unit}", digits(self.at));
        let sign = if self.by_a < 0.0 { '-' } else { '+' };
        let by = digits(MILLI * self.by_a.abs());
        format!("{}{of} = {} ({sign}{by} mA)", self.input, at.trim_end())
    }
}

/// In words; empty where it comes from nothing.
pub fn of(expected: &Expectation) -> String {
    WindowParts::of(expected).map_or(String::new(), |parts| parts.words())
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
