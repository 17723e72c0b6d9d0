//! `measure`: a quantity over a window.

use super::expansion::{Expansion, Written};
use super::foreseen::Bench;
use super::plan::{Plan, Step};
use super::planned::Planned;
use super::{Action, HookUp, Measure, MeasureOver, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::quantity::unit::{Units, duration};
use crate::script::jig_abilities::{JigAbilities, measures};
use crate::script::terms::{LoadChoice, Measured};
use crate::script::timing::{self, Commanded, SWITCHING};
use crate::signal::target::Clamp;
use core::time::Duration;
use uom::si::f64::Time;

/// All quantities that a script may name.
const QUANTITIES: [Measured; 6] = [
    Measured::IdleCurrent,
    Measured::AuxiliaryCurrent,
    Measured::FeedVoltage,
    Measured::LoadVoltage,
    Measured::LoadTotal,
    Measured::LoadStart,
];

/// The shortest window, milliseconds.
const WINDOW_MIN_MS: u128 = 20;

impl Written for Measure {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let mut quantities = vec![("hook-up", None)];
        quantities.extend(QUANTITIES.map(|what| (what.name(), Some(what))));
        let Some(what) = table.need("measure", "what to measure")?.choice(&quantities)? else {
            return Ok(Measure::HookUp);
        };
        let over = match table.take("over") {
            None if what == Measured::LoadStart => Time::from_si(0.0),
            None => Time::from_si(0.5),
            Some(value) if what == Measured::LoadStart => {
                return Err(value
                    .error("a load's start takes the time that its sheet says: leave `over` out"));
            }
            Some(value) => value.quantity_within("20 ms", "60 s")?,
        };
        Ok(Measure::Quantity(MeasureOver { what, window: duration(over) }))
    }

    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        let measure = match self {
            Measure::HookUp => return plan.push(step, "hook-up", Action::HookUp(HookUp)),
            Measure::Quantity(measure) => *measure,
        };
        let what = measure.what;
        if what == Measured::AuxiliaryCurrent && plan.sheet.auxiliary_current.is_none() {
            return Ok(());
        }
        plan.push(step, what.name(), Action::Measure(measure))?;
        // The load supply comes on for some, and the loads must settle first.
        let loads = plan.real_loads();
        plan.lengthen(match what {
            Measured::LoadStart => timing::starts(loads, &plan.clamps),
            Measured::LoadTotal | Measured::LoadVoltage => {
                timing::slowest(loads, &plan.clamps) + plan.switching_on()
            }
            Measured::IdleCurrent | Measured::AuxiliaryCurrent | Measured::FeedVoltage => {
                Duration::ZERO
            }
        });
        Ok(())
    }

    fn shorter(&self) -> Vec<String> {
        let Measure::Quantity(MeasureOver { what, window }) = self else { return Vec::new() };
        // Three quarters of it, or half.
        let parts = [3, 2].map(|quarters| window.as_millis() * quarters / 4).into_iter();
        let written = |ms| format!("{{ measure = \"{}\", over = \"{ms} ms\" }}", what.name());
        parts.filter(|ms| *ms >= WINDOW_MIN_MS).map(written).collect()
    }
}

impl Planned for MeasureOver {
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        SWITCHING + self.window + SWITCHING
    }

    fn check(&self, bench: &mut Bench<'_>) {
        match self.what {
            Measured::IdleCurrent => {
                bench.need_feed();
                if bench.auxiliary {
                    bench.error(
                        "the idle current is measured with the auxiliary supply off, but its \
                         slider is on",
                    );
                }
                bench.idle_measured = true;
            }
            Measured::AuxiliaryCurrent => {
                bench.need_feed();
                if !bench.auxiliary {
                    bench.error("the slider of the auxiliary supply is not on");
                }
                bench.auxiliary_measured = bench.step.map(|step| (step.line, step.name.clone()));
            }
            Measured::FeedVoltage => bench.need_feed(),
            Measured::LoadVoltage => bench.load_current_flows(bench.lasts()),
            Measured::LoadStart => {
                if bench.loads != LoadChoice::Real {
                    bench.error("a start is that of real loads: connect them first");
                }
                // One after the other, each for its own time.
                let loads = bench.plan.loads.as_ref();
                let on = |&clamp: &Clamp| (clamp, timing::start_on(loads, clamp));
                let on: Vec<_> = bench.clamps.iter().map(on).collect();
                bench.loads_are_on(&on);
            }
            Measured::LoadTotal => {
                if bench.loads == LoadChoice::None {
                    bench.error("no loads are connected, so their total current is nothing");
                }
                let stands = |c: &Clamp| bench.positions[usize::from(c.output) - 1].is_some();
                if !bench.clamps.iter().all(stands) {
                    bench.error(
                        "which loads are on depends on where the outputs stand, and nobody \
                         knows: send them somewhere first",
                    );
                }
                bench.load_current_flows(bench.lasts());
            }
        }
    }

    fn beyond(&self, _: &Plan, jig: &JigAbilities) -> Vec<String> {
        match self.what {
            Measured::IdleCurrent | Measured::AuxiliaryCurrent => {
                measures(jig.feed_current, "the feed current")
            }
            Measured::FeedVoltage => measures(jig.feed_voltage_v.is_some(), "the feed voltage"),
            Measured::LoadVoltage | Measured::LoadStart => {
                measures(jig.load_voltage_v.is_some(), "the voltage of the load supply")
            }
            Measured::LoadTotal => measures(jig.load_total, "the total current of the load supply"),
        }
    }

    fn words(&self) -> String {
        format!("measure the {}", self.what.name())
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        4
    }
}
