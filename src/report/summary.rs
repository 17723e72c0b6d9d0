//! The end of a run at a glance.

use super::finding::{Finding, finding};
use super::large;
use super::objection;
use super::screen::Screen;
use super::wrap::{fit, width, wrap};
use crate::judge::reading::{Reading, Verdict};
use crate::judge::roots::roots;
use crate::plain::plain;
use crate::run::event::{
    CalibrationUsed, Ending, Event, JigIdentity, ListenError, Listener, Outcome,
};
use crate::script::module_sheet::PositionNames;
use std::path::Path;

/// The most rows of a summary, whatever failed.
pub const ROWS: usize = 15;

/// The most rows of readings; the rest stands in the report.
const SHOWN: usize = 6;

/// Remembers what the summary needs.
#[derive(Debug, Default)]
pub struct Summary {
    /// The jig, once the run began.
    pub jig: Option<JigIdentity>,
    /// The script's one line for people.
    pub title: String,
    /// What the module's positions mean to people.
    pub positions: PositionNames,
    /// The readings that do not pass.
    pub objections: Vec<Reading>,
    /// Where among all readings they stand.
    pub places: Places,
    /// How the run came out, once it is over.
    pub outcome: Option<Outcome>,
}

/// Where among all readings the objections stand.
#[derive(Debug, Default)]
pub struct Places {
    /// How many readings came before each of them.
    before: Vec<usize>,
    /// How many readings there are.
    read: usize,
    /// How many of them are on no disk.
    lost: usize,
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

/// How a summary is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct View {
    /// Its columns and colours.
    pub screen: Screen,
    /// Whether it is a terminal; else a file or another program, and the first line says it all.
    pub is_terminal: bool,
    /// Every reading that does not pass, with its note.
    pub verbose: bool,
}

impl Listener for Summary {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        match event {
            Event::Began { plan, jig, .. } => {
                self.jig = Some((*jig).clone());
                self.title = plan.title.clone();
                let names = plan.module.positions.0.clone();
                self.positions = PositionNames(names.map(|names| names.map(|name| plain(&name))));
            }
            Event::Read(reading) => {
                if reading.verdict != Verdict::Pass {
                    self.objections.push((*reading).clone());
                    self.places.before.push(self.places.read);
                }
                self.places.read += 1;
            }
            Event::Ended(outcome) => self.outcome = Some((*outcome).clone()),
            _ => {}
        }
        Ok(())
    }
}

impl Summary {
    /// Only the first `durable` readings are on the disk: no other is shown.
    pub fn keep_only(&mut self, durable: usize) {
        self.places.lost = self.places.read.saturating_sub(durable);
        let kept = self.places.before.partition_point(|before| *before < durable);
        self.objections.truncate(kept);
        self.places.before.truncate(kept);
    }

    /// What the run found; `None` while it is not over.
    pub fn finding(&self) -> Option<Finding> {
        let outcome = self.outcome.as_ref()?;
        let is_simulated = self.simulated().is_some();
        Some(finding(outcome, &self.objections, &self.positions, is_simulated))
    }

    /// The text, lines ended. Empty while the run is not over.
    pub fn text(&self, frame: &Frame<'_>, view: View) -> String {
        let (Some(outcome), Some(finding)) = (&self.outcome, self.finding()) else {
            return String::new();
        };
        let columns = usize::from(view.screen.width);
        let mut head = self.head(outcome, frame, view, columns);
        let end = if view.is_terminal {
            at_a_terminal(outcome, &finding, view, columns)
        } else {
            elsewhere(&finding, frame, columns)
        };
        if view.is_terminal {
            head.extend(report(frame, columns));
        }
        let (taken, room) = (head.len() + end.len(), usize::from(!view.is_terminal));
        let shown = self.readings(view, columns, (ROWS - room).saturating_sub(taken));
        if !view.is_terminal && !shown.is_empty() {
            head.push(String::new());
        }
        let mut lines = head;
        lines.extend(shown);
        lines.extend(end);
        lines.into_iter().map(|line| line + "\n").collect()
    }

    fn simulated(&self) -> Option<&JigIdentity> {
        self.jig.as_ref().filter(|jig| jig.simulated)
    }

    /// What was tested, with what, and how many readings that gave.
    fn head(
        &self,
        outcome: &Outcome,
        frame: &Frame<'_>,
        view: View,
        columns: usize,
    ) -> Vec<String> {
        let run = frame.run.map(|n| format!(", run {n}")).unwrap_or_default();
        let what = format!("module {}, lot {}{run}", plain(frame.module), plain(frame.lot));
        let mut counts = counts(outcome);
        match self.places.lost {
            0 => {}
            1 => counts.push_str("; 1 reading is lost"),
            n => counts.push_str(&format!("; {n} readings are lost")),
        }
        let together = format!("{what}: {counts}");
        let mut lines = match view.is_terminal {
            true if width(&together) <= columns => vec![together],
            true => vec![fit(&what, columns), counts.clone()],
            false => {
                let verdict = view.screen.verdict(outcome.verdict);
                let word = Screen::word(outcome.verdict);
                vec![format!("{verdict}  {}", fit(&what, columns - width(word) - 2))]
            }
        };
        if let Some(jig) = self.simulated() {
            let warning = view.screen.warning("SIMULATED");
            let rest = format!(": bench {}; no real module was tested", plain(&jig.serial));
            lines.push(format!("{warning}{}", fit(&rest, columns - width("SIMULATED"))));
        }
        if let Some(used) = self.jig.as_ref().and_then(|jig| jig.calibration.as_ref()) {
            lines.push(calibration(used, view.screen, columns));
        }
        if !view.is_terminal {
            lines.push(counts);
        }
        lines
    }

