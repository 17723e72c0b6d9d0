//! What the loads of a sheet must draw at its nominal voltage, as a table and as JSON.

use super::amount::amount;
use super::screen::Screen;
use super::table::{Column, table};
use crate::load::Circuit;
use crate::load::sheet::{Load, LoadSheet};
use crate::load::start::{Start, start};
use crate::load::{Expectation, Fed, explained};
use crate::load::{settle_time, window_words};
use crate::plain::plain;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use crate::quantity::write;
use crate::signal::target::Clamp;
use serde::Serialize;
use std::fmt::Write;
use uom::si::f64::{ElectricPotential, Ratio, Time};

/// The table, lines ended. `why` tells of each window how it comes about.
pub fn text(sheet: &LoadSheet, why: bool, screen: Screen) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write_text(&mut text, sheet, why, screen);
    text
}

fn write_text(text: &mut String, sheet: &LoadSheet, why: bool, screen: Screen) -> std::fmt::Result {
    writeln!(text, "{}", plain(&sheet.title))?;
    writeln!(text, "Load supply {}, direct current", write::toleranced(sheet.supply))?;
    if let Some(sample) = &sheet.sample {
        let times = |n: u32, what: &str| {
            if n == 1 { format!("one {what}") } else { format!("{n} {what}s") }
        };
        let share = |share: Ratio| write::brief(share);
        if sample.simulated {
            writeln!(text, "SIMULATED: made from a simulated sample; no real load was measured")?;
        }
        writeln!(
            text,
            "From a sample: {}, {} of each; limits hold {} of such readings with a confidence of {}",
            times(sample.specimens, "specimen"),
            times(sample.times, "measurement"),
            share(sample.coverage),
            share(sample.confidence)
        )?;
    }
    writeln!(
        text,
        "\nSettled current at {}, nothing else in the way:\n",
        write::exact(sheet.supply.nominal)
    )?;
    let mut rows = Vec::new();
    let mut whys = Vec::new();
    for (clamp, load) in loads(sheet) {
        let expected = expected(load, sheet);
        let current = expected.current;
        let [lowest, nominal, highest] =
            [current.lower, current.nominal, current.upper].map(|i| amount(i.si(), "A"));
        let circuit = circuit(&load.circuit);
        let settles = amount(settle_time(&load.circuit, sheet.supply).si(), "s");
        let name = plain(&load.name);
        rows.push([clamp.to_string(), name, circuit, lowest, nominal, highest, settles]);
        whys.push(format!("{clamp}: {}", window_words::of(&expected)));
    }
    text.push_str(&table(screen, 2, columns(Column::Words("circuit"), "settles in"), rows));
    let starts: Vec<[String; 7]> =
        loads(sheet).flat_map(|(c, l)| start_rows(c, l, sheet)).collect();
    if !starts.is_empty() {
        writeln!(text, "\nWhen it is switched on at rest, nothing else in the way:\n")?;
        let is_unstated = starts.iter().any(|row| row[2].ends_with('*'));
        text.push_str(&table(screen, 2, columns(Column::Code("what"), "at rest after"), starts));
        if is_unstated {
            writeln!(
                text,
                "* no tolerance is stated for it, so a run reads it and does not judge it"
            )?;
        }
    }
    let rests: Vec<String> = loads(sheet).filter_map(rest).collect();
    if !rests.is_empty() {
        writeln!(text, "\nThe jig keeps: {}", rests.join("; "))?;
    }
    if why {
        writeln!(text)?;
        whys.iter().try_for_each(|line| writeln!(text, "{line}"))?;
    }
    Ok(())
}

/// Clamp and load, something about it, three currents or times, and another time.
const fn columns<'a>(third: Column<'a>, last: &'a str) -> [Column<'a>; 7] {
    [
        Column::Code("clamp"),
        Column::Words("load"),
        third,
        Column::Number("lowest"),
        Column::Number("nominal"),
        Column::Number("highest"),
        Column::Number(last),
    ]
}

fn loads(sheet: &LoadSheet) -> impl Iterator<Item = (Clamp, &Load)> {
    Clamp::ALL.into_iter().filter_map(|c| Some((c, sheet.clamps[c.index()].as_ref()?)))
}

fn expected(load: &Load, sheet: &LoadSheet) -> Expectation {
    let nominal: ElectricPotential = sheet.supply.nominal;
    let fed = Fed::directly(Toleranced { nominal, lower: nominal, upper: nominal });
    explained(&load.circuit, &fed, Time::from_si(f64::INFINITY))
}

