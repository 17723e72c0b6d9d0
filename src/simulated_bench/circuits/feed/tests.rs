//! The feed against circuit theory as any textbook has it.

use super::*;
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;

fn parts() -> Parts {
    let mut parts = Parts::draw(&Kind::example(), &[const { LoadModel::OPEN }; 8], 12.0, 1.into());
    parts.jig.feed_v = 16.0;
    parts.jig.feed_source_ohm = 0.25;
    parts.jig.bridge_ohm = 0.2;
    parts.leads.feed_ohm = 0.05;
    parts.module.rectifier_v = 1.4;
    parts.module.rectifier_ohm = 0.1;
    parts.module.reservoir_esr_ohm = 0.1;
    parts.module.bleeder_s = 1e-9;
    parts.module.kind.reservoir_f = 500e-6;
    parts
}

fn advance(feed: &mut FeedCircuit, mut us: u64) {
    while us > 0 {
        us -= feed.advance(us);
    }
}

/// A capacitor charged through a resistance: `u = U (1 − e^(−t/RC))`.
#[test]
fn reservoir_fills_with_its_time_constant() {
    let mut feed = FeedCircuit::new(&parts());
    // Without the current limit, but too short for the cut-off: a limit that is never reached.
    feed.set_limit(1_000.0);
    feed.set_drive(FeedDrive::Limited);
    let tau_us = (0.25 + 0.2 + 0.05 + 0.1 + 0.1) * 500.0;
    for n in 1..=30 {
        advance(&mut feed, 50);
        let want = 14.6 * (1.0 - (-50.0 * f64::from(n) / tau_us).exp());
        assert!((feed.capacitor_v - want).abs() < 0.02 * 14.6, "{n}: {} {want}", feed.capacitor_v);
    }
    advance(&mut feed, 5_000);
    assert!((feed.capacitor_v - 14.6).abs() < 1e-3);
}

/// A capacitor charged with a constant current: `u = I t / C`.
#[test]
fn limited_current_makes_a_ramp() {
    let mut feed = FeedCircuit::new(&parts());
    feed.set_limit(0.25);
    feed.set_drive(FeedDrive::Limited);
    for ms in 1..=25 {
        advance(&mut feed, 1_000);
        assert!((feed.feed_a() - 0.25).abs() < 1e-9);
        let want = 0.25 * f64::from(ms) * 1e-3 / 500e-6;
        assert!((feed.capacitor_v / want - 1.0).abs() < 1e-6, "{ms}");
    }
}

/// At rest the rail follows from Ohm's law, and the feed carries the rail's current.
#[test]
fn settles_where_ohm_says() {
    let mut feed = FeedCircuit::new(&parts());
    feed.set_drive(FeedDrive::Limited);
    advance(&mut feed, 200_000);
    feed.set_drive(FeedDrive::Full);
    feed.set_load(0.2);
    advance(&mut feed, 50_000);
    assert!(feed.settled);
    assert!((feed.feed_a() - 0.2).abs() < 2e-5);
    assert!((feed.feed_v() - (16.0 - 0.25 * 0.2)).abs() < 1e-4);
    assert!((feed.rail_v() - (16.0 - 1.4 - 0.6 * 0.2)).abs() < 1e-3);
}

/// Charge is kept: what the feed gave is in the reservoir or went through the rail.
#[test]
fn charge_balance_over_a_coil_pulse() {
    let mut feed = FeedCircuit::new(&parts());
    feed.set_drive(FeedDrive::Limited);
    advance(&mut feed, 200_000);
    feed.set_drive(FeedDrive::Full);
    let before_c = feed.capacitor_v * feed.reservoir_f;
    feed.set_coil(0, true);
    let (mut given_c, mut taken_c) = (0.0, 0.0);
    let h = 5e-6;
    for n in 0..8_000 {
        if n == 6_000 {
            feed.set_coil(0, false);
        }
        let (a, b) = (feed.feed_a(), feed.drawn_a());
        advance(&mut feed, 5);
        given_c += 0.5 * h * (a + feed.feed_a());
        taken_c += 0.5 * h * (b + feed.drawn_a());
    }
    let stored_c = feed.capacitor_v * feed.reservoir_f - before_c;
    assert!(taken_c > 1e-3);
    assert!(
        (given_c - taken_c - stored_c).abs() < 0.01 * taken_c,
        "{given_c} {taken_c} {stored_c}"
    );
}

