//! A filament lamp.

use crate::load::fed::Fed;
use crate::load::filament::{self, Filament};
use crate::load::input::Input;
use crate::load::keys::{positive, short_time, some};
use crate::load::kind::{At, Begins, Fall, Kind, SETTLED_WITHIN, Simulated};
use crate::load::marking;
use crate::quantity::located::Located;
use crate::quantity::range::Toleranced;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use crate::quantity::value::Value;
use uom::si::f64::{ElectricCurrent, ElectricPotential, ElectricalResistance, Ratio, Time};

/// How far a lamp's exponent of current over voltage may be from that of an ideal filament:
/// handbooks have 0.54 for gas-filled and 0.58 for vacuum lamps (Illuminating Engineering Society,
/// Lighting Handbook, from memory) and 0.55 (D. G. Fink and H. W. Beaty, Standard Handbook for
/// Electrical Engineers, 11th ed., 1978, p. 22-8: it "may vary slightly").
const EXPONENT_SPREAD: f64 = 0.05;

/// A lamp counts as cold when its inrush falls short of a cold one by no more than this share.
const COLD_WITHIN: f64 = 0.1;

/// The lamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lamp {
    /// Rated voltage.
    pub rated_voltage: ElectricPotential,
    /// Current at the rated voltage.
    pub rated_current: Toleranced<ElectricCurrent>,
    /// Cold inrush over rated current.
    pub inrush_ratio: Toleranced<Ratio>,
    /// Time in which the inrush decays to the middle.
    pub warm_up: Toleranced<Time>,
}

impl Lamp {
    /// As a load sheet has it.
    pub const EXAMPLE: &str = r#"{ rated_voltage = "16 V", rated_current = "60 mA ±10 %", inrush_ratio = "8 ±25 %", warm_up = "15 ms ±40 %" }"#;
}

impl Kind for Lamp {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        Ok(Lamp {
            rated_voltage: some(table, "rated_voltage", "16 V")?,
            rated_current: positive(table, "rated_current", "60 mA ±10 %")?,
            inrush_ratio: inrush_ratio(
                table.need("inrush_ratio", "cold inrush over rated current, such as 8")?,
            )?,
            warm_up: short_time(
                table.need(
                    "warm_up",
                    "time in which half of the inrush is gone, such as \"15 ms\"",
                )?,
            )?,
        })
    }

    fn words(&self) -> &'static str {
        "filament lamp"
    }

    fn inputs(&self) -> Vec<Input> {
        let ideal = filament::CURRENT_OVER_VOLTAGE;
        let exponents = [ideal, ideal - EXPONENT_SPREAD, ideal + EXPONENT_SPREAD];
        vec![
            Input::toleranced("rated current", "A", self.rated_current),
            Input::of("exponent of the lamp", "1", exponents),
            Input::toleranced("warm-up", "s", self.warm_up),
            Input::toleranced("inrush ratio", "1", self.inrush_ratio),
        ]
    }

    fn current(&self, x: &[f64], at: At) -> f64 {
        let &[rated, exponent, warm_up, ratio] = x else { return f64::NAN };
        let share = at.across_v / self.rated_voltage.si();
        let settled = rated * share.powf(exponent);
        if at.after_s.is_infinite() {
            return settled;
        }
        // A cold filament is a resistor.
        let cold = rated * ratio * share;
        let filament = Filament::new(ratio, warm_up).at_voltage(share);
        settled * filament.excess(at.after_s).powf(own_course(filament.excess(0.0), settled, cold))
    }

    /// On a higher voltage it draws more at first, and less soon after.
    fn turns_back(&self) -> bool {
        true
    }

    /// On a lower voltage it ends less hot, and gets there more slowly.
    fn settle_s(&self, voltage: Toleranced<ElectricPotential>) -> f64 {
        let lamp = Filament::new(self.inrush_ratio.upper.si(), self.warm_up.upper.si());
        let at = |volt: ElectricPotential| lamp.at_voltage((volt / self.rated_voltage).si());
        [voltage.lower, voltage.upper]
            .map(|v| at(v).settle(SETTLED_WITHIN))
            .into_iter()
            .fold(0.0, f64::max)
    }

    fn begins(&self, fed: &Fed, first: Toleranced<ElectricCurrent>) -> Begins {
        let (ratio, warm_up) = (self.inrush_ratio, self.warm_up);
        // What flows takes the voltage down on the way.
        let lowest = fed.voltage.lower.si() - first.upper.si() * fed.way.upper.si();
        let volts = [fed.voltage.nominal.si(), lowest, fed.voltage.upper.si()];
        let at = |volt: f64, ratio: Ratio, warm_up: Time| {
            let share = volt.max(0.0) / self.rated_voltage.si();
            Filament::new(ratio.si(), warm_up.si()).at_voltage(share)
        };
        let mut all = vec![at(volts[0], ratio.nominal, warm_up.nominal)];
        for volt in volts {
            for ratio in [ratio.lower, ratio.upper] {
                all.extend([warm_up.lower, warm_up.upper].map(|w| at(volt, ratio, w)));
            }
        }
        let cool = all.iter().map(|lamp| lamp.cool(COLD_WITHIN)).fold(0.0, f64::max);
        let halves: Vec<f64> = all.iter().map(|lamp| lamp.half_gone()).collect();
        Begins::Falls(Fall {
            half: spanned(&halves),
            short_of: COLD_WITHIN,
            stated: [ratio.lower < ratio.upper, warm_up.lower < warm_up.upper],
            rest: Time::from_si(cool),
        })
    }

    fn preferred(&self) -> Option<ElectricalResistance> {
        None
    }

    fn simulated(&self) -> Simulated {
        let values = vec![
            ("rated_voltage", self.rated_voltage.si()),
            ("rated_current", self.rated_current.nominal.si()),
            ("inrush_ratio", self.inrush_ratio.nominal.si()),
            ("warm_up", self.warm_up.nominal.si()),
        ];
        Simulated { kind: "lamp", values }
    }
}

