//! The load sheet that a sample makes.

use super::limits::{Asked, SampleLimits};
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use crate::quantity::write::{self, in_quotes};
use crate::signal::target::Clamp;
use core::time::Duration;
use std::fmt::Write;
use uom::si::f64::{ElectricCurrent, ElectricPotential, Ratio, Time};

/// What the sheet says besides the limits.
#[derive(Clone, Debug, PartialEq)]
pub struct About {
    /// One line for people.
    pub title: String,
    /// Name of the load.
    pub name: String,
    /// Where it hangs.
    pub clamps: Vec<Clamp>,
    /// The load supply.
    pub supply: Toleranced<ElectricPotential>,
    /// How long after switching on it was measured.
    pub settled_after: Duration,
    /// Its longest on-time and its rest.
    pub duty: Option<(Duration, Duration)>,
    /// How many specimens were measured, and how often each.
    pub specimens: u32,
    /// How often each was measured.
    pub times: u32,
    /// Measured on a simulated bench.
    pub simulated: bool,
    /// The jig's serial number.
    pub jig: String,
    /// The calibration that corrected the readings.
    pub calibration: Option<String>,
    /// When, RFC 3339.
    pub date: String,
}

/// The sheet as TOML. Limits are rounded outwards, to five digits.
pub fn to_toml(about: &About, limits: &SampleLimits, asked: Asked) -> String {
    let mut out = String::new();
    let mut put = |line: String| {
        let written = writeln!(out, "{line}");
        debug_assert!(written.is_ok(), "a string takes all");
    };
    if about.simulated {
        put("# SIMULATED: measured on a simulated bench. It says nothing of any real load.".into());
    }
    put("# Written by `musterbench load from-sample`.".into());
    put(format!(
        "# Measured {} with the jig {}, {}.",
        one_line(&about.date),
        one_line(&about.jig),
        match &about.calibration {
            Some(name) => format!("calibration {}", one_line(name)),
            None => "uncalibrated".into(),
        }
    ));
    put(format!(
        "# Mean {}, standard deviation {}; factor {:.4} for {} values; uncertainty of all \
         measurements alike {}; room for readings {}.",
        current(limits.mean_a),
        current(limits.deviation_a),
        limits.factor,
        limits.counted,
        current(limits.common_a),
        current(limits.room_a)
    ));
    if about.specimens == 1 {
        put("# One specimen alone: others of its kind may draw more or less.".into());
    }
    put(format!("title = {}", in_quotes(&about.title)));
    put("\n[supply]\nkind = \"dc\"".into());
    put(format!("voltage = \"{}\"", write::toleranced(about.supply)));
    put("\n[sample]".into());
    put(format!("simulated = {}", about.simulated));
    put(format!("specimens = {}", about.specimens));
    put(format!("times = {}", about.times));
    let share = |share: f64| write::exact(Ratio::from_si(share));
    put(format!("coverage = \"{}\"", share(asked.coverage)));
    put(format!("confidence = \"{}\"", share(asked.confidence)));
    put("\n[[load]]".into());
    put(format!("name = {}", in_quotes(&about.name)));
    let clamps: Vec<String> = about.clamps.iter().map(|c| format!("\"{c}\"")).collect();
    put(match &clamps[..] {
        [only] => format!("at = {only}"),
        all => format!("at = [{}]", all.join(", ")),
    });
    put(format!(
        "measured = {{ current = \"{} to {}\", at_voltage = \"{}\", settled_after = \"{}\" }}",
        current(rounded(limits.lower_a, f64::floor)),
        current(rounded(limits.upper_a, f64::ceil)),
        write::exact(ElectricPotential::from_si(rounded(limits.voltage_v, f64::round))),
        time(about.settled_after)
    ));
    if let Some((on, rest)) = about.duty {
        put(format!("longest_on = \"{}\"\nrest = \"{}\"", time(on), time(rest)));
    }
    out
}

fn current(ampere: f64) -> String {
    write::exact(ElectricCurrent::from_si(rounded(ampere, f64::round)))
}

fn time(time: Duration) -> String {
    write::exact(Time::from_si(time.as_secs_f64()))
}

/// Five digits that count.
fn rounded(value: f64, how: fn(f64) -> f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return 0.0;
    }
    let places = 4 - value.abs().log10().floor() as i32;
    let digits = how(value * 10f64.powi(places));
    // By way of the decimal digits, so that no others follow.
    format!("{digits}e{}", -places).parse().unwrap_or(value)
}

/// What stands in a comment stays in it.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::kinds::Part;
    use crate::load::sheet::LoadSheet;
    use crate::quantity::parse;
    use crate::quantity::source::Source;
    use crate::signal::target::Position;

    fn about() -> About {
        About {
            title: "Crane yard".into(),
            name: "crane motor, \"hoist\"".into(),
            clamps: vec![Clamp { output: 1, position: Position::A }],
            supply: parse::toleranced("12 V ±5 %").unwrap(),
            settled_after: Duration::from_millis(500),
            duty: Some((Duration::from_secs(5), Duration::from_secs(15))),
            specimens: 1,
            times: 10,
            simulated: true,
            jig: "SIM-1\n[supply]".into(),
            calibration: None,
            date: "2026-01-05T09:00:00Z".into(),
        }
    }

    const LIMITS: SampleLimits = SampleLimits {
        mean_a: 0.150_123,
        deviation_a: 2.1e-5,
        between_a: None,
        counted: 10,
        factor: 3.393,
        common_a: 1.2e-3,
        room_a: 0.0,
        voltage_v: 11.943_21,
        lower_a: 0.148_852_99,
        upper_a: 0.151_394_01,
    };

    #[test]
    fn the_sheet_reads_back_with_limits_that_are_no_narrower() {
        let asked = Asked { coverage: 0.95, confidence: 0.99, room: false };
        let text = to_toml(&about(), &LIMITS, asked);
        insta::assert_snapshot!(text);
        let sheet = LoadSheet::parse(&Source::new("made.toml", &text)).unwrap();
        let sample = sheet.sample.unwrap();
        assert!(sample.simulated);
        assert_eq!((sample.coverage.si(), sample.confidence.si()), (0.95, 0.99));
        let load = sheet.clamps[0].as_ref().unwrap();
        let [Part::Measured(measured)] = &load.circuit.parts[..] else { panic!("{load:?}") };
        let current = measured.current;
        assert!(
            current.lower.si() <= LIMITS.lower_a && current.lower.si() > 0.999_9 * LIMITS.lower_a
        );
        assert!(
            current.upper.si() >= LIMITS.upper_a && current.upper.si() < 1.000_1 * LIMITS.upper_a
        );
        assert_eq!(load.rest, Some(Units::from_si(15.0)));
    }
}
