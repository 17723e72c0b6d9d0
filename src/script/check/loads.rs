//! What a plan asks of the loads.

use super::state::Bench;
use crate::load::sheet::{Circuit, LoadSheet};
use crate::load::{series, settled_current};
use crate::quantity::unit::Units;
use crate::quantity::write;
use crate::script::plan::{LoadChoice, Plan, Step};
use crate::signal::target::Clamp;
use core::time::Duration;
use uom::si::f64::ElectricalResistance;

/// The sheet of the loads that are connected; `own` is that of the jig's.
pub(super) fn sheet_of<'a>(
    choice: LoadChoice,
    own: &'a LoadSheet,
    plan: &'a Plan,
) -> Option<&'a LoadSheet> {
    match choice {
        LoadChoice::None => None,
        LoadChoice::Jig => Some(own),
        LoadChoice::Real => plan.loads.as_ref(),
    }
}

/// Resistors that are made in no series of preferred values.
fn odd_resistors(sheet: &LoadSheet, clamps: &[Clamp]) -> Vec<String> {
    let mut messages = Vec::new();
    for clamp in clamps {
        let Some(load) = &sheet.clamps[clamp.index()] else { continue };
        for resistance in resistors(&load.circuit) {
            let Some(nearest) = series::nearest_other(resistance.si()) else { continue };
            let nearest = write::brief(ElectricalResistance::from_si(nearest));
            messages.push(format!(
                "the load at {clamp} ({}) has a resistor of {}, which is in no series of IEC \
                 60063; the nearest is {nearest}: check it for a slip (several resistors together \
                 may well be such a value)",
                load.name,
                write::brief(resistance),
            ));
        }
    }
    messages
}

/// The nominal values of the resistors in a circuit.
fn resistors(circuit: &Circuit) -> Vec<ElectricalResistance> {
    match circuit {
        Circuit::Resistor { resistance } => vec![resistance.nominal],
        Circuit::Led { series, .. } => vec![series.nominal],
        Circuit::Parallel(parts) => parts.iter().flat_map(resistors).collect(),
        _ => Vec::new(),
    }
}

impl Bench<'_> {
    pub(super) fn connect(&mut self, step: &Step, choice: LoadChoice, clamps: &[Clamp]) {
        self.loads = choice;
        self.clamps = clamps.to_vec();
        let Some(sheet) = sheet_of(choice, &self.own, self.plan) else { return };
        let whose = if choice == LoadChoice::Jig { "the jig's load" } else { "the load" };
        let rating = self.plan.module.output_rating;
        let mut messages = Vec::new();
        for clamp in clamps {
            let Some(load) = &sheet.clamps[clamp.index()] else { continue };
            let most = settled_current(&load.circuit, sheet.supply).upper;
            if most > rating {
                let (most, rating) = (write::brief(most), write::brief(rating));
                messages.push(format!(
                    "{whose} at {clamp} draws up to {most}, but an output may switch {rating} \
                     at most"
                ));
            }
        }
        let odd =
            if choice == LoadChoice::Real { odd_resistors(sheet, clamps) } else { Vec::new() };
        for message in messages {
            self.error(step, message);
        }
        for message in odd {
            self.warn(step, message);
        }
    }

    /// One load is on for a while: does it stand that?
    pub(super) fn load_is_on(&mut self, step: &Step, clamp: Clamp, time: Duration) {
        let load = sheet_of(self.loads, &self.own, self.plan)
            .and_then(|sheet| sheet.clamps[clamp.index()].clone());
        if let Some(message) = load.and_then(|load| self.heat.on(clamp, &load, time)) {
            self.error(step, message);
        }
    }

    /// The load supply is on for a while: do the loads stand it?
    pub(super) fn load_current_flows(&mut self, step: &Step, time: Duration) {
        let Some(sheet) = sheet_of(self.loads, &self.own, self.plan) else { return };
        let mut messages = Vec::new();
        for clamp in &self.clamps {
            if let Some(load) = &sheet.clamps[clamp.index()]
                && let Some(message) = self.heat.on(*clamp, load, time)
            {
                messages.push(message);
            }
        }
        for message in messages {
            self.error(step, message);
        }
    }
}
