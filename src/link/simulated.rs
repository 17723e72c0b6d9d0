//! The simulated bench in this very process, on a clock that jumps.
//!
//! Nothing happens by itself: time moves only while someone receives or pauses, from one instant
//! at which something is due to the next. So a run takes as little time as its computing does, and
//! the same seed gives the same bytes.

use super::pace::{OneWay, Pace};
use super::transport::{Carried, JigBeside, Transport, TransportError};
use crate::jig::board::Board;
use crate::jig::engine::Engine;
use crate::simulated_bench::{Setup, SimulatedBoard};
use crate::wire::tree::Order;
use crate::wire::values::AnswerValues;
use core::time::Duration;

/// A board whose clock is moved from outside.
pub trait JumpingBoard: Board {
    /// Moves its world and its clock on to this time, in microseconds.
    fn advance_to(&mut self, t_us: u64);
}

impl JumpingBoard for SimulatedBoard {
    fn advance_to(&mut self, t_us: u64) {
        SimulatedBoard::advance_to(self, t_us);
    }
}

/// The jig's brain over a simulated board, reached by function calls.
pub struct SimulatedTransport<B = SimulatedBoard> {
    /// There is one but for the moment of a restart.
    engine: Option<Box<Engine<B>>>,
    now_us: u64,
    to_jig: OneWay,
    from_jig: OneWay,
    /// It takes orders as values.
    beside: bool,
}

impl SimulatedTransport {
    /// A bench, freshly booted.
    pub fn new(setup: Setup) -> Self {
        Self::over(SimulatedBoard::new(setup))
    }
}

impl<B: JumpingBoard> SimulatedTransport<B> {
    /// The same over any board whose clock jumps.
    pub fn over(board: B) -> Self {
        let mut engine = Engine::boxed(board);
        let now_us = engine.board_mut().now_us();
        let (to_jig, from_jig) = (OneWay::new(None), OneWay::new(None));
        SimulatedTransport { engine: Some(engine), now_us, to_jig, from_jig, beside: true }
    }

    /// Has all of it go as text, byte by byte.
    #[must_use]
    pub fn as_text(self) -> Self {
        SimulatedTransport { beside: false, ..self }
    }

    /// Lets the line carry bytes at a pace, so that transfers take simulated time.
    #[must_use]
    pub fn at(mut self, pace: Pace) -> Self {
        (self.to_jig, self.from_jig) = (OneWay::new(Some(pace)), OneWay::new(Some(pace)));
        self.as_text()
    }

    /// The jig's brain.
    pub fn engine(&self) -> &Engine<B> {
        self.engine.as_ref().expect("there is one")
    }

    fn engine_mut(&mut self) -> &mut Engine<B> {
        self.engine.as_mut().expect("there is one")
    }

    /// The jig starts anew, as when its power was gone for a moment: everything is off, and it knows of
    /// no session. Only its clock goes on.
    pub fn restart(&mut self) {
        self.engine = self.engine.take().map(|engine| Engine::boxed(engine.into_board()));
    }

    /// Does all that is due now.
    fn settle(&mut self) {
        let mut buffer = [0; 512];
        let count = self.to_jig.take(self.now_us, &mut buffer);
        let taken = self.engine_mut().receive(&buffer[..count]);
        self.to_jig.give_back(&buffer[taken..count]);
        self.engine_mut().poll();
        loop {
            let count = self.engine_mut().transmit(&mut buffer);
            if count == 0 {
                return;
            }
            self.from_jig.put(self.now_us, &buffer[..count]);
        }
    }

    /// Jumps to the next instant at which something is due, at most to `end_us`.
    fn jump(&mut self, end_us: u64) {
        let due_us = self
            .engine_mut()
            .next_wake_us()
            .min(self.to_jig.next_us())
            .min(self.from_jig.next_us());
        self.jump_to(due_us, end_us);
    }

    fn jump_to(&mut self, due_us: u64, end_us: u64) {
        self.now_us = due_us.max(self.now_us + 1).min(end_us);
        let now_us = self.now_us;
        self.engine_mut().board_mut().advance_to(now_us);
    }
}

impl<B: JumpingBoard> JigBeside for SimulatedTransport<B> {
    fn carry_out(&mut self, orders: Vec<Order<'_>>, longest: Duration) -> Option<Carried> {
        let end_us = self.now_us.saturating_add(micros(longest));
        let mut answers = AnswerValues::default();
        let mut whole = self.engine_mut().begin_orders();
        let taken = if whole { orders } else { Vec::new() };
        for order in taken {
            let mut done = self.engine_mut().carry_out(order, &mut answers);
            if let Ok(Some(what)) = done {
                loop {
                    if self.now_us >= end_us {
                        return None;
                    }
                    self.jump_to(self.engine().order_wakes_us(what), end_us);
                    if !self.engine_mut().order_waits(what) {
                        break;
                    }
                }
                done = self.engine_mut().complete_order(what, &mut answers).map(|()| None);
            }
            if done.is_err() {
                whole = false;
                break;
            }
        }
        self.engine_mut().end_orders();
        self.engine_mut().poll();
        Some(Carried { answers, whole })
    }
}

impl<B: JumpingBoard> Transport for SimulatedTransport<B> {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        self.to_jig.put(self.now_us, bytes);
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        let end_us = self.now_us.saturating_add(micros(timeout));
        loop {
            self.settle();
            let count = self.from_jig.take(self.now_us, into);
            if count > 0 || into.is_empty() || self.now_us >= end_us {
                return Ok(count);
            }
            self.jump(end_us);
        }
    }

    fn now(&self) -> Duration {
        Duration::from_micros(self.now_us)
    }

    fn pause(&mut self, time: Duration) {
        let end_us = self.now_us.saturating_add(micros(time));
        while self.now_us < end_us {
            self.settle();
            self.jump(end_us);
        }
    }

    fn jig_beside(&mut self) -> Option<&mut dyn JigBeside> {
        if self.beside { Some(self) } else { None }
    }

    fn time_of_day(&self) -> jiff::ZonedDateTime {
        (DAY_BREAK + self.now()).to_zoned_datetime(jiff::tz::TimeZone::UTC)
    }
}

/// When a simulated bench boots: 2026-01-05T09:00:00Z, so that runs can be compared byte by byte.
const DAY_BREAK: jiff::Timestamp = jiff::Timestamp::constant(1_767_603_600, 0);

/// Rounded up, so that a short time is never none.
fn micros(time: Duration) -> u64 {
    u64::try_from(time.as_nanos().div_ceil(1000)).unwrap_or(u64::MAX)
}
