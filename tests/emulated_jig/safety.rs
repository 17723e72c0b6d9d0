//! What must be off, and how soon, in emulated time at the pins.

use crate::jig::{Ail, EmulatedJig, Event};
use crate::operator;
use crate::rig::{anything, feed_on, off_after, rig};
use crate::tools;
use musterbench::cli::simulated;
use musterbench::jig::board::{FeedDrive, Supply};
use musterbench::script::shipped;

/// How long after the armed time everything is off.
const SILENCE_SLACK_NS: u64 = 10_000_000;
/// The hardware's cut-off.
const CUT_OFF_NS: u64 = 50_000;

/// The last line's last byte, and when the jig fell silent after the limit.
fn silence(jig: EmulatedJig, limit_ns: u64) {
    let off_ns = jig.wait_for(|ns, event| {
        ns > limit_ns && (*event == Event::Feed(FeedDrive::Off) || *event == Event::Wires(0))
    });
    let (log, _) = jig.stop();
    let heard_ns = log
        .iter()
        .filter_map(|(ns, event)| match event {
            Event::Came(count, _) if *ns < off_ns => Some(ns + *count as u64 * 86_806),
            _ => None,
        })
        .next_back()
        .expect("lines came");
    let late_ns = off_ns as i64 - (heard_ns + limit_ns) as i64;
    println!("feed off {:.1} ms after the armed time", late_ns as f64 / 1e6);
    assert!(late_ns <= SILENCE_SLACK_NS as i64, "{late_ns} ns late");
    assert!(late_ns > -10_000_000, "{late_ns} ns: too early");
    // And nothing comes back by itself.
    assert!(!log.iter().any(|(ns, event)| *ns > off_ns + 1_000_000 && anything(event)));
}

#[test]
fn a_silent_host_turns_the_feed_off() {
    let Some((jig, mut client)) = rig(&[]) else { return };
    client.say("SYST:SIL 1");
    feed_on(&mut client);
    silence(jig, 1_000_000_000);
}

