//! Feed and load supply.

use super::bench::Bench;
use super::error::{BenchError, trips};
use super::orders;
use crate::signal::target::Format;
use core::time::Duration;

/// Feed off for so long, that the module's reservoir has run down.
pub const RUN_DOWN: Duration = Duration::from_millis(1_000);

/// What the jig says of the last soft start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StartCharge {
    /// The charge, coulombs.
    pub coulomb: f64,
    /// How long it was added up, seconds.
    pub time_s: f64,
    /// By how much the current may change between two looks of the jig, amperes.
    pub step_a: f64,
    /// The limit of the current, amperes.
    pub limit_a: f64,
}

impl Bench<'_> {
    /// Turns the feed off.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn feed_off(&mut self) -> Result<(), BenchError> {
        self.send(&orders::FEED_OFF)
    }

    /// Has the feed rest between commands as a format wants it.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn rest_in(&mut self, format: Format) -> Result<(), BenchError> {
        self.send(&orders::rest_in(format))
    }

    /// Turns the load supply on. `false`: it trips at once.
    ///
    /// # Errors
    /// When the jig refuses for another reason, or the line fails.
    pub fn load_supply_on(&mut self) -> Result<bool, BenchError> {
        Ok(!trips(self.send(&orders::LOADS_ON))?)
    }

    /// Turns the load supply off.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn load_supply_off(&mut self) -> Result<(), BenchError> {
        self.send(&orders::LOADS_OFF)
    }

    /// What went into the module in the last soft start.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn start_charge(&mut self) -> Result<StartCharge, BenchError> {
        let (start, limit) = self.jig.ask(&orders::START_CHARGE)?;
        let (coulomb, time_s, limit_a) = (start.charge_c, start.duration_s, limit.0);
        Ok(StartCharge { coulomb, time_s, step_a: start.step_a, limit_a })
    }
}
