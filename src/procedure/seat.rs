//! Whether a module is seated in the jig, and whether somebody wants to start.

use super::bench::{Bench, RESISTANCES_TAKE};
use super::error::BenchError;
use super::orders;
use crate::link::error::LinkError;
use crate::wire::channel::{FEED_RESISTANCE, START_BUTTON};
use crate::wire::tree::query;

/// What is seen between the feed wires with everything off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seat {
    /// Something that conducts.
    Taken,
    /// Nothing.
    Empty,
    /// This jig cannot look.
    Unseen,
}

/// How often a start button was pressed so far; `None`: there is none, or the jig is too old to be asked.
pub type Presses = Option<u32>;

impl Bench<'_> {
    /// Looks whether a module is seated. Both supplies must be off.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn seat(&mut self) -> Result<Seat, BenchError> {
        let Some(highest) = self.channels().get(FEED_RESISTANCE).map(|d| d.maximum - d.scale)
        else {
            return Ok(Seat::Unseen);
        };
        let values = self.numbers(&orders::resistances(&[FEED_RESISTANCE]), RESISTANCES_TAKE)?;
        let conducts = values.iter().any(|&ohm| ohm <= highest);
        Ok(if conducts { Seat::Taken } else { Seat::Empty })
    }

    /// How often the start button was pressed. It is watched from the first question on, for as long as they come
    /// at least once a second.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn presses(&mut self) -> Result<Presses, BenchError> {
        if !self.has(START_BUTTON) {
            return Ok(None);
        }
        match self.jig.ask(&query::Button {}) {
            Ok(button) => Ok(Some(button.presses)),
            Err(LinkError::Refused { .. }) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }
}
