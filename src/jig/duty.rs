//! How long a load may be on, and how long it must then rest.

/// A bucket of heat: it fills while the load is on and drains while it is off.
#[derive(Clone, Copy, Debug)]
pub struct Duty {
    /// Longest time on, in microseconds; 0: no limit.
    on_us: u64,
    /// Rest after that, in microseconds.
    rest_us: u64,
    /// How full the bucket is, 0 to 1.
    heat: f64,
    /// Filled up, and not yet empty again.
    resting: bool,
}

impl Duty {
    /// Cold, with these limits.
    pub const fn new(on_us: u64, rest_us: u64) -> Self {
        Duty { on_us, rest_us, heat: 0.0, resting: false }
    }

    /// Longest time on and its rest, in microseconds.
    pub fn limits_us(&self) -> (u64, u64) {
        (self.on_us, self.rest_us)
    }

    /// Sets the limits; the load stays as warm as it is.
    pub fn set_limits_us(&mut self, on_us: u64, rest_us: u64) {
        self.on_us = on_us;
        if on_us > 0 {
            self.rest_us = rest_us;
        } else {
            self.resting = false;
        }
    }

    /// The share of its longest time on that it has used; 0 without a limit.
    pub fn share(&self) -> f64 {
        if self.on_us > 0 { self.heat.min(1.0) } else { 0.0 }
    }

    /// Whether the load may not be switched on now.
    pub fn is_resting(&self) -> bool {
        self.resting
    }

    /// Lets time pass with the load on or off; true when it has just become too long.
    pub fn advance(&mut self, time_us: u64, on: bool) -> bool {
        // Most are cold most of the time, and the jig's processor has no floating-point unit.
        if !on && self.heat == 0.0 {
            return false;
        }
        let time_us = time_us as f64;
        if on && self.on_us > 0 {
            self.heat += time_us / self.on_us as f64;
            // A microsecond's worth of rounding must not keep it waiting for ever.
            if self.heat >= 1.0 - 1e-9 && !self.resting {
                self.heat = 1.0;
                self.resting = true;
                return true;
            }
        } else if !on {
            let drained = if self.rest_us > 0 { time_us / self.rest_us as f64 } else { 1.0 };
            self.heat = (self.heat - drained).max(0.0);
            if self.heat <= 1e-9 {
                self.heat = 0.0;
                self.resting = false;
            }
        }
        false
    }

    /// In how many microseconds a load that stays on has been on for too long.
    pub fn time_left_us(&self) -> Option<u64> {
        (self.on_us > 0 && !self.resting)
            .then(|| ((1.0 - self.heat) * self.on_us as f64) as u64 + 1)
    }

    /// In how many microseconds a load that stays off has rested.
    pub fn rest_left_us(&self) -> Option<u64> {
        self.resting.then(|| (self.heat * self.rest_us as f64) as u64 + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fills_on_and_drains_off() {
        let mut duty = Duty::new(2_000_000, 4_000_000);
        assert!(!duty.advance(1_000_000, true));
        assert_eq!(duty.time_left_us(), Some(1_000_001));
        assert!(!duty.advance(2_000_000, false));
        assert_eq!(duty.time_left_us(), Some(2_000_001), "half of the rest drains half");
        assert!(duty.advance(2_000_000, true));
        assert!(duty.is_resting());
        assert!(!duty.advance(3_999_000, false));
        assert!(duty.is_resting());
        assert!(!duty.advance(1_000, false));
        assert!(!duty.is_resting());
    }

    #[test]
    fn without_a_limit_it_may_stay_on() {
        let mut duty = Duty::new(0, 0);
        assert!(!duty.advance(u64::MAX / 2, true));
        assert_eq!(duty.time_left_us(), None);
    }

    #[test]
    fn a_lifted_limit_does_not_cool_the_load() {
        let mut duty = Duty::new(1_000_000, 10_000_000);
        duty.advance(500_000, true);
        duty.set_limits_us(0, 0);
        duty.set_limits_us(1_000_000, 10_000_000);
        assert_eq!(duty.time_left_us(), Some(500_001));
    }
}
