//! The limit of a single clamp: what switches its load carries less than the load supply may give.

use super::board::Board;
use super::overload::PERIOD_US;
use super::sensor::Sensor;
use crate::wire::channel::{CLAMP_CURRENT, Description};

/// What the relay of one clamp may carry for any length of time, in amperes.
const LIMIT_A: f64 = 3.0;
/// Over about so long the current is averaged, in microseconds.
const DELAY_US: u64 = 100_000;
/// By so much one look moves the average.
const SHARE: f64 = PERIOD_US as f64 / DELAY_US as f64;

/// Watches the currents of all clamps.
#[derive(Debug)]
pub struct Clamps {
    sensors: [Option<Sensor>; 8],
    average_a: [f64; 8],
    limit_a: f64,
}

impl Clamps {
    /// Those of a board. `seen`: up to this share of a range an overload can be seen.
    pub fn new(channels: &[Description], seen: f64) -> Self {
        let sensors: [Option<Sensor>; 8] =
            core::array::from_fn(|at| Sensor::find(channels, CLAMP_CURRENT + at as u16));
        let limit_a = sensors
            .iter()
            .flatten()
            .fold(LIMIT_A, |limit, sensor| limit.min(seen * sensor.maximum()));
        Clamps { sensors, average_a: [0.0; 8], limit_a }
    }

    /// Forgets what was averaged: the supply has just been switched.
    pub fn clear(&mut self) {
        self.average_a = [0.0; 8];
    }

    /// Takes a look; true when one has carried too much for too long. No clamp carries more than all of
    /// them together: only where that is too much for one are they looked at one by one.
    pub fn look<B: Board>(&mut self, total_a: f64, board: &mut B) -> bool {
        let mut too_much = false;
        for (sensor, average_a) in self.sensors.iter().zip(&mut self.average_a) {
            let Some(sensor) = sensor else { continue };
            let now_a = if total_a > self.limit_a { sensor.read(board) } else { total_a };
            *average_a += SHARE * (now_a - *average_a);
            too_much |= *average_a > self.limit_a;
        }
        too_much
    }
}
