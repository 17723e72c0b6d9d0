//! How real loads start: the windows (closed forms) against what the bench integrates.

use crate::kit::bench::{BASIN, CRANE, PIER, Run, in_place, plan, run, run_on, sheet};
use musterbench::jig::board::Board;
use musterbench::judge::reading::{Blame, Quantity, Reading, Verdict};
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::source::Source;
use musterbench::run::event::Ending;
use musterbench::simulated_bench::SimulatedBoard;
use musterbench::wire::channel::{BYPASS, Description};

const STARTS: [Quantity; 3] = [Quantity::InrushCurrent, Quantity::InrushDecay, Quantity::RiseTime];

const SCRIPT: &str = "title = \"starts\"\nsteps = [\n{ loads = \"real\" },\n\
    { measure = \"load start\" },\n{ loads = \"off\" },\n]\n";

fn starts_with(loads: &str, script: &str, faults: &[(&str, f64)]) -> Run {
    let loads = LoadSheet::parse(&Source::new("loads.toml", loads)).unwrap();
    let chosen = |(name, severity): &(&str, f64)| {
        (musterbench::simulated_bench::faults::find(name).unwrap(), *severity)
    };
    let faults = faults.iter().map(chosen).collect();
    let setup = simulated::setup(&sheet(PIER), Some(&loads), faults, 1u64);
    run(&plan(PIER, script, Some(&loads)), setup)
}

fn starts(run: &Run) -> Vec<&Reading> {
    run.readings.iter().filter(|r| STARTS.contains(&r.quantity)).collect()
}

fn told(readings: &[&Reading]) -> String {
    let line = |r: &&Reading| {
        let place = r.output.zip(r.position).map_or(String::new(), |(o, p)| format!("{o}{p}"));
        format!(
            "{place} {} {:.4?} ± {:.2?} [{:.4?} {:.4?}] {} {}\n",
            r.quantity.name(),
            r.value.unwrap_or(f64::NAN),
            r.uncertainty.unwrap_or(f64::NAN),
            r.lower_limit.unwrap_or(f64::NAN),
            r.upper_limit.unwrap_or(f64::NAN),
            r.verdict,
            r.note
        )
    };
    readings.iter().map(line).collect()
}

/// Lamps, motor and coil: every start is read, judged and passes; the values are those that the
/// sheets state, within what specimens differ by.
#[test]
fn sound_loads_start_as_their_sheets_say() {
    let basin = starts_with(BASIN, SCRIPT, &[]);
    let crane = starts_with(CRANE, SCRIPT, &[]);
    let (lamps, crane_starts) = (starts(&basin), starts(&crane));
    let text = told(&lamps) + &told(&crane_starts);
    println!("{text}");
    assert_eq!((lamps.len(), crane_starts.len()), (6, 3), "{text}");
    for r in lamps.iter().chain(&crane_starts) {
        assert_eq!(r.verdict, Verdict::Pass, "{text}");
        assert!(r.lower_limit.is_some() && r.upper_limit.is_some(), "{text}");
    }
    let value = |of: &[&Reading], i: usize| of[i].value.unwrap();
    for (found, wanted, share) in [
        (value(&lamps, 0), 8.0 * 0.15, 0.05),
        (value(&lamps, 1), 0.004, 0.08),
        (value(&crane_starts, 0), 0.6, 0.05),
        (value(&crane_starts, 1), 0.025, 0.05),
        (value(&crane_starts, 2), 2.197 * 1.2 / 360.0, 0.05),
    ] {
        assert!((found / wanted - 1.0).abs() < share, "{found} {wanted}: {text}");
    }
}

/// What a sheet states without a tolerance is read, and nothing is held against it.
#[test]
fn without_a_tolerance_nothing_is_judged() {
    let plain = BASIN.replace("\"8 ±25 %\"", "5").replace("4 ms ±40 %", "2 ms");
    let run = starts_with(&plain, SCRIPT, &[]);
    let found = starts(&run);
    for r in found.iter().filter(|r| r.output == Some(1)) {
        assert_eq!((r.lower_limit, r.upper_limit), (None, None), "{}", told(&found));
        assert!(r.note.contains("states no tolerance"), "{}", told(&found));
    }
    // The bench was hung with these loads, so they do draw what is stated.
    assert_eq!(run.outcome.verdict, Verdict::Pass, "{}", run.text());
}