#[test]
fn a_short_trips_the_cut_off_within_50_us() {
    let mut parts = parts();
    let mut feed = FeedCircuit::new(&parts);
    feed.set_drive(FeedDrive::Limited);
    advance(&mut feed, 200_000);
    feed.set_drive(FeedDrive::Full);
    parts.module.short_s = 2.0;
    feed.way.short_s = parts.module.short_s;
    feed.disturb();
    let mut us = 0;
    while !feed.is_tripped() {
        us += feed.advance(1_000);
        assert!(us <= 50);
    }
    assert_eq!(feed.feed_a(), 0.0);
    feed.set_drive(FeedDrive::Full);
    assert_eq!(feed.drive(), FeedDrive::Off, "latched");
    feed.clear_trip();
    feed.set_drive(FeedDrive::Limited);
    assert!(feed.feed_a() > 0.0);
}

/// In the soft start a short just holds the current at its limit.
#[test]
fn soft_start_into_a_short_holds_its_limit() {
    let mut parts = parts();
    parts.module.short_s = 1.0;
    let mut feed = FeedCircuit::new(&parts);
    feed.set_drive(FeedDrive::Limited);
    advance(&mut feed, 1_000_000);
    assert!((feed.feed_a() - 0.25).abs() < 1e-9);
    assert!(!feed.is_alive() && !feed.is_tripped());
}

/// With everything off the meter sees the bleeder behind two diodes, or the short.
#[test]
fn resistance_between_the_wires() {
    let mut parts = parts();
    parts.module.bleeder_s = 1e-4;
    let ohm = FeedCircuit::new(&parts).resistance_ohm();
    assert!((ohm - 5.0 / (3.6 / 10_000.0)).abs() < 20.0, "{ohm}");
    parts.module.short_s = 0.5;
    let ohm = FeedCircuit::new(&parts).resistance_ohm();
    assert!((ohm - 2.25).abs() < 0.01, "{ohm}");
}

#[test]
fn logic_lives_and_dies_with_the_rail() {
    let mut feed = FeedCircuit::new(&parts());
    feed.set_drive(FeedDrive::Limited);
    while !feed.is_alive() {
        feed.advance(100);
    }
    assert!((feed.rail_v() - POWER_UP_V).abs() < 0.3);
    feed.set_load(0.02);
    advance(&mut feed, 100_000);
    feed.set_drive(FeedDrive::Off);
    while feed.is_alive() {
        feed.advance(1_000);
    }
    assert!((feed.rail_v() - BROWN_OUT_V).abs() < 0.3);
}

#[test]
fn the_ohmmeter_stays_within_5_v_and_10_ma() {
    for ohm in [0.01, 1.0, 100.0, 140.0, 499.0, 501.0, 10_000.0, 1e9] {
        let mut parts = parts();
        parts.module.short_s = 1.0 / ohm;
        let feed = FeedCircuit::new(&parts);
        let (volt, ampere) = feed.ohmmeter();
        assert!(volt <= 5.0 + 1e-12 && ampere <= 0.010 + 1e-12, "{ohm}: {volt} V, {ampere} A");
        // Ohm's law at the short: it takes no more than all of the current.
        assert!(volt / ohm <= ampere + 1e-12, "{ohm}: {volt} V, {ampere} A");
    }
}

/// A bridge with one diode open: with one polarity nothing flows, and the module lives from its reservoir,
/// `t = C U / I` (any textbook); with the other it is as sound as can be.
#[test]
fn an_open_diode_lets_one_polarity_through() {
    let mut parts = parts();
    parts.module.rectifier[0].open = true;
    let mut feed = FeedCircuit::new(&parts);
    feed.set_load(0.050);
    feed.set_drive(FeedDrive::Limited);
    advance(&mut feed, 300_000);
    feed.set_drive(FeedDrive::Full);
    advance(&mut feed, 1_000);
    let sound_a = feed.feed_a();
    assert!((sound_a - 0.050).abs() < 1e-5, "{sound_a}");
    let full_v = feed.rail_v();
    feed.set_level(Level::High);
    assert_eq!(feed.feed_a(), 0.0);
    let lives_us = (500e-6 * (full_v - BROWN_OUT_V) / 0.050 * 1e6) as u64;
    advance(&mut feed, lives_us - 2_000);
    assert!(feed.is_alive());
    advance(&mut feed, 4_000);
    assert!(!feed.is_alive());
}

