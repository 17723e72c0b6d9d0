//! Small motor: a resistance and a back-EMF that follows the speed.

use super::element::{Affine, Element};
use super::kind::{
    LoadKind,
    Scales::{Grows, Stays},
};
use core::f64::consts::LN_2;

/// The kind.
pub const KIND: LoadKind = LoadKind {
    name: "motor",
    values: &[
        ("start_current", Grows),
        ("run_current", Grows),
        ("at_voltage", Stays),
        ("run_up", Stays),
    ],
    make: |values| Box::new(Motor::new(values[0], values[1], values[2], values[3])),
};

/// The motor.
#[derive(Clone, Debug)]
pub struct Motor {
    ohm: f64,
    /// Rise of the back-EMF for each ampere and second.
    torque: f64,
    /// Decay of the back-EMF by friction, 1/s.
    friction: f64,
    back_v: f64,
    /// Voltage across it at the end of the last step.
    volt: f64,
}

impl Motor {
    /// A motor at rest that takes `start_a` at standstill and `run_a` when running, both at `at_v`,
    /// and falls half-way from one to the other in `run_up_s`.
    pub fn new(start_a: f64, run_a: f64, at_v: f64, run_up_s: f64) -> Self {
        let ohm = at_v / start_a;
        let run_a = run_a.min(0.999 * start_a);
        let run_back_v = at_v - run_a * ohm;
        // With a constant voltage the current falls exponentially at the rate torque/R + friction;
        // when running, torque × run_a = friction × run_back_v.
        let friction = LN_2 / run_up_s / (run_back_v / (run_a * ohm) + 1.0);
        Motor { ohm, torque: friction * run_back_v / run_a, friction, back_v: 0.0, volt: 0.0 }
    }

    /// The back-EMF at the end of a step of `h` seconds, by the trapezoidal rule: `[0]` for each volt
    /// across the motor then, and `[1]`.
    fn back_v_after(&self, h: f64) -> [f64; 2] {
        let rise = 0.5 * h * self.torque / self.ohm;
        let fall = rise + 0.5 * h * self.friction;
        let damped = 1.0 / (1.0 + fall);
        [rise * damped, (self.back_v * (1.0 - fall) + rise * self.volt) * damped]
    }

    fn slope(&self, volt: f64, back_v: f64) -> f64 {
        self.torque * (volt - back_v) / self.ohm - self.friction * back_v
    }
}

impl Element for Motor {
    /// Below no voltage the current is negative: it generates.
    fn affine(&mut self, _: f64, h: f64) -> Affine {
        let [for_each_v, at_none] = self.back_v_after(h);
        Affine { g: (1.0 - for_each_v) / self.ohm, i: -at_none / self.ohm }
    }

    fn is_curved(&self) -> bool {
        false
    }

    fn step(&mut self, volt: f64, h: f64) {
        let [for_each_v, at_none] = self.back_v_after(h);
        self.back_v = (for_each_v * volt + at_none).max(0.0);
        self.volt = volt;
    }

    fn begin(&mut self, volt: f64) {
        self.volt = volt;
    }

    fn step_limit_s(&self, volt: f64) -> Option<f64> {
        let moving = self.slope(volt, self.back_v).abs() > 2e-3;
        moving.then(|| 0.03 / (self.torque / self.ohm + self.friction))
    }

    fn boxed(&self) -> Box<dyn Element> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn falls_from_start_to_run_and_half_way_in_its_time() {
        let mut motor = Motor::new(0.6, 0.15, 12.0, 0.2);
        motor.begin(12.0);
        let current = |m: &Motor| m.clone().affine(12.0, 0.0).at(12.0);
        assert!((current(&motor) - 0.6).abs() < 1e-9);
        for _ in 0..200 {
            motor.step(12.0, 1e-3);
        }
        assert!((current(&motor) - 0.375).abs() < 1e-3);
        for _ in 0..4000 {
            motor.step(12.0, 1e-3);
        }
        assert!((current(&motor) - 0.15).abs() < 1e-4);
    }
}
