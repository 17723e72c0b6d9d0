//! What the capture of an operation shows, all together.

use super::operation::OperationCapture;
use crate::measure::change_over::ChangeOver;
use crate::measure::step::NoStep;
use crate::measure::transition::Transition;
use crate::run::order::Order;
use crate::script::plan::By;

/// What the capture of an operation shows.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'c> {
    pub order: Order,
    pub capture: &'c OperationCapture,
    /// `None` where nothing can be seen at this output.
    pub change: Option<ChangeOver>,
    /// How the current rose at the contact that closed; `None` where it did not, or no load is.
    pub rise: Option<Result<Transition, NoStep>>,
    /// The voltages tell that the output stands where it should.
    pub there_by_voltage: bool,
}

impl Shown<'_> {
    /// Whether the output has closed its new position.
    pub fn has_closed(&self) -> bool {
        self.change.is_some_and(|c| c.closed.is_some())
    }

    /// Why times and levels of the change-over are missing.
    pub fn why_missing(&self) -> &'static str {
        let Some(change) = self.change else {
            return "nothing can be seen at this output: no load supply or no channel";
        };
        if self.capture.tripped {
            "the load supply has tripped"
        } else if change.new_was_closed {
            "was there already"
        } else if change.closed.is_none() && change.opened.is_some() {
            "opened the old position but did not close the new one"
        } else if change.closed.is_none() {
            match self.order.by {
                By::Contact => "did not move by its contact input",
                By::Command | By::CommandAgainstContact => "did not move",
            }
        } else {
            "the old position was not closed before or did not open"
        }
    }
}
