//! Loads whose first currents together are more than the load supply stands: nobody is to blame for them.

use crate::kit::bench::{PIER, QUAY, Run, plan, run, sheet};
use musterbench::judge::reading::{Blame, Verdict};
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::source::Source;
use musterbench::run::event::Ending;

const SCRIPT: &str = "title = \"large loads\"\nsteps = [\n{ ask = \"prepare\" },\n{ loads = \"real\" },\n\
    { feed = \"on\" },\n{ send = \"a\" },\n{ measure = \"load voltage\", over = \"100 ms\" },\n\
    { measure = \"load total\", over = \"200 ms\" },\n{ operate = [\"b\", \"a\"], outputs = 1 },\n\
    { loads = \"off\" },\n{ feed = \"off\" },\n]\n";

/// A sound module and its loads; the bench has those of another sheet, if one is given.
fn with_lamps(module: &str, of_sheet: &str, on_bench: &str) -> Run {
    let [of_sheet, on_bench] = [of_sheet, on_bench].map(|lamp| {
        let text = format!(
            "title = \"lamps\"\nsupply = {{ kind = \"dc\", voltage = \"12 V ±5 %\" }}\n[[load]]\n\
             name = \"lamp\"\nat = [\"1a\", \"1b\", \"2a\", \"2b\", \"3a\", \"3b\", \"4a\", \"4b\"]\n\
             lamp = {{ rated_voltage = \"12 V\", {lamp}, warm_up = \"4 ms ±40 %\" }}\n"
        );
        LoadSheet::parse(&Source::new("lamps.toml", &text)).unwrap_or_else(|e| panic!("{e}"))
    });
    let setup = simulated::setup(&sheet(module), Some(&on_bench), Vec::new(), 5u64);
    run(&plan(module, SCRIPT, Some(&of_sheet)), setup)
}

const LARGE: &str = "rated_current = \"300 mA ±10 %\", inrush_ratio = \"8 ±25 %\"";

/// Four of them draw nearly 10 A at once: they go on one after the other.
#[test]
fn four_large_lamps_do_not_trip_the_load_supply() {
    for module in [PIER, QUAY] {
        let run = with_lamps(module, LARGE, LARGE);
        let text = run.text();
        assert_eq!(
            (&run.outcome.ending, run.outcome.verdict),
            (&Ending::Complete, Verdict::Pass),
            "{text}"
        );
    }
}

/// What the load supply cuts off because of the loads is never the module's fault: neither where the sheet
/// says so, nor where it does not.
#[test]
fn a_trip_by_the_loads_is_not_blamed_on_the_module() {
    let heavy = "rated_current = \"1.1 A\", inrush_ratio = \"4\"";
    let said = with_lamps(PIER, heavy, heavy);
    let Ending::BenchTrouble(why) = &said.outcome.ending else { panic!("{}", said.text()) };
    assert!(why.contains("by the load sheet the loads may draw"), "{why}");
    let unsaid = with_lamps(
        PIER,
        "rated_current = \"150 mA ±10 %\", inrush_ratio = \"8 ±25 %\"",
        "rated_current = \"150 mA ±10 %\", inrush_ratio = \"18\"",
    );
    for run in [said, unsaid] {
        assert_ne!(run.outcome.verdict, Verdict::Pass, "{}", run.text());
        assert_ne!(run.outcome.blame, Some(Blame::Module), "{}", run.text());
    }
}
