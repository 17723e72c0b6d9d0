//! A small electronic board with a capacitor at its input: an inrush, then a trickle.

use crate::load::fed::Fed;
use crate::load::input::Input;
use crate::load::keys::{positive, resistance, some};
use crate::load::kind::{At, Begins, Fall, Kind, SETTLED_WITHIN, Simulated};
use crate::quantity::located::Located;
use crate::quantity::range::Toleranced;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use core::f64::consts::LN_2;
use uom::si::f64::{Capacitance, ElectricCurrent, ElectricPotential, ElectricalResistance, Time};

/// A shorter time constant is none: far below the time between two conversions, in seconds.
const SHORTEST_S: f64 = 10e-6;
/// Leads, contact, shunt and switch together have no more than this, ohms (common practice, no source).
const MOST_WAY_OHM: f64 = 1.0;
/// The board counts as empty when its inrush falls short by no more than this share.
const EMPTY_WITHIN: f64 = 0.1;

/// The board.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Electronics {
    /// The capacitor at its input.
    pub capacitance: Toleranced<Capacitance>,
    /// What the capacitor is filled through.
    pub series: Toleranced<ElectricalResistance>,
    /// What it draws once the capacitor is full.
    pub current: Toleranced<ElectricCurrent>,
    /// The voltage at which that is stated.
    pub at_voltage: ElectricPotential,
}

impl Electronics {
    /// As a load sheet has it.
    pub const EXAMPLE: &str = r#"{ capacitance = "47 uF ±20 %", series = "22 ohm ±10 %", current = "8 mA ±25 %", at_voltage = "12 V" }"#;
}

impl Kind for Electronics {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let board = Electronics {
            capacitance: positive(table, "capacitance", "47 uF ±20 %")?,
            series: resistance(table, "series", "22 ohm ±10 %")?,
            current: positive(table, "current", "8 mA ±25 %")?,
            at_voltage: some(table, "at_voltage", "12 V")?,
        };
        if board.capacitance.lower.si() * board.series.lower.si() < SHORTEST_S {
            return Err(table.error(
                "capacitance times series resistance is less than 10 us: nothing here could see that \
                 inrush; state what it draws as a `resistor` or `measured`",
            ));
        }
        Ok(board)
    }

    fn words(&self) -> &'static str {
        "electronics"
    }

    fn inputs(&self) -> Vec<Input> {
        vec![
            Input::toleranced("capacitance", "F", self.capacitance),
            Input::toleranced("series resistance", "ohm", self.series),
            Input::toleranced("current", "A", self.current),
            Input::of("exponent of the current", "1", [0.0, -1.0, 1.0]),
        ]
    }

    /// The capacitor fills through everything in its way: with `E = exp(−t / ((Rs + way) C))` the
    /// supply drives `V E / (Rs + way)`, which leaves `V (1 − way E / (Rs + way))` across the board.
    /// Full, the board draws anything between a constant power, a constant current and a resistor.
    fn current(&self, x: &[f64], at: At) -> f64 {
        let &[farad, series, current, exponent] = x else { return f64::NAN };
        let share = at.across_v / self.at_voltage.si();
        let trickle =
            if share > 0.0 { current * share.powf(exponent).min(MOST_SHARE) } else { 0.0 };
        let left = (-at.after_s / ((series + at.way_ohm) * farad)).exp();
        trickle + at.across_v * left / (series + at.way_ohm * (1.0 - left))
    }

    fn turns_back(&self) -> bool {
        false
    }

    /// `V / (I R) · exp(−t / R C)` is the share.
    fn settle_s(&self, voltage: Toleranced<ElectricPotential>) -> f64 {
        let [least, most] = [self.series.lower.si(), self.series.upper.si() + MOST_WAY_OHM];
        let excess = voltage.upper.si() / (least * self.current.lower.si());
        (excess / SETTLED_WITHIN).ln().max(0.0) * most * self.capacitance.upper.si()
    }

    /// Off, what it draws empties the capacitor.
    fn begins(&self, fed: &Fed, _: Toleranced<ElectricCurrent>) -> Begins {
        let half = |farad: Capacitance, series: ElectricalResistance, way: ElectricalResistance| {
            Time::from_si(LN_2 * farad.si() * (series.si() + way.si()))
        };
        let (c, r, way) = (self.capacitance, self.series, fed.way);
        let volt = fed.voltage.upper.si();
        let share = (volt / self.at_voltage.si()).max(1.0);
        let empties = c.upper.si() * volt * share / self.current.lower.si();
        Begins::Falls(Fall {
            half: Toleranced {
                nominal: half(c.nominal, r.nominal, way.nominal),
                lower: half(c.lower, r.lower, way.lower),
                upper: half(c.upper, r.upper, way.upper),
            },
            short_of: EMPTY_WITHIN,
            stated: [r.lower < r.upper, c.lower < c.upper && r.lower < r.upper],
            rest: Time::from_si(empties),
        })
    }

    fn preferred(&self) -> Option<ElectricalResistance> {
        None
    }

    fn simulated(&self) -> Simulated {
        let values = vec![
            ("capacitance", self.capacitance.nominal.si()),
            ("series", self.series.nominal.si()),
            ("current", self.current.nominal.si()),
        ];
        Simulated { kind: "electronics", values }
    }
}

/// On next to no voltage no board draws more than so many times its current (common practice, no
/// source).
const MOST_SHARE: f64 = 10.0;

#[cfg(test)]
mod tests {
    use crate::load::sheet::LoadSheet;
    use crate::load::{Fed, window};
    use crate::quantity::source::Source;
    use crate::quantity::unit::Units;
    use uom::si::f64::Time;

    /// The textbook's RC circuit, i = V/R e^(−t/RC) (Hayt, Kemmerly: Engineering Circuit Analysis,
    /// chapter 8), with all resistance in one: 22 Ω and 3 Ω on the way.
    #[test]
    fn the_inrush_is_that_of_the_textbook_whatever_lies_on_the_way() {
        let sheet = "title = \"t\"\nsupply = { kind = \"dc\", voltage = \"12 V\" }\n[[load]]\nname = \"n\"\n\
            at = \"1a\"\nelectronics = { capacitance = \"47 uF\", series = \"22 ohm\", current = \"1 uA\", at_voltage = \"12 V\" }\n";
        let sheet = LoadSheet::parse(&Source::new("t.toml", sheet)).unwrap();
        let circuit = &sheet.clamps[0].as_ref().unwrap().circuit;
        let fed = Fed::behind(sheet.supply, 3.0);
        let tau = 25.0 * 47e-6;
        for t in [0.0, 1e-4, 1e-3, 5e-3] {
            let lowest = window(circuit, &fed, Time::from_si(t)).lower.si();
            let straight = window(circuit, &Fed::directly(sheet.supply), Time::from_si(t));
            let [behind, direct] = [(25.0, tau), (22.0, 22.0 * 47e-6)]
                .map(|(ohm, tau)| 12.0 / ohm * (-t / tau).exp() + 1e-6);
            let want = behind.min(direct);
            // The trickle has exponents from −1 to 1: a tenth of a microampere.
            assert!((lowest - want).abs() < 2e-6, "{t}: {lowest} {want}");
            assert!((straight.nominal.si() - direct).abs() < 1e-9, "{t}");
        }
    }
}
