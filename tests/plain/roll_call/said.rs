//! What people read, whatever is found.

use crate::kit::roll_call::{bench, call, neighbour, sheet, usual};
use musterbench::report::roll_call::roll_call_text;
use musterbench::report::screen::Screen;
use musterbench::roll_call::Question;
use musterbench::signal::target::Format;
use musterbench::simulated_bench::Setup;
use musterbench::simulated_bench::faults::find;

#[test]
fn every_finding_has_its_sentences() {
    let sheet = sheet("pier-four");
    let mut text = String::new();
    let mut say = |title: &str, question: &Question<'_>, setup: Setup| {
        let roll = call(question, setup);
        text += &format!("== {title}\n{}\n", roll_call_text(&roll, &sheet, None, Screen::PLAIN));
    };
    let question = usual(&sheet);
    for fault in [
        "one-group-away",
        "wrong-format",
        "outputs-crossed",
        "positions-swapped",
        "neighbour-follows",
        "coil-driver-open",
        "feed-wires-swapped",
        "slow-boot",
        "needs-more-packets",
        "rectifier-shorted",
        "feed-lead-off",
        "hard-of-hearing",
        "weak-feed",
    ] {
        let severity = find(fault).expect("a fault").default;
        say(fault, &question, bench(&sheet, (181, Format::Dcc), &[(fault, severity)], 1));
    }
    for (title, first) in [("a switch set wrongly", 181 + 32), ("somewhere else", 1601)] {
        say(title, &question, bench(&sheet, (first, Format::Dcc), &[], 1));
    }
    let sound = || bench(&sheet, (181, Format::Dcc), &[], 1);
    say("sound", &question, sound());
    let mut broadcast = Setup { switches: 0x7FE, ..sound() };
    broadcast.kind.switch_weights[10] += 46;
    say("the broadcast group", &question, broadcast);
    let all = Question { all: true, formats: vec![Format::Dcc], ..usual(&sheet) };
    let beside = vec![neighbour(&sheet, (1601, Format::Dcc))];
    say("two modules", &all, Setup { beside, ..sound() });
    insta::assert_snapshot!(text);
}
