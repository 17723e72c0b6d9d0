//! The jig's firmware in the emulator, with the simulated bench's circuits around it, served on a
//! pseudo-terminal.
//!
//! The emulator asks, this answers: both go by the emulated clock. There is just one model of the
//! module, the leads and the loads, that of the simulated bench.

use crate::electronics;
use crate::tools;
use musterbench::jig::board::{Board, FeedDrive, HandAct, Supply};
use musterbench::signal::pulse::Level;
use musterbench::simulated_bench::pseudo_terminal::PseudoTerminal;
use musterbench::simulated_bench::{Setup, SimulatedBoard};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Instant;

/// Emulated time runs no faster than so many times real time: a host that reckons with a jig whose
/// clock is right must not seem silent.
const FASTEST: f64 = 2.0;
/// Above this share of the cut-off the emulator asks every few microseconds.
const NEAR_CUT_OFF_A: f64 = 2.0;
/// How long something is waited for, in emulated nanoseconds.
const WAITED_NS: u64 = 20_000_000_000;
/// Events that are kept.
const NOTED_MAX: usize = 4_000_000;

/// What happened at the pins, with the emulated time in nanoseconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// The feed's wires: 0 both low, 1 A high, 2 B high.
    Wires(u8),
    /// What the hardware makes of pins, pump and latch: how the feed is driven.
    Feed(FeedDrive),
    /// Likewise of the load supply.
    Loads(bool),
    /// What stands at the shift registers' outputs.
    Switches(u64),
    /// The hardware cut a supply off.
    CutOff(Supply),
    /// The program has closed the device.
    Closed,
    /// Bytes have left for the host.
    Sent(usize),
    /// What the test asked for has been done: by a hand, or to the firmware.
    Hand,
    /// So many bytes have come from the host, and the first of them.
    Came(usize, u8),
}

/// How the host is connected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Line {
    /// By a UART at 115200 baud: closing it tells the jig nothing.
    Uart,
    /// By USB.
    Usb,
}

/// What befalls the firmware's main loop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ail {
    /// It panics.
    Panic,
    /// It hangs, with interrupts going on.
    Hang,
    /// It hangs, and no interrupt is served any more.
    HangDead,
    /// The processor faults.
    Fault,
}

/// What the test and the thread that answers share.
#[derive(Default)]
struct Shared {
    hand: Vec<HandAct>,
    log: Vec<(u64, Event)>,
    now_ns: u64,
    ail: Option<Ail>,
    interlock_open: bool,
    unplugged: bool,
    stop: bool,
    /// What the emulator said at its end.
    said: String,
}

/// A running jig.
pub struct EmulatedJig {
    path: PathBuf,
    shared: Arc<Mutex<Shared>>,
    thread: Option<JoinHandle<()>>,
    started: Instant,
}

impl EmulatedJig {
    /// Puts a module on the bench and powers the jig up.
    pub fn start(firmware: &Path, setup: Setup) -> Self {
        Self::start_on(firmware, setup, Line::Uart)
    }

    /// The same on the line of choice.
    pub fn start_on(firmware: &Path, setup: Setup, line: Line) -> Self {
        Self::start_slow(firmware, setup, line, 1.0)
    }

    /// The same with a processor that takes so many times its time for every instruction.
    pub fn start_slow(firmware: &Path, setup: Setup, line: Line, slowness: f64) -> Self {
        let mut emulator = Command::new("node")
            .arg(tools::emulator().join("main.mjs"))
            .arg(firmware)
            .arg(if line == Line::Usb { "usb" } else { "uart" })
            .arg(slowness.to_string())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("node is there");
        let terminal = PseudoTerminal::open().expect("a pseudo-terminal");
        let path = terminal.path().to_owned();
        let shared = Arc::new(Mutex::new(Shared::default()));
        let bench = Bench {
            board: SimulatedBoard::new(setup),
            terminal,
            shared: Arc::clone(&shared),
            switches: 0,
            cut_off: None,
            pulled: (false, false),
            started: Instant::now(),
            to: emulator.stdin.take().expect("piped"),
            outgoing: Vec::new(),
        };
        let from = BufReader::new(emulator.stdout.take().expect("piped"));
        let thread = std::thread::spawn(move || bench.serve(emulator, from));
        EmulatedJig { path, shared, thread: Some(thread), started: Instant::now() }
    }

    /// The device that a host opens.
    pub fn path(&self) -> &str {
        self.path.to_str().expect("a plain path")
    }

    /// What an operator's hand does at the module.
    pub fn hand(&self, act: HandAct) {
        self.shared.lock().expect("not poisoned").hand.push(act);
    }

    /// Lets something befall the firmware.
    pub fn ail(&self, ail: Ail) {
        self.shared.lock().expect("not poisoned").ail = Some(ail);
    }

    /// Opens the interlock, or closes it.
    pub fn set_interlock(&self, open: bool) {
        self.shared.lock().expect("not poisoned").interlock_open = open;
    }

    /// Pulls the USB cable out, or puts it back.
    pub fn set_cable(&self, plugged: bool) {
        self.shared.lock().expect("not poisoned").unplugged = !plugged;
    }

    /// The emulated time, nanoseconds.
    pub fn now_ns(&self) -> u64 {
        self.shared.lock().expect("not poisoned").now_ns
    }

