//! A jig in a muster: it tests itself, tests what is seated, and looks whether somebody wants to start or the
//! module has left.

use super::signals::signal;
use crate::calibration::correction::Corrections;
use crate::cli::calibration_choice::CalibrationChoice;
use crate::cli::command_result::{CommandError, OrExit};
use crate::cli::listeners::Listeners;
use crate::cli::port;
use crate::judge::quantity::Quantity;
use crate::link::client::Jig;
use crate::lot::order::Order;
use crate::muster::happening::{Job, Look, Progress};
use crate::muster::tried::{How, Tried};
use crate::plain::plain;
use crate::procedure::bench::Bench as Hands;
use crate::procedure::orders;
use crate::procedure::seat::{Presses, Seat};
use crate::record::recorder::Labels;
use crate::report::finding::finding;
use crate::run::event::{Ending, Event, Hand, ListenError, Listener, Outcome};
use crate::run::options::{Leave, Options};
use crate::run::{Rules, carry_out};
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::{HandTask, Plan};
use crate::script::shipped;
use core::time::Duration;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};

/// Whoever has pressed start has seated the module.
pub struct HasSeated;

impl Hand for HasSeated {
    fn act(&mut self, task: &HandTask, _: &mut dyn FnMut() -> bool) -> bool {
        matches!(task, HandTask::Prepare { .. })
    }
}

/// A module has left when nothing was seen so often in a row: one that is pressed or turned in its seat has not.
const GONE: u32 = 3;

/// What all jigs of a muster have in common.
#[derive(Clone, Debug)]
pub struct Lot {
    /// The folder of the records.
    pub records: PathBuf,
    /// Its name.
    pub name: String,
    /// What was ordered.
    pub order: Order,
    /// Who tests.
    pub operator: String,
    /// The calibrations of the jigs.
    pub calibration: CalibrationChoice,
    /// No sounder.
    pub quiet: bool,
}

impl Lot {
    /// What a muster of a lot was given.
    pub(super) fn of(given: &super::Given, lot: &crate::lot::standing::Lot) -> Self {
        Lot {
            records: given.records.clone(),
            name: given.lot.clone(),
            order: lot.order.clone(),
            operator: given.operator.clone(),
            calibration: given.calibration.clone(),
            quiet: given.quiet,
        }
    }
}

/// Opens a jig; on a simulated bench with the module of a job in it.
pub type Open<'b> = dyn FnMut(Option<&Job>) -> Result<Jig, CommandError> + 'b;

/// How a jig is opened.
pub struct Source<'b> {
    /// Opens it.
    pub open: Box<Open<'b>>,
    /// Each module is on a bench of its own, opened anew.
    pub is_new_each_time: bool,
}

/// A jig in a muster.
pub struct Bench<'b> {
    lot: Lot,
    source: Source<'b>,
    jig: Option<Jig>,
    stop: &'b AtomicBool,
    /// What is seated can be told from nothing.
    is_seen: bool,
    /// A simulated hand has taken the module out.
    is_taken_out: bool,
    /// Nothing was seen so often in a row.
    gone: u32,
    outcome: Option<Outcome>,
}

impl<'b> Bench<'b> {
    /// A jig that is opened when it is first needed.
    pub fn new(lot: Lot, source: Source<'b>, stop: &'b AtomicBool) -> Self {
        Bench {
            lot,
            source,
            jig: None,
            stop,
            is_seen: false,
            is_taken_out: false,
            gone: 0,
            outcome: None,
        }
    }

    fn open(&mut self, job: Option<&Job>) -> Result<&mut Jig, CommandError> {
        let anew = self.source.is_new_each_time && job.is_some();
        if anew && let Some(jig) = self.jig.take() {
            jig.close();
        }
        let jig = match self.jig.take() {
            Some(jig) => jig,
            None => (self.source.open)(job)?,
        };
        Ok(self.jig.insert(jig))
    }

    /// Whether each module is on a bench of its own in this program, whose clock jumps.
    pub fn is_new_each_time(&self) -> bool {
        self.source.is_new_each_time
    }

    /// Has the jig test itself.
    ///
    /// # Errors
    /// When it cannot be reached.
    pub fn check(&mut self) -> Result<Look, CommandError> {
        let stop = self.stop;
        let jig = self.open(None)?;
        let (serial, simulated) = (jig.identity().serial.clone(), jig.identity().simulated);
        let tested = jig
            .start_afresh()
            .or_bench()
            .and_then(|()| Ok(Hands::new(jig, None, stop).self_test()?));
        if tested.is_err() {
            self.jig = None;
        }
        Ok(Look {
            jig: serial,
            simulated,
            trouble: tested.err().map(|error| error.error.to_string()),
        })
    }

    /// Carries the script of the lot out on what is seated, and records it.
    ///
    /// # Errors
    /// When the jig cannot be reached or cannot do that, or the records cannot be written.
    pub fn run(
        &mut self,
        job: &Job,
        tell: &mut dyn FnMut(Progress),
    ) -> Result<Tried, CommandError> {
        let sheet = shipped::module_sheet(&self.lot.order.kind).or_bad_input()?;
        let plan = super::plan::plan(&self.lot.order, &sheet, job.asked_first.as_ref())?;
        self.carry_out(job, &plan, &sheet, tell)
    }

