//! What a desk is told, and what it orders: everything that passes between it and the jigs.

use super::tried::Tried;
use crate::procedure::seat::Seat;
use core::time::Duration;

/// Something that happened. A number is that of a station, from 0.
#[derive(Clone, Debug, PartialEq)]
pub enum Happening {
    /// The keyboard sent this until it was at rest.
    Typed(Vec<u8>),
    /// A jig's button was pressed.
    Pressed(usize),
    /// A jig has looked whether a module is seated.
    Seat(usize, Seat),
    /// A run goes on.
    Progress(usize, Progress),
    /// A run is over.
    Ended(usize, Tried),
    /// A bench was looked at.
    Looked(usize, Look),
    /// A jig cannot be reached: why.
    Lost(usize, String),
    /// A jig cannot do what is wanted: what to change.
    Refused(usize, String),
    /// Something that somebody should know.
    Note(String),
    /// Nothing but time has passed.
    Time,
}

/// How far a run is.
#[derive(Clone, Debug, PartialEq)]
pub struct Progress {
    /// What is done now.
    pub words: String,
    /// How much of its time is over, 0 to 1.
    pub share: f64,
    /// How long it still takes.
    pub left: Duration,
}

/// What was found of a bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Look {
    /// The serial number of the jig.
    pub jig: String,
    /// Whether it is a simulated bench.
    pub simulated: bool,
    /// What is wrong with it.
    pub trouble: Option<String>,
}

/// Something that a station's jig is to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Order {
    /// Test itself.
    Check,
    /// Test the module that is seated.
    Run(Job),
    /// Tell when the button is pressed.
    WatchButton,
    /// Tell when the module has left.
    WatchSeat,
    /// Neither.
    Rest,
}

/// A module to be tested.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// Its serial.
    pub serial: String,
    /// Where the last module of the lot answered: its first address, and the format.
    pub asked_first: Option<(u16, String)>,
    /// The number of its last run; 0 where there was none.
    pub last_run: u32,
}
