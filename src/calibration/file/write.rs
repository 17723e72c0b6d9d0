//! A calibration as TOML.

use super::calibration::{Calibration, FORMAT};
use crate::calibration::channel::{ChannelCalibration, SelfTested};
use crate::quantity::write::in_quotes;
use core::fmt::Write;

impl Calibration {
    /// The text of its file.
    pub fn to_toml(&self) -> String {
        let mut out = String::from(
            "# Calibration of a jig, written by `musterbench calibrate`. Do not edit the numbers: \
             they are\n# checked against the points when the file is read. Currents in amperes.\n",
        );
        line(&mut out, "format", &FORMAT.to_string());
        line(&mut out, "serial", &in_quotes(&self.serial));
        line(&mut out, "simulated", &self.simulated.to_string());
        for channel in &self.channels {
            out.push_str(&channel_table(channel));
        }
        out
    }
}

fn channel_table(c: &ChannelCalibration) -> String {
    let mut out = String::from("\n[[channel]]\n");
    let f = &c.fitted;
    line(&mut out, "channel", &c.channel.to_string());
    line(&mut out, "date", &in_quotes(&c.date));
    line(&mut out, "operator", &in_quotes(&c.operator));
    line(&mut out, "reference", &in_quotes(&c.reference));
    let [share, fixed] = [c.accuracy.share, c.accuracy.fixed_a].map(number);
    line(&mut out, "reference_accuracy", &format!("{{ share = {share}, fixed_a = {fixed} }}"));
    if let Some(SelfTested { result, zero_a }) = c.self_test {
        let zero = number(zero_a);
        line(&mut out, "self_test", &format!("{{ result = {result}, zero_a = {zero} }}"));
    }
    line(&mut out, "linearity_a", &number(c.linearity_a));
    let [gain, offset] = [c.drift.gain, c.drift.offset_a].map(number);
    line(&mut out, "drift_a_year", &format!("{{ offset_a = {offset}, gain = {gain} }}"));
    line(&mut out, "offset_a", &number(f.offset));
    line(&mut out, "gain", &number(f.gain));
    line(&mut out, "offset_uncertainty_a", &number(f.u_offset));
    line(&mut out, "gain_uncertainty", &number(f.u_gain));
    line(&mut out, "correlation", &number(f.correlation));
    line(&mut out, "chi_square", &number(f.chi_square));
    line(&mut out, "degrees_of_freedom", &f.dof.to_string());
    out.push_str("points = [\n");
    for (p, residual) in c.points.iter().zip(&f.residuals) {
        let [reference, u_reference, reading, u_reading, residual] =
            [p.reference, p.u_reference, p.reading, p.u_reading, *residual].map(number);
        out.push_str(&format!(
            "  {{ reference_a = {reference}, reference_uncertainty_a = {u_reference}, \
             reading_a = {reading}, reading_uncertainty_a = {u_reading}, \
             residual_a = {residual} }},\n"
        ));
    }
    out.push_str("]\n");
    out
}

fn line(out: &mut String, key: &str, value: &str) {
    let written = writeln!(out, "{key} = {value}");
    debug_assert!(written.is_ok(), "a string takes all");
}

/// As short as it reads back to the same number.
fn number(value: f64) -> String {
    format!("{value:?}")
}
