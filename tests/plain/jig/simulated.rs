//! The netlists that the circuit simulator runs hold the values of the sheets.

use super::hold;
use super::netlist::Netlist;
use std::path::Path;

/// A number as netlists of both sorts write it: `4.7nF`, `10n`, `1.00k-0.1%`, `shunt-0.05`, `100nF-film`.
fn value(text: &str) -> f64 {
    let text = text.strip_prefix("shunt-").unwrap_or(text);
    let text = text.split('-').next().expect("a word").trim_end_matches('F');
    let digits = text.trim_end_matches(|c: char| c.is_alphabetic());
    let factor = match &text[digits.len()..] {
        "" => 1.0,
        "k" => 1e3,
        "M" => 1e6,
        "m" => 1e-3,
        "u" => 1e-6,
        "n" => 1e-9,
        "p" => 1e-12,
        unit => panic!("what is {unit} in {text}?"),
    };
    digits.parse::<f64>().unwrap_or_else(|e| panic!("{text}: {e}")) * factor
}

fn simulated(file: &str, name: &str) -> f64 {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/circuits").join(file);
    let text = std::fs::read_to_string(path).expect("the netlist");
    let word = text
        .lines()
        .filter_map(|line| line.strip_prefix(".param "))
        .flat_map(str::split_whitespace)
        .find_map(|word| word.strip_prefix(name)?.strip_prefix('='))
        .unwrap_or_else(|| panic!("{file} has no {name}"));
    value(word)
}

#[test]
fn both_say_the_same() {
    let netlist = Netlist::read();
    let pairs = [
        ("jig_soft_start.cir", "sense_ohm", "R118"),
        ("jig_soft_start.cir", "integrator_ohm", "R105"),
        ("jig_soft_start.cir", "lead_ohm", "R106"),
        ("jig_soft_start.cir", "integrator_f", "C102"),
        ("jig_soft_start.cir", "set_f", "C103"),
        ("jig_soft_start.cir", "emitter_ohm", "R103"),
        ("jig_soft_start.cir", "gate_ohm", "R101"),
        ("jig_soft_start.cir", "bus_f", "C104"),
        ("jig_feed_cut_off.cir", "sense_ohm", "R118"),
        ("jig_feed_cut_off.cir", "bus_f", "C104"),
        ("jig_feed_cut_off.cir", "filter_ohm", "R301"),
        ("jig_feed_cut_off.cir", "filter_f", "C301"),
        ("jig_load_cut_off.cir", "sense_ohm", "R207"),
        ("jig_load_cut_off.cir", "filter_ohm", "R305"),
        ("jig_load_cut_off.cir", "filter_f", "C302"),
        ("jig_load_cut_off.cir", "gate_off_ohm", "R201"),
        ("jig_filter.cir", "filter_ohm", "R501"),
        ("jig_filter.cir", "filter_f", "C501"),
        ("jig_filter.cir", "kick_ohm", "R511"),
        ("jig_filter.cir", "kick_f", "C511"),
        ("jig_enable.cir", "pump_f", "C303"),
        ("jig_enable.cir", "hold_f", "C304"),
        ("jig_enable.cir", "bleed_ohm", "R309"),
        ("jig_enable.cir", "pump_f", "C305"),
        ("jig_enable.cir", "hold_f", "C306"),
        ("jig_enable.cir", "bleed_ohm", "R312"),
    ];
    for (file, name, part) in pairs {
        let (kind, ..) = &netlist.parts[part];
        let (ours, sheet) = (simulated(file, name), value(kind));
        assert!((ours / sheet - 1.0).abs() < 1e-9, "{file} {name} = {ours}, {part} is {kind}");
    }
}

/// Dividers that set thresholds come to what the simulator takes, 6 % of offset and tolerance
/// beside it, and the pumps' pulses are the firmware's.
#[test]
fn thresholds_and_pulses() {
    let netlist = Netlist::read();
    let ohm = |part: &str| value(&netlist.parts[part].0);
    let divided = |up, down| 4.096 * ohm(down) / (ohm(up) + ohm(down));
    let beyond = |file: &str, volt: f64| {
        let taken = simulated(file, "trip_v");
        assert!(taken > volt * 1.05 && taken < volt * 1.08, "{file}: {taken} V for {volt} V");
    };
    beyond("jig_feed_cut_off.cir", divided("R302", "R303"));
    beyond("jig_load_cut_off.cir", divided("R306", "R307"));
    let period_s = simulated("jig_enable.cir", "period_s");
    assert_eq!((period_s * 1e6).round() as u32, 2 * hold::PUMP_HALF_US);
}
