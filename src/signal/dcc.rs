//! Packets of the open standard: what is in them, and the pulses that carry them.
//!
//! Pulses after NMRA S-9.1, packets after S-9.2, accessory packets after S-9.2.1, user addresses
//! after RCN-213.

use super::pulse::{Level, Pulse};
use core::ops::RangeInclusive;

/// Half of a one as we send it, in microseconds (S-9.1: nominal 58).
///
/// The figures of S-9.1 for the windows below: as printed in its revisions of 2006 and later; by how
/// much the halves of a one may differ is from memory.
pub const ONE_HALF_US: u32 = 58;
/// Half of a zero as we send it, in microseconds (S-9.1: nominal 100 or more).
pub const ZERO_HALF_US: u32 = 100;
/// What a sender may use as half of a one, in microseconds (S-9.1).
pub const SENDER_ONE_HALF_US: RangeInclusive<u32> = 55..=61;
/// By how much the two halves of a one may differ at the sender, in microseconds (S-9.1).
pub const SENDER_ONE_DIFFERENCE_US: u32 = 3;
/// What a sender may use as half of a zero, in microseconds (S-9.1).
pub const SENDER_ZERO_HALF_US: RangeInclusive<u32> = 95..=9_900;
/// The longest whole zero of a sender, in microseconds (S-9.1).
pub const SENDER_ZERO_MAX_US: u32 = 12_000;
/// What a receiver must take as half of a one, in microseconds (S-9.1).
pub const RECEIVER_ONE_HALF_US: RangeInclusive<u32> = 52..=64;
/// By how much the two halves of a one may differ at the receiver, in microseconds (S-9.1).
pub const RECEIVER_ONE_DIFFERENCE_US: u32 = 6;
/// What a receiver must take as half of a zero, in microseconds (S-9.1).
pub const RECEIVER_ZERO_HALF_US: RangeInclusive<u32> = 90..=10_000;

/// Ones before a packet, as sent (S-9.2: 14 or more).
pub const PREAMBLE_BITS: usize = 14;
/// The fewest ones that a receiver takes as a preamble (S-9.2).
pub const RECEIVER_PREAMBLE_BITS: usize = 10;
/// Least time between two packets to the same decoder, from the end bit of the first to the start
/// bit of the second, so that it must act on both, in microseconds (S-9.2).
pub const SPACING_US: u32 = 5_000;

/// The longest packet, error byte included (S-9.2.1: 3 to 6 bytes).
pub const PACKET_MAX: usize = 6;
/// The shortest packet, error byte included.
pub const PACKET_MIN: usize = 3;
/// Pulses of the longest packet: preamble, a start bit before each byte, end bit.
pub const PULSES_MAX: usize = 2 * (PREAMBLE_BITS + 9 * PACKET_MAX + 1);

/// The idle packet: no decoder acts on it (S-9.2).
pub const IDLE: [u8; 3] = [0xFF, 0x00, 0xFF];
/// The reset packet (S-9.2).
pub const RESET: [u8; 3] = [0x00, 0x00, 0x00];

/// The bytes of a packet, error byte included.
pub type Packet = heapless::Vec<u8, PACKET_MAX>;

/// How the addresses that people use map to groups of four.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Numbering {
    /// Address 1 is the first pair of group 1 (RCN-213). Group 0 has no user address, and the last
    /// group, 511, is the broadcast: addresses 1 to 2040 remain.
    #[default]
    Rcn213,
    /// Address 1 is the first pair of group 0, as some command stations count: every address
    /// stands four lower than in RCN-213. Addresses 1 to 2044.
    FromGroupZero,
}

impl Numbering {
    /// The highest user address that is not a broadcast.
    pub const fn highest(self) -> u16 {
        match self {
            Numbering::Rcn213 => 510 * 4,
            Numbering::FromGroupZero => 511 * 4,
        }
    }

