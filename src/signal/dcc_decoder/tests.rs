use super::*;
use crate::signal::dcc::{IDLE, bits, pulses};
use crate::signal::pulse::Pulse;
use proptest::prelude::*;

/// Plays pulses and returns every packet; neighbours of one level become one stretch.
fn play(decoder: &mut DccDecoder, pulses: impl IntoIterator<Item = Pulse>) -> Vec<Vec<u8>> {
    let mut out = Vec::new();
    let mut open: Option<Pulse> = None;
    for pulse in pulses {
        match &mut open {
            Some(p) if p.level == pulse.level => p.duration_us += pulse.duration_us,
            _ => {
                if let Some(p) = open.replace(pulse)
                    && decoder.stretch(p.level, p.duration_us)
                {
                    out.push(decoder.packet().to_vec());
                }
            }
        }
    }
    if let Some(p) = open
        && decoder.stretch(p.level, p.duration_us)
    {
        out.push(decoder.packet().to_vec());
    }
    out
}

/// Pulses of a packet with `ones` preamble bits and the given halves.
fn shaped(packet: &[u8], ones: usize, one: [u32; 2], zero: [u32; 2]) -> Vec<Pulse> {
    let body = bits(packet).skip(dcc::PREAMBLE_BITS);
    core::iter::repeat_n(true, ones)
        .chain(body)
        .flat_map(|bit| {
            let [high, low] = if bit { one } else { zero };
            [
                Pulse { level: Level::High, duration_us: high },
                Pulse { level: Level::Low, duration_us: low },
            ]
        })
        .collect()
}

fn with_error_byte(mut bytes: Vec<u8>) -> Vec<u8> {
    bytes.push(dcc::error_byte(&bytes));
    bytes
}

/// S-9.1: what a receiver must take, at the corners of its windows.
#[test]
fn takes_the_corners_of_s_9_1() {
    for one in [[52, 52], [64, 64], [52, 58], [64, 58], [58, 64]] {
        for zero in [[90, 90], [10_000, 90], [90, 10_000], [100, 9_900]] {
            let packets = play(&mut DccDecoder::new(), shaped(&IDLE, 14, one, zero));
            assert_eq!(packets, [IDLE.to_vec()], "{one:?} {zero:?}");
        }
    }
}

/// S-9.1: halves outside every window are no bits.
#[test]
fn refuses_what_is_neither_one_nor_zero() {
    for (one, zero) in [([51, 51], [100, 100]), ([65, 65], [100, 100]), ([58, 58], [89, 89])] {
        assert!(play(&mut DccDecoder::new(), shaped(&IDLE, 14, one, zero)).is_empty());
    }
    let too_long = shaped(&IDLE, 14, [58, 58], [10_001, 10_001]);
    assert!(play(&mut DccDecoder::new(), too_long).is_empty());
}

/// S-9.2: a receiver must not take fewer than ten ones for a preamble, nor need more than twelve.
#[test]
fn preamble_of_s_9_2() {
    for (ones, whole) in [(9, false), (10, true), (12, true), (300, true)] {
        let packets = play(&mut DccDecoder::new(), shaped(&IDLE, ones, [58, 58], [100, 100]));
        assert_eq!(!packets.is_empty(), whole, "{ones} ones");
    }
}

#[test]
fn reads_either_polarity_and_tells_which() {
    let mut decoder = DccDecoder::new();
    assert_eq!(play(&mut decoder, pulses(&IDLE)).len(), 1);
    assert_eq!(decoder.lead(), Level::High);
    let inverted = pulses(&IDLE).map(|p| Pulse { level: p.level.inverted(), ..p });
    assert_eq!(play(&mut decoder, inverted).len(), 1);
    assert_eq!(decoder.lead(), Level::Low);
}

/// S-9.2.1, the broadcast to basic accessory decoders: `10111111 1000CDDD`.
#[test]
fn the_broadcast_of_s_9_2_1_is_told() {
    for ddd in 0..8 {
        for (c, activate) in [(0, false), (0b1000, true)] {
            let packet = with_error_byte(vec![0b1011_1111, 0b1000_0000 | c | ddd]);
            for numbering in [Numbering::Rcn213, Numbering::FromGroupZero] {
                let to = Addressee::Everyone { pair: ddd >> 1 };
                let want = Received { to, direction: ddd & 1, activate };
                assert_eq!(accessory(&packet, numbering), Some(want));
            }
        }
    }
}

/// RCN-213: the first address that users see is group 1; group 0 has none.
#[test]
fn group_0_has_addresses_only_where_they_count_from_it() {
    let packet = dcc::accessory(Accessory { group: 0, pair: 3 }, 0, true);
    assert_eq!(accessory(&packet, Numbering::Rcn213), None);
    let received = accessory(&packet, Numbering::FromGroupZero).unwrap();
    assert_eq!(received.to, Addressee::Output(4));
}

