//! Anything of which only a sample was measured.

use crate::load::fed::Fed;
use crate::load::input::Input;
use crate::load::keys::{both_limits, not_above_zero, some};
use crate::load::kind::{At, Begins, Kind, Simulated};
use crate::quantity::located::Located;
use crate::quantity::range::{Limits, Toleranced};
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricCurrent, ElectricPotential, ElectricalResistance, Time};

/// Exponents of current over voltage of a load of which only a sample is known: one that keeps its
/// current, and a light-emitting diode that takes half of the voltage. It matters little, since the
/// voltage is nearly that of the sample.
const EXPONENTS: [f64; 3] = [1.0, 0.0, 2.0];

/// What was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// What it draws once it has settled.
    pub current: Toleranced<ElectricCurrent>,
    /// The voltage at which it was measured.
    pub at_voltage: ElectricPotential,
    /// How long after switching on it was measured.
    pub settled_after: Time,
}

impl Measured {
    /// As a load sheet has it.
    pub const EXAMPLE: &str =
        r#"{ current = "498 to 521 mA", at_voltage = "12.05 V", settled_after = "1 s" }"#;
}

impl Kind for Measured {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let value = table.need("current", "for example \"498 to 521 mA\"")?;
        let limits: Limits<ElectricCurrent> = value.limits()?;
        let (Some(lower), Some(upper)) = (limits.lower, limits.upper) else {
            return Err(both_limits(&value));
        };
        if lower.si() <= 0.0 {
            return Err(not_above_zero(&value));
        }
        let nominal = ElectricCurrent::from_si((lower.si() + upper.si()) / 2.0);
        Ok(Measured {
            current: Toleranced { nominal, lower, upper },
            at_voltage: some(table, "at_voltage", "12.05 V")?,
            settled_after: table
                .need("settled_after", "how long after switching on it was measured")?
                .quantity_within("0 ms", "3600 s")?,
        })
    }

    fn words(&self) -> &'static str {
        "sample"
    }

    fn inputs(&self) -> Vec<Input> {
        vec![
            Input::toleranced("current of the sample", "A", self.current),
            Input::of("exponent of the sample", "1", EXPONENTS),
        ]
    }

    fn current(&self, x: &[f64], at: At) -> f64 {
        let &[current, exponent] = x else { return f64::NAN };
        current * (at.across_v / self.at_voltage.si()).powf(exponent)
    }

    fn turns_back(&self) -> bool {
        false
    }

    fn settle_s(&self, _: Toleranced<ElectricPotential>) -> f64 {
        self.settled_after.si()
    }

    fn begins(&self, _: &Fed, _: Toleranced<ElectricCurrent>) -> Begins {
        Begins::Unknown
    }

    fn preferred(&self) -> Option<ElectricalResistance> {
        None
    }

    /// A resistor that draws as much.
    fn simulated(&self) -> Simulated {
        let ohm = self.at_voltage.si() / self.current.nominal.si();
        Simulated { kind: "resistor", values: vec![("resistance", ohm)] }
    }
}
