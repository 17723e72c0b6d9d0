//! Answers from the keyboard: only what was typed after the question, and a line at a time.

use crate::system::terminal;
use crate::system::typed::Typed;
use core::time::Duration;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// How soon it is noticed that the run shall stop.
const GLANCE: Duration = Duration::from_millis(50);

/// How often the jig is kept from falling silent meanwhile.
const KEEP_ALIVE: Duration = Duration::from_millis(500);

/// A keyboard is at rest when nothing has come from it for so long. A person does not type two lines
/// within this time; a scanner, a pasted text and a key that is held down do.
const AT_REST: Duration = Duration::from_millis(150);

/// The longest line that is taken for an answer, bytes.
const LONGEST: usize = 4096;

/// The keyboard while a question waits.
pub struct Keyboard<'a> {
    stop: &'a AtomicBool,
    keep_alive: &'a mut dyn FnMut() -> bool,
    kept_alive: Instant,
    /// Typed, and not looked at yet.
    typed: Vec<u8>,
}

/// Why no answer will come: the run shall stop, nobody is there, or the jig is gone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoAnswer;

impl<'a> Keyboard<'a> {
    /// While it waits, it calls `keep_alive` at least once a second; when that answers `false` the
    /// jig is gone, and it gives up. It gives up too as soon as `stop` is set.
    pub fn new(stop: &'a AtomicBool, keep_alive: &'a mut dyn FnMut() -> bool) -> Self {
        Keyboard { stop, keep_alive, kept_alive: Instant::now(), typed: Vec::new() }
    }

    /// Throws away what was typed up to now, and goes on doing so until the keyboard is at rest.
    ///
    /// # Errors
    /// When no answer will ever come.
    pub fn forget(&mut self) -> Result<(), NoAnswer> {
        loop {
            terminal::forget_typed();
            self.typed.clear();
            if !self.more_within(AT_REST)? {
                // What is typed of a line is not told before its end.
                terminal::forget_typed();
                return Ok(());
            }
        }
    }

    /// The next line, without its end. `None`: more than a line came at once, and nobody types so
    /// quickly.
    ///
    /// # Errors
    /// When no answer will ever come.
    pub fn line(&mut self) -> Result<Option<String>, NoAnswer> {
        let end = loop {
            match self.typed.iter().position(|byte| matches!(byte, b'\n' | b'\r')) {
                Some(end) => break end,
                None if self.typed.len() > LONGEST => return Ok(None),
                None => while !self.more_within(GLANCE)? {},
            }
        };
        if end + 1 < self.typed.len() || self.more_within(AT_REST)? {
            return Ok(None);
        }
        let line = String::from_utf8_lossy(&self.typed[..end]).into_owned();
        self.typed.clear();
        Ok(Some(line))
    }

    /// Whether something more was typed within that time; it is taken.
    fn more_within(&mut self, time: Duration) -> Result<bool, NoAnswer> {
        let since = Instant::now();
        loop {
            if self.stop.load(Ordering::Relaxed) {
                return Err(NoAnswer);
            }
            let left = time.saturating_sub(since.elapsed());
            match terminal::wait_typed(left.min(GLANCE)) {
                Typed::Something => {
                    return terminal::take_typed(&mut self.typed).map(|()| true).ok_or(NoAnswer);
                }
                Typed::Gone => return Err(NoAnswer),
                Typed::Nothing => {}
            }
            if self.kept_alive.elapsed() >= KEEP_ALIVE {
                self.kept_alive = Instant::now();
                if !(self.keep_alive)() {
                    return Err(NoAnswer);
                }
            }
            if left.is_zero() {
                return Ok(false);
            }
        }
    }
}
