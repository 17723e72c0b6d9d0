//! Light-emitting diode with its series resistor: Shockley's equation through the stated point.

use super::element::{Affine, Memoryless};
use super::kind::{
    LoadKind,
    Scales::{Grows, Shrinks, Stays},
};

/// The kind.
pub const KIND: LoadKind = LoadKind {
    name: "led",
    values: &[("forward", Stays), ("at_current", Grows), ("series", Shrinks)],
    make: |values| Box::new(Led::new(values[0], values[1], values[2])),
};

/// Emission coefficient times thermal voltage of one junction at 20 °C, volts (n = 2: common for
/// light-emitting diodes, from memory).
const SLOPE_V: f64 = 2.0 * 0.025_26;
/// Forward voltage that one junction takes at most, volts; more means a chain.
const JUNCTION_V: f64 = 3.6;

/// The diode and its resistor.
#[derive(Clone, Debug)]
pub struct Led {
    slope_v: f64,
    saturation_a: f64,
    series_ohm: f64,
    /// The last solution, where the next search starts.
    last_a: f64,
}

impl Led {
    /// A diode (or chain) with `forward_v` across it at `at_a`.
    pub fn new(forward_v: f64, at_a: f64, series_ohm: f64) -> Self {
        let slope_v = SLOPE_V * (forward_v / JUNCTION_V).ceil().max(1.0);
        let saturation_a = at_a / ((forward_v / slope_v).exp() - 1.0);
        Led { slope_v, saturation_a, series_ohm, last_a: 0.0 }
    }

    /// Current at a terminal voltage, and its slope: Newton's method on
    /// `R i + nV_T ln(1 + i/I_s) = v`, which is concave, so that it comes in from below.
    pub fn solve(&mut self, volt: f64) -> (f64, f64) {
        let slope = |i: f64, led: &Led| led.series_ohm + led.slope_v / (i + led.saturation_a);
        if volt <= 0.0 {
            self.last_a = 0.0;
            let g = 1.0 / slope(0.0, self);
            return (volt * g, g);
        }
        let mut i = self.last_a;
        for _ in 0..60 {
            let excess =
                self.series_ohm * i + self.slope_v * (i / self.saturation_a).ln_1p() - volt;
            let next = i - excess / slope(i, self);
            let next = if next < 0.0 { i / 8.0 } else { next };
            let done = excess.abs() <= 1e-10 * volt;
            i = next;
            if done {
                break;
            }
        }
        self.last_a = i;
        (i, 1.0 / slope(i, self))
    }
}

impl Memoryless for Led {
    fn affine(&mut self, guess_v: f64) -> Affine {
        let (i, g) = self.solve(guess_v);
        Affine { g, i: i - g * guess_v }
    }

    fn is_curved(&self) -> bool {
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The operating point found by bisection of Kirchhoff's voltage law around the loop (Sedra,
    /// Smith: Microelectronic Circuits, "the exponential model"); bisection shares nothing with the
    /// search above.
    #[test]
    fn operating_point_by_bisection() {
        for (forward_v, at_a, series_ohm, volt) in
            [(2.0, 0.02, 470.0, 12.0), (3.2, 0.02, 4_700.0, 12.0), (6.4, 0.01, 560.0, 12.0)]
        {
            let mut led = Led::new(forward_v, at_a, series_ohm);
            let (mut low, mut high) = (0.0, volt / series_ohm);
            for _ in 0..200 {
                let i = 0.5 * (low + high);
                let diode_v = forward_v
                    + led.slope_v * ((i + led.saturation_a) / (at_a + led.saturation_a)).ln();
                if series_ohm * i + diode_v > volt { high = i } else { low = i }
            }
            let (i, _) = led.solve(volt);
            assert!((i / low - 1.0).abs() < 1e-6, "{i} {low}");
        }
    }

    #[test]
    fn goes_through_its_stated_point() {
        let mut led = Led::new(2.1, 0.02, 100.0);
        let (i, _) = led.solve(2.1 + 100.0 * 0.02);
        assert!((i - 0.02).abs() < 1e-9);
    }

    #[test]
    fn blocks_backwards() {
        let (i, g) = Led::new(2.0, 0.02, 470.0).solve(-12.0);
        assert!(i.abs() < 1e-9 && g < 1e-9);
    }
}
