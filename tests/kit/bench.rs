//! A bench for one run, and what the run told.

use musterbench::judge::reading::{Reading, Verdict};
use musterbench::link::client::Jig;
use musterbench::link::pace::Pace;
use musterbench::link::session::Traffic;
use musterbench::link::simulated::{JumpingBoard, SimulatedTransport};
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::source::Source;
use musterbench::run::event::{Hand, Outcome};
use musterbench::run::unattended::{Nobody, Readings};
use musterbench::run::{Options, Rules, carry_out};
use musterbench::script::expand::expand;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::script::plan::Plan;
use musterbench::script::steps::Script;
use musterbench::simulated_bench::Setup;
use musterbench::simulated_bench::faults::{Fault, find};
use std::sync::atomic::AtomicBool;

pub const PIER: &str = include_str!("../../fixtures/modules/pier-four.toml");
pub const QUAY: &str = include_str!("../../fixtures/modules/quay-four.toml");
pub const JETTY: &str = include_str!("../../fixtures/modules/jetty-two.toml");
pub const BASIN: &str = include_str!("../../fixtures/loads/harbour-basin.toml");
pub const CRANE: &str = include_str!("../../fixtures/loads/crane-yard.toml");
pub const IN_PLACE: &str = include_str!("../../fixtures/scripts/in-place.toml");
pub const THOROUGH: &str = include_str!("../../fixtures/scripts/thorough.toml");
pub const ARRIVAL: &str = include_str!("../../fixtures/scripts/arrival.toml");

/// What a run told.
#[derive(Debug)]
pub struct Run {
    pub outcome: Outcome,
    pub readings: Vec<Reading>,
    pub seconds: f64,
    pub planned: f64,
    pub traffic: Traffic,
}

impl Run {
    pub fn not_passed(&self) -> impl Iterator<Item = &Reading> {
        self.readings.iter().filter(|r| r.verdict != Verdict::Pass)
    }

    /// The run on one screen.
    pub fn text(&self) -> String {
        let mut text = format!(
            "{:?} {} blame {:?}, {} readings, {:.2} s of {:.2} s\n",
            self.outcome.ending,
            self.outcome.verdict,
            self.outcome.blame,
            self.readings.len(),
            self.seconds,
            self.planned
        );
        for r in self.not_passed() {
            text += &format!("  {}\n", on_one_line(r));
        }
        text
    }
}

/// A reading as whoever looks for a fault wants it.
pub fn on_one_line(r: &Reading) -> String {
    format!(
        "{} {} {:?} ± {:?} [{:?} {:?}] {} {:?}: {}",
        r.step,
        r.quantity.name(),
        r.value,
        r.uncertainty,
        r.lower_limit,
        r.upper_limit,
        r.verdict,
        r.blame,
        r.note
    )
}

pub fn sheet(text: &str) -> ModuleSheet {
    ModuleSheet::parse(&Source::new("module.toml", text)).unwrap()
}

pub fn plan(module: &str, script: &str, loads: Option<&LoadSheet>) -> Plan {
    plan_for(&sheet(module), script, loads)
}

/// The plan of a script for a kind of module, at the address of its sheet.
pub fn plan_for(sheet: &ModuleSheet, script: &str, loads: Option<&LoadSheet>) -> Plan {
    let script = Script::parse("script", Source::new("script.toml", script)).unwrap();
    expand(&script, sheet, loads, Some(sheet.try_address.into())).unwrap()
}

/// The same where nobody asks for an address.
pub fn plan_for_any(sheet: &ModuleSheet, script: &str, loads: Option<&LoadSheet>) -> Plan {
    let script = Script::parse("script", Source::new("script.toml", script)).unwrap();
    expand(&script, sheet, loads, None).unwrap()
}

/// A run of the arrival script.
pub fn arrival(module: &str, faults: &[(&str, Option<f64>)], seed: u64) -> Run {
    run(&plan(module, ARRIVAL, None), setup(&sheet(module), faults, seed))
}

/// A run of the in-place script with the real loads of a sheet.
pub fn in_place(module: &str, loads: &str, faults: &[(&str, Option<f64>)], seed: u64) -> Run {
    let loads = LoadSheet::parse(&Source::new("loads.toml", loads)).unwrap();
    let plan = plan(module, IN_PLACE, Some(&loads));
    let setup = simulated::setup(&sheet(module), Some(&loads), chosen(faults), seed);
    run(&plan, setup)
}

/// A run over a line that takes no time.
pub fn run(plan: &Plan, setup: Setup) -> Run {
    run_over(plan, SimulatedTransport::new(setup))
}

/// A run over a line that carries bytes at a pace.
pub fn run_at(plan: &Plan, setup: Setup, pace: Pace) -> Run {
    run_over(plan, SimulatedTransport::new(setup).at(pace))
}

/// A run on a board of one's own.
pub fn run_on<B: JumpingBoard + 'static>(plan: &Plan, board: B) -> Run {
    run_over(plan, SimulatedTransport::over(board))
}

/// A run over a transport of one's own.
pub fn run_over<B: JumpingBoard + 'static>(plan: &Plan, transport: SimulatedTransport<B>) -> Run {
    run_by(plan, transport, &mut Nobody, true)
}

/// A run on a board of one's own, carried out as these options say.
pub fn run_with<B: JumpingBoard + 'static>(
    plan: &Plan,
    board: B,
    options: &Options,
    hand: &mut dyn Hand,
) -> Run {
    run_as(plan, SimulatedTransport::over(board), hand, options)
}

/// A run with somebody at the bench.
pub fn run_attended(plan: &Plan, setup: Setup, hand: &mut dyn Hand) -> Run {
    run_by(plan, SimulatedTransport::new(setup), hand, false)
}

fn run_by<B: JumpingBoard + 'static>(
    plan: &Plan,
    transport: SimulatedTransport<B>,
    hand: &mut dyn Hand,
    unattended: bool,
) -> Run {
    run_as(plan, transport, hand, &Options { unattended, ..Options::default() })
}

fn run_as<B: JumpingBoard + 'static>(
    plan: &Plan,
    transport: SimulatedTransport<B>,
    hand: &mut dyn Hand,
    options: &Options,
) -> Run {
    let mut jig = Jig::open(Box::new(transport)).unwrap();
    let mut readings = Readings::default();
    let began = jig.now();
    let stop = AtomicBool::new(false);
    let outcome = carry_out(plan, &mut jig, hand, &mut Rules, options, &stop, &mut [&mut readings]);
    let seconds = (jig.now() - began).as_secs_f64();
    Run {
        outcome,
        readings: readings.0,
        seconds,
        planned: plan.duration().as_secs_f64(),
        traffic: jig.traffic(),
    }
}

pub fn setup(sheet: &ModuleSheet, faults: &[(&str, Option<f64>)], seed: u64) -> Setup {
    simulated::setup(sheet, None, chosen(faults), seed)
}

fn chosen(faults: &[(&str, Option<f64>)]) -> Vec<(&'static Fault, f64)> {
    let choose = |(name, severity): &(&str, Option<f64>)| {
        let fault = find(name).unwrap();
        (fault, severity.unwrap_or(fault.default))
    };
    faults.iter().map(choose).collect()
}
