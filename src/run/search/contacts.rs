//! A contact input does nothing: does any?

use super::tell::close;
use crate::run::ongoing::OngoingRun;
use crate::run::order::Order;
use crate::run::step_stop::StepStop;
use crate::signal::target::Clamp;

/// A contact input does nothing: does any other one?
pub fn try_contacts(run: &mut OngoingRun<'_, '_>, wanted: &Order) -> Result<(), StepStop> {
    run.state.tried_contacts = true;
    if !run.load_supply_on()? {
        return Ok(());
    }
    let mut tried = 0;
    let mut works = false;
    for output in run.outputs().filter(|&o| o != wanted.output) {
        let before = run.look()?;
        let at = usize::from(output) - 1;
        let Some(stands) = before[at] else { continue };
        close(run, Clamp { output, position: stands.other() })?;
        tried += 1;
        if run.look()? != before {
            close(run, Clamp { output, position: stands })?;
            run.look()?;
            works = true;
            break;
        }
    }
    run.state.facts.contacts_dead = tried > 0 && !works;
    Ok(run.bench.load_supply_off()?)
}
