//! One capture: a ring that keeps what came before the trigger.

use super::block::{self, BlockSum};
use super::board::{Board, Unit};
use super::mean::Mean;
use super::sensor::{End, Ends, describe};
use super::sweep::Sweep;
use crate::wire::preamble::{CUT_OFF_HIGH, CUT_OFF_LOW, SCAN_MAX, State};
use heapless::Vec;

/// A poll takes scans for so long, in microseconds: more of them would hold the feed up.
const TURN_US: u64 = 2_000;

/// Scans came too fast for the brain, and one is missing: the time base would be wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ScanLost;

/// A capture, its counts in a memory that is kept beside it.
///
/// Points are numbered from the one taken first; the ring keeps the last `points` of them, point
/// `n` in slot `n % points`.
#[derive(Debug)]
pub struct Capture {
    unit: Unit,
    /// The settings with which it was armed.
    sweep: Sweep,
    id: u32,
    state: State,
    trigger_us: Option<u64>,
    /// The running number of the last command that began before it was armed.
    after_command: u32,
    armed_us: u64,
    /// Time of point 0.
    zero_us: Option<u64>,
    /// Points taken.
    taken: u64,
    /// Where the next one goes in the ring, in counts.
    next: usize,
    /// Time between conversions. It and the next two are kept: the jig's processor divides slowly.
    conversion_us: u64,
    mean: Mean,
    /// The first point that is no longer wanted, once that is known.
    end: Option<u64>,
    /// Where the conversions of each channel are cut off.
    ends: Vec<Ends, SCAN_MAX>,
    sums: [i32; SCAN_MAX],
    /// What stands for the point instead of a mean: one of its conversions was cut off.
    marks: [Option<i16>; SCAN_MAX],
    summed: u16,
    next_scan_us: Option<u64>,
    /// When the board's scans were last taken, and how long they may wait.
    drained_us: u64,
    wait_us: u64,
    /// First point of the block, once it stands.
    first: u64,
    sum: BlockSum,
}

impl Capture {
    /// A unit that was never armed.
    pub fn new(unit: Unit) -> Self {
        Capture {
            unit,
            sweep: Sweep::new(),
            id: 0,
            state: State::Empty,
            trigger_us: None,
            after_command: 0,
            armed_us: 0,
            zero_us: None,
            taken: 0,
            next: 0,
            conversion_us: 0,
            mean: Mean::of(1),
            end: None,
            ends: Vec::new(),
            sums: [0; SCAN_MAX],
            marks: [None; SCAN_MAX],
            summed: 0,
            next_scan_us: None,
            drained_us: 0,
            wait_us: 0,
            first: 0,
            sum: BlockSum::new(),
        }
    }

    /// How far it has come.
    pub fn state(&self) -> State {
        self.state
    }

    /// Whether it is armed or runs.
    pub fn is_active(&self) -> bool {
        matches!(self.state, State::Armed | State::Running)
    }

    /// Whether it waits, and nothing has triggered it yet.
    pub fn is_waiting(&self) -> bool {
        self.is_active() && self.trigger_us.is_none()
    }

    /// The identity of the capture.
    pub fn id(&self) -> u32 {
        self.id
    }

    /// The settings with which it was armed.
    pub fn sweep(&self) -> &Sweep {
        &self.sweep
    }

    /// The running number of the last command that began before it was armed.
    pub fn after_command(&self) -> u32 {
        self.after_command
    }

    /// Points in the block; 0 while it is not finished.
    pub fn points(&self) -> u32 {
        match self.state {
            State::Done | State::Aborted => (self.taken - self.first) as u32,
            State::Empty | State::Armed | State::Running => 0,
        }
    }

    /// Bytes in the block.
    pub fn bytes(&self) -> usize {
        self.points() as usize * self.sweep.channels.len() * 2
    }

    /// Time of the first point of the block, 0 while there is none.
    pub fn first_us(&self) -> u64 {
        match self.zero_us {
            Some(zero_us) if self.points() > 0 => {
                zero_us + self.first * u64::from(self.sweep.interval_us)
            }
            _ => 0,
        }
    }

    /// Time of the trigger, 0 while there is none.
    pub fn trigger_us(&self) -> u64 {
        self.trigger_us.unwrap_or(0)
    }

