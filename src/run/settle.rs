//! Waiting for those who listen, with the feed off: a slow disk is waited for as long as it takes.

use super::event::{Event, ListenError, Listener};
use super::outcome::Ending;
use crate::procedure::bench::Bench;
use crate::procedure::error::BenchError;
use core::time::Duration;
use std::sync::atomic::Ordering;

/// After so long people are told what is waited for, and the jig hears that its host is still there.
const PATIENCE: Duration = Duration::from_secs(1);

/// Why nobody waits any longer.
#[derive(Debug, thiserror::Error)]
pub enum Unsettled {
    /// Somebody wants to stop, or the jig or the line fails.
    #[error(transparent)]
    Bench(#[from] BenchError),
    /// A listener cannot go on.
    #[error(transparent)]
    Listen(#[from] ListenError),
}

/// Who waits for whom.
pub struct Wait<'w, 'b, 'l> {
    bench: &'w mut Bench<'b>,
    listeners: &'w mut [&'l mut dyn Listener],
    told: bool,
    /// When the jig last heard of its host.
    heard: Duration,
}

impl<'w, 'b, 'l> Wait<'w, 'b, 'l> {
    /// For these listeners, while a jig is kept alive.
    pub fn new(bench: &'w mut Bench<'b>, listeners: &'w mut [&'l mut dyn Listener]) -> Self {
        let heard = bench.jig.now();
        Wait { bench, listeners, told: false, heard }
    }

    /// Waits before anything comes on.
    ///
    /// # Errors
    /// When somebody stops, the line fails, or a listener cannot go on.
    pub fn before(mut self) -> Result<(), Unsettled> {
        while !self.settled()? {
            self.bench.check_stop()?;
            self.tell_once()?;
            self.keep_alive()?;
        }
        Ok(())
    }

    /// Waits at the end, with everything off. Whoever stops it now waits no longer. Gives back how it ends
    /// for that.
    pub fn at_end(mut self, ending: Ending) -> Ending {
        let stop = self.bench.stop;
        let was_stopped = stop.swap(false, Ordering::Relaxed);
        let settled = loop {
            match self.settled() {
                Ok(true) => break Ok(()),
                Ok(false) => {}
                Err(error) => break Err(error),
            }
            if stop.load(Ordering::Relaxed) {
                break self.leave();
            }
            let _ = self.tell_once();
            // It is safe already: that it is gone is told by whoever needs it next.
            let _ = self.keep_alive();
        };
        stop.fetch_or(was_stopped, Ordering::Relaxed);
        match (ending, settled) {
            (Ending::Complete | Ending::EndedEarly(_), Err(ListenError::Unfinished(why))) => {
                Ending::Unrecorded(why)
            }
            (Ending::Complete | Ending::EndedEarly(_), Err(ListenError::Lost(why))) => {
                Ending::BenchTrouble(why)
            }
            (ending, _) => ending,
        }
    }

    /// Lets the jig hear now and then that its host is still there. A line whose clock stands still meanwhile
    /// needs nothing.
    fn keep_alive(&mut self) -> Result<(), BenchError> {
        if self.bench.jig.now() - self.heard < PATIENCE {
            return Ok(());
        }
        let heard = self.bench.clock_us();
        self.heard = self.bench.jig.now();
        heard.map(|_| ())
    }

    fn tell_once(&mut self) -> Result<(), ListenError> {
        if core::mem::replace(&mut self.told, true) {
            return Ok(());
        }
        let mut all = Ok(());
        for listener in self.listeners.iter_mut() {
            all = all.and(listener.on_event(&Event::WaitsForRecord));
        }
        all
    }

    /// Whether every listener has all where it should be; waits a while for each.
    fn settled(&mut self) -> Result<bool, ListenError> {
        let mut all = Ok(true);
        for listener in self.listeners.iter_mut() {
            all = all.and_then(|all| Ok(listener.settle(PATIENCE)? && all));
        }
        all
    }

    fn leave(&mut self) -> Result<(), ListenError> {
        let mut first = None;
        for listener in self.listeners.iter_mut() {
            first = first.or(listener.leave());
        }
        first.map_or(Ok(()), Err)
    }
}
