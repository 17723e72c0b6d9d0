//! A run while it goes on: the bench, the slots of its clock, what is known, and who listens.

use super::event::{Diagnosed, Diagnosis, Event, Hand, JigIdentity, Listener, Over};
use super::judging::draft::ReadingDraft;
use super::judging::reading::Judge;
use super::options::Options;
use super::outcome::{Ending, Outcome};
use super::settle::Wait;
use super::state::{Feed, RunState};
use super::step_stop::StepStop;
use crate::judge::reading::{Reading, Verdict};
use crate::judge::run_risk::RunRisk;
use crate::judge::summary::Summary;
use crate::link::client::{Jig, micros};
use crate::measure::channel_class::ChannelClass;
use crate::measure::record::Record;
use crate::procedure::bench::Bench;
use crate::procedure::channels::Channels;
use crate::procedure::samples;
use crate::script::plan::Plan;
use crate::signal::target::Position;
use core::time::Duration;
use std::sync::atomic::AtomicBool;

/// After so long the jig is told that its host is still there.
const HEARD_OF: Duration = Duration::from_secs(1);

pub(super) struct OngoingRun<'a, 'l> {
    pub plan: &'a Plan,
    pub bench: Bench<'a>,
    pub hand: &'a mut dyn Hand,
    pub state: RunState,
    pub unattended: bool,
    /// Place of the present step in the plan.
    pub index: usize,
    /// When the present step began, by the jig's clock.
    pub began_us: u64,
    /// When the run began, by the jig's clock.
    run_began_us: u64,
    /// The last moment that anything was measured at or waited for, by the jig's clock.
    now_us: u64,
    pub options: &'a Options,
    diagnosis: &'a mut dyn Diagnosis,
    pub(super) listeners: &'a mut [&'l mut dyn Listener],
    readings: Vec<Reading>,
    risk: RunRisk,
    /// How long loads may still be waited for that rest.
    pub rests_left: Duration,
    /// A step took longer than its slot.
    pub late: bool,
}

/// Who takes part in a run.
pub(super) struct Company<'a, 'l> {
    pub hand: &'a mut dyn Hand,
    pub diagnosis: &'a mut dyn Diagnosis,
    pub listeners: &'a mut [&'l mut dyn Listener],
}

impl<'a, 'l> OngoingRun<'a, 'l> {
    pub fn new(
        plan: &'a Plan,
        jig: &'a mut Jig,
        company: Company<'a, 'l>,
        options: &'a Options,
        stop: &'a AtomicBool,
    ) -> Self {
        let Company { hand, diagnosis, listeners } = company;
        OngoingRun {
            plan,
            bench: Bench::new(jig, options.corrections.as_ref(), stop),
            hand,
            state: RunState::new(plan.bank),
            unattended: options.unattended,
            index: 0,
            began_us: 0,
            run_began_us: 0,
            now_us: 0,
            options,
            diagnosis,
            listeners,
            readings: Vec::new(),
            risk: RunRisk::default(),
            rests_left: plan.longest_rests,
            late: false,
        }
    }

    /// Tells every listener; the first that cannot go on ends the run, but all are told.
    pub fn emit(&mut self, event: &Event<'_>) -> Result<(), StepStop> {
        let mut result = Ok(());
        for listener in self.listeners.iter_mut() {
            result = result.and(listener.on_event(event));
        }
        Ok(result?)
    }

