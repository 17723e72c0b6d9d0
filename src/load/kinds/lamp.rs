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
        settled * Filament::new(ratio, warm_up).at_voltage(share).excess(at.after_s)
    }

    /// On a higher voltage it draws more at first, and less soon after.
    fn turns_back(&self) -> bool {
        true
    }

    fn settle_s(&self) -> f64 {
        Filament::new(self.inrush_ratio.upper.si(), self.warm_up.upper.si()).settle(SETTLED_WITHIN)
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
