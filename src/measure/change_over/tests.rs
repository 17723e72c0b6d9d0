use super::*;
use crate::measure::channel_class::ChannelClass;
use crate::measure::record::Trace;
use crate::measure::scale::{Ends, Scale};
use crate::measure::witness::Witness;
use proptest::prelude::*;

const INTERVAL_US: u32 = 200;
const PRE: usize = 100;
const SCALE: Scale = Scale { zero: 0.0, per_count: 2e-5 };

/// The whole count nearest to a current.
fn counts(ampere: f64) -> i16 {
    SCALE.counts_of(ampere).round() as i16
}

/// A record of two currents, the trigger at scan 100.
fn record(old: impl Fn(f64) -> f64, new: impl Fn(f64) -> f64, points: usize) -> Record {
    let trace = |channel, f: &dyn Fn(f64) -> f64| {
        let at = |i: usize| f((i as f64 - PRE as f64) * f64::from(INTERVAL_US));
        Trace {
            channel,
            skew_us: 0.0,
            counts: (0..points).map(|i| counts(at(i))).collect(),
            scale: SCALE,
            ends: Ends::NONE,
            class: ChannelClass { resolution: SCALE.per_count, ..ChannelClass::default() },
        }
    };
    Record {
        first_us: 1_000_000 - PRE as u64 * u64::from(INTERVAL_US),
        interval_us: INTERVAL_US,
        average: 1,
        trigger_us: Some(1_000_000),
        traces: vec![trace(101, &old), trace(102, &new)],
    }
}

/// By the currents alone.
fn find(r: &Record) -> ChangeOver {
    let contact = |at: usize| {
        let current = Some(Witness { trace: &r.traces[at], least: 0.05 });
        Contact { current, voltage: None }
    };
    ChangeOver::of(r, &contact(0), &contact(1), PRE)
}

fn step(up_us: f64) -> impl Fn(f64) -> f64 {
    move |t| if t >= up_us { 0.5 } else { 0.0 }
}

fn drop(down_us: f64) -> impl Fn(f64) -> f64 {
    move |t| if t < down_us { 0.5 } else { 0.0 }
}

/// IEC 61810-7: opening at 10 ms, closing at 13.1 ms, chatter until 14.5 ms.
#[test]
fn times_of_a_bouncing_change_over() {
    let chatter = |t: f64| match t {
        13_100.0..13_500.0 | 13_900.0..14_200.0 => 0.5,
        14_500.0.. => 0.5,
        _ => 0.0,
    };
    let r = record(drop(10_000.0), chatter, 400);
    let c = find(&r);
    let (gap, bounce) = (c.gap().unwrap(), c.bounce().unwrap());
    let response = c.response_after(0.0).unwrap();
    assert!((gap.value - 3.1e-3).abs() <= gap.expanded(), "{gap:?}");
    assert!((bounce.value - 1.4e-3).abs() <= bounce.expanded(), "{bounce:?}");
    assert!((response.value - 13.1e-3).abs() <= response.expanded(), "{response:?}");
    assert_eq!(c.closed.unwrap().count, 3);
    // Half a scan at each end, rectangular: √2 · 100 µs / √3 · 1.96.
    assert!((gap.expanded() - 160e-6).abs() < 2e-6, "{}", gap.expanded());
}

#[test]
fn an_overlap_is_a_negative_gap() {
    let c = find(&record(drop(12_000.0), step(9_000.0), 400));
    let gap = c.gap().unwrap();
    assert!((gap.value + 3e-3).abs() <= gap.expanded());
}

/// Inrush ten times the final current, decaying: 50 % of the final level, not of the peak.
#[test]
fn an_inrush_does_not_move_the_closure() {
    let lamp = |t: f64| {
        if t < 9_000.0 { 0.0 } else { 0.1 * (1.0 + 9.0 * (-(t - 9_000.0) / 5_000.0).exp()) }
    };
    let c = find(&record(drop(5_000.0), lamp, 800));
    let closed = c.closed.unwrap();
    assert_eq!(closed.count, 1);
    assert!((closed.first.us - 9_000.0).abs() <= 200.0, "{closed:?}");
}

