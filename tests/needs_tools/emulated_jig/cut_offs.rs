//! Shorts, which the hardware cuts off, and overloads, which the firmware turns off.

use super::jig::Event;
use super::rig::{feed_on, find, off_after, rig};
use musterbench::jig::board::Supply;
use musterbench::jig::hand::HandAct;

/// The hardware's cut-off.
const CUT_OFF_NS: u64 = 50_000;

/// What a short does: the hardware acts, the firmware tells.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_short_is_cut_off_in_hardware() {
    // A short that the soft start does not see comes when the reservoir is full: here a module
    // whose feed is shorted so hard that only the full feed shows it would never start. So the
    // hand of a test puts it there, as a reference resistor of 0.3 ohm in place of the module.
    let (jig, mut client) = rig();
    feed_on(&mut client);
    jig.hand(HandAct::Reference { channel: 2, milliohm: 300 });
    jig.wait_for(|_, event| *event == Event::CutOff(Supply::Feed));
    client.ask_until("OUTP1:PROT:TRIP?;:OUTP1?;:STAT:QUES:COND?", "1;0;2");
    let (log, _) = jig.stop();
    let short_ns = find(&log, |e| matches!(e, Event::Hand));
    let off_ns = off_after(&log, short_ns).expect("it went off");
    println!("a short: off after {:.1} us", (off_ns - short_ns) as f64 / 1e3);
    assert!(off_ns - short_ns <= CUT_OFF_NS, "{} ns", off_ns - short_ns);
}

/// The average over the delay that is set counts.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn an_overload_turns_the_feed_off_within_its_delay() {
    let (jig, mut client) = rig();
    client.say("SOUR1:CURR:PROT 0.5;PROT:DEL 0.05");
    feed_on(&mut client);
    // 16 V over 20 ohm: 0.8 A.
    jig.hand(HandAct::Reference { channel: 2, milliohm: 20_000 });
    client.ask_until("OUTP1:PROT:TRIP?", "1");
    let (log, _) = jig.stop();
    let begun_ns = find(&log, |e| matches!(e, Event::Hand));
    let off_ns = off_after(&log, begun_ns).expect("it went off");
    let took_ms = (off_ns - begun_ns) as f64 / 1e6;
    println!("an overload of 1.6 times: off after {took_ms:.1} ms");
    // 0.8 A for 31 of 50 ms make the average; the average goes on in steps of 5 ms.
    assert!((25.0..=55.0).contains(&took_ms), "{took_ms} ms");
}

/// A short of a load behind its contact. The latch holds the load supply off, the feed stays on; cleared
/// and without the short, it goes on again.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_short_of_the_loads_is_cut_off_in_hardware() {
    let (jig, mut client) = rig();
    feed_on(&mut client);
    client.say("ROUT:CLOS (@301,311);:OUTP2 ON");
    client.ask_until("OUTP2?", "1");
    jig.wait_for(|_, event| *event == Event::Loads(true));
    // 12 V over 0.5 ohm.
    jig.hand(HandAct::Reference { channel: 101, milliohm: 500 });
    jig.wait_for(|_, event| *event == Event::CutOff(Supply::Loads));
    client.ask_until("OUTP2:PROT:TRIP?;:OUTP1?;:OUTP2?;:STAT:QUES:COND?", "1;1;0;512");
    client.say("OUTP2 ON");
    assert!(client.ask("SYST:ERR?").starts_with("102,"), "a trip has to be cleared first");
    assert_eq!(client.ask("OUTP2?"), "0");
    jig.hand(HandAct::Reference { channel: 101, milliohm: 0 });
    client.say("OUTP2:PROT:CLE;:OUTP2 ON");
    client.ask_until("OUTP2?;:OUTP2:PROT:TRIP?", "1;0");
    let (log, _) = jig.stop();
    let short_ns = find(&log, |e| matches!(e, Event::Hand));
    let cut_ns = find(&log, |e| *e == Event::CutOff(Supply::Loads));
    let loads: Vec<_> =
        log.iter().filter(|(ns, e)| *ns >= short_ns && matches!(e, Event::Loads(_))).collect();
    let [(off_ns, Event::Loads(false)), (_, Event::Loads(true))] = loads[..] else {
        panic!("off by the short, and on when it was cleared: {loads:?}")
    };
    println!("a short of the loads: off after {:.1} us", (off_ns - short_ns) as f64 / 1e3);
    assert!(*off_ns >= cut_ns && off_ns - short_ns <= CUT_OFF_NS, "{} ns", off_ns - short_ns);
    assert_eq!(off_after(&log, short_ns), None, "the feed stays on");
}
