//! A resistor.

use crate::load::fed::Fed;
use crate::load::input::Input;
use crate::load::keys::resistance;
use crate::load::kind::{At, Begins, Kind, Simulated};
use crate::quantity::located::Located;
use crate::quantity::range::Toleranced;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricCurrent, ElectricPotential, ElectricalResistance};

/// A resistor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resistor {
    /// Its resistance.
    pub resistance: Toleranced<ElectricalResistance>,
}

impl Resistor {
    /// As a load sheet has it.
    pub const EXAMPLE: &str = r#"{ resistance = "220 ohm ±5 %" }"#;
}

impl Kind for Resistor {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        Ok(Resistor { resistance: resistance(table, "resistance", "22 ohm ±5 %")? })
    }

    fn words(&self) -> &'static str {
        "resistor"
    }

    fn inputs(&self) -> Vec<Input> {
        vec![Input::toleranced("resistance", "ohm", self.resistance)]
    }

    fn current(&self, x: &[f64], at: At) -> f64 {
        let &[ohm] = x else { return f64::NAN };
        at.across_v / ohm
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
        Some(self.resistance.nominal)
    }

    fn simulated(&self) -> Simulated {
        let values = vec![("resistance", self.resistance.nominal.si())];
        Simulated { kind: "resistor", values }
    }
}
