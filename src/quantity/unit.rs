//! The units in which each kind of quantity may be written.

use core::time::Duration;
use uom::si::f64::{
    Capacitance, ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance,
    Frequency, Inductance, Length, Ratio, ThermodynamicTemperature, Time,
};
use uom::si::{
    capacitance::farad, electric_charge::coulomb, electric_current::ampere,
    electric_potential::volt, electrical_resistance::ohm, frequency::hertz, inductance::henry,
    length::meter, ratio::ratio, thermodynamic_temperature::degree_celsius, time::second,
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

// `\u{B5}` is the micro sign, `\u{3BC}` the Greek mu, `\u{3A9}` the Greek omega, `\u{2126}` the ohm
// sign: keyboards have one or the other, and they look alike.
units!(ElectricCurrent, ampere, "a current", "currents", "250 mA", "20 to 80 mA",
    ["A" 0, "mA" -3, "\u{B5}A" -6, "\u{3BC}A" -6, "uA" -6, "nA" -9]);
units!(ElectricPotential, volt, "a voltage", "voltages", "16 V", "15 to 17 V",
    ["V" 0, "mV" -3, "\u{B5}V" -6, "\u{3BC}V" -6, "uV" -6]);
units!(ElectricalResistance, ohm, "a resistance", "resistances", "22 ohm", "90 to 110 ohm",
    ["Mohm" 6, "M\u{3A9}" 6, "M\u{2126}" 6, "kohm" 3, "k\u{3A9}" 3, "k\u{2126}" 3,
     "ohm" 0, "\u{3A9}" 0, "\u{2126}" 0, "mohm" -3, "m\u{3A9}" -3, "m\u{2126}" -3]);
units!(Inductance, henry, "an inductance", "inductances", "350 mH", "300 to 400 mH",
    ["H" 0, "mH" -3, "\u{B5}H" -6, "\u{3BC}H" -6, "uH" -6]);
units!(Capacitance, farad, "a capacitance", "capacitances", "47 uF", "33 to 47 uF",
    ["F" 0, "mF" -3, "\u{B5}F" -6, "\u{3BC}F" -6, "uF" -6, "nF" -9]);
units!(ElectricCharge, coulomb, "a charge", "charges", "12 mC", "5 to 12 mC",
    ["C" 0, "mC" -3, "\u{B5}C" -6, "\u{3BC}C" -6, "uC" -6]);
units!(Time, second, "a time", "times", "120 ms", "20 to 80 ms",
    ["s" 0, "ms" -3, "\u{B5}s" -6, "\u{3BC}s" -6, "us" -6, "ns" -9]);
units!(Frequency, hertz, "a frequency", "frequencies", "2 Hz", "1.8 to 2.2 Hz",
    ["kHz" 3, "Hz" 0, "mHz" -3]);
units!(Length, meter, "a length", "lengths", "44 mm", "20 to 80 mm", ["m" 0, "mm" -3]);
// Temperatures count in degrees Celsius.
units!(ThermodynamicTemperature, degree_celsius, "a temperature", "temperatures", "20 °C",
    "10 to 45 °C", ["°C" 0]);
units!(Ratio, ratio, "a share", "shares", "50 %", "40 to 60 %", ["%" - 2]);

/// A time as a duration; none where it is negative or beyond what a duration can hold.
pub fn duration(time: Time) -> Duration {
    Duration::try_from_secs_f64(time.si()).unwrap_or(Duration::ZERO)
}