/// The power of an ideal filament's excess that leads from a lamp's own cold current to its own settled
/// one: one at the rated voltage, and whatever the exponent of a lamp that is ideal.
fn own_course(ideal_excess: f64, settled: f64, cold: f64) -> f64 {
    let own_excess = cold / settled;
    if ideal_excess > 1.0 && own_excess > 1.0 { own_excess.ln() / ideal_excess.ln() } else { 1.0 }
}

/// A plain number, or one with its tolerance (`"8 ±25 %"`).
fn inrush_ratio(value: Value<'_>) -> Result<Toleranced<Ratio>, Located> {
    const WHAT: &str = "a number from 1 to 20, or one with its tolerance such as \"8 ±25 %\"";
    let ratio = if value.is_text() {
        value.parsed(WHAT, marking::ratio)?
    } else {
        let ratio = Ratio::from_si(value.number(1.0..=20.0)?);
        Toleranced { nominal: ratio, lower: ratio, upper: ratio }
    };
    if ratio.lower.si() >= 1.0 && ratio.upper.si() <= 20.0 {
        Ok(ratio)
    } else {
        Err(value.error(format!("`{}` is {WHAT}", value.key())))
    }
}

/// The first value, and the range of all.
fn spanned(seconds: &[f64]) -> Toleranced<Time> {
    let lower = seconds.iter().copied().fold(f64::INFINITY, f64::min);
    let upper = seconds.iter().copied().fold(0.0, f64::max);
    let [nominal, lower, upper] = [seconds[0], lower, upper].map(Time::from_si);
    Toleranced { nominal, lower, upper }
}

#[cfg(test)]
mod tests {
    use crate::load::specimens::{lamp, t};
    use crate::load::{Fed, settle_time, window};
    use crate::quantity::unit::Units;
    use uom::si::f64::Time;

    /// A cold filament is a resistor, whatever the voltage: its first current goes with it, and has the
    /// width of the rated current and the ratio alone.
    #[test]
    fn the_first_current_goes_with_the_voltage() {
        for (volts, share) in [("6 V", 0.5), ("9 V", 0.75), ("12 V", 1.0), ("13.2 V", 1.1)] {
            let first = window(
                &lamp("12 V", "8 ±25 %", "4 ms"),
                &Fed::directly(t(volts)),
                Time::from_si(0.0),
            );
            for (found, wanted) in [
                (first.nominal, 0.150 * 8.0),
                (first.lower, 0.135 * 6.0),
                (first.upper, 0.165 * 10.0),
            ] {
                assert!((found.si() / (wanted * share) - 1.0).abs() < 1e-9, "{volts}: {found:?}");
            }
        }
    }

    /// A lower voltage takes longer; the wider of its ends counts.
    #[test]
    fn a_lower_voltage_settles_later() {
        let at = |volts| settle_time(&lamp("14 V", "8 ±25 %", "15 ms ±40 %"), t(volts)).si();
        assert!(at("9 V") > 1.5 * at("14 V"), "{} {}", at("9 V"), at("14 V"));
        assert_eq!(at("9 V ±10 %"), at("8.1 V"));
    }
}
