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
///
/// Voltages and currents are taken side by side. A resistance needs the test voltage to itself: one
/// channel after the other, and where it takes several ways, the lowest of them counts.
#[derive(Debug)]
pub struct Measurement {
    channels: Vec<Taken, CHANNELS_MAX>,
    /// Of resistances: which is measured, and in which way.
    tested: Option<(usize, u8)>,
    taken: u32,
    due_us: u64,
    complete: bool,
}

#[derive(Debug)]
struct Taken {
    sensor: Sensor,
    sum: i32,
    /// The lowest sum so far, of a resistance.
    lowest: i32,
}

impl Measurement {
    /// Begins now.
    pub fn new(channels: Vec<Sensor, CHANNELS_MAX>, now_us: u64) -> Self {
        Measurement {
            channels: channels
                .into_iter()
                .map(|sensor| Taken { sensor, sum: 0, lowest: i32::MAX })
                .collect(),
            tested: None,
            taken: 0,
            due_us: now_us + PERIOD_US,
            complete: false,
        }
    }

    /// Begins to measure resistances now; both supplies are off.
    pub fn of_resistances<B: Board>(
        channels: Vec<Sensor, CHANNELS_MAX>,
        now_us: u64,
        board: &mut B,
    ) -> Self {
        let mut measurement = Measurement::new(channels, now_us);
        measurement.connect(0, 0, now_us, board);
        measurement
    }

    /// Whether all has been taken.
    pub fn is_complete(&self) -> bool {
        self.complete
    }

    /// Takes what is due.
    pub fn poll<B: Board>(&mut self, now_us: u64, board: &mut B) {
        if self.complete || now_us < self.due_us {
            return;
        }
        let one = self.tested.map(|(at, _)| at);
        for (at, channel) in self.channels.iter_mut().enumerate() {
            if one.is_none_or(|one| one == at) {
                channel.sum += i32::from(board.sample(channel.sensor.channel()));
            }
        }
        self.taken += 1;
        self.due_us = now_us + PERIOD_US;
        if self.taken < SAMPLES {
            return;
        }
        match self.tested {
            None => self.complete = true,
            Some((at, way)) => {
                if let Some(channel) = self.channels.get_mut(at) {
                    channel.lowest = channel.lowest.min(channel.sum);
                    channel.sum = 0;
                }
                self.taken = 0;
                self.connect(at, way + 1, now_us, board);
            }
        }
    }

    /// Goes on with this way of this resistance, or with the next one; ends after the last.
    fn connect<B: Board>(&mut self, mut at: usize, mut way: u8, now_us: u64, board: &mut B) {
        while let Some(channel) = self.channels.get(at) {
            if let Some(settle_us) = board.connect_test(Some((channel.sensor.channel(), way))) {
                self.tested = Some((at, way));
                self.due_us = now_us + u64::from(settle_us) + PERIOD_US;
                return;
            }
            (at, way) = (at + 1, 0);
        }
        board.connect_test(None);
        self.taken = SAMPLES;
        self.complete = true;
    }

    /// When [`Measurement::poll`] has something to do next.
    pub fn wake_us(&self) -> u64 {
        if self.complete { u64::MAX } else { self.due_us }
    }

    /// The means, in the order in which they were asked for.
    pub fn values(&self) -> impl Iterator<Item = f64> + '_ {
        let taken = f64::from(self.taken.max(1));
        self.channels.iter().map(move |channel| {
            let sum = if self.tested.is_some() { channel.lowest } else { channel.sum };
            channel.sensor.value(f64::from(sum) / taken)
        })
    }
}