    /// CRC-32 of the block, once it has been worked out: [`Capture::poll`] does so piece by piece.
    pub fn crc(&self) -> Option<u32> {
        self.sum.of_all(self.bytes())
    }

    /// Starts to sample. The sweep has been checked.
    pub fn arm<B: Board>(
        &mut self,
        sweep: &Sweep,
        id: u32,
        after: u32,
        now_us: u64,
        board: &mut B,
    ) {
        *self = Capture {
            sweep: sweep.clone(),
            conversion_us: u64::from(sweep.conversion_us()),
            mean: Mean::of(sweep.average),
            id,
            state: State::Armed,
            after_command: after,
            drained_us: now_us,
            wait_us: board.scans_wait_us(),
            armed_us: now_us,
            ends: sweep
                .channels
                .iter()
                .filter_map(|&channel| describe(board.channels(), channel).map(Ends::of))
                .collect(),
            ..Capture::new(self.unit)
        };
        board.start_scans(self.unit, &self.sweep.channels, self.sweep.conversion_us());
    }

    /// Triggers a waiting capture; the time may lie ahead.
    pub fn trigger(&mut self, at_us: u64) {
        if self.is_waiting() {
            self.trigger_us = Some(at_us);
            self.set_end();
        }
    }

    /// Takes back a trigger that lies ahead: what was to cause it has been called off.
    pub fn untrigger_after(&mut self, now_us: u64) {
        if self.state == State::Armed && self.trigger_us.is_some_and(|at_us| at_us > now_us) {
            self.trigger_us = None;
            self.set_end();
        }
    }

    /// Ends it early; what it took is kept.
    pub fn abort<B: Board>(&mut self, board: &mut B) {
        if self.is_active() {
            self.finish(State::Aborted, board);
        }
    }

    /// Takes the scans that are due.
    ///
    /// # Errors
    /// [`ScanLost`]; the capture has been ended then.
    pub fn poll<B: Board>(
        &mut self,
        now_us: u64,
        memory: &mut [i16],
        board: &mut B,
    ) -> Result<(), ScanLost> {
        if !self.is_active() {
            if self.crc().is_none() {
                let mut sum = self.sum.clone();
                sum.go_on(|offset, piece| self.read(offset, memory, piece));
                self.sum = sum;
            }
            return Ok(());
        }
        if self.state == State::Armed && self.trigger_us.is_some_and(|at_us| at_us <= now_us) {
            self.state = State::Running;
        }
        if now_us < self.due_us() {
            return Ok(());
        }
        self.drain(now_us, now_us + TURN_US, memory, board)
    }

    /// Takes the scans that the board holds, until time is up.
    ///
    /// # Errors
    /// [`ScanLost`]; the capture has been ended then.
    pub fn drain<B: Board>(
        &mut self,
        now_us: u64,
        until_us: u64,
        memory: &mut [i16],
        board: &mut B,
    ) -> Result<(), ScanLost> {
        let columns = self.sweep.channels.len();
        let mut counts = [0; SCAN_MAX];
        while board.now_us() < until_us {
            if self.end.is_some_and(|end| self.taken >= end) {
                self.finish(State::Done, board);
                return Ok(());
            }
            let Some(scan_us) = board.next_scan(self.unit, &mut counts[..columns]) else {
                self.drained_us = now_us;
                return Ok(());
            };
            if self.take(scan_us, &counts[..columns], memory).is_err() {
                self.finish(State::Aborted, board);
                return Err(ScanLost);
            }
        }
        Ok(())
    }

    /// When [`Capture::poll`] has something to do next.
    pub fn wake_us(&self) -> u64 {
        match (self.state, self.trigger_us) {
            (State::Armed, Some(at_us)) => self.due_us().min(at_us),
            (State::Armed | State::Running, _) => self.due_us(),
            (State::Done | State::Aborted, _) if self.crc().is_none() => 0,
            _ => u64::MAX,
        }
    }

    /// The bytes of the block from `offset` on, as many as fit; returns how many.
    pub fn read(&self, offset: usize, memory: &[i16], into: &mut [u8]) -> usize {
        let left = self.bytes().saturating_sub(offset).min(into.len());
        let columns = self.sweep.channels.len();
        let ring = memory.get(..self.sweep.points as usize * columns).unwrap_or(&[]);
        if ring.is_empty() {
            return 0;
        }
        let first = self.slot(self.first) * columns;
        block::read(ring, first, offset, &mut into[..left]);
        left
    }

