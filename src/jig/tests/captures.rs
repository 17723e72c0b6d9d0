//! Captures: triggers, pre-trigger, averaging, blocks.

use super::rig::{Rig, charging, split};
use crate::wire::answers::Answers;
use crate::wire::checksum::crc32;
use crate::wire::preamble::{Preamble, State};
use crate::wire::refusal::Refusal;

/// Channel 2 counts tenths of milliseconds, channel 101 the negative of it.
fn clockwork(rig: &mut Rig) {
    rig.board().script = Box::new(|channel, at_us| {
        let tenths = (at_us / 100 % 30_000) as i16;
        if channel == 101 { -tenths } else { tenths }
    });
}

fn preamble(rig: &mut Rig, unit: u8) -> Preamble {
    Answers::only::<Preamble>(rig.ask(&format!("FETC{unit}:PRE?")).as_bytes()).unwrap()
}

/// The whole block, read in one unsealed answer; its CRC is checked.
fn block(rig: &mut Rig, unit: u8) -> Vec<i16> {
    let preamble = preamble(rig, unit);
    rig.send(format!("FETC{unit}?\n").as_bytes());
    let answer = rig.heard();
    let digits = usize::from(answer[1] - b'0');
    let length: usize = std::str::from_utf8(&answer[2..2 + digits]).unwrap().parse().unwrap();
    let bytes = &answer[2 + digits..answer.len() - 1];
    assert_eq!((bytes.len(), answer.last()), (length, Some(&b'\n')));
    assert_eq!(length, preamble.points as usize * preamble.columns.len() * 2);
    assert_eq!(crc32(bytes), preamble.crc);
    bytes.chunks(2).map(|pair| i16::from_le_bytes([pair[0], pair[1]])).collect()
}

#[test]
fn immediate_capture() {
    let mut rig = Rig::new();
    clockwork(&mut rig);
    rig.run_us(1_000);
    rig.say("ROUT:SCAN (@2,101);:SENS:SWE:POIN 40;TINT 500 us;:INIT");
    assert_eq!(preamble(&mut rig, 1).state, State::Running);
    rig.run_us(30_000);
    let preamble = preamble(&mut rig, 1);
    assert_eq!((preamble.id, preamble.state, preamble.points), (1, State::Done, 40));
    assert_eq!((preamble.first_us, preamble.trigger_us, preamble.interval_us), (1000, 1000, 500));
    let expected: Vec<i16> = (0..40).flat_map(|i| [10 + 5 * i, -10 - 5 * i]).collect();
    assert_eq!(block(&mut rig, 1), expected);
}

#[test]
fn pre_trigger_by_bus() {
    let mut rig = Rig::new();
    clockwork(&mut rig);
    rig.say("ROUT:SCAN (@2);:SENS:SWE:POIN 30;TINT 1 ms;OFFS:POIN -10;:TRIG:SOUR BUS;:INIT");
    assert_eq!(rig.ask("STAT:OPER:COND?"), "32", "waiting for the trigger");
    rig.run_us(205_300);
    rig.say("TRIG");
    assert_eq!(rig.wrong("TRIG"), -211, "once");
    assert_eq!(rig.wrong("INIT"), -213, "under way");
    assert_eq!(rig.ask("STAT:OPER:COND?"), "8");
    rig.run_us(40_000);
    let preamble = preamble(&mut rig, 1);
    assert_eq!((preamble.trigger_us, preamble.points), (205_300, 30));
    assert_eq!(preamble.first_us, 196_000, "ten points before the first one at or after 205.3 ms");
    let expected: Vec<i16> = (0..30).map(|i| 1960 + 10 * i).collect();
    assert_eq!(block(&mut rig, 1), expected);
}

#[test]
fn a_trigger_before_the_pre_trigger_is_filled_gives_fewer_points() {
    let mut rig = Rig::new();
    clockwork(&mut rig);
    rig.say("ROUT:SCAN (@2);:SENS:SWE:POIN 30;TINT 1 ms;OFFS:POIN -10;:TRIG:SOUR BUS;:INIT");
    rig.run_us(3_500);
    rig.say("TRIG");
    rig.run_us(40_000);
    let preamble = preamble(&mut rig, 1);
    assert_eq!((preamble.state, preamble.points, preamble.first_us), (State::Done, 24, 0));
    assert_eq!(block(&mut rig, 1), (0..24).map(|i| 10 * i).collect::<Vec<i16>>());
}

