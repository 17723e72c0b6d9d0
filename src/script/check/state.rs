//! The bench as far as a plan lets one foresee it.

use super::duty::Heat;
use super::{Finding, Gravity};
use crate::load::{jig_loads, settled_current};
use crate::quantity::write;
use crate::script::plan::{Action, By, HandTask, LoadChoice, Measured, Plan, Step};
use crate::script::timing;
use crate::signal::target::{Clamp, Position};
use core::time::Duration;

/// A rhythm is not judged from fewer blinks.
const BLINKS_MIN: u32 = 5;

pub(super) struct Bench<'p> {
    plan: &'p Plan,
    findings: Vec<Finding>,
    feed_on: bool,
    /// Whether the slider is known to be on.
    auxiliary: bool,
    prepared: bool,
    /// Whether the feed was on before: `compare` needs something to compare with.
    was_on: bool,
    /// Where each output stands, as far as known.
    positions: [Option<Position>; 4],
    loads: LoadChoice,
    clamps: Vec<Clamp>,
    heat: Heat,
    /// For how long the lamp has been watched.
    watched: Option<Duration>,
    /// Whether the idle current and the auxiliary current are measured.
    measured: (bool, Option<(usize, String)>),
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
            heat: Heat::default(),
            watched: None,
            measured: (false, None),
        }
    }

    pub(super) fn into_findings(self) -> Vec<Finding> {
        self.findings
    }

    fn error(&mut self, step: &Step, message: impl Into<String>) {
        self.find(Gravity::Error, step.line, &step.name, message.into());
    }

    fn warn(&mut self, step: &Step, message: impl Into<String>) {
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
            Action::FeedOn { compare, window, .. } => self.feed_on(step, *compare, *window),
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
            Action::Measure { what, window } => self.measure(step, *what, *window),
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
        if let (false, Some((line, step))) = self.measured.clone() {
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

    fn connect(&mut self, step: &Step, choice: LoadChoice, clamps: &[Clamp]) {
        self.loads = choice;
        self.clamps = clamps.to_vec();
        let own = jig_loads();
        let (sheet, whose) = match choice {
            LoadChoice::None => return,
            LoadChoice::Jig => (&own, "the jig's load"),
            LoadChoice::Real => match &self.plan.loads {
                Some(sheet) => (sheet, "the load"),
                None => return,
            },
        };
        let rating = self.plan.module.output_rating;
        let mut messages = Vec::new();
        for clamp in clamps {
            let Some(load) = &sheet.clamps[clamp.index()] else { continue };
            let most = settled_current(&load.circuit, sheet.supply).upper;
            if most > rating {
                let (most, rating) = (write::brief(most), write::brief(rating));
                messages.push(format!(
                    "{whose} at {clamp} draws up to {most}, but an output may switch {rating} \
                     at most"
                ));
            }
        }
        for message in messages {
            self.error(step, message);
        }
    }

    fn operate(&mut self, step: &Step, target: Clamp, by: By, window: Duration) {
        self.need_feed(step);
        let (output, to) = (target.output, target.position);
        let stands = self.positions[usize::from(output) - 1];
        if by == By::CommandAgainstContact {
            if stands != Some(to.other()) {
                let other = to.other();
                self.error(
                    step,
                    format!(
                        "a command to {to} against the held contact of {other} needs output \
                         {output} at {other} first"
                    ),
                );
            }
        } else {
            match stands {
                None => self.error(
                    step,
                    format!(
                        "nobody knows where output {output} stands: send it to {} first",
                        to.other()
                    ),
                ),
                Some(at) if at == to => {
                    self.error(step, format!("output {output} stands at {to} already"));
                }
                Some(_) => {}
            }
            self.positions[usize::from(output) - 1] = Some(to);
        }
        let other = Clamp { output, position: to.other() };
        let watched = |clamp: &Clamp| self.clamps.contains(clamp);
        if self.loads == LoadChoice::None || !watched(&target) && !watched(&other) {
            self.error(
                step,
                format!(
                    "no load hangs at {target} or {other}, so output {output} cannot be watched"
                ),
            );
        } else if !watched(&target) || !watched(&other) {
            let bare = if watched(&target) { other } else { target };
            self.warn(step, format!("no load hangs at {bare}, so its contact is not seen"));
        }
        self.load_current_flows(step, timing::LEAD + window);
        self.slow_load(step, target, window);
    }

    /// A load that settles later than the capture ends is judged while it still changes.
    fn slow_load(&mut self, step: &Step, clamp: Clamp, window: Duration) {
        let real = self.plan.loads.as_ref().filter(|_| self.loads == LoadChoice::Real);
        if window < timing::CAPTURE_MAX || real.is_none() {
            return;
        }
        let settle = write::brief(timing::settle_at(real, clamp));
        let most = timing::CAPTURE_MAX.as_millis();
        self.warn(
            step,
            format!(
                "the load at {clamp} takes {settle} to settle, but a capture is at most {most} \
                 ms: its current is judged while it still changes"
            ),
        );
    }

    fn measure(&mut self, step: &Step, what: Measured, window: Duration) {
        match what {
            Measured::IdleCurrent => {
                self.need_feed(step);
                if self.auxiliary {
                    self.error(
                        step,
                        "the idle current is measured with the auxiliary supply off, but its \
                         slider is on",
                    );
                }
                self.measured.0 = true;
            }
            Measured::AuxiliaryCurrent => {
                self.need_feed(step);
                if !self.auxiliary {
                    self.error(step, "the slider of the auxiliary supply is not on");
                }
                self.measured.1 = Some((step.line, step.name.clone()));
            }
            Measured::FeedVoltage => self.need_feed(step),
            Measured::LoadVoltage => self.load_current_flows(step, window),
            Measured::LoadTotal => {
                if self.loads == LoadChoice::None {
                    self.error(step, "no loads are connected, so their total current is nothing");
                }
                let stands = |c: &Clamp| self.positions[usize::from(c.output) - 1].is_some();
                if !self.clamps.iter().all(stands) {
                    self.error(
                        step,
                        "which loads are on depends on where the outputs stand, and nobody \
                         knows: send them somewhere first",
                    );
                }
                self.load_current_flows(step, window);
            }
        }
    }

    fn judge_lamp(&mut self, step: &Step) {
        let Some(watched) = self.watched.take() else {
            self.error(step, "the lamp was not watched: put { lamp = \"watch\" } before");
            return;
        };
        if watched > timing::WATCH_MAX {
            let most = timing::WATCH_MAX.as_secs();
            self.warn(
                step,
                format!(
                    "the lamp is watched for {:.0} s, but the jig remembers only the first {most} s",
                    watched.as_secs_f64()
                ),
            );
        }
        let need = timing::blinks(&self.plan.module, BLINKS_MIN);
        if watched < need {
            let (watched, need) = (watched.as_secs_f64(), need.as_secs_f64());
            self.error(
                step,
                format!(
                    "the lamp is watched for {watched:.1} s only; {BLINKS_MIN} blinks take \
                     {need:.1} s: add blinks = 8 to this step"
                ),
            );
        }
    }

    fn need_feed(&mut self, step: &Step) {
        if !self.feed_on {
            self.error(step, "the feed is off here: put { feed = \"on\" } before");
        }
    }

    /// The load supply is on for a while: do the loads stand it?
    fn load_current_flows(&mut self, step: &Step, time: Duration) {
        let own = jig_loads();
        let sheet = match self.loads {
            LoadChoice::None => return,
            LoadChoice::Jig => &own,
            LoadChoice::Real => match &self.plan.loads {
                Some(sheet) => sheet,
                None => return,
            },
        };
        let mut messages = Vec::new();
        for clamp in &self.clamps {
            if let Some(load) = &sheet.clamps[clamp.index()]
                && let Some(message) = self.heat.on(*clamp, load, time)
            {
                messages.push(message);
            }
        }
        for message in messages {
            self.error(step, message);
        }
    }
}
