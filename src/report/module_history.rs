//! The history of a module: its tries, and what people decided and told of it.

use super::lot_text::module_line;
use super::planned_modules::json;
use super::screen::Screen;
use super::table::{Column, table};
use super::wrap::wrap;
use crate::lot::decision::{Decision, What};
use crate::lot::modules_csv::{Row, showed};
use crate::lot::standing::{Lot, Module};
use crate::lot::tries::Try;
use crate::plain::plain;
use crate::record::names::{is_same_name, key};
use serde::Serialize;

/// A history for other programs.
#[derive(Serialize)]
struct Told<'a> {
    module: Row,
    tries: Vec<Tried<'a>>,
    decisions: Vec<&'a Decision>,
}

/// A try.
#[derive(Serialize)]
struct Tried<'a> {
    run: u32,
    started: &'a str,
    script: &'a str,
    simulated: bool,
    showed: String,
    finding: Option<&'a str>,
    counts: bool,
    after_closing: bool,
}

/// A line of JSON.
pub fn history_json(lot: &Lot, module: &Module) -> String {
    let tried = |one: &'_ Try| -> (bool, bool) {
        let ruling = &module.ruling;
        (!ruling.not_counted.contains(&one.run), ruling.checks.contains(&one.run))
    };
    let tries = module.tries.iter().map(|one| Tried {
        run: one.run,
        started: &one.started,
        script: &one.script,
        simulated: one.simulated,
        showed: showed(&one.showed),
        finding: one.finding.as_deref(),
        counts: tried(one).0,
        after_closing: tried(one).1,
    });
    json(&Told {
        module: Row::of(&lot.name(), module),
        tries: tries.collect(),
        decisions: about(lot, module).collect(),
    })
}

/// The history, lines ended.
pub fn history(lot: &Lot, module: &Module, screen: Screen) -> String {
    let mut text = wrap(&module_line(module), usize::from(screen.width), 0) + "\n";
    if module.is_simulated() {
        text.push_str("SIMULATED: no real module was tested\n");
    }
    if module.tries.is_empty() {
        text.push_str("\nIt was not tested yet.\n");
    } else {
        let columns = [
            Column::Number("run"),
            Column::Code("began"),
            Column::Code("script"),
            Column::Code("showed"),
            Column::Words(""),
            Column::Words("what was found"),
        ];
        let rows = module.tries.iter().map(|one| tried(module, one));
        text.push('\n');
        text.push_str(&table(screen, 0, columns, rows));
    }
    let told: Vec<[String; 4]> = about(lot, module).map(|d| decided(d, module)).collect();
    if !told.is_empty() {
        let columns = [
            Column::Code("when"),
            Column::Words("what"),
            Column::Words("who"),
            Column::Words("why"),
        ];
        text.push('\n');
        text.push_str(&table(screen, 0, columns, told));
    }
    text
}

fn tried(module: &Module, one: &Try) -> [String; 6] {
    let note = if module.ruling.not_counted.contains(&one.run) {
        "does not count"
    } else if module.ruling.checks.contains(&one.run) {
        "after closing"
    } else {
        ""
    };
    [
        one.run.to_string(),
        minute(&one.started),
        plain(&one.script),
        showed(&one.showed),
        note.into(),
        one.finding.as_deref().map_or(String::new(), plain),
    ]
}

/// What was decided and told of a module, and of the bench where that meant it.
fn about<'l>(lot: &'l Lot, module: &'l Module) -> impl Iterator<Item = &'l Decision> {
    lot.decisions.all.iter().filter(|decision| match &decision.what {
        What::BenchFailed { runs, .. } => runs_of(runs, module).is_some(),
        What::Sample { serials, .. } => {
            serials.iter().any(|serial| is_same_name(serial, &module.serial))
        }
        What::Close { .. } => true,
        what => what.serial().is_some_and(|serial| is_same_name(serial, &module.serial)),
    })
}

fn runs_of<'r>(
    runs: &'r std::collections::BTreeMap<String, Vec<u32>>,
    module: &Module,
) -> Option<&'r Vec<u32>> {
    runs.iter().find(|(serial, _)| key(serial) == key(&module.serial)).map(|(_, runs)| runs)
}

fn decided(decision: &Decision, module: &Module) -> [String; 4] {
    let numbers = |runs: &[u32]| runs.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    let what = match &decision.what {
        What::Strike { run, .. } => format!("run {run} struck"),
        What::Hold { .. } => "put on hold".into(),
        What::Release { .. } => "released".into(),
        What::Reject { .. } => "rejected".into(),
        What::Accept { .. } => "accepted".into(),
        What::Note { .. } => "note".into(),
        What::Whereabouts { is, at, .. } => match at {
            Some(at) => format!("{is}, {}", plain(at)),
            None => is.to_string(),
        },
        What::BenchFailed { runs, .. } => {
            let runs = runs_of(runs, module).map(|runs| numbers(runs)).unwrap_or_default();
            format!("the bench failed its check: run {runs} does not count")
        }
        What::BenchGood { .. } => "the bench is good".into(),
        What::Sample { script, .. } => format!("of the sample, to pass {}", plain(script)),
        What::Close { .. } => "the lot closed".into(),
    };
    [minute(&decision.time), what, plain(&decision.by), plain(&decision.reason)]
}

/// A time to the minute: `2026-03-09 10:00`.
fn minute(time: &str) -> String {
    plain(time.get(..16).unwrap_or(time)).replace('T', " ")
}
