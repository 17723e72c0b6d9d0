//! The slow cut-off of a supply: a moving average of its current.

use heapless::Deque;

/// How often a supply's current is looked at, in microseconds.
pub const PERIOD_US: u64 = 5_000;
/// The longest delay: as many periods as are kept.
pub const DELAY_MAX_US: u64 = PERIOD_US * KEPT as u64;
/// The shortest delay.
pub const DELAY_MIN_US: u64 = PERIOD_US;

const KEPT: usize = 200;

/// Averages a supply's current over the delay and tells when the average is above the level.
#[derive(Debug)]
pub struct Overload {
    /// Above this average it trips, in amperes.
    pub level_a: f64,
    delay_us: u64,
    kept: Deque<f32, KEPT>,
    sum_a: f64,
}

impl Overload {
    /// With nothing averaged yet.
    pub const fn new(level_a: f64, delay_us: u64) -> Self {
        Overload { level_a, delay_us, kept: Deque::new(), sum_a: 0.0 }
    }

    /// The delay, in microseconds.
    pub const fn delay_us(&self) -> u64 {
        self.delay_us
    }

    /// Sets the delay, held within [`DELAY_MIN_US`] and [`DELAY_MAX_US`].
    pub fn set_delay_us(&mut self, delay_us: u64) {
        self.delay_us = delay_us.clamp(DELAY_MIN_US, DELAY_MAX_US);
        while self.kept.len() > self.window() {
            self.drop_oldest();
        }
    }

    /// Forgets what was averaged: the supply has just been switched.
    pub fn clear(&mut self) {
        self.kept.clear();
        self.sum_a = 0.0;
    }

    /// Takes the current of one more period in; true when the average over the whole delay is above
    /// the level.
    pub fn add(&mut self, current_a: f64) -> bool {
        if self.kept.len() == self.window() {
            self.drop_oldest();
        }
        let current = current_a as f32;
        if self.kept.push_back(current).is_ok() {
            self.sum_a += f64::from(current);
        }
        self.kept.len() == self.window() && self.sum_a > self.level_a * self.kept.len() as f64
    }

    fn window(&self) -> usize {
        (self.delay_us / PERIOD_US) as usize
    }

    fn drop_oldest(&mut self) {
        self.sum_a -= self.kept.pop_front().map_or(0.0, f64::from);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn trips_when_the_average_of_the_whole_delay_is_above() {
        let mut overload = Overload::new(1.0, 100_000);
        for period in 1..20 {
            assert!(!overload.add(2.0), "period {period}: not yet the whole delay");
        }
        assert!(overload.add(2.0));
    }

    #[test]
    fn a_short_peak_does_not_trip() {
        let mut overload = Overload::new(1.0, 100_000);
        for _ in 0..19 {
            assert!(!overload.add(0.5));
        }
        assert!(!overload.add(10.0), "average 0.975");
        assert!(!overload.add(0.5));
        assert!(overload.add(2.0), "average 1.05");
    }

    #[test]
    fn a_shorter_delay_forgets_the_oldest() {
        let mut overload = Overload::new(1.0, 1_000_000);
        for _ in 0..100 {
            overload.add(5.0);
        }
        overload.set_delay_us(10_000);
        assert!(overload.add(5.0));
        assert!(!overload.add(0.0) || !overload.add(0.0));
    }
}
