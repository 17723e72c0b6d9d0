//! A jig that says it is a real one: the simulated board behind the jig's own brain, served in real
//! time. It refuses every hand of the simulated bench, so the program has to ask a person.

use core::time::Duration;
use musterbench::jig::board::{Board, FeedDrive, Identity};
use musterbench::jig::engine::Engine;
use musterbench::procedure::simulated_set_up::setup;
use musterbench::script::shipped;
use musterbench::simulated_bench::{Setup, SimulatedBoard};
use musterbench::system::pseudo_terminal::PseudoTerminal;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::thread::JoinHandle;
use std::time::Instant;

/// A simulated board that says it is a real one. It counts how often the feed is turned on.
struct LooksReal {
    board: SimulatedBoard,
    turned_on: Arc<AtomicU32>,
    is_on: Arc<AtomicBool>,
}

impl Board for LooksReal {
    pass_on! { board: now_us, channels, set_inverted, set_soft_start_limit, set_load_supply, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch, sample, start_scans, next_scan, stop_scans, self_test }

    fn identity(&self) -> Identity<'_> {
        Identity { model: "jig", serial: "0042", firmware: "1.0.0" }
    }
    fn set_feed(&mut self, drive: FeedDrive) {
        let on = drive != FeedDrive::Off;
        self.turned_on.fetch_add(on.into(), Ordering::SeqCst);
        self.is_on.store(on, Ordering::SeqCst);
        self.board.set_feed(drive);
    }
}

/// Such a jig, plugged in.
pub struct Jig {
    /// The device.
    pub port: String,
    turned_on: Arc<AtomicU32>,
    is_on: Arc<AtomicBool>,
    over: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Jig {
    /// Plugs one in.
    pub fn with(setup: Setup) -> Self {
        let (turned_on, is_on) = (Arc::new(AtomicU32::new(0)), Arc::new(AtomicBool::new(false)));
        let over = Arc::new(AtomicBool::new(false));
        let mut terminal = PseudoTerminal::open().expect("a terminal");
        let port = terminal.path().display().to_string();
        let (counts, on, ends) = (turned_on.clone(), is_on.clone(), over.clone());
        let thread = std::thread::spawn(move || {
            let board = SimulatedBoard::new(setup);
            let mut engine = Engine::boxed(LooksReal { board, turned_on: counts, is_on: on });
            let start = Instant::now();
            let mut bytes = [0; 1024];
            while !ends.load(Ordering::Relaxed) {
                terminal.wait(Duration::from_millis(1), false).expect("waited");
                engine.board_mut().board.advance_to(start.elapsed().as_micros() as u64);
                if terminal.was_closed().expect("asked") {
                    engine.port_closed();
                }
                let count = terminal.read(&mut bytes).expect("read");
                assert_eq!(engine.receive(&bytes[..count]), count);
                engine.poll();
                let count = engine.transmit(&mut bytes);
                assert_eq!(terminal.write(&bytes[..count]).expect("sent"), count);
            }
        });
        Jig { port, turned_on, is_on, over, thread: Some(thread) }
    }

    /// How often the feed was turned on.
    pub fn turned_on(&self) -> u32 {
        self.turned_on.load(Ordering::SeqCst)
    }

    /// Whether the feed is on.
    pub fn is_on(&self) -> bool {
        self.is_on.load(Ordering::SeqCst)
    }
}

impl Drop for Jig {
    fn drop(&mut self) {
        self.over.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// Such a jig with a sound module of a shipped kind.
pub fn real_jig(kind: &str) -> Jig {
    let sheet = shipped::module_sheet(kind).expect("shipped");
    Jig::with(setup(&sheet, None, Vec::new(), 1))
}
