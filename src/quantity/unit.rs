//! The units in which each kind of quantity may be written.

use uom::si::f64::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Frequency,
    Inductance, Ratio, Time,
};
use uom::si::{
    electric_charge::coulomb, electric_current::ampere, electric_potential::volt,
    electrical_resistance::ohm, frequency::hertz, inductance::henry, ratio::ratio, time::second,
};

/// A quantity that people may write in a file.
pub trait Units: Copy + PartialOrd {
    /// What it is, with its article (`a current`).
    const KIND: &'static str;
    /// Several of them (`currents`).
    const PLURAL: &'static str;
    /// An example (`250 mA`).
    const EXAMPLE: &'static str;
    /// An example of a range (`20 to 80 ms`).
    const RANGE_EXAMPLE: &'static str;
    /// The units, each with its power of ten in the SI unit. The first one of each power is the
    /// one that is written; powers fall.
    const UNITS: &'static [(&'static str, i32)];
    /// From a number in the SI unit without prefix.
    fn from_si(value: f64) -> Self;
    /// The number in the SI unit without prefix.
    fn si(self) -> f64;
}

macro_rules! units {
    ($quantity:ty, $unit:ty, $kind:literal, $plural:literal, $example:literal, $range:literal,
     [$($name:literal $power:literal),+ $(,)?]) => {
        impl Units for $quantity {
            const KIND: &'static str = $kind;
            const PLURAL: &'static str = $plural;
            const EXAMPLE: &'static str = $example;
            const RANGE_EXAMPLE: &'static str = $range;
            const UNITS: &'static [(&'static str, i32)] = &[$(($name, $power)),+];
            fn from_si(value: f64) -> Self {
                Self::new::<$unit>(value)
            }
            fn si(self) -> f64 {
                self.get::<$unit>()
            }
        }
    };
}

// `µ` is U+00B5 (micro sign) or U+03BC (Greek mu), `Ω` is U+03A9 (Greek omega) or U+2126 (ohm sign).
units!(ElectricCurrent, ampere, "a current", "currents", "250 mA", "20 to 80 mA",
    ["A" 0, "mA" -3, "µA" -6, "μA" -6, "uA" -6, "nA" -9]);
units!(ElectricPotential, volt, "a voltage", "voltages", "16 V", "15 to 17 V",
    ["V" 0, "mV" -3, "µV" -6, "μV" -6, "uV" -6]);
units!(ElectricalResistance, ohm, "a resistance", "resistances", "22 ohm", "90 to 110 ohm",
    ["Mohm" 6, "MΩ" 6, "MΩ" 6, "kohm" 3, "kΩ" 3, "kΩ" 3, "ohm" 0, "Ω" 0, "Ω" 0,
     "mohm" -3, "mΩ" -3, "mΩ" -3]);
units!(Inductance, henry, "an inductance", "inductances", "350 mH", "300 to 400 mH",
    ["H" 0, "mH" -3, "µH" -6, "μH" -6, "uH" -6]);
units!(ElectricCharge, coulomb, "a charge", "charges", "12 mC", "5 to 12 mC",
    ["C" 0, "mC" -3, "µC" -6, "μC" -6, "uC" -6]);
units!(Time, second, "a time", "times", "120 ms", "20 to 80 ms",
    ["s" 0, "ms" -3, "µs" -6, "μs" -6, "us" -6, "ns" -9]);
units!(Frequency, hertz, "a frequency", "frequencies", "2 Hz", "0.9 to 1.1 Hz",
    ["kHz" 3, "Hz" 0, "mHz" -3]);
units!(Ratio, ratio, "a share", "shares", "50 %", "40 to 60 %", ["%" - 2]);
