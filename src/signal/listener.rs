//! Hears what is sent in either format, from nothing but the edges on the feed.

use super::dcc;
use super::dcc_decoder::DccDecoder;
use super::edges::{Edge, Edges};
use super::pulse::Stretch;
use super::received::Received;
use super::trinary_decoder::TrinaryDecoder;

/// What was heard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Message {
    /// A packet with a right error byte, error byte included.
    Packet(dcc::Packet),
    /// The command of two equal words of the three-state code.
    Command(Received),
}

/// What was heard, and when it was complete.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heard {
    /// When its last pulse ended, in microseconds of the edges' clock.
    pub end_us: u64,
    /// What it is.
    pub message: Message,
}

/// Both decoders behind one input.
///
/// It takes jitter within the receiver's windows, stretched zeros and glitches, begins anywhere,
/// and is in step again with the next whole packet after noise. The three-state code must come with
/// its resting level low; packets are read either way round.
#[derive(Clone, Debug, Default)]
pub struct Listener {
    edges: Edges,
    dcc: DccDecoder,
    trinary: TrinaryDecoder,
}

impl Listener {
    /// A listener that has heard nothing.
    pub const fn new() -> Self {
        Listener { edges: Edges::new(), dcc: DccDecoder::new(), trinary: TrinaryDecoder::new() }
    }

    /// Takes an edge; returns what it shows to be complete.
    #[inline]
    pub fn edge(&mut self, edge: Edge) -> Option<Heard> {
        let stretch = self.edges.edge(edge)?;
        self.stretch(stretch)
    }

    /// Says that no further edge has come until `now_us`; returns what that shows to be complete.
    pub fn pass(&mut self, now_us: u64) -> Option<Heard> {
        let stretch = self.edges.pass(now_us)?;
        self.stretch(stretch)
    }

    #[inline]
    fn stretch(&mut self, stretch: Stretch) -> Option<Heard> {
        let Stretch { level, duration_us, end_us } = stretch;
        let packet = self.dcc.stretch(level, duration_us);
        let command = self.trinary.stretch(level, duration_us);
        // Never both: the last pulse of a packet is too long for a short one of the three-state
        // code, and too short for a long one.
        let message = match command {
            Some(received) => Message::Command(received),
            None if packet => Message::Packet(self.dcc.packet().iter().copied().collect()),
            None => return None,
        };
        Some(Heard { end_us, message })
    }
}

#[cfg(test)]
mod tests;
