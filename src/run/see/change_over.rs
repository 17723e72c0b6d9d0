//! The change-over of an output, by all that was captured of its two contacts.

use super::operation::OperationCapture;
use super::witness::{by_current, by_voltage};
use crate::measure::change_over::ChangeOver;
use crate::measure::contact::Contact;
use crate::measure::uncertainty::Estimate;
use crate::signal::target::Clamp;

/// A clamp of the output that moves.
#[derive(Clone, Copy, Debug)]
pub struct Side {
    pub clamp: Clamp,
    /// The least current that says that its contact is closed; `None` where nothing hangs on it that
    /// could carry enough to tell.
    pub least_a: Option<f64>,
}

/// The change-over from `old` to `new`; `None` where no channel shows it.
pub fn change(
    capture: &OperationCapture,
    supply: Estimate,
    old: Side,
    new: Side,
) -> Option<ChangeOver> {
    let record = &capture.record;
    let contact = |side: Side| {
        let current = side.least_a.and_then(|least_a| by_current(record, side.clamp, least_a));
        let voltage = by_voltage(record, side.clamp, supply);
        (current.is_some() || voltage.is_some()).then_some(Contact { current, voltage })
    };
    Some(ChangeOver::of(record, &contact(old)?, &contact(new)?, capture.start))
}
