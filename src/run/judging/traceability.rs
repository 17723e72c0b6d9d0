//! Which calibration stands behind a reading.

use crate::calibration::correction::Corrections;
use crate::judge::quantity::Channel;
use crate::judge::reading::{Quantity, Traceability};
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, LOAD_TOTAL};

/// What stands behind a reading. Only current channels are calibrated.
pub fn traceability(
    corrections: Option<&Corrections>,
    quantity: Quantity,
    clamp: Option<Clamp>,
) -> Traceability {
    let channel = match (quantity.channel(), clamp) {
        (Channel::NotNeeded, _) => return Traceability::NotNeeded,
        (Channel::NeverCalibrated, _) | (Channel::ClampCurrent, None) => {
            return Traceability::Uncalibrated;
        }
        (Channel::FeedCurrent, _) => FEED_CURRENT,
        (Channel::LoadTotal, _) => LOAD_TOTAL,
        (Channel::ClampCurrent, Some(clamp)) => clamp.channel(CLAMP_CURRENT),
    };
    match corrections {
        Some(used) if used.of(channel).is_some() => Traceability::Calibration(used.name.clone()),
        _ => Traceability::Uncalibrated,
    }
}
