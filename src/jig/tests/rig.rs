//! The board, and the engine with the time that passes around it.

use crate::jig::board::{Board, FeedDrive, Identity, Supply, Unit};
use crate::jig::engine::Engine;
use crate::jig::hand::{Hand, HandAct, NotFitted};
use crate::signal::pulse::{Level, Pulse};
use crate::wire::channel::{Description, Kind};
use crate::wire::seal;
use std::collections::{BTreeMap, VecDeque};

/// A current over time, by channel number, in counts.
type Script = Box<dyn Fn(u16, u64) -> i16>;

pub struct TestBoard {
    pub now_us: u64,
    pub channels: Vec<Description>,
    pub feed: FeedDrive,
    pub inverted: bool,
    pub limit_ua: u32,
    pub loads: bool,
    /// How much time passes whenever somebody looks at the clock.
    pub tick_us: u64,
    /// What the hardware holds off.
    pub cut_off: Vec<Supply>,
    pub interlock: bool,
    /// Start, end and pulses of every piece that was queued.
    pub driven: Vec<(u64, u64, Vec<Pulse>)>,
    pub drive_end_us: u64,
    pub rest: Level,
    pub closed: BTreeMap<u16, bool>,
    pub script: Script,
    /// Channels, interval, time of the next scan.
    scans: [Option<(Vec<u16>, u32, u64)>; 2],
    /// A scan at this time gets lost.
    pub lose_at_us: Option<u64>,
    pub has_hand: bool,
    pub hand: Option<HandAct>,
    pub self_test: u16,
    /// Ways that a resistance takes, and how long each settles.
    pub ways: (u8, u32),
    /// Where the test voltage is.
    pub test: Option<(u16, u8)>,
    /// How long it takes to go away.
    pub test_leaves_us: u32,
}

fn channels() -> Vec<Description> {
    let describe = |channel: u16, kind, scale| Description {
        channel,
        kind,
        minimum: 0.0,
        maximum: 32_767.0 * scale,
        scale,
        offset: 0.0,
        gain_limit: 0.01,
        offset_limit: scale,
        linearity_limit: scale,
        interval_us: 10,
        skew_us: 0.0,
    };
    let mut all = vec![
        describe(1, Kind::Voltage, 1e-3),
        describe(2, Kind::Current, 1e-3),
        describe(3, Kind::Voltage, 1e-3),
        describe(4, Kind::Current, 1e-3),
    ];
    for (first, kind) in [
        (101, Kind::Current),
        (201, Kind::Switch),
        (301, Kind::Switch),
        (311, Kind::Switch),
        (321, Kind::Switch),
        (401, Kind::Voltage),
    ] {
        all.extend((first..first + 8).map(|channel| describe(channel, kind, 1e-3)));
    }
    all.push(describe(601, Kind::Input, 1.0));
    all.extend([611, 612].map(|channel| describe(channel, Kind::Switch, 1.0)));
    all.push(describe(701, Kind::Resistance, 1.0));
    all
}

impl TestBoard {
    pub fn new() -> Self {
        TestBoard {
            now_us: 0,
            channels: channels(),
            feed: FeedDrive::Off,
            inverted: false,
            limit_ua: 0,
            loads: false,
            tick_us: 0,
            cut_off: Vec::new(),
            interlock: false,
            driven: Vec::new(),
            drive_end_us: 0,
            rest: Level::Low,
            closed: BTreeMap::new(),
            script: Box::new(|_, _| 0),
            scans: [None, None],
            lose_at_us: None,
            has_hand: true,
            hand: None,
            self_test: 0,
            ways: (1, 0),
            test: None,
            test_leaves_us: 0,
        }
    }

    /// The same with a channel that tells no more than this.
    pub fn with_range(channel: u16, minimum: f64, maximum: f64) -> Self {
        let mut board = TestBoard::new();
        let at = board.channels.iter().position(|d| d.channel == channel).unwrap();
        (board.channels[at].minimum, board.channels[at].maximum) = (minimum, maximum);
        board
    }

    pub fn all_off(&self) -> bool {
        self.feed == FeedDrive::Off && !self.loads && self.closed.values().all(|closed| !closed)
    }

    pub fn is_closed(&self, channel: u16) -> bool {
        self.closed.get(&channel).copied().unwrap_or(false)
    }
}

