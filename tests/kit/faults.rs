//! A fault of the catalogue, and the script that can show it.

use super::bench::{ARRIVAL, IN_PLACE, JETTY, PIER, Run, THOROUGH, plan, run, sheet};
use musterbench::blame::Blame;
use musterbench::judge::reading::Verdict;
use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::script::plan::Plan;
use musterbench::script::shipped;
use musterbench::simulated_bench::faults::place::Sits;
use musterbench::simulated_bench::faults::{Fault, catalogue};

/// At one address it looks like a switch that is set wrongly.
const TELLS_ONLY_AT_SEVERAL_ADDRESSES: [&str; 1] = ["address-switch-stuck"];

/// On a feed whose level changes all the time both halves of a rectifier look alike: a kind that rests at
/// one level tells them apart.
const TELLS_ONLY_AT_REST: [&str; 1] = ["rectifier-diode-open"];

/// Those that have a place on a bench with one module.
pub fn of_one_module() -> impl Iterator<Item = &'static Fault> {
    catalogue().filter(|fault| fault.sits != Sits::NextModule)
}

/// The script that can show a fault.
pub struct Trial {
    pub kind: &'static str,
    pub plan: Plan,
    pub loads: Option<LoadSheet>,
}

impl Trial {
    /// For one fault.
    pub fn of(fault: &Fault) -> Trial {
        let loads =
            (fault.class == Blame::Load).then(|| shipped::load_sheet("harbour-basin").unwrap());
        let script = match fault.class {
            Blame::Load => IN_PLACE,
            _ if TELLS_ONLY_AT_SEVERAL_ADDRESSES.contains(&fault.name) => THOROUGH,
            _ => ARRIVAL,
        };
        // Only one of the shipped kinds has an auxiliary supply, and only one is trinary as it comes.
        let is_for_jetty =
            fault.name.starts_with("auxiliary") || TELLS_ONLY_AT_REST.contains(&fault.name);
        let kind = if is_for_jetty { JETTY } else { PIER };
        Trial { kind, plan: plan(kind, script, loads.as_ref()), loads }
    }

    /// A run with it.
    pub fn run(&self, fault: &'static Fault, severity: f64, seed: u64) -> Run {
        let faults = vec![(fault, severity)];
        run(&self.plan, simulated::setup(&sheet(self.kind), self.loads.as_ref(), faults, seed))
    }

    /// Whether the module does not pass with it.
    pub fn finds(&self, fault: &'static Fault, severity: f64, seed: u64) -> bool {
        self.run(fault, severity, seed).outcome.verdict != Verdict::Pass
    }

    /// The smallest severity that is found with this seed, by halving. `None` when even the
    /// default is not.
    pub fn smallest_found(&self, fault: &'static Fault, seed: u64) -> Option<f64> {
        // A leak does the less the more ohms it has; all others do nothing at zero.
        let mut harmless = if fault.minimum > 0.0 { fault.maximum } else { 0.0 };
        let mut found = fault.default;
        if !self.finds(fault, found, seed) {
            return None;
        }
        for _ in 0..10 {
            let between = if fault.minimum > 0.0 {
                (harmless * found).sqrt()
            } else {
                (harmless + found) / 2.0
            };
            if self.finds(fault, between, seed) {
                found = between;
            } else {
                harmless = between;
            }
        }
        Some(found)
    }
}
