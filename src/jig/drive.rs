//! What goes out on the feed: commands, and idle packets between them.

use super::board::{Board, PULSE_QUEUE};
use crate::signal::dcc;
use crate::signal::pulse::{Level, Pulse};
use crate::wire::COMMANDS_MAX;
use crate::wire::error::Error;
use crate::wire::refusal::Refusal;
use crate::wire::words::Idle;
use heapless::{Deque, Vec};

/// How many pieces the board's queue may hold.
const PIECES_MAX: usize = 16;
/// Pulses of an idle packet.
const IDLE_PULSES: usize = 2 * (dcc::PREAMBLE_BITS + 9 * dcc::IDLE.len() + 1);
/// The most pulses of one command.
pub const PULSES_MAX: usize = 160;

const PREAMBLE_US: u64 = (2 * dcc::ONE_HALF_US) as u64 * dcc::PREAMBLE_BITS as u64;

/// Pulses of alternating levels. Only the first level is kept, since several commands wait.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternating {
    /// Level of the first pulse.
    pub first: Level,
    /// How long each pulse lasts, in microseconds.
    pub durations_us: Vec<u32, PULSES_MAX>,
}

impl Alternating {
    fn pulses(&self) -> impl Iterator<Item = Pulse> + '_ {
        self.durations_us.iter().enumerate().map(|(at, &duration_us)| {
            let level = if at % 2 == 0 { self.first } else { self.first.inverted() };
            Pulse { level, duration_us }
        })
    }
}

/// What a command consists of.
// Not boxed: there is no allocator here, and few commands wait at a time.
#[allow(clippy::large_enum_variant)]
#[derive(Clone, Debug, PartialEq)]
pub enum Body {
    /// A packet, error byte included.
    Packet(dcc::Packet),
    /// Pulses as they are.
    Pulses(Alternating),
}

/// A command, to be sent so many times.
#[derive(Clone, Debug, PartialEq)]
pub struct Command {
    /// What is sent.
    pub body: Body,
    /// How often, 1 or more.
    pub repeat: u8,
}

/// When the repetitions of a command ended, by the jig's clock in microseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Sent {
    /// End of the last repetition.
    pub last_us: u64,
    /// End of the first repetition.
    pub first_us: u64,
    /// End of the second repetition; of the first when there was just one.
    pub second_us: u64,
}

/// A command of which the last repetition has been queued, so that its end is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The running number of the command, by the order in which their sending began.
    pub number: u32,
    /// When its last repetition ends.
    pub end_us: u64,
}

/// A piece of the board's queue.
#[derive(Debug)]
struct Piece {
    end_us: u64,
    pulses: usize,
    /// The command that this piece completes.
    completes: Option<Sent>,
}

/// The sender of the feed.
#[derive(Debug)]
pub struct Drive {
    idle: Idle,
    /// The pulses of an idle packet, which goes out most of the time.
    idle_packet: Vec<Pulse, IDLE_PULSES>,
    commands: Deque<Command, COMMANDS_MAX>,
    /// Repetitions of the first command that have been queued.
    repeated: u8,
    ends: Sent,
    pieces: Deque<Piece, PIECES_MAX>,
    begun: u32,
    count: u32,
    sent: Sent,
    /// The last packet that was queued, and when it ends.
    last_packet: Option<(dcc::Packet, u64)>,
}

impl Drive {
    /// Nothing sent yet, idle packets between commands.
    pub fn new() -> Self {
        Drive {
            idle: Idle::Packets,
            idle_packet: dcc::pulses(&dcc::IDLE).collect(),
            commands: Deque::new(),
            repeated: 0,
            ends: Sent { last_us: 0, first_us: 0, second_us: 0 },
            pieces: Deque::new(),
            begun: 0,
            count: 0,
            sent: Sent { last_us: 0, first_us: 0, second_us: 0 },
            last_packet: None,
        }
    }

    /// What the feed carries between commands.
    pub fn idle(&self) -> Idle {
        self.idle
    }

    /// Sets what the feed carries between commands.
    pub fn set_idle<B: Board>(&mut self, idle: Idle, board: &mut B) {
        self.idle = idle;
        board.rest(match idle {
            Idle::Packets | Idle::High => Level::High,
            Idle::Low => Level::Low,
        });
    }

    /// Takes a command in; it goes out after those that wait already.
    ///
    /// # Errors
    /// 121 when too many wait.
    pub fn send(&mut self, command: Command) -> Result<(), Error> {
        self.commands.push_back(command).map_err(|_| Refusal::TooManyCommands.into())
    }

    /// Throws away what is queued and what waits: the feed goes off, or has just come on.
    pub fn clear<B: Board>(&mut self, board: &mut B) {
        self.commands.clear();
        self.pieces.clear();
        self.repeated = 0;
        self.last_packet = None;
        board.drive_clear();
    }

    /// Whether a command waits or goes out.
    pub fn is_sending(&self) -> bool {
        !self.commands.is_empty() || self.pieces.iter().any(|piece| piece.completes.is_some())
    }

