//! Filament lamp: the temperature of its tungsten decides its resistance.
//!
//! Resistance goes with the 1.2th power of the absolute temperature (a fit to handbook values of
//! tungsten between 300 K and 3000 K), and the filament loses heat by radiation (fourth power).

use super::element::{Affine, Element};
use super::kind::{
    LoadKind,
    Scales::{Grows, Stays},
};

/// The kind.
pub const KIND: LoadKind = LoadKind {
    name: "lamp",
    values: &[
        ("rated_voltage", Stays),
        ("rated_current", Grows),
        ("inrush_ratio", Stays),
        ("warm_up", Stays),
    ],
    make: |values| Box::new(Lamp::new(values[0], values[1], values[2], values[3])),
};

/// Ambient temperature, kelvins.
const AMBIENT_K: f64 = 293.0;
/// Exponent of resistance over temperature.
const RESISTANCE_EXPONENT: f64 = 1.2;

/// The time constant with which a filament settles at last, in times of its warm-up (from the
/// integration itself, for an inrush of eight times).
const SETTLING: f64 = 12.0;
/// What may be left of its way when it counts as standing still, as a share of its resistance.
const LEFT: f64 = 2e-4;

/// The filament. Its state is the resistance over that at ambient temperature, `r`: then the
/// temperature goes with r^(5/6) and the radiation with r^(10/3), which need just roots.
#[derive(Clone, Debug)]
pub struct Lamp {
    cold_ohm: f64,
    /// Power radiated at ambient temperature (and taken up again), watts.
    ambient_w: f64,
    /// Joules a kelvin.
    heat_capacity: f64,
    /// Resistance over cold resistance.
    ratio: f64,
    /// The longest step, seconds: a part of the time constant at the rated point.
    longest_s: f64,
    /// It stands still when its resistance moves more slowly than this (relative), 1/s.
    still_per_s: f64,
}

impl Lamp {
    /// A cold lamp that takes `rated_a` at `rated_v` when hot and `inrush_ratio` times as much when
    /// cold, and whose inrush has decayed to the middle after `warm_up_s` at the rated voltage.
    pub fn new(rated_v: f64, rated_a: f64, inrush_ratio: f64, warm_up_s: f64) -> Self {
        let inrush_ratio = inrush_ratio.max(1.001);
        let mut lamp = Lamp {
            cold_ohm: rated_v / rated_a / inrush_ratio,
            ambient_w: rated_v * rated_a / (inrush_ratio.powf(4.0 / RESISTANCE_EXPONENT) - 1.0),
            heat_capacity: 1.0,
            ratio: 1.0,
            longest_s: f64::INFINITY,
            still_per_s: 0.0,
        };
        // Time goes with the heat capacity: warm up once with a capacity of one, and scale.
        let middle = 2.0 * inrush_ratio / (inrush_ratio + 1.0);
        lamp.heat_capacity = warm_up_s / lamp.time_to(middle, rated_v);
        lamp.ratio = 1.0;
        lamp.longest_s = warm_up_s / 5.0;
        lamp.still_per_s = LEFT / (SETTLING * warm_up_s);
        lamp
    }

    fn time_to(&mut self, ratio: f64, volt: f64) -> f64 {
        // Small steps also on a short way: one that leads past its end comes back, for ever.
        let part = (0.05 * (ratio - 1.0)).min(0.002);
        let mut t = 0.0;
        while self.ratio < ratio {
            let h = part * self.ratio / self.slope(volt, self.ratio);
            let before = self.ratio;
            self.advance(h, volt);
            // The last step counts only in part.
            t += h * ((ratio - before) / (self.ratio - before)).min(1.0);
        }
        t
    }

    /// Resistance now, ohms.
    pub fn ohm(&self) -> f64 {
        self.cold_ohm * self.ratio
    }

    /// Temperature, kelvins; of a resistance ratio and its cube root.
    fn kelvin(ratio: f64, root: f64) -> f64 {
        AMBIENT_K * ratio.sqrt() * root
    }

    fn radiated_w(&self, ratio: f64, root: f64) -> f64 {
        self.ambient_w * (ratio * ratio * ratio * root - 1.0)
    }

    /// Rise of the resistance ratio, 1/s.
    fn slope(&self, volt: f64, ratio: f64) -> f64 {
        let root = ratio.cbrt();
        let heating_w = volt * volt / (self.cold_ohm * ratio) - self.radiated_w(ratio, root);
        RESISTANCE_EXPONENT * ratio / Self::kelvin(ratio, root) * heating_w / self.heat_capacity
    }

