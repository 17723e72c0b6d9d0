//! One load, seen from its clamp: current as a function of voltage, with a memory.
//!
//! Elements with a memory offer their *companion*: the current at the end of a step as a linear
//! function of the voltage at its end (trapezoidal rule), as circuit simulators do (Nagel: SPICE2,
//! UCB/ERL M520, 1975).

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

/// The circuit of a load with its state.
pub trait Element: core::fmt::Debug + Send {
    /// Current over voltage at the end of a step of `h` seconds, right at and near `guess_v`.
    fn affine(&mut self, guess_v: f64, h: f64) -> Affine;

    /// Whether its current is not a linear function of the voltage.
    fn is_curved(&self) -> bool;

    /// Ends a step of `h` seconds with `volt` across it.
    fn step(&mut self, volt: f64, h: f64);

    /// Tells the voltage across it at an instant of switching.
    fn begin(&mut self, volt: f64);

    /// The longest good step with `volt` across it, seconds; `None` when nothing moves.
    fn step_limit_s(&self, volt: f64) -> Option<f64>;

    /// Another one like it, in the same state.
    fn boxed(&self) -> Box<dyn Element>;
}

/// An element without a memory: its current follows the voltage at once.
pub trait Memoryless: Clone + core::fmt::Debug + Send + 'static {
    /// Current over voltage, right at and near `guess_v`.
    fn affine(&mut self, guess_v: f64) -> Affine;

    /// See [`Element::is_curved`].
    fn is_curved(&self) -> bool;
}

impl<M: Memoryless> Element for M {
    fn affine(&mut self, guess_v: f64, _: f64) -> Affine {
        Memoryless::affine(self, guess_v)
    }

    fn is_curved(&self) -> bool {
        Memoryless::is_curved(self)
    }

    fn step(&mut self, _: f64, _: f64) {}

    fn begin(&mut self, _: f64) {}

    fn step_limit_s(&self, _: f64) -> Option<f64> {
        None
    }

    fn boxed(&self) -> Box<dyn Element> {
        Box::new(self.clone())
    }
}

impl Clone for Box<dyn Element> {
    fn clone(&self) -> Self {
        self.boxed()
    }
}