/// How a load starts: a row for each thing that a run reads of it.
fn start_rows(clamp: Clamp, load: &Load, sheet: &LoadSheet) -> Vec<[String; 7]> {
    let Some(start) = start_of(load, sheet) else { return Vec::new() };
    let rest = amount(start.rest.si(), "s");
    let row = |what: &str, stated: bool, ends: [f64; 3], unit: &str| {
        let [lowest, nominal, highest] = ends.map(|v| amount(v, unit));
        let what = if stated { what.to_owned() } else { format!("{what} *") };
        [clamp.to_string(), plain(&load.name), what, lowest, nominal, highest, rest.clone()]
    };
    let mut rows = Vec::new();
    if let Some(peak) = start.peak {
        rows.push(row("first current", peak.stated, si(peak.value), "A"));
    }
    if let Some(decay) = start.decay {
        rows.push(row("half of it gone", decay.stated, si(decay.value), "s"));
    }
    if let Some(rise) = start.rise {
        rows.push(row("10 % to 90 %", rise.stated, si(rise.value), "s"));
    }
    rows
}

fn start_of(load: &Load, sheet: &LoadSheet) -> Option<Start> {
    let nominal = sheet.supply.nominal;
    start(&load.circuit, &Fed::directly(Toleranced { nominal, lower: nominal, upper: nominal }))
}

fn si<Q: Units>(value: Toleranced<Q>) -> [f64; 3] {
    [value.lower, value.nominal, value.upper].map(Units::si)
}

fn rest((clamp, load): (Clamp, &Load)) -> Option<String> {
    let on = load.on_time?;
    let rest = load.rest.unwrap_or(on);
    Some(format!("{clamp} at most {} on, then {} rest", write::exact(on), write::exact(rest)))
}

/// What a circuit is, in a word or a few.
fn circuit(circuit: &Circuit) -> String {
    match &circuit.parts[..] {
        [one] => one.kind().words().to_owned(),
        several => format!("{} in parallel", several.len()),
    }
}

/// As one line of JSON. Currents in amperes, voltages in volts, times in seconds.
pub fn json(sheet: &LoadSheet) -> String {
    #[derive(Serialize)]
    struct Line<'a> {
        title: &'a str,
        supply_v: [f64; 3],
        sample: Option<SampleLine>,
        loads: Vec<LoadLine<'a>>,
    }
    #[derive(Serialize)]
    struct SampleLine {
        simulated: bool,
        specimens: u32,
        times: u32,
        coverage: f64,
        confidence: f64,
    }
    #[derive(Serialize)]
    struct LoadLine<'a> {
        clamp: String,
        name: &'a str,
        circuit: String,
        lowest_a: f64,
        nominal_a: f64,
        highest_a: f64,
        settles_s: f64,
        longest_on_s: Option<f64>,
        rest_s: Option<f64>,
        window_from: String,
        start: Option<StartLine>,
    }
    /// Each as lowest, nominal and highest value.
    #[derive(Serialize)]
    struct StartLine {
        first_current_a: Option<[f64; 3]>,
        decay_s: Option<[f64; 3]>,
        rise_s: Option<[f64; 3]>,
        judged: [bool; 3],
        rest_s: f64,
    }
    let start_line = |start: Start| StartLine {
        first_current_a: start.peak.map(|l| si(l.value)),
        decay_s: start.decay.map(|l| si(l.value)),
        rise_s: start.rise.map(|l| si(l.value)),
        judged: [
            start.peak.is_some_and(|l| l.stated),
            start.decay.is_some_and(|l| l.stated),
            start.rise.is_some_and(|l| l.stated),
        ],
        rest_s: start.rest.si(),
    };
    let loads = loads(sheet).map(|(clamp, load)| {
        let expected = expected(load, sheet);
        LoadLine {
            clamp: clamp.to_string(),
            name: &load.name,
            circuit: circuit(&load.circuit),
            lowest_a: expected.current.lower.si(),
            nominal_a: expected.current.nominal.si(),
            highest_a: expected.current.upper.si(),
            settles_s: settle_time(&load.circuit, sheet.supply).si(),
            longest_on_s: load.on_time.map(Units::si),
            rest_s: load.on_time.map(|on| load.rest.unwrap_or(on).si()),
            window_from: window_words::of(&expected),
            start: start_of(load, sheet).map(start_line),
        }
    });
    let line = Line {
        title: &sheet.title,
        supply_v: [sheet.supply.lower, sheet.supply.nominal, sheet.supply.upper].map(Units::si),
        sample: sheet.sample.map(|s| SampleLine {
            simulated: s.simulated,
            specimens: s.specimens,
            times: s.times,
            coverage: s.coverage.si(),
            confidence: s.confidence.si(),
        }),
        loads: loads.collect(),
    };
    // Strings and numbers only: cannot fail.
    serde_json::to_string(&line).unwrap_or_default() + "\n"
}
