//! The USB port of the firmware.

use crate::client::Client;
use crate::jig::{EmulatedJig, Event, Line};
use crate::rig::{anything, feed_on};
use crate::tools;
use musterbench::cli::simulated;
use musterbench::script::shipped;

/// A program that closes the port, or is killed, leaves everything off at once; the next one is
/// answered.
#[test]
fn closing_the_usb_port_turns_everything_off() {
    const AT_ONCE_NS: u64 = 10_000_000;
    let Some(firmware) = tools::firmware() else { return };
    let sheet = shipped::module_sheet("pier-four").expect("shipped");
    let setup = simulated::setup(&sheet, None, Vec::new(), 7);
    let jig = EmulatedJig::start_on(firmware, setup, Line::Usb);
    let mut client = Client::open(jig.path());
    feed_on(&mut client);
    client.say("ROUT:CLOS (@201,321:328);:OUTP2 ON");
    client.ask_until("OUTP2?", "1");
    drop(client);
    let closed_ns = jig.wait_for(|_, event| *event == Event::Closed);
    jig.wait_ms(100);
    let mut next = Client::open(jig.path());
    assert_eq!(next.ask("OUTP1?;:OUTP2?;:ROUT:CLOS? (@201)"), "0;0;0");
    let (log, told) = jig.stop();
    println!("{told}");
    let on = log.iter().rfind(|(_, event)| anything(event)).expect("it was on").0;
    println!("last thing off {:.1} ms after closing", (on.max(closed_ns) - closed_ns) as f64 / 1e6);
    assert!(on <= closed_ns + AT_ONCE_NS, "still something on after {} ns", on - closed_ns);
}
