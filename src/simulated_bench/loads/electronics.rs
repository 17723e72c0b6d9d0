//! A small electronic board: a capacitor behind a series resistance, and what the rest of it draws.

use super::element::{Affine, Element};
use super::kind::{
    LoadKind,
    Scales::{Grows, Shrinks},
};

/// The kind.
pub const KIND: LoadKind = LoadKind {
    name: "electronics",
    values: &[("capacitance", Grows), ("series", Shrinks), ("current", Grows)],
    make: |values| Box::new(Electronics::new(values[0], values[1], values[2])),
};

/// From so many volts on the rest of the board draws its current; below it is a resistor.
const WAKES_V: f64 = 1.0;
/// A capacitor is full when so little is missing, volts: far below a converter's count.
const FULL_V: f64 = 1e-4;
/// Steps to a time constant.
const STEPS: f64 = 30.0;

/// The board.
#[derive(Clone, Debug)]
pub struct Electronics {
    farad: f64,
    series_ohm: f64,
    draws_a: f64,
    /// Voltage of the capacitor, and the current into it, at the end of the last step.
    stored_v: f64,
    filling_a: f64,
}

impl Electronics {
    /// A board with an empty capacitor.
    pub fn new(farad: f64, series_ohm: f64, draws_a: f64) -> Self {
        Electronics { farad, series_ohm, draws_a, stored_v: 0.0, filling_a: 0.0 }
    }

    /// The capacitor's branch at the end of a trapezoidal step of `h` seconds.
    fn branch(&self, h: f64) -> Affine {
        let half = 0.5 * h / self.farad;
        let g = 1.0 / (self.series_ohm + half);
        Affine { g, i: -g * (self.stored_v + half * self.filling_a) }
    }
}

impl Element for Electronics {
    fn affine(&mut self, guess_v: f64, h: f64) -> Affine {
        let mut sum = self.branch(h);
        sum += if guess_v.abs() < WAKES_V {
            Affine { g: self.draws_a / WAKES_V, i: 0.0 }
        } else {
            Affine { g: 0.0, i: self.draws_a.copysign(guess_v) }
        };
        sum
    }

    fn is_curved(&self) -> bool {
        true
    }

    fn step(&mut self, volt: f64, h: f64) {
        let filling_a = self.branch(h).at(volt);
        self.stored_v += 0.5 * h / self.farad * (self.filling_a + filling_a);
        self.filling_a = filling_a;
    }

    fn begin(&mut self, volt: f64) {
        self.filling_a = (volt - self.stored_v) / self.series_ohm;
    }

    fn step_limit_s(&self, volt: f64) -> Option<f64> {
        let moves = (volt - self.stored_v).abs() > FULL_V;
        moves.then(|| self.series_ohm * self.farad / STEPS)
    }

    fn boxed(&self) -> Box<dyn Element> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// i = V/R e^(−t/RC), any circuits textbook (Hayt, Kemmerly: Engineering Circuit Analysis,
    /// chapter 8); then the rest of the board empties it, I·t/C.
    #[test]
    fn fills_and_empties_as_the_textbook_says() {
        let (farad, ohm, draws_a) = (47e-6, 22.0, 0.008);
        let tau = ohm * farad;
        let mut board = Electronics::new(farad, ohm, draws_a);
        board.begin(12.0);
        let h = tau / STEPS;
        for n in 1..=300 {
            let found = board.affine(12.0, h).at(12.0);
            board.step(12.0, h);
            let want = 12.0 / ohm * (-f64::from(n) * h / tau).exp() + draws_a;
            assert!((found - want).abs() < 1e-4 * 12.0 / ohm, "{n}: {found} {want}");
        }
        // Alone: the voltage at which nothing flows.
        let alone = |board: &mut Electronics, h: f64, near: f64| {
            let all = board.affine(near, h);
            -all.i / all.g
        };
        let mut volt = alone(&mut board, 0.0, 12.0);
        board.begin(volt);
        let h = 1e-4;
        for n in 1..=300 {
            volt = alone(&mut board, h, volt);
            board.step(volt, h);
            let want = 12.0 - draws_a * f64::from(n) * h / farad - draws_a * ohm;
            assert!((volt - want).abs() < 1e-2, "{n}: {volt} {want}");
        }
    }
}
