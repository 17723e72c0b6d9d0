//! A run while it goes on: the jig, the slots of its clock, what is known, and who listens.

use super::Options;
use crate::calibration::correction::Corrections;
use crate::jig::board::Supply;
use crate::judge::blame::{ANSWERS_ELSEWHERE, Facts, blame};
use crate::judge::expect::{of_sheet, production};
use crate::judge::reading::{Quantity, Reading, Verdict};
use crate::judge::remedy::remedy;
use crate::judge::risk;
use crate::judge::run_risk::RunRisk;
use crate::judge::summary::Summary;
use crate::judge::verdict::{Window, guard_band, verdict};
use crate::link::capture::CaptureSetup;
use crate::link::client::micros;
use crate::link::client::{Jig, Trips};
use crate::link::error::LinkError;
use crate::measure::record::Record;
use crate::measure::uncertainty::Estimate;
use crate::procedure::samples;
use crate::run::event::{Ending, Event, Hand, JigIdentity, ListenError, Listener, Outcome};
use crate::run::judging::untrusted::Doubt;
use crate::run::known::{Feed, Known};
use crate::script::plan::Plan;
use crate::signal::target::{Clamp, Position};
use crate::wire::preamble::State;
use core::time::Duration;
use std::sync::atomic::{AtomicBool, Ordering};

/// How long a capture may take beyond its reckoned end.
const CAPTURE_PATIENCE_US: u64 = 500_000;

/// What is said when the jig has let a load rest.
const RESTED: &str = "a load was on for as long as it may, and the jig has switched it off: the \
                      line to the jig is slow, or the load's `longest_on` is too short; let it \
                      rest and test again";

/// How the jig refuses to close a load that rests.
const EXECUTION_ERROR: i16 = -200;
const RESTING: &str = "load resting";

/// Why a run does not go on.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Halt {
    /// The operator wants to stop.
    Stopped,
    /// A supply has tripped in the middle of a step.
    Tripped(Supply),
    /// What was read forbids to go on; the run is complete as it is.
    Enough,
    /// One clear sentence.
    Trouble(String),
}

impl Halt {
    /// Why, in words.
    pub fn sentence(self) -> String {
        match self {
            Halt::Stopped => "the run was stopped".into(),
            Halt::Tripped(_) => "a supply of the jig trips again and again".into(),
            Halt::Enough => "what was read forbids to go on".into(),
            Halt::Trouble(sentence) => sentence,
        }
    }
}

impl From<LinkError> for Halt {
    fn from(error: LinkError) -> Self {
        match error {
            LinkError::Tripped(supply) => Halt::Tripped(supply),
            LinkError::Refused { number: EXECUTION_ERROR, text, .. } if text.contains(RESTING) => {
                Halt::Trouble(RESTED.into())
            }
            error => Halt::Trouble(error.to_string()),
        }
    }
}

impl From<ListenError> for Halt {
    fn from(error: ListenError) -> Self {
        Halt::Trouble(error.0)
    }
}

/// What a reading is made of.
pub(super) struct Taken {
    pub clamp: Option<Clamp>,
    pub quantity: Quantity,
    pub estimate: Option<Estimate>,
    pub window: Window,
    pub facts: Facts,
    pub note: String,
    /// A missing value leaves the verdict open instead of failing.
    pub undecided: bool,
    /// What a person has seen decides, in place of a value.
    pub seen: Option<Verdict>,
    /// Why not even a value that is there can be trusted.
    pub doubt: Option<Doubt>,
    /// Where the limits come from; empty for those of the module sheet.
    pub limits_from: String,
}

impl Taken {
    pub fn new(quantity: Quantity, estimate: Option<Estimate>, window: Window) -> Self {
        Taken {
            clamp: None,
            quantity,
            estimate,
            window,
            facts: Facts::default(),
            note: String::new(),
            undecided: false,
            seen: None,
            doubt: None,
            limits_from: String::new(),
        }
    }

