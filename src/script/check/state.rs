//! The bench as far as a plan lets one foresee it.

use super::duty::Heat;
use super::{Finding, Gravity};
use crate::load::jig_loads;
use crate::load::sheet::LoadSheet;
use crate::script::plan::{Action, HandTask, LoadChoice, Plan, Polarity, Step};
use crate::signal::target::{Clamp, Position};
use core::time::Duration;

pub(super) struct Bench<'p> {
    pub(super) plan: &'p Plan,
    findings: Vec<Finding>,
    feed_on: bool,
    /// Whether the slider is known to be on.
    pub(super) auxiliary: bool,
    prepared: bool,
    /// Whether the feed was on before: `compare` needs something to compare with.
    was_on: bool,
    /// Where each output stands, as far as known.
    pub(super) positions: [Option<Position>; 4],
    pub(super) loads: LoadChoice,
    pub(super) clamps: Vec<Clamp>,
    /// The jig's own loads.
    pub(super) own: LoadSheet,
    pub(super) heat: Heat,
    /// For how long the lamp has been watched.
    pub(super) watched: Option<Duration>,
    /// Whether the idle current is measured anywhere.
    pub(super) idle_measured: bool,
    /// Line and name of the step that measures the auxiliary current.
    pub(super) auxiliary_measured: Option<(usize, String)>,
}

impl<'p> Bench<'p> {
    pub(super) fn new(plan: &'p Plan) -> Self {
        Bench {
            plan,
            findings: Vec::new(),
            feed_on: false,
            auxiliary: false,
            prepared: false,
            was_on: false,
            positions: [None; 4],
            loads: LoadChoice::None,
            clamps: Vec::new(),
            own: jig_loads(),
            heat: Heat::default(),
            watched: None,
            idle_measured: false,
            auxiliary_measured: None,
        }
    }

    pub(super) fn into_findings(self) -> Vec<Finding> {
        self.findings
    }

    pub(super) fn error(&mut self, step: &Step, message: impl Into<String>) {
        self.find(Gravity::Error, step.line, &step.name, message.into());
    }

    pub(super) fn warn(&mut self, step: &Step, message: impl Into<String>) {
        self.find(Gravity::Warning, step.line, &step.name, message.into());
    }

    fn find(&mut self, gravity: Gravity, line: usize, step: &str, message: String) {
        self.findings.push(Finding { gravity, line, step: step.to_owned(), message });
    }

    pub(super) fn step(&mut self, step: &Step) {
        match &step.action {
            Action::Ask(task) => self.ask(step, task),
            Action::HookUp if self.feed_on => {
                self.error(step, "the hook-up is measured with the feed off, but the feed is on");
            }
            Action::HookUp | Action::Wait => {}
            Action::FeedOn { polarity, compare, window } => {
                if *polarity == Polarity::Inverted && !self.plan.module.try_inverted {
                    self.error(
                        step,
                        "the module sheet forbids the feed inverted (`try_inverted = false`)",
                    );
                }
                self.feed_on(step, *compare, *window);
            }
            Action::FeedOff => {
                if !self.feed_on {
                    self.warn(step, "the feed is off already");
                }
                self.feed_on = false;
                if self.watched.take().is_some() {
                    self.warn(step, "the lamp is being watched, but never judged");
                }
            }
            Action::Loads { choice, clamps } => self.connect(step, *choice, clamps),
            Action::Send { output, to } => {
                self.need_feed(step);
                self.positions[usize::from(*output) - 1] = Some(*to);
            }
            Action::Operate { output, to, by, window } => {
                self.operate(step, Clamp { output: *output, position: *to }, *by, *window);
            }
            Action::Measure { what, .. } => self.measure(step, *what),
            Action::Answer { .. } => self.answer(step),
            Action::ProveSwitches(_) => self.prove_switches(step),
            Action::JudgeSwitches { never } => self.judge_switches(step, never),
            Action::WatchLamp => {
                self.need_feed(step);
                if self.watched.is_some() {
                    self.error(step, "the lamp is being watched already");
                }
                self.watched = Some(Duration::ZERO);
            }
            Action::JudgeLamp => self.judge_lamp(step),
        }
        self.heat.end_step(step.duration);
        if let (Some(watched), true) = (&mut self.watched, step.action != Action::WatchLamp) {
            *watched += step.duration;
        }
    }

    pub(super) fn end(&mut self) {
        if self.feed_on {
            let message = "the script ends with the feed on; it is turned off at the end anyway";
            self.find(Gravity::Warning, 0, "", message.into());
        }
        if self.watched.is_some() {
            let message = "the lamp is watched at the end of the script, but never judged";
            self.find(Gravity::Warning, 0, "", message.into());
        }
        if let (false, Some((line, step))) = (self.idle_measured, self.auxiliary_measured.take()) {
            let message = "the auxiliary current is the rise over the idle current, which this \
                           script never measures";
            self.find(Gravity::Error, line, &step, message.into());
        }
    }

    fn ask(&mut self, step: &Step, task: &HandTask) {
        match task {
            HandTask::Prepare { auxiliary, .. } => {
                if self.feed_on {
                    let message = "address switches are set with the power off: \
                                   turn the feed off before this step";
                    self.error(step, message);
                }
                self.prepared = true;
                self.auxiliary = auxiliary.unwrap_or(false);
                self.positions = [None; 4];
            }
            HandTask::Switches(_) => {
                if self.feed_on {
                    let message = "address switches are set with the power off: \
                                   turn the feed off before this step";
                    self.error(step, message);
                }
            }
            HandTask::Auxiliary(on) => self.auxiliary = *on,
            HandTask::Other(_) => {}
        }
    }

    fn feed_on(&mut self, step: &Step, compare: bool, window: Duration) {
        if self.feed_on {
            self.error(step, "the feed is on already");
        }
        if !self.prepared {
            self.error(
                step,
                "nobody has seated the module and set its switches: begin with \
                 { ask = \"prepare\" }",
            );
            self.prepared = true;
        }
        if compare && !self.was_on {
            self.error(step, "there is nothing to compare with: the feed was never on before");
        }
        let known = (0..usize::from(self.plan.module.outputs))
            .all(|output| self.positions[output].is_some());
        if compare && self.was_on && !known {
            self.error(step, "to compare positions, send every output somewhere before");
        }
        if self.loads != LoadChoice::None {
            self.load_current_flows(step, window);
        } else {
            self.warn(
                step,
                "no loads are connected, so nobody sees whether an output moves at power-on",
            );
        }
        self.feed_on = true;
        self.was_on = true;
        if !self.plan.module.keeps_position {
            self.positions = [Some(Position::A); 4];
        }
    }

    pub(super) fn need_feed(&mut self, step: &Step) {
        if !self.feed_on {
            self.error(step, "the feed is off here: put { feed = \"on\" } before");
        }
    }
}
