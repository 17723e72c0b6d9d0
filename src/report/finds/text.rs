//! What a script finds, in words.

use crate::finds::severities::{FoundFrom, Searched};
use crate::finds::share::Share;
use crate::finds::steps::Line;
use crate::finds::survey::Survey;
use crate::finds::trial_run::Told;
use crate::plain::plain;
use crate::report::amount::amount;
use crate::report::risk_text;
use crate::report::screen::Screen;
use crate::report::severity::said;
use crate::report::table::{Column, table};
use crate::script::plan::Plan;
use std::fmt::Write;

/// In words, lines ended.
pub fn text(plan: &Plan, seed: u64, survey: &Survey, screen: Screen) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write(&mut text, plan, seed, survey, screen);
    text
}

fn write(
    text: &mut String,
    plan: &Plan,
    seed: u64,
    survey: &Survey,
    screen: Screen,
) -> std::fmt::Result {
    writeln!(text, "{}: no real bench was tried", screen.warning("SIMULATED"))?;
    writeln!(
        text,
        "What {} finds on modules of {}: {} runs, drawn from {seed}\n",
        plain(&plan.script),
        plain(&plan.module.kind),
        survey.runs
    )?;
    writeln!(
        text,
        "Sound modules: {} rejected{}; {} left open",
        of(survey.sound.failed),
        at_most(survey.sound.failed),
        survey.sound.open.of
    )?;
    if survey.sound.trouble.of > 0 {
        writeln!(text, "{} ended in bench trouble", survey.sound.trouble.of)?;
    }
    text.push('\n');
    let found: Vec<Found<'_>> = survey.searched.iter().map(|one| (one, one.found_from())).collect();
    text.push_str(&faults(&found, screen));
    text.push_str(
        "found from: from there on 95 in 100 are found; 95 %: where that lies; blamed right: of those \
         found\n",
    );
    for (head, names) in [("Missed", missed(&found)), ("No place for", elsewhere(survey))] {
        if !names.is_empty() {
            writeln!(text, "\n{head}: {}", names.join(", "))?;
        }
    }
    writeln!(text, "\nThe lines of the script, {:.1} s in all:", plan.duration().as_secs_f64())?;
    text.push_str(&lines(&survey.lines, screen));
    Ok(())
}

/// A fault, and from which severity on it is found: that takes some reckoning.
type Found<'s> = (&'s Searched, FoundFrom);

fn faults(all: &[Found<'_>], screen: Screen) -> String {
    let columns = [
        Column::Code("fault"),
        Column::Number("found from"),
        Column::Words("95 %"),
        Column::Words("told by"),
        Column::Number("blamed right"),
    ];
    let found = all.iter().filter(|(_, from)| *from != FoundFrom::Never);
    table(screen, 0, columns, found.map(row))
}

fn row((one, from): &Found<'_>) -> [String; 5] {
    let unit = one.fault.unit;
    let (from, interval) = match *from {
        FoundFrom::Severity { severity, mildest, worst, until } => {
            let until =
                until.map_or(String::new(), |until| format!("; up to {}", said(until, unit)));
            let interval = format!("{} to {}{until}", said(mildest, unit), said(worst, unit));
            (said(severity, unit), interval)
        }
        FoundFrom::TheMildest(severity) => (said(severity, unit), "the mildest tried".into()),
        FoundFrom::Never => (String::new(), String::new()),
    };
    let blamed = one.blamed().value().map_or("-".into(), |share| format!("{:.0} %", 100.0 * share));
    [one.fault.name.into(), from, interval, one.told_by().map_or("-".into(), told), blamed]
}

fn told(told: Told) -> String {
    let words = told.quantity.words();
    let unit = told.quantity.unit();
    match (told.value, told.limit) {
        (Some(value), Some(limit)) => {
            format!("{words} {}, limit {}", amount(value, unit), amount(limit, unit))
        }
        (Some(value), None) => format!("{words} {}", amount(value, unit)),
        (None, _) => format!("{words}, not there"),
    }
}

/// Those that are not found even at their worst, each with the share that is.
fn missed(all: &[Found<'_>]) -> Vec<String> {
    let never = all.iter().filter(|(_, from)| *from == FoundFrom::Never);
    never
        .map(|(one, _)| {
            let worst =
                one.tried.last().map_or(String::new(), |at| said(at.severity, one.fault.unit));
            format!("{} ({} at {worst})", one.fault.name, of(one.at_worst()))
        })
        .collect()
}

fn elsewhere(survey: &Survey) -> Vec<String> {
    survey.elsewhere.iter().map(|fault| fault.name.into()).collect()
}

fn lines(lines: &[Line], screen: Screen) -> String {
    let columns = [
        Column::Number("line"),
        Column::Number("costs"),
        Column::Words("what it does"),
        Column::Number("finds"),
        Column::Words("found by it alone"),
    ];
    table(
        screen,
        0,
        columns,
        lines.iter().map(|line| {
            let alone: Vec<String> = line
                .alone
                .iter()
                .map(|(fault, share)| format!("{fault} {:.0} %", 100.0 * share))
                .collect();
            [
                line.line.to_string(),
                format!("{:.1} s", line.costs.as_secs_f64()),
                plain(&line.words),
                line.finds.len().to_string(),
                alone.join(", "),
            ]
        }),
    )
}

fn of(share: Share) -> String {
    format!("{} of {}", share.of, share.runs)
}

/// What share of all it may be at the most.
fn at_most(share: Share) -> String {
    format!(" (at most {})", risk_text::share(share.interval().1))
}
