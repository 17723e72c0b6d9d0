//! `loads`: connect loads to clamps.

use super::expansion::{Expansion, Written};
use super::foreseen::Bench;
use super::keys::clamps;
use super::plan::{Plan, Step};
use super::planned::Planned;
use super::{Action, ConnectLoads, Loads, WrittenStep};
use crate::load::sheet::LoadSheet;
use crate::load::told::PLANNED_OFFSET_A;
use crate::load::{jig_loads, series, settled_current};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use crate::quantity::write;
use crate::script::jig_abilities::{JigAbilities, beyond};
use crate::script::small_loads::small_loads;
use crate::script::switching_on::{cut_off_alone, in_groups, overload};
use crate::script::terms::LoadChoice;
use crate::script::terms::listed;
use crate::script::timing::{Commanded, SWITCHING};
use crate::signal::target::Clamp;
use core::time::Duration;
use uom::si::f64::ElectricalResistance;

impl Written for Loads {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let choices =
            [("jig", LoadChoice::Jig), ("real", LoadChoice::Real), ("off", LoadChoice::None)];
        let choice = table.need("loads", "\"jig\", \"real\" or \"off\"")?.choice(&choices)?;
        let clamps = if choice == LoadChoice::None {
            Some(Vec::new())
        } else {
            table.take("at").map(clamps).transpose()?.flatten()
        };
        Ok(Loads { choice, clamps })
    }

    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        let choice = self.choice;
        let is_real = choice == LoadChoice::Real;
        let has = |c: &Clamp| c.output <= plan.sheet.outputs;
        let real = |c: &Clamp| plan.loads.is_some_and(|sheet| sheet.clamps[c.index()].is_some());
        if is_real && plan.loads.is_none() {
            return Err(plan.error(step, "real loads need a load sheet: give one with --loads"));
        }
        let clamps: Vec<Clamp> = match &self.clamps {
            None => Clamp::ALL.into_iter().filter(|c| has(c) && (!is_real || real(c))).collect(),
            Some(named) => named.clone(),
        };
        if let Some(c) = clamps.iter().find(|c| !has(c)) {
            return Err(plan.error(step, format!("a {} has no clamp {c}", plan.sheet.kind)));
        }
        if is_real && let Some(c) = clamps.iter().find(|c| !real(c)) {
            return Err(plan.error(step, format!("the load sheet has nothing at clamp {c}")));
        }
        plan.connected = choice;
        plan.clamps.clone_from(&clamps);
        let name = match choice {
            LoadChoice::None => "loads off",
            LoadChoice::Jig => "loads jig",
            LoadChoice::Real => "loads real",
        };
        plan.push(step, name, Action::Loads(ConnectLoads { choice, clamps }))
    }
}

impl Planned for ConnectLoads {
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        SWITCHING
    }

    fn check(&self, bench: &mut Bench<'_>) {
        bench.loads = self.choice;
        bench.clamps.clone_from(&self.clamps);
        let Some(sheet) = bench.sheet_of(self.choice) else { return };
        let whose = if self.choice == LoadChoice::Jig { "the jig's load" } else { "the load" };
        let rating = bench.plan.module.output_rating;
        let mut too_much = Vec::new();
        for clamp in &self.clamps {
            let Some(load) = &sheet.clamps[clamp.index()] else { continue };
            let most = settled_current(&load.circuit, sheet.supply).upper;
            if most > rating {
                let (most, rating) = (write::brief(most), write::brief(rating));
                too_much.push(format!(
                    "{whose} at {clamp} draws up to {most}, but an output may switch {rating} \
                     at most"
                ));
            }
        }
        let odd = match self.choice {
            LoadChoice::Real => {
                let mut odd = odd_resistors(sheet, &self.clamps);
                odd.extend(small_loads(sheet, &self.clamps, |_| Some(PLANNED_OFFSET_A)));
                odd.extend(in_groups(sheet, &self.clamps));
                odd.extend(cut_off_alone(sheet, &self.clamps));
                odd.extend(overload(sheet, &self.clamps));
                odd
            }
            LoadChoice::None | LoadChoice::Jig => Vec::new(),
        };
        too_much.into_iter().for_each(|message| bench.error(message));
        odd.into_iter().for_each(|message| bench.warn(message));
    }

    fn beyond(&self, plan: &Plan, jig: &JigAbilities) -> Vec<String> {
        let beyond = |clamp: &Clamp| at_clamp(plan, jig, self.choice, *clamp);
        self.clamps.iter().filter_map(beyond).collect()
    }

    fn words(&self) -> String {
        match self.choice {
            LoadChoice::None => "loads off".to_owned(),
            LoadChoice::Jig => format!("the jig's own loads on {}", clamped(&self.clamps)),
            LoadChoice::Real => format!("the real loads on {}", clamped(&self.clamps)),
        }
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        1
    }
}

fn clamped(clamps: &[Clamp]) -> String {
    if clamps.len() == 8 {
        return "every clamp".to_owned();
    }
    listed("clamp", &clamps.iter().map(Clamp::to_string).collect::<Vec<_>>())
}

/// What a jig cannot do with a load at a clamp.
fn at_clamp(plan: &Plan, jig: &JigAbilities, choice: LoadChoice, clamp: Clamp) -> Option<String> {
    let i = clamp.index();
    let own = jig_loads();
    let sheet = match choice {
        LoadChoice::None => return None,
        LoadChoice::Jig if !jig.jig_loads[i] => {
            return Some(format!("this jig has no load of its own at {clamp}"));
        }
        LoadChoice::Jig => &own,
        // A jig with a load switch has a diode across that load.
        LoadChoice::Real if !jig.load_switches[i] && needs_diode(plan, clamp) => {
            return Some(format!(
                "the load at {clamp} has no diode of its own, and this jig has none across it: put \
                 one across the load and say `diode = true`"
            ));
        }
        LoadChoice::Real if !jig.load_switches[i] => {
            return Some(format!("this jig cannot switch a load at {clamp}"));
        }
        LoadChoice::Real => plan.loads.as_ref()?,
    };
    let Some(range) = jig.clamp_current_a[i] else {
        return Some(format!("this jig cannot measure the load current at {clamp}"));
    };
    // A voltage beyond its channel would be read as the highest that the channel can read, on both
    // sides of a contact alike: a burnt one would look sound.
    for highest in [jig.load_voltage_v, jig.clamp_voltage_v[i]] {
        if let Some(message) = beyond("the load supply", sheet.supply, highest) {
            return Some(message);
        }
    }
    let load = sheet.clamps[i].as_ref()?;
    let most = settled_current(&load.circuit, sheet.supply).upper;
    (most.si() > range).then(|| {
        let most = write::brief(most);
        format!("the load at {clamp} draws up to {most}, but this jig reads up to {range} A")
    })
}

/// Whether what hangs at a clamp drives its current on and has no diode for that.
fn needs_diode(plan: &Plan, clamp: Clamp) -> bool {
    let load = plan.loads.as_ref().and_then(|sheet| sheet.clamps[clamp.index()].as_ref());
    load.is_some_and(|load| load.circuit.parts.iter().any(|part| part.kind().needs_diode()))
}

/// Resistors that are made in no series of preferred values.
fn odd_resistors(sheet: &LoadSheet, clamps: &[Clamp]) -> Vec<String> {
    let mut messages = Vec::new();
    for clamp in clamps {
        let Some(load) = &sheet.clamps[clamp.index()] else { continue };
        for resistance in load.circuit.parts.iter().filter_map(|part| part.kind().preferred()) {
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
