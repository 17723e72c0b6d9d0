//! D401 of the jig: a Schottky diode across a real load, behind the shunt.
//!
//! What a load drives on when its contact or switch opens runs round through it, past the shunt. It
//! holds the load's voltage a few tenths of a volt below none.

use crate::simulated_bench::loads::element::{Affine, Memoryless};

/// Emission coefficient times thermal voltage at 20 °C, volts (n = 1.05: a Schottky diode, from memory).
const SLOPE_V: f64 = 1.05 * 0.025_26;
/// Saturation current, amperes, of one for 5 A, which is what it leaks when it blocks (from memory).
pub const SATURATION_A: f64 = 5e-6;
/// Its series resistance, ohms: half a volt at 5 A (from memory).
const SERIES_OHM: f64 = 0.03;
/// The operating point is found to this share of the voltage …
const EXACT: f64 = 1e-10;
/// … in no more than so many steps.
const STEPS: usize = 80;

/// The diode, by the last current found through it.
#[derive(Clone, Debug, Default)]
pub struct ClampDiode {
    last_a: f64,
}

impl ClampDiode {
    /// Forward current at a forward voltage, and its slope: Newton's method on
    /// `R i + nV_T ln(1 + i/I_s) = v`, which is concave, so that it comes in from below. (Its closed
    /// form is Lambert's W: T. C. Banwell and A. Jayakumar, *Electronics Letters* 36 (2000) 291.)
    fn forward(&mut self, volt: f64) -> (f64, f64) {
        let slope = |i: f64| SERIES_OHM + SLOPE_V / (i + SATURATION_A);
        let mut i = self.last_a;
        for _ in 0..STEPS {
            let excess = SERIES_OHM * i + SLOPE_V * (i / SATURATION_A).ln_1p() - volt;
            let next = i - excess / slope(i);
            i = if next < 0.0 { i / 8.0 } else { next };
            if excess.abs() <= EXACT * volt {
                break;
            }
        }
        self.last_a = i;
        (i, 1.0 / slope(i))
    }
}

impl Memoryless for ClampDiode {
    fn affine(&mut self, guess_v: f64) -> Affine {
        let (i, g) = if guess_v < 0.0 {
            let (forward, g) = self.forward(-guess_v);
            (-forward, g)
        } else {
            // It blocks, but for what leaks.
            let left = (-guess_v / SLOPE_V).exp();
            (SATURATION_A * (1.0 - left), SATURATION_A / SLOPE_V * left)
        };
        Affine { g, i: i - g * guess_v }
    }

    fn is_curved(&self) -> bool {
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Kirchhoff's voltage law around diode and series resistance, found by bisection: nothing of the
    /// search above is in it.
    #[test]
    fn operating_point_by_bisection() {
        let mut diode = ClampDiode::default();
        for volt in [0.05, 0.2, 0.35, 0.5, 12.0, 30_000.0] {
            let (mut low, mut high) = (0.0, volt / SERIES_OHM);
            for _ in 0..200 {
                let i: f64 = 0.5 * (low + high);
                let across = SERIES_OHM * i + SLOPE_V * (1.0 + i / SATURATION_A).ln();
                if across > volt { high = i } else { low = i }
            }
            let found = -diode.affine(-volt).at(-volt);
            assert!((found / low - 1.0).abs() < 1e-6, "{volt} V: {found} {low}");
        }
    }

    #[test]
    fn blocks_but_for_its_leakage() {
        let mut diode = ClampDiode::default();
        let leaks = diode.affine(12.0).at(12.0);
        assert!((leaks - SATURATION_A).abs() < 1e-12, "{leaks}");
        assert!(diode.affine(0.0).at(0.0).abs() < 1e-15);
    }
}
