use super::*;
use crate::signal::dcc::{
    IDLE, RECEIVER_ONE_DIFFERENCE_US, RECEIVER_ONE_HALF_US, RECEIVER_ZERO_HALF_US, RESET, bits,
};
use crate::signal::edges::GLITCH_US;
use crate::signal::pulse::{Level, Pulse};
use crate::signal::received::Addressee;
use crate::signal::trinary::{self, ADDRESS_MAX, CLOCK_US, word};
use proptest::prelude::*;

/// The edges that pulses make from `start_us` on; a last one ends the last pulse.
fn edges(pulses: &[Pulse], start_us: u64) -> Vec<Edge> {
    let mut edges: Vec<Edge> = Vec::new();
    let mut at_us = start_us;
    for &Pulse { level, duration_us } in pulses {
        if edges.last().is_none_or(|last| last.to != level) {
            edges.push(Edge { at_us, to: level });
        }
        at_us += u64::from(duration_us);
    }
    edges.extend(pulses.last().map(|last| Edge { at_us, to: last.level.inverted() }));
    edges
}

fn heard(edges: &[Edge]) -> Vec<Heard> {
    let mut listener = Listener::new();
    let mut all: Vec<Heard> = edges.iter().filter_map(|&edge| listener.edge(edge)).collect();
    all.extend(listener.pass(u64::MAX));
    all
}

fn messages(edges: &[Edge]) -> Vec<Message> {
    heard(edges).into_iter().map(|heard| heard.message).collect()
}

fn message(bytes: &[u8]) -> Message {
    Message::Packet(bytes.iter().copied().collect())
}

/// Random numbers that are used one after the other, over and over.
struct Chance<'a>(std::iter::Cycle<std::slice::Iter<'a, u32>>);

impl<'a> Chance<'a> {
    fn new(numbers: &'a [u32]) -> Self {
        Chance(numbers.iter().cycle())
    }

    fn within(&mut self, range: core::ops::RangeInclusive<u32>) -> u32 {
        let (start, end) = range.into_inner();
        start + self.0.next().expect("some numbers") % (end - start + 1)
    }
}

/// Both halves of a bit, anywhere within what a receiver must take (S-9.1). One zero in eight is
/// stretched.
fn halves(bit: bool, chance: &mut Chance<'_>) -> [u32; 2] {
    let (least, most) = RECEIVER_ONE_HALF_US.into_inner();
    if bit {
        let first = chance.within(least..=most);
        let off = RECEIVER_ONE_DIFFERENCE_US;
        let second = chance.within(first.saturating_sub(off).max(least)..=(first + off).min(most));
        return [first, second];
    }
    let (least, most) = RECEIVER_ZERO_HALF_US.into_inner();
    [0, 1].map(|_| {
        let stretched = chance.within(0..=7) == 0;
        chance.within(least..=if stretched { most } else { least + 40 })
    })
}

/// A packet as a receiver must take it, whatever happened to it on the way.
fn worn(packet: &[u8], preamble: usize, lead: Level, chance: &mut Chance<'_>) -> Vec<Pulse> {
    core::iter::repeat_n(true, preamble)
        .chain(bits(packet).skip(dcc::PREAMBLE_BITS))
        .flat_map(|bit| {
            let [first, last] = halves(bit, chance);
            [
                Pulse { level: lead, duration_us: first },
                Pulse { level: lead.inverted(), duration_us: last },
            ]
        })
        .collect()
}

fn with_error_byte(mut bytes: Vec<u8>) -> Vec<u8> {
    bytes.push(dcc::error_byte(&bytes));
    bytes
}

fn packets() -> impl Strategy<Value = Vec<Vec<u8>>> {
    let packet = prop::collection::vec(any::<u8>(), 2..=5).prop_map(with_error_byte);
    prop::collection::vec(packet, 1..6)
}

fn numbers() -> impl Strategy<Value = Vec<u32>> {
    prop::collection::vec(any::<u32>(), 50..400)
}

