//! The cells of the proof: every shipped kind of module, on the jig's own loads and on each kind of real
//! load, with every script that goes with them.

use super::Table;
use super::bench::ran;
use super::draw::{RESERVOIR_OHM, around};
use super::sound::Sound;
use crate::kit::bench::{ARRIVAL, IN_PLACE, JETTY, PIER, QUAY, THOROUGH, plan_for, sheet};
use core::fmt;
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::source::Source;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::script::plan::Plan;

/// Operations on the real loads, by command and by contact.
const OPERATE: &str = r#"
title = "Operations on the real loads"
steps = [
  { ask = "prepare" },
  { measure = "hook-up" },
  { loads = "real" },
  { feed = "on" },
  { send = "a" },
  { measure = "load voltage", over = "100 ms" },
  { operate = ["b", "a", "b", "a"] },
  { operate = ["b", "a"], by = "contact" },
  { loads = "off" },
  { feed = "off" },
]
"#;

const MODULES: [(&str, &str); 3] = [("pier-four", PIER), ("quay-four", QUAY), ("jetty-two", JETTY)];

/// Each kind of real load, as a load sheet has it.
const LOADS: [(&str, &str); 14] = [
    ("resistor", r#"resistor = { resistance = "220 ohm ±5 %" }"#),
    (
        "LED of 1 mA",
        r#"led = { forward = "2 V ±10 %", at_current = "1 mA", series = "10 kohm ±5 %" }"#,
    ),
    (
        "LED of 10 mA",
        r#"led = { forward = "2 V ±10 %", at_current = "10 mA", series = "1 kohm ±5 %" }"#,
    ),
    (
        "lamp",
        r#"lamp = { rated_voltage = "12 V", rated_current = "150 mA ±10 %", inrush_ratio = "8 ±25 %", warm_up = "4 ms ±40 %" }"#,
    ),
    (
        "lamp at half voltage",
        r#"lamp = { rated_voltage = "24 V", rated_current = "100 mA ±10 %", inrush_ratio = "8 ±25 %", warm_up = "8 ms ±40 %" }"#,
    ),
    ("coil of 0.1 ms", r#"coil = { resistance = "100 ohm ±10 %", inductance = "10 mH ±20 %" }"#),
    ("coil of 3 ms", r#"coil = { resistance = "360 ohm ±10 %", inductance = "1.2 H ±20 %" }"#),
    (
        "bare coil of 3 ms",
        r#"coil = { resistance = "360 ohm ±10 %", inductance = "1.2 H ±20 %", diode = false }"#,
    ),
    (
        "bare coil of 50 ms",
        r#"coil = { resistance = "100 ohm ±10 %", inductance = "5 H ±20 %", diode = false }"#,
    ),
    (
        "motor",
        r#"motor = { start_current = "400 mA ±15 %", run_current = "120 mA ±20 %", at_voltage = "12 V", run_up = "25 ms ±40 %" }"#,
    ),
    (
        "lamp and LED",
        r#"parallel = [
        { lamp = { rated_voltage = "12 V", rated_current = "60 mA ±10 %", inrush_ratio = "7 ±25 %", warm_up = "3 ms ±40 %" } },
        { led = { forward = "2.0 V ±10 %", at_current = "10 mA", series = "1 kohm ±5 %" } } ]"#,
    ),
    (
        "coil and resistor",
        r#"parallel = [
        { coil = { resistance = "360 ohm ±10 %", inductance = "350 mH ±20 %" } },
        { resistor = { resistance = "1 kohm ±5 %" } } ]"#,
    ),
    (
        "electronics",
        r#"electronics = { capacitance = "47 uF ±20 %", series = "22 ohm ±10 %", current = "8 mA ±25 %", at_voltage = "12 V" }"#,
    ),
    (
        "LED strip",
        r#"strip = { current = "60 mA ±10 %", forward = "8.4 V ±5 %", full_from = "10 V" }"#,
    ),
];

/// Loads with which the thorough script makes sense too: it is long, and each is one of its sort.
const THOROUGH_ON: [&str; 4] = ["resistor", "lamp", "bare coil of 3 ms", "electronics"];

/// One jig in so many is calibrated.
const CALIBRATED_EVERY: u64 = 4;

/// Whether the jig of a seed is; for whoever looks for the cause of a wrong share, `HONESTY_CALIBRATED` says `all`
/// or `none`.
fn is_calibrated(seed: u64) -> bool {
    match std::env::var("HONESTY_CALIBRATED").as_deref() {
        Ok("all") => true,
        Ok("none") => false,
        _ => seed.is_multiple_of(CALIBRATED_EVERY),
    }
}

/// One cell.
pub struct Cell {
    module: &'static str,
    sheet: ModuleSheet,
    load: &'static str,
    loads: Option<LoadSheet>,
    script: &'static str,
    plan: Plan,
}

impl fmt::Display for Cell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {}, {}", self.module, self.load, self.script)
    }
}

