//! The simulated bench for other programs, in real time: on a pseudo-terminal, or behind a socket.

use super::board::{PersonAct, Setup, SimulatedBoard};
use super::line::Line;
use crate::jig::engine::Engine;
use crate::refused::words;
use crate::system::lasting_name::LastingName;
use crate::system::pseudo_terminal::PseudoTerminal;
use core::time::Duration;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// How soon it is noticed that it shall stop.
const ATTENTION: Duration = Duration::from_millis(50);

/// A longer lag (a computer that slept) is not caught up with.
const LAG_MAX_US: u64 = 1_000_000;

/// How long a line is left alone whose client sends more than it fetches.
const FULL: Duration = Duration::from_millis(1);

/// The most bytes that wait for room on the line, and for the brain to take them.
const OUTGOING_MAX: usize = 8192;
const INCOMING_MAX: usize = 8192;

/// Why a bench could not be served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// No pseudo-terminal.
    #[error("cannot open a pseudo-terminal: {}", words(.0))]
    Terminal(#[source] std::io::Error),
    /// No link.
    #[error(
        "cannot make a link at {at}: {}; give `--path-at` a free name in a folder that is there",
        words(reason)
    )]
    Link {
        /// Where.
        at: PathBuf,
        /// Why not.
        reason: std::io::Error,
    },
    /// The line broke.
    #[error("the line to the clients failed: {}", words(.0))]
    Line(#[source] std::io::Error),
}

/// Serves a bench on a pseudo-terminal, as [`serve_on`] does.
///
/// `path_at` is where a link to the pseudo-terminal is made, removed at the end. `on_ready` gets
/// the path that a client opens.
///
/// # Errors
/// [`ServeError`].
pub fn serve(
    setup: Setup,
    path_at: Option<&Path>,
    stop: &AtomicBool,
    person: Option<&mut dyn FnMut() -> Option<PersonAct>>,
    on_ready: impl FnOnce(&Path),
) -> Result<(), ServeError> {
    let mut terminal = PseudoTerminal::open().map_err(ServeError::Terminal)?;
    let name = path_at.map(|at| {
        LastingName::make(at, terminal.path())
            .map_err(|reason| ServeError::Link { at: at.to_owned(), reason })
    });
    let _name = name.transpose()?;
    on_ready(path_at.unwrap_or(terminal.path()));
    serve_on(setup, &mut terminal, stop, person)
}

/// Serves a bench until it shall stop. Clients may come and go, one after the other; each one that
/// goes leaves the bench safe, as closing the port of a jig does.
///
/// `person` tells what somebody does at the bench, again and again; `None`: nobody is there, and orders seat the
/// module.
///
/// # Errors
/// [`ServeError::Line`].
pub fn serve_on(
    setup: Setup,
    line: &mut dyn Line,
    stop: &AtomicBool,
    mut person: Option<&mut dyn FnMut() -> Option<PersonAct>>,
) -> Result<(), ServeError> {
    let mut board = SimulatedBoard::new(setup);
    if person.is_some() {
        board.attend();
    }
    let mut bench = Bench::new(board);
    while !stop.load(Ordering::Relaxed) {
        if let Some(act) = person.as_mut().and_then(|does| does()) {
            bench.catch_up();
            bench.engine.board_mut().by_person(act);
        }
        bench.turn(line).map_err(ServeError::Line)?;
    }
    Ok(())
}

/// The jig's brain on the wall clock.
struct Bench {
    engine: Box<Engine<SimulatedBoard>>,
    /// When the bench's clock showed 0.
    start: Instant,
    now_us: u64,
    /// Bytes of the host that the brain has no room for yet.
    incoming: Vec<u8>,
    /// Bytes for the host that the line has no room for yet.
    outgoing: Vec<u8>,
}

impl Bench {
    fn new(board: SimulatedBoard) -> Self {
        Bench {
            engine: Engine::boxed(board),
            start: Instant::now(),
            now_us: 0,
            incoming: Vec::new(),
            outgoing: Vec::new(),
        }
    }

    /// Waits for the next thing to do, and does it.
    fn turn(&mut self, line: &mut dyn Line) -> std::io::Result<()> {
        let due_us = self.engine.next_wake_us().saturating_sub(self.present_us());
        let pause = Duration::from_micros(due_us).min(ATTENTION);
        let is_full = self.incoming.len() >= INCOMING_MAX;
        if is_full {
            // What comes stays on the line, which tells of it again and again.
            std::thread::sleep(pause.min(FULL));
        } else {
            line.wait(pause, !self.outgoing.is_empty())?;
        }
        self.catch_up();
        let mut buffer = [0; 1024];
        let count = if is_full { 0 } else { line.read(&mut buffer)? };
        self.incoming.extend_from_slice(&buffer[..count]);
        self.exchange();
        let sent = line.write(&self.outgoing)?;
        self.outgoing.drain(..sent);
        if line.was_closed()? {
            self.incoming.clear();
            self.outgoing.clear();
            self.engine.port_closed();
        }
        Ok(())
    }

    /// Brings the bench to the present, step by step: however late this comes, the bench does each
    /// thing in its time.
    fn catch_up(&mut self) {
        let mut present_us = self.present_us();
        if present_us.saturating_sub(self.now_us) > LAG_MAX_US {
            self.start += Duration::from_micros(present_us - self.now_us);
            present_us = self.now_us;
        }
        while self.now_us < present_us {
            let due_us = self.engine.next_wake_us();
            self.now_us = due_us.clamp(self.now_us + 1, present_us);
            self.engine.board_mut().advance_to(self.now_us);
            self.engine.poll();
        }
    }

    /// Lets the brain work on what has come, as far as what it answers is not too much at once.
    fn exchange(&mut self) {
        let mut buffer = [0; 1024];
        loop {
            let taken = self.engine.receive(&self.incoming);
            self.incoming.drain(..taken);
            self.engine.poll();
            if self.outgoing.len() >= OUTGOING_MAX {
                return;
            }
            let count = self.engine.transmit(&mut buffer);
            self.outgoing.extend_from_slice(&buffer[..count]);
            if count == 0 && (taken == 0 || self.incoming.is_empty()) {
                return;
            }
        }
    }

    fn present_us(&self) -> u64 {
        u64::try_from(self.start.elapsed().as_micros()).unwrap_or(u64::MAX)
    }
}