    /// The readings that follow from no other, a line each; all of them with their notes where that
    /// is wanted.
    fn readings(&self, view: View, columns: usize, room: usize) -> Vec<String> {
        if view.verbose {
            return self.all_readings(columns);
        }
        let roots = roots(&self.objections);
        if roots.len() < 2 {
            // The finding tells it.
            return Vec::new();
        }
        let room = room.min(SHOWN);
        let shown = if roots.len() <= room { roots.len() } else { room.saturating_sub(1) };
        let line = |root| format!("  {}", objection::line(root, &self.positions));
        let mut lines: Vec<String> =
            roots.iter().take(shown).map(|root| fit(&line(root), columns)).collect();
        match roots.len() - shown {
            0 => {}
            _ if room == 0 => {}
            1 => lines.push("  and 1 more, see --verbose or the report".into()),
            more => lines.push(format!("  and {more} more, see --verbose or the report")),
        }
        lines
    }

    fn all_readings(&self, columns: usize) -> Vec<String> {
        let mut by_output: Vec<&Reading> = self.objections.iter().collect();
        let worst = |output: Option<u8>| {
            let at = self.objections.iter().filter(|r| r.output == output);
            at.map(|r| (r.verdict, crate::judge::roots::beyond(r)))
                .max_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))
        };
        by_output.sort_by(|a, b| {
            let (worst_a, worst_b) = (worst(a.output), worst(b.output));
            let first = match (worst_a, worst_b) {
                (Some(a), Some(b)) => b.0.cmp(&a.0).then(b.1.total_cmp(&a.1)),
                _ => core::cmp::Ordering::Equal,
            };
            a.output.is_some().cmp(&b.output.is_some()).then(first).then(a.output.cmp(&b.output))
        });
        let line = |reading: &&Reading| {
            let outputs = reading.output.into_iter().collect();
            let root = crate::judge::roots::Root { outputs, worst: reading };
            let told = objection::sentence(&root, &self.positions);
            wrap(&format!("  {}: {told}", plain(&reading.step)), columns, 6)
        };
        by_output.iter().map(line).collect()
    }
}

/// The verdict large, the finding and what to do under it.
fn at_a_terminal(outcome: &Outcome, finding: &Finding, view: View, columns: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    lines.extend(large::verdict(outcome.verdict, view.screen).lines().map(str::to_owned));
    lines.extend(wrap(&finding.sentence, columns, 0).lines().map(str::to_owned));
    lines.extend(wrap(&finding.to_do, columns, 0).lines().map(str::to_owned));
    lines
}

/// The finding, what to do and the report, where lines are read one by one.
fn elsewhere(finding: &Finding, frame: &Frame<'_>, columns: usize) -> Vec<String> {
    let told = |name: &str, text: &str| wrap(&format!("{name:<10}{text}"), columns, 10);
    let mut lines = vec![String::new()];
    for text in [told("Finding:", &finding.sentence), told("To do:", &finding.to_do)] {
        lines.extend(text.lines().map(str::to_owned));
    }
    lines.extend(report(frame, columns));
    lines
}

fn report(frame: &Frame<'_>, columns: usize) -> Vec<String> {
    let path = match frame.report {
        Some(path) => plain(&path.display().to_string()),
        None => "none".into(),
    };
    wrap(&format!("{:<10}{path}", "Report:"), columns, 10).lines().map(str::to_owned).collect()
}

/// What stands behind the jig's current channels.
fn calibration(used: &CalibrationUsed, screen: Screen, columns: usize) -> String {
    let days = if used.days == 1 { "1 day".into() } else { format!("{} days", used.days) };
    let told = |too_old: &str| {
        fit(&format!("Calibration {}, {days} old", plain(&used.name)), columns - width(too_old))
    };
    if used.too_old {
        let words = ", TOO OLD";
        return told(words) + &screen.warning(words);
    }
    told("")
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
        1 => counts.push_str(", 1 is open"),
        n => counts.push_str(&format!(", {n} are open")),
    }
    match outcome.ending {
        Ending::Complete => {}
        Ending::EndedEarly(_) => counts.push_str("; ended early"),
        Ending::Unrecorded(_) => counts.push_str("; not yet in a report"),
        Ending::Stopped | Ending::BenchTrouble(_) => counts.push_str("; cut short"),
    }
    counts
}

#[cfg(test)]
#[path = "summary/tests.rs"]
mod tests;
