//! A small motor.

use crate::load::fed::Fed;
use crate::load::input::Input;
use crate::load::keys::{positive, short_time, some};
use crate::load::kind::{At, Begins, Fall, Kind, SETTLED_WITHIN, Simulated};
use crate::quantity::located::Located;
use crate::quantity::range::Toleranced;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use core::f64::consts::LN_2;
use uom::si::f64::{ElectricCurrent, ElectricPotential, ElectricalResistance, Time};

/// A motor counts as standing when it turns at no more than this share of its speed.
const STANDS_WITHIN: f64 = 0.02;

/// The motor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motor {
    /// Current at standstill.
    pub start_current: Toleranced<ElectricCurrent>,
    /// Current when running.
    pub run_current: Toleranced<ElectricCurrent>,
    /// Voltage at which both are stated.
    pub at_voltage: ElectricPotential,
    /// Time in which the current falls half-way from start to run.
    pub run_up: Toleranced<Time>,
}

impl Motor {
    /// As a load sheet has it.
    pub const EXAMPLE: &str = r#"{ start_current = "400 mA ±15 %", run_current = "120 mA ±15 %", at_voltage = "12 V", run_up = "30 ms ±40 %" }"#;
}

impl Kind for Motor {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let start = positive(table, "start_current", "400 mA ±15 %")?;
        let value = table.need("run_current", "for example \"120 mA ±15 %\"")?;
        let run: Toleranced<ElectricCurrent> = value.toleranced()?;
        if run.lower.si() <= 0.0 || run.nominal > start.nominal {
            return Err(value.error("`motor.run_current` must lie between 0 and the start current"));
        }
        Ok(Motor {
            start_current: start,
            run_current: run,
            at_voltage: some(table, "at_voltage", "12 V")?,
            run_up: short_time(
                table.need("run_up", "time in which half of the start current's excess is gone")?,
            )?,
        })
    }

    fn words(&self) -> &'static str {
        "motor"
    }

    fn inputs(&self) -> Vec<Input> {
        vec![
            Input::toleranced("start current", "A", self.start_current),
            Input::toleranced("run current", "A", self.run_current),
            Input::of("exponent of the run current", "1", [0.0, 0.0, 1.0]),
            Input::toleranced("run-up", "s", self.run_up),
        ]
    }

    /// At standstill only the winding limits the current. Running, the current is what the friction
    /// needs, with little of the voltage in it: between none and all.
    fn current(&self, x: &[f64], at: At) -> f64 {
        let &[start, run, exponent, run_up] = x else { return f64::NAN };
        let share = at.across_v / self.at_voltage.si();
        let run = run * share.powf(exponent);
        run + (start * share - run).max(0.0) * halved(at.after_s, run_up)
    }

    fn turns_back(&self) -> bool {
        false
    }

    /// `(start / run − 1) · 2^(−t / run_up)` is the share. On a higher voltage it starts with more, and
    /// may run with the same.
    fn settle_s(&self, voltage: Toleranced<ElectricPotential>) -> f64 {
        let highest = (voltage.upper / self.at_voltage).si().max(1.0);
        let excess = (self.most_excess() + 1.0) * highest - 1.0;
        (excess / SETTLED_WITHIN).log2().max(0.0) * self.run_up.upper.si()
    }

    /// Coasting, the friction that takes the run current brakes what the excess had driven: the time
    /// constant is that of the run-up, as much longer as the run current is smaller than the excess.
    fn begins(&self, _: &Fed, _: Toleranced<ElectricCurrent>) -> Begins {
        let coasts = self.run_up.upper.si() / LN_2 * self.most_excess();
        Begins::Falls(Fall {
            half: self.run_up,
            short_of: 0.0,
            stated: [
                self.start_current.lower < self.start_current.upper,
                self.run_up.lower < self.run_up.upper,
            ],
            rest: Time::from_si(coasts * -STANDS_WITHIN.ln()),
        })
    }

    fn preferred(&self) -> Option<ElectricalResistance> {
        None
    }

    fn simulated(&self) -> Simulated {
        let values = vec![
            ("start_current", self.start_current.nominal.si()),
            ("run_current", self.run_current.nominal.si()),
            ("at_voltage", self.at_voltage.si()),
            ("run_up", self.run_up.nominal.si()),
        ];
        Simulated { kind: "motor", values }
    }
}

impl Motor {
    /// The most by which the start current may exceed the run current, in run currents.
    fn most_excess(&self) -> f64 {
        self.start_current.upper.si() / self.run_current.lower.si() - 1.0
    }
}

/// What is left of an excess after `t` seconds that loses half of itself in each `half`.
fn halved(t: f64, half: f64) -> f64 {
    if half > 0.0 && t.is_finite() { (-t / half).exp2() } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::settle_time;
    use crate::load::specimens::{exactly, motor, t};

    /// SciPy's solver of differential equations, friction in proportion to the speed:
    /// `tests/reference/warm-up`.
    #[test]
    fn runs_up_as_a_general_solver_says() {
        let table = include_str!("../../../tests/reference/warm-up/table.csv");
        let motors: Vec<&str> = table.lines().filter_map(|l| l.strip_prefix("motor,")).collect();
        assert_eq!(motors.len(), 14);
        for line in motors {
            let numbers: Vec<f64> = line.split(',').map(|n| n.parse().expect("a number")).collect();
            let [at_v, run_a, start_a, run_up, share, first, settled, half, until] = numbers[..]
            else {
                panic!("{line}")
            };
            let motor = Motor {
                start_current: exactly(start_a),
                run_current: exactly(run_a),
                at_voltage: ElectricPotential::from_si(at_v),
                run_up: exactly(run_up),
            };
            let inputs = [start_a, run_a, 1.0, run_up];
            let current = |after_s| {
                motor.current(&inputs, At { across_v: share * at_v, after_s, way_ohm: 0.0 })
            };
            for (found, wanted) in [
                (current(0.0), first),
                (current(f64::INFINITY), settled),
                (current(half), (first + settled) / 2.0),
                (current(until), 1.002 * settled),
            ] {
                assert!((found / wanted - 1.0).abs() < 1e-4, "{line}: {found} for {wanted}");
            }
            assert!(motor.settle_s(exactly(share * at_v)) >= 0.999 * until, "{line}");
        }
    }

    /// On twice its voltage it starts with twice the current and may run with the same: log2 of
    /// (2 · 690 / 120 − 1) / 0.002 halvings of 25 ms.
    #[test]
    fn a_higher_voltage_settles_later() {
        let at = |volts| settle_time(&motor(), t(volts)).si();
        let halvings = ((2.0 * 690.0 / 120.0 - 1.0) / 0.002_f64).log2();
        assert!((at("24 V") - 0.025 * halvings).abs() < 1e-12);
        assert!(at("12 V") < at("24 V") && at("9 V") == at("12 V"));
    }
}