/// All cells.
pub fn all() -> Vec<Cell> {
    let mut cells = Vec::new();
    for (module, text) in MODULES {
        for (name, script) in [("arrival", ARRIVAL), ("thorough", THOROUGH)] {
            let sheet = sheet(text);
            let plan = plan_for(&sheet, script, None);
            cells.push(Cell { module, sheet, load: "jig loads", loads: None, script: name, plan });
        }
        let thorough = THOROUGH.replace("loads = \"jig\"", "loads = \"real\"");
        assert_ne!(thorough, THOROUGH);
        for (load, circuit) in LOADS {
            let all = [("in-place", IN_PLACE), ("operate", OPERATE), ("thorough", &thorough)];
            let is_thorough = THOROUGH_ON.contains(&load);
            for (name, script) in &all[..if is_thorough { 3 } else { 2 }] {
                let sheet = sheet(text);
                let loads = on_every_clamp(circuit, sheet.outputs);
                let plan = plan_for(&sheet, script, Some(&loads));
                let loads = Some(loads);
                cells.push(Cell { module, sheet, load, loads, script: name, plan });
            }
        }
    }
    cells
}

fn on_every_clamp(circuit: &str, outputs: u8) -> LoadSheet {
    let clamps: Vec<String> =
        (1..=outputs).flat_map(|k| ["a", "b"].map(|p| format!("\"{k}{p}\""))).collect();
    let text = format!(
        "title = \"cell\"\nsupply = {{ kind = \"dc\", voltage = \"12 V ±5 %\" }}\n[[load]]\n\
         name = \"load\"\nat = [{}]\n{circuit}\n",
        clamps.join(", ")
    );
    LoadSheet::parse(&Source::new("cell.toml", &text)).unwrap_or_else(|e| panic!("{circuit}: {e}"))
}

impl Cell {
    /// Modules, loads and jigs around their limits, against the truth.
    pub fn table(&self, seeds: core::ops::Range<u64>) -> Table {
        let mut table = Table::default();
        for seed in seeds {
            let setup = around(&self.sheet, self.loads.as_ref(), seed);
            table.add(seed, &ran(&self.plan, setup, is_calibrated(seed)).held);
        }
        table
    }

    /// Sound modules on sound benches, which use their class up or are calibrated; their readings are held
    /// against the truth too.
    pub fn sound(&self, seeds: core::ops::Range<u64>, table: &mut Table) -> Sound {
        let mut sound = Sound::default();
        for seed in seeds {
            let mut setup = simulated::setup(&self.sheet, self.loads.as_ref(), Vec::new(), seed);
            setup.kind.reservoir_ohm = RESERVOIR_OHM;
            let ran = ran(&self.plan, setup, is_calibrated(seed));
            table.add(seed, &ran.held);
            sound.add(&ran);
            for line in ran.not_passed.iter().take(3) {
                println!("{self}, seed {seed}, {:?}: {line}", ran.outcome.verdict);
            }
        }
        sound
    }
}
