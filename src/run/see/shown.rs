//! What the capture of an operation shows, all together.

use super::operation::OperationCapture;
use crate::judge::reading::Quantity;
use crate::measure::change_over::ChangeOver;
use crate::measure::contact::ToldBy;
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
        } else if change.holds_up {
            "neither the current nor the voltage tells when the old position opened: its load holds the \
             clamp up"
        } else if change.closed.is_some_and(|c| c.last.is_none()) {
            "the current lags its contact, and no voltage tells: the last closing cannot be told"
        } else {
            "the old position was not closed before or did not open"
        }
    }

    /// Whether nothing captured tells where the output stands, though the load supply is there.
    pub fn is_position_untold(&self) -> bool {
        let order = &self.order;
        self.capture.supply.is_some()
            && !self.capture.tripped
            && self.capture.standing.of(order.output).is_none()
            && self.change.is_none_or(|change| change.holds_up)
    }

    /// Whether a time is missing of which nothing captured can tell: that is no failure.
    pub fn is_untold(&self, quantity: Quantity) -> bool {
        self.change.is_some_and(|change| match quantity {
            Quantity::BounceTime => change.closed.is_some_and(|c| c.last.is_none()),
            Quantity::Gap => change.closed.is_some() && change.holds_up,
            _ => false,
        })
    }

    /// What a time stands on, in words.
    pub fn stands_on(&self, quantity: Quantity) -> String {
        let (opened, closed) = self.change.map_or((None, None), |change| change.told_by());
        let words = |told_by: Option<ToldBy>| told_by.map_or("nothing", ToldBy::words);
        match quantity {
            Quantity::Gap => {
                format!("opening told by the {}, closing by the {}", words(opened), words(closed))
            }
            _ => format!("closing told by the {}", words(closed)),
        }
    }
}
