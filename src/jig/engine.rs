//! The engine: bytes in, bytes out, and what is due in between.
//!
//! A line is carried out unit by unit. A unit that has to wait (`*WAI`, `*OPC?`, `MEASure`, a long
//! block) holds the line, and all lines after it, until it is complete. The silence limit bounds
//! every wait.

use super::board::Board;
use super::commands::{self, Flow};
use super::held::{Held, Waiting};
use super::instrument::Instrument;
use super::memory::MemoryRef;
use super::output::Output;
use super::session::{Decision, Sessions};
use crate::wire::LINE_MAX;
use crate::wire::error::ErrorCode;
use crate::wire::line::{Framer, Line};
use crate::wire::message::Message;
use crate::wire::seal::{self, Opened, Trailer, TrailerText};
use heapless::{Deque, Vec};

/// Bytes that are kept while a line is being carried out: two lines.
const INPUT_MAX: usize = 2 * LINE_MAX;
/// A poll carries units out for so long, in microseconds, and leaves the rest to the next one: the
/// electronics want to be looked after.
const TURN_US: u64 = 2_000;

/// The jig's brain over a board.
#[derive(Debug)]
pub struct Engine<B> {
    instrument: Instrument<B>,
    input: Deque<u8, INPUT_MAX>,
    framer: Framer,
    /// The line that is being carried out, seal taken off.
    line: Vec<u8, LINE_MAX>,
    held: Option<Held>,
    sessions: Sessions,
    output: Output,
}

impl<B: Board> Engine<B> {
    /// A brain that has just booted: everything off and open.
    pub fn new(board: B, memory: MemoryRef) -> Self {
        Engine {
            instrument: Instrument::new(board, memory),
            input: Deque::new(),
            framer: Framer::new(),
            line: Vec::new(),
            held: None,
            sessions: Sessions::new(),
            output: Output::new(),
        }
    }

    /// The same on the heap, memory and all.
    #[cfg(feature = "host")]
    pub fn boxed(board: B) -> Box<Self> {
        Box::new(Self::new(board, Box::default()))
    }

    /// The electronics.
    pub fn board(&self) -> &B {
        &self.instrument.board
    }

    /// The electronics, to be changed.
    pub fn board_mut(&mut self) -> &mut B {
        &mut self.instrument.board
    }

    /// Takes bytes from the host, as many as there is room for; returns how many. Offer the rest
    /// again after the next [`Engine::poll`].
    pub fn receive(&mut self, bytes: &[u8]) -> usize {
        let room = self.input.capacity() - self.input.len();
        let taken = bytes.len().min(room);
        for &byte in &bytes[..taken] {
            // There is room, as was just seen.
            let _ = self.input.push_back(byte);
        }
        taken
    }

    /// Carries out what is due at the board's clock, and the lines that have come.
    pub fn poll(&mut self) {
        let now_us = self.instrument.board.now_us();
        self.instrument.poll(now_us);
        if self.exchange() {
            let now_us = self.instrument.board.now_us();
            self.instrument.poll(now_us);
        }
        let now_us = self.instrument.board.now_us();
        let sealed = self.instrument.sealed;
        if self.instrument.listen(now_us, self.waits()) {
            if sealed {
                self.sessions.end();
            }
            // A line that waited need not wait any longer.
            self.exchange();
        }
    }

    /// The next bytes for the host, as many as fit; returns how many. It makes room for more: ask
    /// [`Engine::next_wake_us`] again afterwards.
    pub fn transmit(&mut self, into: &mut [u8]) -> usize {
        self.output.transmit(&self.instrument.captures, into)
    }

    /// Call [`Engine::poll`] no later than this, by the board's clock in microseconds; `u64::MAX`
    /// when nothing is due. A time that has passed means: at once.
    pub fn next_wake_us(&mut self) -> u64 {
        let line_due = match &self.held {
            Some(held) => {
                held.waiting.is_none_or(|waiting| self.has_come(waiting))
                    && self.may_go_on(held.seal.is_some())
            }
            None => !self.input.is_empty() && self.may_go_on(self.instrument.sealed),
        };
        if line_due { 0 } else { self.instrument.wake_us(self.waits()) }
    }

