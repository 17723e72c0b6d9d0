//! The loads of a run: which are connected and sound.

use super::ongoing::OngoingRun;
use super::state::LoadSupply;
use super::step_stop::StepStop;
use crate::procedure::error::trips;
use crate::procedure::loads::load_switch;
use crate::procedure::orders;
use crate::script::plan::LoadChoice;
use crate::script::switching_on::{Group, cut_off_alone, groups, overload};
use crate::signal::target::Clamp;

impl OngoingRun<'_, '_> {
    /// Turns the load supply on. `false`: it trips at once; the loads that are shorts are
    /// disconnected then, and all others left as they are.
    pub fn load_supply_on(&mut self) -> Result<bool, StepStop> {
        if self.state.load_supply != LoadSupply::Sound {
            return Ok(false);
        }
        self.state.loads_were_on = true;
        let groups = self.groups();
        if groups.len() < 2 {
            return Ok(self.bench.load_supply_on()?);
        }
        self.bench.open_loads()?;
        if !self.bench.load_supply_on()? {
            return Ok(false);
        }
        let last = groups.len() - 1;
        for (at, group) in groups.iter().enumerate() {
            let switches: Vec<u16> = group.clamps.iter().map(|&c| self.load_switch(c)).collect();
            if trips(self.bench.send(&orders::close(&switches)))? {
                return Ok(false);
            }
            if at < last {
                self.bench.pause(group.pause)?;
            }
        }
        Ok(!self.bench.trips()?.loads)
    }

    /// The groups in which the loads go on: a load supply does not stand the first current of all lamps and
    /// motors at once.
    fn groups(&self) -> Vec<Group> {
        let real = self.plan.loads.as_ref().filter(|_| self.state.loads == LoadChoice::Real);
        let loaded: Vec<Clamp> = self.state.loaded().collect();
        let can_wait = loaded.iter().all(|&clamp| self.bench.has(self.load_switch(clamp)));
        real.filter(|_| can_wait).map(|sheet| groups(sheet, &loaded)).unwrap_or_default()
    }

    /// Why the load supply cuts off by what the load sheet says hangs there, if it does.
    pub fn too_much_by_the_sheet(&self, alone: Option<Clamp>) -> Option<String> {
        let sheet = self.plan.loads.as_ref().filter(|_| self.state.loads == LoadChoice::Real)?;
        match alone {
            Some(clamp) => cut_off_alone(sheet, &[clamp]),
            None => overload(sheet, &self.state.loaded().collect::<Vec<_>>()),
        }
    }

    /// Closes the switches of all loads that are connected and sound.
    pub fn close_loads(&mut self) -> Result<(), StepStop> {
        Ok(self.bench.close_loads(self.state.loads, self.state.loaded())?)
    }

    /// The switch that connects the load at a clamp.
    pub fn load_switch(&self, clamp: Clamp) -> u16 {
        load_switch(self.state.loads, clamp)
    }
}
