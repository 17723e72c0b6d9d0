//! However long the main loop is busy, the feed is never left without pulses.

use super::client::Client;
use super::jig::{EmulatedJig, Event, Line};
use super::rig::{feed_on, slow_jig, stretches};
use musterbench::link::client::Jig;
use musterbench::link::serial::SerialTransport;
use musterbench::signal::dcc::{SENDER_ONE_HALF_US, SENDER_ZERO_HALF_US};
use musterbench::wire::checksum::crc32;

/// The lead of the feed's queue (`board::LEAD_US` of the firmware), microseconds.
const LEAD_US: u64 = 6_000;
/// The emulator counts the processor's own cycles. From a real flash the code is slower whenever it
/// misses the cache: how much is not known, so it is slower here too.
const SLOWNESS: f64 = 1.5;

/// Both captures as large as their memories, 65536 and 16384 bytes.
const FULL: [&str; 3] = [
    "ROUT:SCAN1 (@1:4,101:108,401:404);:SENS1:SWE:POIN 2048;TINT 100 US",
    "ROUT:SCAN2 (@1:4,101:104);:SENS2:SWE:POIN 1024;TINT 200 US",
    "INIT1;:INIT2",
];
/// What takes the jig's processor long: numbers out, lists, and captures that end.
const LONG: [&str; 7] = [
    "SYST:CHAN:CAT?",
    "SYST:CHAN:DESC? (@1);DESC? (@2);DESC? (@101);DESC? (@108);DESC? (@401);DESC? (@703)",
    "MEAS:CURR? (@2,4,101:108)",
    "MEAS:VOLT? (@1,3,401:408)",
    "*TST?",
    "INIT1;:INIT2;:ABOR1;:ABOR2;:FETC1:PRE?",
    "ROUT:CLOS? (@201:208,301:308,311:318,321:328);:DRIV:SENT?;:STAT:OPER:COND?",
];

/// Every stretch of the feed, from its first half of a bit on, is half of a bit; returns how many.
fn assert_unbroken(log: &[(u64, Event)]) -> usize {
    let half = |ns: u64| {
        [SENDER_ONE_HALF_US, SENDER_ZERO_HALF_US]
            .iter()
            .any(|us| (u64::from(*us.start()) * 1_000..=u64::from(*us.end()) * 1_000).contains(&ns))
    };
    let all = stretches(log);
    let first = all.iter().position(|s| half(s.1 - s.0)).expect("pulses");
    let broken: Vec<_> = all[first..].iter().filter(|s| s.2 == 0 || !half(s.1 - s.0)).collect();
    assert!(broken.is_empty(), "no half of a bit: {broken:?}");
    all.len() - first
}

fn check(jig: EmulatedJig) {
    let (log, told) = jig.stop();
    println!("{} halves of bits; {told}", assert_unbroken(&log));
    let turn = told.split("longest turn of the main loop ").nth(1).expect("told");
    let turn_us = turn.split(' ').next().and_then(|us| us.parse::<u64>().ok()).expect("told");
    assert!((1..LEAD_US).contains(&turn_us), "{turn_us} us");
}

/// Blocks as a whole, as fast as USB carries them.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn full_captures_leave_the_packets_whole() {
    let jig = slow_jig(&[], Line::Usb, SLOWNESS);
    let mut client = Client::open(jig.path());
    feed_on(&mut client);
    for line in FULL {
        client.say(line);
    }
    client.ask_until("STAT:OPER:COND?", "0");
    for (unit, bytes) in [(1, 65_536), (2, 16_384)] {
        let preamble = client.ask(&format!("FETC{unit}:PRE?"));
        let block = client.ask_block(&format!("FETC{unit}?"));
        assert_eq!(block.len(), bytes);
        assert!(preamble.contains(&format!(",#H{:08X},", crc32(&block))), "{preamble}");
    }
    for line in LONG {
        client.ask(line);
    }
    assert_eq!(client.ask("SYST:ERR?"), "0,\"No error\"");
    check(jig);
}

/// Blocks in pieces, as the program fetches them.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn sealed_pieces_leave_the_packets_whole() {
    let emulated = slow_jig(&[], Line::Usb, SLOWNESS);
    let line = SerialTransport::open(emulated.path()).expect("its line");
    let mut jig = Jig::open(Box::new(line)).expect("a jig");
    jig.send("OUTP1 ON").expect("on");
    let idle = |jig: &mut Jig| while jig.ask("STAT:OPER:COND?").expect("an answer") != "0" {};
    idle(&mut jig);
    for line in FULL {
        jig.send(line).expect("set up");
    }
    idle(&mut jig);
    for (unit, counts) in [(1, 32_768), (2, 8_192)] {
        assert_eq!(jig.fetch(unit).expect("fetched").counts.len(), counts);
    }
    for units in LONG {
        jig.ask(units).expect(units);
    }
    check(emulated);
}
