//! Everything that opens and closes, and the loads' longest times on.

use super::board::Board;
use super::duty::Duty;
use super::sensor::describe;
use crate::wire::channel::{
    BYPASS, CONTACT_CLOSER, JIG_LOAD, Kind, LOAD_SWITCH, SIGNAL_LIGHT, SOUNDER,
};
use crate::wire::error::{Error, ErrorCode};
use crate::wire::refusal::Refusal;

/// Longest time on and rest of the jig's own loads after reset, in microseconds.
const JIG_LOAD_DUTY: (u64, u64) = (20_000_000, 20_000_000);

/// No such switch.
const UNKNOWN: Error = ErrorCode::DataOutOfRange.because("no such switch");

/// The banks of eight in the order of their bits.
const BANKS: [u16; 4] = [CONTACT_CLOSER, LOAD_SWITCH, BYPASS, JIG_LOAD];
const LOAD_BANK: u32 = 8;
const BYPASS_BANK: u32 = 16;
const JIG_LOAD_BANK: u32 = 24;
const LIGHT_BIT: u32 = 32;
const SOUNDER_BIT: u32 = 33;

/// All switches with their duties.
#[derive(Debug)]
pub struct Switches {
    /// A bit a switch: four banks of eight, signal light, sounder.
    closed: u64,
    /// Per clamp: what hangs on it (behind load switch and bypass).
    loads: [Duty; 8],
    /// Per clamp: the jig's own load.
    jig_loads: [Duty; 8],
    loads_supplied: bool,
    advanced_us: u64,
    due_us: u64,
}

/// The bit of a switch.
fn bit(channel: u16) -> Option<u32> {
    match channel {
        SIGNAL_LIGHT => Some(LIGHT_BIT),
        SOUNDER => Some(SOUNDER_BIT),
        _ => BANKS.iter().zip(0..).find_map(|(&first, bank)| {
            let offset = channel.checked_sub(first).filter(|&offset| offset < 8)?;
            Some(bank * 8 + u32::from(offset))
        }),
    }
}

impl Switches {
    /// Everything open, duties as after reset, all loads cold.
    pub const fn new() -> Self {
        Switches {
            closed: 0,
            loads: [Duty::new(0, 0); 8],
            jig_loads: [Duty::new(JIG_LOAD_DUTY.0, JIG_LOAD_DUTY.1); 8],
            loads_supplied: false,
            advanced_us: 0,
            due_us: u64::MAX,
        }
    }

    /// Duties as after reset; the loads stay as warm as they are.
    pub fn reset_duties(&mut self) {
        for clamp in 0..8 {
            self.loads[clamp].set_limits_us(0, 0);
            self.jig_loads[clamp].set_limits_us(JIG_LOAD_DUTY.0, JIG_LOAD_DUTY.1);
        }
        self.plan();
    }

    /// Whether anything is closed.
    pub fn any_closed(&self) -> bool {
        self.closed != 0
    }

    /// Whether a load rests.
    pub fn any_resting(&self) -> bool {
        self.loads.iter().chain(&self.jig_loads).any(Duty::is_resting)
    }

    /// The largest share of its longest time on that a load has used whose switch is closed; call
    /// [`Switches::advance`] before.
    pub fn warmth(&self) -> f64 {
        let clamps = (0..8u32).flat_map(|clamp| {
            let closed = |bank: u32| self.closed >> (bank + clamp) & 1 == 1;
            let at = clamp as usize;
            [
                (closed(LOAD_BANK) || closed(BYPASS_BANK), &self.loads[at]),
                (closed(JIG_LOAD_BANK), &self.jig_loads[at]),
            ]
        });
        clamps.filter(|(closed, _)| *closed).map(|(_, duty)| duty.share()).fold(0.0, f64::max)
    }

    /// Whether a switch is closed.
    ///
    /// # Errors
    /// -222 when there is no such switch.
    pub fn is_closed<B: Board>(&self, channel: u16, board: &B) -> Result<bool, Error> {
        Ok(self.closed & (1 << known(channel, board)?) != 0)
    }

    /// Whether a switch may be closed now.
    ///
    /// # Errors
    /// -222 when there is no such switch, 111 while its load rests.
    pub fn check_close<B: Board>(&self, channel: u16, board: &B) -> Result<(), Error> {
        let bit = known(channel, board)?;
        if self.duty_of(bit).is_some_and(Duty::is_resting) {
            return Err(Refusal::LoadResting.into());
        }
        Ok(())
    }

