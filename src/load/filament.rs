//! How the current of a filament lamp falls after it is switched on.
//!
//! Tungsten's resistance goes with about the 1.2th power of its absolute temperature, and a hot
//! filament loses heat by radiation, with the fourth power (H. A. Jones and I. Langmuir, "The
//! characteristics of tungsten filaments as functions of temperature", General Electric Review 30
//! (1927): both are fits to their table). On a constant voltage the temperature `u`, as a share of
//! its final value, then follows
//!
//! ```text
//! du/dt = (u^−1.2 − u^4) / τ     so     t/τ = ∫ u^1.2 / (1 − u^5.2) du = Σ u^(2.2 + 5.2 n) / (2.2 + 5.2 n)
//! ```
//!
//! with the warmth of the room left out against the filament's. So the inrush falls fast at first
//! and slowly at the end: a lamp whose inrush is half gone after 4 ms needs a quarter of a second
//! to settle.

use statrs::consts;
use statrs::function::gamma::digamma;

/// Exponent of resistance over temperature.
const RESISTANCE: f64 = 1.2;
/// `RESISTANCE` plus the exponent of radiation over temperature.
const BOTH: f64 = RESISTANCE + 4.0;
/// Exponent of a hot lamp's current over its voltage, which follows from these two: `V²/R` is
/// radiated, so `V² ∝ T^5.2` and `V/R ∝ V^(1 − 2.4/5.2)`, about 0.54.
pub const CURRENT_OVER_VOLTAGE: f64 = 1.0 - 2.0 * RESISTANCE / BOTH;

/// A lamp at a voltage, as far as its current's course goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filament {
    /// The cold filament's temperature as a share of the final one.
    cold: f64,
    /// The time constant τ in seconds.
    tau: f64,
}

impl Filament {
    /// A lamp at its rated voltage whose cold inrush is so many times its final current, and whose
    /// inrush has fallen to the middle after a time in seconds.
    pub fn new(inrush_ratio: f64, warm_up: f64) -> Filament {
        let ratio = inrush_ratio.max(1.0);
        let cold = share_at(ratio);
        let middle = share_at((ratio + 1.0) / 2.0);
        let unscaled = series(middle) - series(cold);
        let tau = if unscaled > 0.0 { warm_up / unscaled } else { 0.0 };
        Filament { cold, tau }
    }

    /// The same lamp at so many times its rated voltage: it ends hotter and gets there faster.
    pub fn at_voltage(self, share: f64) -> Filament {
        let hotter = share.powf(2.0 / BOTH);
        // τ is the heat at the final temperature over the final power.
        let power = share * share / hotter.powf(RESISTANCE);
        Filament { cold: (self.cold / hotter).min(1.0), tau: self.tau * hotter / power }
    }

    /// Current over final current at a time in seconds after switching on.
    pub fn excess(self, t: f64) -> f64 {
        if self.tau <= 0.0 || t.is_infinite() || self.cold >= 1.0 {
            return 1.0;
        }
        if t <= 0.0 {
            return self.cold.powf(-RESISTANCE);
        }
        // The time rises with the temperature, ever more steeply: Newton's rule, and half of the
        // interval where that leads out of it.
        let wanted = t / self.tau + series(self.cold);
        let (mut low, mut high) = (self.cold, 1.0);
        let mut u = 0.5 * (low + high);
        for _ in 0..60 {
            let late = series(u) - wanted;
            if late < 0.0 {
                low = u
            } else {
                high = u
            }
            let next = u - late * (1.0 - u.powf(BOTH)) / u.powf(RESISTANCE);
            let next = if next > low && next < high { next } else { 0.5 * (low + high) };
            let moved = (next - u).abs();
            u = next;
            if moved <= 1e-15 {
                break;
            }
        }
        u.powf(-RESISTANCE)
    }

    /// Time in seconds until half of the inrush is gone.
    pub fn half_gone(self) -> f64 {
        let middle = share_at((self.excess(0.0) + 1.0) / 2.0);
        if middle <= self.cold { 0.0 } else { self.tau * (series(middle) - series(self.cold)) }
    }