/// A telegram with every edge up to `jitter_us` off, sent by a clock that is `percent` off.
fn worn_telegram(
    (address, direction): (u16, u8),
    jitter_us: u32,
    percent: i64,
    chance: &mut Chance<'_>,
) -> Vec<Pulse> {
    let word = word(address, direction, true).unwrap();
    let mut before = 0;
    let mut all: Vec<Pulse> = trinary::pulses(&word)
        .map(|Pulse { level, duration_us }| {
            let after = i64::from(chance.within(0..=2 * jitter_us)) - i64::from(jitter_us);
            let worn = i64::from(duration_us) * (100 + percent) / 100 + after - before;
            before = after;
            Pulse { level, duration_us: u32::try_from(worn).unwrap() }
        })
        .collect();
    all.push(Pulse { level: Level::Low, duration_us: 10 });
    all
}

/// Puts a spike into some of the stretches, far enough from their ends to leave those alone.
fn with_spikes(edges: &[Edge], chance: &mut Chance<'_>) -> Vec<Edge> {
    let mut all = Vec::new();
    for (i, &edge) in edges.iter().enumerate() {
        all.push(edge);
        let Some(next) = edges.get(i + 1) else { continue };
        let room = u32::try_from(next.at_us - edge.at_us).unwrap().saturating_sub(3 * GLITCH_US);
        if room == 0 || chance.within(0..=2) == 0 {
            continue;
        }
        let from_us = edge.at_us + u64::from(GLITCH_US + chance.within(0..=room - 1));
        let until_us = from_us + u64::from(chance.within(1..=GLITCH_US - 1));
        all.push(Edge { at_us: from_us, to: edge.to.inverted() });
        all.push(Edge { at_us: until_us, to: edge.to });
    }
    all
}

#[test]
fn idle_and_reset_packets_are_heard() {
    let pulses: Vec<Pulse> = [IDLE, RESET, IDLE].iter().flat_map(|p| dcc::pulses(p)).collect();
    let all = heard(&edges(&pulses, 1_000_000));
    let told: Vec<Message> = all.iter().map(|heard| heard.message.clone()).collect();
    assert_eq!(told, [message(&IDLE), message(&RESET), message(&IDLE)]);
    let once_us = u64::from(dcc::duration_us(&IDLE));
    assert_eq!(all[0].end_us, 1_000_000 + once_us);
    assert_eq!(all[2].end_us, 1_000_000 + 2 * once_us + u64::from(dcc::duration_us(&RESET)));
}

/// Pulses of any level and length.
fn any_pulses(of: Vec<(bool, u32)>) -> Vec<Pulse> {
    let level = |high| if high { Level::High } else { Level::Low };
    of.into_iter().map(|(high, duration_us)| Pulse { level: level(high), duration_us }).collect()
}

