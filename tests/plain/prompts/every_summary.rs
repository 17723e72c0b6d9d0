//! The summary of every fault in every kind, at 80 columns: at most 15 rows, whatever failed.

use crate::kit::bench::{ARRIVAL, IN_PLACE, JETTY, PIER, QUAY, plan, run, sheet};
use musterbench::judge::reading::{Blame, Verdict};
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::report::screen::Screen;
use musterbench::report::summary::{Frame, ROWS, Summary, View};
use musterbench::report::wrap::{COLUMNS, width};
use musterbench::run::event::JigIdentity;
use musterbench::script::shipped;
use musterbench::simulated_bench::faults::{Fault, catalogue};
use std::path::Path;

const PIPED: View = View { screen: Screen::PLAIN, is_terminal: false, verbose: false };
const TERMINAL: View = View { is_terminal: true, ..PIPED };

/// The end of a run of a kind with a fault, or with none.
fn summary(kind: &str, fault: Option<&'static Fault>) -> Summary {
    let in_place = fault.is_some_and(|fault| fault.class == Blame::Load);
    let loads = in_place.then(|| shipped::load_sheet("harbour-basin").expect("shipped"));
    let script = if in_place { IN_PLACE } else { ARRIVAL };
    let faults = fault.map(|fault| (fault, fault.default)).into_iter().collect();
    let bench = simulated::setup(&sheet(kind), loads.as_ref(), faults, 1);
    let ran = run(&plan(kind, script, loads.as_ref()), bench);
    Summary {
        places: Default::default(),
        jig: Some(JigIdentity {
            serial: "SIM-1".into(),
            firmware: "0.1.0".into(),
            simulated: true,
            calibration: None,
        }),
        title: String::new(),
        positions: sheet(kind).positions,
        objections: ran.not_passed().cloned().collect(),
        outcome: Some(ran.outcome),
    }
}

#[test]
fn every_fault_in_every_kind_fits_fifteen_rows_of_eighty_columns() {
    let report = Path::new("records/quay/lock-7/run-003.csv");
    let frame = Frame { module: "lock-7", lot: "quay", run: Some(3), report: Some(report) };
    for (name, kind) in [("pier", PIER), ("quay", QUAY), ("jetty", JETTY)] {
        let mut all = String::new();
        for fault in [None].into_iter().chain(catalogue().map(Some)) {
            let summary = summary(kind, fault);
            let fault = fault.map_or("sound", |fault| fault.name);
            for view in [PIPED, TERMINAL] {
                let text = summary.text(&frame, view);
                assert!(text.lines().count() <= ROWS, "{name} {fault}:\n{text}");
                let widest = text.lines().map(width).max().unwrap_or(0);
                assert!(widest <= COLUMNS, "{name} {fault}:\n{text}");
            }
            let finding = summary.finding().expect("it is over");
            assert!(finding.sentence.ends_with('.') && finding.to_do.ends_with('.'), "{finding:?}");
            // The same words must not stand where nothing failed.
            if summary.outcome.as_ref().is_some_and(|o| o.verdict != Verdict::Fail) {
                assert!(!finding.to_do.contains("reject"), "{fault}: {finding:?}");
            }
            all.push_str(&format!("== {fault}\n{}\n", summary.text(&frame, PIPED)));
        }
        insta::assert_snapshot!(format!("every_summary_{name}"), all);
    }
}
