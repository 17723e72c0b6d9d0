//! The two supplies: soft start, trips, polarity.

use super::board::{Board, FeedDrive, Supply};
use super::clamps::Clamps;
use super::overload::{self, Overload};
use super::sensor::Sensor;
use crate::wire::CHARGE_PERIOD_US;
use crate::wire::channel::{FEED_CURRENT, LOAD_TOTAL};
use crate::wire::error::{Error, ErrorCode};
use crate::wire::refusal::Refusal;
use core::ops::RangeInclusive;

/// Limit of the soft start after reset, in amperes.
pub const LIMIT_A: f64 = 0.25;
/// Overload of the feed after reset: amperes, microseconds.
pub const FEED_OVERLOAD: (f64, u64) = (1.0, 100_000);
/// Overload of the load supply after reset: amperes, microseconds.
pub const LOADS_OVERLOAD: (f64, u64) = (4.0, 100_000);
/// Overload of the feed that may be set, in amperes.
const FEED_LEVELS_A: (f64, f64) = (0.05, 3.0);
/// Overload of the load supply that may be set, in amperes.
const LOADS_LEVELS_A: (f64, f64) = (0.1, 10.0);
/// Share of a sensor's range up to which an overload can be seen: at its end all currents read alike.
const SEEN_SHARE: f64 = 0.95;
/// The soft start ends when the current has stayed below this share of the limit …
const SETTLED_SHARE: f64 = 0.8;
/// … for so long, in microseconds.
const SETTLED_US: u64 = 10_000;
/// A soft start that takes longer than this trips, in microseconds.
const START_MAX_US: u64 = 1_500_000;

/// What the last soft start took.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Charge {
    /// Charge that went into the module, in coulombs.
    pub charge_c: f64,
    /// From switching on to the end of the soft start, in microseconds.
    pub duration_us: u64,
    /// Whether it ended well.
    pub done: bool,
    /// The largest change of the current between two looks, in amperes: what it did between them is
    /// open by so much.
    pub step_a: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Feed {
    Off,
    /// `current_a` is what the last look has read; none before the first.
    Starting {
        began_us: u64,
        looked_us: u64,
        current_a: Option<f64>,
        settled_since_us: Option<u64>,
    },
    On,
}

/// The state of both supplies.
#[derive(Debug)]
pub struct Power {
    feed: Feed,
    loads_on: bool,
    inverted: bool,
    limit_a: f64,
    charge: Charge,
    feed_tripped: bool,
    loads_tripped: bool,
    feed_overload: Overload,
    loads_overload: Overload,
    look_us: u64,
    clamps: Clamps,
    feed_current: Option<Sensor>,
    loads_current: Option<Sensor>,
}

impl Power {
    /// Everything off, settings as after reset.
    pub fn new<B: Board>(board: &mut B) -> Self {
        let mut power = Power {
            feed: Feed::Off,
            loads_on: false,
            inverted: false,
            limit_a: LIMIT_A,
            charge: Charge::default(),
            feed_tripped: false,
            loads_tripped: false,
            feed_overload: Overload::new(FEED_OVERLOAD.0, FEED_OVERLOAD.1),
            loads_overload: Overload::new(LOADS_OVERLOAD.0, LOADS_OVERLOAD.1),
            look_us: 0,
            clamps: Clamps::new(board.channels(), SEEN_SHARE),
            feed_current: Sensor::find(board.channels(), FEED_CURRENT),
            loads_current: Sensor::find(board.channels(), LOAD_TOTAL),
        };
        power.all_off(board);
        power.reset_settings(board);
        power
    }

    /// Settings as after reset. Trips stay: they are no setting. All must be off.
    pub fn reset_settings<B: Board>(&mut self, board: &mut B) {
        self.inverted = false;
        board.set_inverted(false);
        self.set_limit_a(board, LIMIT_A);
        self.feed_overload = Overload::new(self.preset_level_a(Supply::Feed), FEED_OVERLOAD.1);
        self.loads_overload = Overload::new(self.preset_level_a(Supply::Loads), LOADS_OVERLOAD.1);
        self.charge = Charge::default();
    }

    /// Whether a supply is on; the feed also while it starts softly.
    pub fn is_on(&self, supply: Supply) -> bool {
        match supply {
            Supply::Feed => self.feed != Feed::Off,
            Supply::Loads => self.loads_on,
        }
    }

