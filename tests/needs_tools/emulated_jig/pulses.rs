//! The pulses at the pins of the feed bridge, in emulated time.

use super::jig::Event;
use super::rig::{feed_on, rig, stretches};
use musterbench::signal::dcc::{
    self, Accessory, IDLE, SENDER_ONE_DIFFERENCE_US, SENDER_ONE_HALF_US, SENDER_ZERO_HALF_US,
    SENDER_ZERO_MAX_US, accessory,
};
use musterbench::signal::dcc_decoder::DccDecoder;
use musterbench::signal::pulse::Level;
use musterbench::signal::trinary;

/// Repetitions of each command, and how many commands.
const REPEATED: usize = 25;
const COMMANDS: usize = 40;

/// A half, nanoseconds.
fn within(ns: u64, us: &std::ops::RangeInclusive<u32>) -> bool {
    (u64::from(*us.start()) * 1_000..=u64::from(*us.end()) * 1_000).contains(&ns)
}

/// NMRA S-9.1, what a sender may do: see `signal::dcc` for where the figures stand. Every packet
/// that was ordered is at the pins, whole, and every half of every bit lies within the windows.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_thousand_packets_keep_the_senders_windows() {
    let (jig, mut client) = rig();
    feed_on(&mut client);
    for command in 0..COMMANDS {
        let to = Accessory { group: command as u16 + 1, pair: command as u8 % 4 };
        let [a, b, c] = accessory(to, 1, true);
        client.say(&format!("DRIV:PACK {REPEATED},{a},{b},{c}"));
        client.ask_until("STAT:OPER:COND?", "0");
    }
    let (log, told) = jig.stop();
    let mut decoder = DccDecoder::new();
    let mut counts = (0, 0);
    let mut halves = Vec::new();
    // From the first stretch that is a half on; the resting level before it is not one.
    let all = stretches(&log);
    let first = all.iter().position(|s| within(s.1 - s.0, &SENDER_ONE_HALF_US)).expect("pulses");
    // The last stretch was cut short by the end of the test.
    for &(from, to, wires) in &all[first..all.len() - 1] {
        assert!(matches!(wires, 1 | 2), "both wires low at {from} ns");
        let ns = to - from;
        let is_half = within(ns, &SENDER_ONE_HALF_US) || within(ns, &SENDER_ZERO_HALF_US);
        assert!(is_half, "{ns} ns at {from} ns is neither half of a one nor of a zero");
        halves.push(ns);
        let level = if wires == 1 { Level::High } else { Level::Low };
        if decoder.stretch(level, ((ns + 500) / 1_000) as u32) {
            if decoder.packet() == IDLE { counts.1 += 1 } else { counts.0 += 1 }
        }
    }
    // A bit has two like halves: before the first zero there are whole ones only.
    let zero = halves.iter().position(|&ns| within(ns, &SENDER_ZERO_HALF_US)).expect("zeros");
    for bit in halves[zero % 2..].chunks_exact(2) {
        let (sum, difference) = (bit[0] + bit[1], bit[0].abs_diff(bit[1]));
        if within(bit[0], &SENDER_ONE_HALF_US) {
            assert!(difference <= u64::from(SENDER_ONE_DIFFERENCE_US) * 1_000, "{bit:?}");
        } else {
            assert!(sum <= u64::from(SENDER_ZERO_MAX_US) * 1_000, "{bit:?}");
        }
    }
    let spread = |range| {
        let some = halves.iter().filter(|&&ns| within(ns, range));
        (some.clone().min().copied(), some.max().copied())
    };
    println!(
        "{} packets and {} idle ones; half of a one {:?} ns, of a zero {:?} ns; {told}",
        counts.0,
        counts.1,
        spread(&SENDER_ONE_HALF_US),
        spread(&SENDER_ZERO_HALF_US)
    );
    assert_eq!(counts.0, REPEATED * COMMANDS);
}

/// The MC145026's data sheet draws its pulses in whole clocks; its decoder takes a clock within a
/// quarter or so (common practice, no source). The pulses at the pins are those of the format, to
/// the microsecond.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn trinary_pulses_are_those_of_the_encoder() {
    let (jig, mut client) = rig();
    client.say("DRIV:IDLE LOW");
    feed_on(&mut client);
    let word = trinary::word(181, 1, true).expect("an address");
    let pulses: Vec<_> = trinary::pulses(&word).collect();
    let list: Vec<String> = pulses.iter().map(|p| p.duration_us.to_string()).collect();
    let first = if pulses[0].level == Level::High { "HIGH" } else { "LOW" };
    client.say(&format!("DRIV:PULS 5,{first},{}", list.join(",")));
    client.ask_until("STAT:OPER:COND?", "0");
    let (log, _) = jig.stop();
    // What neighbours of one level make together.
    let mut wanted: Vec<(Level, u64)> = Vec::new();
    for pulse in pulses.iter().cycle().take(5 * pulses.len()) {
        let ns = u64::from(pulse.duration_us) * 1_000;
        match wanted.last_mut() {
            Some((level, sum)) if *level == pulse.level => *sum += ns,
            _ => wanted.push((pulse.level, ns)),
        }
    }
    let seen: Vec<(Level, u64)> = stretches(&log)
        .into_iter()
        .filter(|s| s.2 != 0)
        .map(|(from, to, wires)| (if wires == 1 { Level::High } else { Level::Low }, to - from))
        .collect();
    // The feed rested low before the first pulse, and does after the last.
    assert_eq!(wanted[0].0, Level::Low);
    assert_eq!(wanted.last().expect("pulses").0, Level::Low);
    let inner = &wanted[1..wanted.len() - 1];
    let found = seen.windows(inner.len()).any(|some| some == inner);
    assert!(found, "wanted {inner:?}\nseen {seen:?}");
}