/// On a feed that changes its level all the time half of the time has to carry all of the charge: the mean
/// stays, what flows while something flows is twice as much.
#[test]
fn half_a_rectifier_carries_all_of_it() {
    let mut parts = parts();
    parts.module.rectifier[1].open = true;
    let mut feed = FeedCircuit::new(&parts);
    feed.set_level(Level::High);
    feed.set_load(0.040);
    feed.set_limit(1_000.0);
    feed.set_drive(FeedDrive::Limited);
    let mut flowed = [0.0; 2];
    for half in 0..4_000 {
        feed.set_level(if half % 2 == 0 { Level::High } else { Level::Low });
        let before_c = feed.through_c();
        advance(&mut feed, 100);
        if half >= 2_000 {
            flowed[half % 2] += (feed.through_c() - before_c) / (1_000.0 * 100e-6);
        }
    }
    assert!((flowed[0] - 0.080).abs() < 0.002 && flowed[1] == 0.0, "{flowed:?}");
}

/// A diode that is a resistance: with its own polarity nothing is to be seen, with the other it lies across
/// the feed behind the drop of the diode beside it, `(16 - 0.7) / (0.5 + 10)` (Kirchhoff).
#[test]
fn a_shorted_diode_lies_across_the_feed_with_the_other_polarity() {
    let mut parts = parts();
    parts.module.rectifier[0].shorted_s = 0.1;
    let mut feed = FeedCircuit::new(&parts);
    feed.set_level(Level::High);
    feed.set_drive(FeedDrive::Full);
    feed.capacitor_v = 14.6;
    feed.disturb();
    assert!(feed.feed_a().abs() < 0.01, "{}", feed.feed_a());
    feed.set_level(Level::Low);
    let across_a = 15.3 / 10.5;
    assert!((feed.feed_a() - across_a).abs() < 1e-9, "{} {across_a}", feed.feed_a());
    // The jig's ohmmeter gives no more than 10 mA: 0.7 V and 0.1 V, and the line.
    let ohm = feed.resistance_ohm();
    assert!((ohm - (0.8 / 0.010 + 0.25)).abs() < 1e-6, "{ohm}");
}

/// A driver that lets half of the current through: the module draws it all the time, and no more while the
/// coil is driven.
#[test]
fn a_leaky_driver_draws_its_share() {
    let mut parts = parts();
    parts.module.outputs[1].coil_ohm[0] = 146.0;
    parts.module.outputs[1].driver_leak[0] = 0.5;
    let mut feed = FeedCircuit::new(&parts);
    feed.set_drive(FeedDrive::Limited);
    advance(&mut feed, 300_000);
    let expected = |share: f64, rail_v: f64| share * rail_v / 146.0;
    assert!((feed.feed_a() / expected(0.5, feed.rail_v()) - 1.0).abs() < 1e-3);
    assert!((feed.coil_a(2) / expected(0.5, feed.rail_v()) - 1.0).abs() < 1e-3);
    feed.set_coil(2, true);
    advance(&mut feed, 50_000);
    assert!((feed.feed_a() / expected(1.0, feed.rail_v()) - 1.0).abs() < 1e-3);
}

#[test]
fn an_open_joint_leaves_the_module_to_its_reservoir() {
    let mut feed = FeedCircuit::new(&parts());
    feed.set_load(0.030);
    feed.set_drive(FeedDrive::Limited);
    advance(&mut feed, 300_000);
    let before_v = feed.rail_v();
    feed.set_parted(true);
    assert_eq!((feed.feed_a(), feed.feed_v()), (0.0, 16.0));
    advance(&mut feed, 10_000);
    // I t / C.
    assert!((before_v - feed.rail_v() - 0.030 * 0.010 / 500e-6).abs() < 0.02);
    feed.set_parted(false);
    assert!(feed.feed_a() > 0.030);
}
