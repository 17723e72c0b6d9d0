//! The loads of a run: which are connected and sound.

use super::ongoing::OngoingRun;
use super::state::LoadSupply;
use super::step_stop::StepStop;
use crate::procedure::loads::load_switch;
use crate::signal::target::Clamp;

impl OngoingRun<'_, '_> {
    /// Turns the load supply on. `false`: it trips at once; the loads that are shorts are
    /// disconnected then, and all others left as they are.
    pub fn load_supply_on(&mut self) -> Result<bool, StepStop> {
        if self.state.load_supply != LoadSupply::Sound {
            return Ok(false);
        }
        self.state.loads_were_on = true;
        Ok(self.bench.load_supply_on()?)
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
