//! A board that a brain is fuzzed on: it holds the brain to what it promises its hardware.

use musterbench::jig::board::{Board, FeedDrive, Identity, PULSE_QUEUE, Supply, Unit};
use musterbench::signal::pulse::{Level, Pulse};
use musterbench::wire::channel::{Description, Kind};
use std::collections::BTreeSet;

/// What a unit samples: channels, interval, time of the next scan.
type Scans = (Vec<u16>, u32, u64);

pub struct FuzzBoard {
    pub now_us: u64,
    pub feed: FeedDrive,
    pub loads: bool,
    pub interlock: bool,
    /// What the hardware holds off.
    pub cut_off: Vec<Supply>,
    /// What every channel tells.
    pub counts: i16,
    pub closed: BTreeSet<u16>,
    channels: Vec<Description>,
    /// End of every piece of the queue that still plays, and its pulses.
    queue: Vec<(u64, usize)>,
    drive_end_us: u64,
    test: bool,
    scans: [Option<Scans>; 2],
}

impl FuzzBoard {
    pub fn new() -> Self {
        let describe = |channel: u16, kind| Description {
            channel,
            kind,
            minimum: -3.2768,
            maximum: 3.2767,
            scale: 1e-4,
            offset: 0.0,
            gain_limit: 0.01,
            offset_limit: 1e-4,
            linearity_limit: 1e-4,
            interval_us: 100,
            skew_us: 0.0,
        };
        let mut channels = vec![
            describe(1, Kind::Voltage),
            describe(2, Kind::Current),
            describe(3, Kind::Voltage),
            describe(4, Kind::Current),
        ];
        for (first, kind) in [
            (101, Kind::Current),
            (201, Kind::Switch),
            (301, Kind::Switch),
            (311, Kind::Switch),
            (321, Kind::Switch),
            (401, Kind::Voltage),
        ] {
            channels.extend((first..first + 8).map(|channel| describe(channel, kind)));
        }
        channels.push(describe(601, Kind::Input));
        channels.extend([611, 612].map(|channel| describe(channel, Kind::Switch)));
        channels.extend([701, 702, 703].map(|channel| describe(channel, Kind::Resistance)));
        FuzzBoard {
            now_us: 0,
            feed: FeedDrive::Off,
            loads: false,
            interlock: false,
            cut_off: Vec::new(),
            counts: 0,
            closed: BTreeSet::new(),
            channels,
            queue: Vec::new(),
            drive_end_us: 0,
            test: false,
            scans: [None, None],
        }
    }

    pub fn is_on(&self, supply: Supply) -> bool {
        match supply {
            Supply::Feed => self.feed != FeedDrive::Off,
            Supply::Loads => self.loads,
        }
    }

    /// Whether nothing has power and nothing is closed.
    pub fn all_off(&self) -> bool {
        !self.is_on(Supply::Feed) && !self.loads && self.closed.is_empty() && !self.test
    }
}

impl Board for FuzzBoard {
    fn identity(&self) -> Identity<'_> {
        Identity { model: "jig", serial: "F-1", firmware: "0.0" }
    }
    fn now_us(&mut self) -> u64 {
        self.now_us
    }
    fn channels(&self) -> &[Description] {
        &self.channels
    }
    fn set_feed(&mut self, drive: FeedDrive) {
        assert!(drive == FeedDrive::Off || !self.test, "feed on under the test voltage");
        self.feed = drive;
    }
    fn set_inverted(&mut self, _: bool) {
        assert!(self.feed == FeedDrive::Off, "polarity changed under power");
    }
    fn set_soft_start_limit(&mut self, limit_ua: u32) {
        assert!((50_000..=500_000).contains(&limit_ua), "{limit_ua}");
    }
    fn set_load_supply(&mut self, on: bool) {
        assert!(!on || !self.test, "loads on under the test voltage");
        self.loads = on;
    }
    fn cut_off(&mut self, supply: Supply) -> bool {
        self.cut_off.contains(&supply)
    }
    fn clear_cut_off(&mut self) {
        for supply in core::mem::take(&mut self.cut_off) {
            assert!(!self.is_on(supply), "{supply:?} goes on by a clear");
        }
    }
    fn interlock(&mut self) -> bool {
        self.interlock
    }
    fn drive(&mut self, pulses: &[Pulse]) -> u64 {
        assert!(self.feed != FeedDrive::Off, "driven while off");
        self.queue.retain(|(end_us, _)| *end_us > self.now_us);
        let length: u64 = pulses.iter().map(|p| u64::from(p.duration_us)).sum();
        self.drive_end_us = self.drive_end_us.max(self.now_us) + length;
        self.queue.push((self.drive_end_us, pulses.len()));
        let queued: usize = self.queue.iter().map(|(_, pulses)| pulses).sum();
        assert!(queued <= PULSE_QUEUE, "{queued} pulses queued");
        self.drive_end_us
    }
    fn drive_end_us(&self) -> u64 {
        self.drive_end_us
    }
    fn drive_clear(&mut self) {
        self.queue.clear();
        self.drive_end_us = self.now_us;
    }
    fn rest(&mut self, _: Level) {}
    fn set_switch(&mut self, channel: u16, closed: bool) {
        let known = self.channels.iter().any(|d| d.channel == channel && d.kind == Kind::Switch);
        assert!(known, "no switch {channel}");
        if closed {
            self.closed.insert(channel);
        } else {
            self.closed.remove(&channel);
        }
    }
    fn sample(&mut self, _: u16) -> i16 {
        self.counts
    }
    fn connect_test(&mut self, at: Option<(u16, u8)>) -> Option<u32> {
        match at {
            None => core::mem::take(&mut self.test).then_some(2_000),
            Some((_, way)) if way < 2 => {
                assert!(self.feed == FeedDrive::Off && !self.loads, "tested under power");
                self.test = true;
                Some(10_000)
            }
            Some(_) => None,
        }
    }
    fn start_scans(&mut self, unit: Unit, channels: &[u16], interval_us: u32) {
        assert!(interval_us > 0 && interval_us % 100 == 0, "{interval_us}");
        self.scans[unit as usize] = Some((channels.to_vec(), interval_us, self.now_us));
    }
    fn next_scan(&mut self, unit: Unit, counts: &mut [i16]) -> Option<u64> {
        let (channels, interval_us, next_us) = self.scans[unit as usize].as_mut()?;
        if *next_us > self.now_us {
            return None;
        }
        let at_us = *next_us;
        *next_us += u64::from(*interval_us);
        assert_eq!(counts.len(), channels.len());
        counts.fill(self.counts);
        Some(at_us)
    }
    fn stop_scans(&mut self, unit: Unit) {
        self.scans[unit as usize] = None;
    }
    fn self_test(&mut self) -> u16 {
        0
    }
}
