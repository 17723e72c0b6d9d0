//! A module where it should be, and wherever else it may stand.

use crate::kit::roll_call::{addresses, bench, call, call_over, neighbour, sheet, usual};
use musterbench::judge::reading::Verdict;
use musterbench::link::pace::Pace;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::roll_call::Question;
use musterbench::roll_call::answer::{RollCall, Sense};
use musterbench::signal::target::Format;
use musterbench::simulated_bench::Setup;
use std::time::Duration;

const KINDS: [&str; 3] = ["pier-four", "quay-four", "jetty-two"];

fn in_a_row(first: u16, outputs: u8) -> Vec<Option<u16>> {
    (first..).take(outputs.into()).map(Some).collect()
}

fn stays_within_the_bound(roll: &RollCall) {
    assert!(roll.effort.packets <= roll.bound.most.packets, "{:?}", roll.effort);
    assert!(roll.effort.wire <= roll.bound.most.wire, "{:?}", roll.effort);
}

#[test]
fn a_module_where_it_should_be() {
    for kind in KINDS {
        let sheet = sheet(kind);
        let question = usual(&sheet);
        for seed in 1..=4 {
            let at = (question.address, question.format);
            let setup = bench(&sheet, at, &[], seed);
            let roll = call(&question, setup);
            assert_eq!(roll.verdict(), Verdict::Pass, "{kind} seed {seed}: {roll:#?}");
            assert!(roll.stopped_at_first && roll.simulated && !roll.restless);
            let own = roll.own().unwrap();
            assert!(own.answers.iter().all(|a| a.sense == Sense::Right && a.coil_a.is_some()));
            stays_within_the_bound(&roll);
        }
    }
}

/// Some first addresses from end to end of each format; the clock of the likely places is the
/// jig's.
#[test]
fn a_module_anywhere_else() {
    let samples = [
        ("pier-four", Format::Dcc, vec![1, 5, 1021, 1857]),
        ("pier-four", Format::Trinary, vec![1, 165, 317]),
        ("quay-four", Format::Dcc, vec![129, 497, 637]),
        ("jetty-two", Format::Trinary, vec![1, 165, 317]),
    ];
    for (kind, format, firsts) in samples {
        let sheet = sheet(kind);
        let question = usual(&sheet);
        for (seed, first) in (1..).zip(firsts) {
            let roll = call(&question, bench(&sheet, (first, format), &[], seed));
            let want = in_a_row(first, sheet.outputs);
            assert_eq!(addresses(&roll, &sheet), want, "{kind} {format} {first}: {roll:#?}");
            assert!(roll.own().unwrap().answers.iter().all(|a| a.sense == Sense::Right));
            assert_eq!(roll.verdict(), Verdict::Fail);
            assert!(roll.effort.packets <= roll.bound.usual.packets);
            assert!(roll.effort.wire <= roll.bound.usual.wire);
            stays_within_the_bound(&roll);
            let likely = roll.likely_took.expect("none of these is likely");
            assert!(likely < Duration::from_secs(1), "{kind}: {likely:?}");
        }
    }
}

/// A group either side, one switch, the other format: found before any sweep.
#[test]
fn likely_places_need_no_sweep() {
    let sheet = sheet("pier-four");
    let question = usual(&sheet);
    let on = |first, format| call(&question, bench(&sheet, (first, format), &[], 2));
    for (first, format) in
        [(177, Format::Dcc), (185, Format::Dcc), (181 + 800, Format::Dcc), (181, Format::Trinary)]
    {
        let roll = on(first, format);
        assert_eq!(addresses(&roll, &sheet), in_a_row(first, 4));
        assert_eq!(roll.own().unwrap().first.format, format);
        assert_eq!(roll.likely_took, None);
        assert!(roll.until_found.unwrap().packets < 100, "{roll:?}");
    }
}

#[test]
fn more_modules_on_the_feed() {
    let sheet = sheet("pier-four");
    let question = Question { all: true, formats: vec![Format::Dcc], ..usual(&sheet) };
    let beside = vec![
        neighbour(&sheet, (185, Format::Dcc)),
        neighbour(&sheet, (1201, Format::Dcc)),
        // In the same burst as the one before, and answering 6 ms later.
        neighbour(&sheet, (1205, Format::Dcc)),
    ];
    let setup = Setup { beside, ..bench(&sheet, (181, Format::Dcc), &[], 5) };
    let roll = call(&question, setup.clone());
    let mut firsts: Vec<_> =
        roll.modules.iter().map(|m| m.first.address(sheet.numbering).unwrap()).collect();
    firsts.sort_unstable();
    assert_eq!(firsts, [181, 185, 1201, 1205]);
    assert!(roll.modules.iter().all(|module| module.answers.len() == 4));
    assert_eq!(roll.modules.iter().filter(|module| module.shows()).count(), 1);
    assert_eq!(roll.verdict(), Verdict::Pass);
    stays_within_the_bound(&roll);

    // Without `all` it stops at the first, and says so.
    let roll = call(&usual(&sheet), setup);
    assert_eq!((roll.modules.len(), roll.stopped_at_first), (1, true));
}

/// The module that is tested has no power of its own to show, only another one answers: which way
/// is not known.
#[test]
fn a_module_without_leads_shows_its_coils_only() {
    let sheet = sheet("quay-four");
    let question = usual(&sheet);
    let beside = vec![neighbour(&sheet, (217, Format::Dcc))];
    let faults = [("hard-of-hearing", 1.0)];
    let setup = Setup { beside, ..bench(&sheet, (129, Format::Dcc), &faults, 5) };
    let roll = call(&question, setup);
    assert_eq!(addresses(&roll, &sheet), in_a_row(217, 4));
    assert_eq!(roll.verdict(), Verdict::Indeterminate);
    assert!(roll.own().unwrap().answers.iter().all(|a| a.sense == Sense::Unknown));
}

#[test]
fn the_same_seed_gives_the_same_roll_call() {
    let sheet = sheet("jetty-two");
    let run = || call(&usual(&sheet), bench(&sheet, (165, Format::Trinary), &[], 9));
    assert_eq!(run(), run());
}

/// Over a line that carries less than the commands take, with answers that come late: it takes
/// longer, and finds the same.
#[test]
fn a_slow_line_finds_the_same() {
    let sheet = sheet("pier-four");
    let question = usual(&sheet);
    for (first, format) in [(205, Format::Dcc), (165, Format::Trinary)] {
        let setup = bench(&sheet, (first, format), &[], 3);
        let quick = call(&question, setup.clone());
        let pace = Pace { bytes_per_second: 3_000, latency_us: 8_000 };
        let transport = SimulatedTransport::new(setup).at(pace);
        let slow = call_over(&question, transport);
        assert_eq!(addresses(&slow, &sheet), in_a_row(first, 4));
        // All but how high the coils were measured.
        let told = |roll: &RollCall| -> Vec<_> {
            let answers = &roll.own().unwrap().answers;
            answers.iter().map(|a| (a.target, a.output, a.sense, a.only)).collect()
        };
        assert_eq!(told(&slow), told(&quick));
        assert!(slow.took > quick.took);
        stays_within_the_bound(&slow);
    }
}