#[test]
fn the_end_of_a_command_triggers_exactly() {
    let mut rig = Rig::new();
    rig.board().script = charging(0);
    rig.say("OUTP1 ON");
    rig.run_us(50_000);
    clockwork(&mut rig);
    rig.say("SOUR:CURR:PROT MAX;:SOUR:CURR:PROT:DEL MAX");
    rig.say("ROUT:SCAN1 (@2);:SENS:SWE:POIN 300;TINT 200 us;OFFS:POIN -100;:TRIG:SOUR SENT");
    // A command that has begun already does not trigger.
    rig.send(b"DRIV:PACK 1,255,0,255\n");
    rig.run_us(9_000);
    rig.say("INIT");
    rig.run_us(40_000);
    assert_eq!(rig.ask("DRIV:SENT?").split(',').next(), Some("1"));
    assert_eq!(preamble(&mut rig, 1).state, State::Armed);
    rig.say("DRIV:PACK 2,129,248,121");
    rig.run_us(90_000);
    let preamble = preamble(&mut rig, 1);
    let sent = rig.ask("DRIV:SENT?");
    let end_us: u64 = sent.split(',').nth(1).unwrap().parse().unwrap();
    assert_eq!((preamble.state, preamble.trigger_us, preamble.points), (State::Done, end_us, 300));
    let at_trigger_us = preamble.first_us + 100 * 200;
    assert!((end_us..end_us + 200).contains(&at_trigger_us));
    let counts = block(&mut rig, 1);
    assert_eq!(counts[0], (preamble.first_us / 100 % 30_000) as i16);
}

#[test]
fn a_command_that_is_called_off_does_not_trigger() {
    let mut rig = Rig::new();
    rig.board().script = charging(0);
    rig.say("OUTP1 ON");
    rig.run_us(50_000);
    rig.say("ROUT:SCAN (@2);:TRIG:SOUR SENT;:INIT");
    rig.say("DRIV:PULS 1,LOW,90000");
    rig.run_us(20_000);
    rig.say("OUTP1 OFF");
    rig.run_us(400_000);
    let preamble = preamble(&mut rig, 1);
    assert_eq!((preamble.state, preamble.trigger_us), (State::Armed, 0));
}

#[test]
fn a_contact_closure_triggers() {
    let mut rig = Rig::new();
    clockwork(&mut rig);
    rig.say("ROUT:SCAN (@2);:SENS:SWE:POIN 20;:TRIG:SOUR CONT;:INIT");
    rig.run_us(7_700);
    rig.say("CONT:CLOS 10 ms,(@203)");
    rig.run_us(40_000);
    let preamble = preamble(&mut rig, 1);
    assert_eq!((preamble.trigger_us, preamble.first_us), (7_700, 8_000));
    assert_eq!(rig.ask("CONT:TIME?"), "7700,17700");
}

#[test]
fn both_units_run_side_by_side_and_share_the_numbering() {
    let mut rig = Rig::new();
    clockwork(&mut rig);
    rig.say("ROUT:SCAN2 (@2);:SENS2:SWE:POIN 100;TINT 10 ms;:SENS2:AVER:COUN 50;:INIT2");
    rig.say("ROUT:SCAN1 (@101);:SENS1:SWE:POIN 10;:INIT1");
    assert_eq!(rig.ask("STAT:OPER:COND?"), "264", "SWEeping and watching");
    rig.run_us(200_000);
    rig.say("INIT1");
    rig.run_us(900_000);
    let (fast, watch) = (preamble(&mut rig, 1), preamble(&mut rig, 2));
    assert_eq!((watch.id, watch.state, watch.points, watch.average), (1, State::Done, 100, 50));
    assert_eq!((fast.id, fast.state), (3, State::Done));
    assert_eq!(watch.interval_us, 10_000);
    assert_eq!(watch.first_us, 49 * 200 / 2, "the middle of the averaged conversions");
    // Conversions at 0, 200, … 9800 us count 0, 2, … 98 tenths: 49 in the mean.
    assert_eq!(block(&mut rig, 2), (0..100).map(|i| 49 + 100 * i).collect::<Vec<i16>>());
}

#[test]
fn means_are_rounded_to_the_nearest() {
    let mut rig = Rig::new();
    rig.board().script = Box::new(|channel, at_us| {
        let step = (at_us / 100 % 4) as i16;
        if channel == 2 { step } else { -step }
    });
    rig.say("ROUT:SCAN (@2,101);:SENS:SWE:POIN 3;TINT 400 us;:SENS:AVER:COUN 4;:INIT");
    rig.run_us(30_000);
    assert_eq!(block(&mut rig, 1), [2, -2, 2, -2, 2, -2], "1.5, halves to the even number");
    // Sums of 1 and 5 in turn: 0.5 and 2.5.
    rig.say("SENS:SWE:POIN 4;TINT 200 us;:SENS:AVER:COUN 2;:INIT");
    rig.run_us(30_000);
    assert_eq!(block(&mut rig, 1), [0, 0, 2, -2, 0, 0, 2, -2], "halves to the even number");
}

