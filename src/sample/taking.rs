//! One measurement of a specimen: off, then on past the module, and off again.

use super::limits::Measurement;
use crate::load::jig::PATH_OHM;
use crate::measure::budget::Source;
use crate::measure::record::Record;
use crate::measure::uncertainty::{Component, Estimate};
use crate::procedure::bench::Bench;
use crate::procedure::error::BenchError;
use crate::procedure::references::{Duty, Place, Powered, WINDOW};
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_VOLTAGE, LOAD_VOLTAGE};
use core::time::Duration;
use thiserror::Error;

/// How long a load is on after it has settled, at most: the window is sampled, and a line takes its
/// time.
pub const ON_AFTER_SETTLING: Duration = Duration::from_secs(1);

/// How long the load is on, and rests.
#[derive(Clone, Copy, Debug)]
pub struct Timing {
    /// How long after switching on it has settled.
    pub settle: Duration,
    /// How long it may be on at a time, and then rests.
    pub duty: Duty,
}

/// Why a specimen is not measured.
#[derive(Debug, Error)]
pub enum TakingError {
    /// The supply does not stand it.
    #[error(
        "the load supply trips with this load: look for a short, and whether the load takes more \
         than the supply gives"
    )]
    Trips,
    /// The jig has let it rest.
    #[error(
        "the jig switched the load off in the middle, because it was on for as long as it may: give \
         a longer --longest-on, if the load stands it"
    )]
    OnTooLong,
    /// A channel cannot tell it.
    #[error("channel {0} stands at the end of its range: this jig cannot measure this load")]
    Clipped(u16),
    /// A capture came short.
    #[error("the jig sent too few samples: look at its cable, then measure again")]
    TooFew,
    /// The bench.
    #[error(transparent)]
    Bench(#[from] BenchError),
}

/// Measures a specimen once. Returns the voltage of the load supply too.
///
/// # Errors
/// See [`TakingError`].
pub fn measure_once(
    bench: &mut Bench<'_>,
    clamp: Clamp,
    timing: Timing,
    specimen: u32,
) -> Result<(Measurement, f64), TakingError> {
    let place = Place::Clamp(clamp);
    let (current, voltage) = (place.channel(), clamp.channel(CLAMP_VOLTAGE));
    let has_voltage = bench.has(voltage);
    let off = bench.sample(vec![current], WINDOW)?;
    if bench.power_for(place, timing.duty, timing.settle)? == Powered::Tripped {
        return Err(TakingError::Trips);
    }
    let mut channels = vec![current, LOAD_VOLTAGE];
    channels.extend(Some(voltage).filter(|_| has_voltage));
    let on = bench.sample(channels.clone(), WINDOW)?;
    let rested = bench.has_rested()?;
    bench.make_safe()?;
    if rested {
        bench.let_loads_rest(2 * timing.duty.rest)?;
        return Err(TakingError::OnTooLong);
    }
    if let Some(channel) = channels.into_iter().find(|&c| on.is_cut_off(c)) {
        return Err(TakingError::Clipped(channel));
    }
    let amperes = above(&on, &off, current).ok_or(TakingError::TooFew)?;
    let supply = mean(&on, LOAD_VOLTAGE).ok_or(TakingError::TooFew)?;
    let across = if has_voltage {
        mean(&on, voltage).ok_or(TakingError::TooFew)?
    } else {
        // Somewhere between the supply's and what the way may take.
        let half = amperes.value * PATH_OHM / 2.0;
        Estimate::of(supply.value - half, supply.budget)
            .with(Component::rectangular(half).from(Source::Other))
    };
    let moved_a = moved(&on, current).ok_or(TakingError::TooFew)?;
    Ok((Measurement { specimen, current: amperes, voltage: across, moved_a }, supply.value))
}

fn mean(record: &Record, channel: u16) -> Option<Estimate> {
    let trace = record.trace(channel)?;
    Some(trace.mean(..)?.estimate(&trace.class))
}

/// The current above that without the load: the channel's offset falls out.
fn above(on: &Record, off: &Record, channel: u16) -> Option<Estimate> {
    let trace = on.trace(channel)?;
    let zero = off.trace(channel)?.mean(..)?;
    Some(trace.mean(..)?.less(&zero, &trace.class))
}

/// The mean of the window's last fifth less that of its first.
fn moved(record: &Record, channel: u16) -> Option<f64> {
    let trace = record.trace(channel)?;
    let (all, fifth) = (record.scans(), record.scans() / 5);
    Some(trace.mean(all - fifth..)?.value - trace.mean(..fifth)?.value)
}