    /// Time in seconds after switching off until the lamp is so cold that its next inrush falls
    /// short of a cold one by no more than a share.
    ///
    /// By radiation alone, against that of the room: `du/dt = −(u⁴ − c⁴) / τ` from 1 on, with `c` cold,
    /// hence `t = τ/c³ · [G(1/c) − G(u/c)]` with `G(x) = ¼ ln((x − 1)/(x + 1)) − ½ arctan x`, which is
    /// the integral of `1/(x⁴ − 1)`. What a real lamp loses through its gas and its leads makes it
    /// cool faster.
    pub fn cool(self, within: f64) -> f64 {
        let end = (1.0 - within).powf(-1.0 / RESISTANCE);
        if self.cold >= 1.0 || end * self.cold >= 1.0 {
            return 0.0;
        }
        let g = |x: f64| 0.25 * ((x - 1.0) / (x + 1.0)).ln() - 0.5 * x.atan();
        self.tau / self.cold.powi(3) * (g(1.0 / self.cold) - g(end))
    }

    /// Time in seconds until the current is within a share of its final value.
    pub fn settle(self, within: f64) -> f64 {
        let end = share_at(1.0 + within);
        if end <= self.cold { 0.0 } else { self.tau * (series(end) - series(self.cold)) }
    }
}

/// The temperature, as a share of the final one, at so many times the final current.
fn share_at(excess: f64) -> f64 {
    excess.powf(-1.0 / RESISTANCE)
}

