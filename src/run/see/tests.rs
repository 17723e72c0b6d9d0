//! Captures recorded on the simulated bench (`tests/reference/captures/make.py`), and what they
//! show. What they must show is what the bench was told to be: a sound module of the kind
//! `pier-four`, or one with a fault of the catalogue.

use super::change_over::{Side, change};
use super::current_rise::{self, current_rise};
use super::operation::OperationCapture;
use super::shown::Shown;
use super::standing::{Standing, standing, supply_in};
use super::untrusted::{Untrusted, beyond_range};
use super::witness::by_current;
use crate::judge::blame::AtClamp;
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::judge::verdict::Side as OfWindow;
use crate::measure::channel_class::ChannelClass;
use crate::measure::record::{Record, Trace};
use crate::measure::scale::{End, Ends, Scale};
use crate::procedure::commands::command;
use crate::run::order::Order;
use crate::script::plan::By;
use crate::script::shipped;
use crate::signal::target::{Clamp, Format, Position};
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, LOAD_VOLTAGE};

const NEW: Clamp = Clamp { output: 2, position: Position::B };
const OLD: Clamp = Clamp { output: 2, position: Position::A };
/// Less than half of what the jig's own loads draw (`docs/jig`: 0.5 A and more).
const LEAST_A: f64 = 0.2;
/// Value of a count here, in amperes and volts: 19 V fit, and noise still shows.
const COUNT: f64 = 6e-4;

/// How long before the trigger, the end of the last packet, the command began to go out, and when the
/// module had as many packets as it needs; in microseconds.
fn sent_us() -> (u32, u32) {
    let sheet = shipped::module_sheet("pier-four").unwrap();
    let telegram = command(&sheet, sheet.try_address, Format::Dcc, 2, Position::B).unwrap();
    let all_us = telegram.sending_us(sheet.repeat);
    (all_us, all_us - telegram.sending_us(sheet.packets_needed))
}

macro_rules! recorded {
    ($name:literal) => {
        capture(include_str!(concat!("../../../tests/reference/captures/", $name, ".csv")))
    };
}

/// A recorded capture with its positions seen.
fn capture(csv: &str) -> OperationCapture {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let channel =
        |head: &str| -> Option<u16> { head.split(' ').nth(1).and_then(|n| n.parse().ok()) };
    let channels: Vec<u16> =
        reader.headers().unwrap().iter().skip(1).map(|h| channel(h).unwrap()).collect();
    let rows: Vec<Vec<f64>> = reader
        .records()
        .map(|row| row.unwrap().iter().map(|cell| cell.parse().unwrap()).collect())
        .collect();
    let class = ChannelClass { resolution: COUNT, offset: 5e-4, ..ChannelClass::default() };
    let trace = |(at, &channel): (usize, &u16)| Trace {
        channel,
        skew_us: 0.0,
        counts: rows.iter().map(|row| (row[at + 1] / COUNT).round() as i16).collect(),
        scale: Scale { zero: 0.0, per_count: COUNT },
        ends: Ends::NONE,
        class,
    };
    let us = |s: f64| (s * 1e6).round();
    let begin_us = 1e6;
    let record = Record {
        first_us: begin_us as u64,
        interval_us: us(rows[1][0] - rows[0][0]) as u32,
        average: 4,
        trigger_us: Some((begin_us - us(rows[0][0])) as u64),
        traces: channels.iter().enumerate().map(trace).collect(),
    };
    let (began_us, needed_us) = sent_us();
    let start = rows.iter().position(|row| row[0] >= -1e-6 * f64::from(began_us)).unwrap();
    let mut capture = OperationCapture {
        standing: standing(start, 3, |clamp| by_current(&record, clamp, LEAST_A)),
        start,
        moment_us: -f64::from(needed_us),
        supply: None,
        settled_later: None,
        without_current: None,
        tripped: false,
        record,
    };
    capture.supply = supply_in(&capture.record, capture.settled().start);
    capture
}

fn shown(capture: &OperationCapture) -> Shown<'_> {
    let side = |clamp| Side { clamp, least_a: Some(LEAST_A) };
    let change = change(capture, capture.supply.unwrap(), side(OLD), side(NEW));
    let order = Order { output: 2, to: Position::B, by: By::Command };
    let rise = current_rise(capture, NEW, LEAST_A);
    Shown { order, capture, change, rise, there_by_voltage: false }
}