proptest! {
    #[test]
    fn packets_come_through_jitter_and_stretched_zeros(
        packets in packets(), preamble in dcc::RECEIVER_PREAMBLE_BITS..30,
        high_first: bool, numbers in numbers(),
    ) {
        let mut chance = Chance::new(&numbers);
        let lead = if high_first { Level::High } else { Level::Low };
        let pulses: Vec<Pulse> =
            packets.iter().flat_map(|p| worn(p, preamble, lead, &mut chance)).collect();
        let want: Vec<Message> = packets.iter().map(|p| message(p)).collect();
        prop_assert_eq!(messages(&edges(&pulses, 5)), want);
    }

    #[test]
    fn packets_come_through_glitches(packets in packets(), numbers in numbers()) {
        let mut chance = Chance::new(&numbers);
        let pulses: Vec<Pulse> =
            packets.iter().flat_map(|p| worn(p, 14, Level::High, &mut chance)).collect();
        let spiked = with_spikes(&edges(&pulses, 5), &mut chance);
        let want: Vec<Message> = packets.iter().map(|p| message(p)).collect();
        prop_assert_eq!(messages(&spiked), want);
    }

    #[test]
    fn telegrams_come_through_jitter_glitches_and_a_wrong_clock(
        sent in prop::collection::vec((1..=ADDRESS_MAX, 0u8..=1), 1..5),
        percent in -8i64..=8, numbers in numbers(),
    ) {
        let mut chance = Chance::new(&numbers);
        let pulses: Vec<Pulse> = sent
            .iter()
            .flat_map(|&to| worn_telegram(to, CLOCK_US / 6, percent, &mut chance))
            .collect();
        let spiked = with_spikes(&edges(&pulses, 5), &mut chance);
        let want: Vec<Message> = sent
            .iter()
            .map(|&(address, direction)| {
                let to = Addressee::Output(address);
                Message::Command(Received { to, direction, activate: true })
            })
            .collect();
        prop_assert_eq!(messages(&spiked), want);
    }

    /// Whoever begins to listen in the middle misses what had begun, and nothing else.
    #[test]
    fn a_cut_off_start_costs_one_packet(
        packets in packets(), cut in any::<prop::sample::Index>(), numbers in numbers(),
    ) {
        let mut chance = Chance::new(&numbers);
        let all: Vec<Vec<Pulse>> =
            packets.iter().map(|p| worn(p, 14, Level::High, &mut chance)).collect();
        let whole = edges(&all.concat(), 5);
        let from = cut.index(all[0].len());
        let got = messages(&whole[from..]);
        let want: Vec<Message> = packets.iter().map(|p| message(p)).collect();
        // With enough of the preamble left, not even that one.
        let (halves_lost, spare) = (from + 1, 2 * (14 - dcc::RECEIVER_PREAMBLE_BITS));
        if from == 0 || halves_lost <= spare {
            prop_assert_eq!(got, want);
        } else {
            prop_assert_eq!(&got, &want[want.len() - got.len()..]);
            prop_assert!(got.len() + 1 >= want.len());
        }
    }

    #[test]
    fn damaged_packets_are_never_taken(
        bytes in prop::collection::vec(any::<u8>(), 2..=5), wrong in 1u8..=255,
        at in any::<prop::sample::Index>(), numbers in numbers(),
    ) {
        let mut packet = with_error_byte(bytes);
        let at = at.index(packet.len());
        packet[at] ^= wrong;
        let pulses = worn(&packet, 14, Level::High, &mut Chance::new(&numbers));
        prop_assert_eq!(messages(&edges(&pulses, 5)), []);
    }

    /// Noise of every kind, the beginning of another packet among it, and then a packet: it is read,
    /// unless the noise makes a whole packet of its own together with the preamble. Whatever is
    /// read has a right error byte.
    #[test]
    fn the_next_whole_packet_after_noise_is_read(
        noise in prop_oneof![
            prop::collection::vec((any::<bool>(), 1u32..12_000), 0..300),
            prop::collection::vec((any::<bool>(), 40u32..120), 0..300),
        ],
        before in packets(), kept in any::<prop::sample::Index>(),
        packet in prop::collection::vec(any::<u8>(), 2..=5).prop_map(with_error_byte),
        numbers in numbers(),
    ) {
        let mut chance = Chance::new(&numbers);
        let mut pulses = any_pulses(noise);
        let cut: Vec<Pulse> =
            before.iter().flat_map(|p| worn(p, 14, Level::High, &mut chance)).collect();
        pulses.extend_from_slice(&cut[..kept.index(cut.len())]);
        let start_us: u64 = pulses.iter().map(|pulse| u64::from(pulse.duration_us)).sum();
        pulses.extend(worn(&packet, dcc::PREAMBLE_BITS, Level::High, &mut chance));
        let all = heard(&edges(&pulses, 0));
        for heard in &all {
            let Message::Packet(bytes) = &heard.message else { continue };
            prop_assert!(dcc::is_whole(bytes));
        }
        let last = all.last().unwrap();
        let by_noise = last.message != message(&packet) && last.end_us > start_us;
        prop_assert!(last.message == message(&packet) || by_noise, "{:?}", all);
    }

    /// The same for the three-state code.
    #[test]
    fn the_next_telegram_after_noise_is_read(
        noise in prop::collection::vec((any::<bool>(), 1u32..6_000), 0..300),
        to in (1..=ADDRESS_MAX, 0u8..=1), numbers in numbers(),
    ) {
        let mut chance = Chance::new(&numbers);
        let mut pulses = any_pulses(noise);
        pulses.extend(worn_telegram(to, CLOCK_US / 6, 0, &mut chance));
        let (address, direction) = (Addressee::Output(to.0), to.1);
        let want = Message::Command(Received { to: address, direction, activate: true });
        let heard = messages(&edges(&pulses, 0));
        prop_assert_eq!(heard.last(), Some(&want));
    }
}
