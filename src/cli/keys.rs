//! Single keys and scans: what comes until the keyboard is at rest is one thing.

use super::terminal::{self, SingleKeys, Typed};
use crate::muster::keys::{Input, understood};
use core::time::Duration;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// How soon it is noticed that the program shall stop.
const GLANCE: Duration = Duration::from_millis(50);

/// A keyboard is at rest when nothing has come from it for so long: scanners type faster, people slower.
const AT_REST: Duration = Duration::from_millis(120);

/// The longest burst that is listened to.
const LONGEST: usize = 4096;

/// The keyboard while somebody is waited for.
#[derive(Debug)]
pub struct Keys<'a> {
    stop: &'a AtomicBool,
    _single: SingleKeys,
}

/// Nothing will come any more: the program shall stop, or the keyboard is gone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoMore;

impl<'a> Keys<'a> {
    /// From now on each key counts by itself; what was typed before is thrown away.
    pub fn begin(stop: &'a AtomicBool) -> Self {
        let keys = Keys { stop, _single: SingleKeys::begin() };
        terminal::forget_typed();
        keys
    }

    /// The next thing that somebody wants.
    ///
    /// # Errors
    /// When nothing will come any more.
    pub fn next(&mut self) -> Result<Input, NoMore> {
        let mut burst = Vec::new();
        let mut since = Instant::now();
        loop {
            if self.stop.load(Ordering::Relaxed) {
                return Err(NoMore);
            }
            match terminal::wait_typed(GLANCE) {
                Typed::Gone => return Err(NoMore),
                Typed::Nothing if !burst.is_empty() && since.elapsed() >= AT_REST => {
                    return Ok(understood(&burst));
                }
                Typed::Nothing => {}
                Typed::Something => {
                    terminal::take_typed(&mut burst).ok_or(NoMore)?;
                    burst.truncate(LONGEST);
                    since = Instant::now();
                }
            }
        }
    }
}
