//! The link on a bad line: whatever becomes of the bytes, each command is carried out at most once,
//! in order, and no answer is taken for another's.

use crate::kit::bad_line::{BadLine, Badness};
use crate::kit::noting::{Noting, Told, setup};
use core::cell::RefCell;
use musterbench::link::capture::{CaptureSetup, Trigger};
use musterbench::link::client::Jig;
use musterbench::link::error::LinkError;
use musterbench::link::pace::Pace;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::wire::channel::{CONTACT_CLOSER, FEED_CURRENT, LOAD_TOTAL};
use std::rc::Rc;
use std::sync::atomic::AtomicBool;

/// Commands of one session.
const COMMANDS: u16 = 200;

/// A session that was opened while the line was good; then it turns bad.
fn open(rate: f64, seed: u64) -> (Jig, Rc<RefCell<Told>>) {
    let (board, told) = Noting::new(setup(1));
    let bench = SimulatedTransport::over(board).at(Pace::UART);
    let line = BadLine::new(bench, Badness::at(0.0), seed);
    let badness = line.badness();
    let jig = Jig::open(Box::new(line)).expect("a jig on a good line");
    badness.set(Badness::at(rate));
    (jig, told)
}

/// The contact that command `n` closes: all eight, in an order that shows what is missing.
fn contact(n: u16) -> u16 {
    CONTACT_CLOSER + (n * 5 + n / 8) % 8
}

/// Sends the commands and checks what the board was told. Returns how many got through, and how
/// many lines had to be sent again.
fn session(rate: f64, seed: u64) -> (u16, u64) {
    let (mut jig, told) = open(rate, seed);
    let mut answered = 0;
    for n in 0..COMMANDS {
        let channel = contact(n);
        // Two units, so that a line that is carried out by half would show, and an answer that
        // belongs to this command and to no other.
        let units = format!("CONT:CLOS 1E-3,(@{channel});:STAT:OPER:ENAB {n};ENAB?");
        match jig.ask(units.as_str()) {
            Ok(answer) => assert_eq!(answer, n.to_string()),
            Err(_) => break,
        }
        answered += 1;
    }
    let repeats = jig.traffic().repeats;
    drop(jig);
    let closed = told.borrow().closures();
    let expected: Vec<u16> = (0..COMMANDS).map(contact).collect();
    // The last command of a session that failed may or may not have been carried out.
    assert!(closed.len() == answered as usize || closed.len() == answered as usize + 1);
    assert_eq!(closed[..], expected[..closed.len()], "rate {rate}, seed {seed}");
    (answered, repeats)
}

#[test]
fn each_command_is_carried_out_once_and_in_order() {
    println!("byte error rate   whole sessions   lines sent again a session");
    for (rate, least) in [(0.0, 40), (1e-5, 40), (1e-4, 40), (1e-3, 38), (1e-2, 0), (5e-2, 0)] {
        let sessions: Vec<(u16, u64)> = (0..40).map(|seed| session(rate, seed)).collect();
        let whole = sessions.iter().filter(|(answered, _)| *answered == COMMANDS).count();
        let repeats = sessions.iter().map(|(_, repeats)| repeats).sum::<u64>() as f64 / 40.0;
        println!("{rate:<15e}   {whole:>3} of 40        {repeats:.1}");
        assert!(whole >= least, "{whole} of 40 at {rate}");
    }
}

#[test]
fn a_jig_is_recognised_on_a_bad_line() {
    for (rate, least) in [(1e-5, 40), (1e-4, 40), (1e-3, 36)] {
        let opened = (0..40).filter(|&seed| {
            let bench = SimulatedTransport::new(setup(1)).at(Pace::UART);
            let line = BadLine::new(bench, Badness::at(rate), seed);
            match Jig::open(Box::new(line)) {
                // Whatever the line did, this is the serial number.
                Ok(jig) => jig.identity().serial == "SIM-1" && jig.identity().simulated,
                Err(_) => false,
            }
        });
        let opened = opened.count();
        println!("byte error rate {rate:e}: {opened} of 40 sessions opened");
        assert!(opened >= least, "{opened} of 40 at {rate}");
    }
}

#[test]
fn samples_come_whole_over_a_bad_line() {
    for rate in [1e-4, 1e-3, 3e-3] {
        let fetched: Vec<_> = (0..6)
            .map(|seed| {
                let (mut jig, _) = open(rate, seed);
                let setup = CaptureSetup {
                    scan: vec![FEED_CURRENT, LOAD_TOTAL],
                    interval_us: 200,
                    points: 4000,
                    pre_trigger: 0,
                    average: 1,
                    trigger: Trigger::Immediate,
                };
                jig.capture(1, &setup)?;
                let end = jig.clock_us()? + 900_000;
                jig.wait_until_us(end, &AtomicBool::new(false))?;
                let captured = jig.fetch(1)?;
                assert_eq!(captured.counts.len(), 8000);
                Ok::<_, LinkError>(jig.traffic())
            })
            .collect();
        let whole = fetched.iter().filter(|f| f.is_ok()).count();
        println!(
            "byte error rate {rate:e}: {whole} of 6 fetched; {:?}",
            fetched.iter().flatten().next()
        );
        assert!(rate > 2e-3 || whole == 6);
    }
}