/// `Σ u^(2.2 + 5.2 n) / (2.2 + 5.2 n)`, the time from absolute zero to `u` in units of τ.
///
/// With `x = u^5.2` and `a = 2.2 / 5.2` it is the incomplete beta function `B_x(a, 0) / 5.2`. Near 1
/// its terms hardly fall, so there it is expanded about 1, with `y = 1 − x`:
/// `B_x(a, 0) = −ln y − ψ(a) − γ − Σ (1 − a)_k / (k · k!) · y^k`, which follows term by term from the
/// binomial series of the integrand; the constant is that of NIST's Digital Library of Mathematical
/// Functions, 5.9.16.
fn series(u: f64) -> f64 {
    const A: f64 = (RESISTANCE + 1.0) / BOTH;
    let x = u.powf(BOTH);
    let y = 1.0 - x;
    if y <= 0.0 {
        return f64::INFINITY;
    }
    let mut sum = 0.0;
    if x < 0.5 {
        let mut power = x.powf(A);
        for n in 0..64 {
            sum += power / (A + f64::from(n));
            power *= x;
        }
    } else {
        sum = -y.ln() - digamma(A) - consts::EULER_MASCHERONI;
        let mut term = 1.0;
        for k in 1..64 {
            let k = f64::from(k);
            term *= (k - A) / k * y;
            sum -= term / k;
        }
    }
    sum / BOTH
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against Simpson's rule on the integral that the series sums.
    #[test]
    fn the_series_is_the_integral() {
        for u in [0.1, 0.3, 0.6, 0.9, 0.95, 0.99, 0.998] {
            let n = 200_000;
            let f = |x: f64| x.powf(1.2) / (1.0 - x.powf(5.2));
            let h = u / f64::from(n);
            let inner: f64 =
                (1..n).map(|i| f(h * f64::from(i)) * if i % 2 == 1 { 4.0 } else { 2.0 }).sum();
            let integral = (inner + f(u)) * h / 3.0;
            assert!((series(u) / integral - 1.0).abs() < 1e-5, "{u}: {} {integral}", series(u));
        }
    }

    #[test]
    fn starts_cold_is_half_gone_in_its_time_and_settles() {
        let lamp = Filament::new(8.0, 0.004);
        assert!((lamp.excess(0.0) - 8.0).abs() < 1e-6);
        assert!((lamp.excess(0.004) - 4.5).abs() < 1e-6);
        let settled = lamp.settle(0.002);
        assert!((lamp.excess(settled) - 1.002).abs() < 1e-6);
        assert!((0.2..0.35).contains(&settled), "{settled}");
        assert_eq!(lamp.excess(f64::INFINITY), 1.0);
        assert_eq!(Filament::new(1.0, 0.004).excess(0.0), 1.0);
        assert_eq!(Filament::new(8.0, 0.0).settle(0.002), 0.0);
    }

    /// Against steps along the differential equation.
    #[test]
    fn cools_as_the_equation_says() {
        let lamp = Filament::new(8.0, 0.004);
        let (mut u, mut t, c) = (1.0_f64, 0.0, lamp.cold);
        while (c / u).powf(1.2) < 0.95 {
            let slope = |u: f64| -(u.powi(4) - c.powi(4)) / lamp.tau;
            let h = 1e-4 * u / -slope(u);
            u += h * slope(u + 0.5 * h * slope(u));
            t += h;
        }
        assert!((lamp.cool(0.05) / t - 1.0).abs() < 1e-3, "{} {t}", lamp.cool(0.05));
        assert_eq!(Filament::new(1.0, 0.004).cool(0.05), 0.0);
        assert!((lamp.half_gone() - 0.004).abs() < 1e-9);
    }

    /// Against steps along the differential equation, with the temperature as a share of that at the rated
    /// voltage: the power that heats goes with the square of the voltage.
    #[test]
    fn settles_at_any_voltage_as_the_equation_says() {
        let rated = Filament::new(8.0, 0.004);
        for share in [0.5, 9.0 / 14.0, 1.0, 1.1] {
            let slope = |u: f64| (share * share * u.powf(-1.2) - u.powi(4)) / rated.tau;
            let current = |u: f64| share * u.powf(-1.2);
            let settled = current(share.powf(2.0 / 5.2));
            let (mut u, mut t) = (rated.cold, 0.0);
            while current(u) > 1.002 * settled {
                let h = 1e-4 * u / slope(u).max(rated.cold / rated.tau);
                u += h * slope(u + 0.5 * h * slope(u));
                t += h;
            }
            let told = rated.at_voltage(share).settle(0.002);
            assert!((told / t - 1.0).abs() < 2e-3, "{share}: {told} {t}");
        }
    }

    /// SciPy's solver of differential equations, with the warmth of the room that the closed form leaves out:
    /// `tests/reference/warm-up`.
    #[test]
    fn warms_up_as_a_general_solver_says() {
        let table = include_str!("../../tests/reference/warm-up/table.csv");
        let lamps: Vec<&str> = table.lines().filter_map(|l| l.strip_prefix("lamp,")).collect();
        assert_eq!(lamps.len(), 28);
        for line in lamps {
            let numbers: Vec<f64> = line.split(',').map(|n| n.parse().expect("a number")).collect();
            let [_, rated_a, ratio, warm_up, share, first, settled, half, until] = numbers[..]
            else {
                panic!("{line}")
            };
            let lamp = Filament::new(ratio, warm_up).at_voltage(share);
            let ours = rated_a * share.powf(CURRENT_OVER_VOLTAGE);
            for (found, wanted) in [
                (ours, settled),
                (ours * lamp.excess(0.0), first),
                (lamp.half_gone(), half),
                (lamp.settle(0.002), until),
            ] {
                assert!((found / wanted - 1.0).abs() < 0.01, "{line}: {found} for {wanted}");
            }
        }
    }

    /// Jones and Langmuir's table: resistance of tungsten over that at 300 K (from memory).
    #[test]
    fn the_exponent_of_resistance_fits_the_table() {
        for (kelvin, ratio) in [(1000.0, 4.41), (1500.0, 7.14), (2000.0, 10.03), (2500.0, 13.08)] {
            let power = (kelvin / 300.0_f64).powf(RESISTANCE);
            assert!((power / ratio - 1.0).abs() < 0.05, "{kelvin}: {power}");
        }
    }

    #[test]
    fn a_higher_voltage_settles_sooner_from_a_larger_inrush() {
        let rated = Filament::new(8.0, 0.004);
        let higher = rated.at_voltage(1.5);
        assert!(higher.settle(0.002) < rated.settle(0.002));
        assert!(higher.excess(0.0) > 8.0);
    }
}
