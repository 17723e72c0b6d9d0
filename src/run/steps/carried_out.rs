//! What every action of a plan says of itself to a run.

use crate::judge::reading::Quantity;
use crate::run::ongoing::OngoingRun;
use crate::run::order::Order;
use crate::run::step_stop::StepStop;
use crate::script::actions::{Action, on_action};

/// An action as a run carries it out.
pub trait CarriedOut {
    /// Carries it out, and reads what there is to read.
    ///
    /// # Errors
    /// When the step must stop.
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop>;

    /// Which reading is missing when a supply trips in the middle of it.
    fn lost(&self) -> Lost;
}

/// What a trip of a supply takes away.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lost {
    /// No reading.
    Nothing,
    /// One.
    Reading(Quantity),
    /// All of an operation.
    Operation(Order),
}

/// An action, to be carried out.
pub fn carried_out(action: &Action) -> &dyn CarriedOut {
    on_action!(action, one => one)
}
