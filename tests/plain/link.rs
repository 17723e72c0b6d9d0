//! The host's end and the jig's brain, face to face.

use crate::kit::noting::{Noting, setup};
use core::time::Duration;
use musterbench::jig::board::FeedDrive;
use musterbench::link::capture::{CaptureSetup, Trigger};
use musterbench::link::client::Jig;
use musterbench::link::error::LinkError;
use musterbench::link::pace::Pace;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::link::transport::Transport;
use musterbench::signal::dcc::Numbering;
use musterbench::signal::target::{Format, Position};
use musterbench::signal::telegram;
use musterbench::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, JIG_LOAD};
use musterbench::wire::preamble::State;
use std::sync::atomic::AtomicBool;

static GO_ON: AtomicBool = AtomicBool::new(false);

fn open(pace: Option<Pace>) -> Jig {
    let bench = SimulatedTransport::new(setup(1));
    let bench = match pace {
        Some(pace) => bench.at(pace),
        None => bench,
    };
    Jig::open(Box::new(bench)).expect("a jig")
}

#[test]
fn a_bench_says_who_it_is_and_what_it_has() {
    let jig = open(None);
    assert!(jig.identity().simulated);
    assert_eq!(jig.identity().serial, "SIM-1");
    assert!(jig.channel(FEED_CURRENT).is_some());
    assert!(jig.channels().len() > 40);
    assert_eq!(jig.traffic().repeats, 0);
    assert!(jig.time_of_day().to_string().starts_with("2026-01-05T09:00:00"));
}

/// What somebody did before must not judge the next module: neither settings nor a trip are left.
#[test]
fn nothing_is_left_of_an_earlier_user() {
    let mut bench = SimulatedTransport::new(setup(1));
    // With the auxiliary supply on, the module draws more than this soft start allows: a trip.
    for line in [":SYST:SIL 60;:SOUR1:CURR:LIM 0.05;:DIAG:HAND:AUX 1", ":OUTP1 ON"] {
        bench.send(format!("{line}\n").as_bytes()).unwrap();
        bench.pause(Duration::from_secs(2));
    }
    bench.send(b":OUTP1:PROT:TRIP?;:SYST:SIL?;:DIAG:HAND:AUX 0\n").unwrap();
    let mut said = [0; 100];
    let length = bench.receive(&mut said, Duration::from_secs(1)).unwrap();
    assert_eq!(said[..length].escape_ascii().to_string(), "1;6.0E+1\\n");

    let mut jig = Jig::open(Box::new(bench)).expect("a jig");
    assert!(!jig.trips().unwrap().any());
    assert_eq!(jig.ask("SOUR1:CURR:LIM?;:SYST:SIL?").unwrap(), "2.5E-1;5.0E+0");
    jig.send("OUTP1 ON").unwrap();
    let started = jig.clock_us().unwrap() + 2_000_000;
    jig.wait_until_us(started, &GO_ON).unwrap();
    let charge = jig.ask("OUTP1:CHAR?").unwrap();
    assert_eq!(charge.split(',').nth(2), Some("1"), "the soft start is done: {charge}");
}

/// Moves output 1 to `b` and captures it.
fn move_and_fetch(jig: &mut Jig) -> musterbench::link::capture::Captured {
    jig.send("OUTP1 ON").unwrap();
    let booted = jig.clock_us().unwrap() + 1_000_000;
    jig.wait_until_us(booted, &GO_ON).unwrap();
    let to = |position| telegram::command(Format::Dcc, Numbering::Rcn213, 1, position, 0).unwrap();
    let to_b = to(Position::B);
    // It may stand at either, as it comes.
    jig.command(&to(Position::A), 2).unwrap();
    let settled = jig.clock_us().unwrap() + 300_000;
    jig.wait_until_us(settled, &GO_ON).unwrap();
    let loads = format!("ROUT:CLOS (@{},{});:OUTP2 ON", JIG_LOAD, JIG_LOAD + 1);
    jig.send(loads.as_str()).unwrap();
    let setup = CaptureSetup {
        scan: vec![CLAMP_CURRENT, CLAMP_CURRENT + 1, FEED_CURRENT],
        interval_us: 200,
        points: 1000,
        pre_trigger: 100,
        average: 1,
        trigger: Trigger::Sent,
    };
    jig.capture(1, &setup).unwrap();
    assert_eq!(jig.capture_state(1).unwrap().state, State::Armed);
    assert!(matches!(jig.fetch(1), Err(LinkError::Unfinished { unit: 1 })));
    let before = jig.clock_us().unwrap();
    jig.wait_until_us(before + 25_000, &GO_ON).unwrap();
    jig.command(&to_b, 2).unwrap();
    jig.wait_until_us(before + 300_000, &GO_ON).unwrap();
    let sent = jig.sent().unwrap();
    assert!(before < sent.first_end_us && sent.first_end_us < sent.second_end_us);
    assert_eq!(sent.second_end_us, sent.last_end_us);
    let captured = jig.fetch(1).unwrap();
    assert_eq!(captured.preamble.state, State::Done);
    assert_eq!(captured.preamble.trigger_us, sent.last_end_us);
    captured
}

