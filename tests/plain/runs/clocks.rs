//! A jig whose own clock goes wrong is noticed: no time that it measures can be trusted.

use crate::kit::bench::{ARRIVAL, PIER, plan, setup, sheet};
use crate::kit::unattended::unattended;
use core::time::Duration;
use musterbench::jig::board::{Board, Identity};
use musterbench::link::client::Jig;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::link::transport::{Transport, TransportError};
use musterbench::run::event::Ending;
use musterbench::run::unattended::Readings;
use musterbench::script::actions::Action;
use musterbench::simulated_bench::SimulatedBoard;

/// A simulated board that says that it is none.
struct Real {
    board: SimulatedBoard,
}

impl Board for Real {
    pass_on! { board: now_us, channels, set_feed, set_inverted, set_soft_start_limit, set_load_supply, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch, sample, start_scans, next_scan, stop_scans, self_test, hand }
    fn identity(&self) -> Identity<'_> {
        Identity { model: "jig", serial: "7", firmware: "0.1.0" }
    }
}

pass_on! { jumping board of Real }

/// A line on whose near end time goes by otherwise than the jig's clock says.
struct Apart<F> {
    inner: SimulatedTransport<Real>,
    true_s: F,
}

impl<F: Fn(f64) -> f64> Transport for Apart<F> {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        self.inner.send(bytes)
    }
    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        self.inner.receive(into, timeout)
    }
    fn now(&self) -> Duration {
        Duration::from_secs_f64((self.true_s)(self.inner.now().as_secs_f64()))
    }
    fn pause(&mut self, time: Duration) {
        self.inner.pause(time);
    }
    fn time_of_day(&self) -> jiff::ZonedDateTime {
        self.inner.time_of_day()
    }
}

/// How a run ends when so much time goes by in truth for what the jig's clock shows.
fn ends(true_s: impl Fn(f64) -> f64 + 'static) -> Ending {
    let board = Real { board: SimulatedBoard::new(setup(&sheet(PIER), &[], 1)) };
    let line = Apart { inner: SimulatedTransport::over(board), true_s };
    let mut jig = Jig::open(Box::new(line)).expect("open");
    let mut readings = Readings::default();
    let mut plan = plan(PIER, ARRIVAL, None);
    plan.steps.retain(|step| !matches!(step.action, Action::Ask(_)));
    unattended(&plan, &mut jig, &mut readings).ending
}

#[test]
fn a_clock_that_goes_wrong_or_jumps_ends_the_run() {
    assert!(!matches!(ends(|s| s), Ending::BenchTrouble(_)));
    for (by, true_s) in [
        ("-", Box::new(|s| s / 0.98) as Box<dyn Fn(f64) -> f64>),
        ("+", Box::new(|s| s / 1.02)),
        ("+3.00 s", Box::new(|s| if s > 20.0 { s - 3.0 } else { s })),
        ("-3.00 s", Box::new(|s| if s > 20.0 { s + 3.0 } else { s })),
    ] {
        let Ending::BenchTrouble(why) = ends(true_s) else { panic!("{by}: not noticed") };
        assert!(why.starts_with(&format!("the jig's clock goes wrong: {by}")), "{by}: {why}");
    }
}
