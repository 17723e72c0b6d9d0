//! What `docs/jig-analogue.md` says of the jig's guards, soft start and filter.

use super::ngspice;
use super::trace::Trace;
use std::collections::HashMap;

const PAGE: &str = include_str!("../../../docs/jig-analogue.md");

/// What the page says may differ from what the simulator says by this share: it is rounded.
const ROUNDING: f64 = 0.03;
/// A current below this is none, in amperes.
const NONE_A: f64 = 0.05;

/// A row of the page's table: its limit, if it has one, and what was simulated, in SI units.
fn row(what: &str) -> (Option<f64>, f64) {
    let line = PAGE
        .lines()
        .find(|line| line.strip_prefix("| ").is_some_and(|l| l.starts_with(what)))
        .unwrap_or_else(|| panic!("no row: {what}"));
    let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
    let value = |cell: &str| {
        let (number, unit) = cell.split_once(' ')?;
        let factor = match unit {
            "µs" => 1e-6,
            "ms" | "mA" => 1e-3,
            "A" | "V" | "steps" => 1.0,
            _ => panic!("what unit is {unit}?"),
        };
        Some(number.parse::<f64>().expect("a number") * factor)
    };
    (value(cells[1]), value(cells[2]).expect("a simulated value"))
}

/// Compares with the page. `within` is what rounds the page's figure besides, in its unit.
fn compare(what: &str, simulated: f64, at_least: bool, within: f64) {
    let (limit, said) = row(what);
    println!("{what}: {simulated:.4e}, the page says {said:.4e}, limit {limit:?}");
    assert!((simulated - said).abs() <= (ROUNDING * said).max(within), "{what}: {simulated}");
    if let Some(limit) = limit {
        assert!(if at_least { simulated >= limit } else { simulated <= limit }, "{what}");
    }
}

/// When a current is over for good.
fn over(current: &Trace) -> f64 {
    let last = current.values.iter().rposition(|a| a.abs() > NONE_A).expect("it flowed");
    current.times[last]
}

fn highest(trace: &Trace) -> f64 {
    trace.values.iter().fold(0.0, |high, value| value.abs().max(high))
}

/// When the netlists short something, in seconds.
const SHORT_S: f64 = 10e-6;

/// The bridge's upper transistors stay on for as long as the feed rests at a level. With a resistor of 100 kΩ
/// at the gate, which takes more than the pump brings, they do not.
#[test]
#[ignore = "needs ngspice"]
fn jig_holds_an_upper_gate_at_a_resting_level() {
    let lowest = |ohm: f64| {
        let gate = &ngspice::run("jig_gate.cir", &[("gate_ohm", ohm)])["v(gate)"];
        gate.values.iter().copied().fold(f64::INFINITY, f64::min)
    };
    compare("upper gate at a resting level: lowest voltage", lowest(1e6), true, 0.05);
    assert!(lowest(100e3) < 2.0, "the test can fail");
}

#[test]
#[ignore = "needs ngspice"]
fn jig_cuts_a_short_off() {
    let full = &ngspice::run("jig_feed_cut_off.cir", &[("supply_v", 24.0)])["i(vwire)"];
    compare("feed shorted at full power", over(full) - SHORT_S, false, 0.0);
    compare("the same: highest current | | 18", highest(full), false, 0.0);
    let soft = ngspice::run("jig_feed_cut_off.cir", &[("supply_v", 24.0), ("trip_v", 0.86)]);
    compare("the same with the soft start on", over(&soft["i(vwire)"]) - SHORT_S, false, 0.0);

    let loads = ngspice::run("jig_load_cut_off.cir", &[("supply_v", 20.0)]);
    compare("loads shorted", over(&loads["i(vsupply)"]) - SHORT_S, false, 0.0);
    compare("the same: what the wires hold", over(&loads["i(vwire)"]) - SHORT_S, false, 0.0);
    compare("the same: highest current | | 39", highest(&loads["i(vwire)"]), false, 0.0);
}

#[test]
#[ignore = "needs ngspice"]
fn jig_starts_softly() {
    const ON_S: f64 = 1e-3;
    let start = |limit_a| ngspice::run("jig_soft_start.cir", &[("set_a", limit_a)]);
    let traces = start(0.25);
    let current = &traces["i(vmodule)"];
    compare("soft start at 250 mA: highest", highest(current), false, 0.0);
    let reached = |current: &Trace, a| current.passes(0.9 * a, ON_S).expect("it gets there") - ON_S;
    compare("soft start at 250 mA: current there", reached(current, 0.25), false, 0.0);
    // The reservoir is full in the end.
    let rail = &traces["v(rail)"];
    assert!(rail.values.last().is_some_and(|&v| v > 14.0));
    let traces = start(0.05);
    compare("soft start at 50 mA", reached(&traces["i(vmodule)"], 0.05), false, 0.0);
}

#[test]
#[ignore = "needs ngspice"]
fn jig_filter_settles() {
    const STEP_V: f64 = 4.096 / 65_536.0;
    const ACQUIRE_S: f64 = 1.8e-6;
    for (value_v, last_v) in [(4.0, 0.0), (0.05, 4.05)] {
        let numbers = [("value_v", value_v), ("last_v", last_v)];
        let held = &ngspice::run("jig_filter.cir", &numbers)["v(h)"];
        let off = (held.at(1e-6 + ACQUIRE_S) - value_v).abs() / STEP_V;
        compare("filter and converter", off, false, 0.002);
    }
}

#[test]
#[ignore = "needs ngspice"]
fn jig_pump_runs_dry() {
    // The parts at the end of their tolerances that lasts longest, or shortest.
    let enable = |toggles_s: f64, stuck_v: f64, share: f64| -> HashMap<String, Trace> {
        let numbers = [
            ("toggles_s", toggles_s),
            ("stuck_v", stuck_v),
            ("pump_f", 68e-9 * share),
            ("hold_f", 100e-9 * share),
        ];
        ngspice::run("jig_enable.cir", &numbers)
    };
    // The comparator's thresholds: 0.80 V when on, 0.88 V when off, with what is uncertain of them.
    const LOW_V: f64 = 0.75;
    const HIGH_V: f64 = 0.87;
    let last = |trace: &Trace, level: f64| {
        let at = trace.values.iter().rposition(|&v| v > level).expect("it ran");
        trace.times[at]
    };
    // The pin stops at once after it has risen, the longest that the enable can live on.
    let traces = enable(0.0999, 3.3, 1.06);
    compare("pump: the enable falls", last(&traces["v(enable)"], LOW_V) - 0.0999, false, 0.0);
    // It falls and does not rise again half a period later: how late may it do so?
    let traces = enable(0.1005, 0.0, 0.94);
    let trace = &traces["v(enable)"];
    let running = trace.times.iter().zip(&trace.values).filter(|(t, _)| (0.09..0.1).contains(*t));
    let lowest = running.map(|(_, &v)| v).fold(f64::INFINITY, f64::min);
    compare("pump: lowest voltage", lowest, true, 0.0);
    compare("pump: an edge may come late", last(trace, HIGH_V) - 0.101, true, 0.0);
}