#[test]
fn an_output_moves_and_its_current_is_fetched() {
    let mut jig = open(None);
    let captured = move_and_fetch(&mut jig);
    assert_eq!(captured.counts.len(), 3000);
    let value = |column: usize, point: usize| {
        let about = &captured.preamble.columns[column];
        about.offset + about.scale * f64::from(captured.counts[point * 3 + column])
    };
    // The jig loads carry half an ampere and more; before the command at a, after it at b.
    assert!(value(0, 0) > 0.4 && value(1, 0) < 0.1, "{} {}", value(0, 0), value(1, 0));
    assert!(value(0, 999) < 0.1 && value(1, 999) > 0.4, "{} {}", value(0, 999), value(1, 999));
    jig.close();
}

#[test]
fn the_line_s_speed_changes_the_time_and_nothing_else() {
    let mut at_once = open(None);
    let (mut usb, mut uart) = (open(Some(Pace::USB)), open(Some(Pace::UART)));
    assert!(at_once.now() < usb.now() && usb.now() < uart.now());
    let counts = [&mut at_once, &mut usb, &mut uart].map(|jig| {
        let begin = jig.now();
        let captured = move_and_fetch(jig);
        assert_eq!(jig.traffic().repeats, 0);
        (captured.counts.len(), jig.now() - begin)
    });
    assert!(counts.iter().all(|(length, _)| *length == 3000));
    // 6,000 bytes of samples take half a second at 11,520 bytes a second.
    assert!(counts[2].1 > counts[0].1 + Duration::from_millis(500));
    assert!(counts[1].1 < counts[0].1 + Duration::from_millis(100), "{counts:?}");
}

#[test]
fn refusals_come_with_number_text_and_units() {
    let mut jig = open(None);
    match jig.send("ROUT:CLOS (@999)") {
        Err(LinkError::Refused { units, number, .. }) => {
            assert_eq!((units.as_str(), number), ("ROUT:CLOS (@999)", -222));
        }
        other => panic!("{other:?}"),
    }
    match jig.ask("FOO:BAR?") {
        Err(LinkError::Refused { number, .. }) => assert_eq!(number, -113),
        other => panic!("{other:?}"),
    }
    assert_eq!(jig.ask("SYST:ERR:COUN?").unwrap(), "0", "the queue has been read");
}

#[test]
fn waiting_longer_than_the_silence_limit_keeps_the_feed_on() {
    let mut jig = open(None);
    jig.send("OUTP1 ON").unwrap();
    let begin = jig.clock_us().unwrap();
    jig.wait_until_us(begin + 20_000_000, &GO_ON).unwrap();
    let now = jig.clock_us().unwrap();
    assert!((begin + 20_000_000..begin + 20_010_000).contains(&now), "{}", now - begin);
    assert_eq!(jig.ask("OUTP1?").unwrap(), "1");
    assert!(!jig.trips().unwrap().any());
}

#[test]
fn a_wait_ends_early_when_it_shall_stop() {
    let mut jig = open(None);
    let begin = jig.clock_us().unwrap();
    jig.wait_until_us(begin + 20_000_000, &AtomicBool::new(true)).unwrap();
    assert_eq!(jig.clock_us().unwrap(), begin);
}

#[test]
fn whoever_lets_go_of_a_jig_leaves_its_feed_off() {
    let (board, told) = Noting::new(setup(1));
    let mut jig = Jig::open(Box::new(SimulatedTransport::over(board))).unwrap();
    jig.send("OUTP1 ON").unwrap();
    assert_ne!(told.borrow().feed, Some(FeedDrive::Off));
    drop(jig);
    assert_eq!(told.borrow().feed, Some(FeedDrive::Off));
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let run = || {
        let mut jig = open(None);
        let captured = move_and_fetch(&mut jig);
        (captured, jig.traffic(), jig.time_of_day())
    };
    assert_eq!(run(), run());
}
