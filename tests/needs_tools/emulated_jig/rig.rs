//! A jig with a module on its bench, and a plain client for tests of the jig alone.

use super::client::Client;
use super::jig::{EmulatedJig, Event, Line};
use super::tools;
use musterbench::jig::board::FeedDrive;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::script::shipped;
use musterbench::simulated_bench::faults;

/// The latches have let go by then, and USB is set up.
const BOOTED_MS: u64 = 1_000;

/// Puts a module with faults, by name and severity, on the bench and powers the jig up.
pub fn jig(put: &[(&str, f64)], line: Line) -> EmulatedJig {
    slow_jig(put, line, 1.0)
}

/// The same, once it listens: a program does not wait as long as an emulator may take to boot.
pub fn listening_jig(put: &[(&str, f64)], line: Line) -> EmulatedJig {
    let jig = jig(put, line);
    jig.wait_ms(BOOTED_MS);
    jig
}

/// The same as [`jig`] with a processor that takes so many times its time for every instruction.
pub fn slow_jig(put: &[(&str, f64)], line: Line, slowness: f64) -> EmulatedJig {
    let firmware = tools::firmware();
    let sheet = shipped::module_sheet("pier-four").expect("shipped");
    let faults = put.iter().map(|&(name, severity)| {
        (faults::find(name).unwrap_or_else(|| panic!("no fault {name}")), severity)
    });
    let setup = simulated::setup(&sheet, None, faults.collect(), 7);
    EmulatedJig::start(firmware, setup, line, slowness)
}

/// A jig with a sound module, and a client.
pub fn rig() -> (EmulatedJig, Client) {
    rig_on(Line::Uart)
}

/// The same on the line of choice.
pub fn rig_on(line: Line) -> (EmulatedJig, Client) {
    let jig = jig(&[], line);
    let client = Client::open(jig.path());
    (jig, client)
}

/// Turns the feed on, and waits for the end of the soft start.
pub fn feed_on(client: &mut Client) {
    client.say("OUTP1 ON");
    client.ask_until("STAT:OPER:COND?;:OUTP1?", "0;1");
}

/// Turns everything on: feed, load supply, a contact closer, the jig's loads.
pub fn all_on(jig: &EmulatedJig, client: &mut Client) {
    feed_on(client);
    client.say("ROUT:CLOS (@201,321:328);:OUTP2 ON");
    client.ask_until("OUTP2?", "1");
    jig.wait_for(|_, event| *event == Event::Loads(true));
}

/// Everything that was on went off within a time after something had happened, and stayed off.
pub fn assert_all_off(what: &str, log: &[(u64, Event)], from_ns: u64, within_ns: u64) {
    for (name, of) in [
        ("feed", (|e| matches!(e, Event::Feed(_))) as fn(&Event) -> bool),
        ("load supply", |e| matches!(e, Event::Loads(_))),
        ("switches", |e| matches!(e, Event::Switches(_))),
    ] {
        let on = log.iter().rposition(|(_, e)| of(e) && anything(e)).expect("it was on");
        let off = log[on + 1..].iter().find(|(_, e)| of(e));
        let (off_ns, _) = off.unwrap_or_else(|| panic!("{what}: {name} is still on"));
        println!("{what}: {name} off after {:.1} ms", (*off_ns as f64 - from_ns as f64) / 1e6);
        let in_time = (from_ns..=from_ns + within_ns).contains(off_ns);
        assert!(in_time, "{what}: {name} off at {off_ns} ns, not soon after {from_ns} ns");
    }
}

/// When something happened first, nanoseconds.
pub fn find(log: &[(u64, Event)], what: impl Fn(&Event) -> bool) -> u64 {
    log.iter().find(|(_, event)| what(event)).map(|(ns, _)| *ns).expect("it happened")
}

/// The levels of the feed's wires: from when to when, nanoseconds, and 1 (A high) or 2 (B high).
pub fn stretches(log: &[(u64, Event)]) -> Vec<(u64, u64, u8)> {
    let wires = log.iter().filter_map(|&(ns, event)| match event {
        Event::Wires(wires) => Some((ns, wires)),
        _ => None,
    });
    let wires: Vec<(u64, u8)> = wires.collect();
    wires.windows(2).map(|pair| (pair[0].0, pair[1].0, pair[0].1)).collect()
}

/// When the feed went off first after a time, nanoseconds.
pub fn off_after(log: &[(u64, Event)], after_ns: u64) -> Option<u64> {
    let off = |event: &Event| *event == Event::Feed(FeedDrive::Off) || *event == Event::Wires(0);
    log.iter().find(|(ns, event)| *ns >= after_ns && off(event)).map(|(ns, _)| *ns)
}

/// Whether anything at all was powered or closed.
pub fn anything(event: &Event) -> bool {
    match event {
        Event::Feed(drive) => *drive != FeedDrive::Off,
        Event::Loads(on) => *on,
        Event::Switches(bits) => *bits != 0,
        _ => false,
    }
}
