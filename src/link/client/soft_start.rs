//! The end of the feed's soft start.

use super::{Jig, LinkError, micros};
use crate::wire::tree::query;
use core::time::Duration;
use std::sync::atomic::{AtomicBool, Ordering};

/// The jig ends a soft start within so much, one way or the other.
const LONGEST: Duration = Duration::from_secs(2);

/// Between two looks.
const LOOK_EVERY: Duration = Duration::from_millis(20);

impl Jig {
    /// Waits for the end of the feed's soft start. `false`: the feed has tripped. Comes back early
    /// when it shall stop.
    ///
    /// # Errors
    /// [`LinkError::SoftStartGoesOn`] when the jig never ends it; else see [`Jig::ask`].
    pub fn soft_start_ends(&mut self, stop: &AtomicBool) -> Result<bool, LinkError> {
        let until_us = self.clock_us()? + micros(LONGEST);
        while !stop.load(Ordering::Relaxed) {
            if self.trips()?.feed {
                return Ok(false);
            }
            if self.ask(&query::Charge {})?.done {
                return Ok(true);
            }
            let now_us = self.clock_us()?;
            if now_us >= until_us {
                return Err(LinkError::SoftStartGoesOn);
            }
            self.wait_until_us(now_us + micros(LOOK_EVERY), stop)?;
        }
        Ok(true)
    }
}
