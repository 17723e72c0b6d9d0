//! The operator at the terminal.

use crate::report::lamp_prompt::{LAMP_ANSWER, LampAnswer, lamp_answer, lamp_question};
use crate::report::prompt::{ANSWER, prompt};
use crate::run::event::{Hand, LampQuestion, LampSeen};
use crate::script::plan::HandTask;
use core::time::Duration;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use std::io::{self, IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// How soon a prompt notices that the run shall stop.
const GLANCE: Timespec = Timespec { tv_sec: 0, tv_nsec: 50_000_000 };

/// How often the jig is kept from falling silent meanwhile.
const KEEP_ALIVE: Duration = Duration::from_millis(500);

/// Asks on the error output, and waits for an answer on the standard input.
#[derive(Debug)]
pub struct Operator<'a> {
    stop: &'a AtomicBool,
    is_simulated: bool,
}

impl<'a> Operator<'a> {
    /// `stop` is set when the run shall stop, also in the middle of a prompt.
    /// On a simulated bench there is nothing to be done by hand, and the prompt says so.
    pub fn new(stop: &'a AtomicBool, is_simulated: bool) -> Self {
        Operator { stop, is_simulated }
    }

    /// Waits until a line can be read. `false`: the run shall stop, or the jig is gone.
    fn wait(&self, keep_alive: &mut dyn FnMut() -> bool) -> bool {
        let input = io::stdin();
        let mut kept_alive = Instant::now();
        while !self.stop.load(Ordering::Relaxed) {
            let mut ready = [PollFd::new(&input, PollFlags::IN)];
            match poll(&mut ready, Some(&GLANCE)) {
                Ok(0) | Err(rustix::io::Errno::INTR) => {}
                Ok(_) => return true,
                Err(_) => return false,
            }
            if kept_alive.elapsed() >= KEEP_ALIVE {
                kept_alive = Instant::now();
                if !keep_alive() {
                    return false;
                }
            }
        }
        false
    }
}

impl Operator<'_> {
    /// Asks for a line and keeps the jig alive meanwhile. `None`: the operator wants to stop, nobody
    /// is there, or the jig is gone.
    pub fn line(&self, question: &str, keep_alive: &mut dyn FnMut() -> bool) -> Option<String> {
        let _ = write!(io::stderr(), "{question}");
        let mut line = String::new();
        if !self.wait(keep_alive) || !matches!(io::stdin().read_line(&mut line), Ok(1..)) {
            let _ = writeln!(io::stderr());
            return None;
        }
        let line = line.trim();
        (!line.eq_ignore_ascii_case("q")).then(|| line.to_owned())
    }
}

impl Hand for Operator<'_> {
    fn act(&mut self, task: &HandTask, keep_alive: &mut dyn FnMut() -> bool) -> bool {
        let question = format!("{}{ANSWER}", prompt(task, self.is_simulated));
        self.line(&question, keep_alive).is_some()
    }

    fn look(
        &mut self,
        question: &LampQuestion,
        keep_alive: &mut dyn FnMut() -> bool,
    ) -> Option<LampSeen> {
        // A simulated bench has no lamp to look at, and without a terminal nobody is there.
        if self.is_simulated || !io::stdin().is_terminal() {
            return Some(LampSeen::CannotTell);
        }
        let _ = write!(io::stderr(), "{}", lamp_question(question));
        loop {
            let _ = write!(io::stderr(), "{LAMP_ANSWER}");
            let mut line = String::new();
            if !self.wait(keep_alive) || !matches!(io::stdin().read_line(&mut line), Ok(1..)) {
                let _ = writeln!(io::stderr());
                return None;
            }
            match lamp_answer(&line) {
                LampAnswer::Seen(seen) => return Some(seen),
                LampAnswer::Stop => return None,
                LampAnswer::Unclear => {}
            }
        }
    }
}
