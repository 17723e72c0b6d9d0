//! The resistance from the load supply through the contact to the clamp, leads included.

use super::operation::OperationCapture;
use super::untrusted::Untrusted;
use crate::measure::contact_resistance::{Around, Classes, resistance};
use crate::measure::mean::Mean;
use crate::measure::uncertainty::Estimate;
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE, LOAD_VOLTAGE};

/// The channels that tell it: the voltages on either side and the current between them.
pub fn channels_around(clamp: Clamp) -> [u16; 3] {
    [LOAD_VOLTAGE, clamp.channel(CLAMP_VOLTAGE), clamp.channel(CLAMP_CURRENT)]
}

/// The resistance; `None` where the current is too small, or the load supply has tripped.
pub fn contact_resistance(capture: &OperationCapture, clamp: Clamp) -> Option<Estimate> {
    let zero = capture.without_current.filter(|_| !capture.tripped)?;
    let [supply, voltage, current] = channels_around(clamp);
    let on = Around {
        supply: capture.settled_mean(supply)?,
        clamp: capture.settled_mean(voltage)?,
        current: capture.settled_mean(current)?,
    };
    // The jig's own means say nothing of their noise; it is that of the same channels before.
    let at = |mean: &Mean, value: f64| Mean { value, drift: 0.0, ..*mean };
    let off = Around {
        supply: at(&on.supply, zero.supply),
        clamp: at(&on.clamp, zero.clamp),
        current: at(&on.current, zero.current),
    };
    let class = |channel| Some(capture.record.trace(channel)?.class);
    let classes =
        Classes { supply: class(supply)?, clamp: class(voltage)?, current: class(current)? };
    resistance(&on, &off, &classes)
}

/// Why a resistance that was found cannot be trusted.
pub fn untrusted(capture: &OperationCapture, clamp: Clamp, found: &Estimate) -> Option<Untrusted> {
    let touches = |channel: u16| {
        let trace = capture.record.trace(channel);
        trace.is_some_and(|t| t.end_touched(capture.settled()).is_some())
    };
    if capture.without_current.is_some_and(|z| z.is_cut_off)
        || channels_around(clamp).into_iter().any(touches)
    {
        Some(Untrusted::PartBeyond)
    } else {
        is_contradiction(found).then_some(Untrusted::Contradiction)
    }
}

/// Whether a resistance is below zero by more than its uncertainty: no contact can do that.
fn is_contradiction(estimate: &Estimate) -> bool {
    estimate.value + estimate.expanded() < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::uncertainty::Component;

    #[test]
    fn a_resistance_below_zero_by_more_than_its_uncertainty_is_a_contradiction() {
        let ohm = |value| Estimate::new(value, &[Component::standard(0.01)]);
        assert!(is_contradiction(&ohm(-0.03)));
        assert!(!is_contradiction(&ohm(-0.01)));
        assert!(!is_contradiction(&ohm(0.3)));
    }
}
