//! Load sheets that were made from samples.

use crate::kit::bench::{PIER, plan, run, run_on, sheet};
use musterbench::jig::board::{Board, Identity};
use musterbench::judge::reading::Verdict;
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::source::Source;
use musterbench::run::event::Ending;
use musterbench::simulated_bench::SimulatedBoard;

const SHEET: &str = "title = \"quay lights\"\n[supply]\nkind = \"dc\"\nvoltage = \"12 V ±5 %\"\n\
    [sample]\nsimulated = true\nspecimens = 1\ntimes = 10\ncoverage = \"95 %\"\n\
    confidence = \"95 %\"\n[[load]]\nname = \"quay light\"\nat = [\"1a\", \"1b\"]\n\
    measured = { current = \"90 to 110 mA\", at_voltage = \"12 V\", settled_after = \"100 ms\" }\n";

const SCRIPT: &str = "title = \"short\"\nsteps = [\n{ loads = \"real\" },\n{ feed = \"on\" },\n\
    { send = \"a\" },\n{ measure = \"load total\" },\n{ loads = \"off\" },\n\
    { feed = \"off\" },\n]\n";

/// A bench that does not call itself simulated.
struct NoSimulation {
    board: SimulatedBoard,
}

pass_on! { jumping board of NoSimulation }

impl Board for NoSimulation {
    pass_on! { board: now_us, channels, set_feed, set_inverted, set_soft_start_limit, set_load_supply, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch, sample, start_scans, next_scan, stop_scans, self_test, hand }

    fn identity(&self) -> Identity<'_> {
        Identity { model: "jig", ..self.board.identity() }
    }
}

/// What a simulated bench has measured must not judge anything real; on a simulated bench it may.
#[test]
fn a_simulated_sample_does_not_go_with_a_real_jig() {
    let loads = LoadSheet::parse(&Source::new("loads.toml", SHEET)).unwrap();
    let plan = plan(PIER, SCRIPT, Some(&loads));
    let setup = || simulated::setup(&sheet(PIER), Some(&loads), Vec::new(), 1u64);
    let there = run(&plan, setup());
    assert_eq!(there.outcome.ending, Ending::Complete, "{}", there.text());
    assert_eq!(there.outcome.verdict, Verdict::Pass, "{}", there.text());

    let real = run_on(&plan, NoSimulation { board: SimulatedBoard::new(setup()) });
    let Ending::BenchTrouble(why) = &real.outcome.ending else { panic!("{}", real.text()) };
    assert!(why.contains("the load sheet is SIMULATED"), "{why}");
    assert!(real.readings.is_empty());

    // Of a real sample nothing is said.
    let measured = SHEET.replace("simulated = true", "simulated = false");
    let loads = LoadSheet::parse(&Source::new("loads.toml", &measured)).unwrap();
    let plan = crate::kit::bench::plan(PIER, SCRIPT, Some(&loads));
    let real = run_on(&plan, NoSimulation { board: SimulatedBoard::new(setup()) });
    assert_eq!(real.outcome.ending, Ending::Complete, "{}", real.text());
}
