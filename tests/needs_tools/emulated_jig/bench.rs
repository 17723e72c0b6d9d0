//! What answers the emulator: the simulated bench's circuits, the host's line, and what the test asks for.
//!
//! The emulator asks, this answers: both go by the emulated clock. There is just one model of the
//! module, the leads and the loads, that of the simulated bench.

use super::electronics;
use super::event::{Ail, Event};
use musterbench::jig::board::{Board, FeedDrive, Supply};
use musterbench::jig::hand::{Hand, HandAct};
use musterbench::signal::pulse::Level;
use musterbench::simulated_bench::{Setup, SimulatedBoard};
use musterbench::system::pseudo_terminal::PseudoTerminal;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout};
use std::sync::{Arc, Mutex};
use std::time::Instant;

/// Emulated time runs no faster than so many times real time, not even to make up for when it was slower:
/// a host must not seem silent to this jig where it would not to a real one.
const FASTEST: f64 = 1.0;
/// So much is made up for, in seconds.
const MADE_UP_S: f64 = 0.05;
/// With more current than this on the feed the emulator asks every few microseconds.
const NEAR_CUT_OFF_A: f64 = 2.0;
/// Likewise of the loads; a jig's own loads draw 4 A together.
const NEAR_LOADS_CUT_OFF_A: f64 = 6.0;
/// Events that are kept.
const NOTED_MAX: usize = 4_000_000;

/// What the test and the thread that answers share.
#[derive(Default)]
pub struct Shared {
    pub hand: Vec<HandAct>,
    pub log: Vec<(u64, Event)>,
    pub now_ns: u64,
    pub ail: Option<Ail>,
    pub interlock_open: bool,
    pub unplugged: bool,
    /// The supervisor holds the latches set.
    pub latches_held: bool,
    /// The supply of comparators and converters is out.
    pub analogue_out: bool,
    /// Of the bytes that come next from the host, the one at this place comes with these bits of the
    /// UART's data register set.
    pub damage: Option<(usize, u16)>,
    pub stop: bool,
    /// What the emulator said at its end.
    pub said: String,
}

/// What answers the emulator.
pub struct Bench {
    board: SimulatedBoard,
    terminal: PseudoTerminal,
    shared: Arc<Mutex<Shared>>,
    switches: u64,
    /// Which supplies the hardware holds off.
    cut_off: [bool; 2],
    /// What a hand has done to the jig itself, as flags.
    pulled: u16,
    /// Since when it is held back, by both clocks.
    paced: (Instant, u64),
    to: ChildStdin,
    /// Bytes for the host that the terminal has no room for yet.
    outgoing: Vec<u8>,
}

impl Bench {
    /// With a module on the bench, and a terminal for the host.
    pub fn new(
        setup: Setup,
        terminal: PseudoTerminal,
        shared: Arc<Mutex<Shared>>,
        to: ChildStdin,
    ) -> Self {
        Bench {
            board: SimulatedBoard::new(setup),
            terminal,
            shared,
            switches: 0,
            cut_off: [false; 2],
            pulled: 0,
            paced: (Instant::now(), 0),
            to,
            outgoing: Vec::new(),
        }
    }

    /// Answers until the emulator ends.
    pub fn serve(mut self, mut emulator: Child, from: ChildStdout) {
        let mut from = BufReader::new(from);
        let mut line = String::new();
        loop {
            line.clear();
            match from.read_line(&mut line) {
                Ok(1..) => {}
                _ => break,
            }
            let answer = self.answer(line.trim_end());
            if self.to.write_all(answer.as_bytes()).is_err() {
                break;
            }
        }
        let mut said = String::new();
        if let Some(mut errors) = emulator.stderr.take() {
            let _ = std::io::Read::read_to_string(&mut errors, &mut said);
        }
        let ended = emulator.wait().expect("it was started");
        let mut shared = self.shared.lock().expect("not poisoned");
        shared.said = said;
        assert!(ended.success(), "the emulator failed: {}", shared.said);
    }

