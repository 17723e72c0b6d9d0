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
    Neither,
}

impl Half {
    fn of(duration_us: u32) -> Self {
        if RECEIVER_ONE_HALF_US.contains(&duration_us) {
            Half::One(duration_us)
        } else if RECEIVER_ZERO_HALF_US.contains(&duration_us) {
            Half::Zero
        } else {
            Half::Neither
        }
    }
}

/// What the decoder waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Awaits {
    /// The end of a preamble; so many halves of ones were seen in a row.
    Preamble { halves: u8 },
    /// The first half of a bit.
    FirstHalf,
    /// The second half of a bit whose first half was this.
    SecondHalf(Half),
}

/// Halves of a whole preamble.
const PREAMBLE_HALVES: u8 = 2 * RECEIVER_PREAMBLE_BITS as u8;

/// Reads packets from the stretches of level on the feed.
#[derive(Clone, Debug)]
pub struct DccDecoder {
    awaits: Awaits,
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
            awaits: Awaits::Preamble { halves: 0 },
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
        let half = Half::of(duration_us);
        match self.awaits {
            Awaits::Preamble { halves } => {
                self.awaits = match half {
                    Half::One(_) => Awaits::Preamble { halves: halves.saturating_add(1) },
                    Half::Zero if halves >= PREAMBLE_HALVES => {
                        self.bytes.clear();
                        self.in_start = true;
                        self.lead = level;
                        Awaits::SecondHalf(half)
                    }
                    _ => Awaits::Preamble { halves: 0 },
                };
                false
            }
            Awaits::FirstHalf => {
                match half {
                    Half::Neither => self.lose_step(half),
                    _ => self.awaits = Awaits::SecondHalf(half),
                }
                false
            }
            Awaits::SecondHalf(first) => match (first, half) {
                (Half::Zero, Half::Zero) => self.bit(false),
                (Half::One(a), Half::One(b)) if a.abs_diff(b) <= RECEIVER_ONE_DIFFERENCE_US => {
                    self.bit(true)
                }
                _ => {
                    self.lose_step(half);
                    false
                }
            },
        }
    }

    /// How long after the end of the present stretch the next packet can be complete at the
    /// earliest, in microseconds: so many halves of the shortest bits are still to come, and
    /// whatever is no half of a bit only sets the reader back.
    pub fn packet_no_sooner_us(&self) -> u32 {
        let bits_of = |bytes: usize| 9 * bytes;
        let missing = bits_of(PACKET_MIN.saturating_sub(self.bytes.len()));
        let halves = match self.awaits {
            Awaits::Preamble { halves } => {
                usize::from(PREAMBLE_HALVES.saturating_sub(halves)) + 2 + 2 * bits_of(PACKET_MIN)
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
                self.awaits = Awaits::Preamble { halves: 0 };
            }
            return false;
        }
        if !bit {
            self.bits = 0;
            return false;
        }
        // The end bit may count as the first one of the next preamble (S-9.2).
        self.awaits = Awaits::Preamble { halves: 2 };
        dcc::is_whole(&self.bytes)
    }

    fn lose_step(&mut self, half: Half) {
        let halves = u8::from(matches!(half, Half::One(_)));
        self.awaits = Awaits::Preamble { halves };
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
