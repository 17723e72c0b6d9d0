//! A bench with a module of an invented kind, and what one does to it.

use crate::jig::board::{Board, FeedDrive};
use crate::signal::dcc::{self, Numbering};
use crate::signal::pulse::{Level, Pulse};
use crate::signal::target::{Format, Position};
use crate::signal::telegram::{Telegram, command};
use crate::simulated_bench::faults::Fault;
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;
use crate::simulated_bench::{LOAD_SUPPLY_V, Setup, SimulatedBoard};

/// Address switches as they are set: group 5.
pub const SWITCHES: u32 = 0b0101;

/// A module with its switches set, real loads and faults.
pub fn setup(
    kind: Kind,
    seed: u64,
    loads: [LoadModel; 8],
    faults: Vec<(&'static Fault, f64)>,
) -> Setup {
    Setup {
        kind,
        loads,
        load_supply_v: LOAD_SUPPLY_V,
        faults,
        placed: Vec::new(),
        seeds: seed.into(),
        switches: SWITCHES,
        auxiliary: false,
        beside: Vec::new(),
    }
}

/// The bench and the queue of idle packets that keeps it fed.
pub struct Rig {
    pub board: SimulatedBoard,
    format: Format,
    direction_of_a: u8,
    numbering: Numbering,
    first_address: u16,
}

impl Rig {
    /// A sound module.
    pub fn sound(seed: u64) -> Self {
        Self::with(Kind::example(), seed, vec![])
    }

    /// A module with faults.
    pub fn with(kind: Kind, seed: u64, faults: Vec<(&'static Fault, f64)>) -> Self {
        Self::of(setup(kind, seed, [const { LoadModel::OPEN }; 8], faults))
    }

    /// Any set-up.
    pub fn of(setup: Setup) -> Self {
        let kind = &setup.kind;
        let format_on = kind.format_switch.is_some_and(|n| setup.switches >> (n - 1) & 1 == 1);
        let format = if format_on { kind.format_when_on } else { kind.format_when_off };
        let sum: i32 = (kind.switch_weights.iter().enumerate())
            .filter(|(i, _)| setup.switches >> i & 1 == 1)
            .map(|(_, w)| i32::from(*w))
            .sum();
        let first_address = (sum * i32::from(kind.address_step) + kind.address_base) as u16;
        let (direction_of_a, numbering) = (kind.direction_of_a, kind.numbering);
        Rig { board: SimulatedBoard::new(setup), format, direction_of_a, numbering, first_address }
    }

    /// Address of output 1.
    pub fn first_address(&self) -> u16 {
        self.first_address
    }

    /// Lets time pass with idle packets on the feed.
    pub fn pass(&mut self, seconds: f64) {
        let end_us = self.board.now_us() + (seconds * 1e6) as u64;
        while self.board.now_us() < end_us {
            if self.format == Format::Dcc && self.board.drive_end_us() < self.board.now_us() + 3_000
            {
                let idle: Vec<Pulse> = dcc::pulses(&dcc::IDLE).collect();
                self.board.drive(&idle);
            }
            let next_us = (self.board.now_us() + 2_000).min(end_us);
            self.board.advance_to(next_us);
        }
    }

    /// Feed on, soft start, boot.
    pub fn power_up(&mut self) {
        self.board.rest(Level::Low);
        self.board.set_feed(FeedDrive::Limited);
        self.pass(0.15);
        self.board.set_feed(FeedDrive::Full);
        self.pass(0.5);
    }

    /// Feed off until the reservoir has run down.
    pub fn power_down(&mut self) {
        self.board.set_feed(FeedDrive::Off);
        self.board.drive_clear();
        self.pass(2.0);
    }

    /// Load supply on, jig loads at all clamps.
    pub fn jig_loads(&mut self) {
        for channel in 321..=328 {
            self.board.set_switch(channel, true);
        }
        self.board.set_load_supply(true);
    }

    /// Sends a command, twice.
    pub fn command(&mut self, output: u8, to: Position) {
        let address = self.first_address + u16::from(output) - 1;
        let pulses: Vec<Pulse> =
            match command(self.format, self.numbering, address, to, self.direction_of_a).unwrap() {
                Telegram::Packet(bytes) => dcc::pulses(&bytes).collect(),
                Telegram::Pulses(pulses) => pulses.to_vec(),
            };
        self.board.drive(&pulses);
        if self.format == Format::Dcc {
            let idle: Vec<Pulse> = dcc::pulses(&dcc::IDLE).collect();
            self.board.drive(&idle);
        }
        self.board.drive(&pulses);
    }

    /// Where an output stands, by the currents at its clamps; `None` when not exactly one flows.
    pub fn position(&self, output: u8) -> Option<Position> {
        let flows = [Position::A, Position::B].map(|p| {
            let clamp = 2 * (usize::from(output) - 1) + p.index();
            self.board.world().loads.clamp_a(clamp) > 0.3
        });
        match flows {
            [true, false] => Some(Position::A),
            [false, true] => Some(Position::B),
            _ => None,
        }
    }
}