    /// Takes what has happened, and gives what the emulator wants to know.
    fn answer(&mut self, line: &str) -> String {
        let mut words = line.split(' ');
        let now_ns: u64 = number(words.next().unwrap_or_default());
        let wants_inputs = words.next() == Some("q");
        for word in words {
            self.happened(word);
        }
        self.advance(now_ns);
        let (acts, ail, stop, pulled) = {
            let mut shared = self.shared.lock().expect("not poisoned");
            shared.now_ns = now_ns;
            let pulled = u16::from(shared.unplugged) << 9
                | u16::from(shared.interlock_open) << 10
                | u16::from(shared.latches_held) << 12
                | u16::from(shared.analogue_out) << 13;
            (std::mem::take(&mut shared.hand), shared.ail.take(), shared.stop, pulled)
        };
        let by_hand = !acts.is_empty();
        for act in acts {
            self.board.act(act).expect("a simulated bench can");
            self.note(now_ns, Event::Hand);
        }
        let inputs = if wants_inputs { self.inputs(now_ns) } else { String::new() };
        let world = self.board.world();
        let near =
            world.feed.feed_a() > NEAR_CUT_OFF_A || world.loads.total_a() > NEAR_LOADS_CUT_OFF_A;
        let mut flags = u16::from(near) << 2 | u16::from(stop) << 3 | u16::from(by_hand) << 7;
        if let Some(ail) = ail {
            flags |= match ail {
                Ail::Panic => 16,
                Ail::Hang => 32,
                Ail::Fault => 2048,
                Ail::HangDead => 256,
                Ail::StackOverflow => 16_384,
            };
            self.note(now_ns, Event::Hand);
        }
        flags |= pulled;
        if pulled != self.pulled {
            self.pulled = pulled;
            self.note(now_ns, Event::Hand);
        }
        if self.terminal.was_closed().expect("the terminal works") {
            flags |= 64;
            self.outgoing.clear();
            self.note(now_ns, Event::Closed);
        }
        flags |= self.note_cut_offs(now_ns);
        let world = self.board.world();
        let still_ns = world.still_until_us().saturating_mul(1_000);
        let after_edge_ns = world.module.hears_no_sooner_us().saturating_mul(1_000);
        let bytes = self.host(now_ns);
        self.pace(now_ns);
        format!("{still_ns} {after_edge_ns} {flags} {bytes}{inputs}\n")
    }

    /// One event: its letter, its time, and what it is.
    fn happened(&mut self, word: &str) {
        let (ns, value) = word[1..].split_once(':').unwrap_or((&word[1..], ""));
        let ns = number(ns);
        self.advance(ns);
        let event = match &word[..1] {
            "f" => {
                let wires = value.parse().expect("a digit");
                if wires != 0 {
                    self.board.rest(if wires == 1 { Level::High } else { Level::Low });
                }
                Event::Wires(wires)
            }
            "d" => {
                let (drive, limit_ua) = value.split_once(':').expect("two numbers");
                self.board.set_soft_start_limit(number(limit_ua) as u32);
                let drive = match drive {
                    "1" => FeedDrive::Limited,
                    "2" => FeedDrive::Full,
                    _ => FeedDrive::Off,
                };
                self.board.set_feed(drive);
                Event::Feed(drive)
            }
            "l" => {
                self.board.set_load_supply(value == "1");
                Event::Loads(value == "1")
            }
            "s" => {
                let bits = u64::from_str_radix(value, 16).expect("hexadecimal digits");
                self.set_switches(bits);
                Event::Switches(bits)
            }
            "c" => {
                self.board.clear_cut_off();
                self.cut_off = [false; 2];
                return;
            }
            _ => {
                let bytes: Vec<u8> = (0..value.len() / 2)
                    .map(|i| u8::from_str_radix(&value[2 * i..2 * i + 2], 16).expect("two digits"))
                    .collect();
                self.outgoing.extend_from_slice(&bytes);
                Event::Sent(bytes.len())
            }
        };
        self.note(ns, event);
    }

