//! Time that passes: the step's slot does it.

use super::carried_out::{CarriedOut, Lost};
use crate::run::ongoing::OngoingRun;
use crate::run::step_stop::StepStop;
use crate::script::actions::Wait;

impl CarriedOut for Wait {
    fn carry_out(&self, _: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        Ok(())
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}
