//! A load measured for its sheet: what the operator is asked, how it goes, what comes out.

use super::amount::amount;
use super::prompt::{Prompt, Subject};
use crate::plain::plain;
use crate::sample::sheet::About;
use crate::sample::{Asked, Measurement, SampleLimits};
use crate::signal::target::Clamp;
use serde::Serialize;

/// What is told at the end.
#[derive(Clone, Debug)]
pub struct Told<'a> {
    /// What the sheet says besides the limits.
    pub about: &'a About,
    /// The limits.
    pub limits: &'a SampleLimits,
    /// What they promise.
    pub asked: Asked,
    /// Where the sheet was written.
    pub file: String,
}

/// Which specimen is asked for.
#[derive(Clone, Copy, Debug)]
pub struct Which {
    /// Its number, from 1.
    pub specimen: u32,
    /// How many there are.
    pub of: u32,
    /// Whether it is the same one once more.
    pub anew: bool,
}

/// What the operator is asked to connect.
pub fn connect(jig: &Subject, clamp: Clamp, name: &str, which: Which) -> Prompt {
    let Which { specimen, of, anew } = which;
    let name = plain(name);
    let number = if of > 1 { format!("specimen {specimen} of {of} of ") } else { String::new() };
    let before = if anew {
        format!("All is off. \"{name}\" comes off, cools, and is connected again.")
    } else {
        format!("All is off. Connect {number}\"{name}\" where its real load hangs.")
    };
    let care = "Lamps get hot: touch them only when they have cooled. Extra-low voltage only, never \
                mains.";
    let what = match (anew, of) {
        (true, _) => format!("take the load off clamp {clamp}, and connect it again."),
        (false, 1) => format!("connect the load to clamp {clamp}."),
        (false, _) => format!("connect specimen {specimen} to clamp {clamp}."),
    };
    Prompt::new(jig, &format!("{before} {care}"), &what)
}

/// One measurement.
pub fn progress(taken: &Measurement, time: u32, times: u32, specimens: u32) -> String {
    let specimen = if specimens > 1 {
        format!("specimen {} of {specimens}, ", taken.specimen)
    } else {
        String::new()
    };
    format!(
        "  {specimen}measurement {time} of {times}: {} at {}",
        amount(taken.current.value, "A"),
        amount(taken.voltage.value, "V")
    )
}

/// In words, lines ended.
pub fn text(told: &Told<'_>) -> String {
    let Told { about, limits, asked, file } = told;
    let mut text = String::new();
    if about.simulated {
        text.push_str(&format!(
            "SIMULATED: bench {}; no real load was measured\n",
            plain(&about.jig)
        ));
    }
    let clamps: Vec<String> = about.clamps.iter().map(Clamp::to_string).collect();
    text.push_str(&format!("{}, at {}\n", plain(&about.name), clamps.join(", ")));
    let ampere = |value: f64| amount(value, "A");
    let mut row = |name: &str, value: String| text.push_str(&format!("  {name:<24}{value}\n"));
    let specimens = match about.specimens {
        1 => format!("{} of one specimen", about.times),
        n => format!("{} of each of {n} specimens", about.times),
    };
    row("measurements", format!("{specimens}, at {}", amount(limits.voltage_v, "V")));
    row("calibration", about.calibration.as_deref().map_or("none: uncalibrated".into(), plain));
    row("mean", ampere(limits.mean_a));
    let apart = limits
        .between_a
        .map_or(String::new(), |a| format!(", of it between specimens {}", ampere(a)));
    row("standard deviation", format!("{}{apart}", ampere(limits.deviation_a)));
    row(
        "tolerance interval",
        format!(
            "± {} (factor {:.3} for {} values: holds {} with a confidence of {})",
            ampere(limits.factor * limits.deviation_a),
            limits.factor,
            limits.counted,
            percent(asked.coverage),
            percent(asked.confidence)
        ),
    );
    row("common to all", format!("± {} (95 %)", ampere(limits.common_a)));
    if limits.room_a > 0.0 {
        let room = ampere(limits.room_a);
        row("room for readings", format!("± {room} (error and guard band of a jig of this class)"));
    }
    row("limits", format!("{} to {}", ampere(limits.lower_a), ampere(limits.upper_a)));
    if about.specimens == 1 {
        text.push_str(
            "One specimen alone: the limits hold for this one. Measure several (--specimens) for \
             limits that hold for others of its kind.\n",
        );
    }
    text.push_str(&format!("Written: {}\n", plain(file)));
    text
}

fn percent(share: f64) -> String {
    let text = format!("{:.4}", 100.0 * share);
    format!("{} %", text.trim_end_matches('0').trim_end_matches('.'))
}

/// As one line of JSON.
pub fn json(told: &Told<'_>) -> String {
    #[derive(Serialize)]
    struct Line<'a> {
        simulated: bool,
        jig: &'a str,
        calibration: Option<&'a str>,
        name: &'a str,
        clamps: Vec<String>,
        specimens: u32,
        times: u32,
        coverage: f64,
        confidence: f64,
        voltage_v: f64,
        mean_a: f64,
        deviation_a: f64,
        between_specimens_a: Option<f64>,
        counted: usize,
        factor: f64,
        common_uncertainty_a: f64,
        room_a: f64,
        lower_a: f64,
        upper_a: f64,
        file: &'a str,
    }
    let Told { about, limits, asked, file } = told;
    let line = Line {
        simulated: about.simulated,
        jig: &about.jig,
        calibration: about.calibration.as_deref(),
        name: &about.name,
        clamps: about.clamps.iter().map(Clamp::to_string).collect(),
        specimens: about.specimens,
        times: about.times,
        coverage: asked.coverage,
        confidence: asked.confidence,
        voltage_v: limits.voltage_v,
        mean_a: limits.mean_a,
        deviation_a: limits.deviation_a,
        between_specimens_a: limits.between_a,
        counted: limits.counted,
        factor: limits.factor,
        common_uncertainty_a: limits.common_a,
        room_a: limits.room_a,
        lower_a: limits.lower_a,
        upper_a: limits.upper_a,
        file,
    };
    // Strings and numbers only: cannot fail.
    serde_json::to_string(&line).unwrap_or_default() + "\n"
}
