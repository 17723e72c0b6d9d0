//! The lamp's rhythm in whole runs, while outputs move: one lamp, and two that take turns.

use crate::kit::bench::{PIER, Run, plan, run, run_attended, setup, sheet};
use musterbench::judge::reading::{Blame, Quantity, Verdict};
use musterbench::run::event::{Ending, Hand, LampQuestion, LampSeen};
use musterbench::script::plan::HandTask;
use musterbench::simulated_bench::Setup;

const SCRIPT: &str = r#"
title = "The lamp, and outputs that move meanwhile"
steps = [
  { ask = "prepare", auxiliary = "off" },
  { loads = "jig" },
  { feed = "on" },
  { send = "a" },
  { lamp = "watch" },
  { operate = ["b", "a", "b", "a"], outputs = [1, 2] },
  { lamp = "judge", blinks = 10 },
  { loads = "off" },
  { feed = "off" },
]
"#;

const LAMP: [Quantity; 3] = [Quantity::LampRate, Quantity::LampDuty, Quantity::LampSeen];

/// A kind of which the sheet does not say what its lamp draws.
fn unstated() -> String {
    let text = PIER.replace("current = \"5 to 11 mA\"\n", "");
    assert_ne!(text, PIER);
    text
}

/// A kind with two lamps.
fn two() -> String {
    unstated().replace("[lamp]", "[lamp]\nlamps = 2")
}

/// Two lamps that differ by a share.
fn differing(difference: f64, faults: &[(&str, Option<f64>)], seed: u64) -> Setup {
    let mut setup = setup(&sheet(&two()), faults, seed);
    setup.kind.lamp_difference = Some(difference);
    setup
}

fn lamp(run: &Run) -> Vec<(Quantity, Verdict)> {
    let of = run.readings.iter().filter(|r| LAMP.contains(&r.quantity));
    of.map(|r| (r.quantity, r.verdict)).collect()
}

/// Never a wrong verdict, whatever two lamps differ by; run with `--nocapture` for the table.
#[test]
fn survey_of_two_lamps() {
    let plan = plan(&two(), SCRIPT, None);
    println!("difference: of 4 sound runs pass, of 4 with a wrong rhythm fail; else indeterminate");
    for difference in [0.0, 0.002, -0.005, 0.01, -0.015, 0.02, -0.05, 0.1, -0.2, 0.2] {
        let (mut passed, mut failed) = (0, 0);
        for seed in 1..=4 {
            let run = run(&plan, differing(difference, &[], seed));
            let verdicts = lamp(&run);
            assert_eq!(verdicts.len(), 2, "{}", run.text());
            assert!(verdicts.iter().all(|v| v.1 != Verdict::Fail), "{difference}: {}", run.text());
            passed += u32::from(verdicts.iter().all(|v| v.1 == Verdict::Pass));
            let run = crate::kit::bench::run(
                &plan,
                differing(difference, &[("lamp-rhythm-off", Some(0.3))], seed),
            );
            let rate = lamp(&run)[0].1;
            assert!(rate != Verdict::Pass, "{difference}: {}", run.text());
            failed += u32::from(rate == Verdict::Fail);
        }
        println!("{:8.1} %: {passed} {failed}", 100.0 * difference);
        if difference == 0.0 {
            assert_eq!((passed, failed), (0, 0), "nothing can be told of two equal lamps");
        }
        if difference.abs() >= 0.02 {
            assert_eq!((passed, failed), (4, 4), "{difference}");
        }
    }
}

/// Somebody at the bench who gives one answer.
struct Looker {
    says: Option<LampSeen>,
    asked: Vec<LampQuestion>,
}

impl Hand for Looker {
    fn act(&mut self, _: &HandTask, _: &mut dyn FnMut() -> bool) -> bool {
        true
    }
    fn look(
        &mut self,
        question: &LampQuestion,
        keep_alive: &mut dyn FnMut() -> bool,
    ) -> Option<LampSeen> {
        assert!(keep_alive());
        self.asked.push(*question);
        self.says
    }
}

