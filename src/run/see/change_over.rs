//! The change-over of an output, by the currents, or by the voltages where there is no current to see.

use super::operation::OperationCapture;
use crate::measure::change_over::{ChangeOver, Contact, change_over};
use crate::measure::uncertainty::Estimate;
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE};

/// Share of the supply that a clamp's voltage must reach to count as closed where no current tells.
const CLOSED_VOLTAGE: f64 = 0.3;

/// A clamp of the output that moves.
#[derive(Clone, Copy, Debug)]
pub struct Side {
    pub clamp: Clamp,
    /// The least current that says that its contact is closed; `None` where nothing hangs on it that
    /// could carry any.
    pub least_a: Option<f64>,
}

/// The change-over from `old` to `new`; `None` where no channel shows it.
pub fn change(
    capture: &OperationCapture,
    supply: Estimate,
    old: Side,
    new: Side,
) -> Option<ChangeOver> {
    let contact = |side: Side, by_voltage: bool| {
        let (channel, least) = match side.least_a.filter(|_| !by_voltage) {
            Some(least_a) => (CLAMP_CURRENT, least_a),
            None => (CLAMP_VOLTAGE, CLOSED_VOLTAGE * supply.value),
        };
        Some(Contact { trace: capture.record.trace(side.clamp.channel(channel))?, least })
    };
    let of = |old_by_voltage, new_by_voltage| {
        let (old, new) = (contact(old, old_by_voltage)?, contact(new, new_by_voltage)?);
        Some(change_over(&capture.record, &old, &new, capture.start))
    };
    let by_current = of(false, false);
    let (old, new) = by_current.map_or((true, true), |c| {
        // No current where there is voltage: the load is missing, not the contact.
        (!c.old_was_closed, !c.new_was_closed && c.closed.is_none())
    });
    if old || new { of(old, new).or(by_current) } else { by_current }
}
