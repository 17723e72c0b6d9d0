//! Means over a short while, for `MEASure`.

use super::board::Board;
use super::sensor::{End, Sensor};
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
    /// The test voltage has been taken away: complete when it is gone.
    leaves: bool,
    complete: bool,
}

#[derive(Debug)]
struct Taken {
    sensor: Sensor,
    sum: i32,
    /// The lowest sum so far, of a resistance.
    lowest: i32,
    /// A conversion was cut off at this end.
    cut_off: Option<End>,
}

impl Measurement {
    /// Begins now.
    pub fn new(channels: Vec<Sensor, CHANNELS_MAX>, now_us: u64) -> Self {
        Measurement {
            channels: channels
                .into_iter()
                .map(|sensor| Taken { sensor, sum: 0, lowest: i32::MAX, cut_off: None })
                .collect(),
            tested: None,
            taken: 0,
            due_us: now_us + PERIOD_US,
            leaves: false,
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
        if self.leaves {
            self.complete = true;
            return;
        }
        let one = self.tested.map(|(at, _)| at);
        for (at, channel) in self.channels.iter_mut().enumerate() {
            if one.is_none_or(|one| one == at) {
                let counts = board.sample(channel.sensor.channel());
                channel.sum += i32::from(counts);
                channel.cut_off = channel.cut_off.or(channel.sensor.ends().touched(counts));
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
        let leaves_us = board.connect_test(None).unwrap_or(0);
        self.taken = SAMPLES;
        self.leaves = true;
        self.due_us = now_us + u64::from(leaves_us);
        self.complete = leaves_us == 0;
    }

    /// When [`Measurement::poll`] has something to do next.
    pub fn wake_us(&self) -> u64 {
        if self.complete { u64::MAX } else { self.due_us }
    }

    /// The means, in the order in which they were asked for. A voltage or a current of which a conversion was
    /// cut off is not known but to be beyond its range.
    pub fn values(&self) -> impl Iterator<Item = f64> + '_ {
        let taken = f64::from(self.taken.max(1));
        self.channels.iter().map(move |channel| match (self.tested, channel.cut_off) {
            (Some(_), _) => channel.sensor.value(f64::from(channel.lowest) / taken),
            (None, None) => channel.sensor.value(f64::from(channel.sum) / taken),
            (None, Some(End::Top)) => f64::INFINITY,
            (None, Some(End::Bottom)) => f64::NEG_INFINITY,
        })
    }
}
