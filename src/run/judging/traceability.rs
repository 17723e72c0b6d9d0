//! Which calibration stands behind a reading.

use crate::calibration::correction::Corrections;
use crate::judge::quantity::Channel;
use crate::judge::reading::{Backing, Quantity};
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, LOAD_TOTAL};

/// What stands behind a reading. Only current channels are calibrated.
pub fn traceability(
    corrections: Option<&Corrections>,
    quantity: Quantity,
    clamp: Option<Clamp>,
) -> Backing {
    let channel = match (quantity.channel(), clamp) {
        (Channel::NotNeeded, _) => return Backing::NotNeeded,
        (Channel::NeverCalibrated, _) | (Channel::ClampCurrent, None) => {
            return Backing::Uncalibrated;
        }
        (Channel::FeedCurrent, _) => FEED_CURRENT,
        (Channel::LoadTotal, _) => LOAD_TOTAL,
        (Channel::ClampCurrent, Some(clamp)) => clamp.channel(CLAMP_CURRENT),
    };
    match corrections {
        Some(used) if used.of(channel).is_some() => Backing::Calibration(used.name.clone()),
        _ => Backing::Uncalibrated,
    }
}