/// From the last byte of a command to the first edge of its packet, the feed resting before.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_command_goes_out_soon() {
    const LINE: &str = "DRIV:PULS 1,HIGH,500,500,500";
    let (jig, mut client) = rig();
    client.say("DRIV:IDLE LOW");
    feed_on(&mut client);
    for _ in 0..20 {
        client.say(LINE);
        client.ask_until("STAT:OPER:COND?", "0");
    }
    let (log, _) = jig.stop();
    let all = stretches(&log);
    let mut delays_us = Vec::new();
    for (ns, event) in &log {
        if matches!(event, Event::Came(_, first) if *first == LINE.as_bytes()[0])
            && let Some(rise) = all.iter().find(|s| s.0 > *ns && s.2 == 1 && s.1 - s.0 == 500_000)
        {
            // Bytes follow each other on the line; the newline is the last.
            let whole_us = *ns as f64 / 1e3 + (LINE.len() + 1) as f64 * 1e7 / 115_200.0;
            delays_us.push(rise.0 as f64 / 1e3 - whole_us);
        }
    }
    // The first line that begins so sets the resting level.
    delays_us.remove(0);
    let longest_us = delays_us.iter().copied().fold(0.0, f64::max);
    println!("from a line's last byte to its first pulse: at most {longest_us:.0} us");
    assert_eq!(delays_us.len(), 20, "{delays_us:?}");
    assert!((1.0..2_000.0).contains(&longest_us), "{delays_us:?}");
}

/// The same among idle packets, at any moment of one: what is queued goes out first, the lead of the
/// feed's queue and the packet that reaches beyond it.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_command_among_idle_packets_goes_out_soon() {
    /// 6 ms, an idle packet of 5.8 ms, a turn of the main loop, and the bytes of a whole line.
    const SOON_US: f64 = 14_000.0;
    const LINES: usize = 40;
    let (jig, mut client) = rig();
    feed_on(&mut client);
    let to = Accessory { group: 5, pair: 2 };
    let packet = accessory(to, 1, true);
    let [a, b, c] = packet;
    let line = format!("DRIV:PACK 1,{a},{b},{c}");
    for at in 0..LINES {
        jig.wait_ms(20 + at as u64 % 7);
        client.say(&line);
        client.ask_until("STAT:OPER:COND?", "0");
    }
    assert_eq!(client.ask("SYST:ERR?;:STAT:QUES:EVEN?"), "0,\"No error\";0");
    let (log, _) = jig.stop();
    let length_us: u64 = dcc::pulses(&packet).map(|pulse| u64::from(pulse.duration_us)).sum();
    let mut decoder = DccDecoder::new();
    let mut begun_us = Vec::new();
    for (from, to, wires) in stretches(&log) {
        let level = if wires == 1 { Level::High } else { Level::Low };
        let us = ((to - from + 500) / 1_000) as u32;
        if decoder.stretch(level, us) && decoder.packet() == packet {
            begun_us.push(to as f64 / 1e3 - length_us as f64);
        }
    }
    assert_eq!(begun_us.len(), LINES);
    let came = log.iter().filter_map(|&(ns, event)| match event {
        // A question may follow in the same piece.
        Event::Came(count, b'D') if count > line.len() => Some(ns),
        _ => None,
    });
    // Bytes follow each other on the line.
    let whole_us = came.map(|ns| ns as f64 / 1e3 + (line.len() + 1) as f64 * 1e7 / 115_200.0);
    let delays_us: Vec<f64> = begun_us.iter().zip(whole_us).map(|(b, w)| b - w).collect();
    let longest_us = delays_us.iter().copied().fold(0.0, f64::max);
    println!("among idle packets: at most {longest_us:.0} us, of {}", delays_us.len());
    assert_eq!(delays_us.len(), LINES, "every line came in one piece");
    assert!(delays_us.iter().all(|&us| (0.0..SOON_US).contains(&us)), "{delays_us:?}");
}
