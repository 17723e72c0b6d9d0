//! Single keys and scans: what comes until the keyboard is at rest is one thing.

use crate::muster::keys::{Input, understood};
use crate::system::terminal::{self, SingleKeys};
use crate::system::typed::Typed;
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
    /// What came since the keyboard was last at rest, and when.
    burst: Vec<u8>,
    since: Instant,
}

/// Nothing will come any more: the program shall stop, or the keyboard is gone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoMore;

impl<'a> Keys<'a> {
    /// From now on each key counts by itself; what was typed before is thrown away.
    pub fn begin(stop: &'a AtomicBool) -> Self {
        let single = SingleKeys::begin();
        let mut keys = Keys { stop, _single: single, burst: Vec::new(), since: Instant::now() };
        keys.forget();
        keys
    }

    /// What was typed until now counts for nothing.
    pub fn forget(&mut self) {
        terminal::forget_typed();
        self.burst.clear();
    }

    /// What has come, at once; `None`: nothing.
    pub fn at_once(&mut self) -> Option<Vec<u8>> {
        let mut typed = Vec::new();
        if terminal::wait_typed(Duration::ZERO) == Typed::Something {
            terminal::take_typed(&mut typed)?;
        }
        (!typed.is_empty()).then_some(typed)
    }

    /// What has come until the keyboard was at rest; `None`: nothing yet. Waits a moment for it.
    ///
    /// # Errors
    /// When nothing will come any more.
    pub fn burst(&mut self) -> Result<Option<Vec<u8>>, NoMore> {
        match terminal::wait_typed(GLANCE) {
            Typed::Gone => return Err(NoMore),
            Typed::Nothing if !self.burst.is_empty() && self.since.elapsed() >= AT_REST => {
                return Ok(Some(core::mem::take(&mut self.burst)));
            }
            Typed::Nothing => {}
            Typed::Something => {
                terminal::take_typed(&mut self.burst).ok_or(NoMore)?;
                self.burst.truncate(LONGEST);
                self.since = Instant::now();
            }
        }
        Ok(None)
    }

    /// The next thing that somebody wants.
    ///
    /// # Errors
    /// When nothing will come any more.
    pub fn next(&mut self) -> Result<Input, NoMore> {
        loop {
            if self.stop.load(Ordering::Relaxed) {
                return Err(NoMore);
            }
            if let Some(burst) = self.burst()? {
                return Ok(understood(&burst));
            }
        }
    }
}
