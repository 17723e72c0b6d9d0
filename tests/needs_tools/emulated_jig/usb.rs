//! The USB port of the firmware. That anything is answered over it shows that the host's driver has it
//! configured (USB 2.0, 9.1.1.5): the firmware listens to no other port.

use super::client::Client;
use super::jig::{Event, Line};
use super::rig::{all_on, assert_all_off, rig_on};

/// How soon everything is off.
const AT_ONCE_NS: u64 = 10_000_000;

/// A program that closes the port, or is killed, leaves everything off at once; the next one is
/// answered.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn closing_the_usb_port_turns_everything_off() {
    let (jig, mut client) = rig_on(Line::Usb);
    all_on(&jig, &mut client);
    drop(client);
    let closed_ns = jig.wait_for(|_, event| *event == Event::Closed);
    jig.wait_ms(100);
    let mut next = Client::open(jig.path());
    assert_eq!(next.ask("OUTP1?;:OUTP2?;:ROUT:CLOS? (@201)"), "0;0;0");
    let (log, _) = jig.stop();
    assert_all_off("port closed", &log, closed_ns, AT_ONCE_NS);
}

/// A cable that is pulled is a bus that has been idle for 3 ms (USB 2.0, 7.1.7.6). Put back, the jig is
/// found again, everything off.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn pulling_the_cable_turns_everything_off() {
    let (jig, mut client) = rig_on(Line::Usb);
    all_on(&jig, &mut client);
    jig.set_cable(false);
    let pulled_ns = jig.wait_for(|_, event| *event == Event::Hand);
    jig.wait_ms(100);
    jig.set_cable(true);
    jig.wait_ms(100);
    assert_eq!(client.ask("OUTP1?;:OUTP2?;:ROUT:CLOS? (@201)"), "0;0;0");
    let (log, _) = jig.stop();
    assert_all_off("cable pulled", &log, pulled_ns, AT_ONCE_NS);
}
