//! The current to expect from a circuit.
//!
//! Every circuit's current rises with the voltage and falls with its resistance, so the window's
//! ends are found at the corners of the tolerances: a worst case, not a statistical one. What a
//! load sheet cannot state (the temperature of a coil, the steepness of a diode, the exponent of a
//! lamp) is widened into the corners here, with its reason beside it.

use super::diode;
use super::filament::Filament;
use super::sheet::Circuit;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricCurrent, ElectricPotential, Time};

/// Temperature coefficient of copper's resistance at 20 °C, per kelvin (IEC 60028).
pub const COPPER_PER_K: f64 = 0.003_93;
/// Coils are stated at 20 °C; on the bench they may be this much colder, in kelvins: a cool room.
const COIL_COLDER_K: f64 = 10.0;
/// … or this much warmer: a warm room, and ten kelvins of their own heat.
const COIL_WARMER_K: f64 = 25.0;

/// A filament lamp's current goes with the voltage to this power (D. G. Fink and H. W. Beaty,
/// Standard Handbook for Electrical Engineers, 11th ed., 1978, p. 22-8).
const LAMP_EXPONENT: f64 = 0.55;
/// The exponent varies with the lamp's design by about so much (same place: "may vary slightly").
const LAMP_EXPONENT_SPREAD: f64 = 0.05;

/// Emission coefficient times thermal voltage, per volt of forward voltage: two (light-emitting
/// diodes lie between one and three) times 25.9 mV (300 K), for each diode of about 2 V.
const DIODE_SLOPE: f64 = 0.026;
/// The slope may be this many times steeper or flatter.
const DIODE_SLOPE_SPREAD: f64 = 2.0;

/// Which corner of the tolerances.
#[derive(Clone, Copy, PartialEq)]
enum Corner {
    Lowest,
    Nominal,
    Highest,
}

/// The current of a circuit at a voltage across it, `after` it was switched on: nominal, lowest and
/// highest.
pub fn expected_current(
    circuit: &Circuit,
    voltage: Toleranced<ElectricPotential>,
    after: Time,
) -> Toleranced<ElectricCurrent> {
    let at = |corner: Corner| {
        let voltage = corner.rising(voltage);
        ElectricCurrent::from_si(current(circuit, corner, voltage.max(0.0), after.si()))
    };
    Toleranced {
        nominal: at(Corner::Nominal),
        lower: at(Corner::Lowest),
        upper: at(Corner::Highest),
    }
}

/// The current of a circuit once it has settled.
pub fn settled_current(
    circuit: &Circuit,
    voltage: Toleranced<ElectricPotential>,
) -> Toleranced<ElectricCurrent> {
    expected_current(circuit, voltage, Time::from_si(f64::INFINITY))
}

impl Corner {
    /// The end of a tolerance with which the current rises, in SI units.
    fn rising<Q: Units>(self, t: Toleranced<Q>) -> f64 {
        match self {
            Corner::Lowest => t.lower.si(),
            Corner::Nominal => t.nominal.si(),
            Corner::Highest => t.upper.si(),
        }
    }

    /// The end of a tolerance with which the current falls, in SI units.
    fn falling<Q: Units>(self, t: Toleranced<Q>) -> f64 {
        match self {
            Corner::Lowest => t.upper.si(),
            Corner::Nominal => t.nominal.si(),
            Corner::Highest => t.lower.si(),
        }
    }

    /// The end of a few values that belongs to this corner; the first one is nominal.
    fn of(self, values: [f64; 3]) -> f64 {
        match self {
            Corner::Lowest => values.into_iter().fold(f64::INFINITY, f64::min),
            Corner::Nominal => values[0],
            Corner::Highest => values.into_iter().fold(0.0, f64::max),
        }
    }
}

/// The current in amperes at one corner; `t` in seconds may be infinite.
fn current(circuit: &Circuit, corner: Corner, voltage: f64, t: f64) -> f64 {
    match circuit {
        Circuit::Resistor { resistance } => voltage / corner.falling(*resistance),
        Circuit::Led { forward, at_current, series } => {
            let nominal = DIODE_SLOPE * forward.nominal.si();
            let slopes = [nominal, nominal / DIODE_SLOPE_SPREAD, nominal * DIODE_SLOPE_SPREAD];
            let (forward, series) = (corner.falling(*forward), corner.falling(*series));
            corner.of(slopes.map(|slope| {
                diode::series_current(voltage, forward, at_current.si(), series, slope)
            }))
        }
        Circuit::Lamp { rated_voltage, rated_current, inrush_ratio, warm_up } => {
            let share = voltage / rated_voltage.si();
            let exponents = [0.0, -LAMP_EXPONENT_SPREAD, LAMP_EXPONENT_SPREAD];
            let hot = corner.of(exponents.map(|by| share.powf(LAMP_EXPONENT + by)))
                * corner.rising(*rated_current);
            hot * Filament::new(*inrush_ratio, warm_up.si()).at_voltage(share).excess(t)
        }
        Circuit::Coil { resistance, inductance } => {
            let by_k = match corner {
                Corner::Lowest => COIL_WARMER_K,
                Corner::Nominal => 0.0,
                Corner::Highest => -COIL_COLDER_K,
            };
            let ohm = corner.falling(*resistance) * (1.0 + COPPER_PER_K * by_k);
            voltage / ohm * -(-t * ohm / inductance.si()).exp_m1()
        }
        Circuit::Motor { start_current, run_current, at_voltage, run_up } => {
            // At standstill only the winding limits the current. Running, the current is what the
            // friction needs, with little of the voltage in it: between none and all.
            let share = voltage / at_voltage.si();
            let start = corner.rising(*start_current) * share;
            let run = corner.rising(*run_current) * corner.of([1.0, share, 1.0]);
            run + (start - run).max(0.0) * halved(t, *run_up)
        }
        Circuit::Parallel(parts) => parts.iter().map(|p| current(p, corner, voltage, t)).sum(),
    }
}

/// What is left of an excess after `t` seconds that loses half of itself in each `half`.
fn halved(t: f64, half: Time) -> f64 {
    let half = half.si();
    if half > 0.0 && t.is_finite() { (-t / half).exp2() } else { 0.0 }
}

#[cfg(test)]
mod tests;
