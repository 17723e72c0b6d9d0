//! The bank of address switches: one that is stuck is named and is the module's, one that is set
//! wrongly is named and is a setting.

use crate::kit::bench::{JETTY, PIER, QUAY, Run, plan, run, run_on, setup, sheet};
use musterbench::jig::board::Board;
use musterbench::jig::hand::{Hand, HandAct, NotFitted};
use musterbench::judge::reading::{Blame, Quantity, Reading, Verdict};
use musterbench::run::event::Ending;
use musterbench::script::every_switch::switches;
use musterbench::simulated_bench::SimulatedBoard;

const THOROUGH: &str = include_str!("../../../fixtures/scripts/thorough.toml");

/// Nothing but the switches.
const SWITCHES: &str = r#"
title = "Every switch"
steps = [
  { ask = "prepare" },
  { loads = "jig" },
  { feed = "on" },
  { switches = "every" },
  { operate = ["b", "a"], outputs = 1 },
  { loads = "off" },
  { feed = "off" },
]
"#;

const SEND: &str = "{ send = \"a\", outputs = 1 },\n  { operate";

/// A bench on which the switches do not end as the hand is told to set them.
struct Otherwise {
    board: SimulatedBoard,
    stand: fn(u32, u8) -> u32,
    switch: u8,
}

pass_on! { jumping board of Otherwise }

impl Board for Otherwise {
    pass_on! { board: identity, now_us, channels, set_feed, set_inverted, set_soft_start_limit, set_load_supply, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch, sample, start_scans, next_scan, stop_scans, self_test }

    fn hand(&mut self) -> Option<&mut dyn Hand> {
        Some(self)
    }
}

impl Hand for Otherwise {
    fn act(&mut self, act: HandAct) -> Result<(), NotFitted> {
        self.board.act(match act {
            HandAct::Switches(asked) => HandAct::Switches((self.stand)(asked, self.switch)),
            act => act,
        })
    }
    fn reference_meter(&mut self) -> f64 {
        self.board.reference_meter()
    }
}

const STUCK_ON: fn(u32, u8) -> u32 = |asked, switch| asked | 1 << (switch - 1);
const STUCK_OFF: fn(u32, u8) -> u32 = |asked, switch| asked & !(1 << (switch - 1));
const OTHER_WAY: fn(u32, u8) -> u32 = |asked, switch| asked ^ 1 << (switch - 1);

/// A run in which a switch stands otherwise, for every switch of a kind that means something.
fn each(module: &str, stand: fn(u32, u8) -> u32) -> impl Iterator<Item = (u8, Run)> {
    let sheet = sheet(module);
    let plan = plan(module, &SWITCHES.replace("{ operate", SEND), None);
    switches(sheet.switches.with_meaning()).map(move |switch| {
        let board = SimulatedBoard::new(setup(&sheet, &[], u64::from(switch)));
        (switch, run_on(&plan, Otherwise { board, stand, switch }))
    })
}

/// The reading that judges the bank.
fn judged(run: &Run) -> &Reading {
    let found = run.readings.iter().find(|r| r.quantity == Quantity::StuckSwitches);
    found.unwrap_or_else(|| panic!("{}", run.text()))
}

#[test]
fn a_stuck_switch_is_named_and_is_the_modules() {
    for module in [PIER, QUAY, JETTY] {
        for (stand, place) in [(STUCK_ON, "on"), (STUCK_OFF, "off")] {
            for (switch, run) in each(module, stand) {
                // With this switch stuck the last setting may mean no address at all.
                let ending = &run.outcome.ending;
                assert!(
                    matches!(ending, Ending::Complete | Ending::EndedEarly(_)),
                    "{}",
                    run.text()
                );
                assert_eq!(run.outcome.verdict, Verdict::Fail, "{}", run.text());
                assert_eq!(run.outcome.blame, Some(Blame::Module), "{}", run.text());
                let judged = judged(&run);
                assert_eq!(judged.value, Some(1.0), "{}", run.text());
                assert_eq!(judged.note, format!("switch {switch} is stuck {place}"));
            }
        }
    }
}

