//! Sealed sessions: every line carried out at most once.

use crate::wire::seal::{OPENING, Sealed};
use heapless::HistoryBuf;

/// How many sessions that were replaced are remembered.
const REMEMBERED: usize = 4;

/// What to do with a line whose seal is good.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    /// It opens a new session: carry it out.
    Open,
    /// It is the next one: carry it out.
    CarryOut,
    /// It is the last one again: answer again, carry nothing out.
    AnswerAgain,
    /// Neither: refuse it.
    Refuse,
}

/// Which lines are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// Unsealed lines, and those that open a session; there was none before.
    Open,
    /// Only the next line of the session, and the last one again.
    Sealed,
    /// As open; and the last line of the session that has ended is still answered again.
    Ended,
}

/// What changes the mode.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// A session opens.
    Opens,
    /// The host leaves its session, or is gone.
    Ends,
}

impl Mode {
    /// The mode that an event leads to.
    #[must_use]
    pub const fn after(self, event: Event) -> Mode {
        match (self, event) {
            (_, Event::Opens) => Mode::Sealed,
            (Mode::Open, Event::Ends) => Mode::Open,
            (Mode::Sealed | Mode::Ended, Event::Ends) => Mode::Ended,
        }
    }
}

/// The session that is open or was open last, and those before it.
#[derive(Debug)]
pub struct Session {
    mode: Mode,
    /// Of the session that is open, or was last.
    id: u32,
    /// The number of its last line that was carried out.
    last: u32,
    /// The answer to that line is at hand.
    answered: bool,
    replaced: HistoryBuf<u32, REMEMBERED>,
}

impl Session {
    /// No session yet.
    pub const fn new() -> Self {
        let replaced = HistoryBuf::new();
        Session { mode: Mode::Open, id: 0, last: 0, answered: false, replaced }
    }

    /// Whether only sealed lines are taken.
    pub fn is_sealed(&self) -> bool {
        self.mode == Mode::Sealed
    }

    /// Decides what to do with a line, and takes note of it.
    pub fn receive(&mut self, line: &Sealed<'_>) -> Decision {
        let decision = self.decide(line);
        match decision {
            Decision::Open => {
                if self.mode != Mode::Open {
                    self.replaced.write(self.id);
                }
                self.mode = self.mode.after(Event::Opens);
                (self.id, self.last, self.answered) = (line.session, line.number, false);
            }
            Decision::CarryOut => (self.last, self.answered) = (line.number, false),
            Decision::AnswerAgain | Decision::Refuse => {}
        }
        decision
    }

    fn decide(&self, line: &Sealed<'_>) -> Decision {
        if self.mode != Mode::Open && line.session == self.id {
            if line.number == self.last && self.answered {
                return Decision::AnswerAgain;
            }
            let is_next = self.last.checked_add(1) == Some(line.number);
            return if self.is_sealed() && is_next { Decision::CarryOut } else { Decision::Refuse };
        }
        let opens = line.number == 1 && line.rest == OPENING.as_bytes();
        if opens && !self.replaced.contains(&line.session) {
            Decision::Open
        } else {
            Decision::Refuse
        }
    }

    /// The answer to the last line is complete.
    pub fn answered(&mut self) {
        self.answered = true;
    }

    /// The answer to the last line is at hand no longer.
    pub fn forget_answer(&mut self) {
        self.answered = false;
    }

    /// Takes no further line of the session.
    pub fn end(&mut self) {
        self.mode = self.mode.after(Event::Ends);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn receive(session: &mut Session, id: u32, number: u32, rest: &str) -> Decision {
        let decision = session.receive(&Sealed { session: id, number, rest: rest.as_bytes() });
        if matches!(decision, Decision::Open | Decision::CarryOut) {
            session.answered();
        }
        decision
    }

    /// Every mode, every event.
    #[test]
    fn modes() {
        use Mode::{Ended, Open, Sealed};
        for (from, opens, ends) in
            [(Open, Sealed, Open), (Sealed, Sealed, Ended), (Ended, Sealed, Ended)]
        {
            assert_eq!(
                [Event::Opens, Event::Ends].map(|e| from.after(e)),
                [opens, ends],
                "{from:?}"
            );
        }
    }

    #[test]
    fn opens_with_its_first_line_only() {
        let mut session = Session::new();
        assert_eq!(receive(&mut session, 7, 2, "*CLS"), Decision::Refuse);
        assert_eq!(receive(&mut session, 7, 1, "*RST"), Decision::Refuse);
        assert_eq!(receive(&mut session, 7, 1, "*CLS;*RST"), Decision::Refuse);
        assert_eq!(receive(&mut session, 7, 1, "*CLS"), Decision::Open);
    }

    #[test]
    fn takes_the_next_number_and_no_other() {
        let mut session = Session::new();
        receive(&mut session, 7, 1, "*CLS");
        assert_eq!(receive(&mut session, 7, 1, "*CLS"), Decision::AnswerAgain);
        assert_eq!(receive(&mut session, 7, 3, "a"), Decision::Refuse, "a gap");
        assert_eq!(receive(&mut session, 7, 2, "a"), Decision::CarryOut);
        assert_eq!(receive(&mut session, 7, 2, "a"), Decision::AnswerAgain);
        assert_eq!(receive(&mut session, 7, 1, "*CLS"), Decision::Refuse, "stale");
        assert_eq!(receive(&mut session, 7, 3, "b"), Decision::CarryOut);
    }

    #[test]
    fn a_replaced_session_stays_closed() {
        let mut session = Session::new();
        for id in 1..=5 {
            assert_eq!(receive(&mut session, id, 1, "*CLS"), Decision::Open);
        }
        for id in 1..=4 {
            assert_eq!(receive(&mut session, id, 1, "*CLS"), Decision::Refuse);
        }
        assert_eq!(receive(&mut session, 5, 2, "a"), Decision::CarryOut);
    }

    #[test]
    fn an_ended_session_answers_its_last_line_and_takes_no_other() {
        let mut session = Session::new();
        receive(&mut session, 7, 1, "*CLS");
        session.end();
        assert_eq!(receive(&mut session, 7, 1, "*CLS"), Decision::AnswerAgain);
        assert_eq!(receive(&mut session, 7, 2, "a"), Decision::Refuse);
        session.forget_answer();
        assert_eq!(receive(&mut session, 7, 1, "*CLS"), Decision::Refuse);
    }

    #[test]
    fn numbers_do_not_wrap() {
        let mut session = Session::new();
        receive(&mut session, 7, 1, "*CLS");
        session.last = u32::MAX;
        assert_eq!(receive(&mut session, 7, 0, "a"), Decision::Refuse);
        assert_eq!(receive(&mut session, 7, 1, "*CLS"), Decision::Refuse);
    }
}
