//! One jig of a muster: what stands in it, and what it is about.

use super::happening::Progress;
use super::tried::Tried;
use crate::lot::claims::Claim;
use core::time::Duration;

/// A jig with its seat.
#[derive(Debug)]
pub struct Station {
    /// What it is called on the screen.
    pub name: String,
    /// The serial number of the jig, once it is known.
    pub jig: Option<String>,
    /// What it is about.
    pub stands: Stands,
    /// The last verdict.
    pub last: Option<Last>,
    /// A module that somebody has chosen.
    pub(super) chosen: Option<String>,
    /// The module that is in hand here.
    pub(super) claim: Option<Claim>,
    /// The bench is to be looked at before the next module, and when that is.
    pub(super) check: Option<&'static str>,
    /// When the bench was last found good.
    pub(super) good_at: Option<Duration>,
    /// Whether anything was tested since.
    pub(super) tested: bool,
}

/// What a station is about.
#[derive(Clone, Debug, PartialEq)]
pub enum Stands {
    /// The bench is looked at: when.
    Checking(&'static str),
    /// A module is to be seated, and start is waited for.
    Ready(Seating),
    /// The module is tested.
    Running(Seating, Option<Progress>),
    /// The module is to be taken out.
    Leaving {
        /// The module.
        serial: String,
        /// The jig cannot see it leave: whoever takes it out says so.
        is_asked: bool,
    },
    /// Nothing is left for it.
    Idle,
    /// The bench failed: why.
    Failed(String),
}

/// What is seated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Seating {
    /// A module of the lot.
    Module(String),
    /// The module that is known to be good, and when the bench is looked at with it.
    Reference(String, &'static str),
}

impl Seating {
    /// Its serial.
    pub fn serial(&self) -> &str {
        match self {
            Seating::Module(serial) | Seating::Reference(serial, _) => serial,
        }
    }
}

/// The last verdict.
#[derive(Clone, Debug, PartialEq)]
pub struct Last {
    /// Of which module.
    pub serial: String,
    /// How its run came out.
    pub tried: Tried,
}

impl Station {
    /// One at which nothing has happened yet.
    pub fn new(name: impl Into<String>) -> Self {
        Station {
            name: name.into(),
            jig: None,
            stands: Stands::Idle,
            last: None,
            chosen: None,
            claim: None,
            check: None,
            good_at: None,
            tested: false,
        }
    }
}
