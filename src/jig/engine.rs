//! The engine: bytes in, bytes out, and what is due in between.
//!
//! A line is carried out unit by unit. A unit that has to wait (`*WAI`, `*OPC?`, `MEASure`, a long
//! block) holds the line, and all lines after it, until it is complete. The silence limit bounds
//! every wait. Where it stands with a line is its [`Phase`], and which lines it takes is the mode of
//! its session: each of them changes in one place.

use super::board::Board;
use super::commands::{self, Flow};
use super::instrument::Instrument;
use super::memory::MemoryRef;
use super::output::Output;
use super::phase::{Block, Event, For, Phase, View};
use super::progress::{Progress, Seal};
use super::session::Decision;
use crate::wire::LINE_MAX;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::line::{Framer, Received};
use crate::wire::seal::{self, Opened};
#[cfg(feature = "host")]
use crate::wire::tree::Order;
#[cfg(feature = "host")]
use crate::wire::unit::Reply;
use heapless::Deque;

/// Bytes that are kept while a line is being carried out: two lines.
const INPUT_MAX: usize = 2 * LINE_MAX;
/// A poll carries units out for so long, in microseconds, and leaves the rest to the next one: the
/// electronics want to be looked after.
const TURN_US: u64 = 2_000;

/// The jig's brain over a board.
#[derive(Debug)]
pub struct Engine<B> {
    instrument: Instrument<B>,
    /// `None` stands for a byte that came damaged, or was lost.
    input: Deque<Option<u8>, INPUT_MAX>,
    framer: Framer,
    progress: Progress,
    phase: Phase,
    output: Output,
}

impl<B: Board> Engine<B> {
    /// A brain that has just booted: everything off and open.
    pub fn new(board: B, memory: MemoryRef) -> Self {
        Engine {
            instrument: Instrument::new(board, memory),
            input: Deque::new(),
            framer: Framer::new(),
            progress: Progress::new(),
            phase: Phase::Idle,
            output: Output::new(),
        }
    }

    /// The same on the heap, memory and all.
    #[cfg(feature = "host")]
    pub fn boxed(board: B) -> Box<Self> {
        Box::new(Self::new(board, Box::default()))
    }

