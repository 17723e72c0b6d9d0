//! The outcome of a calibration: as text, and as JSON for other programs.

use super::amount::amount;
use super::channel_name::channel_name;
use super::screen::Screen;
use super::table::{Column, table};
use crate::calibration::assess::Refusal;
use crate::calibration::channel::ChannelCalibration;
use crate::calibration::point::CalibrationPoint;
use crate::measure::uncertainty::coverage_factor;
use crate::plain::plain;
use serde::Serialize;
use std::fmt::Write;

/// What became of one channel.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// It is calibrated.
    Calibrated(Box<ChannelCalibration>),
    /// It is refused.
    Refused {
        /// The channel.
        channel: u16,
        /// Why.
        why: Refusal,
    },
}

/// A channel's outcome in words, lines ended.
pub fn text(outcome: &Outcome, screen: Screen) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = match outcome {
        Outcome::Calibrated(channel) => write_channel(&mut text, channel, screen),
        Outcome::Refused { channel, why } => {
            writeln!(
                text,
                "{}: REFUSED. {}",
                channel_name(*channel),
                plain(&sentence(&why.to_string()))
            )
        }
    };
    text
}

/// With a capital, and a full stop.
fn sentence(words: &str) -> String {
    let mut rest = words.chars();
    let first = rest.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", rest.as_str())
}

fn write_channel(text: &mut String, c: &ChannelCalibration, screen: Screen) -> std::fmt::Result {
    let f = &c.fitted;
    let k = coverage_factor(f.freedom);
    writeln!(
        text,
        "{}: gain {:.5} ± {:.5}, offset {} ± {}, correlation {:.2}",
        channel_name(c.channel),
        f.gain,
        k * f.u_gain,
        amount(f.offset, "A"),
        amount(k * f.u_offset, "A"),
        f.correlation
    )?;
    let columns = ["reference", "jig", "residual"].map(Column::Number);
    let row = |(p, residual): (&CalibrationPoint, &f64)| {
        [p.reference, p.reading, *residual].map(|a| amount(a, "A"))
    };
    text.push_str(&table(screen, 2, columns, c.points.iter().zip(&f.residuals).map(row)));
    writeln!(
        text,
        "  chi-square {:.2} with {} degrees of freedom: linear enough",
        f.chi_square, f.dof
    )
}

#[derive(Serialize)]
#[serde(rename_all = "snake_case", tag = "outcome")]
enum Line<'a> {
    Calibrated {
        simulated: bool,
        channel: u16,
        offset_a: f64,
        gain: f64,
        offset_uncertainty_a: f64,
        gain_uncertainty: f64,
        correlation: f64,
        chi_square: f64,
        degrees_of_freedom: usize,
        points: Vec<Point>,
    },
    Refused {
        simulated: bool,
        channel: u16,
        reason: String,
    },
    Saved {
        simulated: bool,
        jig: &'a str,
        file: String,
    },
}

#[derive(Serialize)]
struct Point {
    reference_a: f64,
    reading_a: f64,
    residual_a: f64,
}

impl Line<'_> {
    fn text(&self) -> String {
        // Strings and numbers only: cannot fail.
        serde_json::to_string(self).unwrap_or_default() + "\n"
    }
}

/// A channel's outcome as one JSON line. Uncertainties are standard ones.
pub fn json(outcome: &Outcome, simulated: bool) -> String {
    match outcome {
        Outcome::Calibrated(c) => {
            let f = &c.fitted;
            Line::Calibrated {
                simulated,
                channel: c.channel,
                offset_a: f.offset,
                gain: f.gain,
                offset_uncertainty_a: f.u_offset,
                gain_uncertainty: f.u_gain,
                correlation: f.correlation,
                chi_square: f.chi_square,
                degrees_of_freedom: f.dof,
                points: c
                    .points
                    .iter()
                    .zip(&f.residuals)
                    .map(|(p, &residual_a)| Point {
                        reference_a: p.reference,
                        reading_a: p.reading,
                        residual_a,
                    })
                    .collect(),
            }
            .text()
        }
        Outcome::Refused { channel, why } => {
            Line::Refused { simulated, channel: *channel, reason: why.to_string() }.text()
        }
    }
}

/// The line that says where it was saved.
pub fn saved_json(simulated: bool, jig: &str, file: &std::path::Path) -> String {
    Line::Saved { simulated, jig, file: file.display().to_string() }.text()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_is_a_sentence() {
        let refused = Outcome::Refused { channel: 2, why: Refusal::NoZero };
        assert_eq!(
            text(&refused, Screen::PLAIN),
            "Feed (channel 2): REFUSED. Its zero is missing: the first point is taken with nothing \
             connected.\n"
        );
        assert_eq!(
            json(&refused, true),
            "{\"outcome\":\"refused\",\"simulated\":true,\"channel\":2,\"reason\":\"its zero is \
             missing: the first point is taken with nothing connected\"}\n"
        );
    }
}