    /// Opens or closes a switch, which has been checked.
    pub fn set<B: Board>(&mut self, channel: u16, closed: bool, board: &mut B) {
        let Some(bit) = bit(channel) else { return };
        let mask = 1 << bit;
        if (self.closed & mask != 0) != closed {
            self.closed ^= mask;
            board.set_switch(channel, closed);
            self.plan();
        }
    }

    /// Opens everything, also what should be open already.
    pub fn open_all<B: Board>(&mut self, board: &mut B) {
        self.closed = 0;
        let count = board.channels().len();
        for at in 0..count {
            let description = board.channels()[at];
            if description.kind == Kind::Switch {
                board.set_switch(description.channel, false);
            }
        }
        self.plan();
    }

    /// The duty of the load behind a load switch, a bypass or a jig load.
    ///
    /// # Errors
    /// -222 for any other channel.
    pub fn duty<B: Board>(&self, channel: u16, board: &B) -> Result<&Duty, Error> {
        known(channel, board)
            .ok()
            .and_then(|bit| self.duty_of(bit))
            .ok_or(ErrorCode::DataOutOfRange.because("no such load"))
    }

    /// Sets the duty of such a load, whose channel has been checked; call [`Switches::advance`]
    /// before.
    pub fn set_duty(&mut self, channel: u16, on_us: u64, rest_us: u64) {
        let Some(bit) = bit(channel) else { return };
        let clamp = (bit % 8) as usize;
        match bit - bit % 8 {
            LOAD_BANK | BYPASS_BANK => self.loads[clamp].set_limits_us(on_us, rest_us),
            JIG_LOAD_BANK => self.jig_loads[clamp].set_limits_us(on_us, rest_us),
            _ => {}
        }
        self.plan();
    }

    fn duty_of(&self, bit: u32) -> Option<&Duty> {
        let clamp = (bit % 8) as usize;
        match bit - bit % 8 {
            LOAD_BANK | BYPASS_BANK => Some(&self.loads[clamp]),
            JIG_LOAD_BANK => Some(&self.jig_loads[clamp]),
            _ => None,
        }
    }

    /// Lets time pass up to now; call it before a switch or the load supply changes. True when a
    /// load was on for too long: its switches have been opened.
    pub fn advance<B: Board>(&mut self, now_us: u64, board: &mut B) -> bool {
        let time_us = now_us.saturating_sub(self.advanced_us);
        self.advanced_us = now_us;
        let mut opened = false;
        for clamp in 0..8u32 {
            let (load, jig_load) = self.heating(clamp);
            let channel = clamp as u16;
            if self.loads[clamp as usize].advance(time_us, load) {
                self.set(LOAD_SWITCH + channel, false, board);
                self.set(BYPASS + channel, false, board);
                opened = true;
            }
            if self.jig_loads[clamp as usize].advance(time_us, jig_load) {
                self.set(JIG_LOAD + channel, false, board);
                opened = true;
            }
        }
        self.plan();
        opened
    }

    /// Tells that the load supply has been switched; call [`Switches::advance`] before.
    pub fn set_supplied(&mut self, on: bool) {
        self.loads_supplied = on;
        self.plan();
    }

    /// When [`Switches::advance`] has something to do next.
    pub fn wake_us(&self) -> u64 {
        self.due_us
    }

    /// Works out when a load will have been on for too long, or will have rested.
    fn plan(&mut self) {
        let mut left_us = u64::MAX;
        for clamp in 0..8u32 {
            let (load, jig_load) = self.heating(clamp);
            for (duty, on) in
                [(&self.loads[clamp as usize], load), (&self.jig_loads[clamp as usize], jig_load)]
            {
                let next = if on { duty.time_left_us() } else { duty.rest_left_us() };
                left_us = left_us.min(next.unwrap_or(u64::MAX));
            }
        }
        self.due_us = self.advanced_us.saturating_add(left_us);
    }

    /// Whether a clamp's load and its jig load warm up.
    fn heating(&self, clamp: u32) -> (bool, bool) {
        let closed = |bank: u32| self.closed >> (bank + clamp) & 1 == 1;
        (
            self.loads_supplied && (closed(LOAD_BANK) || closed(BYPASS_BANK)),
            self.loads_supplied && closed(JIG_LOAD_BANK),
        )
    }
}

impl Default for Switches {
    fn default() -> Self {
        Self::new()
    }
}

/// The bit of a switch that the board has.
fn known<B: Board>(channel: u16, board: &B) -> Result<u32, Error> {
    describe(board.channels(), channel)
        .filter(|d| d.kind == Kind::Switch)
        .and_then(|d| bit(d.channel))
        .ok_or(UNKNOWN)
}