    /// Carries a plan out on what is seated, and records it.
    ///
    /// # Errors
    /// See [`Bench::run`].
    pub fn carry_out(
        &mut self,
        job: &Job,
        plan: &Plan,
        sheet: &ModuleSheet,
        tell: &mut dyn FnMut(Progress),
    ) -> Result<Tried, CommandError> {
        let lot = self.lot.clone();
        let labels = Labels {
            module: job.serial.clone(),
            lot: lot.name.clone(),
            operator: lot.operator.clone(),
        };
        let mut listeners = Listeners::open(&lot.records, labels, Box::new(()), None)?;
        let mut told = Told { tell, plan, left: plan.duration(), sees: false };
        let (stop, is_out) = (self.stop, self.is_taken_out);
        let jig = self.open(Some(job))?;
        jig.start_afresh().or_bench()?;
        if is_out && jig.identity().simulated {
            let _ = jig.send(&orders::simulated_module(true));
        }
        port::check_plan(plan, jig)?;
        let corrections = lot.calibration.corrections(jig, plan.calibration_max_days)?;
        let options = options(sheet, corrections);
        let began = jig.now();
        listeners.progress = None;
        let outcome = carry_out(
            plan,
            jig,
            &mut HasSeated,
            &mut Rules,
            &options,
            stop,
            &mut [&mut listeners, &mut told],
        );
        let took = jig.now().saturating_sub(began);
        let simulated = jig.identity().simulated;
        let is_seen = told.sees;
        listeners.end(&outcome);
        let summary = &listeners.summary;
        let found = finding(&outcome, &summary.objections, &summary.positions, simulated);
        let how = match outcome.ending {
            Ending::Complete | Ending::EndedEarly(_) => How::Whole,
            Ending::Stopped if stop.load(Ordering::Relaxed) => How::Stopped,
            Ending::Stopped => How::PulledOut,
            Ending::BenchTrouble(_) | Ending::Unrecorded(_) => How::CutShort,
        };
        if how == How::CutShort {
            // Whatever is wrong with the line, it is opened anew.
            self.jig = None;
        }
        (self.is_seen, self.is_taken_out, self.gone) = (is_seen, false, 0);
        let verdict = outcome.verdict;
        self.outcome = Some(outcome);
        Ok(Tried { how, verdict, sentence: found.sentence, to_do: found.to_do, took })
    }

    /// Says the last verdict by light and sounder, as far as the jig has them.
    pub fn signal(&mut self) {
        if let (Some(jig), Some(outcome)) = (&mut self.jig, &self.outcome) {
            signal(jig, outcome, self.stop, self.lot.quiet);
        }
    }

    /// What tells that the module has left, or cannot be seen to; `None` as long as it may be there.
    ///
    /// # Errors
    /// When the jig cannot be reached.
    pub fn has_left(&mut self) -> Result<Option<Seat>, CommandError> {
        let seat = self.seat()?;
        self.gone = if seat == Seat::Empty { self.gone + 1 } else { 0 };
        let may_be_there = seat == Seat::Taken || (seat == Seat::Empty && self.gone < GONE);
        Ok((!may_be_there).then_some(seat))
    }

    /// Whether a module is seated. On a simulated bench its hand takes the module out once it was looked at.
    ///
    /// # Errors
    /// When the jig cannot be reached.
    pub fn seat(&mut self) -> Result<Seat, CommandError> {
        let (is_seen, stop) = (self.is_seen, self.stop);
        let jig = self.open(None)?;
        let is_simulated = jig.identity().simulated;
        let mut hands = Hands::new(jig, None, stop);
        let seat = if is_seen { hands.seat()? } else { Seat::Unseen };
        if is_simulated && !core::mem::replace(&mut self.is_taken_out, true) {
            // One that a person tends takes no orders.
            let _ = self.open(None)?.send(&orders::simulated_module(false));
        }
        Ok(seat)
    }

    /// How often the start button was pressed.
    ///
    /// # Errors
    /// When the jig cannot be reached.
    pub fn presses(&mut self) -> Result<Presses, CommandError> {
        let stop = self.stop;
        Ok(Hands::new(self.open(None)?, None, stop).presses()?)
    }

    /// Tells the jig that somebody is still there.
    ///
    /// # Errors
    /// When it cannot be reached.
    pub fn keep_alive(&mut self) -> Result<(), CommandError> {
        match &mut self.jig {
            Some(jig) => jig.clock_us().map(drop).or_bench(),
            None => Ok(()),
        }
    }

    /// Lets the jig go: it is opened anew when it is next needed.
    pub fn close(&mut self) {
        if let Some(jig) = self.jig.take() {
            jig.close();
        }
    }
}

fn options(sheet: &ModuleSheet, corrections: Option<Corrections>) -> Options {
    Options {
        search: Leave::Given,
        kinds: shipped::other_kinds(sheet),
        watches_seat: true,
        corrections,
        ..Options::default()
    }
}

/// Tells how far a run is.
struct Told<'t> {
    tell: &'t mut dyn FnMut(Progress),
    plan: &'t Plan,
    left: Duration,
    /// The hook-up told that something is seated.
    sees: bool,
}

impl Told<'_> {
    fn say(&mut self, words: &str, left: Duration) {
        let total = self.plan.duration().as_secs_f64().max(1e-3);
        let share = 1.0 - self.left.as_secs_f64() / total;
        (self.tell)(Progress { words: plain(words), share, left });
    }
}

impl Listener for Told<'_> {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        match event {
            Event::StepBegan { name, left, .. } => {
                self.left = *left;
                self.say(name, *left);
            }
            Event::Searching(searching) => {
                let words = format!("where it answers: {}", searching.words);
                self.say(&words, searching.at_most + self.left);
            }
            Event::Read(reading) if reading.quantity == Quantity::FeedResistance => {
                self.sees = reading.bound.is_none() && reading.value.is_some();
            }
            _ => {}
        }
        Ok(())
    }
}
