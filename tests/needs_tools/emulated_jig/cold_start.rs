//! The latches: set by their supervisor at power-up, and each told on its own. Nothing goes on by itself.

use super::client::Client;
use super::jig::{EmulatedJig, Event, Line};
use super::rig::{anything, feed_on, find, jig, rig};
use musterbench::jig::board::{FeedDrive, Supply};
use musterbench::jig::hand::HandAct;
use musterbench::wire::refusal::Refusal;

/// Whether the oldest error is this refusal.
fn is(error: &str, refusal: Refusal) -> bool {
    error.starts_with(&format!("{},", refusal.number()))
}

/// Nothing was on after a time.
fn assert_nothing_on(jig: EmulatedJig, after_ns: u64) {
    let (log, _) = jig.stop();
    let on: Vec<_> = log.iter().filter(|(ns, event)| *ns >= after_ns && anything(event)).collect();
    assert!(on.is_empty(), "{on:?}");
}

/// The supervisor holds the latches for 240 ms: boot waits for them.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn boot_waits_for_its_latches() {
    let (jig, mut client) = rig();
    assert!(jig.now_ns() > 240_000_000, "it has answered before");
    assert_eq!(client.ask("OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?;*TST?"), "0;0;0");
    client.say("OUTP2 ON");
    client.ask_until("OUTP2?;:SYST:ERR?", "1;0,\"No error\"");
    jig.wait_for(|_, event| *event == Event::Loads(true));
}

/// One that never lets go: the self-test tells, both supplies are tripped, and stay so.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn latches_that_stay_set_are_told() {
    let jig = jig(&[], Line::Uart);
    jig.hold_latches(true);
    let mut client = Client::open(jig.path());
    assert_eq!(client.ask("OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?;*TST?"), "1;1;6");
    for (supply, refusal) in [("OUTP1", Refusal::FeedTripped), ("OUTP2", Refusal::LoadsTripped)] {
        client.say(&format!("{supply}:PROT:CLE;:{supply} ON"));
        assert!(is(&client.ask("SYST:ERR?"), refusal), "{supply}");
        client.ask_until(&format!("{supply}:PROT:TRIP?;:{supply}?"), "1;0");
    }
    // Let go of, they are cleared by hand.
    jig.hold_latches(false);
    jig.wait_ms(20);
    client.say("OUTP2:PROT:CLE;:OUTP1:PROT:CLE");
    client.ask_until("OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?", "0;0");
    assert_nothing_on(jig, 0);
}

/// The loads short while the feed is tripped: both are told, and the feed's clear brings nothing back.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_short_of_the_loads_behind_a_tripped_feed() {
    let (jig, mut client) = rig();
    feed_on(&mut client);
    jig.hand(HandAct::Reference { channel: 2, milliohm: 300 });
    jig.wait_for(|_, event| *event == Event::CutOff(Supply::Feed));
    client.ask_until("OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?", "1;0");
    jig.hand(HandAct::Reference { channel: 2, milliohm: 0 });
    client.say("ROUT:CLOS (@301,311);:OUTP2 ON");
    jig.wait_for(|_, event| *event == Event::Loads(true));
    jig.hand(HandAct::Reference { channel: 101, milliohm: 500 });
    let short_ns = jig.wait_for(|_, event| *event == Event::CutOff(Supply::Loads));
    client.ask_until("OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?;:OUTP2?", "1;1;0");
    jig.hand(HandAct::Reference { channel: 101, milliohm: 0 });
    client.say("OUTP1:PROT:CLE");
    client.ask_until("OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?;:OUTP2?", "0;1;0");
    jig.wait_ms(50);
    client.say("OUTP2 ON");
    assert!(is(&client.ask("SYST:ERR?"), Refusal::LoadsTripped));
    let (log, _) = jig.stop();
    let back = log.iter().find(|(ns, event)| *ns > short_ns && *event == Event::Loads(true));
    assert_eq!(back, None, "it goes on by itself");
}

/// The analogue supply drops out for a moment while everything is on: off means off until asked, and the
/// feed comes back by its soft start.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_supply_that_drops_out_stays_off() {
    let (jig, mut client) = rig();
    feed_on(&mut client);
    client.say("ROUT:CLOS (@301);:OUTP2 ON");
    jig.wait_for(|_, event| *event == Event::Loads(true));
    jig.set_analogue(false);
    let out_ns = jig.wait_for(|_, event| *event == Event::Hand);
    jig.wait_ms(3);
    jig.set_analogue(true);
    client.ask_until("OUTP1?;:OUTP2?;:OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?", "0;0;1;1");
    jig.wait_ms(50);
    client.say("OUTP1 ON");
    assert!(is(&client.ask("SYST:ERR?"), Refusal::FeedTripped));
    let asked_ns = jig.now_ns();
    client.say("OUTP1:PROT:CLE;:OUTP2:PROT:CLE");
    feed_on(&mut client);
    let (log, _) = jig.stop();
    let later: Vec<_> = log.into_iter().filter(|(ns, _)| *ns > out_ns).collect();
    let drive = |event: &Event| matches!(event, Event::Feed(FeedDrive::Limited | FeedDrive::Full));
    let on_ns = find(&later, drive);
    assert!(on_ns > asked_ns, "the feed is back after {} ns", on_ns - out_ns);
    assert_eq!(find(&later, |e| *e == Event::Feed(FeedDrive::Limited)), on_ns, "not softly");
    assert!(!later.iter().any(|(_, event)| *event == Event::Loads(true)));
}