    fn advance(&mut self, ns: u64) {
        self.board.advance_to(ns / 1_000);
    }

    fn set_switches(&mut self, bits: u64) {
        for (bank, first) in [201_u16, 301, 311, 321].into_iter().enumerate() {
            for at in 0..8 {
                let bit = bank * 8 + at;
                if (bits ^ self.switches) >> bit & 1 == 1 {
                    self.board.set_switch(first + at as u16, bits >> bit & 1 == 1);
                }
            }
        }
        self.switches = bits;
    }

    /// What stands at each input when it is converted: one after the other. What the scan's own time
    /// brings is looked up in a world of its own, since edges of the feed may fall into it.
    fn inputs(&mut self, now_ns: u64) -> String {
        let at_us = |input: usize| (now_ns + 4_000 * input as u64) / 1_000;
        let mut text = String::new();
        let mut ahead = None;
        for input in 0..8 {
            let world = if self.board.world().still_until_us() > at_us(7) {
                self.board.world()
            } else {
                let ahead = ahead.get_or_insert_with(|| self.board.world().clone());
                ahead.advance(at_us(input));
                ahead
            };
            for steps in electronics::input(world, self.switches, input) {
                text.push_str(&format!(" {steps:.2}"));
            }
        }
        text
    }

    /// Notes what the hardware has cut off just now; the flags of all that it holds off.
    fn note_cut_offs(&mut self, now_ns: u64) -> u16 {
        let mut flags = 0;
        for (at, supply) in Supply::ALL.into_iter().enumerate() {
            let cut_off = self.board.cut_off(supply);
            if cut_off && !self.cut_off[at] {
                self.note(now_ns, Event::CutOff(supply));
            }
            self.cut_off[at] = cut_off;
            flags |= u16::from(cut_off) << at;
        }
        flags
    }

    /// Bytes of the host, as hexadecimal digits; those for it go out as there is room.
    fn host(&mut self, now_ns: u64) -> String {
        if !self.outgoing.is_empty() {
            let sent = self.terminal.write(&self.outgoing).expect("the terminal works");
            self.outgoing.drain(..sent);
        }
        let mut bytes = [0; 64];
        let count = self.terminal.read(&mut bytes).expect("the terminal works");
        if count == 0 {
            return "-".to_owned();
        }
        self.note(now_ns, Event::Came(count, bytes[0]));
        let digits: String = bytes[..count].iter().map(|byte| format!("{byte:02x}")).collect();
        let damage = self.shared.lock().expect("not poisoned").damage.take();
        match damage {
            Some((at, bits)) if at < count => format!("{digits}@{at}@{bits}"),
            _ => digits,
        }
    }

    fn note(&self, ns: u64, event: Event) {
        let mut shared = self.shared.lock().expect("not poisoned");
        if shared.log.len() < NOTED_MAX {
            shared.log.push((ns, event));
        }
    }

    /// Holds emulated time back.
    fn pace(&mut self, now_ns: u64) {
        let (since, since_ns) = self.paced;
        let due_s = (now_ns - since_ns) as f64 * 1e-9 / FASTEST;
        let ahead_s = due_s - since.elapsed().as_secs_f64();
        if ahead_s > 0.002 {
            std::thread::sleep(std::time::Duration::from_secs_f64(ahead_s));
        } else if ahead_s < -MADE_UP_S {
            self.paced = (Instant::now(), now_ns);
        }
    }
}

fn number(text: &str) -> u64 {
    // Half steps of the programmable I/O's clock come as fractions of a nanosecond.
    text.parse::<f64>().unwrap_or_else(|_| panic!("no number: {text:?}")) as u64
}
