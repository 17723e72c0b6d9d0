//! How long each load has been on.
//!
//! The jig keeps a bucket for each clamp that fills while the load is on and runs out while it
//! rests; a full bucket opens the load's switch. A plan that would get there is wrong.

use crate::load::sheet::Load;
use crate::quantity::unit::Units;
use crate::quantity::write;
use crate::signal::target::Clamp;
use core::time::Duration;

/// What fills one clamp's bucket, in seconds.
#[derive(Clone, Copy, Debug, Default)]
struct Bucket {
    /// On-time that the load has not rested off yet.
    filled: f64,
    /// On-time within the present step.
    on: f64,
    /// How much on-time a second of rest takes off. Without a stated rest a load rests for as long
    /// as it may be on.
    drain: f64,
}

/// The buckets of all clamps.
#[derive(Clone, Debug, Default)]
pub(super) struct Heat([Bucket; 8]);

impl Heat {
    /// A load is on for a time within the present step; says so when that is too long for it.
    pub(super) fn on(&mut self, clamp: Clamp, load: &Load, time: Duration) -> Option<String> {
        let longest = load.on_time?;
        let bucket = &mut self.0[clamp.index()];
        bucket.on += time.as_secs_f64();
        bucket.drain = match load.rest {
            Some(rest) if rest.si() > 0.0 => longest.si() / rest.si(),
            Some(_) => f64::MAX,
            None => 1.0,
        };
        if bucket.filled + bucket.on <= longest.si() {
            return None;
        }
        let (name, longest) = (&load.name, write::brief(longest));
        let rest = load.rest.map(|r| format!(" and then rests for {}", write::brief(r)));
        Some(format!(
            "too long for the load at {clamp} ({name}): it may be on for {longest}{}",
            rest.unwrap_or_default()
        ))
    }

    /// The present step ends after a time: what was not on rested.
    pub(super) fn end_step(&mut self, time: Duration) {
        for bucket in &mut self.0 {
            let rested = (time.as_secs_f64() - bucket.on).max(0.0);
            bucket.filled = (bucket.filled + bucket.on - rested * bucket.drain).max(0.0);
            bucket.on = 0.0;
        }
    }
}
