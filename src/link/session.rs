//! Sealed exchanges: one line, one answer, however bad the line between.
//!
//! Stop and wait: a line is repeated, the very same bytes, until its answer comes whole. The jig
//! carries out a running number once only, so asking again is always safe. Every exchange ends
//! within [`EXCHANGE_MAX`] and what the caller expects the jig to need.

use super::error::{LinkError, Others};
use super::inbox::{Answer, Find, Inbox};
use super::transport::{Carried, Transport};
use crate::wire::LINE_MAX;
use crate::wire::checksum::crc32;
use crate::wire::seal::{OPENING, seal};
use crate::wire::tree::Order;
use core::time::Duration;

/// How long the line may be silent in each try before the next one; a try that brings a part of an
/// answer does not count. Short at first, since on a bad
/// line each lost byte costs that time; in all long enough for a jig that runs slower than real
/// time.
const PATIENCE_MS: [u64; 12] = [200, 250, 300, 400, 500, 600, 800, 1000, 1000, 1000, 1000, 1000];

/// A jig that turns out to answer late is given at least so much in each try, and no more than that: else
/// what it is asked again piles up before the answer to the next line.
const LATENESS: (Duration, Duration) = (Duration::from_millis(500), Duration::from_secs(2));

/// The longest that one try may take while bytes keep coming: a block at 115200 baud takes 0.4 s, and
/// an emulated jig on a busy machine runs at a tenth of real time.
const TRY_MAX: Duration = Duration::from_secs(10);

/// The longest that an exchange may take, all tries together.
pub const EXCHANGE_MAX: Duration = Duration::from_secs(30);

/// The silence before a line is repeated: what still comes belongs to the try before.
const SETTLE: Duration = Duration::from_millis(20);

/// The longest that the line is given to fall silent.
const SETTLE_MAX: Duration = Duration::from_millis(100);

type SealedLine = heapless::Vec<u8, { LINE_MAX + 1 }>;

/// What has gone over the line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Traffic {
    /// Exchanges begun.
    pub exchanges: u64,
    /// Lines sent again.
    pub repeats: u64,
    /// Bytes sent.
    pub bytes_sent: u64,
    /// Bytes received.
    pub bytes_received: u64,
}

/// An id for a session that this jig has not met: made from the time of day, so that on a simulated
/// clock it is always the same.
pub fn fresh_id(transport: &dyn Transport) -> u32 {
    crc32(&transport.time_of_day().timestamp().as_nanosecond().to_le_bytes())
}

/// A session with a jig: numbers the lines, seals them, and finds their answers.
pub struct Session {
    transport: Box<dyn Transport>,
    id: u32,
    number: u32,
    inbox: Inbox,
    traffic: Traffic,
    /// How late answers have come of late.
    lateness: Duration,
}

impl Session {
    /// Opens a session. The id should not have been used with this jig before.
    ///
    /// # Errors
    /// [`LinkError::SessionLost`] when the jig refuses that id; else see [`Session::exchange`].
    pub fn open(transport: Box<dyn Transport>, id: u32) -> Result<Session, LinkError> {
        let mut session = Session {
            transport,
            id,
            number: 0,
            inbox: Inbox::default(),
            traffic: Traffic::default(),
            lateness: Duration::ZERO,
        };
        let opened = session.exchange(OPENING, Duration::ZERO)?;
        if opened.carried_out == 1 { Ok(session) } else { Err(LinkError::SessionLost) }
    }

    /// Sends a line of units and returns its answer. `expected` is how long the jig itself needs.
    ///
    /// # Errors
    /// [`LinkError::Transport`], [`LinkError::NoAnswer`].
    pub fn exchange(&mut self, units: &str, expected: Duration) -> Result<Answer, LinkError> {
        let line = self.next_line(units)?;
        let effort = Effort { expected, ..Effort::FULL };
        let answer = self.repeat_until_answered(&line, effort)?;
        let waited = EXCHANGE_MAX;
        answer.ok_or(LinkError::NoAnswer { waited, others: Others::default() })
    }

