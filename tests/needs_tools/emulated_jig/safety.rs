//! What must not go on, and what a hand at the bench turns off.

use super::jig::Event;
use super::rig::{all_on, anything, assert_all_off, feed_on, rig};

/// Bytes that mean nothing, for a while: nothing goes on, and the jig still answers.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn garbage_moves_nothing() {
    let (jig, mut client) = rig();
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
#[ignore = "needs node and a core library for the jig's processor"]
fn boot_is_safe() {
    let (jig, _client) = rig();
    jig.wait_ms(300);
    let (log, _) = jig.stop();
    let moved: Vec<_> = log.iter().filter(|(_, event)| anything(event)).collect();
    assert!(moved.is_empty(), "{moved:?}");
}

/// The brain looks at the interlock every millisecond or sooner.
const INTERLOCK_NS: u64 = 5_000_000;

/// Opened, it turns everything off, and nothing goes on until it is closed; then nothing by itself.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn an_open_interlock_turns_everything_off() {
    let (jig, mut client) = rig();
    all_on(&jig, &mut client);
    jig.set_interlock(true);
    let opened_ns = jig.wait_for(|_, event| *event == Event::Hand);
    client.ask_until("STAT:QUES:COND?;:OUTP1?;:OUTP2?", "4096;0;0");
    for supply in ["OUTP1 ON", "OUTP2 ON"] {
        client.say(supply);
        assert!(client.ask("SYST:ERR?").starts_with("103,"), "{supply}");
    }
    jig.set_interlock(false);
    client.ask_until("STAT:QUES:COND?", "0");
    jig.wait_ms(100);
    let closed_ns = jig.now_ns();
    assert_eq!(client.ask("OUTP1?;:OUTP2?;:ROUT:CLOS? (@201,321)"), "0;0;0,0");
    feed_on(&mut client);
    let (log, _) = jig.stop();
    let until_then: Vec<_> = log.into_iter().filter(|(ns, _)| *ns < closed_ns).collect();
    assert_all_off("interlock", &until_then, opened_ns, INTERLOCK_NS);
}