    /// How many commands have begun to go out since boot.
    pub fn begun(&self) -> u32 {
        self.begun
    }

    /// How many commands have gone out since boot, and the times of the last one.
    pub fn sent(&self) -> (u32, Sent) {
        (self.count, self.sent)
    }

    /// Counts what has gone out by now.
    pub fn settle(&mut self, now_us: u64) {
        while self.pieces.front().is_some_and(|piece| piece.end_us <= now_us) {
            if let Some(sent) = self.pieces.pop_front().and_then(|piece| piece.completes) {
                self.count += 1;
                self.sent = sent;
            }
        }
    }

    /// Fills the queue of a feed that is on. Stops and returns a mark whenever a command has been
    /// queued to its end: call again until it returns `None`.
    pub fn fill<B: Board>(&mut self, now_us: u64, board: &mut B) -> Option<Mark> {
        self.settle(now_us);
        loop {
            let end_us = board.drive_end_us().max(now_us);
            if !self.pieces.is_empty() && end_us >= now_us + board.lead_us() {
                return None;
            }
            match self.commands.front() {
                Some(Command { body: Body::Packet(next), .. }) if self.crowds(next, end_us) => {
                    self.queue_idle(board)?;
                }
                Some(_) => {
                    if let Some(mark) = self.queue_command(board)? {
                        return Some(mark);
                    }
                }
                None if self.idle == Idle::Packets => self.queue_idle(board)?,
                None => return None,
            }
        }
    }

    /// Whether a packet that goes out from `from_us` on comes too soon after the last one for the
    /// same decoder to act on both.
    fn crowds(&self, next: &[u8], from_us: u64) -> bool {
        self.last_packet.as_ref().is_some_and(|(last, end_us)| {
            from_us + PREAMBLE_US < end_us + u64::from(dcc::SPACING_US)
                && dcc::may_share_decoder(last, next)
        })
    }

    /// When [`Drive::fill`] has something to do next, with the feed on.
    pub fn wake_us<B: Board>(&self, board: &B) -> u64 {
        let completes = self.pieces.iter().find(|piece| piece.completes.is_some());
        let settle_us = completes.map_or(u64::MAX, |piece| piece.end_us);
        if self.commands.is_empty() && self.idle != Idle::Packets {
            return settle_us;
        }
        let lead_us = (board.drive_end_us() + 1).saturating_sub(board.lead_us());
        let full = !self.has_room(PULSES_MAX);
        let room_us = self.pieces.front().filter(|_| full).map_or(0, |piece| piece.end_us);
        settle_us.min(lead_us.max(room_us))
    }

    fn queued(&self) -> usize {
        self.pieces.iter().map(|piece| piece.pulses).sum()
    }

    /// Queues an idle packet; `None` when there is no room.
    fn queue_idle<B: Board>(&mut self, board: &mut B) -> Option<()> {
        if !self.has_room(self.idle_packet.len()) {
            return None;
        }
        let end_us = board.drive(&self.idle_packet);
        self.note(end_us, self.idle_packet.len());
        Some(())
    }

    /// Queues the next repetition of the first command; `None` when there is no room, the mark when
    /// it was the last repetition.
    fn queue_command<B: Board>(&mut self, board: &mut B) -> Option<Option<Mark>> {
        let command = self.commands.front()?;
        let pulses: Vec<Pulse, PULSES_MAX> = match &command.body {
            Body::Packet(packet) => dcc::pulses(packet).collect(),
            Body::Pulses(alternating) => alternating.pulses().collect(),
        };
        let packet = match &command.body {
            Body::Packet(packet) => Some(packet.clone()),
            Body::Pulses(_) => None,
        };
        let repeat = command.repeat;
        if !self.has_room(pulses.len()) {
            return None;
        }
        let end_us = board.drive(&pulses);
        self.note(end_us, pulses.len());
        if let Some(packet) = packet {
            self.last_packet = Some((packet, end_us));
        }
        self.repeated += 1;
        if self.repeated == 1 {
            self.begun += 1;
            self.ends = Sent { last_us: end_us, first_us: end_us, second_us: end_us };
        }
        if self.repeated == 2 {
            self.ends.second_us = end_us;
        }
        if self.repeated < repeat {
            return Some(None);
        }
        self.ends.last_us = end_us;
        if let Some(piece) = self.pieces.back_mut() {
            piece.completes = Some(self.ends);
        }
        self.commands.pop_front();
        self.repeated = 0;
        Some(Some(Mark { number: self.begun, end_us }))
    }

    /// Whether the board's queue has room for so many pulses more.
    fn has_room(&self, pulses: usize) -> bool {
        !self.pieces.is_full() && self.queued() + pulses <= PULSE_QUEUE
    }

    /// Takes note of a piece that the board has taken.
    fn note(&mut self, end_us: u64, pulses: usize) {
        // There is room, as was seen before.
        let _ = self.pieces.push_back(Piece { end_us, pulses, completes: None });
    }
}
