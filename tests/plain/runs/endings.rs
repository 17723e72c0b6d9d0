//! Runs that end before their script does.

use crate::kit::bench::{PIER, arrival, plan, setup, sheet};
use core::time::Duration;
use musterbench::judge::reading::{Quantity, Verdict};
use musterbench::link::client::Jig;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::link::transport::{Transport, TransportError};
use musterbench::run::event::{Ending, Event, ListenError, Listener, Outcome};
use musterbench::run::unattended::Nobody;
use musterbench::run::{Options, Rules, carry_out};
use std::sync::atomic::{AtomicBool, Ordering};

const SCRIPT: &str = r#"
title = "A short one"
steps = [
  { ask = "prepare", auxiliary = "off" },
  { measure = "hook-up" },
  { loads = "jig" },
  { feed = "on" },
  { send = "a" },
  { operate = ["b", "a"], outputs = [1, 2] },
  { loads = "off" },
  { feed = "off" },
]
"#;

/// Counts what it is told, and may stop the run or fail at the first reading of a quantity.
#[derive(Default)]
struct Watcher<'a> {
    read: usize,
    ended: Option<Outcome>,
    at: Option<Quantity>,
    stop: Option<&'a AtomicBool>,
    fails: bool,
}

impl Listener for Watcher<'_> {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        match event {
            Event::Read(reading) => {
                self.read += 1;
                if Some(reading.quantity) == self.at {
                    if let Some(stop) = self.stop {
                        stop.store(true, Ordering::Relaxed);
                    }
                    if self.fails {
                        return Err(ListenError::Lost("the disk is full".into()));
                    }
                }
            }
            Event::Ended(outcome) => self.ended = Some((*outcome).clone()),
            _ => {}
        }
        Ok(())
    }
}

fn jig() -> Jig {
    Jig::open(Box::new(SimulatedTransport::new(setup(&sheet(PIER), &[], 1)))).unwrap()
}

fn go(jig: &mut Jig, stop: &AtomicBool, watcher: &mut Watcher<'_>) -> Outcome {
    let plan = plan(PIER, SCRIPT, None);
    let options = Options { unattended: true, ..Options::default() };
    carry_out(&plan, jig, &mut Nobody, &mut Rules, &options, stop, &mut [watcher])
}

fn is_off(jig: &mut Jig) {
    assert_eq!(jig.ask("OUTP1?;:OUTP2?;:ROUT:CLOS? (@311:318,321:328)").unwrap(), {
        format!("0;0;{}", vec!["0"; 16].join(","))
    });
}

#[test]
fn a_stop_keeps_what_was_read_and_turns_the_feed_off() {
    let (mut jig, stop) = (jig(), AtomicBool::new(false));
    let mut watcher = Watcher { at: Some(Quantity::Gap), stop: Some(&stop), ..Watcher::default() };
    let outcome = go(&mut jig, &stop, &mut watcher);
    assert_eq!(
        (outcome.ending.clone(), outcome.verdict),
        (Ending::Stopped, Verdict::Indeterminate)
    );
    assert_eq!(watcher.read, outcome.readings);
    assert!(outcome.readings > 3);
    assert_eq!(watcher.ended, Some(outcome));
    is_off(&mut jig);
}

#[test]
fn a_listener_that_cannot_go_on_ends_the_run_with_its_own_sentence() {
    let (mut jig, stop) = (jig(), AtomicBool::new(false));
    let mut watcher = Watcher { at: Some(Quantity::Gap), fails: true, ..Watcher::default() };
    let outcome = go(&mut jig, &stop, &mut watcher);
    assert_eq!(outcome.ending, Ending::BenchTrouble("the disk is full".into()));
    assert_eq!(outcome.verdict, Verdict::Indeterminate);
    assert!(watcher.ended.is_some());
    is_off(&mut jig);
}

#[test]
fn an_operator_who_does_not_want_to_stops_the_run_before_the_feed_is_on() {
    let (mut jig, stop) = (jig(), AtomicBool::new(false));
    let plan = plan(PIER, SCRIPT, None);
    let mut watcher = Watcher::default();
    let options = Options { unattended: false, ..Options::default() };
    let outcome =
        carry_out(&plan, &mut jig, &mut Nobody, &mut Rules, &options, &stop, &mut [&mut watcher]);
    assert_eq!((outcome.ending, watcher.read), (Ending::Stopped, 0));
    is_off(&mut jig);
}

/// A transport whose device goes away after so many bytes sent.
struct Unplugged {
    inner: SimulatedTransport,
    left: usize,
}

impl Unplugged {
    fn gone(&self) -> TransportError {
        TransportError::Gone { port: "simulated".into(), reason: "unplugged".into() }
    }
}

impl Transport for Unplugged {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        self.left = self.left.saturating_sub(bytes.len());
        if self.left == 0 { Err(self.gone()) } else { self.inner.send(bytes) }
    }

    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        if self.left == 0 { Err(self.gone()) } else { self.inner.receive(into, timeout) }
    }

    fn now(&self) -> Duration {
        self.inner.now()
    }

    fn pause(&mut self, time: Duration) {
        self.inner.pause(time);
    }

    fn time_of_day(&self) -> jiff::ZonedDateTime {
        self.inner.time_of_day()
    }
}

#[test]
fn a_device_that_goes_away_is_bench_trouble_and_what_was_read_is_told() {
    for left in [3_000, 6_000, 9_000] {
        let inner = SimulatedTransport::new(setup(&sheet(PIER), &[], 1));
        let mut jig = Jig::open(Box::new(Unplugged { inner, left })).unwrap();
        let (stop, mut watcher) = (AtomicBool::new(false), Watcher::default());
        let outcome = go(&mut jig, &stop, &mut watcher);
        let Ending::BenchTrouble(sentence) = &outcome.ending else { panic!("{outcome:?}") };
        assert!(sentence.contains("unplugged"), "{sentence}");
        // Nobody could tell the jig to turn the feed off.
        assert!(sentence.contains("could not be turned off"), "{sentence}");
        assert_ne!(outcome.verdict, Verdict::Pass);
        assert_eq!(watcher.read, outcome.readings);
        assert!(watcher.ended.is_some());
    }
}

#[test]
fn a_short_before_power_ends_the_run_before_power() {
    let run = arrival(PIER, &[("rectifier-shorted", None)], 1);
    assert!(matches!(run.outcome.ending, Ending::EndedEarly(_)), "{}", run.text());
    assert_eq!(run.outcome.verdict, Verdict::Fail);
    let quantities: Vec<Quantity> = run.readings.iter().map(|r| r.quantity).collect();
    let hook_up = [Quantity::FeedResistance, Quantity::FeedToCommons, Quantity::CommonToCommon];
    assert_eq!(quantities, hook_up, "{}", run.text());
    assert!(run.seconds < 1.0, "{} s", run.seconds);
}