    /// Whether the soft start runs.
    pub fn is_starting(&self) -> bool {
        matches!(self.feed, Feed::Starting { .. })
    }

    /// Whether a supply has tripped.
    pub fn is_tripped(&self, supply: Supply) -> bool {
        match supply {
            Supply::Feed => self.feed_tripped,
            Supply::Loads => self.loads_tripped,
        }
    }

    /// Whether the wires of the feed are swapped.
    pub fn is_inverted(&self) -> bool {
        self.inverted
    }

    /// What the last soft start took.
    pub fn charge(&self) -> Charge {
        self.charge
    }

    /// Limit of the soft start, in amperes.
    pub fn limit_a(&self) -> f64 {
        self.limit_a
    }

    /// Sets the limit of the soft start.
    pub fn set_limit_a<B: Board>(&mut self, board: &mut B, limit_a: f64) {
        self.limit_a = limit_a;
        board.set_soft_start_limit((limit_a * 1e6 + 0.5) as u32);
    }

    /// The slow cut-off of a supply.
    pub fn overload(&mut self, supply: Supply) -> &mut Overload {
        match supply {
            Supply::Feed => &mut self.feed_overload,
            Supply::Loads => &mut self.loads_overload,
        }
    }

    /// Levels of the slow cut-off that may be set, in amperes: no higher than the sensor tells.
    pub fn levels_a(&self, supply: Supply) -> RangeInclusive<f64> {
        let ((lowest, highest), sensor) = match supply {
            Supply::Feed => (FEED_LEVELS_A, &self.feed_current),
            Supply::Loads => (LOADS_LEVELS_A, &self.loads_current),
        };
        let seen = sensor.map_or(f64::INFINITY, |sensor| SEEN_SHARE * sensor.maximum());
        lowest..=highest.min(seen)
    }

    /// The level of the slow cut-off after reset, in amperes.
    pub fn preset_level_a(&self, supply: Supply) -> f64 {
        let preset = match supply {
            Supply::Feed => FEED_OVERLOAD.0,
            Supply::Loads => LOADS_OVERLOAD.0,
        };
        preset.min(*self.levels_a(supply).end())
    }

    /// Switches a supply on; nothing happens when it is on already.
    ///
    /// # Errors
    /// A latched trip, an open interlock, or no sensor to watch the supply with.
    pub fn switch_on<B: Board>(
        &mut self,
        supply: Supply,
        now_us: u64,
        board: &mut B,
    ) -> Result<(), Error> {
        if self.is_tripped(supply) || board.cut_off(supply) {
            return Err(match supply {
                Supply::Feed => Refusal::FeedTripped.into(),
                Supply::Loads => Refusal::LoadsTripped.into(),
            });
        }
        if board.interlock() {
            return Err(Refusal::InterlockOpen.into());
        }
        if self.is_on(supply) {
            return Ok(());
        }
        let sensor = match supply {
            Supply::Feed => self.feed_current,
            Supply::Loads => self.loads_current,
        };
        if sensor.is_none() {
            return Err(ErrorCode::HardwareMissing.because("no current sensor"));
        }
        self.overload(supply).clear();
        if !self.is_on(Supply::Feed) && !self.is_on(Supply::Loads) {
            self.look_us = now_us + overload::PERIOD_US;
        }
        match supply {
            Supply::Feed => {
                self.charge = Charge::default();
                board.set_feed(FeedDrive::Limited);
                self.feed = Feed::Starting {
                    began_us: now_us,
                    looked_us: now_us,
                    current_a: None,
                    settled_since_us: None,
                };
            }
            Supply::Loads => {
                self.clamps.clear();
                self.loads_on = true;
                board.set_load_supply(true);
            }
        }
        Ok(())
    }

    /// Switches a supply off.
    pub fn switch_off<B: Board>(&mut self, supply: Supply, board: &mut B) {
        match supply {
            Supply::Feed => {
                self.feed = Feed::Off;
                board.set_feed(FeedDrive::Off);
            }
            Supply::Loads => {
                self.loads_on = false;
                board.set_load_supply(false);
            }
        }
    }

    /// Switches both supplies off.
    pub fn all_off<B: Board>(&mut self, board: &mut B) {
        self.switch_off(Supply::Feed, board);
        self.switch_off(Supply::Loads, board);
    }

