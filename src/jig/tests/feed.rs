//! Soft start, commands and idle packets.

use super::rig::{Rig, charging};
use crate::jig::board::FeedDrive;
use crate::signal::dcc;
use crate::signal::dcc::Numbering;
use crate::signal::pulse::{Level, Pulse};
use crate::signal::target::{Format, Position};
use crate::signal::telegram::{Telegram, command};
use crate::wire::CHARGE_PERIOD_US;
use crate::wire::refusal::Refusal;

fn on(rig: &mut Rig) {
    rig.board().script = charging(0);
    rig.say("OUTP1 ON");
    rig.run_us(20_000);
    assert_eq!(rig.board().feed, FeedDrive::Full);
}

fn packet_of(pulses: &[Pulse]) -> Option<Vec<u8>> {
    let bits: Vec<bool> = pulses.chunks(2).map(|bit| bit[0].duration_us < 80).collect();
    let body = bits.get(dcc::PREAMBLE_BITS..)?;
    body.chunks_exact(9)
        .map(|byte| {
            (!byte[0]).then(|| byte[1..].iter().fold(0, |sum, &bit| sum << 1 | u8::from(bit)))
        })
        .collect()
}

#[test]
fn soft_start_records_charge_and_ends() {
    let mut rig = Rig::new();
    let start_us = rig.now_us();
    rig.board().script = charging(start_us + 60_000);
    rig.say("OUTP1 ON");
    assert_eq!((rig.board().feed, rig.board().limit_ua), (FeedDrive::Limited, 250_000));
    assert_eq!(rig.ask("STAT:OPER:COND?;:OUTP1?"), "2;1");
    rig.run_us(65_000);
    assert_eq!(rig.board().feed, FeedDrive::Limited, "10 ms below have not passed");
    rig.run_us(10_000);
    assert_eq!(rig.board().feed, FeedDrive::Full);
    let answer = rig.ask("OUTP1:CHAR?");
    let fields: Vec<f64> = answer.split(',').map(|field| field.parse().unwrap()).collect();
    // 250 mA for 60 ms, then 50 mA for 10 ms and up to one look; the fall lies between two looks.
    let look = CHARGE_PERIOD_US as f64 * 1e-6;
    assert!((fields[0] - 15.5e-3).abs() <= 0.2 * look / 2.0 + 0.05 * look + 1e-6, "{answer}");
    assert!((fields[1] - 0.070).abs() <= 2.0 * look, "{answer}");
    assert_eq!(fields[2], 1.0);
    assert_eq!(rig.ask("STAT:OPER:COND?"), "0");
}

/// Where the current falls, at once or by a single pole (closed form), the charge is off by no more than
/// half of the largest change between two looks, over the time between them; and by nearly so much where
/// it falls at once.
#[test]
fn the_largest_change_between_looks_tells_how_far_off_the_charge_is() {
    let (high, low) = (20.0, 0.05);
    let look_s = CHARGE_PERIOD_US as f64 * 1e-6;
    for tau_us in [0.01, 30.0, 100.0, 400.0, 2_000.0] {
        let mut worst: f64 = 0.0;
        for phase_us in (5..100).step_by(10) {
            let mut rig = Rig::new();
            let start_us = rig.now_us();
            let falls_us = start_us + 5_000 + phase_us;
            let left =
                move |at_us: u64| (-((at_us.max(falls_us) - falls_us) as f64) / tau_us).exp();
            rig.board().script = Box::new(move |channel, at_us| match channel {
                2 => (1e3 * (low + (high - low) * left(at_us))).round() as i16,
                _ => 0,
            });
            rig.say("OUTP1 ON");
            rig.run_us(50_000);
            let answer = rig.ask("OUTP1:CHAR?");
            let said: Vec<f64> = answer.split(',').map(|field| field.parse().unwrap()).collect();
            let end_us = start_us + (said[1] * 1e6).round() as u64;
            let falling_us = (end_us - falls_us) as f64;
            let charge_uc = high * (5_000 + phase_us) as f64
                + low * falling_us
                + (high - low) * tau_us * (1.0 - left(end_us));
            let off_c = said[0] - 1e-6 * charge_uc;
            let open_c = said[3] * look_s / 2.0;
            let rounding_c = 0.5e-3 * said[1];
            assert!(off_c.abs() <= open_c + rounding_c, "{tau_us} {phase_us}: {off_c} {answer}");
            worst = worst.max(off_c.abs() / open_c);
        }
        assert!(tau_us > 1.0 || worst > 0.8, "{worst}");
    }
}

