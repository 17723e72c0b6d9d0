//! What is beyond a channel's range is told as such, and no limit is set where nothing can be seen.

use super::rig::{Rig, TestBoard, charging};
use crate::wire::number::INFINITY;
use crate::wire::preamble::{CUT_OFF_HIGH, CUT_OFF_LOW};

/// A rig whose feed current reads from -0.05 to 1.5 A, a count a milliampere.
fn rig() -> Rig {
    Rig::on(TestBoard::with_range(2, -0.05, 1.5))
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}

#[test]
fn a_limit_that_cannot_be_seen_is_refused() {
    let mut rig = rig();
    let highest = number(&rig.ask("SOUR1:CURR:PROT? MAX"));
    assert!((highest - 0.95 * 1.5).abs() < 1e-6, "{highest}");
    assert_eq!(rig.wrong("SOUR1:CURR:PROT 1.5"), -222);
    assert_eq!(rig.wrong("SOUR1:CURR:PROT 3"), -222);
    rig.say("SOUR1:CURR:PROT MAX");
    rig.board().script = charging(0);
    rig.say("OUTP1 ON");
    rig.run_us(1_000_000);
    // However much it is, it reads as the end of the range: that trips.
    rig.board().script = Box::new(|channel, _| if channel == 2 { 1_500 } else { 0 });
    rig.run_us(150_000);
    assert_eq!(rig.ask("OUTP1?;OUTP1:PROT:TRIP?"), "0;1");
}

/// A board that tells less than the usual limit.
#[test]
fn the_limit_after_reset_can_be_seen() {
    let mut rig = Rig::on(TestBoard::with_range(2, 0.0, 0.8));
    assert!((number(&rig.ask("SOUR1:CURR:PROT?")) - 0.76).abs() < 1e-6);
    assert_eq!(rig.ask("SOUR1:CURR:PROT? DEF"), rig.ask("SOUR1:CURR:PROT?"));
    assert_eq!(number(&Rig::new().ask("SOUR1:CURR:PROT?")), 1.0);
}

#[test]
fn one_conversion_beyond_the_range_makes_a_mean_unknown() {
    let mut rig = rig();
    for (count, beyond) in [(1_500, Some(INFINITY)), (-50, Some(-INFINITY)), (1_498, None)] {
        let begun_us = rig.now_us();
        // Twenty conversions a millisecond apart: the seventh is another one.
        rig.board().script = Box::new(move |channel, at_us| match channel {
            2 if at_us == begun_us + 7_000 => count,
            2 => 79 * i16::from(at_us > begun_us),
            _ => 0,
        });
        let mean = number(&rig.ask("MEAS:CURR? (@2)"));
        let wanted = beyond.unwrap_or((19.0 * 79e-3 + 1.498) / 20.0);
        assert!((mean / wanted - 1.0).abs() < 1e-6, "{mean}, {wanted}");
    }
}

/// Zero is an honest value of a channel that begins there.
#[test]
fn a_range_that_begins_at_zero_has_no_lower_end() {
    assert_eq!(number(&Rig::new().ask("MEAS:VOLT? (@1)")), 0.0);
}

/// Points of the fast unit's one channel.
fn points(rig: &mut Rig, average: u16) -> Vec<i16> {
    rig.say(&format!("ROUT:SCAN (@2);:SENS:SWE:POIN 8;TINT 1 MS;:SENS:AVER:COUN {average};:INIT"));
    rig.run_us(20_000);
    rig.send(b"FETC?\n");
    let block = rig.heard();
    let bytes = &block[2 + usize::from(block[1] - b'0')..block.len() - 1];
    bytes.chunks(2).map(|pair| i16::from_le_bytes([pair[0], pair[1]])).collect()
}

#[test]
fn a_point_with_one_conversion_beyond_the_range_is_marked() {
    let mut rig = rig();
    let begun_us = rig.now_us();
    rig.board().script = Box::new(move |channel, at_us| match (channel, at_us - begun_us) {
        (2, 2_300) => 1_499,
        (2, 4_700) => -49,
        // At both ends: told as the upper one.
        (2, 6_100) => -50,
        (2, 6_200) => 1_500,
        (2, _) => 100,
        _ => 0,
    });
    let marked = [100, 100, CUT_OFF_HIGH, 100, CUT_OFF_LOW, 100, CUT_OFF_HIGH, 100];
    assert_eq!(points(&mut rig, 10), marked);
}

#[test]
fn a_point_of_one_conversion_is_what_it_was() {
    let mut rig = rig();
    rig.board().script = Box::new(|channel, _| if channel == 2 { 1_500 } else { 0 });
    assert_eq!(points(&mut rig, 1), [1_500; 8]);
}
