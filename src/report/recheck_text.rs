//! Whether the jig has drifted, in words and as JSON.

use super::amount::amount;
use super::prompt::{Prompt, Subject};
use crate::calibration::recheck::{Finding, Recheck};
use crate::plain::plain;
use crate::signal::target::Clamp;
use serde::Serialize;

/// What is told of a recheck.
#[derive(Clone, Debug)]
pub struct Told {
    /// Whether the jig is a simulated bench.
    pub simulated: bool,
    /// Serial number of the jig.
    pub jig: String,
    /// The clamp.
    pub clamp: Clamp,
    /// The resistor, ohms.
    pub ohm: f64,
    /// The comparison.
    pub check: Recheck,
    /// What follows from it.
    pub finding: Finding,
    /// The calibration that corrected the reading.
    pub calibration: Option<String>,
}

/// What the operator is asked to connect.
pub fn connect(jig: &Subject, clamp: Clamp, ohm: f64) -> Prompt {
    let before = format!(
        "All is off. Disconnect the real load of clamp {clamp} and connect the resistor to its \
         terminals, by short thick wires. Leave the module or the loop plug seated. The resistor \
         gets hot: touch it only when it has cooled. Extra-low voltage only."
    );
    let what = format!("connect {} in place of the load at clamp {clamp}.", amount(ohm, "ohm"));
    Prompt::new(jig, &before, &what)
}

const fn word(finding: Finding) -> &'static str {
    match finding {
        Finding::Agrees => "agrees",
        Finding::Drifted => "drifted",
        Finding::TooCoarse => "too coarse",
    }
}

/// In words, lines ended.
pub fn text(told: &Told) -> String {
    let Recheck { read, expected, normalised_error, shows_a } = told.check;
    let share = 100.0 * shows_a / expected.value.abs().max(f64::MIN_POSITIVE);
    let sentence = match told.finding {
        Finding::Agrees => format!(
            "No drift: the two agree. A drift of less than {share:.1} % would not have shown."
        ),
        Finding::Drifted if told.calibration.is_some() => {
            "DRIFTED: the jig does not read what it read when it was calibrated, or the resistor is \
             another one. Look at resistor and wires, then calibrate again."
                .into()
        }
        Finding::Drifted => "DRIFTED: the jig is outside its class, or the resistor is another one. \
                             Look at resistor and wires, then calibrate the jig."
            .into(),
        Finding::TooCoarse => format!(
            "Not decided: the check is too coarse, it shows nothing below {share:.1} %. Take a \
             resistor of closer tolerance, or one that draws more."
        ),
    };
    let mut text = String::new();
    if told.simulated {
        text.push_str(&format!("SIMULATED: bench {}\n", plain(&told.jig)));
    }
    let calibration = told.calibration.as_deref().map_or("none".into(), plain);
    text.push_str(&format!(
        "Clamp {}, {}: the jig reads {} ± {}; {} ± {} are due\n\
         Difference over uncertainty (E_n): {normalised_error:.2}, beyond 1 is a drift\n\
         Calibration: {calibration}\n{sentence}\n",
        told.clamp,
        amount(told.ohm, "ohm"),
        amount(read.value, "A"),
        amount(read.expanded(), "A"),
        amount(expected.value, "A"),
        amount(expected.expanded(), "A"),
    ));
    text
}

/// As one line of JSON. Uncertainties are expanded ones, 95 %.
pub fn json(told: &Told) -> String {
    #[derive(Serialize)]
    struct Line<'a> {
        simulated: bool,
        jig: &'a str,
        clamp: String,
        resistance_ohm: f64,
        reading_a: f64,
        reading_uncertainty_a: f64,
        expected_a: f64,
        expected_uncertainty_a: f64,
        normalised_error: f64,
        shows_from_a: f64,
        calibration: Option<&'a str>,
        finding: &'static str,
    }
    let Recheck { read, expected, normalised_error, shows_a } = told.check;
    let line = Line {
        simulated: told.simulated,
        jig: &told.jig,
        clamp: told.clamp.to_string(),
        resistance_ohm: told.ohm,
        reading_a: read.value,
        reading_uncertainty_a: read.expanded(),
        expected_a: expected.value,
        expected_uncertainty_a: expected.expanded(),
        normalised_error,
        shows_from_a: shows_a,
        calibration: told.calibration.as_deref(),
        finding: word(told.finding),
    };
    // Strings and numbers only: cannot fail.
    serde_json::to_string(&line).unwrap_or_default() + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::uncertainty::{Component, Estimate};

    #[test]
    fn a_drift_is_told_with_its_size() {
        let current = |value| Estimate::new(value, &[Component::standard(0.001)]);
        let check = Recheck::of(current(0.530), current(0.545));
        let told = Told {
            simulated: true,
            jig: "SIM-7".into(),
            clamp: Clamp::ALL[0],
            ohm: 22.0,
            check,
            finding: check.finding(0.003),
            calibration: None,
        };
        insta::assert_snapshot!(text(&told), @r"
        SIMULATED: bench SIM-7
        Clamp 1a, 22 Ω: the jig reads 530 mA ± 1.96 mA; 545 mA ± 1.96 mA are due
        Difference over uncertainty (E_n): -5.41, beyond 1 is a drift
        Calibration: none
        DRIFTED: the jig is outside its class, or the resistor is another one. Look at resistor and wires, then calibrate the jig.
        ");
    }
}