    /// The electronics, with everything off: the brain is gone, as when its power goes.
    #[cfg(feature = "host")]
    pub fn into_board(mut self) -> B {
        self.port_closed();
        self.instrument.board
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
            let _ = self.input.push_back(Some(byte));
        }
        taken
    }

    /// Takes note that after the bytes received so far one came damaged, or was lost: nothing of the line
    /// that it stood in is carried out. False when there is no room for it yet.
    pub fn receive_damaged(&mut self) -> bool {
        self.input.push_back(None).is_ok()
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
        if self.instrument.listen(now_us, self.phase.waits()) {
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
        if self.blocked().is_none() { 0 } else { self.instrument.wake_us(self.phase.waits()) }
    }

    /// The host has closed the port: everything safe, sealed mode left, nothing left to say.
    pub fn port_closed(&mut self) {
        self.instrument.make_safe();
        self.instrument.session.end();
        self.instrument.session.forget_answer();
        self.input.clear();
        self.framer.reset();
        self.phase = self.phase.after(Event::Closed);
        self.output.clear();
    }

    /// Begins with the orders of a host in the same process, which come together as the units of a
    /// sealed line do, but without its text. False when it takes none: no session is open.
    #[cfg(feature = "host")]
    pub fn begin_orders(&mut self) -> bool {
        let now_us = self.instrument.board.now_us();
        self.instrument.poll(now_us);
        self.instrument.session.is_sealed() && self.phase == Phase::Idle
    }

    /// Carries out one of them, or says what it waits for: see [`Engine::order_waits`].
    ///
    /// # Errors
    /// Its own, which has been reported.
    #[cfg(feature = "host")]
    pub fn carry_out(
        &mut self,
        order: Order<'_>,
        answers: &mut impl Reply,
    ) -> Result<Option<For>, Error> {
        let now_us = self.instrument.board.now_us();
        self.instrument.refresh(now_us);
        let context = commands::Context { sealed: true, message_available: false };
        let flow = commands::carry_out(&mut self.instrument, order, context, answers);
        match flow.inspect_err(|error| self.instrument.status.report(*error))? {
            Flow::Wait(what) => {
                self.instrument.heard();
                self.instrument.poll(now_us);
                Ok(Some(what))
            }
            Flow::Done | Flow::Stream(_) => Ok(None),
        }
    }

    /// Does what is due while an order waits; whether it still does.
    #[cfg(feature = "host")]
    pub fn order_waits(&mut self, what: For) -> bool {
        let now_us = self.instrument.board.now_us();
        self.instrument.poll(now_us);
        if !self.has_come(what) {
            self.instrument.listen(now_us, true);
        }
        !self.has_come(what)
    }

    /// Call [`Engine::order_waits`] no later than this; see [`Engine::next_wake_us`].
    #[cfg(feature = "host")]
    pub fn order_wakes_us(&self, what: For) -> u64 {
        if self.has_come(what) { 0 } else { self.instrument.wake_us(true) }
    }

    /// What an order waited for has come: answers it.
    ///
    /// # Errors
    /// See [`Engine::carry_out`].
    #[cfg(feature = "host")]
    pub fn complete_order(&mut self, what: For, answers: &mut impl Reply) -> Result<(), Error> {
        let done = commands::complete(&mut self.instrument, what, answers);
        done.inspect_err(|error| self.instrument.status.report(*error))
    }

    /// Ends the orders that came together. They were well-formed.
    #[cfg(feature = "host")]
    pub fn end_orders(&mut self) {
        self.instrument.heard();
        if !self.instrument.session.is_sealed() {
            self.instrument.make_safe();
        }
    }

    /// What keeps the line in progress, or the next line, from going on.
    fn blocked(&self) -> Option<Block> {
        let sealed = match self.phase {
            Phase::Idle => self.instrument.session.is_sealed(),
            _ => self.progress.is_sealed(),
        };
        self.phase.blocked(View {
            came: !self.input.is_empty(),
            sealed,
            drained: self.output.is_drained(),
            room: self.output.has_room(),
            over: matches!(self.phase, Phase::Waiting(what) if self.has_come(what)),
        })
    }

    /// Carries lines out as far as they go; true when anything was carried out.
    fn exchange(&mut self) -> bool {
        let until_us = self.instrument.board.now_us() + TURN_US;
        let mut any = false;
        while self.blocked().is_none() {
            if any && self.instrument.board.now_us() >= until_us {
                break;
            }
            any |= self.step();
        }
        any
    }

    /// One step on: a line begun, a unit carried out or completed, the line ended. False when nothing
    /// came of it.
    fn step(&mut self) -> bool {
        match self.phase {
            Phase::Idle => return self.next_line(),
            Phase::Running => self.carry_on(),
            Phase::Waiting(what) => {
                self.complete(what);
                self.phase = self.phase.after(Event::GoesOn);
            }
            Phase::Streaming => self.phase = self.phase.after(Event::GoesOn),
        }
        true
    }

    /// Takes the next line from the input; false when there is none.
    fn next_line(&mut self) -> bool {
        let Engine { instrument, input, framer, progress, output, phase } = self;
        while let Some(byte) = input.pop_front() {
            let Some(byte) = byte else {
                framer.damage();
                continue;
            };
            let line = match framer.push(byte) {
                None => continue,
                Some(Received::Whole(line)) => Ok(line),
                Some(Received::TooLong) => Err(ErrorCode::InputOverrun),
                Some(Received::Damaged) => Err(ErrorCode::Communication),
            };
            let line = match line {
                Ok(line) => line,
                Err(error) => {
                    if !instrument.session.is_sealed() {
                        instrument.status.report(error);
                    }
                    return true;
                }
            };
            match seal::open(line) {
                Opened::Damaged => {}
                Opened::Plain(_) if instrument.session.is_sealed() => {}
                Opened::Plain(line) => {
                    if output.is_drained() {
                        output.clear();
                        instrument.session.forget_answer();
                    }
                    progress.begin(line, None);
                    *phase = phase.after(Event::Begun);
                }
                Opened::Sealed(line) => {
                    let seal = Seal { session: line.session, number: line.number };
                    match instrument.session.receive(&line) {
                        decision @ (Decision::Open | Decision::CarryOut) => {
                            if decision == Decision::Open {
                                instrument.make_safe();
                            }
                            output.clear();
                            progress.begin(line.rest, Some(seal));
                            *phase = phase.after(Event::Begun);
                        }
                        Decision::AnswerAgain => output.again(),
                        Decision::Refuse => output.refuse(seal.refusal()),
                    }
                    instrument.heard();
                }
            }
            return true;
        }
        false
    }

    /// Carries the next unit of the line out, or ends the line.
    fn carry_on(&mut self) {
        let Engine { instrument, progress, output, phase, .. } = self;
        let (sealed, answered) = (progress.is_sealed(), progress.has_answered());
        let Some(unit) = progress.next_unit() else {
            self.end_line();
            return;
        };
        if !sealed && !output.has_room() {
            // All of it has gone out.
            output.clear();
        }
        let now_us = instrument.board.now_us();
        instrument.refresh(now_us);
        let context = commands::Context { sealed, message_available: !output.is_drained() };
        let result = output.append(answered, |response| {
            commands::carry_out(instrument, unit?.read()?, context, response)
        });
        let flow = result.as_ref().map_or(Flow::Done, |(flow, _)| *flow);
        match flow {
            Flow::Done => {}
            Flow::Wait(what) => {
                *phase = phase.after(Event::Waits(what));
                instrument.heard();
                return;
            }
            Flow::Stream(stream) => {
                output.stream(stream);
                *phase = phase.after(Event::Streams);
            }
        }
        self.count(result.map(|(_, wrote)| wrote));
    }

    fn has_come(&self, what: For) -> bool {
        match what {
            For::Operations | For::OperationsAnswered => !self.instrument.is_busy(),
            For::Measurement => {
                self.instrument.measurement.as_ref().is_none_or(|m| m.is_complete())
            }
            For::Checksum(unit) => self.instrument.captures.capture(unit).crc().is_some(),
        }
    }

    /// What a unit waited for has come: its answer, and its count.
    fn complete(&mut self, what: For) {
        let Engine { instrument, progress, output, .. } = self;
        let result = output
            .append(progress.has_answered(), |answer| commands::complete(instrument, what, answer));
        self.count(result.map(|((), wrote)| wrote));
    }

    /// Takes a unit's result into account.
    fn count(&mut self, result: Result<bool, Error>) {
        if let Some(error) = self.progress.count(result) {
            self.instrument.status.report(error);
        }
    }

    fn end_line(&mut self) {
        self.phase = self.phase.after(Event::Over);
        if self.progress.is_well_formed() {
            self.instrument.heard();
        }
        // Room for a trailer, or a newline, was kept.
        match self.progress.trailer() {
            Some(trailer) => {
                let text = trailer.after(&self.output.answer);
                let _ = self.output.answer.extend_from_slice(text.as_bytes());
                self.instrument.session.answered();
                if !self.instrument.session.is_sealed() {
                    self.instrument.make_safe();
                }
            }
            None if self.progress.has_answered() => {
                let _ = self.output.answer.push(b'\n');
            }
            None => {}
        }
    }
}
