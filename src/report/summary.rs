//! The end of a run at a glance.

use super::advice;
use super::amount::amount;
use super::plain::plain;
use super::risk_text;
use super::screen::Screen;
use crate::judge::reading::{Quantity, Reading, Verdict};
use crate::run::event::{
    CalibrationUsed, Ending, Event, JigIdentity, ListenError, Listener, Outcome,
};
use std::fmt::Write;
use std::path::Path;

/// How many steps with objections are shown; the rest stands in the report.
const SHOWN: usize = 8;

/// Remembers what the summary needs.
#[derive(Debug, Default)]
pub struct Summary {
    /// The jig, once the run began.
    pub jig: Option<JigIdentity>,
    /// The script's one line for people.
    pub title: String,
    /// The readings that do not pass.
    pub objections: Vec<Reading>,
    /// How the run came out, once it is over.
    pub outcome: Option<Outcome>,
}

/// What the summary says besides what the run told.
#[derive(Clone, Copy, Debug)]
pub struct Frame<'a> {
    /// The module's name.
    pub module: &'a str,
    /// The lot's name.
    pub lot: &'a str,
    /// The run's number, if it got one.
    pub run: Option<u32>,
    /// Where the finished report is.
    pub report: Option<&'a Path>,
}

impl Listener for Summary {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        match event {
            Event::Began { plan, jig, .. } => {
                self.jig = Some((*jig).clone());
                self.title = plan.title.clone();
            }
            Event::Read(reading) if reading.verdict != Verdict::Pass => {
                self.objections.push((*reading).clone());
            }
            Event::Ended(outcome) => self.outcome = Some((*outcome).clone()),
            _ => {}
        }
        Ok(())
    }
}

impl Summary {
    /// The text, lines ended. Empty while the run is not over.
    pub fn text(&self, frame: &Frame<'_>, screen: Screen) -> String {
        let Some(outcome) = &self.outcome else { return String::new() };
        let mut text = String::new();
        // Writing to memory cannot fail.
        let _ = self.write(&mut text, outcome, frame, screen);
        text
    }

    fn write(
        &self,
        text: &mut String,
        outcome: &Outcome,
        frame: &Frame<'_>,
        screen: Screen,
    ) -> std::fmt::Result {
        let run = frame.run.map(|n| format!(", run {n}")).unwrap_or_default();
        let verdict = screen.verdict(outcome.verdict);
        writeln!(text, "{verdict}  module {}, lot {}{run}", plain(frame.module), plain(frame.lot))?;
        let simulated = self.jig.as_ref().filter(|jig| jig.simulated);
        if let Some(jig) = simulated {
            let warning = screen.warning("SIMULATED");
            writeln!(text, "{warning}: bench {}; no real module was tested", plain(&jig.serial))?;
        }
        if let Some(used) = self.jig.as_ref().and_then(|jig| jig.calibration.as_ref()) {
            writeln!(text, "{}", calibration(used, screen))?;
        }
        match &outcome.ending {
            Ending::Complete => {}
            Ending::Stopped => writeln!(text, "Cut short: stopped by the operator")?,
            Ending::BenchTrouble(why) => writeln!(text, "Cut short: {}", plain(why))?,
        }
        writeln!(text, "{}", counts(outcome))?;
        text.push_str(&risk_text::lines(&outcome.risk));
        let open = |r: &Reading| r.verdict == Verdict::Indeterminate;
        self.write_objections(text, "Fails", |r| r.verdict == Verdict::Fail)?;
        let near = "Uncertain, too near to a limit";
        self.write_objections(text, near, |r| open(r) && r.value.is_some())?;
        self.write_objections(text, "Not measured", |r| open(r) && r.value.is_none())?;
        writeln!(text)?;
        if let Some(blame) = outcome.blame.filter(|_| outcome.verdict != Verdict::Pass) {
            writeln!(text, "At fault: {}", advice::suspect(blame))?;
        }
        let next_step = advice::next_step(outcome, simulated.is_some());
        writeln!(text, "To do:    {next_step}")?;
        match frame.report {
            Some(path) => writeln!(text, "Report:   {}", plain(&path.display().to_string())),
            None => writeln!(text, "Report:   none"),
        }
    }

