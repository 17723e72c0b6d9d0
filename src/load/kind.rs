//! What every kind of load says of itself.

use super::fed::Fed;
use super::input::Input;
use crate::quantity::located::Located;
use crate::quantity::range::Toleranced;
use crate::quantity::table::Table;
use uom::si::f64::{ElectricCurrent, ElectricPotential, ElectricalResistance, Time};

/// A load counts as settled once its current is within this share of its final value.
pub const SETTLED_WITHIN: f64 = 0.002;

/// A kind of load: its keys in a load sheet, its closed form, how it settles and how it starts.
pub trait Kind {
    /// Reads it from its table in a load sheet.
    ///
    /// # Errors
    /// When something in it is wrong or missing.
    fn read(table: &mut Table<'_>) -> Result<Self, Located>
    where
        Self: Sized;

    /// What it is, in a word or a few.
    fn words(&self) -> &'static str;

    /// What its current depends on besides voltage and time, in the order in which [`Kind::current`]
    /// takes it. With all others held, the settled current rises or falls in each of them all the way.
    fn inputs(&self) -> Vec<Input>;

    /// The closed form: its current in amperes for a value of each input.
    fn current(&self, x: &[f64], at: At) -> f64;

    /// Whether, while its current still moves, it may turn back between the ends of the voltage's
    /// range.
    fn turns_back(&self) -> bool;

    /// For how long after it is switched on its current stays away from its final value by more than
    /// [`SETTLED_WITHIN`] at most, on a supply of this voltage, seconds.
    fn settle_s(&self, voltage: Toleranced<ElectricPotential>) -> f64;

    /// How its current begins on a supply when it is switched on at rest. `first` is the whole current
    /// at the first instant.
    fn begins(&self, fed: &Fed, first: Toleranced<ElectricCurrent>) -> Begins;

    /// The resistor in it that has a preferred value, where there is one.
    fn preferred(&self) -> Option<ElectricalResistance>;

    /// Whether it drives its current on when it is switched off and has no diode of its own for that: it
    /// must hang where the jig has one across it.
    fn needs_diode(&self) -> bool {
        false
    }

    /// What stands in for it on a simulated bench.
    fn simulated(&self) -> Simulated;
}

/// When and where a current is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct At {
    /// The voltage across the load, volts.
    pub across_v: f64,
    /// How long after it was switched on, seconds; may be infinite.
    pub after_s: f64,
    /// The resistance between the supply and the load, ohms.
    pub way_ohm: f64,
}

/// How the current of a load that is switched on at rest begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Begins {
    /// With its settled current.
    Settled,
    /// Nobody knows.
    Unknown,
    /// With nothing, and rises.
    Rises(Rise),
    /// With more than its settled current: an inrush.
    Falls(Fall),
}

/// A current that rises.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rise {
    /// From 10 % to 90 % of the final current.
    pub time: Toleranced<Time>,
    /// Whether the sheet states a tolerance for it.
    pub stated: bool,
    /// How long it must have been off, to be at rest.
    pub rest: Time,
}

/// A current that falls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fall {
    /// The time in which half of its excess is gone.
    pub half: Toleranced<Time>,
    /// The share by which the first current may fall short, since the load is never quite at rest.
    pub short_of: f64,
    /// Whether the sheet states a tolerance for the first current, and for the time.
    pub stated: [bool; 2],
    /// How long it must have been off, to be at rest, seconds.
    pub rest: Time,
}

/// A load for a simulated bench, as plain data: neither knows the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Simulated {
    /// The kind of circuit.
    pub kind: &'static str,
    /// Its values by name, SI without prefix.
    pub values: Vec<(&'static str, f64)>,
}