#[test]
fn an_aborted_capture_keeps_what_it_has() {
    let mut rig = Rig::new();
    clockwork(&mut rig);
    rig.say("ROUT:SCAN (@2);:SENS:SWE:POIN 1000;:INIT");
    rig.run_us(99_500);
    rig.say("ABOR");
    let preamble = preamble(&mut rig, 1);
    assert_eq!((preamble.state, preamble.points), (State::Aborted, 100));
    assert_eq!(block(&mut rig, 1), (0..100).map(|i| 10 * i).collect::<Vec<i16>>());
    rig.say("TRIG:SOUR BUS;:SENS:SWE:POIN 50;:INIT");
    rig.run_us(100_000);
    rig.say("ABOR");
    assert_eq!(block(&mut rig, 1).len(), 50, "the last ones before the end");
}

#[test]
fn a_lost_scan_ends_the_capture() {
    let mut rig = Rig::new();
    clockwork(&mut rig);
    rig.board().lose_at_us = Some(20_000);
    rig.send(b"ROUT:SCAN (@2);:SENS:SWE:POIN 100;:INIT\n");
    rig.run_us(200_000);
    assert!(rig.ask("SYST:ERR?").starts_with(&format!("{},", Refusal::ScansLost.number())));
    let preamble = preamble(&mut rig, 1);
    assert_eq!((preamble.state, preamble.points), (State::Aborted, 20));
    assert_eq!(block(&mut rig, 1), (0..20).map(|i| 10 * i).collect::<Vec<i16>>());
}

#[test]
fn settings_that_do_not_go_together() {
    let mut rig = Rig::new();
    assert_eq!(rig.wrong("INIT"), Refusal::NothingToScan.number(), "no scan list");
    rig.say("ROUT:SCAN (@101:108);:SENS:SWE:POIN 4097");
    assert_eq!(rig.wrong("INIT"), Refusal::CaptureTooLong.number());
    rig.say("SENS:SWE:POIN 100;OFFS:POIN -100");
    assert_eq!(
        rig.wrong("INIT"),
        Refusal::NothingAfterTrigger.number(),
        "nothing after the trigger"
    );
    rig.say("SENS:SWE:OFFS:POIN 0;:SENS:AVER:COUN 3");
    assert_eq!(
        rig.wrong("INIT"),
        Refusal::IntervalNotOfAverage.number(),
        "1000 us are no multiple of 3"
    );
    rig.say("SENS:AVER:COUN 200");
    assert_eq!(rig.wrong("INIT"), -222, "5 us are too fast");
    rig.say("SENS:AVER:COUN 8");
    assert_eq!(
        rig.wrong("INIT"),
        Refusal::IntervalNotOfChannel.number(),
        "125 us are no multiple of the channels' 10 us"
    );
    assert_eq!(rig.wrong("TRIG2"), -211);
    assert_eq!(rig.wrong("FETC?"), Refusal::CaptureUnfinished.number());
}

#[test]
fn a_full_memory_is_streamed_in_one_answer() {
    let mut rig = Rig::new();
    clockwork(&mut rig);
    rig.say("ROUT:SCAN (@101:108);:SENS:SWE:POIN MAX");
    assert_eq!(rig.ask("SENS:SWE:POIN?"), "32768");
    assert_eq!(rig.ask("SENS:SWE:POIN? MAX"), "4096");
    rig.say("SENS:SWE:POIN 4096;TINT 100 us;:INIT");
    rig.run_us(500_000);
    assert_eq!(block(&mut rig, 1).len(), 32_768);
    rig.send(b"*ESE?;FETC? 1,0,6;*ESE?;FETC? 1,65530,100;*ESE?\n");
    let answer = rig.heard();
    assert!(answer.starts_with(b"0;#16"));
    assert_eq!(answer.len(), "0;#16......;0;#16......;0\n".len());
    assert!(answer.ends_with(b";0\n"));
}

#[test]
fn pieces_by_offset_make_the_block() {
    let mut rig = Rig::new();
    clockwork(&mut rig);
    rig.say(
        "ROUT:SCAN (@2,101,4);:SENS:SWE:POIN 500;TINT 100 us;OFFS:POIN -77;:TRIG:SOUR BUS;:INIT",
    );
    rig.run_us(123_450);
    rig.say("TRIG");
    rig.run_us(100_000);
    let whole = block(&mut rig, 1);
    rig.open_session();
    let mut bytes = Vec::new();
    while bytes.len() < whole.len() * 2 {
        let line = rig.next_sealed(&format!("FETC? 1,{},999", bytes.len()));
        rig.send(&line);
        let (response, trailer) = split(&rig.heard());
        assert_eq!(trailer.errors, 0);
        let digits = usize::from(response[1] - b'0');
        bytes.extend_from_slice(&response[2 + digits..]);
    }
    let counts: Vec<i16> =
        bytes.chunks(2).map(|pair| i16::from_le_bytes([pair[0], pair[1]])).collect();
    assert_eq!(counts, whole);
    assert_eq!(rig.sealed("FETC? 2,0,10").2, 1, "another identity");
    assert_eq!(rig.sealed("FETC? 1,3001,10").2, 1, "beyond the end");
    assert_eq!(rig.sealed("FETC? 1,3000,10").0, "#10");
}