impl Board for TestBoard {
    fn identity(&self) -> Identity<'_> {
        Identity { model: "jig", serial: "T-1", firmware: "0.0" }
    }
    fn now_us(&mut self) -> u64 {
        self.now_us += self.tick_us;
        self.now_us
    }
    fn channels(&self) -> &[Description] {
        &self.channels
    }
    fn set_feed(&mut self, drive: FeedDrive) {
        self.feed = drive;
    }
    fn set_inverted(&mut self, inverted: bool) {
        assert!(self.feed == FeedDrive::Off, "polarity changed under power");
        self.inverted = inverted;
    }
    fn set_soft_start_limit(&mut self, limit_ua: u32) {
        self.limit_ua = limit_ua;
    }
    fn set_load_supply(&mut self, on: bool) {
        self.loads = on;
    }
    fn cut_off(&mut self, supply: Supply) -> bool {
        self.cut_off.contains(&supply)
    }
    fn clear_cut_off(&mut self) {
        for supply in self.cut_off.drain(..) {
            let on = if supply == Supply::Feed { self.feed != FeedDrive::Off } else { self.loads };
            assert!(!on, "{supply:?} goes on by a clear");
        }
    }
    fn interlock(&mut self) -> bool {
        self.interlock
    }
    fn drive(&mut self, pulses: &[Pulse]) -> u64 {
        assert!(self.feed != FeedDrive::Off, "driven while off");
        let start = self.drive_end_us.max(self.now_us);
        let length: u64 = pulses.iter().map(|p| u64::from(p.duration_us)).sum();
        self.drive_end_us = start + length;
        self.driven.push((start, self.drive_end_us, pulses.to_vec()));
        let queued: usize = self
            .driven
            .iter()
            .filter(|(_, end, _)| *end > self.now_us)
            .map(|(_, _, pulses)| pulses.len())
            .sum();
        assert!(queued <= crate::jig::board::PULSE_QUEUE, "{queued} pulses queued");
        self.drive_end_us
    }
    fn drive_end_us(&self) -> u64 {
        self.drive_end_us
    }
    fn drive_clear(&mut self) {
        self.drive_end_us = self.now_us;
    }
    fn rest(&mut self, level: Level) {
        self.rest = level;
    }
    fn set_switch(&mut self, channel: u16, closed: bool) {
        self.closed.insert(channel, closed);
    }
    fn sample(&mut self, channel: u16) -> i16 {
        (self.script)(channel, self.now_us)
    }
    fn connect_test(&mut self, at: Option<(u16, u8)>) -> Option<u32> {
        assert!(self.feed == FeedDrive::Off && !self.loads, "tested under power");
        if at.is_none() {
            return self.test.take().map(|_| self.test_leaves_us);
        }
        self.test = Some(at.filter(|&(_, way)| way < self.ways.0)?);
        Some(self.ways.1)
    }
    fn start_scans(&mut self, unit: Unit, channels: &[u16], interval_us: u32) {
        self.scans[unit as usize] = Some((channels.to_vec(), interval_us, self.now_us));
    }
    fn next_scan(&mut self, unit: Unit, counts: &mut [i16]) -> Option<u64> {
        let (channels, interval_us, next_us) = self.scans[unit as usize].as_mut()?;
        if self.lose_at_us == Some(*next_us) {
            *next_us += u64::from(*interval_us);
        }
        if *next_us > self.now_us {
            return None;
        }
        let at_us = *next_us;
        *next_us += u64::from(*interval_us);
        assert_eq!(counts.len(), channels.len());
        for (count, &channel) in counts.iter_mut().zip(channels.iter()) {
            *count = (self.script)(channel, at_us);
        }
        Some(at_us)
    }
    fn stop_scans(&mut self, unit: Unit) {
        self.scans[unit as usize] = None;
    }
    fn self_test(&mut self) -> u16 {
        self.self_test
    }
    fn hand(&mut self) -> Option<&mut dyn Hand> {
        self.has_hand.then_some(self)
    }
}

impl Hand for TestBoard {
    fn act(&mut self, act: HandAct) -> Result<(), NotFitted> {
        if matches!(act, HandAct::Switches(99)) {
            return Err(NotFitted);
        }
        self.hand = Some(act);
        Ok(())
    }
    fn reference_meter(&mut self) -> f64 {
        0.125
    }
}

/// The engine on its board.
pub struct Rig {
    pub engine: Box<Engine<TestBoard>>,
    pub out: VecDeque<u8>,
    session: u32,
    number: u32,
}

impl Rig {
    pub fn new() -> Self {
        Self::on(TestBoard::new())
    }

    pub fn on(board: TestBoard) -> Self {
        Rig { engine: Engine::boxed(board), out: VecDeque::new(), session: 40, number: 0 }
    }