#[test]
fn a_soft_start_that_does_not_end_trips() {
    let mut rig = Rig::new();
    rig.board().script = charging(u64::MAX);
    rig.say("OUTP1 ON");
    rig.run_us(1_499_000);
    assert_eq!(rig.board().feed, FeedDrive::Limited);
    rig.run_us(2_000);
    assert_eq!(rig.board().feed, FeedDrive::Off);
    assert_eq!(rig.ask("OUTP1:PROT:TRIP?;:OUTP1?"), "1;0");
    assert_eq!(rig.ask("OUTP1:CHAR?").split(',').nth(2), Some("0"));
    let now_us = rig.now_us();
    assert!(rig.board().drive_end_us <= now_us, "nothing queued any longer");
}

#[test]
fn idle_packets_follow_without_a_gap() {
    let mut rig = Rig::new();
    on(&mut rig);
    rig.run_us(500_000);
    let driven = &rig.engine.board().driven;
    assert!(driven.len() > 80);
    for pair in driven.windows(2) {
        assert_eq!(pair[0].1, pair[1].0, "no gap");
    }
    assert!(driven.iter().all(|(.., pulses)| packet_of(pulses).as_deref() == Some(&dcc::IDLE)));
    let ahead_us = rig.engine.board().drive_end_us - rig.now_us();
    assert!(ahead_us < 9_000, "queued {ahead_us} us ahead");
}

#[test]
fn an_idle_level_rests() {
    let mut rig = Rig::new();
    rig.say("DRIV:IDLE LOW");
    on(&mut rig);
    assert_eq!(rig.board().rest, Level::Low);
    assert!(rig.board().driven.is_empty());
}

#[test]
fn a_command_goes_out_as_often_as_told_and_far_enough_apart() {
    let mut rig = Rig::new();
    on(&mut rig);
    rig.board().driven.clear();
    let Ok(Telegram::Packet(bytes)) = command(Format::Dcc, Numbering::Rcn213, 9, Position::A, 0)
    else {
        panic!()
    };
    let list: Vec<String> = bytes.iter().map(u8::to_string).collect();
    rig.say(&format!("DRIV:PACK 3,{}", list.join(",")));
    assert_eq!(rig.ask("STAT:OPER:COND?;:DRIV:SENT?"), "512;0,0,0,0");
    rig.run_us(100_000);
    let sent: Vec<(u64, u64)> = rig
        .engine
        .board()
        .driven
        .iter()
        .filter(|(.., pulses)| packet_of(pulses).as_deref() == Some(&bytes))
        .map(|(start, end, _)| (*start, *end))
        .collect();
    assert_eq!(sent.len(), 3);
    let preamble_us = 2 * u64::from(dcc::ONE_HALF_US) * dcc::PREAMBLE_BITS as u64;
    for pair in sent.windows(2) {
        let gap_us = pair[1].0 + preamble_us - pair[0].1;
        assert!(gap_us >= u64::from(dcc::SPACING_US), "{gap_us} us from end bit to start bit");
    }
    let expected = format!("1,{},{},{}", sent[2].1, sent[0].1, sent[1].1);
    assert_eq!(rig.ask("DRIV:SENT?;:STAT:OPER:COND?"), format!("{expected};0"));
}