    /// The host has closed the port: everything safe, sealed mode left, nothing left to say.
    pub fn port_closed(&mut self) {
        self.instrument.make_safe();
        self.instrument.sealed = false;
        self.sessions.end();
        self.sessions.forget_answer();
        self.input.clear();
        self.framer.reset();
        self.held = None;
        self.output.clear();
    }

    /// Whether a line waits for something other than its answer to be read.
    fn waits(&self) -> bool {
        self.held.is_some_and(|held| held.waiting.is_some())
    }

    /// Carries lines out as far as they go; true when anything was carried out.
    fn exchange(&mut self) -> bool {
        let until_us = self.instrument.board.now_us() + TURN_US;
        let mut any = false;
        loop {
            if any && self.instrument.board.now_us() >= until_us {
                return any;
            }
            let sealed = self.held.as_ref().map_or(self.instrument.sealed, |h| h.seal.is_some());
            if !self.may_go_on(sealed) {
                return any;
            }
            if self.held.is_some() {
                if !self.carry_on(until_us) {
                    return any;
                }
            } else if !self.next_line() {
                return any;
            }
            any = true;
        }
    }

    /// Whether the answers on their way leave room for more. A sealed line begins with all sent,
    /// and then goes on by itself.
    fn may_go_on(&self, sealed: bool) -> bool {
        match (sealed, self.held.is_some()) {
            (true, false) => self.output.is_drained(),
            (true, true) => true,
            (false, _) => self.output.has_room() || self.output.is_drained(),
        }
    }

    /// Takes the next line from the input; false when there is none.
    fn next_line(&mut self) -> bool {
        while let Some(byte) = self.input.pop_front() {
            let line = match self.framer.push(byte) {
                None => continue,
                Some(Line::TooLong) => {
                    if !self.instrument.sealed {
                        self.instrument.status.report(ErrorCode::InputOverrun);
                    }
                    return true;
                }
                Some(Line::Whole(line)) => line,
            };
            match seal::open(line) {
                Opened::Damaged => {}
                Opened::Plain(_) if self.instrument.sealed => {}
                Opened::Plain(rest) => {
                    self.line.clear();
                    // No longer than the longest line.
                    let _ = self.line.extend_from_slice(rest);
                    self.begin_plain();
                }
                Opened::Sealed(sealed) => {
                    self.line.clear();
                    let _ = self.line.extend_from_slice(sealed.rest);
                    let decision = self.sessions.receive(&sealed);
                    let (session, number) = (sealed.session, sealed.number);
                    self.begin_sealed(decision, session, number);
                }
            }
            return true;
        }
        false
    }

    fn begin_plain(&mut self) {
        if self.output.is_drained() {
            self.output.clear();
            self.sessions.forget_answer();
        }
        self.held = Some(Held::new(None));
    }

    fn begin_sealed(&mut self, decision: Decision, session: u32, number: u32) {
        match decision {
            Decision::Open | Decision::CarryOut => {
                if decision == Decision::Open {
                    self.instrument.make_safe();
                    self.instrument.sealed = true;
                }
                self.output.clear();
                self.held = Some(Held::new(Some((session, number))));
            }
            Decision::AnswerAgain => self.output.again(),
            Decision::Refuse => {
                let trailer = Trailer { session, number, carried_out: 0, errors: 1 };
                self.output.refuse(trailer.after(b""));
            }
        }
        self.instrument.heard();
    }

