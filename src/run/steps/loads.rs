//! Which loads are connected.

use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::PastModule;
use crate::procedure::orders::duty;
use crate::quantity::unit::duration;
use crate::run::ongoing::OngoingRun;
use crate::run::state::LoadSupply;
use crate::run::step_stop::StepStop;
use crate::script::actions::ConnectLoads;
use crate::script::plan::LoadChoice;
use crate::signal::target::Clamp;
use crate::wire::channel::LOAD_SWITCH;

impl CarriedOut for ConnectLoads {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        connect(run, self.choice, &self.clamps)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

/// Connects loads to clamps, and disconnects all others.
pub fn connect(
    run: &mut OngoingRun<'_, '_>,
    choice: LoadChoice,
    clamps: &[Clamp],
) -> Result<(), StepStop> {
    let state = &mut run.state;
    state.loads = choice;
    state.connected = [false; 8];
    if choice != LoadChoice::None {
        clamps.iter().for_each(|c| state.connected[c.index()] = true);
    }
    state.shorted = [false; 8];
    state.telling = [false; 8];
    state.past_module = [PastModule::Unknown; 8];
    state.load_supply = LoadSupply::Sound;
    for clamp in clamps {
        run.state.telling[clamp.index()] = run.draws_enough(*clamp);
    }
    run.bench.load_supply_off()?;
    run.bench.open_loads()?;
    if choice == LoadChoice::Real {
        keep_duties(run, clamps)?;
    }
    run.close_loads()
}

/// Has the jig keep the longest on-time and the rest of the real loads.
fn keep_duties(run: &mut OngoingRun<'_, '_>, clamps: &[Clamp]) -> Result<(), StepStop> {
    let Some(sheet) = run.plan.loads.as_ref() else { return Ok(()) };
    let of = |clamp: &Clamp| {
        let load = sheet.clamps[clamp.index()].as_ref()?;
        let on = load.on_time?;
        let rest = load.rest.unwrap_or(on);
        Some((duration(on), duration(rest), [clamp.channel(LOAD_SWITCH)]))
    };
    let limits: Vec<_> = clamps.iter().filter_map(of).collect();
    if limits.is_empty() {
        return Ok(());
    }
    let duties: Vec<_> = limits.iter().map(|(on, rest, load)| duty(*on, *rest, load)).collect();
    Ok(run.bench.send(&duties)?)
}
