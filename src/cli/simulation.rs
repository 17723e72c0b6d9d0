//! What is wrong with the simulated bench, and what chance draws.

use super::fault_choice::FaultChoice;
use super::word;
use crate::load::sheet::LoadSheet;
use crate::procedure::simulated_set_up::setup;
use crate::script::module_sheet::ModuleSheet;
use crate::simulated_bench::{Seeds, Setup};

/// The seed when none is given: the same bench each time.
const SEED: u64 = 1;
/// How far apart the numbers are that modules and seatings are drawn from.
const ANOTHER: u64 = 1_000_003;

/// The arguments of a simulated bench.
#[derive(Clone, Debug, clap::Args)]
pub struct Simulation {
    /// Put a fault on the simulated bench (`musterbench faults` lists them); can be given again
    #[arg(long = "fault", value_name = "NAME[=SEVERITY]")]
    faults: Vec<FaultChoice>,

    /// Draw the simulated bench from this number [default: 1]
    #[arg(long, value_name = "N", value_parser = word::seed, allow_negative_numbers = true)]
    seed: Option<u64>,

    /// Draw the simulated module from another number than the bench [default: that of --seed]
    #[arg(long, value_name = "N", value_parser = word::seed, allow_negative_numbers = true)]
    module_seed: Option<u64>,

    /// Draw what differs when the same module is tested again, noise and bounce, from this number
    /// [default: that of --seed]
    #[arg(long, value_name = "N", value_parser = word::seed, allow_negative_numbers = true)]
    run_seed: Option<u64>,
}

impl Simulation {
    /// Whether any of them is given.
    pub fn is_asked_for(&self) -> bool {
        let numbers = [self.seed, self.module_seed, self.run_seed];
        !self.faults.is_empty() || numbers.iter().any(Option::is_some)
    }

    /// Whether something is put wrong on the bench.
    pub fn has_faults(&self) -> bool {
        !self.faults.is_empty()
    }

    /// The number that the bench is drawn from.
    pub fn bench_seed(&self) -> u64 {
        self.seed.unwrap_or(SEED)
    }

    /// The same bench with another module, seated for the so-manieth time.
    pub fn another(
        &self,
        module: &ModuleSheet,
        loads: Option<&LoadSheet>,
        faults: impl Iterator<Item = FaultChoice>,
        number: u64,
        seating: u64,
    ) -> Setup {
        let Seeds { bench, module: first, run } = self.seeds();
        // Far from the first module's number, and each seating goes its own way.
        let seeds = Seeds {
            bench,
            module: first.wrapping_add(ANOTHER.wrapping_mul(number + 1)),
            run: run.wrapping_add(ANOTHER.wrapping_mul(seating)),
        };
        let faults = faults.map(|chosen| (chosen.fault, chosen.severity)).collect();
        setup(module, loads, faults, seeds)
    }

    /// What stands on the bench.
    pub fn setup(&self, module: &ModuleSheet, loads: Option<&LoadSheet>) -> Setup {
        let faults = self.faults.iter().map(|chosen| (chosen.fault, chosen.severity)).collect();
        setup(module, loads, faults, self.seeds())
    }

    fn seeds(&self) -> Seeds {
        let bench = self.bench_seed();
        Seeds {
            bench,
            module: self.module_seed.unwrap_or(bench),
            run: self.run_seed.unwrap_or(bench),
        }
    }
}