    pub fn at(mut self, clamp: Clamp) -> Self {
        self.clamp = Some(clamp);
        self
    }

    pub fn knowing(mut self, facts: Facts) -> Self {
        self.facts = facts;
        self
    }

    pub fn doubting(mut self, doubt: Option<Doubt>) -> Self {
        self.doubt = self.doubt.or(doubt);
        self
    }

    pub fn limited_by(mut self, limits_from: String) -> Self {
        self.limits_from = limits_from;
        self
    }

    pub fn noting(mut self, note: impl Into<String>) -> Self {
        add(&mut self.note, &note.into());
        self
    }
}

pub(super) struct Course<'a, 'l> {
    pub plan: &'a Plan,
    pub jig: &'a mut Jig,
    pub hand: &'a mut dyn Hand,
    pub known: Known,
    pub unattended: bool,
    /// What corrects the jig's readings, where it is calibrated.
    pub corrections: Option<&'a Corrections>,
    /// Place of the present step in the plan.
    pub index: usize,
    /// When the present step began, by the jig's clock.
    pub began_us: u64,
    pub stop: &'a AtomicBool,
    listeners: &'a mut [&'l mut dyn Listener],
    summary: Summary,
    risk: RunRisk,
}

impl<'a, 'l> Course<'a, 'l> {
    pub fn new(
        plan: &'a Plan,
        jig: &'a mut Jig,
        hand: &'a mut dyn Hand,
        options: &'a Options,
        stop: &'a AtomicBool,
        listeners: &'a mut [&'l mut dyn Listener],
    ) -> Self {
        Course {
            plan,
            jig,
            hand,
            known: Known::new(plan.bank),
            unattended: options.unattended,
            corrections: options.corrections.as_ref(),
            index: 0,
            began_us: 0,
            stop,
            listeners,
            summary: Summary::default(),
            risk: RunRisk::default(),
        }
    }

    /// Tells every listener; the first that cannot go on ends the run, but all are told.
    pub fn emit(&mut self, event: &Event<'_>) -> Result<(), Halt> {
        let mut result = Ok(());
        for listener in self.listeners.iter_mut() {
            result = result.and(listener.on_event(event));
        }
        Ok(result?)
    }

    /// A real module needs real hands.
    pub fn refuse_missing_hands(&self, jig: &JigIdentity) -> Result<(), Halt> {
        if self.unattended && !jig.simulated && self.plan.has_steps_by_hand() {
            return Err(Halt::Trouble(
                "this script has steps by hand, so a real jig cannot run it unattended: leave \
                 --unattended out"
                    .into(),
            ));
        }
        Ok(())
    }

    /// Limits that were measured on a simulated bench must not judge anything real.
    pub fn refuse_simulated_limits(&self, jig: &JigIdentity) -> Result<(), Halt> {
        let Some(loads) = &self.plan.loads else { return Ok(()) };
        loads.check_jig(jig.simulated).map_err(|error| Halt::Trouble(error.to_string()))
    }

    pub fn make_safe(&mut self) -> Result<(), Halt> {
        Ok(self.jig.make_safe()?)
    }

    /// The next slot begins now, not when the last one should have ended.
    pub fn begin_slot(&mut self) -> Result<(), Halt> {
        self.began_us = self.jig.clock_us()?;
        Ok(())
    }

    pub fn begin_step(&mut self, index: usize, left: Duration) -> Result<(), Halt> {
        self.check_stop()?;
        self.index = index;
        let plan = self.plan;
        self.emit(&Event::StepBegan { index, name: &plan.steps[index].name, left })
    }

    /// Waits for the end of the step's slot. A step that took longer makes the later ones late.
    pub fn end_step(&mut self, index: usize) -> Result<(), Halt> {
        self.emit(&Event::StepEnded { index })?;
        let end_us = self.began_us + micros(self.plan.steps[index].duration);
        let now_us = self.jig.clock_us()?;
        if core::mem::take(&mut self.known.loads_were_on) {
            self.known.loads_off_since_us = now_us;
        }
        if now_us < end_us {
            self.wait_until(end_us)?;
            self.began_us = end_us;
        } else {
            self.began_us = now_us;
        }
        Ok(())
    }

    pub fn step_name(&self) -> &'a str {
        &self.plan.steps[self.index].name
    }

    pub fn check_stop(&self) -> Result<(), Halt> {
        if self.stop.load(Ordering::Relaxed) { Err(Halt::Stopped) } else { Ok(()) }
    }

    pub fn wait_until(&mut self, t_us: u64) -> Result<(), Halt> {
        self.jig.wait_until_us(t_us, self.stop)?;
        self.check_stop()
    }

    /// Waits for a time, by the jig's clock.
    pub fn pause(&mut self, time: Duration) -> Result<(), Halt> {
        self.jig.pause(time, self.stop)?;
        self.check_stop()
    }

    /// What has tripped. A load that the jig has switched off, because it was on for as long as it
    /// may, ends the run: no reading is made of a load that is not there.
    pub fn trips(&mut self) -> Result<Trips, Halt> {
        let trips = self.jig.trips()?;
        if trips.rested {
            return Err(Halt::Trouble(RESTED.into()));
        }
        Ok(trips)
    }

    pub fn arm(&mut self, unit: u8, setup: &CaptureSetup) -> Result<(), Halt> {
        Ok(self.jig.capture(unit, setup)?)
    }

    /// Waits for a capture that ends at `end_us`, fetches it and tells its samples.
    pub fn fetch(&mut self, unit: u8, end_us: u64) -> Result<Record, Halt> {
        self.wait_until(end_us)?;
        loop {
            match self.jig.capture_state(unit)?.state {
                State::Done => break,
                State::Aborted => {
                    self.refuse_unexplained_end(unit)?;
                    break;
                }
                _ => {}
            }
            if self.jig.clock_us()? > end_us + CAPTURE_PATIENCE_US {
                return Err(Halt::Trouble(format!(
                    "the jig's capture {unit} does not come to an end"
                )));
            }
            self.pause(Duration::from_millis(2))?;
        }
        let captured = self.jig.fetch(unit)?;
        let record = samples::record(self.jig, self.corrections, &captured);
        let step = self.step_name();
        self.emit(&Event::Samples { step, record: &record })?;
        Ok(record)
    }

    /// A capture of unit 1 ends early when a supply trips: that is told. Any other early end is the
    /// bench's, and nothing is read out of what is left. (The watch is ended by the run itself.)
    fn refuse_unexplained_end(&mut self, unit: u8) -> Result<(), Halt> {
        if unit != 1 || self.trips()?.supplies() {
            return Ok(());
        }
        Err(Halt::Trouble(
            "the jig has ended a capture before its time: it lost samples, or it heard nothing for \
             too long; look at its cable and its power, and test again"
                .into(),
        ))
    }

    /// Whether the feed has tripped, now or before.
    pub fn feed_tripped(&mut self) -> Result<bool, Halt> {
        if matches!(self.known.feed, Feed::On(_)) && self.trips()?.feed {
            self.known.feed_trips();
            self.jig.send("OUTP1 OFF")?;
        }
        Ok(self.known.feed == Feed::Tripped)
    }

    /// Judges what was taken and tells the reading. Returns its verdict.
    pub fn read(&mut self, taken: Taken) -> Result<Verdict, Halt> {
        let Taken {
            clamp,
            quantity,
            estimate,
            window,
            facts,
            mut note,
            undecided,
            seen,
            doubt,
            limits_from,
        } = taken;
        let estimate = estimate.filter(|e| e.value.is_finite());
        let mut decided = verdict(estimate.as_ref(), &window, self.plan.rule);
        if estimate.is_none() && undecided {
            decided = Verdict::Indeterminate;
        }
        decided = seen.unwrap_or(decided);
        let side = window.side(estimate.map(|e| e.value));
        let mut blamed = None;
        if let Some(doubt) = doubt {
            decided = doubt.decide(decided, side);
            add(&mut note, doubt.why());
        }
        if let Some(doubt) = doubt.filter(|_| decided == Verdict::Indeterminate) {
            blamed = Some(doubt.blame());
        } else if decided != Verdict::Pass {
            let finding = blame(quantity, side, &facts);
            blamed = Some(finding.blame);
            let elsewhere = self.known.answers_at.as_deref();
            let why = match elsewhere {
                Some(words) if finding.why == ANSWERS_ELSEWHERE => words,
                _ => finding.why,
            };
            add(&mut note, why);
        }
        let production = production(&self.plan.module, quantity, &window);
        let limited = estimate.filter(|_| !quantity.is_counted() && window != Window::OPEN);
        let known = limited.and_then(|e| risk::of_reading(&e, &window, production));
        // What is in doubt for another reason is not settled by a smaller uncertainty.
        let straddles = decided == Verdict::Indeterminate && doubt.is_none();
        let settled_by = limited.filter(|_| straddles).and_then(|e| remedy(&e, &window));
        let reading = Reading {
            step: self.step_name().to_owned(),
            output: clamp.map(|c| c.output),
            position: clamp.map(|c| c.position),
            quantity,
            value: estimate.map(|e| e.value),
            uncertainty: estimate.map(|e| e.expanded()),
            lower_limit: window.lower,
            upper_limit: window.upper,
            verdict: decided,
            blame: blamed,
            note,
            backing: self.backing(quantity, clamp),
            budget: estimate.map(|e| e.budget),
            limits_from: self.limits_from(quantity, &window, limits_from),
            risk: known.and_then(|k| k.wrong(decided)).map(risk::three_digits),
            guard_band: limited.map(|e| guard_band(&e, self.plan.rule)),
            outside: known.map(|k| risk::three_digits(k.outside)),
            settled_by,
        };
        self.summary.add(&reading);
        self.risk.add(&reading);
        self.emit(&Event::Read(&reading))?;
        Ok(decided)
    }

    pub fn outcome(&self, ending: Ending) -> Outcome {
        let verdict = self.summary.verdict(ending == Ending::Complete);
        Outcome {
            ending,
            verdict,
            blame: if verdict == Verdict::Pass { None } else { self.summary.blame() },
            readings: self.summary.readings,
            failed: self.summary.failed,
            indeterminate: self.summary.indeterminate,
            risk: self.risk.clone(),
        }
    }

    /// Where the limits of a reading come from: from `said`, else from the module sheet.
    fn limits_from(&self, quantity: Quantity, window: &Window, said: String) -> String {
        let is_sheet = *window == of_sheet(&self.plan.module, quantity);
        if said.is_empty() && is_sheet && *window != Window::OPEN {
            "module sheet".into()
        } else {
            said
        }
    }

    /// The outputs of this kind of module.
    pub fn outputs(&self) -> impl Iterator<Item = u8> + use<> {
        1..=self.plan.module.outputs
    }

    /// Where an output stands, as far as it is known.
    pub fn position(&self, output: u8) -> Option<Position> {
        self.known.positions[usize::from(output) - 1]
    }
}

/// One more sentence of a note.
fn add(note: &mut String, more: &str) {
    if !more.is_empty() {
        if !note.is_empty() {
            note.push_str("; ");
        }
        note.push_str(more);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(number: i16, text: &str) -> Halt {
        LinkError::Refused { units: "ROUT:CLOS (@321)".into(), number, text: text.into() }.into()
    }

    #[test]
    fn a_load_that_rests_is_bench_trouble_in_plain_words() {
        let halt = refused(EXECUTION_ERROR, "Execution error;load resting");
        assert_eq!(halt, Halt::Trouble(RESTED.into()));
        let other = refused(-222, "Data out of range");
        assert_ne!(other, Halt::Trouble(RESTED.into()));
    }
}