#[test]
fn a_switch_set_wrongly_is_named_and_is_a_setting() {
    for module in [PIER, QUAY, JETTY] {
        for (switch, run) in each(module, OTHER_WAY) {
            // With this switch the other way the last setting may mean no address at all.
            let ending = &run.outcome.ending;
            assert!(matches!(ending, Ending::Complete | Ending::EndedEarly(_)), "{}", run.text());
            assert_eq!(run.outcome.verdict, Verdict::Fail, "{}", run.text());
            assert_eq!(run.outcome.blame, Some(Blame::Setting), "{}", run.text());
            let judged = judged(&run);
            assert_eq!((judged.value, judged.verdict), (Some(0.0), Verdict::Pass));
            let named = format!("switch {switch} moves, but is set the other way round");
            assert_eq!(judged.note, named);
        }
    }
}

#[test]
fn a_sound_bank_passes_and_every_address_stands_in_the_steps() {
    for module in [PIER, QUAY, JETTY] {
        let plan = plan(module, &SWITCHES.replace("{ operate", SEND), None);
        let run = run(&plan, setup(&sheet(module), &[], 1));
        assert_eq!(run.outcome.verdict, Verdict::Pass, "{}", run.text());
        assert_eq!(judged(&run).note, "");
        let own = plan.bank.to_string();
        let proven = run.readings.iter().filter(|r| r.quantity == Quantity::Answers);
        let steps: Vec<&str> = proven.map(|r| r.step.as_str()).collect();
        assert_eq!(steps[0], format!("proven at {own}"));
        let last = steps.last().and_then(|s| s.strip_prefix("proven at ")).expect("a proof");
        assert_ne!(last, own);
        // What comes afterwards is done, and named, at the last of the addresses.
        let after = run.readings.iter().filter(|r| r.step.starts_with("operate"));
        assert!(after.clone().count() > 10);
        assert!(after.into_iter().all(|r| r.step.ends_with(&format!("at {last}"))));
    }
}

#[test]
fn the_thorough_script_names_the_stuck_switch_of_the_catalogue() {
    for module in [PIER, QUAY, JETTY] {
        let plan = plan(module, THOROUGH, None);
        for seed in 1..=2 {
            let run = run(&plan, setup(&sheet(module), &[("address-switch-stuck", None)], seed));
            assert_eq!(run.outcome.verdict, Verdict::Fail, "{}", run.text());
            assert_eq!(run.outcome.blame, Some(Blame::Module), "{}", run.text());
            assert!(judged(&run).note.contains("is stuck o"), "{}", run.text());
        }
    }
}

#[test]
fn what_is_set_wrongly_stays_a_setting_in_the_thorough_script() {
    for (module, fault) in [
        (PIER, "switch-set-wrong"),
        (PIER, "wrong-format"),
        (PIER, "one-group-away"),
        (QUAY, "one-group-away"),
        (JETTY, "switch-set-wrong"),
        (JETTY, "feed-wires-swapped"),
    ] {
        let run = run(&plan(module, THOROUGH, None), setup(&sheet(module), &[(fault, None)], 3));
        assert_eq!(run.outcome.verdict, Verdict::Fail, "{fault}: {}", run.text());
        assert_eq!(run.outcome.blame, Some(Blame::Setting), "{fault}: {}", run.text());
    }
}

#[test]
fn sound_modules_of_every_kind_pass_the_thorough_script() {
    for module in [PIER, QUAY, JETTY] {
        let plan = plan(module, THOROUGH, None);
        for seed in 1..=3 {
            let run = run(&plan, setup(&sheet(module), &[], seed));
            assert_eq!(run.outcome.ending, Ending::Complete, "{}", run.text());
            assert_eq!(run.outcome.verdict, Verdict::Pass, "seed {seed}: {}", run.text());
            assert!(run.seconds <= run.planned * 1.02, "{} s of {} s", run.seconds, run.planned);
        }
    }
}
