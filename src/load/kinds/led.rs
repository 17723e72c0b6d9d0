//! A light-emitting diode, or several in series, with a series resistor.

use crate::load::diode;
use crate::load::fed::Fed;
use crate::load::input::Input;
use crate::load::keys::{positive, resistance, some};
use crate::load::kind::{At, Begins, Kind, Simulated};
use crate::quantity::located::Located;
use crate::quantity::range::Toleranced;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricCurrent, ElectricPotential, ElectricalResistance};

/// Emission coefficient times thermal voltage, per volt of forward voltage: two (light-emitting
/// diodes lie between one and three) times k·T/q at 27 °C, for each diode of about 2 V.
const SLOPE: f64 = 1.380_649e-23 * 300.15 / 1.602_176_634e-19;
/// The slope may be this many times steeper or flatter.
const SLOPE_SPREAD: f64 = 2.0;

/// The diode and its resistor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Led {
    /// Forward voltage of the whole chain at `at_current`.
    pub forward: Toleranced<ElectricPotential>,
    /// The current at which the forward voltage is stated.
    pub at_current: ElectricCurrent,
    /// Series resistor.
    pub series: Toleranced<ElectricalResistance>,
}

impl Led {
    /// As a load sheet has it.
    pub const EXAMPLE: &str =
        r#"{ forward = "2 V ±10 %", at_current = "20 mA", series = "680 ohm ±5 %" }"#;
}

impl Kind for Led {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        Ok(Led {
            forward: positive(table, "forward", "2 V ±10 %")?,
            at_current: some(table, "at_current", "20 mA")?,
            series: resistance(table, "series", "680 ohm ±5 %")?,
        })
    }

    fn words(&self) -> &'static str {
        "diode, resistor"
    }

    fn inputs(&self) -> Vec<Input> {
        let slope = SLOPE * self.forward.nominal.si();
        let slopes = [slope, slope / SLOPE_SPREAD, slope * SLOPE_SPREAD];
        vec![
            Input::toleranced("forward voltage", "V", self.forward),
            Input::toleranced("series resistance", "ohm", self.series),
            Input::of("slope of the diode", "V", slopes),
        ]
    }

    fn current(&self, x: &[f64], at: At) -> f64 {
        let &[forward, series, slope] = x else { return f64::NAN };
        diode::series_current(at.across_v, forward, self.at_current.si(), series, slope)
    }

    fn turns_back(&self) -> bool {
        false
    }

    fn settle_s(&self, _: Toleranced<ElectricPotential>) -> f64 {
        0.0
    }

    fn begins(&self, _: &Fed, _: Toleranced<ElectricCurrent>) -> Begins {
        Begins::Settled
    }

    fn preferred(&self) -> Option<ElectricalResistance> {
        Some(self.series.nominal)
    }

    fn simulated(&self) -> Simulated {
        let values = vec![
            ("forward", self.forward.nominal.si()),
            ("at_current", self.at_current.si()),
            ("series", self.series.nominal.si()),
        ];
        Simulated { kind: "led", values }
    }
}
