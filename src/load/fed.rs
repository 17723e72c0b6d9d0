//! What a load hangs on.

use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricPotential, ElectricalResistance};

/// A supply and what lies on the way from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fed {
    /// The voltage of the supply.
    pub voltage: Toleranced<ElectricPotential>,
    /// The resistance on the way: leads, switch, shunt, contact.
    pub way: Toleranced<ElectricalResistance>,
}

impl Fed {
    /// Straight from a supply.
    pub fn directly(voltage: Toleranced<ElectricPotential>) -> Fed {
        Fed::behind(voltage, 0.0)
    }

    /// Behind anything between no resistance and this one, in ohms.
    pub fn behind(voltage: Toleranced<ElectricPotential>, most_ohm: f64) -> Fed {
        let [none, most] = [0.0, most_ohm].map(ElectricalResistance::from_si);
        Fed { voltage, way: Toleranced { nominal: none, lower: none, upper: most } }
    }
}
