//! How warm the module is: it warms up while it has power, and cools down without.

/// Time constant, seconds: that of a small relay on a board (common practice, no source).
const TAU_S: f64 = 60.0;

/// Its warmth: 0 is cold, 1 as warm as it gets.
#[derive(Clone, Copy, Debug, Default)]
pub struct Warmth {
    share: f64,
    at_us: u64,
}

impl Warmth {
    /// Time has passed up to now, with power all the while or without.
    pub fn pass(&mut self, now_us: u64, powered: bool) {
        let end = if powered { 1.0 } else { 0.0 };
        let passed_s = now_us.saturating_sub(self.at_us) as f64 * 1e-6;
        self.share = end + (self.share - end) * (-passed_s / TAU_S).exp();
        self.at_us = now_us;
    }

    /// How warm it was then.
    pub fn share(&self) -> f64 {
        self.share
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A body with one heat capacity and one way out (any textbook of heat transfer: lumped capacitance):
    /// 63 % after one time constant; and it makes no difference how the time is cut up.
    #[test]
    fn warms_and_cools_as_a_body_does() {
        let (mut warmth, mut in_parts) = (Warmth::default(), Warmth::default());
        warmth.pass(60_000_000, true);
        (1..=6).for_each(|n| in_parts.pass(n * 10_000_000, true));
        assert!((warmth.share() - (1.0 - (-1.0_f64).exp())).abs() < 1e-12);
        assert!((in_parts.share() - warmth.share()).abs() < 1e-12);
        warmth.pass(180_000_000, false);
        assert!((warmth.share() - (1.0 - (-1.0_f64).exp()) * (-2.0_f64).exp()).abs() < 1e-12);
    }
}
