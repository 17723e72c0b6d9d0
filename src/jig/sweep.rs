//! The settings of a capture.

use super::sensor::{describe, is_sampled};
use crate::wire::channel::Description;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::preamble::SCAN_MAX;
use crate::wire::refusal::Refusal;
use crate::wire::words::TriggerSource;
use heapless::Vec;

/// The settings of a capture; they hold from the next `INITiate` on.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    /// The channels of a scan, in order.
    pub channels: Vec<u16, SCAN_MAX>,
    /// Points in all.
    pub points: u32,
    /// Time between points, in microseconds.
    pub interval_us: u32,
    /// How many of the points lie before the trigger.
    pub before: u32,
    /// Conversions averaged into one point.
    pub average: u16,
    /// What triggers.
    pub source: TriggerSource,
}

impl Sweep {
    /// As after reset: no channels, 100 points 1 ms apart, triggered at once.
    pub const fn new() -> Self {
        Sweep {
            channels: Vec::new(),
            points: 100,
            interval_us: 1_000,
            before: 0,
            average: 1,
            source: TriggerSource::Immediate,
        }
    }

    /// Time between conversions, in microseconds.
    pub fn conversion_us(&self) -> u32 {
        self.interval_us / u32::from(self.average)
    }

    /// How many points fit into a memory of so many counts.
    pub fn points_max(&self, memory: usize) -> u32 {
        (memory / self.channels.len().max(1)) as u32
    }

    /// Whether the settings go together and the board can follow them.
    ///
    /// # Errors
    /// A [`Refusal`] where two settings do not go together, conversions would fall between those of
    /// the board, or the memory is too small; -222 for an unknown channel or a rate beyond the
    /// board's.
    pub fn check(&self, channels: &[Description], memory: usize) -> Result<(), Error> {
        if self.channels.is_empty() {
            return Err(Refusal::NothingToScan.into());
        }
        if self.points > self.points_max(memory) {
            return Err(Refusal::CaptureTooLong.into());
        }
        if self.before >= self.points {
            return Err(Refusal::NothingAfterTrigger.into());
        }
        if !self.interval_us.is_multiple_of(u32::from(self.average)) {
            return Err(Refusal::IntervalNotOfAverage.into());
        }
        for &channel in &self.channels {
            let described = describe(channels, channel).filter(|d| is_sampled(d.kind));
            let fastest_us = described.ok_or(UNKNOWN)?.interval_us;
            if self.conversion_us() < fastest_us {
                return Err(ErrorCode::DataOutOfRange.because("faster than the channel"));
            }
            if fastest_us > 0 && !self.conversion_us().is_multiple_of(fastest_us) {
                return Err(Refusal::IntervalNotOfChannel.into());
            }
        }
        Ok(())
    }
}

impl Default for Sweep {
    fn default() -> Self {
        Sweep::new()
    }
}

/// A channel that the board does not have, or cannot sample.
pub const UNKNOWN: Error = ErrorCode::DataOutOfRange.because("no such channel to scan");