    /// The resistance ratio after a step, by Heun's method.
    fn ratio_after(&self, h: f64, volt: f64) -> f64 {
        let first = self.slope(volt, self.ratio);
        let second = self.slope(volt, (self.ratio + h * first).max(1.0));
        (self.ratio + 0.5 * h * (first + second)).max(1.0)
    }

    /// Resistance at the end of a step of `h` seconds with about `volt` across it, ohms.
    pub fn ohm_after(&self, h: f64, volt: f64) -> f64 {
        if h > 0.0 { self.cold_ohm * self.ratio_after(h, volt) } else { self.ohm() }
    }

    fn advance(&mut self, h: f64, volt: f64) {
        self.ratio = self.ratio_after(h, volt);
    }
}

impl Element for Lamp {
    fn affine(&mut self, guess_v: f64, h: f64) -> Affine {
        Affine { g: 1.0 / self.ohm_after(h, guess_v), i: 0.0 }
    }

    fn is_curved(&self) -> bool {
        false
    }

    fn step(&mut self, volt: f64, h: f64) {
        self.advance(h, volt);
    }

    fn begin(&mut self, _: f64) {}

    /// The longest step in which the resistance moves by a hundredth; `None` when next to nothing of
    /// its way is left.
    fn step_limit_s(&self, volt: f64) -> Option<f64> {
        let relative = self.slope(volt, self.ratio).abs() / self.ratio;
        (relative > self.still_per_s).then(|| (0.01 / relative).min(self.longest_s))
    }

    fn boxed(&self) -> Box<dyn Element> {
        Box::new(self.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settle(lamp: &mut Lamp, volt: f64) {
        for _ in 0..200_000 {
            lamp.advance(2e-4, volt);
        }
    }

    #[test]
    fn takes_its_rated_current_when_hot_and_the_inrush_when_cold() {
        let mut lamp = Lamp::new(12.0, 0.1, 8.0, 0.03);
        assert!((12.0 / lamp.ohm() - 0.8).abs() < 1e-6);
        settle(&mut lamp, 12.0);
        assert!((12.0 / lamp.ohm() - 0.1).abs() < 1e-5);
    }

    #[test]
    fn inrush_decays_to_the_middle_in_its_time() {
        let mut lamp = Lamp::new(12.0, 0.1, 8.0, 0.03);
        for _ in 0..3000 {
            lamp.advance(1e-5, 12.0);
        }
        assert!((12.0 / lamp.ohm() / (0.1 * 9.0 / 2.0) - 1.0).abs() < 0.01);
    }

    /// A lamp without an inrush to speak of is made in as many steps as any other.
    #[test]
    fn no_inrush_is_no_endless_way() {
        for inrush_ratio in [1.0, 1.01, 1.5, 20.0] {
            let mut lamp = Lamp::new(12.0, 0.1, inrush_ratio, 0.03);
            assert!(lamp.heat_capacity.is_finite() && lamp.heat_capacity > 0.0);
            settle(&mut lamp, 12.0);
            assert!((12.0 / lamp.ohm() - 0.1).abs() < 1e-5, "{inrush_ratio}");
        }
    }

    /// Current of a vacuum tungsten lamp over voltage: exponents of 0.5 to 0.6 about the rated
    /// point (IESNA Lighting Handbook, "lamp characteristics", from memory).
    #[test]
    fn current_over_voltage_has_the_handbooks_exponent() {
        let current = |volt: f64| {
            let mut lamp = Lamp::new(12.0, 0.1, 10.0, 0.03);
            settle(&mut lamp, volt);
            volt / lamp.ohm()
        };
        let exponent = (current(12.6) / current(11.4)).ln() / (12.6_f64 / 11.4).ln();
        assert!((0.5..0.6).contains(&exponent), "{exponent}");
    }

    /// Energy is kept: what goes in is radiated or heats the filament.
    #[test]
    fn energy_balance() {
        let mut lamp = Lamp::new(12.0, 0.1, 8.0, 0.03);
        let kelvin = |lamp: &Lamp| Lamp::kelvin(lamp.ratio, lamp.ratio.cbrt());
        let start_k = kelvin(&lamp);
        let (mut gone_in, mut radiated) = (0.0, 0.0);
        let h = 1e-5;
        for _ in 0..5000 {
            let before = lamp.clone();
            lamp.advance(h, 12.0);
            for l in [&before, &lamp] {
                gone_in += 0.5 * h * 144.0 / l.ohm();
                radiated += 0.5 * h * l.radiated_w(l.ratio, l.ratio.cbrt());
            }
        }
        let stored = lamp.heat_capacity * (kelvin(&lamp) - start_k);
        assert!(((radiated + stored) / gone_in - 1.0).abs() < 1e-3);
    }
}
