//! A script from its TOML.

use super::actions::read::steps;
use super::module_sheet::FORMATS;
use super::steps::Script;
use super::terms::Rule;
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::quantity::unit::duration;
use crate::quantity::value::Value;
use core::time::Duration;
use std::path::Path;
use uom::si::f64::Time;

impl Script {
    /// Reads a script from a file.
    ///
    /// # Errors
    /// When the file cannot be read or something in it is wrong.
    pub fn read(path: &Path) -> Result<Script, Located> {
        let name = path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
        Script::parse(&name, Source::read(path)?)
    }

    /// Reads a script from its text.
    ///
    /// # Errors
    /// When something in it is wrong.
    pub fn parse(name: &str, source: Source) -> Result<Script, Located> {
        let mut top = source.table()?;
        let title = top.need("title", "one line that says what it is for")?.line_of_text()?;
        let rule = match top.take("rule") {
            None => Rule::Guarded,
            Some(v) => v.choice(&[Rule::Guarded, Rule::Simple].map(|rule| (rule.word(), rule)))?,
        };
        let calibration_max_days = calibration_max_age(top.take("calibration_max_age"))?;
        let longest_rests = longest_rests(top.take("longest_rests"))?;
        let address = match top.take("address") {
            None => None,
            Some(v) => Some((v.integer(1..=2044)? as u16, v.span())),
        };
        let format = match top.take("format") {
            None => None,
            Some(v) => Some((v.choice(&FORMATS)?, v.span())),
        };
        let steps = steps(top.need("steps", "a list of steps")?)?;
        top.finish()?;
        let name = name.to_owned();
        Ok(Script {
            source: source.clone(),
            name,
            title,
            rule,
            calibration_max_days,
            longest_rests,
            address,
            format,
            steps,
        })
    }
}

/// How many days old a calibration may be unless the script says otherwise: a year (common
/// practice, no source).
const CALIBRATION_MAX_DAYS: u32 = 365;

/// How long in all a run waits for loads that rest, unless the script says otherwise: on an ordinary line
/// none does.
const LONGEST_RESTS: Duration = Duration::from_secs(300);

fn longest_rests(value: Option<Value<'_>>) -> Result<Duration, Located> {
    let Some(value) = value else { return Ok(LONGEST_RESTS) };
    let time: Time = value.quantity_within("0 s", "3600 s")?;
    Ok(duration(time))
}

/// An age in days: `"365 days"`.
fn calibration_max_age(value: Option<Value<'_>>) -> Result<u32, Located> {
    const WHAT: &str = "an age in days, from \"1 day\" to \"3650 days\"";
    let Some(value) = value else { return Ok(CALIBRATION_MAX_DAYS) };
    let text = value.text(WHAT)?;
    text.strip_suffix(" days")
        .or(text.strip_suffix(" day"))
        .and_then(|number| number.parse().ok())
        .filter(|days| (1..=3650).contains(days))
        .ok_or_else(|| value.error(format!("`calibration_max_age` is {WHAT}")))
}
