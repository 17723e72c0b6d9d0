//! Waiting for those who listen, with the feed off: a slow disk is waited for as long as it takes.

use super::event::{Event, ListenError};
use super::ongoing::OngoingRun;
use super::outcome::Ending;
use super::step_stop::StepStop;
use core::time::Duration;
use std::sync::atomic::Ordering;

/// After so long people are told what is waited for, and the jig hears that its host is still there.
const PATIENCE: Duration = Duration::from_secs(1);

impl OngoingRun<'_, '_> {
    /// Waits before the run begins. The feed has not been on yet.
    pub fn settle_before(&mut self) -> Result<(), StepStop> {
        let (mut heard, mut told) = (self.bench.jig.now(), false);
        while !self.settled()? {
            self.bench.check_stop()?;
            self.tell_once(&mut told)?;
            // A line whose clock stands still meanwhile needs nothing.
            if self.bench.jig.now() - heard >= PATIENCE {
                self.bench.clock_us()?;
                heard = self.bench.jig.now();
            }
        }
        Ok(())
    }

    /// Waits at the end of the run, which has ended so. Whoever stops it now waits no longer. Gives back
    /// how it ends for that.
    pub fn settle_at_end(&mut self, ending: Ending) -> Ending {
        let stop = self.bench.stop;
        let was_stopped = stop.swap(false, Ordering::Relaxed);
        let (mut heard, mut told) = (self.bench.jig.now(), false);
        let settled = loop {
            match self.settled() {
                Ok(true) => break Ok(()),
                Ok(false) => {}
                Err(error) => break Err(error),
            }
            if stop.load(Ordering::Relaxed) {
                break self.leave();
            }
            let _ = self.tell_once(&mut told);
            // It is safe already: that it is gone is told by whoever needs it next.
            if self.bench.jig.now() - heard >= PATIENCE {
                let _ = self.bench.clock_us();
                heard = self.bench.jig.now();
            }
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

    fn tell_once(&mut self, told: &mut bool) -> Result<(), StepStop> {
        if core::mem::replace(told, true) { Ok(()) } else { self.emit(&Event::WaitsForRecord) }
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
