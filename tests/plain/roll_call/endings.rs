//! However a roll-call ends, nothing is left on.

use crate::kit::noting::{Noting, Told};
use crate::kit::roll_call::{bench, sheet, usual};
use core::cell::RefCell;
use musterbench::link::client::Jig;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::roll_call::answer::{Short, Silence};
use musterbench::roll_call::{RollCallError, Stage, call_the_roll};
use musterbench::signal::target::Format;
use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};

type Roll = Result<musterbench::roll_call::answer::RollCall, RollCallError>;

/// A roll-call that is stopped once it says these words.
fn call(first: u16, faults: &[(&str, f64)], stop_at: &str) -> (Roll, Rc<RefCell<Told>>) {
    let sheet = sheet("pier-four");
    let (board, told) = Noting::new(bench(&sheet, (first, Format::Dcc), faults, 1));
    let mut jig = Jig::open(Box::new(SimulatedTransport::over(board))).unwrap();
    let stop = AtomicBool::new(false);
    let mut tell = |stage: &Stage<'_>| {
        assert!(stage.sent <= stage.most);
        if !stop_at.is_empty() && stage.words.contains(stop_at) {
            stop.store(true, Ordering::Relaxed);
        }
    };
    let roll = call_the_roll(&mut jig, &usual(&sheet), &stop, &mut tell);
    // Before the jig is let go, which would turn everything off too.
    assert!(told.borrow().is_safe(), "{:?}", told.borrow());
    jig.close();
    (roll, told)
}

#[test]
fn it_stops_wherever_it_is_told_to() {
    for (first, words) in [
        (181, "hook-up"),
        (181, "feed on"),
        (181, "expected"),
        (401, "likely"),
        (401, "listening"),
        (401, "every address"),
        (401, "which address"),
    ] {
        let (roll, _) = call(first, &[], words);
        assert!(matches!(roll, Err(RollCallError::Stopped)), "{words}: {roll:?}");
    }
}

#[test]
fn it_ends_safe_when_it_is_through() {
    let (roll, told) = call(401, &[], "");
    assert!(roll.is_ok());
    assert!(told.borrow().feed.is_some());
}

/// A short that the hook-up check takes for sound trips the soft start.
#[test]
fn a_trip_ends_it_with_its_reason() {
    let (roll, _) = call(181, &[("rectifier-shorted", 205.0), ("high-idle-current", 0.5)], "");
    let silence = roll.unwrap().silence;
    assert!(matches!(silence, Some(Silence::Shorted { what: Short::Tripped, .. })), "{silence:?}");
}

#[test]
fn an_address_that_is_none_is_no_question() {
    let sheet = sheet("pier-four");
    let setup = bench(&sheet, (181, Format::Dcc), &[], 1);
    let mut jig = Jig::open(Box::new(SimulatedTransport::new(setup))).unwrap();
    for address in [0, 2041, u16::MAX] {
        let question = musterbench::roll_call::Question { address, ..usual(&sheet) };
        let roll = call_the_roll(&mut jig, &question, &AtomicBool::new(false), &mut |_| {});
        assert!(matches!(roll, Err(RollCallError::BadQuestion(_))));
    }
}
