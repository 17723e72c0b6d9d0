//! A module's end of the open packet standard: stretches of level in, packets out.
//!
//! Windows after NMRA S-9.1 (receiver), preamble, start bits and error byte after S-9.2. Bits are
//! told by the time between two changes of the level, so the polarity of the feed does not matter;
//! whoever does care reads [`DccDecoder::lead`].

use super::dcc::{
    self, Accessory, BROADCAST_GROUP, Numbering, PACKET_MIN, Packet, RECEIVER_ONE_DIFFERENCE_US,
    RECEIVER_ONE_HALF_US, RECEIVER_PREAMBLE_BITS, RECEIVER_ZERO_HALF_US,
};
use super::pulse::Level;
use super::received::{Addressee, Received};

/// Half a bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Half {
    One(u32),
    Zero,
}

impl Half {
    #[inline]
    fn of(duration_us: u32) -> Option<Self> {
        if RECEIVER_ONE_HALF_US.contains(&duration_us) {
            Some(Half::One(duration_us))
        } else if RECEIVER_ZERO_HALF_US.contains(&duration_us) {
            Some(Half::Zero)
        } else {
            None
        }
    }
}

/// What the decoder waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Awaits {
    /// The end of a preamble.
    Preamble,
    /// The first half of a bit.
    FirstHalf,
    /// The second half of a bit whose first half was this.
    SecondHalf(Half),
}

/// Halves of a whole preamble.
const PREAMBLE_HALVES: u32 = 2 * RECEIVER_PREAMBLE_BITS as u32;

/// Reads packets from the stretches of level on the feed.
///
/// After noise it is in step again with the next packet whose preamble it hears: no packet holds as
/// many ones in a row as a preamble, so a whole preamble begins a packet whatever the decoder
/// took the pulses before for.
#[derive(Clone, Debug)]
pub struct DccDecoder {
    awaits: Awaits,
    /// Halves of ones in a row that may belong to a preamble.
    ones: u32,
    /// Bits of the byte so far; 8 when the bit after a byte is next.
    bits: u8,
    byte: u8,
    bytes: Packet,
    /// Whether the first start bit is still to be completed.
    in_start: bool,
    lead: Level,
}

impl Default for DccDecoder {
    fn default() -> Self {
        Self::new()
    }
}

impl DccDecoder {
    /// A decoder that has heard nothing.
    pub const fn new() -> Self {
        DccDecoder {
            awaits: Awaits::Preamble,
            ones: 0,
            bits: 0,
            byte: 0,
            bytes: Packet::new(),
            in_start: false,
            lead: Level::High,
        }
    }

    /// Takes one stretch of constant level, given when it ends (at the next change). Stretches of
    /// the same level that follow each other must be given as one.
    ///
    /// Returns `true` when this completes a packet with a right error byte: see
    /// [`DccDecoder::packet`].
    #[inline]
    pub fn stretch(&mut self, level: Level, duration_us: u32) -> bool {
        let Some(half) = Half::of(duration_us) else {
            self.awaits = Awaits::Preamble;
            self.ones = 0;
            return false;
        };
        match half {
            Half::One(_) => self.ones = self.ones.saturating_add(1),
            Half::Zero => {
                if core::mem::take(&mut self.ones) >= PREAMBLE_HALVES {
                    self.bytes.clear();
                    self.in_start = true;
                    self.lead = level;
                    self.awaits = Awaits::SecondHalf(half);
                    return false;
                }
            }
        }
        match self.awaits {
            Awaits::Preamble => false,
            Awaits::FirstHalf => {
                self.awaits = Awaits::SecondHalf(half);
                false
            }
            Awaits::SecondHalf(first) => match (first, half) {
                (Half::Zero, Half::Zero) => self.bit(false),
                (Half::One(a), Half::One(b)) if a.abs_diff(b) <= RECEIVER_ONE_DIFFERENCE_US => {
                    self.bit(true)
                }
                _ => {
                    self.awaits = Awaits::Preamble;
                    false
                }
            },
        }
    }

    /// How long after the end of the present stretch the next packet can be complete at the
    /// earliest, in microseconds: so many halves of the shortest bits are still to come, and
    /// whatever is no half of a bit, or begins another packet, only sets the reader back.
    pub fn packet_no_sooner_us(&self) -> u32 {
        let bits_of = |bytes: usize| 9 * bytes;
        let missing = bits_of(PACKET_MIN.saturating_sub(self.bytes.len()));
        let halves = match self.awaits {
            Awaits::Preamble => {
                PREAMBLE_HALVES.saturating_sub(self.ones) as usize + 2 + 2 * bits_of(PACKET_MIN)
            }
            Awaits::SecondHalf(_) if self.in_start => 1 + 2 * bits_of(PACKET_MIN),
            Awaits::FirstHalf | Awaits::SecondHalf(_) => {
                let bits = if self.bits == 8 {
                    missing + 1
                } else {
                    missing.max(bits_of(1)) - usize::from(self.bits)
                };
                2 * bits - usize::from(self.awaits != Awaits::FirstHalf)
            }
        };
        (halves as u32 - 1) * RECEIVER_ONE_HALF_US.start()
    }

    /// The last packet that was completed, error byte included.
    pub fn packet(&self) -> &[u8] {
        &self.bytes
    }

    /// The level of the first half of the bits of the last packet: `High` with the feed the right
    /// way round.
    pub fn lead(&self) -> Level {
        self.lead
    }

    fn bit(&mut self, bit: bool) -> bool {
        self.awaits = Awaits::FirstHalf;
        if self.in_start {
            self.in_start = false;
            self.bits = 0;
            return false;
        }
        if self.bits < 8 {
            self.byte = self.byte << 1 | u8::from(bit);
            self.bits += 1;
            if self.bits == 8 && self.bytes.push(self.byte).is_err() {
                // Longer than any packet.
                self.awaits = Awaits::Preamble;
            }
            return false;
        }
        if !bit {
            self.bits = 0;
            return false;
        }
        self.awaits = Awaits::Preamble;
        let whole = dcc::is_whole(&self.bytes);
        if whole {
            // Of the ones so far, only the end bit may count for the next preamble (S-9.2). Without
            // a whole packet it may have been no end bit at all.
            self.ones = 2;
        }
        whole
    }
}

/// Reads a basic accessory packet or its broadcast (S-9.2.1); `None` for every other packet and for
/// groups to which the numbering gives no address.
pub fn accessory(packet: &[u8], numbering: Numbering) -> Option<Received> {
    let &[first, second, _] = packet else { return None };
    if first & 0xC0 != 0x80 || second & 0x80 == 0 || !dcc::is_whole(packet) {
        return None;
    }
    let high = u16::from(!(second >> 4) & 0x07);
    let to = Accessory { group: high << 6 | u16::from(first & 0x3F), pair: (second >> 1) & 0x03 };
    let to = if to.group == BROADCAST_GROUP {
        Addressee::Everyone { pair: to.pair }
    } else {
        Addressee::Output(numbering.address(to)?)
    };
    Some(Received { to, direction: second & 1, activate: second & 0x08 != 0 })
}

#[cfg(test)]
mod tests;
