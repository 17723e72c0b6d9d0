//! What a run tells while it goes on.

use super::outcome::AnswersAt;
pub use super::outcome::{Ending, Outcome};
use super::suspects::Suspects;
use crate::judge::blame::{Facts, Finding};
use crate::judge::reading::{Blame, Quantity, Reading};
use crate::judge::verdict::Side;
use crate::measure::record::Record;
use crate::procedure::self_test::SelfTest;
use crate::script::module_sheet::Rhythm;
use crate::script::plan::{HandTask, Plan};
use crate::signal::target::Format;
use core::time::Duration;

/// Who the jig is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JigIdentity {
    /// Serial number.
    pub serial: String,
    /// Version of its firmware.
    pub firmware: String,
    /// Whether it is a simulated bench.
    pub simulated: bool,
    /// Its calibration, where it has one.
    pub calibration: Option<CalibrationUsed>,
}

/// The calibration that a run uses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalibrationUsed {
    /// Its name.
    pub name: String,
    /// How many days ago the oldest of its channels was calibrated.
    pub days: u32,
    /// Whether that is longer than the script allows.
    pub too_old: bool,
}

/// What happened.
#[derive(Debug)]
pub enum Event<'a> {
    /// The jig answered and the plan fits it; the feed is still off, until the record has its journal and
    /// its space.
    Began {
        /// The plan.
        plan: &'a Plan,
        /// The jig.
        jig: &'a JigIdentity,
        /// What the jig says of itself, with everything off.
        self_test: &'a SelfTest,
        /// Time of day.
        started: jiff::ZonedDateTime,
    },
    /// Loads that draw so little that this jig cannot tell by their current whether a contact is closed.
    SmallLoads(&'a str),
    /// A step begins.
    StepBegan {
        /// Its place in the plan, from 0.
        index: usize,
        /// Its name.
        name: &'a str,
        /// Script time still to go, this step included.
        left: Duration,
    },
    /// The operator is about to be asked.
    Asked(&'a HandTask),
    /// The operator is about to be asked what the lamp does.
    AskedLamp(&'a LampQuestion),
    /// Samples were taken.
    Samples {
        /// The step.
        step: &'a str,
        /// The samples.
        record: &'a Record,
    },
    /// A reading was taken.
    Read(&'a Reading),
    /// Loads are given a rest before they have been on for as long as they may. The load supply is off;
    /// where that is in the middle of a step, it goes on again afterwards.
    LoadsRest {
        /// Whether that is in the middle of a step.
        midway: bool,
    },
    /// In the middle of a step the jig has let a load rest: what the step has moved is put back. Nothing was
    /// read in it.
    StepPutBack {
        /// Its place in the plan.
        index: usize,
    },
    /// Now all is as it was before that step, which is taken again.
    StepAgain {
        /// Its place in the plan.
        index: usize,
    },
    /// The module does not answer where it should, and is searched for.
    Searching(Searching<'a>),
    /// A step ended: what was read in it shall become durable soon.
    StepEnded {
        /// Its place in the plan.
        index: usize,
    },
    /// What may be the matter is looked into, with everything off: so many simulated runs of so many are done.
    LookedInto {
        /// How many are done.
        done: usize,
        /// Of how many.
        of: usize,
    },
    /// The run is over; the feed is off.
    Ended(&'a Outcome),
    /// The run waits until all is where it should be, and that takes long. The feed is off.
    WaitsForRecord,
}

/// A listener cannot go on (a full disk, say). The run turns the feed off and ends.
#[derive(Debug, thiserror::Error)]
pub enum ListenError {
    /// Something that was read is lost, or would be.
    #[error("{0}")]
    Lost(String),
    /// All that was read is safe, but not yet where it should be.
    #[error("{0}")]
    Unfinished(String),
}

/// Something that listens to a run.
pub trait Listener {
    /// Takes an event.
    ///
    /// # Errors
    /// When it cannot go on; the run then ends with bench trouble.
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError>;

    /// Waits until all that it was told is where it should be, but no longer than `patience`. Whether it
    /// is. A run waits for that twice, with the feed off: before it begins, and at its end.
    ///
    /// # Errors
    /// When that will never be.
    fn settle(&mut self, patience: Duration) -> Result<bool, ListenError> {
        let _ = patience;
        Ok(true)
    }

    /// Nobody waits any longer: what is then not where it should be.
    fn leave(&mut self) -> Option<ListenError> {
        None
    }
}

/// What is asked where the feed current does not tell the lamp's rhythm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LampQuestion {
    /// How many lamps there are; two light in turn.
    pub lamps: u8,
    /// The rhythm that is due with the feed as it is.
    pub due: Rhythm,
    /// The rhythm of a feed that is the other way round, where the lamp tells that.
    pub other: Option<Rhythm>,
}

/// How far a search for the module's address is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Searching<'a> {
    /// What is asked now.
    pub words: &'a str,
    /// The longest that it may still take.
    pub at_most: Duration,
}

/// What is asked before a search that moves other things than the module.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MaySearch {
    /// Where the module does not answer.
    pub address: u16,
    /// In which format.
    pub format: Format,
    /// Other modules hang on the feed; else it is the real loads that move.
    pub neighbours: bool,
}

/// What the operator sees the lamp do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LampSeen {
    /// The rhythm that is due.
    Due,
    /// The rhythm of a feed that is the other way round; another one, where the lamp does not tell.
    Other,
    /// Dark, steady, or in no rhythm.
    NoRhythm,
    /// Nobody is there, or it cannot be told.
    CannotTell,
}

/// Whoever does what the script asks for by hand.
pub trait Hand {
    /// Does it, or waits until it is done. `false`: the operator wants to stop.
    ///
    /// While it waits it calls `keep_alive` at least once a second, else the jig falls silent and
    /// turns everything off. When that answers `false` the jig is gone: it gives up and returns.
    fn act(&mut self, task: &HandTask, keep_alive: &mut dyn FnMut() -> bool) -> bool;

    /// Looks at the lamp and says what it does; `None`: the operator wants to stop. `keep_alive`
    /// is as for [`Hand::act`].
    ///
    /// Whoever cannot look at a real lamp says so: nobody invents an answer.
    fn look(
        &mut self,
        question: &LampQuestion,
        keep_alive: &mut dyn FnMut() -> bool,
    ) -> Option<LampSeen> {
        let _ = (question, keep_alive);
        Some(LampSeen::CannotTell)
    }

    /// Says whether all addresses may be searched, though other things than the module move; `None`: the
    /// operator wants to stop. `keep_alive` is as for [`Hand::act`].
    ///
    /// Nobody says yes for somebody who is not there.
    fn may_search(
        &mut self,
        question: &MaySearch,
        keep_alive: &mut dyn FnMut() -> bool,
    ) -> Option<bool> {
        let _ = (question, keep_alive);
        Some(false)
    }
}

/// A run that is over and does not pass.
#[derive(Clone, Copy, Debug)]
pub struct Over<'r> {
    /// The plan.
    pub plan: &'r Plan,
    /// All readings, in the order in which they were taken.
    pub readings: &'r [Reading],
    /// How it ended.
    pub ending: &'r Ending,
    /// Where the module was seen to answer as it was set to begin with.
    pub answers_at: Option<AnswersAt>,
}

/// Whose fault a run is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Diagnosed {
    /// Whose.
    pub blame: Option<Blame>,
    /// What is suspected, where that was looked into.
    pub suspects: Option<Suspects>,
}

/// Whoever says whose fault it is.
pub trait Diagnosis {
    /// Whose fault a reading is that does not pass, from the side of its limits that it is on and
    /// from what is known when it is taken.
    fn of_reading(&mut self, quantity: Quantity, side: Side, facts: &Facts) -> Finding;

    /// Whose fault a run is that does not pass. `told` is to be called at least once a second with how much
    /// is done, and of how much.
    fn of_run(&mut self, over: &Over<'_>, told: &mut dyn FnMut(usize, usize)) -> Diagnosed;
}
