//! One run on one drawn bench, and what it showed.

use crate::judge::reading::{Blame, Quantity, Reading, Verdict};
use crate::judge::roots::roots;
use crate::link::client::Jig;
use crate::link::simulated::SimulatedTransport;
use crate::procedure::simulated_set_up::setup;
use crate::run::event::{Ending, Listener, Outcome};
use crate::run::options::Leave;
use crate::run::unattended::{Nobody, Readings};
use crate::run::{Options, Rules, carry_out};
use crate::script::plan::Plan;
use crate::script::shipped;
use crate::simulated_bench::Setup;
use crate::simulated_bench::faults::Fault;
use core::sync::atomic::AtomicBool;
use std::collections::BTreeSet;

/// How a run came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CameOut {
    /// All readings pass.
    Passed,
    /// Something could not be decided.
    Open,
    /// Something fails.
    Failed,
    /// The bench itself could not carry it out.
    Trouble,
}

/// The reading that tells a fault first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// What was measured.
    pub quantity: Quantity,
    /// The value.
    pub value: Option<f64>,
    /// The limit that it lies beyond.
    pub limit: Option<f64>,
}

/// What a run showed.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialRun {
    /// How it came out.
    pub came_out: CameOut,
    /// Whose fault it says it is.
    pub blame: Option<Blame>,
    /// Lines of the script in which something failed.
    pub lines: BTreeSet<usize>,
    /// The reading that tells it first.
    pub told: Option<Told>,
}

impl TrialRun {
    /// Whether nobody would put the module away after that: it fails, or cannot be tested.
    pub fn is_found(&self) -> bool {
        matches!(self.came_out, CameOut::Failed | CameOut::Trouble)
    }
}

/// A plan that is carried out again and again.
pub struct TriedPlan<'p> {
    plan: &'p Plan,
    options: Options,
}

impl<'p> TriedPlan<'p> {
    /// The plan, and all kinds that the program knows besides its own.
    pub fn new(plan: &'p Plan) -> Self {
        let options = Options {
            unattended: true,
            search: Leave::Given,
            kinds: shipped::other_kinds(&plan.module),
            ..Options::default()
        };
        TriedPlan { plan, options }
    }

    /// Carries it out on the plan's module and loads, with what is wrong, drawn from a number.
    pub fn run(&self, fault: Option<(&'static Fault, f64)>, seed: u64) -> TrialRun {
        let (module, loads) = (&self.plan.module, self.plan.loads.as_ref());
        let bench = setup(module, loads, fault.into_iter().collect(), seed);
        trial_run(self.plan, &self.options, bench)
    }
}

/// Carries a plan out in this process, with nobody there: how it came out, and all that was read. `None` where the
/// bench cannot carry it out.
pub fn carried_out(
    plan: &Plan,
    options: &Options,
    bench: Setup,
) -> Option<(Outcome, Vec<Reading>)> {
    let mut jig = Jig::open(Box::new(SimulatedTransport::new(bench))).ok()?;
    let (mut readings, stop) = (Readings::default(), AtomicBool::new(false));
    let listeners: &mut [&mut dyn Listener] = &mut [&mut readings];
    let outcome = carry_out(plan, &mut jig, &mut Nobody, &mut Rules, options, &stop, listeners);
    jig.close();
    let is_whole = matches!(outcome.ending, Ending::Complete | Ending::EndedEarly(_));
    is_whole.then_some((outcome, readings.0))
}

fn trial_run(plan: &Plan, options: &Options, bench: Setup) -> TrialRun {
    let Some((outcome, readings)) = carried_out(plan, options, bench) else {
        return TrialRun::in_trouble();
    };
    let came_out = match outcome.verdict {
        Verdict::Fail => CameOut::Failed,
        Verdict::Indeterminate => CameOut::Open,
        Verdict::Pass => CameOut::Passed,
    };
    let failed = |reading: &&Reading| reading.verdict == Verdict::Fail;
    let line = |reading: &Reading| {
        plan.steps.iter().find(|step| step.name == reading.step).map(|step| step.line)
    };
    let lines = readings.iter().filter(failed).filter_map(line).collect();
    let told = roots(&readings).first().map(|root| told(root.worst));
    TrialRun { came_out, blame: outcome.blame, lines, told }
}

impl TrialRun {
    fn in_trouble() -> Self {
        TrialRun { came_out: CameOut::Trouble, blame: None, lines: BTreeSet::new(), told: None }
    }
}

fn told(reading: &Reading) -> Told {
    let limit = match (reading.value, reading.lower_limit, reading.upper_limit) {
        (Some(value), Some(lower), _) if value < lower => Some(lower),
        (Some(_), _, Some(upper)) => Some(upper),
        (_, lower, upper) => lower.or(upper),
    };
    Told { quantity: reading.quantity, value: reading.value, limit }
}
