//! A relay or solenoid coil.

use crate::load::fed::Fed;
use crate::load::input::Input;
use crate::load::keys::{both_limits, positive, resistance};
use crate::load::kind::{At, Begins, Kind, Rise, SETTLED_WITHIN, Simulated};
use crate::quantity::located::Located;
use crate::quantity::range::{Limits, Toleranced};
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use crate::quantity::value::Value;
use uom::si::f64::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Inductance, ThermodynamicTemperature,
    Time,
};

/// Temperature coefficient of copper's resistance at 20 °C, per kelvin (IEC 60028).
const COPPER_PER_K: f64 = 0.003_93;
/// The temperature at which a coil's resistance is stated, in degrees Celsius.
const STATED_AT_C: f64 = 20.0;
/// On the bench a coil may be as cold as a cool room, or as warm as a warm one with ten kelvins of
/// its own heat, in degrees Celsius.
const BENCH_C: [f64; 2] = [10.0, 45.0];

/// A shorter time constant is none: far below the time between two conversions, in seconds.
const SHORTEST_S: f64 = 10e-6;
/// A longer one is a slip of the pen, in seconds: the times of other loads end there too.
const LONGEST_S: f64 = 10.0;

/// The coil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coil {
    /// Resistance at 20 °C.
    pub resistance: Toleranced<ElectricalResistance>,
    /// Inductance.
    pub inductance: Toleranced<Inductance>,
    /// How warm it may be; nominal where its resistance is stated, or next to it.
    pub temperature: Toleranced<ThermodynamicTemperature>,
    /// Whether it has a freewheeling diode of its own.
    pub has_diode: bool,
}

impl Coil {
    /// As a load sheet has it.
    pub const EXAMPLE: &str = r#"{ resistance = "360 ohm ±10 %", inductance = "350 mH ±20 %" }"#;

    /// From 10 % to 90 % of its final current on a constant voltage: ln 9 time constants (IEEE Std
    /// 181: transition duration of a single pole).
    pub fn rise_time(&self) -> Toleranced<Time> {
        let at =
            |henry: Inductance, stated: ElectricalResistance, warm: ThermodynamicTemperature| {
                Time::from_si(9f64.ln() * henry.si() / copper_ohm(stated.si(), warm.si()))
            };
        let (l, r, warm) = (self.inductance, self.resistance, self.temperature);
        Toleranced {
            nominal: at(l.nominal, r.nominal, warm.nominal),
            lower: at(l.lower, r.upper, warm.upper),
            upper: at(l.upper, r.lower, warm.lower),
        }
    }
}

impl Kind for Coil {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let coil = Coil {
            resistance: resistance(table, "resistance", "360 ohm ±10 %")?,
            inductance: positive(table, "inductance", "350 mH ±20 %")?,
            temperature: temperature(table.take("temperature"))?,
            has_diode: table.take("diode").map_or(Ok(true), |value| value.truth())?,
        };
        if coil.inductance.lower.si() < SHORTEST_S * coil.resistance.upper.si() {
            return Err(table.error(
                "inductance over resistance is less than 10 us: that is a `resistor`, as far as \
                 anything here can tell",
            ));
        }
        if coil.inductance.upper.si() > LONGEST_S * coil.resistance.lower.si() {
            return Err(
                table.error("inductance over resistance is more than 10 s: no coil takes as long")
            );
        }
        Ok(coil)
    }

    fn words(&self) -> &'static str {
        "coil"
    }

    fn inputs(&self) -> Vec<Input> {
        vec![
            Input::toleranced("resistance", "ohm", self.resistance),
            Input::toleranced("temperature", "°C", self.temperature),
            Input::toleranced("inductance", "H", self.inductance),
        ]
    }

    fn current(&self, x: &[f64], at: At) -> f64 {
        let &[stated, temperature, henry] = x else { return f64::NAN };
        let ohm = copper_ohm(stated, temperature);
        at.across_v / ohm * -(-at.after_s * ohm / henry).exp_m1()
    }

    fn turns_back(&self) -> bool {
        false
    }

    /// `exp(−t R / L)` is the share: the lowest resistance is the slowest.
    fn settle_s(&self, _: Toleranced<ElectricPotential>) -> f64 {
        let ohm = copper_ohm(self.resistance.lower.si(), self.temperature.lower.si());
        -SETTLED_WITHIN.ln() * self.inductance.upper.si() / ohm
    }

    /// Its field is gone as soon as its current is.
    fn begins(&self, _: &Fed, _: Toleranced<ElectricCurrent>) -> Begins {
        let time = self.rise_time();
        let stated = self.inductance.lower < self.inductance.upper;
        Begins::Rises(Rise { time, stated, rest: time.upper })
    }

    fn preferred(&self) -> Option<ElectricalResistance> {
        None
    }

    fn needs_diode(&self) -> bool {
        !self.has_diode
    }

    fn simulated(&self) -> Simulated {
        let values = vec![
            ("resistance", self.resistance.nominal.si()),
            ("inductance", self.inductance.nominal.si()),
            ("diode", f64::from(self.has_diode)),
        ];
        Simulated { kind: "coil", values }
    }
}

/// Resistance of a coil at a temperature in degrees Celsius, from that stated at 20 °C.
fn copper_ohm(stated: f64, temperature: f64) -> f64 {
    stated * (1.0 + COPPER_PER_K * (temperature - STATED_AT_C))
}

/// How warm a coil may be: the range that is given, or that of a room and the coil's own heat.
fn temperature(value: Option<Value<'_>>) -> Result<Toleranced<ThermodynamicTemperature>, Located> {
    let stated = ThermodynamicTemperature::from_si(STATED_AT_C);
    let [lower, upper] = BENCH_C.map(ThermodynamicTemperature::from_si);
    let Some(value) = value else { return Ok(Toleranced { nominal: stated, lower, upper }) };
    let limits: Limits<ThermodynamicTemperature> = value.limits()?;
    let (Some(lower), Some(upper)) = (limits.lower, limits.upper) else {
        return Err(both_limits(&value));
    };
    if upper.si() > 200.0 {
        return Err(value.error(format!("`{}` goes up to 200 °C", value.key())));
    }
    let nominal = if stated < lower {
        lower
    } else if stated > upper {
        upper
    } else {
        stated
    };
    Ok(Toleranced { nominal, lower, upper })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IEC 60034-1 reckons copper's resistance as (235 + θ) / (235 + 20) of that at 20 °C: another way
    /// to the same number.
    #[test]
    fn copper_agrees_with_the_235_rule() {
        for warmer in [-20.0, 30.0, 55.0] {
            let rule = (235.0 + 20.0 + warmer) / (235.0 + 20.0);
            assert!((copper_ohm(1.0, 20.0 + warmer) - rule).abs() < 1e-3, "{warmer}");
        }
    }
}