    /// Emulated time over real time, so far.
    pub fn speed(&self) -> f64 {
        self.now_ns() as f64 / 1e9 / self.started.elapsed().as_secs_f64()
    }

    /// Waits until something has happened; fails when it does not within [`WAITED_NS`], or the
    /// emulator ends before.
    pub fn wait_for(&self, what: impl Fn(u64, &Event) -> bool) -> u64 {
        let end_ns = self.now_ns() + WAITED_NS;
        loop {
            let found = {
                let shared = self.shared.lock().expect("not poisoned");
                shared.log.iter().find(|(ns, event)| what(*ns, event)).map(|(ns, _)| *ns)
            };
            if let Some(ns) = found {
                return ns;
            }
            assert!(self.lives(), "the emulator ended before that");
            assert!(self.now_ns() < end_ns, "that does not happen");
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
    }

    /// Waits until the emulated clock shows so much more.
    pub fn wait_ms(&self, ms: u64) {
        let end_ns = self.now_ns() + ms * 1_000_000;
        while self.now_ns() < end_ns {
            assert!(self.lives(), "the emulator ended before that");
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
    }

    fn lives(&self) -> bool {
        self.thread.as_ref().is_some_and(|thread| !thread.is_finished())
    }

    /// Ends it: the log, and what the emulator tells of the run.
    pub fn stop(mut self) -> (Vec<(u64, Event)>, String) {
        self.end();
        let shared = self.shared.lock().expect("not poisoned");
        let wall_s = self.started.elapsed().as_secs_f64();
        let said = format!("{}; {wall_s:.1} s of real time", shared.said.trim());
        (shared.log.clone(), said)
    }

    fn end(&mut self) {
        self.shared.lock().expect("not poisoned").stop = true;
        if let Some(thread) = self.thread.take()
            && thread.join().is_err()
            && !std::thread::panicking()
        {
            panic!("the emulated jig failed");
        }
    }
}

impl Drop for EmulatedJig {
    fn drop(&mut self) {
        self.end();
    }
}

/// What answers the emulator.
struct Bench {
    board: SimulatedBoard,
    terminal: PseudoTerminal,
    shared: Arc<Mutex<Shared>>,
    switches: u64,
    cut_off: Option<Supply>,
    /// The cable is out; the interlock is open.
    pulled: (bool, bool),
    started: Instant,
    to: ChildStdin,
    /// Bytes for the host that the terminal has no room for yet.
    outgoing: Vec<u8>,
}

impl Bench {
    fn serve(mut self, mut emulator: Child, mut from: BufReader<ChildStdout>) {
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
            let pulled = (shared.unplugged, shared.interlock_open);
            (std::mem::take(&mut shared.hand), shared.ail.take(), shared.stop, pulled)
        };
        let by_hand = !acts.is_empty();
        for act in acts {
            self.board.hand(act).expect("a simulated bench can");
            self.note(now_ns, Event::Hand);
        }
        let inputs = if wants_inputs { self.inputs(now_ns) } else { String::new() };
        let world = self.board.world();
        let near = world.feed.feed_a() > NEAR_CUT_OFF_A || world.loads.total_a() > NEAR_CUT_OFF_A;
        let mut flags = u16::from(near) << 2 | u16::from(stop) << 3 | u16::from(by_hand) << 7;
        if let Some(ail) = ail {
            flags |= match ail {
                Ail::Panic => 16,
                Ail::Hang => 32,
                Ail::Fault => 2048,
                Ail::HangDead => 256,
            };
            self.note(now_ns, Event::Hand);
        }
        flags |= u16::from(pulled.0) << 9 | u16::from(pulled.1) << 10;
        if pulled != self.pulled {
            self.pulled = pulled;
            self.note(now_ns, Event::Hand);
        }
        if self.terminal.was_closed().expect("the terminal works") {
            flags |= 64;
            self.outgoing.clear();
            self.note(now_ns, Event::Closed);
        }
        match self.note_cut_off(now_ns) {
            Some(Supply::Feed) => flags |= 1,
            Some(Supply::Loads) => flags |= 2,
            None => {}
        }
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
                self.cut_off = None;
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

    fn note_cut_off(&mut self, now_ns: u64) -> Option<Supply> {
        let cut_off = self.board.cut_off();
        if cut_off != self.cut_off
            && let Some(supply) = cut_off
        {
            self.note(now_ns, Event::CutOff(supply));
        }
        self.cut_off = cut_off;
        cut_off
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
        bytes[..count].iter().map(|byte| format!("{byte:02x}")).collect()
    }

    fn note(&self, ns: u64, event: Event) {
        let mut shared = self.shared.lock().expect("not poisoned");
        if shared.log.len() < NOTED_MAX {
            shared.log.push((ns, event));
        }
    }

    /// Holds emulated time back.
    fn pace(&self, now_ns: u64) {
        let due_s = now_ns as f64 * 1e-9 / FASTEST;
        let ahead_s = due_s - self.started.elapsed().as_secs_f64();
        if ahead_s > 0.002 {
            std::thread::sleep(std::time::Duration::from_secs_f64(ahead_s));
        }
    }
}

fn number(text: &str) -> u64 {
    // Half steps of the programmable I/O's clock come as fractions of a nanosecond.
    text.parse::<f64>().unwrap_or_else(|_| panic!("no number: {text:?}")) as u64
}