    /// The address of a pair; `None` where there is none, the broadcast among them.
    pub const fn address(self, to: Accessory) -> Option<u16> {
        let first_group = match self {
            Numbering::Rcn213 => 1,
            Numbering::FromGroupZero => 0,
        };
        if to.group < first_group || to.group >= BROADCAST_GROUP || to.pair > 3 {
            return None;
        }
        Some((to.group - first_group) * 4 + to.pair as u16 + 1)
    }

    /// Group (0 to 510) and pair (0 to 3) of a user address; `None` outside 1 to
    /// [`Numbering::highest`].
    pub const fn accessory(self, address: u16) -> Option<Accessory> {
        if address == 0 || address > self.highest() {
            return None;
        }
        let first_group = match self {
            Numbering::Rcn213 => 1,
            Numbering::FromGroupZero => 0,
        };
        let index = address - 1;
        Some(Accessory { group: index / 4 + first_group, pair: (index % 4) as u8 })
    }
}

/// The group that every accessory decoder takes for its own (S-9.2.1).
pub const BROADCAST_GROUP: u16 = 511;

/// Where an accessory packet goes: a group of four pairs, and one pair of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Accessory {
    /// The nine address bits of S-9.2.1, 0 to 511; 511 is the broadcast.
    pub group: u16,
    /// The pair within the group, 0 to 3.
    pub pair: u8,
}

/// A basic accessory packet (S-9.2.1): `10AAAAAA 1AAACDDD EEEEEEEE`.
///
/// The three high address bits go out inverted. `direction` is the lowest bit, 0 or 1; `activate`
/// is the bit `C`.
pub fn accessory(to: Accessory, direction: u8, activate: bool) -> [u8; 3] {
    let low = (to.group & 0x3F) as u8;
    let high = ((to.group >> 6) & 0x07) as u8;
    let first = 0x80 | low;
    let second = 0x80
        | ((!high & 0x07) << 4)
        | (u8::from(activate) << 3)
        | ((to.pair & 0x03) << 1)
        | (direction & 0x01);
    [first, second, error_byte(&[first, second])]
}

/// The error detection byte: exclusive or of all bytes before it (S-9.2).
pub fn error_byte(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, byte| sum ^ byte)
}

/// Whether a packet has a length that the standard knows and ends in its error byte.
pub fn is_whole(packet: &[u8]) -> bool {
    (PACKET_MIN..=PACKET_MAX).contains(&packet.len()) && error_byte(packet) == 0
}

/// Whether a decoder may have to act on both packets, so that [`SPACING_US`] must lie between them.
/// The first byte of a packet is its address, or the part of it that decides (S-9.2, S-9.2.1); the
/// broadcasts are for all.
pub fn may_share_decoder(one: &[u8], other: &[u8]) -> bool {
    let is_broadcast = |packet: &[u8]| match packet {
        [0x00, ..] => true,
        [0xBF, second, ..] => second & 0xF0 == 0x80,
        _ => false,
    };
    one.first() == other.first() || is_broadcast(one) || is_broadcast(other)
}

/// The bits of a packet in the order in which they go out: preamble, bytes with a start bit each,
/// end bit.
pub fn bits(packet: &[u8]) -> impl Iterator<Item = bool> + '_ {
    let body = packet.iter().flat_map(|&byte| {
        core::iter::once(false).chain((0..8).rev().map(move |bit| byte >> bit & 1 == 1))
    });
    core::iter::repeat_n(true, PREAMBLE_BITS).chain(body).chain(core::iter::once(true))
}

/// The pulses of a packet, first half of each bit high.
pub fn pulses(packet: &[u8]) -> impl Iterator<Item = Pulse> + '_ {
    bits(packet).flat_map(|bit| {
        let duration_us = half_us(bit);
        [Level::High, Level::Low].map(|level| Pulse { level, duration_us })
    })
}

