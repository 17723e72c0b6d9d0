//! A bench for one roll-call.

use musterbench::link::client::Jig;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::procedure::bench::Bench;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::roll_call::answer::RollCall;
use musterbench::roll_call::{Question, Stage, call_the_roll};
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::script::shipped;
use musterbench::signal::target::Format;
use musterbench::simulated_bench::faults::{Fault, find};
use musterbench::simulated_bench::{Neighbour, Setup};
use std::sync::atomic::AtomicBool;

pub fn sheet(kind: &str) -> ModuleSheet {
    shipped::module_sheet(kind).unwrap()
}

/// A bench with a module of the sheet's kind, its switches set for an address.
pub fn bench(
    sheet: &ModuleSheet,
    (first, format): (u16, Format),
    faults: &[(&str, f64)],
    seed: u64,
) -> Setup {
    let fault = |&(name, severity): &(&str, f64)| -> (&'static Fault, f64) {
        (find(name).unwrap_or_else(|| panic!("no fault {name}")), severity)
    };
    let switches = sheet.switches.switches_for(first, format).unwrap();
    Setup { switches, ..simulated::setup(sheet, None, faults.iter().map(fault).collect(), seed) }
}

/// Another module of the sheet's kind beside the one that is tested.
pub fn neighbour(sheet: &ModuleSheet, (first, format): (u16, Format)) -> Neighbour {
    let switches = sheet.switches.switches_for(first, format).unwrap();
    Neighbour { kind: simulated::kind(sheet), switches }
}

/// The question whether the module is where its sheet says.
pub fn usual(sheet: &ModuleSheet) -> Question<'_> {
    let format = sheet.switches.usual_format;
    let formats = sheet.switches.formats();
    Question {
        sheet,
        address: sheet.try_address,
        format,
        formats,
        all: false,
        hook_up: true,
        wanted: true,
        kind_given: true,
        kinds: &[],
    }
}

/// Calls the roll on a bench.
pub fn call(question: &Question<'_>, setup: Setup) -> RollCall {
    call_over(question, SimulatedTransport::new(setup))
}

/// Calls the roll over a line.
pub fn call_over(question: &Question<'_>, transport: SimulatedTransport) -> RollCall {
    let mut jig = Jig::open(Box::new(transport)).unwrap();
    let mut tell = |_: &Stage<'_>| {};
    let stop = AtomicBool::new(false);
    // As the command does before anything comes on.
    Bench::new(&mut jig, None, &stop).self_test().unwrap();
    let roll = call_the_roll(&mut jig, question, &stop, &mut tell).unwrap();
    jig.close();
    roll
}

/// The addresses of a roll-call's own module, output by output.
pub fn addresses(roll: &RollCall, sheet: &ModuleSheet) -> Vec<Option<u16>> {
    let rows = roll.rows();
    rows.iter().map(|row| row.found.and_then(|a| a.target.address(sheet.numbering))).collect()
}
