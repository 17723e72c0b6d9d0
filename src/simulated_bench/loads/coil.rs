//! Coil, with or without a freewheeling diode of its own.

use super::element::{Affine, Element};
use super::kind::{
    LoadKind,
    Scales::{Shrinks, Stays},
};

/// The kind.
pub const KIND: LoadKind = LoadKind {
    name: "coil",
    values: &[("resistance", Shrinks), ("inductance", Shrinks), ("diode", Stays)],
    make: |values| Box::new(Coil::new(values[0], values[1], values[2] > 0.0)),
};

/// Freewheeling diode across a coil: drop in volts, resistance in ohms.
const FREEWHEEL: (f64, f64) = (0.7, 0.2);

/// A coil that runs down is done below this current, amperes: a tenth of a converter's count.
const SPENT_A: f64 = 1e-5;

/// The coil.
#[derive(Clone, Debug)]
pub struct Coil {
    ohm: f64,
    henry: f64,
    has_diode: bool,
    current_a: f64,
    volt: f64,
}

impl Coil {
    /// A coil without current.
    pub fn new(ohm: f64, henry: f64, has_diode: bool) -> Self {
        Coil { ohm, henry: henry.max(1e-6), has_diode, current_a: 0.0, volt: 0.0 }
    }
}

impl Element for Coil {
    fn affine(&mut self, guess_v: f64, h: f64) -> Affine {
        let half = h.max(1e-9) / (2.0 * self.henry);
        let damped = 1.0 / (1.0 + half * self.ohm);
        let mut sum = Affine {
            g: half * damped,
            i: (self.current_a * (1.0 - half * self.ohm) + half * self.volt) * damped,
        };
        let (drop_v, ohm) = FREEWHEEL;
        if self.has_diode && guess_v < -drop_v {
            sum += Affine { g: 1.0 / ohm, i: drop_v / ohm };
        }
        sum
    }

    fn step(&mut self, volt: f64, h: f64) {
        let half = h / (2.0 * self.henry);
        let flowed = self.current_a >= SPENT_A;
        self.current_a = (self.current_a * (1.0 - half * self.ohm) + half * (self.volt + volt))
            / (1.0 + half * self.ohm);
        self.volt = volt;
        if volt < 0.0 && flowed && self.current_a < SPENT_A {
            // It ran down through a diode, which then blocks. What comes in later, if next to nothing, stays.
            self.current_a = 0.0;
            self.volt = 0.0;
        }
    }

    fn step_limit_s(&self, _: f64) -> Option<f64> {
        let off_v = (self.volt - self.ohm * self.current_a).abs();
        (off_v > 1e-3).then(|| self.henry / self.ohm / 30.0)
    }

    fn is_curved(&self) -> bool {
        true
    }

    fn begin(&mut self, volt: f64) {
        self.volt = volt;
    }

    fn boxed(&self) -> Box<dyn Element> {
        Box::new(self.clone())
    }
}