    pub fn board(&mut self) -> &mut TestBoard {
        self.engine.board_mut()
    }

    pub fn now_us(&self) -> u64 {
        self.engine.board().now_us
    }

    /// Polls and collects until nothing more is due at this instant.
    pub fn settle(&mut self) {
        for _ in 0..10_000 {
            self.engine.poll();
            let mut bytes = [0; 97];
            let count = self.engine.transmit(&mut bytes);
            self.out.extend(&bytes[..count]);
            if count == 0 && self.engine.next_wake_us() > self.now_us() {
                return;
            }
        }
        panic!("the engine is due for ever at {} us", self.now_us());
    }

    /// Lets time pass as the engine asks for it.
    pub fn run_us(&mut self, time_us: u64) {
        let end_us = self.now_us() + time_us;
        self.settle();
        while self.now_us() < end_us {
            let next_us = self.engine.next_wake_us().min(end_us);
            self.board().now_us = next_us;
            self.settle();
        }
    }

    /// Hands bytes over, however small the room.
    pub fn send(&mut self, mut bytes: &[u8]) {
        while !bytes.is_empty() {
            let taken = self.engine.receive(bytes);
            bytes = &bytes[taken..];
            self.settle();
        }
        self.settle();
    }

    /// Everything that has come out.
    pub fn heard(&mut self) -> Vec<u8> {
        self.out.drain(..).collect()
    }

    pub fn text(&mut self) -> String {
        String::from_utf8(self.heard()).unwrap()
    }

    /// One unsealed line; what comes back within a second at most, without the newline.
    pub fn ask(&mut self, line: &str) -> String {
        self.send(line.as_bytes());
        self.send(b"\n");
        for _ in 0..1_000 {
            if self.out.back() == Some(&b'\n') {
                break;
            }
            self.run_us(1_000);
        }
        let text = self.text();
        text.strip_suffix('\n').unwrap_or(&text).to_string()
    }

    /// One unsealed line without an answer; checks that it made no error.
    pub fn say(&mut self, line: &str) {
        self.send(line.as_bytes());
        self.send(b"\n");
        assert_eq!(self.text(), "", "{line}");
        assert_eq!(self.ask("SYST:ERR?"), "0,\"No error\"", "{line}");
    }

    /// One unsealed line without an answer, and the number of the error that it makes.
    pub fn wrong(&mut self, line: &str) -> i16 {
        self.send(line.as_bytes());
        self.send(b"\n");
        assert_eq!(self.text(), "", "{line}");
        let error = self.ask("SYST:ERR?");
        assert_eq!(self.ask("SYST:ERR:COUN?"), "0", "{line}: one error");
        error.split(',').next().unwrap().parse().unwrap()
    }

    /// Opens a session.
    pub fn open_session(&mut self) {
        self.session += 1;
        self.number = 0;
        assert_eq!(self.sealed("*CLS"), (String::new(), 1, 0));
    }

    /// The next line of the session as bytes.
    pub fn next_sealed(&mut self, rest: &str) -> Vec<u8> {
        self.number += 1;
        seal::seal(self.session, self.number, rest).unwrap().to_vec()
    }

    /// The next line of the session: response, units carried out, errors.
    pub fn sealed(&mut self, rest: &str) -> (String, u16, u16) {
        let line = self.next_sealed(rest);
        self.send(&line);
        for _ in 0..1_000 {
            if !self.out.is_empty() {
                break;
            }
            self.run_us(1_000);
        }
        let (response, trailer) = split(&self.heard());
        assert_eq!((trailer.session, trailer.number), (self.session, self.number));
        (String::from_utf8_lossy(&response).into_owned(), trailer.carried_out, trailer.errors)
    }
}

/// An answer taken apart into response and trailer, checksum checked.
pub fn split(answer: &[u8]) -> (Vec<u8>, seal::Trailer) {
    let line = answer.strip_suffix(b"\n").expect("one whole line");
    let at = line.windows(5).rposition(|window| window == b"SEAL ").expect("a trailer");
    let (response, trailer) = seal::Trailer::split(line, at).expect("a sound trailer");
    (response.to_vec(), trailer)
}

/// A feed current that charges a reservoir for so long and rests at 50 mA, and quiet loads.
pub fn charging(charge_us: u64) -> Script {
    Box::new(move |channel, at_us| match channel {
        2 if at_us <= charge_us => 250,
        2 => 50,
        _ => 0,
    })
}
