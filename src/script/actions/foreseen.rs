//! The bench as far as a plan lets one foresee it: is the feed on, where is the slider, where does
//! each output stand, which loads hang where, how warm are they?

use super::heat::Heat;
use super::plan::{LoadChoice, Plan, Step};
use crate::load::jig_loads;
use crate::load::sheet::LoadSheet;
use crate::script::finding::{Finding, Gravity};
use crate::script::switching_on::switching_on;
use crate::signal::target::{Clamp, Position};
use core::time::Duration;

/// The bench before the step that is looked at.
pub(in crate::script) struct Bench<'p> {
    pub plan: &'p Plan,
    /// The step that is looked at.
    pub step: Option<&'p Step>,
    findings: Vec<Finding>,
    /// How much of the plan's time has passed.
    pub passed: Duration,
    pub feed_on: bool,
    /// Whether the slider is known to be on.
    pub auxiliary: bool,
    pub prepared: bool,
    /// Whether the feed was on before: `compare` needs something to compare with.
    pub was_on: bool,
    /// Where each output stands, as far as known.
    pub positions: [Option<Position>; 4],
    pub loads: LoadChoice,
    pub clamps: Vec<Clamp>,
    /// The jig's own loads.
    own: LoadSheet,
    heat: Heat,
    /// Since when the lamp has been watched.
    pub watched_since: Option<Duration>,
    /// Whether the idle current is measured anywhere.
    pub idle_measured: bool,
    /// Line and name of the step that measures the auxiliary current.
    pub auxiliary_measured: Option<(usize, String)>,
}

impl<'p> Bench<'p> {
    pub fn new(plan: &'p Plan) -> Self {
        Bench {
            plan,
            step: None,
            findings: Vec::new(),
            passed: Duration::ZERO,
            feed_on: false,
            auxiliary: false,
            prepared: false,
            was_on: false,
            positions: [None; 4],
            loads: LoadChoice::None,
            clamps: Vec::new(),
            own: jig_loads(),
            heat: Heat::default(),
            watched_since: None,
            idle_measured: false,
            auxiliary_measured: None,
        }
    }

    /// A step is looked at from now on.
    pub fn begin(&mut self, step: &'p Step) {
        self.step = Some(step);
    }

    /// It is done.
    pub fn end_step(&mut self) {
        let lasts = self.lasts();
        self.heat.end_step(lasts);
        self.passed += lasts;
        self.step = None;
    }

    /// How long the present step takes.
    pub fn lasts(&self) -> Duration {
        self.step.map_or(Duration::ZERO, |step| step.duration)
    }

    pub fn into_findings(self) -> Vec<Finding> {
        self.findings
    }

    /// Something that cannot work, of the present step or of the whole script.
    pub fn error(&mut self, message: impl Into<String>) {
        let (line, step) = self.step.map_or((0, ""), |step| (step.line, &step.name));
        self.find(Gravity::Error, line, step.to_owned(), message.into());
    }

    /// Something that is most likely not meant so.
    pub fn warn(&mut self, message: impl Into<String>) {
        let (line, step) = self.step.map_or((0, ""), |step| (step.line, &step.name));
        self.find(Gravity::Warning, line, step.to_owned(), message.into());
    }

    fn find(&mut self, gravity: Gravity, line: usize, step: String, message: String) {
        self.findings.push(Finding { gravity, line, step, message });
    }

    pub fn need_feed(&mut self) {
        if !self.feed_on {
            self.error("the feed is off here: put { feed = \"on\" } before");
        }
    }

    /// Whether a load hangs at one of these clamps.
    pub fn is_watched(&self, clamps: &[Clamp]) -> bool {
        self.loads != LoadChoice::None && clamps.iter().any(|clamp| self.clamps.contains(clamp))
    }

    /// The sheet of the loads that a choice connects.
    pub fn sheet_of(&self, choice: LoadChoice) -> Option<&LoadSheet> {
        match choice {
            LoadChoice::None => None,
            LoadChoice::Jig => Some(&self.own),
            LoadChoice::Real => self.plan.loads.as_ref(),
        }
    }

    /// How much longer the loads take to go on than at once.
    pub fn switching_on(&self) -> Duration {
        let real = self.plan.loads.as_ref().filter(|_| self.loads == LoadChoice::Real);
        switching_on(real, &self.clamps)
    }

    /// Loads are on for a while, whether the supply is or their own step says so: do they stand it?
    pub fn loads_are_on(&mut self, on: &[(Clamp, Duration)]) {
        let mut messages = Vec::new();
        for (clamp, time) in on {
            let load = self.sheet_of(self.loads).and_then(|s| s.clamps[clamp.index()].clone());
            messages.extend(load.and_then(|load| self.heat.on(*clamp, &load, *time)));
        }
        messages.into_iter().for_each(|message| self.error(message));
    }

    /// The load supply is on for a while: do the connected loads stand it?
    pub fn load_current_flows(&mut self, time: Duration) {
        let all: Vec<_> = self.clamps.iter().map(|&clamp| (clamp, time)).collect();
        self.loads_are_on(&all);
    }

    /// The plan has come to its end.
    pub fn end(&mut self) {
        if self.feed_on {
            self.warn("the script ends with the feed on; it is turned off at the end anyway");
        }
        if self.watched_since.is_some() {
            self.warn("the lamp is watched at the end of the script, but never judged");
        }
        if let (false, Some((line, step))) = (self.idle_measured, self.auxiliary_measured.take()) {
            let message = "the auxiliary current is the rise over the idle current, which this \
                           script never measures";
            self.find(Gravity::Error, line, step, message.into());
        }
    }
}
