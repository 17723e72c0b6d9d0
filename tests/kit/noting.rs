//! A simulated bench for tests: a sound module of an invented kind, and a board that keeps note of
//! what it is told.

use core::cell::RefCell;
use musterbench::jig::board::{Board, FeedDrive};
use musterbench::jig::hand::{Hand, HandAct, NotFitted};
use musterbench::signal::dcc;
use musterbench::signal::dcc_decoder::DccDecoder;
use musterbench::signal::pulse::Pulse;
use musterbench::signal::received::Received;
use musterbench::signal::trinary_decoder::TrinaryDecoder;
use musterbench::simulated_bench::kind::Kind;
use musterbench::simulated_bench::loads::LoadModel;
use musterbench::simulated_bench::{LOAD_SUPPLY_V, Setup, SimulatedBoard};
use std::collections::BTreeSet;
use std::rc::Rc;

/// A sound module at address 1.
pub fn setup(seed: u64) -> Setup {
    Setup {
        kind: Kind::example(),
        loads: core::array::from_fn(|_| LoadModel::resistor(100.0)),
        load_supply_v: LOAD_SUPPLY_V,
        faults: Vec::new(),
        placed: Vec::new(),
        seeds: seed.into(),
        switches: 1,
        auxiliary: false,
        beside: Vec::new(),
    }
}

/// Something that a board was told to do outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Deed {
    /// The feed was changed.
    Feed(FeedDrive),
    /// The feed was turned round, or back.
    Inverted(bool),
    /// The load supply was switched.
    LoadSupply(bool),
    /// A switch was closed.
    Close(u16),
    /// A packet went out on the feed, idle packets left out.
    Packet(Vec<u8>),
    /// A command in the three-state code went out on the feed.
    Trinary(Received),
    /// A hand did something.
    Hand(HandAct),
}

/// What a board was told that changes anything outside.
#[derive(Debug, Default)]
pub struct Told {
    /// All of it, in order; what changed nothing is left out.
    pub deeds: Vec<Deed>,
    /// The switches that are closed now.
    pub closed: BTreeSet<u16>,
    /// How the feed is driven now.
    pub feed: Option<FeedDrive>,
    inverted: bool,
    load_supply: bool,
    dcc: DccDecoder,
    trinary: TrinaryDecoder,
    /// The stretch of level that has begun.
    stretch: Option<Pulse>,
}

impl Told {
    /// Every switch that was closed, in order.
    pub fn closures(&self) -> Vec<u16> {
        let closed =
            |deed: &Deed| if let Deed::Close(channel) = deed { Some(*channel) } else { None };
        self.deeds.iter().filter_map(closed).collect()
    }

    /// Whether nothing is on and nothing is closed.
    pub fn is_safe(&self) -> bool {
        self.feed.is_none_or(|feed| feed == FeedDrive::Off)
            && !self.load_supply
            && self.closed.is_empty()
    }

    /// Reads the pulses as a module does that knows both formats.
    fn drive(&mut self, pulses: &[Pulse]) {
        for &pulse in pulses {
            match &mut self.stretch {
                Some(stretch) if stretch.level == pulse.level => {
                    stretch.duration_us += pulse.duration_us;
                }
                stretch => {
                    let Some(Pulse { level, duration_us }) = stretch.replace(pulse) else {
                        continue;
                    };
                    if self.dcc.stretch(level, duration_us) && self.dcc.packet() != dcc::IDLE {
                        self.deeds.push(Deed::Packet(self.dcc.packet().to_vec()));
                    }
                    if let Some(received) = self.trinary.stretch(level, duration_us) {
                        self.deeds.push(Deed::Trinary(received));
                    }
                }
            }
        }
    }
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

pass_on! { jumping board of Noting }

impl Board for Noting {
    pass_on! { board: identity, now_us, channels, set_soft_start_limit, cut_off, clear_cut_off, interlock, drive_end_us, drive_clear, rest, sample, start_scans, next_scan, stop_scans, self_test }

    fn set_feed(&mut self, drive: FeedDrive) {
        let mut told = self.told.borrow_mut();
        if told.feed.replace(drive) != Some(drive) {
            told.deeds.push(Deed::Feed(drive));
        }
        self.board.set_feed(drive);
    }
    fn set_inverted(&mut self, inverted: bool) {
        let mut told = self.told.borrow_mut();
        if core::mem::replace(&mut told.inverted, inverted) != inverted {
            told.deeds.push(Deed::Inverted(inverted));
        }
        self.board.set_inverted(inverted);
    }
    fn set_load_supply(&mut self, on: bool) {
        let mut told = self.told.borrow_mut();
        if core::mem::replace(&mut told.load_supply, on) != on {
            told.deeds.push(Deed::LoadSupply(on));
        }
        self.board.set_load_supply(on);
    }
    fn drive(&mut self, pulses: &[Pulse]) -> u64 {
        self.told.borrow_mut().drive(pulses);
        self.board.drive(pulses)
    }
    fn set_switch(&mut self, channel: u16, closed: bool) {
        let mut told = self.told.borrow_mut();
        if !closed {
            told.closed.remove(&channel);
        } else if told.closed.insert(channel) {
            told.deeds.push(Deed::Close(channel));
        }
        self.board.set_switch(channel, closed);
    }
    fn hand(&mut self) -> Option<&mut dyn Hand> {
        Some(self)
    }
}

impl Hand for Noting {
    fn act(&mut self, act: HandAct) -> Result<(), NotFitted> {
        self.told.borrow_mut().deeds.push(Deed::Hand(act));
        self.board.act(act)
    }
    fn reference_meter(&mut self) -> f64 {
        self.board.reference_meter()
    }
}
