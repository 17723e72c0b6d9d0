//! A host that falls silent, or is killed.

use super::jig::{EmulatedJig, Event, Line};
use super::operator;
use super::rig::{anything, feed_on, jig, rig};
use musterbench::jig::board::FeedDrive;

/// How long after the armed time everything is off.
const SILENCE_SLACK_NS: u64 = 10_000_000;

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
#[ignore = "needs node and a core library for the jig's processor"]
fn a_silent_host_turns_the_feed_off() {
    let (jig, mut client) = rig();
    client.say("SYST:SIL 1");
    feed_on(&mut client);
    silence(jig, 1_000_000_000);
}

/// A host that is killed in the middle of a run, everything on, leaves the feed off.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_killed_host_leaves_everything_off() {
    let jig = jig(&[], Line::Uart);
    let mut stays_on = operator::stays_on(&jig);
    jig.wait_ms(1_500);
    // SIGKILL.
    stays_on.program.kill().expect("it runs");
    stays_on.program.wait().expect("it ended");
    silence(jig, 5_000_000_000);
}
