//! A calibration from its TOML.

use super::calibration::{Calibration, FORMAT};
use crate::calibration::assess::{Fitted, fit};
use crate::calibration::channel::{ChannelCalibration, Drift, SelfTested};
use crate::calibration::point::CalibrationPoint;
use crate::calibration::reference::Accuracy;
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::quantity::value::Value;
use jiff::Timestamp;
use std::path::Path;

/// No current of a jig is larger, amperes.
const CURRENT_MAX_A: f64 = 100.0;

/// By how much of its uncertainty a number may differ from what its points give: the last digits of
/// another processor.
const AGREES: f64 = 1e-6;

impl Calibration {
    /// Reads a calibration from a file.
    ///
    /// # Errors
    /// When the file cannot be read or something in it is wrong.
    pub fn read(path: &Path) -> Result<Calibration, Located> {
        Calibration::parse(&Source::read(path)?)
    }

    /// Reads a calibration from its text.
    ///
    /// # Errors
    /// When something in it is wrong: a key that is missing or unknown, a text where a number
    /// belongs, numbers that do not follow from the points.
    pub fn parse(source: &Source) -> Result<Calibration, Located> {
        let mut top = source.table()?;
        top.need("format", "the number of this file's format")?.integer(FORMAT..=FORMAT)?;
        let serial = top.need("serial", "the jig's serial number")?.line_of_text()?;
        let simulated = top.need("simulated", "true or false")?.truth()?;
        let mut channels: Vec<ChannelCalibration> = Vec::new();
        if let Some(list) = top.take("channel") {
            for member in list.list("a list of [[channel]] tables")? {
                let mut table = member.table()?;
                let number = table.need("channel", "the jig's number of the channel")?;
                let channel = number.integer(1..=999)? as u16;
                if channels.iter().any(|c| c.channel == channel) {
                    return Err(number.error(format!("channel {channel} stands here twice")));
                }
                channels.push(read_channel(table, channel)?);
            }
        }
        top.finish()?;
        channels.sort_by_key(|c| c.channel);
        Ok(Calibration { serial, simulated, channels })
    }
}

fn read_channel(mut table: Table<'_>, channel: u16) -> Result<ChannelCalibration, Located> {
    let date = table.need("date", "when it was calibrated")?;
    let date_text = date.text("a date and time such as \"2026-01-05T09:00:00+01:00\"")?.to_owned();
    if date_text.parse::<Timestamp>().is_err() {
        return Err(date.error(
            "`channel.date` is a date and time with offset, such as \"2026-01-05T09:00:00+01:00\"",
        ));
    }
    let operator = words(table.take("operator"))?;
    let reference = words(table.take("reference"))?;
    let accuracy = accuracy(table.need("reference_accuracy", "how far the reference may be off")?)?;
    let self_test = table.take("self_test").map(self_test).transpose()?;
    let linearity_a = uncertainty(&mut table, "linearity_a")?;
    let mut drift = table.need_table("drift_a_year", "how far it may drift in a year")?;
    let offset_a = uncertainty(&mut drift, "offset_a")?;
    let gain = drift.need("gain", "a share")?.number(0.0..=1.0)?;
    drift.finish()?;
    let drift = Drift { offset_a, gain };
    let list = table.need("points", "the points of the channel")?;
    let whole = list.error("these points make no calibration");
    let (points, residuals) = read_points(list)?;
    let fitted = fit(&points, &accuracy, linearity_a).map_err(|refusal| Located {
        message: format!("channel {channel} has no calibration by these points: {refusal}"),
        ..whole
    })?;
    refuse_disagreement(&mut table, &fitted)?;
    for (value, residual) in residuals.iter().zip(&fitted.residuals) {
        agree(value, *residual, fitted.u_offset)?;
    }
    table.finish()?;
    Ok(ChannelCalibration {
        channel,
        date: date_text,
        operator,
        reference,
        accuracy,
        self_test,
        linearity_a,
        drift,
        points,
        fitted,
    })
}

fn words(value: Option<Value<'_>>) -> Result<String, Located> {
    let Some(value) = value else { return Ok(String::new()) };
    if value.text("a text")?.is_empty() { Ok(String::new()) } else { value.line_of_text() }
}

fn accuracy(value: Value<'_>) -> Result<Accuracy, Located> {
    let error = |message: String| value.error(message);
    let place = error(String::new());
    let mut table = value.table()?;
    let share = table.need("share", "a share of the reading")?.number(0.0..=1.0)?;
    let fixed_a = uncertainty(&mut table, "fixed_a")?;
    table.finish()?;
    Accuracy { share, fixed_a }
        .checked()
        .map_err(|why| Located { message: why.to_string(), ..place })
}

fn self_test(value: Value<'_>) -> Result<SelfTested, Located> {
    let mut table = value.table()?;
    let result = table.need("result", "the jig's answer, 0 where all is well")?;
    let result = result.integer(0..=i64::from(u16::MAX))? as u16;
    let zero = table.need("zero_a", "a current in amperes")?;
    let zero_a = zero.number(-CURRENT_MAX_A..=CURRENT_MAX_A)?;
    table.finish()?;
    Ok(SelfTested { result, zero_a })
}

fn uncertainty(table: &mut Table<'_>, key: &'static str) -> Result<f64, Located> {
    table.need(key, "a current in amperes")?.number(0.0..=CURRENT_MAX_A)
}

/// The points, and their residuals as they stand in the file.
fn read_points<'s>(list: Value<'s>) -> Result<(Vec<CalibrationPoint>, Vec<Value<'s>>), Located> {
    let mut points = Vec::new();
    let mut residuals = Vec::new();
    for member in list.list("a list of points")? {
        let mut table = member.table()?;
        let reference =
            table.need("reference_a", "a current in amperes")?.number(0.0..=CURRENT_MAX_A)?;
        let u_reference = uncertainty(&mut table, "reference_uncertainty_a")?;
        let reading = table
            .need("reading_a", "a current in amperes")?
            .number(-CURRENT_MAX_A..=CURRENT_MAX_A)?;
        let u_reading = uncertainty(&mut table, "reading_uncertainty_a")?;
        residuals.push(table.need("residual_a", "a current in amperes")?);
        table.finish()?;
        points.push(CalibrationPoint { reference, u_reference, reading, u_reading });
    }
    Ok((points, residuals))
}

fn refuse_disagreement(table: &mut Table<'_>, fitted: &Fitted) -> Result<(), Located> {
    let f = fitted;
    for (key, wanted, scale) in [
        ("offset_a", f.offset, f.u_offset),
        ("gain", f.gain, f.u_gain),
        ("offset_uncertainty_a", f.u_offset, f.u_offset),
        ("gain_uncertainty", f.u_gain, f.u_gain),
        ("correlation", f.correlation, 1.0),
        ("chi_square", f.chi_square, 1.0),
        ("degrees_of_freedom", f.dof as f64, 1.0),
    ] {
        agree(&table.need(key, "a number")?, wanted, scale)?;
    }
    Ok(())
}

fn agree(value: &Value<'_>, wanted: f64, scale: f64) -> Result<(), Located> {
    let found = value.number(-1e9..=1e9)?;
    if (found - wanted).abs() <= AGREES * scale {
        return Ok(());
    }
    let key = value.key().rsplit('.').next().unwrap_or_default();
    Err(value.error(format!(
        "`{key}` does not follow from the points: the file was edited or is damaged; calibrate again"
    )))
}