/// Whether a value lies within what the sheet allows.
fn is_inside(quantity: Quantity, value: f64) -> bool {
    let sheet = shipped::module_sheet("pier-four").unwrap();
    of_sheet(&sheet, quantity).side(Some(value)) == OfWindow::Inside
}

#[test]
fn a_sound_operation_shows_all_of_it() {
    let capture = recorded!("sound");
    let Standing { before, after, .. } = capture.standing;
    assert_eq!((before[1], after[1]), (Some(Position::A), Some(Position::B)));
    assert_eq!(capture.standing.stirred().collect::<Vec<_>>(), [2]);
    assert_eq!(capture.standing.moved().collect::<Vec<_>>(), [2]);
    assert_eq!((capture.at_clamp(NEW), capture.at_clamp(OLD)), (AtClamp::Full, AtClamp::Absent));
    let coil = capture.coil().expect("a coil has pulled");
    assert!(is_inside(Quantity::CoilCurrent, coil.height.value), "{coil:?}");
    let shown = shown(&capture);
    let change = shown.change.expect("loads and channels are there");
    assert!(is_inside(Quantity::Gap, change.gap().unwrap().value), "{change:?}");
    assert!(is_inside(Quantity::BounceTime, change.bounce().unwrap().value), "{change:?}");
    let response = change.response_after(capture.moment_us).unwrap();
    assert!(is_inside(Quantity::ResponseTime, response.value), "{response:?}");
    // The jig's own loads are resistors: there is nothing to be told of how their current rises.
    assert!(matches!(shown.rise, Some(Ok(_))), "{:?}", shown.rise);
    let rise = shown.rise.and_then(Result::ok).unwrap();
    let words = current_rise::in_words(&rise, capture.record.interval_us);
    assert!(!words.contains("peak"), "{words}");
}

/// The fault closes the new position 4 ms before the old one opens.
#[test]
fn an_overlap_is_a_gap_below_zero() {
    let gap = shown(&recorded!("contacts-overlap")).change.unwrap().gap().unwrap();
    assert!((gap.value + 4e-3).abs() < gap.expanded() + 4e-4, "{gap:?}");
}

#[test]
fn a_contact_that_misses_leaves_the_output_nowhere() {
    let capture = recorded!("contact-misses");
    assert_eq!(capture.standing.of(2), None);
    assert!(capture.coil().is_some(), "the armature moves all the same");
    let shown = shown(&capture);
    assert!(!shown.has_closed());
    assert_eq!(shown.why_missing(), "opened the old position but did not close the new one");
    // Nothing rises: the change-over tells it, and nothing else is to be distrusted for it.
    let why = shown.rise.unwrap().unwrap_err();
    assert_eq!(current_rise::untrusted(why), None);
}

/// 3 ohm in the lead take their share of what 22 ohm leave of the supply: more than a tenth.
#[test]
fn a_loose_lead_drops_the_voltage_at_its_clamp_alone() {
    let capture = recorded!("clamp-lead-loose");
    assert_eq!(capture.standing.of(2), Some(Position::B));
    let current = capture.settled_current(NEW).unwrap().value;
    let share = capture.voltage_share(NEW).unwrap();
    let lost_ohm = (1.0 - share) * capture.supply.unwrap().value / current;
    assert!((2.9..3.3).contains(&lost_ohm), "{lost_ohm}");
}

#[test]
fn a_neighbour_that_follows_has_moved_too() {
    let moved: Vec<u8> = recorded!("neighbour-follows").standing.moved().collect();
    assert_eq!(moved, [2, 3]);
}

/// A value at the end of its channel's range is never trusted, nor is what others make of it.
#[test]
fn a_clipped_channel_is_told() {
    let mut capture = recorded!("sound");
    let current = NEW.channel(CLAMP_CURRENT);
    let settled = capture.settled();
    let why = |capture: &OperationCapture, channel, others: &[u16]| {
        beyond_range(&capture.record, channel, others, settled.clone())
    };
    assert_eq!(why(&capture, current, &[LOAD_VOLTAGE]), None);
    let highest = capture.settled_current(NEW).unwrap().value / COUNT;
    for trace in &mut capture.record.traces {
        trace.ends = Ends { high: highest, ..Ends::NONE };
    }
    assert_eq!(why(&capture, current, &[FEED_CURRENT]), Some(Untrusted::Beyond(End::Top)));
    assert_eq!(why(&capture, FEED_CURRENT, &[current]), Some(Untrusted::PartBeyond));
    // The position that was left carried nothing by then.
    assert_eq!(why(&capture, OLD.channel(CLAMP_CURRENT), &[]), None);
}