#[test]
fn packets_to_others_are_no_accessory_commands() {
    assert_eq!(accessory(&IDLE, Numbering::Rcn213), None);
    assert_eq!(accessory(&dcc::RESET, Numbering::Rcn213), None);
    // The example of S-9.2: address 55, a speed step.
    assert_eq!(accessory(&[0x37, 0x74, 0x43], Numbering::Rcn213), None);
}

proptest! {
    #[test]
    fn every_packet_comes_through(bytes in prop::collection::vec(any::<u8>(), 2..=5)) {
        let packet = with_error_byte(bytes);
        let packets = play(&mut DccDecoder::new(), pulses(&packet));
        prop_assert_eq!(packets, vec![packet]);
    }

    #[test]
    fn every_shape_of_the_windows_comes_through(
        bytes in prop::collection::vec(any::<u8>(), 2..=5),
        ones in 10usize..40,
        one in 52u32..=64, difference in 0u32..=6,
        high in 90u32..=10_000, low in 90u32..=10_000,
    ) {
        let packet = with_error_byte(bytes);
        let shape = shaped(&packet, ones, [one, (one + difference).min(64)], [high, low]);
        prop_assert_eq!(play(&mut DccDecoder::new(), shape), vec![packet]);
    }

    #[test]
    fn a_wrong_error_byte_is_never_taken(
        bytes in prop::collection::vec(any::<u8>(), 2..=5), wrong in 1u8..=255,
    ) {
        let mut packet = with_error_byte(bytes);
        *packet.last_mut().unwrap() ^= wrong;
        prop_assert!(play(&mut DccDecoder::new(), pulses(&packet)).is_empty());
    }

    #[test]
    fn commands_round_trip(address in 1u16..=2040, direction in 0u8..=1, activate: bool) {
        for numbering in [Numbering::Rcn213, Numbering::FromGroupZero] {
            let packet = dcc::accessory(numbering.accessory(address).unwrap(), direction, activate);
            let to = Addressee::Output(address);
            let want = Received { to, direction, activate };
            prop_assert_eq!(accessory(&packet, numbering), Some(want));
        }
    }

    /// After any noise the decoder is in step again with the second packet at the latest: the
    /// noise may swallow the first one, but a whole preamble finds the step.
    #[test]
    fn keeps_in_step_after_noise(
        noise in prop::collection::vec((any::<bool>(), 1u32..12_000), 0..400),
        bytes in prop::collection::vec(any::<u8>(), 2..=5),
    ) {
        let packet = with_error_byte(bytes);
        let mut decoder = DccDecoder::new();
        let noise = noise.into_iter().map(|(high, duration_us)| Pulse {
            level: if high { Level::High } else { Level::Low },
            duration_us,
        });
        let packets =
            play(&mut decoder, noise.chain(pulses(&packet)).chain(pulses(&packet)));
        prop_assert_eq!(packets.last(), Some(&packet));
        for seen in packets {
            prop_assert!(dcc::is_whole(&seen));
        }
    }
}

proptest! {
    /// However the feed looks, no packet is complete before the decoder said that one can be.
    #[test]
    fn no_packet_comes_sooner_than_said(
        pieces in prop::collection::vec(
            prop_oneof![
                prop::collection::vec(any::<u8>(), 2..6)
                    .prop_map(|bytes| shaped(&with_error_byte(bytes), 10, [52, 52], [90, 90])),
                prop::collection::vec((any::<bool>(), 1u32..120), 0..12).prop_map(|all| {
                    let level = |high| if high { Level::High } else { Level::Low };
                    all.into_iter()
                        .map(|(high, duration_us)| Pulse { level: level(high), duration_us })
                        .collect()
                }),
            ],
            1..6,
        )
    ) {
        let mut decoder = DccDecoder::new();
        let (mut now_us, mut earliest_us) = (0, 0);
        for Pulse { level, duration_us } in pieces.concat() {
            let said_us = now_us + duration_us + decoder.packet_no_sooner_us();
            earliest_us = said_us.max(earliest_us);
            now_us += duration_us;
            if decoder.stretch(level, duration_us) {
                prop_assert!(now_us >= earliest_us, "{now_us} before {earliest_us}");
                earliest_us = 0;
            }
        }
    }
}

/// With the shortest halves of the shortest packet, what the decoder says is exact.
#[test]
fn the_shortest_packet_comes_just_when_said() {
    let mut decoder = DccDecoder::new();
    let pulses = shaped(&[0xFF, 0xFF, 0x00], 10, [52, 52], [90, 90]);
    let zeros = pulses.iter().filter(|pulse| pulse.duration_us == 90).count() as u32;
    let span_us: u32 = pulses.iter().map(|pulse| pulse.duration_us).sum();
    let first_us = pulses[0].duration_us;
    let said_us = first_us + decoder.packet_no_sooner_us();
    assert_eq!(said_us, span_us - zeros * (90 - 52));
    assert_eq!(play(&mut decoder, pulses).len(), 1);
}
