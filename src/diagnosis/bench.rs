//! Runs of the plan on simulated benches with this or that wrong, each made once and remembered.

use super::seen::SeenRun;
use crate::finds::spread::on_all_processors;
use crate::finds::trial_run::carried_out;
use crate::load::sheet::LoadSheet;
use crate::procedure::simulated_set_up::setup;
use crate::run::Options;
use crate::run::event::{Outcome, Over};
use crate::run::options::Leave;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::Plan;
use crate::signal::target::Position;
use crate::simulated_bench::parts::Parts;
use crate::simulated_bench::{Placed, Setup};
use core::sync::atomic::AtomicBool;
use rand::{Rng, SeedableRng};
use rand_xoshiro::SplitMix64;
use std::collections::HashMap;
use std::sync::Arc;

/// All modules and benches of a diagnosis are drawn from this number.
pub const SEED: u64 = 0x6d75_7374_6572;

/// What is wrong on a simulated bench.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wrong {
    /// Another kind of module than the plan's: its place among the other kinds.
    pub kind: Option<usize>,
    /// Faults.
    pub faults: Vec<Placed>,
}

impl Wrong {
    fn name(&self) -> String {
        use core::fmt::Write;
        let mut name = self.kind.map(|kind| format!("kind {kind}")).unwrap_or_default();
        for Placed { fault, place, severity } in &self.faults {
            let _ = write!(name, "|{} {:?} {severity:e}", fault.name, place.at);
        }
        name
    }
}

/// A run on it, by the number of its draw.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// What is wrong.
    pub wrong: Wrong,
    /// Which of the benches and modules that are drawn.
    pub draw: usize,
}

/// The benches that a plan is tried on.
pub struct Benches<'p> {
    plan: &'p Plan,
    options: Options,
    seeds: Vec<u64>,
    known: HashMap<(String, usize), Arc<SeenRun>>,
    /// How many runs were asked for so far, known or not.
    pub asked: usize,
}

/// More draws of a bench than these are never asked for.
const DRAWS: usize = 100;

impl<'p> Benches<'p> {
    /// For a plan, with the other kinds that the program knows, and leave to search all addresses or not.
    pub fn new(plan: &'p Plan, kinds: Vec<ModuleSheet>, search: Leave) -> Self {
        let options = Options { unattended: true, search, kinds, ..Options::default() };
        let mut benches =
            Benches { plan, options, seeds: Vec::new(), known: HashMap::new(), asked: 0 };
        let mut from = SplitMix64::seed_from_u64(SEED);
        while benches.seeds.len() < DRAWS {
            let seed = from.next_u64();
            // Every second module stands the other way at all outputs than the one before it.
            let before = benches.seeds.last().filter(|_| benches.seeds.len() % 2 == 1);
            let stands = |seed: u64| benches.stands(seed);
            let other =
                |&before: &u64| stands(before).iter().zip(stands(seed)).all(|(a, b)| *a != b);
            if before.is_none_or(other) {
                benches.seeds.push(seed);
            }
        }
        benches
    }

    /// Where the outputs of a module of that seed stand to begin with.
    fn stands(&self, seed: u64) -> Vec<Position> {
        let Setup { kind, loads, load_supply_v, seeds, .. } = self.setup(&Wrong::default(), seed);
        let parts = Parts::draw(&kind, &loads, load_supply_v, seeds);
        let outputs = parts.module.outputs.iter().take(usize::from(kind.outputs));
        outputs.map(|output| output.initial).collect()
    }

    /// The plan.
    pub fn plan(&self) -> &'p Plan {
        self.plan
    }

    /// The other kinds.
    pub fn kinds(&self) -> &[ModuleSheet] {
        &self.options.kinds
    }

    /// The real loads.
    pub fn loads(&self) -> Option<&'p LoadSheet> {
        self.plan.loads.as_ref()
    }

    /// Carries all of them out that are not known yet. `None` if it was stopped.
    pub fn run(
        &mut self,
        all: &[Asked],
        stop: &AtomicBool,
        told: &mut dyn FnMut(usize),
    ) -> Option<Vec<Arc<SeenRun>>> {
        let names: Vec<(String, usize)> =
            all.iter().map(|asked| (asked.wrong.name(), asked.draw)).collect();
        let mut new: Vec<usize> = Vec::new();
        for (at, name) in names.iter().enumerate() {
            let is_first = |&known: &usize| names[known] != *name;
            if !self.known.contains_key(name) && new.iter().all(is_first) {
                new.push(at);
            }
        }
        let before = self.asked;
        let made = on_all_processors(
            new.len(),
            stop,
            |i| Arc::new(self.one(&all[new[i]])),
            |n| told(before + n),
        )?;
        for (at, seen) in new.into_iter().zip(made) {
            self.known.insert(names[at].clone(), seen);
        }
        self.asked += all.len();
        told(self.asked);
        Some(names.iter().map(|name| Arc::clone(&self.known[name])).collect())
    }

    /// What stands on the bench.
    pub fn setup(&self, wrong: &Wrong, seed: u64) -> Setup {
        let sheet = wrong.kind.map_or(&self.plan.module, |kind| &self.options.kinds[kind]);
        let sound = setup(sheet, self.loads(), Vec::new(), seed);
        Setup { placed: wrong.faults.clone(), ..sound }
    }

    fn one(&self, asked: &Asked) -> SeenRun {
        let seed = self.seeds[asked.draw % DRAWS];
        seen(self.plan, &self.options, self.setup(&asked.wrong, seed)).unwrap_or_default()
    }
}

/// What a run on a bench shows; `None` where the bench cannot carry it out.
fn seen(plan: &Plan, options: &Options, bench: Setup) -> Option<SeenRun> {
    let (outcome, readings) = carried_out(plan, options, bench)?;
    let Outcome { ending, answers_at, .. } = outcome;
    Some(SeenRun::of(&Over { plan, readings: &readings, ending: &ending, answers_at }))
}
