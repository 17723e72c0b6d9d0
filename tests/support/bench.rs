//! A simulated bench for tests: a sound module of an invented kind, and a board that keeps note of
//! what it is told.

use core::cell::RefCell;
use musterbench::jig::board::{Board, FeedDrive, HandAct, Identity, NotFitted, Supply, Unit};
use musterbench::link::simulated::JumpingBoard;
use musterbench::signal::pulse::{Level, Pulse};
use musterbench::signal::target::Format;
use musterbench::simulated_bench::kind::{Kind, LoadModel};
use musterbench::simulated_bench::{LOAD_SUPPLY_V, Setup, SimulatedBoard};
use musterbench::wire::channel::Description;
use std::rc::Rc;

/// A sound module at address 1.
pub fn setup(seed: u64) -> Setup {
    Setup {
        kind: Kind {
            outputs: 4,
            packets_needed: 1,
            direction_of_a: 0,
            switch_weights: vec![1, 2, 4, 8, 16, 32, 64, 0],
            format_switch: Some(8),
            format_when_on: Format::Trinary,
            format_when_off: Format::Dcc,
            address_base: -3,
            address_step: 4,
            polarity_matters: false,
            keeps_position: true,
            boot_s: 0.4,
            reservoir_f: 470e-6,
            logic_a: 0.025,
            lamp_a: 0.008,
            second_lamp_a: 0.0,
            lamp_hz: 1.0,
            lamp_duty: 0.5,
            lamp_inverted_hz: 4.0,
            auxiliary_a: 0.030,
            response_s: 0.040,
            contact_response_s: 0.050,
            gap_s: 0.004,
            bounce_s: 0.002,
            contact_ohm: 0.06,
            coil_a: 0.090,
            feed_v: 16.0,
        },
        loads: [const { LoadModel::Resistor { ohm: 100.0 } }; 8],
        load_supply_v: LOAD_SUPPLY_V,
        faults: Vec::new(),
        seed,
        switches: 1,
        auxiliary: false,
    }
}

/// What a board was told that changes anything outside.
#[derive(Debug, Default)]
pub struct Told {
    /// Every switch that was closed, in order.
    pub closed: Vec<u16>,
    /// Every pulse on the feed, in order.
    pub pulses: Vec<Pulse>,
    /// Every change of the feed.
    pub feed: Vec<FeedDrive>,
}

/// A simulated board that keeps note of what it is told.
pub struct Noting {
    board: SimulatedBoard,
    told: Rc<RefCell<Told>>,
}

impl Noting {
    pub fn new(setup: Setup) -> (Noting, Rc<RefCell<Told>>) {
        let told = Rc::default();
        (Noting { board: SimulatedBoard::new(setup), told: Rc::clone(&told) }, told)
    }
}

impl JumpingBoard for Noting {
    fn advance_to(&mut self, t_us: u64) {
        self.board.advance_to(t_us);
    }
}

impl Board for Noting {
    fn identity(&self) -> Identity<'_> {
        self.board.identity()
    }
    fn now_us(&mut self) -> u64 {
        self.board.now_us()
    }
    fn channels(&self) -> &[Description] {
        self.board.channels()
    }
    fn set_feed(&mut self, drive: FeedDrive) {
        self.told.borrow_mut().feed.push(drive);
        self.board.set_feed(drive);
    }
    fn set_inverted(&mut self, inverted: bool) {
        self.board.set_inverted(inverted);
    }
    fn set_soft_start_limit(&mut self, limit_ua: u32) {
        self.board.set_soft_start_limit(limit_ua);
    }
    fn set_load_supply(&mut self, on: bool) {
        self.board.set_load_supply(on);
    }
    fn cut_off(&mut self) -> Option<Supply> {
        self.board.cut_off()
    }
    fn clear_cut_off(&mut self) {
        self.board.clear_cut_off();
    }
    fn interlock(&mut self) -> bool {
        self.board.interlock()
    }
    fn drive(&mut self, pulses: &[Pulse]) -> u64 {
        self.told.borrow_mut().pulses.extend_from_slice(pulses);
        self.board.drive(pulses)
    }
    fn drive_end_us(&self) -> u64 {
        self.board.drive_end_us()
    }
    fn drive_clear(&mut self) {
        self.board.drive_clear();
    }
    fn rest(&mut self, level: Level) {
        self.board.rest(level);
    }
    fn set_switch(&mut self, channel: u16, closed: bool) {
        if closed {
            self.told.borrow_mut().closed.push(channel);
        }
        self.board.set_switch(channel, closed);
    }
    fn sample(&mut self, channel: u16) -> i16 {
        self.board.sample(channel)
    }
    fn start_scans(&mut self, unit: Unit, channels: &[u16], interval_us: u32) {
        self.board.start_scans(unit, channels, interval_us);
    }
    fn next_scan(&mut self, unit: Unit, counts: &mut [i16]) -> Option<u64> {
        self.board.next_scan(unit, counts)
    }
    fn stop_scans(&mut self, unit: Unit) {
        self.board.stop_scans(unit);
    }
    fn self_test(&mut self) -> u16 {
        self.board.self_test()
    }
    fn hand(&mut self, act: HandAct) -> Result<(), NotFitted> {
        self.board.hand(act)
    }
}