    /// Carries the line on until it ends (true), or has to wait or time is up (false).
    fn carry_on(&mut self, until_us: u64) -> bool {
        let Some(mut held) = self.held else { return true };
        if let Some(waiting) = held.waiting {
            if !self.has_come(waiting) {
                return false;
            }
            held.waiting = None;
            self.complete(waiting, &mut held);
        }
        self.held = Some(held);
        if !self.carry_out_units(until_us) {
            return false;
        }
        self.end_line();
        true
    }

    fn has_come(&self, waiting: Waiting) -> bool {
        match waiting {
            Waiting::Operations | Waiting::OperationsAnswered => !self.instrument.is_busy(),
            Waiting::Measurement => {
                self.instrument.measurement.as_ref().is_none_or(|m| m.is_complete())
            }
            Waiting::Checksum(unit) => self.instrument.captures.capture(unit).crc().is_some(),
        }
    }

    /// What a unit waited for has come: its answer, and its count.
    fn complete(&mut self, waiting: Waiting, held: &mut Held) {
        let measurement = self.instrument.measurement.take();
        let result = self.output.append(held.answered, |response| match waiting {
            Waiting::Operations => Ok(()),
            Waiting::OperationsAnswered => commands::written(response.integer(1)),
            Waiting::Measurement => {
                let measurement = measurement.ok_or(ErrorCode::Execution.because("interrupted"))?;
                measurement.values().try_for_each(|value| commands::written(response.number(value)))
            }
            Waiting::Checksum(unit) => {
                commands::written(commands::preamble(&self.instrument, unit).write(response))
            }
        });
        held.count(result.map(|((), wrote)| wrote), &mut self.instrument);
    }

    /// Carries out the units that are left; false when one has to wait, or time is up.
    fn carry_out_units(&mut self, until_us: u64) -> bool {
        let Engine { instrument, line, held, output, .. } = self;
        let Some(held) = held else { return true };
        let mut message = Message::new(line);
        for _ in 0..held.units {
            message.next();
        }
        while !held.is_over() {
            if held.seal.is_none() && !output.has_room() {
                if !output.is_drained() {
                    return false;
                }
                output.clear();
            }
            let Some(unit) = message.next() else { break };
            held.units += 1;
            let now_us = instrument.board.now_us();
            instrument.refresh(now_us);
            let context = commands::Context {
                sealed: held.seal.is_some(),
                message_available: !output.is_drained(),
            };
            let result = output.append(held.answered, |response| {
                commands::carry_out(instrument, unit?, context, response)
            });
            let flow = result.as_ref().map_or(Flow::Done, |(flow, _)| *flow);
            held.waiting = match flow {
                Flow::Done => None,
                Flow::Wait => Some(Waiting::Operations),
                Flow::WaitAndAnswer => Some(Waiting::OperationsAnswered),
                Flow::Measure => Some(Waiting::Measurement),
                Flow::Preamble(unit) => Some(Waiting::Checksum(unit)),
                Flow::Stream(stream) => {
                    output.stream(stream);
                    None
                }
            };
            if held.waiting.is_some() {
                instrument.heard();
                return false;
            }
            held.count(result.map(|(_, wrote)| wrote), instrument);
            let time_is_up = instrument.board.now_us() >= until_us;
            if matches!(flow, Flow::Stream(_)) || time_is_up {
                return false;
            }
        }
        true
    }

    fn end_line(&mut self) {
        let Some(held) = self.held.take() else { return };
        if !held.malformed && held.units > 0 {
            self.instrument.heard();
        }
        // Room for both was kept.
        match held.seal {
            Some((session, number)) => {
                let trailer =
                    Trailer { session, number, carried_out: held.carried_out, errors: held.errors };
                let text: TrailerText = trailer.after(&self.output.answer);
                let _ = self.output.answer.extend_from_slice(text.as_bytes());
                self.sessions.answered();
                if !self.instrument.sealed {
                    self.sessions.end();
                    self.instrument.make_safe();
                }
            }
            None if held.answered => {
                let _ = self.output.answer.push(b'\n');
            }
            None => {}
        }
    }
}