/// How long a packet takes on the feed, preamble and end bit included, in microseconds.
pub fn duration_us(packet: &[u8]) -> u32 {
    bits(packet).map(|bit| 2 * half_us(bit)).sum()
}

const fn half_us(bit: bool) -> u32 {
    if bit { ONE_HALF_US } else { ZERO_HALF_US }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Writes bits as the standards print them.
    fn parse(text: &str) -> Vec<bool> {
        text.chars().filter(|c| !c.is_whitespace()).map(|c| c == '1').collect()
    }

    /// S-9.2, idle packet: preamble 0 11111111 0 00000000 0 11111111 1.
    #[test]
    fn idle_packet_of_s_9_2() {
        let want = parse("11111111111111 0 11111111 0 00000000 0 11111111 1");
        assert_eq!(bits(&IDLE).collect::<Vec<_>>(), want);
    }

    /// S-9.2, reset packet: preamble 0 00000000 0 00000000 0 00000000 1.
    #[test]
    fn reset_packet_of_s_9_2() {
        let want = parse("11111111111111 0 00000000 0 00000000 0 00000000 1");
        assert_eq!(bits(&RESET).collect::<Vec<_>>(), want);
    }

    /// S-9.2, the example packet of the baseline format: address 55, speed step, error byte.
    /// `0 00110111 0 01110100 0 01000011 1`
    #[test]
    fn error_byte_of_the_example_in_s_9_2() {
        assert_eq!(error_byte(&[0b0011_0111, 0b0111_0100]), 0b0100_0011);
        assert!(is_whole(&[0b0011_0111, 0b0111_0100, 0b0100_0011]));
    }

    /// RCN-213, 2.1: the first address that users see as 1 is `1000-0001 1111-D00R`.
    #[test]
    fn first_user_address_of_rcn_213() {
        let to = Numbering::Rcn213.accessory(1).unwrap();
        assert_eq!(accessory(to, 0, true)[..2], [0b1000_0001, 0b1111_1000]);
        assert_eq!(accessory(to, 1, true)[..2], [0b1000_0001, 0b1111_1001]);
        assert_eq!(accessory(to, 1, false)[..2], [0b1000_0001, 0b1111_0001]);
    }

    /// S-9.2.1: the broadcast to basic accessory decoders is `10111111 1000CDDD`; group 511 makes
    /// it, and no user address reaches it.
    #[test]
    fn broadcast_of_s_9_2_1_is_out_of_reach() {
        let broadcast = accessory(Accessory { group: 511, pair: 0 }, 0, false);
        assert_eq!(broadcast[..2], [0b1011_1111, 0b1000_0000]);
        for numbering in [Numbering::Rcn213, Numbering::FromGroupZero] {
            let last = numbering.accessory(numbering.highest()).unwrap();
            assert_eq!(last, Accessory { group: 510, pair: 3 });
            assert_eq!(numbering.accessory(numbering.highest() + 1), None);
            assert_eq!(numbering.accessory(0), None);
        }
    }

    #[test]
    fn spacing_is_kept_within_a_decoder_and_around_broadcasts() {
        let to = |group| accessory(Accessory { group, pair: 0 }, 0, true);
        assert!(may_share_decoder(&to(5), &to(5)));
        assert!(!may_share_decoder(&to(5), &to(6)));
        // The high bits of the group stand in the second byte: not looked at, to be safe.
        assert!(may_share_decoder(&to(5), &to(5 + 64)));
        assert!(!may_share_decoder(&to(63), &to(6)));
        assert!(may_share_decoder(&to(511), &to(6)) && may_share_decoder(&to(6), &to(511)));
        assert!(may_share_decoder(&to(6), &RESET));
        assert!(!may_share_decoder(&to(6), &IDLE));
    }

    /// The two ways of counting differ by one group of four.
    #[test]
    fn numberings_differ_by_one_group() {
        for address in 5..=2040 {
            assert_eq!(
                Numbering::Rcn213.accessory(address - 4),
                Numbering::FromGroupZero.accessory(address)
            );
        }
    }

    #[test]
    fn every_pair_has_one_address_or_none() {
        for numbering in [Numbering::Rcn213, Numbering::FromGroupZero] {
            let mut with_address = 0;
            for group in 0..512 {
                for pair in 0..4 {
                    let to = Accessory { group, pair };
                    if let Some(address) = numbering.address(to) {
                        assert_eq!(numbering.accessory(address), Some(to));
                        with_address += 1;
                    }
                }
            }
            assert_eq!(with_address, numbering.highest());
        }
    }

    /// S-9.1: a one takes nominally 116 µs and a zero 200 µs. The idle packet of S-9.2 has 14 ones of
    /// preamble, 16 in its bytes and the end bit; 8 zeros in its bytes and 3 start bits.
    #[test]
    fn time_on_the_wire_of_the_packets_of_s_9_2() {
        assert_eq!(duration_us(&IDLE), (14 + 16 + 1) * 116 + (8 + 3) * 200);
        assert_eq!(duration_us(&RESET), (14 + 1) * 116 + (24 + 3) * 200);
    }

    #[test]
    fn commands_to_accessories_take_about_as_long() {
        let all = (1..=2040).flat_map(|address| {
            let to = Numbering::Rcn213.accessory(address).unwrap();
            [0, 1].map(|direction| duration_us(&accessory(to, direction, true)))
        });
        let (least, most) = all.fold((u32::MAX, 0), |(l, m), us| (l.min(us), m.max(us)));
        assert!(5_750 <= least && most < 6_850, "{least} {most}");
    }

    /// S-9.1, both tables: the receiver's windows lie around the sender's.
    #[test]
    fn the_receiver_takes_whatever_a_sender_may_send() {
        assert_eq!(SENDER_ONE_HALF_US, 55..=61);
        assert_eq!(RECEIVER_ONE_HALF_US, 52..=64);
        assert_eq!(SENDER_ZERO_HALF_US, 95..=9_900);
        assert_eq!(RECEIVER_ZERO_HALF_US, 90..=10_000);
        assert_eq!(SENDER_ZERO_MAX_US, 12_000);
        const { assert!(SENDER_ONE_DIFFERENCE_US < RECEIVER_ONE_DIFFERENCE_US) };
        const { assert!(2 * ZERO_HALF_US <= SENDER_ZERO_MAX_US) };
    }

    /// S-9.1: what we send lies within the sender's windows.
    #[test]
    fn pulses_lie_in_the_windows_of_s_9_1() {
        assert!(SENDER_ONE_HALF_US.contains(&ONE_HALF_US));
        assert!(SENDER_ZERO_HALF_US.contains(&ZERO_HALF_US));
        let mut high = None;
        for pulse in pulses(&IDLE) {
            match (pulse.level, high) {
                (Level::High, None) => high = Some(pulse.duration_us),
                (Level::Low, Some(first)) => {
                    assert_eq!(first, pulse.duration_us);
                    high = None;
                }
                other => panic!("halves out of order: {other:?}"),
            }
        }
    }

    proptest! {
        #[test]
        fn pulses_fit_and_last_as_long_as_said(bytes in prop::collection::vec(any::<u8>(), 1..=6)) {
            let all: Vec<Pulse> = pulses(&bytes).collect();
            prop_assert!(all.len() <= PULSES_MAX);
            prop_assert_eq!(all.iter().map(|p| p.duration_us).sum::<u32>(), duration_us(&bytes));
        }

        #[test]
        fn accessory_packets_are_whole(
            address in 1u16..=2040, direction in 0u8..=1, activate: bool,
        ) {
            let to = Numbering::Rcn213.accessory(address).unwrap();
            prop_assert!(is_whole(&accessory(to, direction, activate)));
        }
    }
}