/// A filament that is closed again while it is warm draws less: it is read and not judged. This one
/// needs minutes to cool, which nobody waits for.
#[test]
fn a_warm_filament_is_not_judged() {
    let slow = BASIN.replace("4 ms ±40 %", "30 ms ±40 %");
    let script = SCRIPT.replace(
        "{ measure = \"load start\" }",
        "{ measure = \"load start\" },\n{ measure = \"load start\" }",
    );
    let run = starts_with(&slow, &script, &[]);
    let found = starts(&run);
    let inrush = |r: &&&Reading| r.quantity == Quantity::InrushCurrent && r.output == Some(1);
    let [first, _, second, _] = found.iter().filter(inrush).collect::<Vec<_>>()[..] else {
        panic!("{}", told(&found))
    };
    assert!(second.note.contains("is at rest after"), "{}", told(&found));
    assert_eq!((second.lower_limit, second.verdict), (None, Verdict::Pass), "{}", told(&found));
    assert!(second.value < first.value, "{}", told(&found));
}

/// What decays faster than the jig samples is said to.
#[test]
fn too_fast_for_the_jig_is_said() {
    let fast = BASIN.replace("4 ms ±40 %", "100 us ±40 %");
    let run = starts_with(&fast, SCRIPT, &[]);
    let found = starts(&run);
    let decay = found.iter().find(|r| r.quantity == Quantity::InrushDecay).unwrap();
    assert!(decay.note.contains("samples every 100 us"), "{}", told(&found));
    assert_eq!(decay.lower_limit, None);
}

/// A jig without bypasses.
struct NoBypass {
    board: SimulatedBoard,
    channels: Vec<Description>,
}

pass_on! { jumping board of NoBypass }

impl Board for NoBypass {
    pass_on! { board: identity, now_us, set_feed, set_inverted, set_soft_start_limit, set_load_supply, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch, sample, start_scans, next_scan, stop_scans, self_test, hand }

    fn channels(&self) -> &[Description] {
        &self.channels
    }
}

/// What such a jig cannot see is in the report all the same, says why, and is no pass.
#[test]
fn a_start_that_the_jig_cannot_see_is_not_left_out() {
    let whole = starts_with(BASIN, SCRIPT, &[]);
    let loads = LoadSheet::parse(&Source::new("loads.toml", BASIN)).unwrap();
    let board = SimulatedBoard::new(simulated::setup(&sheet(PIER), Some(&loads), vec![], 1u64));
    let is_bypass = |d: &&Description| (BYPASS..BYPASS + 8).contains(&d.channel);
    let channels = board.channels().iter().filter(|d| !is_bypass(d)).copied().collect();
    let run = run_on(&plan(PIER, SCRIPT, Some(&loads)), NoBypass { board, channels });
    let asked = |run: &Run| starts(run).iter().map(|r| (r.output, r.quantity)).collect::<Vec<_>>();
    assert_eq!(asked(&run), asked(&whole), "{}", run.text());
    let found = starts(&run);
    let note = "this jig has no bypass at 1a, so nobody saw this load start";
    assert_eq!(found[0].note, note, "{}", told(&found));
    let is_open = |r: &&Reading| (r.value, r.verdict) == (None, Verdict::Indeterminate);
    assert!(found.iter().all(is_open), "{}", told(&found));
    let outcome = (&run.outcome.ending, run.outcome.verdict, run.outcome.blame);
    let wanted = (&Ending::Complete, Verdict::Indeterminate, Some(Blame::Unsure));
    assert_eq!(outcome, wanted, "{}", run.text());
}

/// A load that takes too much starts with too much, one that is off does not start at all, a short
/// trips: the load's fault, not the module's.
#[test]
fn a_wrong_load_is_found_at_its_start() {
    for (fault, severity) in [("load-wrong-value", 0.6), ("load-open", 1.0), ("load-shorted", 0.2)]
    {
        let mut found = 0;
        for seed in 1..=3 {
            let run = in_place(PIER, CRANE, &[(fault, Some(severity))], seed);
            let all = starts(&run);
            for r in all.iter().filter(|r| r.verdict == Verdict::Fail) {
                assert_eq!(r.blame, Some(Blame::Load), "{fault} {seed}: {}", told(&all));
                found += 1;
            }
        }
        // Which load a fault hits is drawn; not each of them has a start to be seen.
        assert!(found > 0 || fault == "load-wrong-value", "{fault}");
    }
    let only = "title = \"crane\"\n[supply]\nkind = \"dc\"\nvoltage = \"12 V ±5 %\"\n[[load]]\n\
        name = \"crane motor\"\nat = \"1a\"\nmotor = { start_current = \"600 mA ±15 %\", \
        run_current = \"150 mA ±20 %\", at_voltage = \"12 V\", run_up = \"25 ms ±40 %\" }\n";
    for (fault, severity) in [("load-wrong-value", 0.4), ("load-open", 1.0), ("load-shorted", 0.2)]
    {
        let run = starts_with(only, SCRIPT, &[(fault, severity)]);
        let all = starts(&run);
        assert_eq!(run.outcome.verdict, Verdict::Fail, "{fault}: {}", told(&all));
        assert_eq!(run.outcome.blame, Some(Blame::Load), "{fault}: {}", told(&all));
    }
}
