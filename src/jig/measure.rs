//! Means over a short while, for `MEASure`.

use super::board::Board;
use super::sensor::Sensor;
use heapless::Vec;

/// The most channels of one query.
pub const CHANNELS_MAX: usize = 32;
/// Conversions of each channel: a mean over 20 ms, a whole period of 50 Hz.
const SAMPLES: u32 = 20;
const PERIOD_US: u64 = 1_000;

/// A measurement that goes on.
#[derive(Debug)]
pub struct Measurement {
    channels: Vec<(Sensor, i32), CHANNELS_MAX>,
    taken: u32,
    due_us: u64,
}

impl Measurement {
    /// Begins now.
    pub fn new(channels: Vec<Sensor, CHANNELS_MAX>, now_us: u64) -> Self {
        Measurement {
            channels: channels.into_iter().map(|sensor| (sensor, 0)).collect(),
            taken: 0,
            due_us: now_us + PERIOD_US,
        }
    }

    /// Whether all has been taken.
    pub fn is_complete(&self) -> bool {
        self.taken == SAMPLES
    }

    /// Takes what is due.
    pub fn poll<B: Board>(&mut self, now_us: u64, board: &mut B) {
        if self.taken < SAMPLES && now_us >= self.due_us {
            for (sensor, sum) in &mut self.channels {
                *sum += i32::from(board.sample(sensor.channel()));
            }
            self.taken += 1;
            self.due_us = now_us + PERIOD_US;
        }
    }

    /// When [`Measurement::poll`] has something to do next.
    pub fn wake_us(&self) -> u64 {
        if self.is_complete() { u64::MAX } else { self.due_us }
    }

    /// The means, in the order in which they were asked for.
    pub fn values(&self) -> impl Iterator<Item = f64> + '_ {
        let taken = f64::from(self.taken.max(1));
        self.channels.iter().map(move |(sensor, sum)| sensor.value(f64::from(*sum) / taken))
    }
}