    /// One scan in; a point when it completes an average.
    fn take(&mut self, scan_us: u64, counts: &[i16], memory: &mut [i16]) -> Result<(), ScanLost> {
        let conversion_us = self.conversion_us;
        let average = self.sweep.average;
        if self.next_scan_us.is_some_and(|due_us| scan_us > due_us + conversion_us / 2) {
            return Err(ScanLost);
        }
        self.next_scan_us = Some(scan_us + conversion_us);
        if self.zero_us.is_none() {
            // The middle of the conversions that make the first point.
            self.zero_us = Some(scan_us + u64::from(average - 1) * conversion_us / 2);
            self.set_end();
        }
        if average > 1 && !self.add(counts) {
            return Ok(());
        }
        let slot = memory.get_mut(self.next..self.next + counts.len()).ok_or(ScanLost)?;
        if average > 1 {
            for ((value, sum), mark) in slot.iter_mut().zip(&mut self.sums).zip(&mut self.marks) {
                *value = mark.take().unwrap_or_else(|| self.mean.round(*sum));
                *sum = 0;
            }
        } else {
            slot.copy_from_slice(counts);
        }
        self.taken += 1;
        self.next += counts.len();
        if self.next >= self.sweep.points as usize * counts.len() {
            self.next = 0;
        }
        Ok(())
    }

    /// Adds conversions to the point that is being taken; true when it is complete.
    fn add(&mut self, counts: &[i16]) -> bool {
        let mut any_cut_off = false;
        for ((sum, count), ends) in self.sums.iter_mut().zip(counts).zip(&self.ends) {
            *sum += i32::from(*count);
            any_cut_off |= ends.is_touched(*count);
        }
        if any_cut_off {
            self.mark(counts);
        }
        self.summed += 1;
        let is_complete = self.summed >= self.sweep.average;
        if is_complete {
            self.summed = 0;
        }
        is_complete
    }

    /// Takes note of conversions that were cut off: in a mean they would not be seen.
    fn mark(&mut self, counts: &[i16]) {
        for ((count, ends), mark) in counts.iter().zip(&self.ends).zip(&mut self.marks) {
            match ends.touched(*count) {
                None => {}
                Some(End::Top) => *mark = Some(CUT_OFF_HIGH),
                Some(End::Bottom) => {
                    mark.get_or_insert(CUT_OFF_LOW);
                }
            }
        }
    }

    /// The point at the trigger: the first one not before it.
    fn trigger_point(&self) -> Option<u64> {
        let zero_us = self.zero_us.unwrap_or(self.armed_us);
        let after_us = self.trigger_us?.saturating_sub(zero_us);
        Some(after_us.div_ceil(u64::from(self.sweep.interval_us)))
    }

    fn set_end(&mut self) {
        let after = u64::from(self.sweep.points - self.sweep.before);
        self.end = self.trigger_point().map(|point| point + after);
    }

    /// When scans have to be taken next: when the last one must have come, else before the board's
    /// memory is full. Always later than when all were last taken.
    fn due_us(&self) -> u64 {
        let full_us = self.drained_us + self.wait_us;
        let Some(end) = self.end else {
            return full_us;
        };
        let conversion_us = self.conversion_us;
        let interval_us = u64::from(self.sweep.interval_us);
        let zero_us = self.zero_us.unwrap_or(self.armed_us);
        let complete_us = zero_us + end.saturating_sub(1) * interval_us + interval_us / 2 + 1;
        full_us.min(complete_us.max(self.drained_us + conversion_us.max(1)))
    }

    fn slot(&self, point: u64) -> usize {
        (point % u64::from(self.sweep.points.max(1))) as usize
    }

    fn finish<B: Board>(&mut self, state: State, board: &mut B) {
        board.stop_scans(self.unit);
        self.state = state;
        let oldest = self.taken.saturating_sub(u64::from(self.sweep.points));
        let wanted = self.trigger_point().map_or(oldest, |point| {
            point.saturating_sub(u64::from(self.sweep.before)).min(self.taken)
        });
        self.first = oldest.max(wanted);
    }
}
