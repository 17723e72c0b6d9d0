//! A strip of light-emitting diodes with a constant-current driver.

use crate::load::fed::Fed;
use crate::load::input::Input;
use crate::load::keys::{positive, some};
use crate::load::kind::{At, Begins, Kind, Simulated};
use crate::quantity::located::Located;
use crate::quantity::range::Toleranced;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricCurrent, ElectricPotential, ElectricalResistance};

/// The strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    /// The constant current.
    pub current: Toleranced<ElectricCurrent>,
    /// The voltage below which it is dark.
    pub forward: Toleranced<ElectricPotential>,
    /// The voltage from which on the driver holds its current.
    pub full_from: ElectricPotential,
}

impl Strip {
    /// As a load sheet has it.
    pub const EXAMPLE: &str =
        r#"{ current = "60 mA ±10 %", forward = "8.4 V ±5 %", full_from = "10 V" }"#;
}

impl Kind for Strip {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let strip = Strip {
            current: positive(table, "current", "60 mA ±10 %")?,
            forward: positive(table, "forward", "8.4 V ±5 %")?,
            full_from: some(table, "full_from", "10 V")?,
        };
        if strip.forward.upper >= strip.full_from {
            return Err(table.error("`strip.full_from` lies above the `forward` voltage"));
        }
        Ok(strip)
    }

    fn words(&self) -> &'static str {
        "LED strip"
    }

    fn inputs(&self) -> Vec<Input> {
        vec![
            Input::toleranced("current", "A", self.current),
            Input::toleranced("forward voltage", "V", self.forward),
        ]
    }

    /// Nothing below the diodes' voltage, the driver's current from where it holds it, and in between
    /// in proportion: the driver is a resistor that is wide open.
    fn current(&self, x: &[f64], at: At) -> f64 {
        let &[current, forward] = x else { return f64::NAN };
        current * ((at.across_v - forward) / (self.full_from.si() - forward)).clamp(0.0, 1.0)
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
        None
    }

    fn simulated(&self) -> Simulated {
        let values = vec![
            ("current", self.current.nominal.si()),
            ("forward", self.forward.nominal.si()),
            ("full_from", self.full_from.si()),
        ];
        Simulated { kind: "strip", values }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dark_then_in_proportion_then_constant() {
        let t = |v: f64| {
            let v = ElectricPotential::from_si(v);
            Toleranced { nominal: v, lower: v, upper: v }
        };
        let a = ElectricCurrent::from_si(0.06);
        let current = Toleranced { nominal: a, lower: a, upper: a };
        let strip = Strip { current, forward: t(8.0), full_from: ElectricPotential::from_si(10.0) };
        for (across_v, amperes) in [(0.0, 0.0), (8.0, 0.0), (9.0, 0.03), (10.0, 0.06), (13.0, 0.06)]
        {
            let found = strip.current(&[0.06, 8.0], At { across_v, after_s: 0.0, way_ohm: 0.0 });
            assert!((found - amperes).abs() < 1e-12, "{across_v} V: {found}");
        }
    }
}