    /// Swaps the wires of the feed.
    ///
    /// # Errors
    /// 105 unless the feed is off.
    pub fn set_inverted<B: Board>(&mut self, inverted: bool, board: &mut B) -> Result<(), Error> {
        if self.feed != Feed::Off {
            return Err(Refusal::FeedOn.into());
        }
        self.inverted = inverted;
        board.set_inverted(inverted);
        Ok(())
    }

    /// Clears the trip of a supply; it stays off. All trips have been taken note of before, since the
    /// hardware lets go of both supplies: what it has cut off must be off without it.
    pub fn clear_trip<B: Board>(&mut self, supply: Supply, board: &mut B) {
        board.clear_cut_off();
        match supply {
            Supply::Feed => self.feed_tripped = false,
            Supply::Loads => self.loads_tripped = false,
        }
    }

    /// Looks after both supplies; tells of a trip when there is one. The tripped supply is off
    /// then, and with the feed the load supply too.
    pub fn poll<B: Board>(&mut self, now_us: u64, board: &mut B) -> Option<Supply> {
        if let Some(supply) = self.take_note(board) {
            return Some(supply);
        }
        if self.start_fails(now_us, board) {
            self.trip(Supply::Feed, board);
            return Some(Supply::Feed);
        }
        if now_us < self.look_us || !(self.feed != Feed::Off || self.loads_on) {
            return None;
        }
        self.look_us = now_us + overload::PERIOD_US;
        if self.feed == Feed::On
            && let Some(sensor) = self.feed_current
            && self.feed_overload.add(sensor.read(board))
        {
            self.trip(Supply::Feed, board);
            return Some(Supply::Feed);
        }
        if self.loads_on
            && let Some(sensor) = self.loads_current
        {
            let total_a = sensor.read(board);
            if self.loads_overload.add(total_a) | self.clamps.look(total_a, board) {
                self.trip(Supply::Loads, board);
                return Some(Supply::Loads);
            }
        }
        None
    }

    /// Takes note of a trip of the hardware; tells of one at a time. See [`Power::poll`].
    pub fn take_note<B: Board>(&mut self, board: &mut B) -> Option<Supply> {
        let supply = Supply::ALL
            .into_iter()
            .find(|&supply| !self.is_tripped(supply) && board.cut_off(supply))?;
        self.trip(supply, board);
        Some(supply)
    }

    /// When [`Power::poll`] has something to do next.
    pub fn wake_us(&self) -> u64 {
        let looks = if self.feed != Feed::Off || self.loads_on { self.look_us } else { u64::MAX };
        match self.feed {
            Feed::Starting { looked_us, .. } => looks.min(looked_us + CHARGE_PERIOD_US),
            _ => looks,
        }
    }

    /// One look of the soft start; true when it has taken too long. The charge is added up by the
    /// trapezoidal rule.
    fn start_fails<B: Board>(&mut self, now_us: u64, board: &mut B) -> bool {
        let (Feed::Starting { began_us, looked_us, current_a, settled_since_us }, Some(sensor)) =
            (self.feed, self.feed_current)
        else {
            return false;
        };
        if now_us < looked_us + CHARGE_PERIOD_US {
            return false;
        }
        let before_a = current_a;
        let current_a = sensor.read(board);
        // It flows from the order on; a channel behind a filter would not see it at once.
        let before_a = before_a.unwrap_or(current_a);
        let between_s = (now_us - looked_us) as f64 * 1e-6;
        self.charge.charge_c += 0.5 * (before_a + current_a) * between_s;
        self.charge.step_a = self.charge.step_a.max((current_a - before_a).abs());
        self.charge.duration_us = now_us - began_us;
        let settled_since_us = (current_a < SETTLED_SHARE * self.limit_a)
            .then_some(settled_since_us.unwrap_or(now_us));
        if settled_since_us.is_some_and(|since_us| now_us - since_us >= SETTLED_US) {
            self.charge.done = true;
            self.feed = Feed::On;
            self.feed_overload.clear();
            board.set_feed(FeedDrive::Full);
            return false;
        }
        let current_a = Some(current_a);
        self.feed = Feed::Starting { began_us, looked_us: now_us, current_a, settled_since_us };
        now_us - began_us >= START_MAX_US
    }

    fn trip<B: Board>(&mut self, supply: Supply, board: &mut B) {
        self.switch_off(Supply::Loads, board);
        match supply {
            Supply::Feed => {
                self.switch_off(Supply::Feed, board);
                self.feed_tripped = true;
            }
            Supply::Loads => self.loads_tripped = true,
        }
    }
}
