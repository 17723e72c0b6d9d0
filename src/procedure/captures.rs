//! Captures: set up so that they fit, waited for, fetched.

use super::bench::Bench;
use super::error::BenchError;
use super::samples;
use crate::link::capture::{CaptureSetup, Captured, Trigger};
use crate::link::client::micros;
use crate::measure::record::Record;
use crate::wire::preamble::State;
use crate::wire::{FAST_COUNTS, WATCH_COUNTS};
use core::time::Duration;

/// The capture unit for whatever is fast.
pub const FAST: u8 = 1;
/// The capture unit that watches slowly while the other one works.
pub const WATCH: u8 = 2;

/// How long a capture may take beyond its reckoned end.
const PATIENCE: Duration = Duration::from_millis(500);
/// Between two questions whether it has ended.
const ASKED_EVERY: Duration = Duration::from_millis(2);

/// Time between the points of a steady signal, and the conversions averaged into each: the mean
/// runs over many whole idle packets.
const STEADY_INTERVAL_US: u32 = 1_000;
/// Conversions averaged into a point of a steady signal.
pub const STEADY_AVERAGE: u16 = 5;
/// The fewest points of which a mean is made.
const STEADY_LEAST: u64 = 20;

/// Counts that the jig holds for a capture unit.
pub const fn memory(unit: u8) -> u32 {
    if unit == WATCH { WATCH_COUNTS as u32 } else { FAST_COUNTS as u32 }
}

/// Widens the time between scans until a capture fits the jig's memory.
pub fn fit(setup: CaptureSetup, unit: u8) -> CaptureSetup {
    let room = memory(unit) / setup.scan.len().max(1) as u32;
    if setup.points <= room {
        return setup;
    }
    let wider = setup.points.div_ceil(room);
    CaptureSetup {
        interval_us: setup.interval_us * wider,
        points: setup.points / wider,
        pre_trigger: setup.pre_trigger / wider,
        ..setup
    }
}

impl Bench<'_> {
    /// Sets a capture up and arms it.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn arm(&mut self, unit: u8, setup: &CaptureSetup) -> Result<(), BenchError> {
        Ok(self.jig.capture(unit, setup)?)
    }

    /// Waits for a capture that ends at `end_us`, and fetches it. One of the fast unit ends early
    /// when a supply trips: that is told. Any other early end is the bench's, and nothing is read
    /// out of what is left. (The watch is ended by whoever began it.)
    ///
    /// # Errors
    /// When the capture does not end or ends early, somebody stops, or the line fails.
    pub fn fetch(&mut self, unit: u8, end_us: u64) -> Result<Captured, BenchError> {
        self.wait_until(end_us)?;
        loop {
            match self.jig.capture_state(unit)?.state {
                State::Done => break,
                State::Aborted => {
                    if unit == FAST && !self.trips()?.supplies() {
                        return Err(BenchError::CaptureCutShort);
                    }
                    break;
                }
                _ => {}
            }
            if self.clock_us()? > end_us + micros(PATIENCE) {
                return Err(BenchError::CaptureGoesOn { unit });
            }
            self.pause(ASKED_EVERY)?;
        }
        Ok(self.jig.fetch(unit)?)
    }

    /// Samples channels over a window in which they are steady.
    ///
    /// # Errors
    /// See [`Bench::fetch`].
    pub fn sample(&mut self, scan: Vec<u16>, window: Duration) -> Result<Record, BenchError> {
        let points = (micros(window) / u64::from(STEADY_INTERVAL_US)).max(STEADY_LEAST);
        let setup = CaptureSetup {
            scan,
            interval_us: STEADY_INTERVAL_US,
            points: points as u32,
            pre_trigger: 0,
            average: STEADY_AVERAGE,
            trigger: Trigger::Immediate,
        };
        self.arm(FAST, &fit(setup, FAST))?;
        let began_us = self.clock_us()?;
        let captured = self.fetch(FAST, began_us + points * u64::from(STEADY_INTERVAL_US))?;
        Ok(samples::record(&self.channels(), &captured))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn setup(channels: usize, points: u32) -> CaptureSetup {
        CaptureSetup {
            scan: (1..=channels as u16).collect(),
            interval_us: 200,
            points,
            pre_trigger: points / 4,
            average: 1,
            trigger: Trigger::Immediate,
        }
    }

    #[test]
    fn what_fits_stays_as_it_is() {
        let small = setup(8, 500);
        assert_eq!(fit(small.clone(), FAST), small);
    }

    proptest! {
        #[test]
        fn whatever_is_asked_for_fits_and_lasts_no_longer(channels in 1usize..=16, points in 1u32..200_000) {
            let asked = setup(channels, points);
            let fits = fit(asked.clone(), WATCH);
            prop_assert!(fits.points * channels as u32 <= memory(WATCH));
            prop_assert!(fits.pre_trigger <= fits.points);
            let lasts = |s: &CaptureSetup| u64::from(s.points) * u64::from(s.interval_us);
            prop_assert!(lasts(&fits) <= lasts(&asked));
            prop_assert!(lasts(&asked) - lasts(&fits) < u64::from(fits.interval_us));
        }
    }
}