/// What a short does: the hardware acts, the firmware tells.
#[test]
fn a_short_is_cut_off_in_hardware() {
    // A short that the soft start does not see comes when the reservoir is full: here a module
    // whose feed is shorted so hard that only the full feed shows it would never start. So the
    // hand of a test puts it there, as a reference resistor of 0.3 ohm in place of the module.
    let Some((jig, mut client)) = rig(&[]) else { return };
    feed_on(&mut client);
    jig.hand(musterbench::jig::board::HandAct::Reference { channel: 2, milliohm: 300 });
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
fn an_overload_turns_the_feed_off_within_its_delay() {
    let Some((jig, mut client)) = rig(&[]) else { return };
    client.say("SOUR1:CURR:PROT 0.5;PROT:DEL 0.05");
    feed_on(&mut client);
    // 16 V over 20 ohm: 0.8 A.
    jig.hand(musterbench::jig::board::HandAct::Reference { channel: 2, milliohm: 20_000 });
    client.ask_until("OUTP1:PROT:TRIP?", "1");
    let (log, _) = jig.stop();
    let begun_ns = find(&log, |e| matches!(e, Event::Hand));
    let off_ns = off_after(&log, begun_ns).expect("it went off");
    let took_ms = (off_ns - begun_ns) as f64 / 1e6;
    println!("an overload of 1.6 times: off after {took_ms:.1} ms");
    // 0.8 A for 31 of 50 ms make the average; the average goes on in steps of 5 ms.
    assert!((25.0..=55.0).contains(&took_ms), "{took_ms} ms");
}

/// Bytes that mean nothing, for a while: nothing goes on, and the jig still answers.
#[test]
fn garbage_moves_nothing() {
    let Some((jig, mut client)) = rig(&[]) else { return };
    let mut state = 0x2545_F491_u32;
    for _ in 0..40 {
        let bytes: Vec<u8> = (0..100)
            .map(|_| {
                state ^= state << 13;
                state ^= state >> 17;
                state ^= state << 5;
                (state >> 24) as u8
            })
            .collect();
        client.send(&bytes);
    }
    client.say("\n*CLS");
    client.ask_until("*ESE?", "0");
    let (log, _) = jig.stop();
    let moved: Vec<_> = log.iter().filter(|(_, event)| anything(event)).collect();
    assert!(moved.is_empty(), "{moved:?}");
}

/// From power-up until the first command nothing is on, nothing is closed.
#[test]
fn boot_is_safe() {
    let Some((jig, _client)) = rig(&[]) else { return };
    jig.wait_ms(300);
    let (log, _) = jig.stop();
    let moved: Vec<_> = log.iter().filter(|(_, event)| anything(event)).collect();
    assert!(moved.is_empty(), "{moved:?}");
}

/// How long the hardware keeps the feed alive without pump pulses, and how long the pumps go on
/// without the main loop.
const PUMP_HOLD_NS: u64 = 5_000_000;
const FUEL_NS: u64 = 20_000_000;

/// Everything on, then the firmware ails: everything is off so soon, and stays off.
fn ails(ail: Ail, within_ns: u64) {
    let Some((jig, mut client)) = rig(&[]) else { return };
    feed_on(&mut client);
    client.say("ROUT:CLOS (@201,321:328);:OUTP2 ON");
    client.ask_until("OUTP2?", "1");
    jig.wait_for(|_, event| *event == Event::Loads(true));
    jig.ail(ail);
    let ailed_ns = jig.wait_for(|_, event| *event == Event::Hand);
    jig.wait_ms(200);
    let (log, _) = jig.stop();
    let last = |what: fn(&Event) -> bool| log.iter().rfind(|(_, event)| what(event)).copied();
    for (name, last) in [
        ("feed", last(|e| matches!(e, Event::Feed(_)))),
        ("load supply", last(|e| matches!(e, Event::Loads(_)))),
        ("switches", last(|e| matches!(e, Event::Switches(_)))),
    ] {
        let (ns, event) = last.expect("it was on");
        assert!(!anything(&event), "{ail:?}: {name} is still on: {event:?}");
        println!("{ail:?}: {name} off after {:.1} ms", (ns - ailed_ns) as f64 / 1e6);
        assert!(ns > ailed_ns && ns - ailed_ns <= within_ns, "{name}: {} ns", ns - ailed_ns);
    }
}

#[test]
fn a_panic_turns_everything_off() {
    ails(Ail::Panic, PUMP_HOLD_NS);
}

#[test]
fn a_main_loop_that_hangs_turns_everything_off() {
    ails(Ail::Hang, FUEL_NS + PUMP_HOLD_NS + 1_000_000);
}

/// A run that stays on.
const SCRIPT: &str = r#"
title = "On"
steps = [
  { ask = "prepare" },
  { feed = "on" },
  { wait = "60 s" },
  { feed = "off" },
]
"#;

/// A host that is killed in the middle of a run, everything on, leaves the feed off.
#[test]
fn a_killed_host_leaves_everything_off() {
    let Some(firmware) = tools::firmware() else { return };
    let sheet = shipped::module_sheet("pier-four").expect("shipped");
    let jig = EmulatedJig::start(firmware, simulated::setup(&sheet, None, Vec::new(), 7));
    let folder = tempfile::tempdir().expect("a folder");
    let script = folder.path().join("on.toml");
    std::fs::write(&script, SCRIPT).expect("written");
    let arguments =
        ["--script".as_ref(), script.as_os_str(), "--records".as_ref(), folder.path().as_ref()];
    let (mut program, mut keyboard) = operator::test(jig.path(), &arguments);
    keyboard.write(b"\n").expect("typed ahead");
    jig.wait_for(|_, event| *event == Event::Feed(FeedDrive::Full));
    jig.wait_ms(1_500);
    // SIGKILL.
    program.kill().expect("it runs");
    program.wait().expect("it ended");
    silence(jig, 5_000_000_000);
}

fn find(log: &[(u64, Event)], what: impl Fn(&Event) -> bool) -> u64 {
    log.iter().find(|(_, event)| what(event)).map(|(ns, _)| *ns).expect("it happened")
}
