//! A roll-call as one JSON object, for other programs.

use super::findings::findings;
use crate::roll_call::answer::{Answer, Contacts, Module, RollCall, Sense, Short, Silence};
use crate::roll_call::bound::Effort;
use crate::roll_call::target::Target;
use crate::script::module_sheet::ModuleSheet;
use crate::signal::dcc::Numbering;
use serde::Serialize;
use std::path::Path;

#[derive(Serialize)]
struct Whole<'a> {
    kind: &'a str,
    simulated: bool,
    jig: &'a str,
    /// The kinds that do just what was seen.
    fits: &'a [String],
    /// Null where nobody wants an address.
    verdict: Option<String>,
    outputs: Vec<Output>,
    /// Every module that answers, the one that was asked for too.
    modules: Vec<Each>,
    /// Why nothing answers.
    silence: Option<Why>,
    stopped_at_first: bool,
    restless: bool,
    findings: Vec<String>,
    to_do: Vec<String>,
    packets_until_found: Option<u64>,
    sent: Amount,
    bound: Amount,
    seconds: f64,
    report: Option<String>,
}

#[derive(Serialize)]
struct Output {
    output: u8,
    verdict: Option<String>,
    expected: Option<At>,
    #[serde(flatten)]
    found: Found,
}

/// Where and how an output or a target answers; all null where it does not.
#[derive(Default, Serialize)]
struct Found {
    answers_at: Option<At>,
    /// Which way: `right`, `swapped` or `unknown`.
    sense: Option<&'static str>,
    /// The only position that it answers to.
    only: Option<String>,
    /// Outputs that move along.
    also: Vec<u8>,
    coil_a: Option<f64>,
}

#[derive(Serialize)]
struct Each {
    first: At,
    inverted: bool,
    copies: u8,
    answers: Vec<Found>,
}

#[derive(Serialize)]
struct At {
    format: String,
    /// Null for the group that has no addresses.
    address: Option<u16>,
    group: u16,
    pair: u16,
}

#[derive(Serialize)]
struct Amount {
    packets: u64,
    seconds_on_the_feed: f64,
}

#[derive(Serialize)]
#[serde(tag = "why", rename_all = "kebab-case")]
enum Why {
    Shorted { what: &'static str, ohm: Option<f64> },
    NoCurrent { current_a: f64 },
    NothingMoves { current_a: f64, feed_v: Option<f64>, contacts: &'static str, broadcast: bool },
}

/// The object, the line ended.
pub fn roll_call_json(roll: &RollCall, sheet: &ModuleSheet, report: Option<&Path>) -> String {
    let at = |target| at(target, sheet.numbering);
    let (findings, to_do) = findings(roll, sheet);
    let output = |row: crate::roll_call::answer::Row<'_>| Output {
        output: row.output,
        verdict: roll.wanted.then(|| row.verdict.to_string()),
        expected: row.expected.filter(|_| roll.wanted).map(at),
        found: row.found.map(|answer| found(answer, sheet.numbering)).unwrap_or_default(),
    };
    let each = |module: &Module| Each {
        first: at(module.first),
        inverted: module.inverted,
        copies: module.copies,
        answers: module.answers.iter().map(|a| found(a, sheet.numbering)).collect(),
    };
    let whole = Whole {
        kind: &sheet.kind,
        simulated: roll.simulated,
        jig: &roll.jig,
        fits: &roll.fits,
        verdict: roll.judged().map(|verdict| verdict.to_string()),
        outputs: roll.rows().into_iter().map(output).collect(),
        modules: roll.modules.iter().map(each).collect(),
        silence: roll.silence.as_ref().map(why),
        stopped_at_first: roll.stopped_at_first,
        restless: roll.restless,
        findings,
        to_do,
        packets_until_found: roll.until_found.map(|effort| effort.packets),
        sent: amount(roll.effort),
        bound: amount(roll.bound.most),
        seconds: roll.took.as_secs_f64(),
        report: report.map(|path| path.display().to_string()),
    };
    // Strings and numbers only: cannot fail.
    serde_json::to_string(&whole).unwrap_or_default() + "\n"
}

fn at(target: Target, numbering: Numbering) -> At {
    At {
        format: target.format.to_string(),
        address: target.address(numbering),
        group: target.group(),
        pair: target.pair(),
    }
}

fn found(answer: &Answer, numbering: Numbering) -> Found {
    Found {
        answers_at: Some(at(answer.target, numbering)),
        sense: Some(match answer.sense {
            Sense::Right => "right",
            Sense::Swapped => "swapped",
            Sense::Unknown => "unknown",
        }),
        only: answer.only.map(|position| position.to_string()),
        also: answer.also.clone(),
        coil_a: answer.coil_a,
    }
}

fn amount(effort: Effort) -> Amount {
    Amount { packets: effort.packets, seconds_on_the_feed: effort.wire.as_secs_f64() }
}

fn why(silence: &Silence) -> Why {
    match *silence {
        Silence::Shorted { what, ohm } => {
            let what = match what {
                Short::FeedWires => "feed-wires",
                Short::FeedToCommons => "feed-to-commons",
                Short::Commons => "commons",
                Short::Tripped => "tripped",
            };
            Why::Shorted { what, ohm }
        }
        Silence::Dark { current_a } => Why::NoCurrent { current_a },
        Silence::Unmoved { current_a, feed_v, contacts, hears_broadcast } => {
            let contacts = match contacts {
                Contacts::Work => "work",
                Contacts::Dead => "dead",
                Contacts::Untried => "untried",
            };
            Why::NothingMoves { current_a, feed_v, contacts, broadcast: hears_broadcast }
        }
    }
}
