//! A script's plans for all kinds of modules that it is for, and runs of them.

use super::draft::Draft;
use crate::finds::trial_run::{TrialRun, TriedPlan};
use crate::load::sheet::LoadSheet;
use crate::quantity::located::Located;
use crate::script::check::{Gravity, check};
use crate::script::expand::expand;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::Plan;
use crate::script::steps::Script;
use crate::simulated_bench::faults::Fault;
use core::time::Duration;

/// What a script is for.
#[derive(Clone, Debug)]
pub struct Kinds {
    /// The kinds of modules, one at least.
    pub modules: Vec<ModuleSheet>,
    /// The real loads.
    pub loads: Option<LoadSheet>,
    /// The first address.
    pub address: Option<i64>,
}

impl Kinds {
    /// A script's plan for each of them.
    ///
    /// # Errors
    /// Where it cannot be expanded for one.
    pub fn plans(&self, script: &Script) -> Result<Vec<Plan>, Located> {
        let plan = |module| expand(script, module, self.loads.as_ref(), self.address);
        self.modules.iter().map(plan).collect()
    }

    /// The plans of a draft that may be carried out and has no more warnings than so many.
    pub fn sound_plans(&self, draft: &Draft, warnings: usize) -> Option<Vec<Plan>> {
        let plans = self.plans(&draft.script().ok()?).ok()?;
        (self::warnings(&plans)? <= warnings).then_some(plans)
    }
}

/// How many warnings there are of plans; `None` where one of them has an error.
pub fn warnings(plans: &[Plan]) -> Option<usize> {
    let findings: Vec<_> = plans.iter().flat_map(check).collect();
    let is_error = |f: &crate::script::check::Finding| f.gravity == Gravity::Error;
    (!findings.iter().any(is_error)).then_some(findings.len())
}

/// What plans take together.
pub fn duration(plans: &[Plan]) -> Duration {
    plans.iter().map(Plan::duration).sum()
}

/// Plans that are carried out again and again.
pub struct Tried<'p>(Vec<TriedPlan<'p>>);

impl<'p> Tried<'p> {
    /// These, one for each kind.
    pub fn new(plans: &'p [Plan]) -> Self {
        Tried(plans.iter().map(TriedPlan::new).collect())
    }

    /// Carries out that of a kind.
    pub fn run(&self, kind: usize, fault: Option<(&'static Fault, f64)>, seed: u64) -> TrialRun {
        self.0[kind].run(fault, seed)
    }
}
