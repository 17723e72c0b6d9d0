//! From the feed to an output: what a module reads, and which of its outputs a command is for.

use super::input::Input;
use super::switch_bank;
use crate::signal::pulse::{Level, Stretch};
use crate::signal::target::{Format, Position};
use crate::simulated_bench::kind::Kind;

/// The listening part of a module that has read its switches.
#[derive(Clone, Debug)]
pub struct Receiver {
    input: Input,
    format: Format,
    first_address: i32,
    outputs: u8,
    direction_of_a: u8,
}

impl Receiver {
    /// That of a sound module whose switches are set so (bit 0 is switch 1).
    pub fn new(kind: &Kind, switches: u32) -> Self {
        Self::with_faults(kind, switches, 0, 0)
    }

    /// One whose addresses are `address_shift` off, and which wants `extra_packets` more.
    pub(super) fn with_faults(
        kind: &Kind,
        switches: u32,
        address_shift: i32,
        extra_packets: u8,
    ) -> Self {
        let (address, format) = switch_bank::read(kind, switches);
        let needed = kind.packets_needed + extra_packets;
        Receiver {
            input: Input::new(format, kind.numbering, kind.polarity_matters, needed),
            format,
            first_address: address + address_shift,
            outputs: kind.outputs.min(4),
            direction_of_a: kind.direction_of_a & 1,
        }
    }

    /// The address of its first output.
    pub fn first_address(&self) -> i32 {
        self.first_address
    }

    /// The format that it reads.
    pub fn format(&self) -> Format {
        self.format
    }

    /// Takes a stretch; returns an output, counted from 0, and where it is told to go.
    #[inline]
    pub fn listen(&mut self, stretch: Stretch) -> Option<(usize, Position)> {
        if self.stretch(stretch) { self.read(stretch.end_us, || true) } else { None }
    }

    /// Takes a stretch; returns whether there is something to [`Receiver::read`].
    #[inline]
    pub(super) fn stretch(&mut self, stretch: Stretch) -> bool {
        self.input.stretch(stretch)
    }

    /// Reads what was completed; `hears` is asked about each whole command.
    pub(super) fn read(
        &mut self,
        at_us: u64,
        hears: impl FnOnce() -> bool,
    ) -> Option<(usize, Position)> {
        let received = self.input.read(at_us, hears)?;
        let output = received.output(self.first_address, self.outputs)?;
        let to_a = received.direction == self.direction_of_a;
        Some((usize::from(output), if to_a { Position::A } else { Position::B }))
    }

    /// Looks at the level that the feed holds just now, and for how long it has.
    pub(super) fn look(&mut self, level: Level, held_us: u64) {
        self.input.look(level, held_us);
    }

    /// Whether the feed looks inverted to it.
    pub(super) fn is_inverted(&self) -> bool {
        self.input.is_inverted()
    }

    /// How long after the end of the present stretch there can be something to read at the earliest,
    /// microseconds.
    pub(super) fn no_sooner_us(&self) -> u64 {
        self.input.no_sooner_us()
    }
}
