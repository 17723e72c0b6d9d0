//! Everything that ends power ends all of it.

use super::rig::{Rig, TestBoard, charging};
use crate::jig::board::{FeedDrive, Supply};
use crate::wire::refusal::Refusal;

/// Feed and load supply on, something of everything closed, a capture under way.
fn all_on(rig: &mut Rig) {
    rig.board().script = charging(0);
    rig.say("OUTP1 ON;OUTP2 ON;:ROUT:CLOS (@201,301,312,323,611)");
    rig.say("ROUT:SCAN (@2);:TRIG:SOUR BUS;:INIT");
    rig.run_us(50_000);
    assert_eq!(rig.board().feed, FeedDrive::Full);
    assert!(rig.board().loads && rig.board().is_closed(323));
}

#[test]
fn boots_with_everything_off() {
    let mut rig = Rig::new();
    assert!(rig.board().all_off());
    let closers = rig.board().closed.len();
    assert_eq!(closers, 34, "every switch was told to open");
    rig.run_us(10_000_000);
    assert!(rig.board().all_off());
    assert_eq!(rig.engine.next_wake_us(), u64::MAX, "nothing due");
}

#[test]
fn reset_ends_all_and_settings_too() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    rig.say("DRIV:IDLE LOW;*RST");
    assert!(rig.board().all_off());
    assert_eq!(rig.ask("DRIV:IDLE?;:OUTP1?;OUTP2?;:ROUT:CLOS? (@201,301)"), "PACK;0;0;0,0");
    assert!(rig.ask("FETC:PRE?").starts_with("0,EMPT,"));
}

#[test]
fn closing_the_port_ends_all() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    rig.send(b"*IDN?\nOUTP");
    rig.engine.port_closed();
    rig.heard();
    assert!(rig.board().all_off());
    rig.run_us(1_000);
    assert_eq!(rig.heard(), b"");
    assert_eq!(rig.ask("OUTP1?"), "0", "half a line was forgotten");
}

#[test]
fn closing_the_port_leaves_sealed_mode() {
    let mut rig = Rig::new();
    rig.open_session();
    rig.sealed("OUTP2 ON");
    let line = rig.next_sealed("OUTP2 ON");
    rig.engine.port_closed();
    assert!(rig.board().all_off());
    rig.send(&line);
    assert!(rig.board().all_off(), "the session is over");
    rig.heard();
    assert_eq!(rig.ask("SYST:SEAL:STAT?"), "0");
}

#[test]
fn silence_ends_all() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    rig.say("SYST:SIL 0.5");
    rig.run_us(499_000);
    assert!(rig.board().loads);
    rig.run_us(2_000);
    assert!(rig.board().all_off());
    assert!(rig.ask("FETC:PRE?").contains(",ABOR,"));
    assert_eq!(rig.ask("STAT:QUES?;QUES:COND?"), "2048;0");
}

#[test]
fn malformed_lines_do_not_count_as_hearing_from_the_host() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    for _ in 0..49 {
        rig.send(b"OUTP1?;RUBBISH\n\n");
        rig.run_us(100_000);
    }
    assert!(rig.board().loads);
    rig.run_us(200_000);
    assert!(rig.board().all_off());
}

#[test]
fn well_formed_lines_keep_it_on() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    for _ in 0..20 {
        rig.run_us(900_000);
        rig.say("*ESE 999;*CLS");
    }
    assert!(rig.board().loads);
}

#[test]
fn silence_leaves_sealed_mode() {
    let mut rig = Rig::new();
    rig.open_session();
    rig.sealed("OUTP2 ON");
    for _ in 0..60 {
        rig.run_us(100_000);
        rig.send(b"OUTP2?\n");
    }
    assert!(rig.board().all_off(), "unsealed lines do not count");
    assert_eq!(rig.text().lines().next(), Some("0"), "sealed mode was left");
}

#[test]
fn a_sealed_host_that_rests_with_all_off_is_not_cut() {
    let mut rig = Rig::new();
    rig.open_session();
    rig.run_us(300_000_000);
    assert_eq!(rig.sealed("SYST:SEAL:STAT?").0, "1");
    rig.run_us(601_000_000);
    assert_eq!(rig.ask("SYST:SEAL:STAT?"), "0", "gone for good");
}

#[test]
fn hardware_cut_off_latches() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    rig.board().cut_off = vec![Supply::Feed];
    rig.run_us(5_000);
    assert_eq!(rig.board().feed, FeedDrive::Off);
    assert!(!rig.board().loads);
    assert!(rig.ask("FETC:PRE?").contains(",ABOR,"));
    assert_eq!(rig.ask("OUTP1?;OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?"), "0;1;0");
    assert_eq!(rig.ask("STAT:QUES:COND?"), "2");
    assert_eq!(rig.wrong("OUTP1 ON"), Refusal::FeedTripped.number());
    rig.say("*RST");
    assert_eq!(
        rig.wrong("OUTP1 ON"),
        Refusal::FeedTripped.number(),
        "a reset does not clear a trip"
    );
    rig.say("OUTP1:PROT:CLE;:OUTP1 ON");
    assert_eq!(rig.board().feed, FeedDrive::Limited);
}

#[test]
fn a_cut_off_that_persists_trips_again() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    rig.board().cut_off = vec![Supply::Loads];
    rig.run_us(5_000);
    assert_eq!(rig.ask("OUTP2:PROT:TRIP?;:OUTP1?"), "1;1", "the feed stays on");
    assert_eq!(rig.ask("STAT:QUES:COND?"), "512");
}

