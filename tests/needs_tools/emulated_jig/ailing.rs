//! A firmware that ails: what the hardware turns off, the watchdog's new start, and what the host hears.

use super::jig::{Ail, Event, Line};
use super::operator;
use super::rig::{all_on, anything, assert_all_off, jig, rig};

/// How long the hardware keeps the feed alive without pump pulses, and how long the pumps go on
/// without the main loop.
const PUMP_HOLD_NS: u64 = 5_000_000;
const FUEL_NS: u64 = 20_000_000;
/// The watchdog, and what the firmware takes to boot.
const RESTART_MS: u64 = 700;

/// Everything on, then the firmware ails: everything is off so soon. The watchdog starts it anew, it
/// tells that, and everything stays off.
fn ails(ail: Ail, within_ns: u64) {
    let (jig, mut client) = rig();
    all_on(&jig, &mut client);
    client.ask("*ESR?");
    jig.ail(ail);
    let ailed_ns = jig.wait_for(|_, event| *event == Event::Hand);
    jig.wait_ms(RESTART_MS);
    assert_eq!(client.ask("*ESR?"), "128", "it has been switched on");
    assert_eq!(client.ask("OUTP1?;:OUTP2?;:ROUT:CLOS? (@201,321)"), "0;0;0,0");
    let (log, told) = jig.stop();
    assert_all_off(&format!("{ail:?}"), &log, ailed_ns, within_ns);
    assert!(told.contains(" 1 resets"), "{told}");
}

#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_panic_turns_everything_off() {
    ails(Ail::Panic, PUMP_HOLD_NS);
}

#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_fault_turns_everything_off() {
    ails(Ail::Fault, PUMP_HOLD_NS);
}

/// There is no data below the stack that it could change: it is a fault in a fault, which locks the
/// processor up.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_stack_that_overflows_turns_everything_off() {
    ails(Ail::StackOverflow, PUMP_HOLD_NS + 1_000_000);
}

#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_main_loop_that_hangs_turns_everything_off() {
    ails(Ail::Hang, FUEL_NS + PUMP_HOLD_NS + 1_000_000);
}

#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_processor_that_hangs_turns_everything_off() {
    ails(Ail::HangDead, PUMP_HOLD_NS + 1_000_000);
}

/// A jig that starts anew in the middle of a run knows nothing of it: the run ends in bench trouble,
/// with a sentence, and everything is off.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_restart_ends_the_run_in_bench_trouble() {
    let jig = jig(&[], Line::Uart);
    let stays_on = operator::stays_on(&jig);
    jig.ail(Ail::Hang);
    let ailed_ns = jig.wait_for(|_, event| *event == Event::Hand);
    let output = stays_on.program.wait_with_output().expect("it ended");
    let (log, told) = jig.stop();
    let said = String::from_utf8_lossy(&output.stdout);
    println!("{told}\n{said}");
    assert_eq!(output.status.code(), Some(4), "{said}");
    assert!(said.contains("it was reset"), "{said}");
    let on = log.iter().rfind(|(_, event)| anything(event)).expect("it was on").0;
    assert!(on <= ailed_ns, "something goes on {} ns after the restart", on - ailed_ns);
}