#[test]
fn sending_takes_as_long_as_the_telegram_says() {
    for format in [Format::Dcc, Format::Trinary] {
        let mut rig = Rig::new();
        rig.say("DRIV:IDLE LOW");
        on(&mut rig);
        let telegram = command(format, Numbering::Rcn213, 9, Position::A, 0).unwrap();
        let line = match &telegram {
            Telegram::Packet(bytes) => {
                format!("DRIV:PACK 4,{},{},{}", bytes[0], bytes[1], bytes[2])
            }
            Telegram::Pulses(pulses) => {
                let times: Vec<String> = pulses.iter().map(|p| p.duration_us.to_string()).collect();
                format!("DRIV:PULS 4,LOW,{}", times.join(","))
            }
        };
        rig.board().driven.clear();
        rig.say(&line);
        rig.run_us(200_000);
        let driven = &rig.engine.board().driven;
        let time_us = driven.last().unwrap().1 - driven[0].0;
        assert_eq!(time_us, u64::from(telegram.sending_us(4)), "{format}");
    }
}

#[test]
fn pulses_go_out_as_they_are() {
    let mut rig = Rig::new();
    rig.say("DRIV:IDLE LOW");
    on(&mut rig);
    rig.say("DRIV:PULS 2,LOW,4200,13,91");
    rig.run_us(50_000);
    let expected: Vec<Pulse> = [(Level::Low, 4200), (Level::High, 13), (Level::Low, 91)]
        .map(|(level, duration_us)| Pulse { level, duration_us })
        .to_vec();
    let driven = &rig.engine.board().driven;
    assert_eq!(driven.iter().map(|(.., p)| p.clone()).collect::<Vec<_>>(), vec![expected; 2]);
    let (first, last) = (driven[0].1, driven[1].1);
    assert_eq!(rig.ask("DRIV:SENT?"), format!("1,{last},{first},{last}"));
}

#[test]
fn short_pulses_never_overfill_the_queue() {
    let mut rig = Rig::new();
    rig.say("DRIV:IDLE LOW");
    on(&mut rig);
    let line = format!("DRIV:PULS 20,HIGH,{}", vec!["5"; 160].join(","));
    rig.say(&line);
    rig.say("DRIV:PULS 100,HIGH,1");
    rig.run_us(50_000);
    assert!(rig.ask("DRIV:SENT?").starts_with("2,"));
}

#[test]
fn commands_need_a_feed_and_a_whole_packet() {
    let mut rig = Rig::new();
    assert_eq!(rig.wrong("DRIV:PACK 1,129,248,121"), Refusal::FeedOff.number());
    on(&mut rig);
    assert_eq!(rig.wrong("DRIV:PACK 1,129,248,120"), -224);
    assert_eq!(rig.wrong("DRIV:PACK 1,255,255"), -224);
    assert_eq!(rig.wrong("DRIV:PACK 1,0,0,0,0,0,0,0"), -223);
    assert_eq!(rig.wrong("DRIV:PACK 0,255,0,255"), -222);
    assert_eq!(rig.wrong("DRIV:PULS 1,LOW,0"), -222);
    for _ in 0..crate::wire::COMMANDS_MAX {
        rig.send(b"DRIV:PULS 100,LOW,50000\n");
    }
    assert_eq!(rig.ask("SYST:ERR:COUN?"), "0");
    assert_eq!(rig.wrong("DRIV:PULS 1,LOW,50000"), Refusal::TooManyCommands.number());
}

#[test]
fn switching_off_calls_commands_off() {
    let mut rig = Rig::new();
    on(&mut rig);
    rig.say("DRIV:PULS 100,LOW,50000;:OUTP1 OFF");
    assert_eq!(rig.ask("STAT:OPER:COND?;*OPC?"), "0;1");
    rig.say("OUTP1 ON");
    rig.run_us(100_000);
    assert_eq!(rig.ask("DRIV:SENT?"), "0,0,0,0");
}

#[test]
fn the_engine_need_not_be_polled_often() {
    let mut rig = Rig::new();
    on(&mut rig);
    let (mut polls, end_us) = (0, rig.now_us() + 1_000_000);
    while rig.now_us() < end_us {
        let next_us = rig.engine.next_wake_us();
        rig.board().now_us = next_us;
        rig.engine.poll();
        polls += 1;
    }
    assert!(polls < 400, "{polls} polls a second: packets each 5.8 ms, overload each 5 ms");
}
