//! One circuit of a load, seen from its clamp: current as a function of voltage, with a memory.
//!
//! Elements with a memory offer their *companion*: the current at the end of a step as a linear
//! function of the voltage at its end (trapezoidal rule), as circuit simulators do (Nagel: SPICE2,
//! UCB/ERL M520, 1975).

use super::lamp::Lamp;
use super::led::Led;
use super::motor::Motor;
use crate::simulated_bench::kind::LoadModel;

/// Freewheeling diode across a coil: drop in volts, resistance in ohms.
const FREEWHEEL: (f64, f64) = (0.7, 0.2);

/// A coil that runs down is done below this current, amperes: a tenth of a converter's count.
const SPENT_A: f64 = 1e-5;

/// Current as a linear function of voltage: `g × v + i`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Affine {
    /// Conductance, siemens.
    pub g: f64,
    /// Current at no voltage, amperes.
    pub i: f64,
}

impl Affine {
    /// The current at a voltage.
    pub fn at(self, volt: f64) -> f64 {
        self.g * volt + self.i
    }

    /// The same with a resistance in series.
    pub fn behind(self, ohm: f64) -> Self {
        let divided = 1.0 / (1.0 + self.g * ohm);
        Affine { g: self.g * divided, i: self.i * divided }
    }
}

impl core::ops::AddAssign for Affine {
    fn add_assign(&mut self, other: Self) {
        self.g += other.g;
        self.i += other.i;
    }
}

/// A coil with its freewheeling diode.
#[derive(Clone, Debug)]
pub struct Coil {
    ohm: f64,
    henry: f64,
    current_a: f64,
    volt: f64,
}

impl Coil {
    fn affine(&self, guess_v: f64, h: f64) -> Affine {
        let half = h.max(1e-9) / (2.0 * self.henry);
        let damped = 1.0 / (1.0 + half * self.ohm);
        let mut sum = Affine {
            g: half * damped,
            i: (self.current_a * (1.0 - half * self.ohm) + half * self.volt) * damped,
        };
        let (drop_v, ohm) = FREEWHEEL;
        if guess_v < -drop_v {
            sum += Affine { g: 1.0 / ohm, i: drop_v / ohm };
        }
        sum
    }

    fn step(&mut self, volt: f64, h: f64) {
        let half = h / (2.0 * self.henry);
        self.current_a = (self.current_a * (1.0 - half * self.ohm) + half * (self.volt + volt))
            / (1.0 + half * self.ohm);
        self.volt = volt;
        if volt < 0.0 && self.current_a < SPENT_A {
            // It ran down through its diode, which then blocks.
            self.current_a = 0.0;
            self.volt = 0.0;
        }
    }

    fn step_limit_s(&self) -> Option<f64> {
        let off_v = (self.volt - self.ohm * self.current_a).abs();
        (off_v > 1e-3).then(|| self.henry / self.ohm / 30.0)
    }
}

/// A circuit.
#[derive(Clone, Debug)]
pub enum Element {
    /// A resistor, by its conductance.
    Resistor {
        /// Siemens.
        siemens: f64,
    },
    /// Light-emitting diode with resistor.
    Led(Led),
    /// Filament lamp.
    Lamp(Lamp),
    /// Coil.
    Coil(Coil),
    /// Motor.
    Motor(Motor),
}

impl Element {
    /// The elements of a load; those in parallel one by one.
    pub fn of(model: &LoadModel, into: &mut Vec<Element>) {
        into.push(match *model {
            LoadModel::Open => return,
            LoadModel::Resistor { ohm } => Element::Resistor { siemens: 1.0 / ohm.max(1e-3) },
            LoadModel::Led { forward_v, at_a, series_ohm } => {
                Element::Led(Led::new(forward_v, at_a, series_ohm))
            }
            LoadModel::Lamp { rated_v, rated_a, inrush_ratio, warm_up_s } => {
                Element::Lamp(Lamp::new(rated_v, rated_a, inrush_ratio, warm_up_s))
            }
            LoadModel::Coil { ohm, henry } => {
                Element::Coil(Coil { ohm, henry: henry.max(1e-6), current_a: 0.0, volt: 0.0 })
            }
            LoadModel::Motor { start_a, run_a, at_v, run_up_s } => {
                Element::Motor(Motor::new(start_a, run_a, at_v, run_up_s))
            }
            LoadModel::Parallel(ref all) => {
                for model in all {
                    Element::of(model, into);
                }
                return;
            }
        });
    }

    /// Current over voltage at the end of a step of `h` seconds, right at and near `guess_v`.
    pub fn affine(&mut self, guess_v: f64, h: f64) -> Affine {
        match self {
            Element::Resistor { siemens } => Affine { g: *siemens, i: 0.0 },
            Element::Led(led) => {
                let (i, g) = led.solve(guess_v);
                Affine { g, i: i - g * guess_v }
            }
            Element::Lamp(lamp) => Affine { g: 1.0 / lamp.ohm_after(h, guess_v), i: 0.0 },
            Element::Coil(coil) => coil.affine(guess_v, h),
            Element::Motor(motor) => {
                let (g, i) = motor.affine(h);
                Affine { g, i }
            }
        }
    }

    /// Whether its current is not a linear function of the voltage.
    pub fn is_curved(&self) -> bool {
        matches!(self, Element::Led(_) | Element::Coil(_))
    }

    /// Ends a step of `h` seconds with `volt` across it.
    pub fn step(&mut self, volt: f64, h: f64) {
        match self {
            Element::Resistor { .. } | Element::Led(_) => {}
            Element::Lamp(lamp) => lamp.step(h, volt),
            Element::Coil(coil) => coil.step(volt, h),
            Element::Motor(motor) => motor.step(h, volt),
        }
    }

    /// Tells the voltage across it at an instant of switching.
    pub fn begin(&mut self, volt: f64) {
        match self {
            Element::Coil(coil) => coil.volt = volt,
            Element::Motor(motor) => motor.begin(volt),
            _ => {}
        }
    }

    /// The longest good step with `volt` across it, seconds; `None` when nothing moves.
    pub fn step_limit_s(&self, volt: f64) -> Option<f64> {
        match self {
            Element::Resistor { .. } | Element::Led(_) => None,
            Element::Lamp(lamp) => lamp.step_limit_s(volt),
            Element::Coil(coil) => coil.step_limit_s(),
            Element::Motor(motor) => motor.step_limit_s(volt),
        }
    }
}
