//! The jig's firmware in the emulator, with the simulated bench's circuits around it, served on a
//! pseudo-terminal.

use super::bench::{Bench, Shared};
pub use super::event::{Ail, Event, Line};
use super::tools;
use musterbench::jig::hand::HandAct;
use musterbench::simulated_bench::Setup;
use musterbench::system::pseudo_terminal::PseudoTerminal;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Instant;

/// How long something is waited for, in emulated nanoseconds.
const WAITED_NS: u64 = 20_000_000_000;

/// A running jig.
pub struct EmulatedJig {
    path: PathBuf,
    shared: Arc<Mutex<Shared>>,
    thread: Option<JoinHandle<()>>,
    started: Instant,
}

impl EmulatedJig {
    /// Puts a module on the bench and powers the jig up. Its processor takes `slowness` times its time for
    /// every instruction.
    pub fn start(firmware: &Path, setup: Setup, line: Line, slowness: f64) -> Self {
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
        let to = emulator.stdin.take().expect("piped");
        let from = emulator.stdout.take().expect("piped");
        let bench = Bench::new(setup, terminal, Arc::clone(&shared), to);
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

    /// Has the supervisor hold the latches set, or let go of them.
    pub fn hold_latches(&self, held: bool) {
        self.shared.lock().expect("not poisoned").latches_held = held;
    }

    /// Takes the supply of comparators and converters away, or brings it back.
    pub fn set_analogue(&self, there: bool) {
        self.shared.lock().expect("not poisoned").analogue_out = !there;
    }

    /// Of the bytes that the host sends next, the one at this place comes with these bits of the UART's
    /// data register set.
    pub fn damage(&self, at: usize, bits: u16) {
        self.shared.lock().expect("not poisoned").damage = Some((at, bits));
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
        let heard_ns = shared.log.iter().filter(|(_, e)| matches!(e, Event::Came(..))).map(|e| e.0);
        let heard_ns: Vec<u64> = heard_ns.collect();
        let silent_ns = heard_ns.windows(2).map(|pair| pair[1] - pair[0]).max().unwrap_or(0);
        let said = format!(
            "{}, host silent for at most {:.1} s; {wall_s:.1} s of real time",
            shared.said.trim(),
            silent_ns as f64 / 1e9
        );
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