/// Each latch is told on its own: one of the feed does not hide that of the loads.
#[test]
fn a_trip_of_the_feed_hides_none_of_the_loads() {
    let mut rig = Rig::new();
    rig.board().cut_off = vec![Supply::Feed, Supply::Loads];
    assert_eq!(rig.wrong("OUTP2 ON"), Refusal::LoadsTripped.number());
    assert_eq!(rig.ask("OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?;:OUTP2?"), "1;1;0");
    assert_eq!(rig.ask("STAT:QUES:COND?"), "514");
    rig.say("OUTP1:PROT:CLE");
    assert!(!rig.board().loads, "nothing goes on by a clear");
    assert_eq!(
        rig.wrong("OUTP2 ON"),
        Refusal::LoadsTripped.number(),
        "its own trip has not been cleared"
    );
    rig.say("OUTP2:PROT:CLE;:OUTP2 ON");
    assert!(rig.board().loads);
}

/// The loads short while the feed is tripped, at the moment when that is cleared: the hardware lets go of
/// both, and both stay off.
#[test]
fn nothing_goes_on_by_a_clear() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    rig.board().cut_off = vec![Supply::Feed];
    rig.run_us(5_000);
    rig.say("OUTP2 ON");
    rig.engine.receive(b"OUTP1:PROT:CLE\n");
    rig.board().cut_off.push(Supply::Loads);
    rig.settle();
    assert!(!rig.board().loads);
    assert!(rig.board().cut_off.is_empty());
    assert_eq!(rig.ask("OUTP1?;:OUTP2?;:OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?"), "0;0;0;1");
}

/// The answer to a resistance comes when the test voltage is gone, and no supply goes on before.
#[test]
fn the_resistance_test_lets_go_first() {
    let mut rig = Rig::new();
    rig.board().test_leaves_us = 5_000;
    rig.send(b"MEAS:RES? (@701);:OUTP2 ON\n");
    rig.run_us(24_000);
    assert_eq!(rig.board().test, None, "taken away");
    assert!(!rig.board().loads && rig.text().is_empty(), "but not gone yet");
    rig.run_us(2_000);
    assert!(rig.board().loads && rig.text() == "0.0E+0\n");
    // Cut short in the middle of it.
    rig.say("OUTP2 OFF");
    rig.send(b"MEAS:RES? (@701)\n");
    rig.run_us(5_000);
    rig.engine.port_closed();
    assert_eq!(rig.wrong("OUTP1 ON"), Refusal::TestLetsGo.number());
    rig.run_us(5_000);
    rig.say("OUTP1 ON");
}

#[test]
fn overload_trips_on_the_average_over_the_delay() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    let start_us = rig.now_us();
    rig.board().script = Box::new(move |channel, at_us| match channel {
        4 if at_us >= start_us => 4_500,
        2 => 50,
        _ => 0,
    });
    rig.run_us(80_000);
    assert!(rig.board().loads, "the average over 100 ms is still below 4 A");
    rig.run_us(15_000);
    assert!(!rig.board().loads);
    assert_eq!(rig.ask("OUTP2:PROT:TRIP?"), "1");
    assert_eq!(rig.wrong("OUTP2 ON"), Refusal::LoadsTripped.number());
}

/// One clamp carries 3 A for ever, though all together may carry more; two may carry 1.9 A each.
#[test]
fn a_single_clamp_has_a_limit_of_its_own() {
    for (clamps, counts, trips) in [(1, 3_500, true), (1, 2_900, false), (2, 1_900, false)] {
        let mut rig = Rig::new();
        all_on(&mut rig);
        rig.board().script = Box::new(move |channel, _| match channel {
            4 => clamps as i16 * counts,
            2 => 50,
            101..=108 if channel < 101 + clamps => counts,
            _ => 0,
        });
        rig.run_us(100_000);
        assert!(rig.board().loads, "not yet");
        rig.run_us(400_000);
        assert_eq!(rig.board().loads, !trips, "{clamps} clamps of {counts} mA");
        assert_eq!(rig.ask("OUTP2:PROT:TRIP?"), if trips { "1" } else { "0" });
    }
}

/// Where a clamp's channel ends below that, the limit is where it can still be seen.
#[test]
fn the_limit_of_a_clamp_is_one_that_can_be_seen() {
    let mut rig = Rig::on(TestBoard::with_range(101, 0.0, 2.5));
    all_on(&mut rig);
    rig.board().script = Box::new(|channel, _| match channel {
        4 => 2_600,
        // All that the channel can tell.
        101 => 2_500,
        2 => 50,
        _ => 0,
    });
    rig.run_us(500_000);
    assert!(!rig.board().loads);
}

#[test]
fn overload_of_the_feed() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    rig.say("SOUR:CURR:PROT 100 mA;:SOUR:CURR:PROT:DEL 20 ms");
    rig.board().script = Box::new(|channel, _| if channel == 2 { 120 } else { 0 });
    rig.run_us(30_000);
    assert_eq!(rig.ask("OUTP1?;OUTP1:PROT:TRIP?"), "0;1");
}

#[test]
fn interlock_keeps_all_off() {
    let mut rig = Rig::new();
    all_on(&mut rig);
    rig.board().interlock = true;
    rig.run_us(5_000);
    assert!(rig.board().all_off());
    assert_eq!(rig.ask("STAT:QUES:COND?"), "4096");
    assert_eq!(rig.wrong("OUTP2 ON"), Refusal::InterlockOpen.number());
}

#[test]
fn polarity_changes_only_while_the_feed_is_off() {
    let mut rig = Rig::new();
    rig.say("OUTP1:POL INV");
    assert!(rig.board().inverted);
    rig.say("OUTP1 ON");
    assert_eq!(rig.wrong("OUTP1:POL NORM"), Refusal::FeedOn.number());
    assert_eq!(rig.ask("OUTP1:POL?"), "INV");
    rig.say("*RST");
    assert!(!rig.board().inverted);
}
