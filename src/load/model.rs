//! The closed form of each circuit: its current as a function of a few inputs.
//!
//! What a load sheet cannot state (the steepness of a diode, the exponent of a lamp) is an input
//! too, with a range that is given here, with its reason beside it.

use super::diode;
use super::filament::{self, Filament};
use super::sheet::Circuit;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;

/// Temperature coefficient of copper's resistance at 20 °C, per kelvin (IEC 60028).
pub const COPPER_PER_K: f64 = 0.003_93;
/// The temperature at which a coil's resistance is stated, in degrees Celsius.
const COIL_STATED_AT_C: f64 = 20.0;

/// How far a lamp's exponent of current over voltage may be from that of an ideal filament:
/// handbooks have 0.54 for gas-filled and 0.58 for vacuum lamps (Illuminating Engineering Society,
/// Lighting Handbook, from memory) and 0.55 (D. G. Fink and H. W. Beaty, Standard Handbook for
/// Electrical Engineers, 11th ed., 1978, p. 22-8: it "may vary slightly").
const LAMP_EXPONENT_SPREAD: f64 = 0.05;

/// Emission coefficient times thermal voltage, per volt of forward voltage: two (light-emitting
/// diodes lie between one and three) times k·T/q at 27 °C, for each diode of about 2 V.
const DIODE_SLOPE: f64 = 1.380_649e-23 * 300.15 / 1.602_176_634e-19;
/// The slope may be this many times steeper or flatter.
const DIODE_SLOPE_SPREAD: f64 = 2.0;

/// Exponents of current over voltage of a load of which only a sample is known: one that keeps its
/// current, and a light-emitting diode that takes half of the voltage. It matters little, since the
/// voltage is nearly that of the sample.
const SAMPLE_EXPONENTS: [f64; 3] = [1.0, 0.0, 2.0];

/// One thing that a current depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// What it is, in words.
    pub name: &'static str,
    /// Its unit, SI without prefix (temperatures in °C).
    pub unit: &'static str,
    /// The value that is taken for it.
    pub nominal: f64,
    /// The lowest that it may be.
    pub lower: f64,
    /// The highest that it may be.
    pub upper: f64,
}

impl Input {
    /// An input with a tolerance.
    pub fn toleranced<Q: Units>(name: &'static str, unit: &'static str, t: Toleranced<Q>) -> Self {
        let (nominal, lower, upper) = (t.nominal.si(), t.lower.si(), t.upper.si());
        Input { name, unit, nominal, lower, upper }
    }

    fn of(name: &'static str, unit: &'static str, [nominal, lower, upper]: [f64; 3]) -> Self {
        Input { name, unit, nominal, lower, upper }
    }
}

/// What a circuit's current depends on besides voltage and time, in the order in which [`current`]
/// takes it.
pub fn inputs(circuit: &Circuit, into: &mut Vec<Input>) {
    match circuit {
        Circuit::Resistor { resistance } => {
            into.push(Input::toleranced("resistance", "ohm", *resistance));
        }
        Circuit::Led { forward, series, .. } => {
            let slope = DIODE_SLOPE * forward.nominal.si();
            let slopes = [slope, slope / DIODE_SLOPE_SPREAD, slope * DIODE_SLOPE_SPREAD];
            into.push(Input::toleranced("forward voltage", "V", *forward));
            into.push(Input::toleranced("series resistance", "ohm", *series));
            into.push(Input::of("slope of the diode", "V", slopes));
        }
        Circuit::Lamp { rated_current, inrush_ratio, warm_up, .. } => {
            let ideal = filament::CURRENT_OVER_VOLTAGE;
            let exponents = [ideal, ideal - LAMP_EXPONENT_SPREAD, ideal + LAMP_EXPONENT_SPREAD];
            into.push(Input::toleranced("rated current", "A", *rated_current));
            into.push(Input::of("exponent of the lamp", "1", exponents));
            into.push(Input::toleranced("warm-up", "s", *warm_up));
            into.push(Input::toleranced("inrush ratio", "1", *inrush_ratio));
        }
        Circuit::Coil { resistance, inductance, temperature } => {
            into.push(Input::toleranced("resistance", "ohm", *resistance));
            into.push(Input::toleranced("temperature", "°C", *temperature));
            into.push(Input::toleranced("inductance", "H", *inductance));
        }
        Circuit::Motor { start_current, run_current, run_up, .. } => {
            into.push(Input::toleranced("start current", "A", *start_current));
            into.push(Input::toleranced("run current", "A", *run_current));
            into.push(Input::of("exponent of the run current", "1", [0.0, 0.0, 1.0]));
            into.push(Input::toleranced("run-up", "s", *run_up));
        }
        Circuit::Measured { current, .. } => {
            into.push(Input::toleranced("current of the sample", "A", *current));
            into.push(Input::of("exponent of the sample", "1", SAMPLE_EXPONENTS));
        }
        Circuit::Parallel(parts) => parts.iter().for_each(|part| inputs(part, into)),
    }
}

/// The current in amperes at a voltage in volts, `t` seconds after switching on (which may be
/// infinite). Takes its inputs off the front of `x`.
pub fn current(circuit: &Circuit, x: &mut &[f64], voltage: f64, t: f64) -> f64 {
    match circuit {
        Circuit::Resistor { .. } => {
            let [ohm] = take(x);
            voltage / ohm
        }
        Circuit::Led { at_current, .. } => {
            let [forward, series, slope] = take(x);
            diode::series_current(voltage, forward, at_current.si(), series, slope)
        }
        Circuit::Lamp { rated_voltage, .. } => {
            let [rated, exponent, warm_up, ratio] = take(x);
            let share = voltage / rated_voltage.si();
            let settled = rated * share.powf(exponent);
            if t.is_infinite() {
                return settled;
            }
            settled * Filament::new(ratio, warm_up).at_voltage(share).excess(t)
        }
        Circuit::Coil { .. } => {
            let [stated, temperature, henry] = take(x);
            let ohm = coil_ohm(stated, temperature);
            voltage / ohm * -(-t * ohm / henry).exp_m1()
        }
        Circuit::Motor { at_voltage, .. } => {
            // At standstill only the winding limits the current. Running, the current is what the
            // friction needs, with little of the voltage in it: between none and all.
            let [start, run, exponent, run_up] = take(x);
            let share = voltage / at_voltage.si();
            let run = run * share.powf(exponent);
            run + (start * share - run).max(0.0) * halved(t, run_up)
        }
        Circuit::Measured { at_voltage, .. } => {
            let [current, exponent] = take(x);
            current * (voltage / at_voltage.si()).powf(exponent)
        }
        Circuit::Parallel(parts) => parts.iter().map(|part| current(part, x, voltage, t)).sum(),
    }
}

/// Resistance of a coil at a temperature in degrees Celsius, from that stated at 20 °C.
pub fn coil_ohm(stated: f64, temperature: f64) -> f64 {
    stated * (1.0 + COPPER_PER_K * (temperature - COIL_STATED_AT_C))
}

fn take<const N: usize>(x: &mut &[f64]) -> [f64; N] {
    let mut taken = [f64::NAN; N];
    for (value, &from) in taken.iter_mut().zip(*x) {
        *value = from;
    }
    *x = x.get(N..).unwrap_or_default();
    taken
}

/// What is left of an excess after `t` seconds that loses half of itself in each `half`.
fn halved(t: f64, half: f64) -> f64 {
    if half > 0.0 && t.is_finite() { (-t / half).exp2() } else { 0.0 }
}