    fn write_objections(
        &self,
        text: &mut String,
        title: &str,
        which: impl Fn(&Reading) -> bool,
    ) -> std::fmt::Result {
        let all: Vec<&Reading> = self.objections.iter().filter(|r| which(r)).collect();
        if all.is_empty() {
            return Ok(());
        }
        writeln!(text, "\n{title}:")?;
        // What goes wrong in a step mostly has one cause: its first reading stands for the rest.
        let steps: Vec<&[&Reading]> = all.chunk_by(|a, b| a.step == b.step).collect();
        for step in steps.iter().take(SHOWN) {
            let Some((first, rest)) = step.split_first() else { continue };
            writeln!(text, "  {}{}", objection(first), and_more(rest.len()))?;
            if !first.note.is_empty() {
                writeln!(text, "      {}", plain(&first.note))?;
            }
            if let Some(remedy) = &first.settled_by {
                let unit = first.quantity.unit();
                let words = remedy.words(|value| amount(value, unit));
                writeln!(text, "      would settle it: {words}")?;
            }
        }
        let hidden = steps.iter().skip(SHOWN);
        match hidden.map(|step| step.len()).sum() {
            0 => Ok(()),
            1 => writeln!(text, "  and 1 more reading in the report"),
            more => writeln!(text, "  and {more} more readings in the report"),
        }
    }
}

/// What stands behind the jig's current channels.
fn calibration(used: &CalibrationUsed, screen: Screen) -> String {
    let (name, days) = (plain(&used.name), used.days);
    let too_old = if used.too_old { screen.warning(", TOO OLD") } else { String::new() };
    let days = if days == 1 { "1 day".into() } else { format!("{days} days") };
    format!("Calibration {name}, {days} old{too_old}")
}

fn and_more(readings: usize) -> String {
    match readings {
        0 => String::new(),
        1 => "; 1 more in this step".into(),
        n => format!("; {n} more in this step"),
    }
}

fn counts(outcome: &Outcome) -> String {
    let mut counts = match outcome.readings {
        1 => "1 reading".into(),
        n => format!("{n} readings"),
    };
    match outcome.failed {
        0 => counts.push_str(", none fails"),
        1 => counts.push_str(", 1 fails"),
        n => counts.push_str(&format!(", {n} fail")),
    }
    match outcome.indeterminate {
        0 => {}
        1 => counts.push_str(", 1 is uncertain"),
        n => counts.push_str(&format!(", {n} are uncertain")),
    }
    counts
}

/// What does not pass, by how much.
fn objection(reading: &Reading) -> String {
    let unit = reading.quantity.unit();
    let what = reading.quantity.words();
    let step = plain(&reading.step);
    if reading.quantity == Quantity::LampSeen {
        return format!("{step}: the operator looked at the lamp");
    }
    if reading.quantity.is_yes_or_no() {
        let wanted = if reading.lower_limit.is_some() { "yes" } else { "no" };
        let seen = match reading.value {
            None => "not seen",
            Some(value) if value > 0.5 => "yes",
            Some(_) => "no",
        };
        return format!("{step}: {what} {seen}, {wanted} wanted");
    }
    let seen = match reading.value {
        None => "not seen".into(),
        Some(value) => {
            let within = match reading.uncertainty {
                Some(u) if reading.verdict == Verdict::Indeterminate => {
                    format!(" ± {}", amount(u, unit))
                }
                _ => String::new(),
            };
            format!("{}{within}", amount(value, unit))
        }
    };
    let limits = match (reading.lower_limit, reading.upper_limit) {
        (_, Some(0.0)) if unit == "1" => return format!("{step}: {what} {seen}, none allowed"),
        (Some(lower), Some(upper)) => {
            format!("{} to {} allowed", amount(lower, unit), amount(upper, unit))
        }
        (Some(lower), None) => format!("at least {} wanted", amount(lower, unit)),
        (None, Some(upper)) => format!("at most {} allowed", amount(upper, unit)),
        (None, None) => "no limits".into(),
    };
    format!("{step}: {what} {seen}, {limits}{}", distance(reading))
}

/// How far outside the limits a value lies.
fn distance(reading: &Reading) -> String {
    let unit = reading.quantity.unit();
    let Some(value) = reading.value else { return String::new() };
    match (reading.lower_limit, reading.upper_limit) {
        (Some(lower), _) if value < lower => format!(" ({} too low)", amount(lower - value, unit)),
        (_, Some(upper)) if value > upper => format!(" ({} too high)", amount(value - upper, unit)),
        _ => String::new(),
    }
}

#[cfg(test)]
#[path = "summary/tests.rs"]
mod tests;
