//! Outputs on which nothing hangs: their positions are told by the voltages at their clamps.

use crate::kit::bench::{JETTY, PIER, QUAY, in_place, plan, run, sheet};
use musterbench::judge::reading::{Quantity, Verdict};
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::source::Source;
use musterbench::run::event::Ending;

/// A load sheet with a resistor at some clamps.
fn resistors(at: &[&str]) -> String {
    format!(
        "title = \"Jetty lights, some still to come\"\n[supply]\nkind = \"dc\"\n\
         voltage = \"12 V ±5 %\"\n[[load]]\nname = \"jetty light\"\nat = {at:?}\n\
         resistor = {{ resistance = \"220 ohm ±5 %\" }}\n"
    )
}

#[test]
fn sound_modules_pass_with_outputs_that_are_bare() {
    for at in [&["1a"][..], &["1b"], &["1a", "1b"], &["2a", "2b"], &["1a", "2b"]] {
        for module in [PIER, QUAY, JETTY] {
            let run = in_place(module, &resistors(at), &[], 1);
            let text = format!("{at:?}: {}", run.text());
            assert_eq!(run.outcome.ending, Ending::Complete, "{text}");
            assert_eq!(run.outcome.verdict, Verdict::Pass, "{text}");
        }
    }
}

/// Operated where nothing hangs, there and back and to where it stands already.
#[test]
fn an_output_that_is_bare_is_operated_on_its_voltages() {
    let script = "title = \"bare\"\nsteps = [\n\
        { ask = \"prepare\", auxiliary = \"off\" },\n{ loads = \"real\" },\n{ feed = \"on\" },\n\
        { send = \"a\" },\n{ operate = \"b\" },\n{ operate = \"b\" },\n\
        { operate = [\"a\", \"b\"] },\n{ loads = \"off\" },\n{ feed = \"off\" },\n]\n";
    let loads = LoadSheet::parse(&Source::new("loads.toml", &resistors(&["1a", "1b"]))).unwrap();
    for module in [PIER, QUAY, JETTY] {
        let plan = plan(module, script, Some(&loads));
        let setup = simulated::setup(&sheet(module), Some(&loads), Vec::new(), 2);
        let run = run(&plan, setup);
        let wrong = |r: &&musterbench::judge::reading::Reading| {
            r.quantity == Quantity::WrongPositions && r.verdict != Verdict::Pass
        };
        assert_eq!(run.readings.iter().filter(wrong).count(), 0, "{}", run.text());
        assert!(run.readings.iter().any(|r| r.quantity == Quantity::WrongPositions));
    }
}

/// The voltages do not only tell what is sound.
#[test]
fn an_output_that_is_bare_and_moves_at_power_on_is_found() {
    let mut found = 0;
    for seed in 1..=6 {
        let run = in_place(PIER, &resistors(&["1a", "1b"]), &[("moves-at-power-on", None)], seed);
        assert_eq!(run.outcome.verdict, Verdict::Fail, "{seed}: {}", run.text());
        let is_compared = |r: &&musterbench::judge::reading::Reading| {
            r.quantity == Quantity::WrongPositions && r.note.contains("not where it was before")
        };
        found += run.not_passed().filter(is_compared).count();
    }
    assert!(found > 0);
}
