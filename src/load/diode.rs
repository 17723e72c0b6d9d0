//! A light-emitting diode with a series resistor, solved in closed form.

/// Current through a diode chain with a series resistor, in amperes.
///
/// The diode's forward voltage is known at one point (`forward_v` at `at_a`); around it Shockley's
/// equation without the saturation term gives `v = forward_v + slope_v · ln(i / at_a)`, where
/// `slope_v` is the emission coefficient times the thermal voltage, summed over the chain. With the
/// resistor, `voltage_v = i · series_ohm + v`, which the Wright omega function solves exactly
/// (after T. C. Banwell and A. Jayakumar, "Exact analytical solution for current flow through
/// diode with series resistance", Electronics Letters 36 (2000) 291).
pub fn series_current(
    voltage_v: f64,
    forward_v: f64,
    at_a: f64,
    series_ohm: f64,
    slope_v: f64,
) -> f64 {
    let scale = slope_v / series_ohm;
    scale * wright_omega((voltage_v - forward_v) / slope_v + (at_a / scale).ln())
}

/// The Wright omega function of a real number: the `w` with `w + ln w = x` (R. M. Corless and
/// D. J. Jeffrey, "The Wright ω function", 2002), which is Lambert's W of `exp(x)` without the
/// overflow.
///
/// Newton's rule on `u + exp(u) = x` with `u = ln w` where `w` is small, on `w + ln w = x` where it
/// is large; both are convex or concave and converge from the starts chosen.
pub fn wright_omega(x: f64) -> f64 {
    if x < 1.0 {
        // u ≤ x; u = x − exp(x) lies below the root for x < 1 only slightly.
        let mut u = if x < -1.0 { x } else { x - 0.5 };
        for _ in 0..20 {
            let e = u.exp();
            let step = (u + e - x) / (1.0 + e);
            u -= step;
            if step.abs() <= 1e-16 * u.abs() {
                break;
            }
        }
        u.exp()
    } else {
        let mut w = if x < 2.0 { 1.0 } else { x - x.ln() };
        for _ in 0..20 {
            let step = (w + w.ln() - x) / (1.0 + 1.0 / w);
            w -= step;
            if step.abs() <= 1e-16 * w {
                break;
            }
        }
        w
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// `omega(0)` is the omega constant (OEIS A030178), `omega(1)` is 1 (Corless and Jeffrey); the
    /// others are mpmath 1.3.0's `lambertw(exp(x))` rounded to 14 digits or more.
    #[test]
    fn wright_omega_agrees_with_tables() {
        let table = [
            (-30.0, 9.357_622_968_839_299e-14),
            (-10.0, 4.539_786_874_921_543e-5),
            (-2.0, 0.120_028_238_987_641_23),
            (-1.0, 0.278_464_542_761_073_8),
            (0.0, 0.567_143_290_409_784),
            (1.0, 1.0),
            (2.0, 1.557_145_598_997_611_4),
            (5.0, 3.693_441_358_960_649_8),
            (10.0, 7.929_420_095_019_70),
            (100.0, 95.441_486_645_575_8),
            (400.0, 394.023_589_221_374_03),
        ];
        for (x, omega) in table {
            let found = wright_omega(x);
            assert!((found / omega - 1.0_f64).abs() < 1e-14, "omega({x}) = {found}, not {omega}");
        }
    }

    /// The exercise of every textbook: a 2 V diode that shall carry 20 mA from 9 V needs
    /// (9 − 2) / 0.02 = 350 ohms. At its stated point the slope cannot matter.
    #[test]
    fn a_diode_at_its_stated_point() {
        for slope in [0.02, 0.05, 0.1] {
            let i = series_current(9.0, 2.0, 0.02, 350.0, slope);
            assert!((i - 0.02).abs() < 1e-12, "{i}");
        }
    }

    proptest! {
        #[test]
        fn the_voltages_add_up(
            voltage in 0.0f64..30.0, forward in 1.0f64..12.0, ohm in 1.0f64..100e3,
        ) {
            let (at, slope) = (0.01, 0.026 * forward);
            let i = series_current(voltage, forward, at, ohm, slope);
            prop_assert!(i > 0.0 && i.is_finite());
            let sum = i * ohm + forward + slope * (i / at).ln();
            prop_assert!((sum - voltage).abs() < 1e-9 * (1.0 + voltage), "{sum} {voltage}");
        }
    }
}
