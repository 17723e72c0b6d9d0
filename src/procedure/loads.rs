//! Loads: which switch connects them, and how they are driven past the module.

use super::bench::Bench;
use super::error::{BenchError, trips};
use super::orders;
use crate::link::client::micros;
use crate::script::plan::LoadChoice;
use crate::signal::target::Clamp;
use crate::wire::channel::{BYPASS, JIG_LOAD, LOAD_SWITCH};
use core::time::Duration;

/// Between two questions whether a load has rested.
const ASKED_EVERY: Duration = Duration::from_secs(1);

/// The switch that connects a load to its clamp.
pub fn load_switch(choice: LoadChoice, clamp: Clamp) -> u16 {
    clamp.channel(if choice == LoadChoice::Real { LOAD_SWITCH } else { JIG_LOAD })
}

impl Bench<'_> {
    /// Opens every switch and bypass of the loads that this jig has.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn open_loads(&mut self) -> Result<(), BenchError> {
        let of_loads = |&c: &u16| matches!(c, 301..=308 | 311..=318 | 321..=328);
        let switches: Vec<u16> =
            self.jig.channels().iter().map(|d| d.channel).filter(of_loads).collect();
        if switches.is_empty() { Ok(()) } else { self.send(&orders::open(&switches)) }
    }

    /// Connects loads to their clamps.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn close_loads(
        &mut self,
        choice: LoadChoice,
        clamps: impl Iterator<Item = Clamp>,
    ) -> Result<(), BenchError> {
        let switches: Vec<u16> = clamps.map(|c| load_switch(choice, c)).collect();
        if switches.is_empty() { Ok(()) } else { self.send(&orders::close(&switches)) }
    }

    /// Waits until every load has rested that the jig has switched off because it was on for as long as it
    /// may. `false`: that takes longer than `longest`.
    ///
    /// # Errors
    /// When somebody stops; else see [`Bench::send`].
    pub fn let_loads_rest(&mut self, longest: Duration) -> Result<bool, BenchError> {
        let begin_us = self.clock_us()?;
        while !self.jig.have_loads_rested()? {
            if self.clock_us()?.saturating_sub(begin_us) >= micros(longest) {
                return Ok(false);
            }
            self.pause(ASKED_EVERY)?;
        }
        Ok(true)
    }

    /// Drives the lead and the load of a clamp past the module. `false`: the load supply trips.
    ///
    /// # Errors
    /// When the jig refuses for another reason, or the line fails.
    pub fn drive_past_module(&mut self, clamp: Clamp) -> Result<bool, BenchError> {
        let bypass = [clamp.channel(BYPASS)];
        Ok(!trips(self.send(&(orders::LOADS_ON, orders::close(&bypass))))?)
    }
}