#[test]
fn a_contact_that_stays_has_no_times() {
    let stuck = find(&record(|_| 0.5, |_| 0.0, 400));
    assert_eq!((stuck.opened, stuck.closed), (None, None));
    assert!(stuck.old_was_closed && !stuck.new_was_closed);
    assert_eq!((stuck.gap(), stuck.bounce(), stuck.response_after(0.0)), (None, None, None));
    let already = find(&record(|_| 0.0, |_| 0.5, 400));
    assert!(already.new_was_closed && already.closed.is_none());
}

#[test]
fn a_contact_that_opens_again_is_not_closed() {
    let c = find(&record(drop(5_000.0), |t| if (8e3..20e3).contains(&t) { 0.5 } else { 0.0 }, 400));
    assert!(c.closed.is_none());
}

#[test]
fn skew_between_the_channels_counts() {
    let mut r = record(drop(10_000.0), step(13_000.0), 400);
    let plain = find(&r).gap().unwrap().value;
    r.traces[1].skew_us = 30.0;
    assert!((find(&r).gap().unwrap().value - plain - 30e-6).abs() < 1e-12);
}

#[test]
fn a_glitch_stirs_though_both_ends_are_the_same() {
    let r = record(
        |t| if (7_000.0..8_000.0).contains(&t) { 0.0 } else { 0.5 },
        |t| if (7_000.0..7_300.0).contains(&t) { 0.4 } else { 0.0 },
        400,
    );
    let contact = |at: usize| Witness { trace: &r.traces[at], least: 0.05 };
    assert!(contact(0).stirs(PRE) && contact(1).stirs(PRE));
    assert_eq!(contact(0).before_and_after(PRE), (true, true));
    let still = record(|_| 0.5, |_| 0.0, 400);
    let contact = |at: usize| Witness { trace: &still.traces[at], least: 0.05 };
    assert!(!contact(0).stirs(PRE) && !contact(1).stirs(PRE));
}

/// A record whose points are the means of four conversions, 50 µs apart.
fn averaged(old: impl Fn(f64) -> f64, new: impl Fn(f64) -> f64, points: usize) -> Record {
    let mean = |f: &dyn Fn(f64) -> f64, t: f64| {
        [-75.0, -25.0, 25.0, 75.0].iter().map(|by| f(t + by)).sum::<f64>() / 4.0
    };
    Record { average: 4, ..record(|t| mean(&old, t), |t| mean(&new, t), points) }
}

/// A first touch of 60 µs, then the contact stays open for 1.5 ms; a last interruption of 60 µs.
#[test]
fn a_touch_shorter_than_a_point_is_the_first_closure() {
    let touch = |t: f64| match t {
        9_010.0..9_070.0 => 0.5,
        10_500.0..11_200.0 => 0.5,
        11_260.0.. => 0.5,
        _ => 0.0,
    };
    let c = find(&averaged(drop(5_000.0), touch, 400));
    let closed = c.closed.unwrap();
    assert!((closed.first.us - 9_010.0).abs() < 160.0, "{closed:?}");
    assert!((closed.last.unwrap().us - 11_260.0).abs() < 160.0, "{closed:?}");
    assert_eq!(closed.count, 3);
    let gap = c.gap().unwrap();
    assert!((gap.value - 4.01e-3).abs() <= gap.expanded(), "{gap:?}");
}

proptest! {
    /// Edges of averaged points: a contact that chatters may have closed before the first conversion of
    /// its point, so the interval is a point and a conversion wide at most, and holds the truth.
    #[test]
    fn averaging_tells_an_edge_within_its_point(at in 1_000.0f64..20_000.0) {
        let c = find(&averaged(drop(500.0), step(at), 400));
        let first = c.closed.unwrap().first;
        let half = 3f64.sqrt() * first.budget.standard();
        prop_assert!((first.us - at).abs() <= half, "{} for {at}", first.us);
        prop_assert!(half <= 126.0);
    }

    /// Ideal edges at any instant: the truth lies within the limits of the uncertainty's rectangle
    /// (half a scan a side, with the clock's microsecond).
    #[test]
    fn the_truth_lies_within_half_a_scan(open in 1_000.0f64..20_000.0, gap in -4_000.0f64..6_000.0) {
        let close = open + gap;
        prop_assume!(close > 500.0);
        let c = find(&record(drop(open), step(close), 400));
        let found = c.gap().unwrap();
        prop_assert!((found.value - gap * 1e-6).abs() <= 201e-6);
        prop_assert!((c.closed.unwrap().first.us - close).abs() <= 101.0);
    }
}
