//! Sealed sessions: every line carried out at most once.

use crate::wire::seal::Sealed;
use heapless::HistoryBuf;

/// How many sessions that were replaced are remembered.
const REMEMBERED: usize = 4;

/// What the first line of a session must read.
const OPENING: &[u8] = b"*CLS";

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

#[derive(Clone, Copy, Debug)]
struct Current {
    id: u32,
    /// The number of the last line carried out.
    last: u32,
    /// No further line is taken; the last one may still be answered again.
    ended: bool,
    /// The answer to the last line is at hand.
    answered: bool,
}

/// The session that is open or was open last, and those before it.
#[derive(Debug)]
pub struct Sessions {
    current: Option<Current>,
    replaced: HistoryBuf<u32, REMEMBERED>,
}

impl Sessions {
    /// No session yet.
    pub const fn new() -> Self {
        Sessions { current: None, replaced: HistoryBuf::new() }
    }

    /// Decides what to do with a line, and takes note of it.
    pub fn receive(&mut self, line: &Sealed<'_>) -> Decision {
        match &mut self.current {
            Some(current) if current.id == line.session => {
                if line.number == current.last && current.answered {
                    return Decision::AnswerAgain;
                }
                if current.ended || current.last.checked_add(1) != Some(line.number) {
                    return Decision::Refuse;
                }
                (current.last, current.answered) = (line.number, false);
                Decision::CarryOut
            }
            _ if line.number != 1
                || line.rest != OPENING
                || self.replaced.contains(&line.session) =>
            {
                Decision::Refuse
            }
            current => {
                if let Some(old) = current {
                    self.replaced.write(old.id);
                }
                *current =
                    Some(Current { id: line.session, last: 1, ended: false, answered: false });
                Decision::Open
            }
        }
    }

    /// The answer to the last line is complete.
    pub fn answered(&mut self) {
        if let Some(current) = &mut self.current {
            current.answered = true;
        }
    }

    /// The answer to the last line is at hand no longer.
    pub fn forget_answer(&mut self) {
        if let Some(current) = &mut self.current {
            current.answered = false;
        }
    }

    /// Takes no further line of the session.
    pub fn end(&mut self) {
        if let Some(current) = &mut self.current {
            current.ended = true;
        }
    }
}

impl Default for Sessions {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn receive(sessions: &mut Sessions, session: u32, number: u32, rest: &str) -> Decision {
        let decision = sessions.receive(&Sealed { session, number, rest: rest.as_bytes() });
        if matches!(decision, Decision::Open | Decision::CarryOut) {
            sessions.answered();
        }
        decision
    }

    #[test]
    fn opens_with_its_first_line_only() {
        let mut sessions = Sessions::new();
        assert_eq!(receive(&mut sessions, 7, 2, "*CLS"), Decision::Refuse);
        assert_eq!(receive(&mut sessions, 7, 1, "*RST"), Decision::Refuse);
        assert_eq!(receive(&mut sessions, 7, 1, "*CLS;*RST"), Decision::Refuse);
        assert_eq!(receive(&mut sessions, 7, 1, "*CLS"), Decision::Open);
    }

    #[test]
    fn takes_the_next_number_and_no_other() {
        let mut sessions = Sessions::new();
        receive(&mut sessions, 7, 1, "*CLS");
        assert_eq!(receive(&mut sessions, 7, 1, "*CLS"), Decision::AnswerAgain);
        assert_eq!(receive(&mut sessions, 7, 3, "a"), Decision::Refuse, "a gap");
        assert_eq!(receive(&mut sessions, 7, 2, "a"), Decision::CarryOut);
        assert_eq!(receive(&mut sessions, 7, 2, "a"), Decision::AnswerAgain);
        assert_eq!(receive(&mut sessions, 7, 1, "*CLS"), Decision::Refuse, "stale");
        assert_eq!(receive(&mut sessions, 7, 3, "b"), Decision::CarryOut);
    }

    #[test]
    fn a_replaced_session_stays_closed() {
        let mut sessions = Sessions::new();
        for session in 1..=5 {
            assert_eq!(receive(&mut sessions, session, 1, "*CLS"), Decision::Open);
        }
        for session in 1..=4 {
            assert_eq!(receive(&mut sessions, session, 1, "*CLS"), Decision::Refuse);
        }
        assert_eq!(receive(&mut sessions, 5, 2, "a"), Decision::CarryOut);
    }

    #[test]
    fn an_ended_session_answers_its_last_line_and_takes_no_other() {
        let mut sessions = Sessions::new();
        receive(&mut sessions, 7, 1, "*CLS");
        sessions.end();
        assert_eq!(receive(&mut sessions, 7, 1, "*CLS"), Decision::AnswerAgain);
        assert_eq!(receive(&mut sessions, 7, 2, "a"), Decision::Refuse);
        sessions.forget_answer();
        assert_eq!(receive(&mut sessions, 7, 1, "*CLS"), Decision::Refuse);
    }

    #[test]
    fn numbers_do_not_wrap() {
        let mut sessions = Sessions::new();
        receive(&mut sessions, 7, 1, "*CLS");
        if let Some(current) = &mut sessions.current {
            current.last = u32::MAX;
        }
        assert_eq!(receive(&mut sessions, 7, 0, "a"), Decision::Refuse);
        assert_eq!(receive(&mut sessions, 7, 1, "*CLS"), Decision::Refuse);
    }
}
