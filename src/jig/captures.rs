//! The two captures that can run side by side, with their memories.

use super::board::{Board, Unit};
use super::capture::{Capture, ScanLost};
use super::drive::Mark;
use super::sweep::{Source, Sweep};
use crate::wire::error::{Error, ErrorCode};

/// Counts that the fast unit holds.
pub const FAST_COUNTS: usize = 32_768;
/// Counts that the watch unit holds.
pub const WATCH_COUNTS: usize = 8_192;

/// Both units.
#[derive(Debug)]
pub struct Captures {
    sweeps: [Sweep; 2],
    units: [Capture; 2],
    fast: [i16; FAST_COUNTS],
    watch: [i16; WATCH_COUNTS],
    last_id: u32,
}

const fn index(unit: Unit) -> usize {
    match unit {
        Unit::Capture => 0,
        Unit::Watch => 1,
    }
}

impl Captures {
    /// Nothing captured yet, settings as after reset.
    pub fn new() -> Self {
        Captures {
            sweeps: [Sweep::new(), Sweep::new()],
            units: [Capture::new(Unit::Capture), Capture::new(Unit::Watch)],
            fast: [0; FAST_COUNTS],
            watch: [0; WATCH_COUNTS],
            last_id: 0,
        }
    }

    /// The settings of a unit.
    pub fn sweep(&self, unit: Unit) -> &Sweep {
        &self.sweeps[index(unit)]
    }

    /// The settings of a unit, to be changed.
    pub fn sweep_mut(&mut self, unit: Unit) -> &mut Sweep {
        &mut self.sweeps[index(unit)]
    }

    /// Counts that a unit's memory holds.
    pub const fn memory(unit: Unit) -> usize {
        match unit {
            Unit::Capture => FAST_COUNTS,
            Unit::Watch => WATCH_COUNTS,
        }
    }

    /// The last capture of a unit.
    pub fn capture(&self, unit: Unit) -> &Capture {
        &self.units[index(unit)]
    }

    /// Whether a capture is armed or runs.
    pub fn is_active(&self) -> bool {
        self.units.iter().any(Capture::is_active)
    }

    /// Arms a unit.
    ///
    /// # Errors
    /// -213 when it is under way already; see also [`Sweep::check`].
    pub fn arm<B: Board>(
        &mut self,
        unit: Unit,
        begun: u32,
        now_us: u64,
        board: &mut B,
    ) -> Result<(), Error> {
        if self.capture(unit).is_active() {
            return Err(ErrorCode::InitIgnored.into());
        }
        let sweep = &self.sweeps[index(unit)];
        sweep.check(board.channels(), Self::memory(unit))?;
        self.last_id = self.last_id.wrapping_add(1).max(1);
        let capture = &mut self.units[index(unit)];
        capture.arm(sweep, self.last_id, begun, now_us, board);
        if sweep.source == Source::Immediate {
            capture.trigger(now_us);
        }
        Ok(())
    }

    /// Triggers a unit by hand.
    ///
    /// # Errors
    /// -211 when it does not wait.
    pub fn trigger(&mut self, unit: Unit, now_us: u64) -> Result<(), Error> {
        let capture = &mut self.units[index(unit)];
        if !capture.is_waiting() {
            return Err(ErrorCode::TriggerIgnored.into());
        }
        capture.trigger(now_us);
        Ok(())
    }

    /// A command has been queued to its end.
    pub fn sent(&mut self, mark: Mark) {
        for capture in &mut self.units {
            if capture.sweep().source == Source::Sent && mark.number > capture.after_command() {
                capture.trigger(mark.end_us);
            }
        }
    }

    /// A timed contact closure has begun.
    pub fn contact(&mut self, now_us: u64) {
        for capture in &mut self.units {
            if capture.sweep().source == Source::Contact {
                capture.trigger(now_us);
            }
        }
    }

    /// The commands that wait or go out have been called off.
    pub fn called_off(&mut self, now_us: u64) {
        for capture in &mut self.units {
            capture.untrigger_after(now_us);
        }
    }

    /// Ends a unit's capture; the scans taken until now are kept.
    pub fn abort<B: Board>(&mut self, unit: Unit, now_us: u64, board: &mut B) {
        let (capture, memory) = self.parts(unit);
        if capture.is_active() {
            // A lost scan has ended it too.
            let _ = capture.drain(now_us, memory, board);
            capture.abort(memory, board);
        }
    }

    /// Ends both captures.
    pub fn abort_all<B: Board>(&mut self, now_us: u64, board: &mut B) {
        self.abort(Unit::Capture, now_us, board);
        self.abort(Unit::Watch, now_us, board);
    }

    /// Forgets settings and captures; both have been ended.
    pub fn reset(&mut self) {
        self.sweeps = [Sweep::new(), Sweep::new()];
        self.units = [Capture::new(Unit::Capture), Capture::new(Unit::Watch)];
    }

    /// Takes the scans that are due.
    ///
    /// # Errors
    /// [`ScanLost`].
    pub fn poll<B: Board>(&mut self, now_us: u64, board: &mut B) -> Result<(), ScanLost> {
        let mut result = Ok(());
        for unit in [Unit::Capture, Unit::Watch] {
            let (capture, memory) = self.parts(unit);
            result = result.and(capture.poll(now_us, memory, board));
        }
        result
    }

    /// When [`Captures::poll`] has something to do next.
    pub fn wake_us(&self) -> u64 {
        self.units[0].wake_us().min(self.units[1].wake_us())
    }

    /// The bytes of a unit's block from `offset` on, as many as fit; returns how many.
    pub fn read(&self, unit: Unit, offset: usize, into: &mut [u8]) -> usize {
        let memory: &[i16] = match unit {
            Unit::Capture => &self.fast,
            Unit::Watch => &self.watch,
        };
        self.capture(unit).read(offset, memory, into)
    }

    fn parts(&mut self, unit: Unit) -> (&mut Capture, &mut [i16]) {
        match unit {
            Unit::Capture => (&mut self.units[0], &mut self.fast),
            Unit::Watch => (&mut self.units[1], &mut self.watch),
        }
    }
}

impl Default for Captures {
    fn default() -> Self {
        Self::new()
    }
}
