//! The two captures that can run side by side.

use super::board::{Board, Unit};
use super::capture::{Capture, ScanLost};
use super::drive::Mark;
use super::memory::MemoryRef;
use super::sweep::Sweep;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::words::TriggerSource;

/// Both units.
#[derive(Debug)]
pub struct Captures {
    sweeps: [Sweep; 2],
    units: [Capture; 2],
    memory: MemoryRef,
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
    pub fn new(memory: MemoryRef) -> Self {
        Captures {
            sweeps: [Sweep::new(), Sweep::new()],
            units: [Capture::new(Unit::Capture), Capture::new(Unit::Watch)],
            memory,
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
    pub fn memory(&self, unit: Unit) -> usize {
        self.memory.of(unit).len()
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
        sweep.check(board.channels(), self.memory(unit))?;
        self.last_id = self.last_id.wrapping_add(1).max(1);
        let capture = &mut self.units[index(unit)];
        capture.arm(sweep, self.last_id, begun, now_us, board);
        if sweep.source == TriggerSource::Immediate {
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
            if capture.sweep().source == TriggerSource::Sent
                && mark.number > capture.after_command()
            {
                capture.trigger(mark.end_us);
            }
        }
    }

    /// A timed contact closure has begun.
    pub fn contact(&mut self, now_us: u64) {
        for capture in &mut self.units {
            if capture.sweep().source == TriggerSource::Contact {
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
            let _ = capture.drain(now_us, u64::MAX, memory, board);
            capture.abort(board);
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
        self.capture(unit).read(offset, self.memory.of(unit), into)
    }

    fn parts(&mut self, unit: Unit) -> (&mut Capture, &mut [i16]) {
        (&mut self.units[index(unit)], self.memory.of_mut(unit))
    }
}
