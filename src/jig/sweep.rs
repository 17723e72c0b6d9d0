//! The settings of a capture.

use super::sensor::{describe, is_sampled};
use crate::wire::channel::Description;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::preamble::SCAN_MAX;
use heapless::Vec;

/// What triggers a capture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// Arming it.
    Immediate,
    /// The end of the next command.
    Sent,
    /// The beginning of the next timed contact closure.
    Contact,
    /// `TRIGger`.
    Bus,
}

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
    pub source: Source,
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
            source: Source::Immediate,
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
    /// -221 where two settings do not go together, or conversions would fall between those of the
    /// board; -222 for an unknown channel or a rate beyond the
    /// board's, -225 where the memory is too small.
    pub fn check(&self, channels: &[Description], memory: usize) -> Result<(), Error> {
        if self.channels.is_empty() {
            return Err(ErrorCode::SettingsConflict.because("no channels to scan"));
        }
        if self.points > self.points_max(memory) {
            return Err(ErrorCode::OutOfMemory.because("fewer points or channels"));
        }
        if self.before >= self.points {
            return Err(ErrorCode::SettingsConflict.because("no points after the trigger"));
        }
        if !self.interval_us.is_multiple_of(u32::from(self.average)) {
            return Err(
                ErrorCode::SettingsConflict.because("interval is no multiple of the average")
            );
        }
        for &channel in &self.channels {
            let described = describe(channels, channel).filter(|d| is_sampled(d.kind));
            let fastest_us = described.ok_or(UNKNOWN)?.interval_us;
            if self.conversion_us() < fastest_us {
                return Err(ErrorCode::DataOutOfRange.because("faster than the channel"));
            }
            if fastest_us > 0 && !self.conversion_us().is_multiple_of(fastest_us) {
                return Err(
                    ErrorCode::SettingsConflict.because("no multiple of the channel's interval")
                );
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
pub const UNKNOWN: Error =
    Error { code: ErrorCode::DataOutOfRange, detail: "no such channel to scan" };
