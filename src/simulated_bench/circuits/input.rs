//! A value with what a converter sees of it: behind the filter at its input, and between the steps of an
//! integration.

/// Time constant of the filter, seconds: 16 kΩ and 1 nF before the converter of a current; the divider of
/// a voltage, 1 MΩ and 200 kΩ with 100 pF, is nearly the same (sheets `clamp`, `feed` and `converters`).
const FILTER_S: f64 = 16e-6;

/// After so long a filter has followed a jump, microseconds: four millionths of it are missing.
pub const FOLLOWED_US: u64 = 200;

/// A value, how steeply it went over the last step, and what stands behind the filter.
#[derive(Clone, Copy, Debug, Default)]
pub struct Input {
    /// At the end of the last step.
    pub value: f64,
    before: f64,
    slope: f64,
    /// Behind the filter, at the end of the last step.
    seen: f64,
}

impl Input {
    /// At rest.
    pub fn at(value: f64) -> Self {
        Input { value, before: value, slope: 0.0, seen: value }
    }

    /// So much later, along the chord of the last step.
    pub fn after(self, seconds: f64) -> f64 {
        self.value + self.slope * seconds
    }

    /// So much later, behind the filter.
    pub fn seen_after(self, seconds: f64) -> f64 {
        if seconds == 0.0 || self.seen == self.value && self.slope == 0.0 {
            return self.seen;
        }
        filtered(self.seen, self.value, self.slope, seconds)
    }

    /// So much later, how fast it changes, behind the filter: a single pole lags behind by what it follows
    /// with, so its rise is what is missing over its time constant.
    pub fn slope_seen_after(self, seconds: f64) -> f64 {
        (self.after(seconds) - self.seen_after(seconds)) / FILTER_S
    }

    /// A step of `h` seconds has led to the value.
    pub fn lean(&mut self, h: f64) {
        self.slope = (self.value - self.before) / h;
        self.seen = filtered(self.seen, self.before, self.slope, h);
        self.before = self.value;
    }

    /// A jump has led to the value; the filter has yet to follow.
    pub fn hold(&mut self) {
        self.slope = 0.0;
        self.before = self.value;
    }

    /// Nothing moves any more.
    pub fn settle(&mut self) {
        self.hold();
        self.seen = self.value;
    }
}

/// What a single pole makes of a straight line: where it stood, where the line begins, how steep it is, and
/// how much later.
fn filtered(seen: f64, from: f64, slope: f64, seconds: f64) -> f64 {
    let lag = slope * FILTER_S;
    from + slope * seconds - lag + (seen - from + lag) * (-seconds / FILTER_S).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed forms of a single pole: the rest of a jump falls by e in each time constant, and behind a
    /// ramp it stays back by one time constant (Hayt, Kemmerly: Engineering Circuit Analysis).
    #[test]
    fn a_jump_and_a_ramp() {
        let mut input = Input { value: 1.0, ..Input::default() };
        input.hold();
        for times in [0.5, 1.0, 3.0] {
            let left = 1.0 - input.seen_after(times * FILTER_S);
            assert!((left - f64::exp(-times)).abs() < 1e-12, "{left}");
        }
        input.settle();
        input.value = 3.0;
        input.lean(1e-3);
        assert!((input.value - input.seen - 2.0 / 1e-3 * FILTER_S).abs() < 1e-9);
        assert!((input.after(1e-4) - 3.2).abs() < 1e-12);
    }

    /// A jump of one, differentiated: e^(−t/τ)/τ, all of which adds up to one.
    #[test]
    fn what_charges_a_capacitor_is_seen_as_its_charge() {
        let mut input = Input { value: 1.0, ..Input::default() };
        input.hold();
        let every = 0.1e-6;
        let all: f64 = (0..4_000).map(|n| input.slope_seen_after(f64::from(n) * every)).sum();
        assert!((all * every - 1.0).abs() < 5e-3, "{}", all * every);
    }

    /// Many short steps lead where one long one does.
    #[test]
    fn steps_add_up() {
        let mut short = Input { seen: 0.3, ..Input::default() };
        let mut long = short;
        for i in 1..=50 {
            short.value = f64::from(i) * 0.02;
            short.lean(1e-6);
        }
        long.value = 1.0;
        long.lean(50e-6);
        assert!((short.seen - long.seen).abs() < 1e-12, "{short:?} {long:?}");
        let missing = 1.0 - {
            long.hold();
            long.seen_after(FOLLOWED_US as f64 * 1e-6)
        };
        assert!(missing.abs() < 4e-6);
    }
}