    /// Has orders carried out by a jig in the same process; `None` where the jig is elsewhere.
    ///
    /// # Errors
    /// [`LinkError::NoAnswer`].
    pub fn carry_out<'o>(
        &mut self,
        orders: impl FnOnce() -> Option<Vec<Order<'o>>>,
        expected: Duration,
    ) -> Result<Option<Carried>, LinkError> {
        let Some(jig) = self.transport.jig_beside() else { return Ok(None) };
        let Some(orders) = orders() else { return Ok(None) };
        self.traffic.exchanges += 1;
        let waited = EXCHANGE_MAX + expected;
        let carried = jig.carry_out(orders, waited);
        carried.map(Some).ok_or(LinkError::NoAnswer { waited, others: Others::default() })
    }

    /// Whether the jig is in the same process.
    pub fn is_beside(&mut self) -> bool {
        self.transport.jig_beside().is_some()
    }

    /// Like [`Session::exchange`], but gives up as soon as the answer came damaged: then the line
    /// has been carried out, and it may pay to ask for less.
    ///
    /// # Errors
    /// See [`Session::exchange`].
    pub fn exchange_once(&mut self, units: &str) -> Result<Option<Answer>, LinkError> {
        let line = self.next_line(units)?;
        self.repeat_until_answered(&line, Effort { damages: 1, ..Effort::FULL })
    }

    /// Sends a last line with little patience; says whether it was answered.
    pub fn farewell(&mut self, units: &str) -> bool {
        let effort = Effort { tries: Effort::LEAST, ..Effort::FULL };
        let Ok(line) = self.next_line(units) else { return false };
        matches!(self.repeat_until_answered(&line, effort), Ok(Some(_)))
    }

    /// What has gone over the line so far.
    pub fn traffic(&self) -> Traffic {
        self.traffic
    }

    /// The transport, for its clocks.
    pub fn transport(&self) -> &dyn Transport {
        &*self.transport
    }

    /// Lets time pass by the transport's clock.
    pub fn pause(&mut self, time: Duration) {
        self.transport.pause(time);
    }

    fn next_line(&mut self, units: &str) -> Result<SealedLine, LinkError> {
        let line = seal(self.id, self.number + 1, units)
            .map_err(|why| LinkError::Unsendable { units: units.into(), why })?;
        self.number += 1;
        self.inbox.clear();
        self.traffic.exchanges += 1;
        Ok(line)
    }

    fn repeat_until_answered(
        &mut self,
        line: &[u8],
        effort: Effort,
    ) -> Result<Option<Answer>, LinkError> {
        let begin = self.transport.now();
        let end = begin + EXCHANGE_MAX + effort.expected;
        let (mut tried, mut damages) = (0, 0);
        let mut is_repeat = false;
        while tried < effort.tries && self.transport.now() < end {
            if is_repeat {
                self.traffic.repeats += 1;
                // Ends what the jig may hold of a line whose end was lost.
                self.send(b"\n")?;
                if let Find::Answer(late) = self.listen(SETTLE, SETTLE_MAX)? {
                    return Ok(Some(late));
                }
                self.inbox.repeat();
            }
            self.send(line)?;
            let (stale, received) = (self.inbox.stale(), self.traffic.bytes_received);
            let patience = Duration::from_millis(PATIENCE_MS[tried]).max(self.lateness);
            let found = self.listen(patience + effort.expected, TRY_MAX + effort.expected)?;
            let is_behind = self.inbox.stale() > stale;
            if is_behind {
                let (least, most) = LATENESS;
                self.lateness = (2 * self.lateness).clamp(least, most);
            }
            match found {
                Find::Answer(answer) => {
                    if !is_behind && !is_repeat {
                        self.lateness /= 2;
                    }
                    return Ok(Some(answer));
                }
                Find::Damaged => damages += 1,
                Find::Nothing => {}
            }
            if damages >= effort.damages {
                return Ok(None);
            }
            // A jig that sends, if only what it was asked for earlier, lives: its answer is on the way, or
            // comes whole one day.
            let is_silent = self.traffic.bytes_received == received;
            let has_patience = effort.tries > Effort::LEAST;
            tried += usize::from(is_silent || !has_patience && matches!(found, Find::Damaged));
            is_repeat = true;
            if self.transport.is_stopping() && tried >= Effort::LEAST {
                break;
            }
        }
        let waited = self.transport.now().saturating_sub(begin);
        Err(LinkError::NoAnswer { waited, others: self.transport.others().into() })
    }

    /// Takes bytes in until the answer is found, the line is silent for `patience`, or `longest`
    /// is over.
    fn listen(&mut self, patience: Duration, longest: Duration) -> Result<Find, LinkError> {
        let mut buffer = [0; 1024];
        let begin = self.transport.now();
        let mut heard = begin;
        loop {
            let now = self.transport.now();
            let until = (heard + patience).min(begin + longest);
            if now >= until {
                return Ok(Find::Nothing);
            }
            let count = self.transport.receive(&mut buffer, until - now)?;
            if count == 0 {
                return Ok(Find::Nothing);
            }
            heard = self.transport.now();
            self.traffic.bytes_received += count as u64;
            match self.inbox.take(&buffer[..count], self.id, self.number) {
                Find::Nothing => {}
                found => return Ok(found),
            }
        }
    }

    fn send(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        self.traffic.bytes_sent += bytes.len() as u64;
        Ok(self.transport.send(bytes)?)
    }
}

/// How hard an exchange tries.
#[derive(Clone, Copy)]
struct Effort {
    /// How long the jig itself needs.
    expected: Duration,
    /// How often the line is sent.
    tries: usize,
    /// After how many damaged answers it gives up.
    damages: usize,
}

impl Effort {
    /// So often a line is sent even when the operator wants to stop: it may turn the feed off.
    const LEAST: usize = 3;

    const FULL: Effort =
        Effort { expected: Duration::ZERO, tries: PATIENCE_MS.len(), damages: usize::MAX };
}

#[cfg(test)]
mod tests;
