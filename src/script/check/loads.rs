//! What a plan asks of the loads.

use super::state::Bench;
use crate::load::settled_current;
use crate::load::sheet::LoadSheet;
use crate::quantity::write;
use crate::script::plan::{LoadChoice, Plan, Step};
use crate::signal::target::Clamp;
use core::time::Duration;

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
        for message in messages {
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