    /// Waits for those who listen.
    pub fn wait(&mut self) -> Wait<'_, 'a, 'l> {
        Wait::new(&mut self.bench, self.listeners)
    }

    /// A real module needs real hands.
    pub fn refuse_missing_hands(&self, jig: &JigIdentity) -> Result<(), StepStop> {
        if self.unattended && !jig.simulated && self.plan.has_steps_by_hand() {
            return Err(StepStop::Trouble(
                "this script has steps by hand, so a real jig cannot run it unattended: leave \
                 --unattended out"
                    .into(),
            ));
        }
        Ok(())
    }

    /// Limits that were measured on a simulated bench must not judge anything real.
    pub fn refuse_simulated_limits(&self, jig: &JigIdentity) -> Result<(), StepStop> {
        let Some(loads) = &self.plan.loads else { return Ok(()) };
        loads.check_jig(jig.simulated).map_err(|error| StepStop::Trouble(error.to_string()))
    }

    /// The run begins now.
    pub fn begin_run(&mut self) -> Result<(), StepStop> {
        self.begin_slot()?;
        self.run_began_us = self.began_us;
        Ok(())
    }

    /// The next slot begins now, not when the last one should have ended.
    pub fn begin_slot(&mut self) -> Result<(), StepStop> {
        self.began_us = self.bench.clock_us()?;
        self.now_us = self.began_us;
        Ok(())
    }

    pub fn begin_step(&mut self, index: usize, left: Duration) -> Result<(), StepStop> {
        self.bench.check_stop()?;
        self.index = index;
        let plan = self.plan;
        self.emit(&Event::StepBegan { index, name: &plan.steps[index].name, left })
    }

    /// Waits for the end of the step's slot. A step that took longer makes the later ones late.
    pub fn end_step(&mut self, index: usize) -> Result<(), StepStop> {
        self.emit(&Event::StepEnded { index })?;
        let end_us = self.began_us + micros(self.plan.steps[index].duration);
        let now_us = self.bench.clock_us()?;
        if core::mem::take(&mut self.state.loads_were_on) {
            self.state.loads_off_since_us = now_us;
        }
        if now_us < end_us {
            self.bench.wait_until(end_us)?;
            self.began_us = end_us;
        } else {
            self.began_us = now_us;
            self.late = true;
        }
        self.now_us = self.began_us;
        Ok(())
    }

    pub fn step_name(&self) -> &'a str {
        &self.plan.steps[self.index].name
    }

    /// Waits for a capture that ends at `end_us`, fetches it and tells its samples.
    pub fn fetch(&mut self, unit: u8, end_us: u64) -> Result<Record, StepStop> {
        let captured = self.bench.fetch(unit, end_us)?;
        let record = samples::record(&self.channels(), &captured);
        self.tell_samples(record)
    }

    /// Samples channels over a window in which they are steady, and tells the samples.
    pub fn sample(&mut self, scan: Vec<u16>, window: Duration) -> Result<Record, StepStop> {
        let record = self.bench.sample(scan, window)?;
        self.tell_samples(record)
    }

    fn tell_samples(&mut self, record: Record) -> Result<Record, StepStop> {
        // What tripped, and what was sampled again, may be older than what is known already.
        self.now_us = self.now_us.max(record.trigger_us.unwrap_or(record.first_us));
        let step = self.step_name();
        self.emit(&Event::Samples { step, record: &record })?;
        Ok(record)
    }

    /// Whether the feed has tripped, now or before.
    pub fn feed_tripped(&mut self) -> Result<bool, StepStop> {
        if matches!(self.state.feed, Feed::On(_)) && self.bench.trips()?.feed {
            self.state.feed_trips();
            self.bench.feed_off()?;
        }
        Ok(self.state.feed == Feed::Tripped)
    }

    /// Judges a draft and tells the reading. Returns its verdict.
    pub fn read(&mut self, draft: ReadingDraft) -> Result<Verdict, StepStop> {
        let judge = Judge {
            plan: self.plan,
            step: self.step_name(),
            time_s: self.now_us.saturating_sub(self.run_began_us) as f64 / 1e6,
            corrections: self.options.corrections.as_ref(),
        };
        let reading = judge.reading(draft, self.diagnosis);
        self.risk.add(&reading);
        let told = self.emit(&Event::Read(&reading));
        let verdict = reading.verdict;
        self.readings.push(reading);
        told.and(Ok(verdict))
    }

    /// Whether a reading that does not pass says so.
    pub fn has_noted(&self, words: &str) -> bool {
        self.readings.iter().any(|r| r.verdict != Verdict::Pass && r.note.contains(words))
    }

    /// How many readings so far do not pass.
    pub fn objections(&self) -> usize {
        self.readings.iter().filter(|r| r.verdict != Verdict::Pass).count()
    }

    /// How many readings there are so far.
    pub fn readings_so_far(&self) -> usize {
        self.readings.len()
    }

    pub fn outcome(&mut self, ending: Ending) -> Outcome {
        let mut summary = Summary::default();
        self.readings.iter().for_each(|reading| summary.add(reading));
        let verdict = summary.verdict(ending == Ending::Complete);
        let Diagnosed { blame, suspects } = match verdict {
            Verdict::Pass => Diagnosed::default(),
            _ => self.diagnosed(&ending),
        };
        Outcome {
            ending,
            verdict,
            blame,
            suspects,
            readings: summary.readings,
            failed: summary.failed,
            indeterminate: summary.indeterminate,
            risk: self.risk.clone(),
            answers_at: self.state.found,
            kind_found: None,
        }
    }

    /// Whose fault it is. The jig hears meanwhile that its host is still there.
    fn diagnosed(&mut self, ending: &Ending) -> Diagnosed {
        let over = Over {
            plan: self.plan,
            readings: &self.readings,
            ending,
            answers_at: self.state.found,
        };
        let (bench, listeners) = (&mut self.bench, &mut *self.listeners);
        let mut heard = bench.jig.now();
        let mut told = |done, of| {
            for listener in listeners.iter_mut() {
                // Whoever cannot go on says so at the end.
                let _ = listener.on_event(&Event::LookedInto { done, of });
            }
            if bench.jig.now() - heard >= HEARD_OF {
                let _ = bench.clock_us();
                heard = bench.jig.now();
            }
        };
        self.diagnosis.of_run(&over, &mut told)
    }

    /// The jig's channels.
    pub fn channels(&self) -> Channels<'_> {
        self.bench.channels()
    }

    /// The class of a channel, with what its calibration leaves open where it has one.
    pub fn class(&self, channel: u16) -> ChannelClass {
        self.channels().class(channel)
    }

    /// The outputs of this kind of module.
    pub fn outputs(&self) -> impl Iterator<Item = u8> + use<> {
        1..=self.plan.module.outputs
    }

    /// Where an output stands, as far as it is known.
    pub fn position(&self, output: u8) -> Option<Position> {
        self.state.positions[usize::from(output) - 1]
    }
}
