//! The status lamp: what it draws from the rail as it blinks.

/// The lamp, or the two that light in turn.
#[derive(Clone, Debug)]
pub struct StatusLamp {
    lamp_a: f64,
    second_a: f64,
    duty: f64,
    hz: f64,
    lit: bool,
    next_us: u64,
}

impl StatusLamp {
    /// A dark lamp.
    pub fn new(lamp_a: f64, second_a: f64, duty: f64) -> Self {
        StatusLamp { lamp_a, second_a, duty, hz: 0.0, lit: false, next_us: u64::MAX }
    }

    /// Begins to blink, or goes on at another rate; a rate of zero is dark.
    pub fn blink(&mut self, hz: f64, now_us: u64) {
        if hz == self.hz {
            return;
        }
        self.hz = hz;
        if hz > 0.0 {
            self.next_us = self.next_us.min(now_us);
        } else {
            self.off();
        }
    }

    /// Whether it is lit; of two, the first.
    pub fn is_lit(&self) -> bool {
        self.lit
    }

    /// Goes dark.
    pub fn off(&mut self) {
        self.hz = 0.0;
        self.lit = false;
        self.next_us = u64::MAX;
    }

    /// When it changes next.
    pub fn next_us(&self) -> u64 {
        self.next_us
    }

    /// Changes when its time has come.
    pub fn turn(&mut self, now_us: u64) {
        if self.next_us > now_us {
            return;
        }
        self.lit = !self.lit;
        let share = if self.lit { self.duty } else { 1.0 - self.duty };
        self.next_us = now_us + ((share / self.hz * 1e6) as u64).max(1_000);
    }

    /// What it draws now, amperes.
    pub fn drawn_a(&self) -> f64 {
        match (self.hz > 0.0, self.lit) {
            (false, _) => 0.0,
            (true, true) => self.lamp_a,
            (true, false) => self.second_a,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blinks_at_its_rate_and_duty() {
        let mut lamp = StatusLamp::new(0.01, 0.0, 0.25);
        lamp.blink(2.0, 1_000);
        let mut changes = Vec::new();
        while lamp.next_us() < 2_000_000 {
            let now = lamp.next_us();
            lamp.turn(now);
            changes.push((now, lamp.drawn_a() > 0.0));
        }
        assert_eq!(changes[..3], [(1_000, true), (126_000, false), (501_000, true)]);
    }
}