#[test]
fn what_the_operator_sees_decides_where_nothing_is_measured() {
    let plan = plan(&two(), SCRIPT, None);
    for (says, verdict, blame) in [
        (LampSeen::Due, Verdict::Pass, None),
        (LampSeen::Other, Verdict::Fail, Some(Blame::Setting)),
        (LampSeen::NoRhythm, Verdict::Fail, Some(Blame::Module)),
    ] {
        let mut hand = Looker { says: Some(says), asked: Vec::new() };
        let run = run_attended(&plan, differing(0.0, &[], 1), &mut hand);
        assert_eq!(hand.asked.len(), 1);
        assert_eq!((hand.asked[0].lamps, hand.asked[0].other.is_some()), (2, true));
        assert_eq!(lamp(&run), [(Quantity::LampSeen, verdict)], "{}", run.text());
        let told = run.readings.iter().find(|r| r.quantity == Quantity::LampSeen).unwrap();
        // An observation is no measured value, and says so.
        assert_eq!((told.value, told.uncertainty, told.blame), (None, None, blame));
        assert!(told.note.starts_with("not measured: the operator saw"), "{}", told.note);
        assert_eq!(run.outcome.verdict, verdict, "{}", run.text());
    }
    let mut hand = Looker { says: Some(LampSeen::CannotTell), asked: Vec::new() };
    let run = run_attended(&plan, differing(0.0, &[], 1), &mut hand);
    let open = [Quantity::LampRate, Quantity::LampDuty].map(|q| (q, Verdict::Indeterminate));
    assert_eq!(lamp(&run), open, "{}", run.text());
    let mut hand = Looker { says: None, asked: Vec::new() };
    let run = run_attended(&plan, differing(0.0, &[], 1), &mut hand);
    assert_eq!(run.outcome.ending, Ending::Stopped, "{}", run.text());
}

/// Nobody is asked what the current tells, nor where nobody is there.
#[test]
fn nobody_is_asked_without_need() {
    let faults: &[(&str, Option<f64>)] = &[("lamp-dead", None)];
    let pier = unstated();
    let one = plan(&pier, SCRIPT, None);
    let mut hand = Looker { says: Some(LampSeen::Due), asked: Vec::new() };
    let sound = run_attended(&one, setup(&sheet(&pier), &[], 1), &mut hand);
    assert_eq!((hand.asked.len(), sound.outcome.verdict), (0, Verdict::Pass), "{}", sound.text());
    run_attended(&one, setup(&sheet(&pier), &[("feed-lead-off", None)], 1), &mut hand);
    assert_eq!(hand.asked.len(), 0, "without any current there is no lamp");
    let dark = run_attended(&one, setup(&sheet(&pier), faults, 1), &mut hand);
    assert_eq!(hand.asked.len(), 1, "{}", dark.text());
    let unattended = run(&one, setup(&sheet(&pier), faults, 1));
    assert_eq!(unattended.outcome.verdict, Verdict::Indeterminate, "{}", unattended.text());
    // Where the sheet says what it draws, a dark lamp is no question.
    let stated = plan(PIER, SCRIPT, None);
    let dark = run_attended(&stated, setup(&sheet(PIER), faults, 1), &mut hand);
    assert_eq!((hand.asked.len(), dark.outcome.verdict), (1, Verdict::Fail), "{}", dark.text());
}

/// A lamp whose rhythm nobody cares about is no open question, lit or dark.
#[test]
fn limits_of_any_leave_nothing_open() {
    let text = unstated().replace(
        "rate = \"0.6 to 0.75 Hz\"\nduty = \"15 to 25 %\"",
        "rate = \"any\"\nduty = \"any\"",
    );
    assert!(text.contains("any"));
    let plan = plan(&text, SCRIPT, None);
    for faults in [&[][..], &[("lamp-dead", None)], &[("lamp-rhythm-off", None)]] {
        let run = run(&plan, setup(&sheet(&text), faults, 2));
        assert_eq!(run.outcome.verdict, Verdict::Pass, "{faults:?}: {}", run.text());
    }
}
