use super::*;
use crate::judge::reading::{Blame, Quantity};
use crate::judge::remedy::Remedy;
use crate::judge::run_risk::RunRisk;
use crate::signal::target::Position;

fn reading(verdict: Verdict) -> Reading {
    Reading {
        output: Some(2),
        position: Some(Position::B),
        value: Some(0.0123),
        uncertainty: Some(0.0004),
        lower_limit: Some(0.45),
        upper_limit: Some(0.55),
        blame: Some(Blame::Lead),
        ..Reading::bare("output 2 to b", Quantity::LoadCurrent, verdict)
    }
}

fn summary(objections: Vec<Reading>, ending: Ending, verdict: Verdict) -> Summary {
    let count = |v| objections.iter().filter(|r| r.verdict == v).count();
    let outcome = Outcome {
        ending,
        verdict,
        blame: objections.iter().find_map(|r| r.blame),
        suspects: None,
        readings: 212,
        failed: count(Verdict::Fail),
        indeterminate: count(Verdict::Indeterminate),
        risk: RunRisk::default(),
        answers_at: None,
        kind_found: None,
    };
    Summary {
        places: Places::default(),
        jig: Some(JigIdentity {
            serial: "SIM-7".into(),
            firmware: "0.1.0".into(),
            simulated: true,
            calibration: None,
        }),
        title: "Arrival".into(),
        positions: PositionNames::default(),
        objections,
        outcome: Some(outcome),
    }
}

/// Piped: no terminal.
const PIPED: View = View { screen: Screen::PLAIN, is_terminal: false, verbose: false };
const TERMINAL: View = View { is_terminal: true, ..PIPED };

const FRAME: Frame<'_> = Frame { module: "P4-017", lot: "quay", run: Some(3), report: None };

#[test]
fn positions_are_called_what_the_sheet_calls_them() {
    let mut summary = summary(vec![reading(Verdict::Fail)], Ending::Complete, Verdict::Fail);
    summary.positions = PositionNames(Some(["lowered".into(), "raised".into()]));
    let text = summary.text(&FRAME, PIPED);
    assert!(text.contains("output 2 b (raised)"), "{text}");
}

#[test]
fn a_failure_says_what_by_how_much_and_what_to_do() {
    let mut late = reading(Verdict::Fail);
    late.quantity = Quantity::ResponseTime;
    late.value = None;
    late.lower_limit = None;
    late.upper_limit = Some(0.08);
    late.note = "no closure within 180 ms".into();
    let mut moved = reading(Verdict::Fail);
    moved.step = "operate 3a".into();
    moved.quantity = Quantity::UnwantedMoves;
    (moved.value, moved.lower_limit, moved.upper_limit) = (Some(2.0), None, Some(0.0));
    let mut near = reading(Verdict::Indeterminate);
    near.value = Some(0.4499);
    near.settled_by = Some(Remedy::Instrument(0.0001));
    let summary =
        summary(vec![reading(Verdict::Fail), late, moved, near], Ending::Complete, Verdict::Fail);
    let report = Path::new("records/quay/P4-017/run-003.csv");
    let text = summary.text(&Frame { report: Some(report), ..FRAME }, PIPED);
    insta::assert_snapshot!(text);
    let text = summary.text(&Frame { report: Some(report), ..FRAME }, TERMINAL);
    insta::assert_snapshot!(text);
    let verbose = View { verbose: true, ..PIPED };
    let text = summary.text(&Frame { report: Some(report), ..FRAME }, verbose);
    insta::assert_snapshot!(text);
}

#[test]
fn a_pass_is_short() {
    let text = summary(vec![], Ending::Complete, Verdict::Pass).text(&FRAME, PIPED);
    insta::assert_snapshot!(text);
}

#[test]
fn a_cut_run_says_why_and_the_screen_is_not_flooded() {
    let why = "the jig stopped\u{1b}[2J answering".to_string();
    let mut objections = vec![reading(Verdict::Fail); 30];
    objections.iter_mut().enumerate().for_each(|(i, r)| r.step = format!("step {i}"));
    let text = summary(objections, Ending::BenchTrouble(why), Verdict::Fail).text(&FRAME, PIPED);
    assert!(text.contains("Cut short: the jig stopped\u{fffd}[2J answering.\n"), "{text}");
    assert!(text.lines().count() <= ROWS, "{text}");
}

#[test]
fn a_real_run_is_not_called_simulated() {
    let mut summary = summary(vec![], Ending::Stopped, Verdict::Indeterminate);
    if let Some(jig) = &mut summary.jig {
        jig.simulated = false;
    }
    let text = summary.text(&FRAME, PIPED);
    assert!(!text.contains("SIMULATED") && text.contains("Stopped by the operator"), "{text}");
}

/// What has no value is not near to any limit.
#[test]
fn what_was_not_measured_says_why() {
    let mut unseen = reading(Verdict::Indeterminate);
    (unseen.step, unseen.quantity) = ("load start".into(), Quantity::InrushCurrent);
    (unseen.value, unseen.lower_limit, unseen.upper_limit) = (None, None, None);
    unseen.note = "this jig has no bypass at 1a, so nobody saw this load start".into();
    unseen.blame = Some(Blame::Unsure);
    let decay = Reading { quantity: Quantity::InrushDecay, ..unseen.clone() };
    let summary = summary(vec![unseen, decay], Ending::Complete, Verdict::Indeterminate);
    let text = summary.text(&FRAME, PIPED);
    insta::assert_snapshot!(text);
}
