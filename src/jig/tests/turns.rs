//! A poll does not take long, whatever there is to do: the feed wants to be filled.

use super::rig::{Rig, charging};
use crate::wire::LINE_MAX;
use crate::wire::answers::Answers;
use crate::wire::checksum::crc32;
use crate::wire::preamble::Preamble;

/// Polls until the answer is there, on a processor that takes so long between two looks at its clock: the
/// longest poll, and the answer.
fn polled(rig: &mut Rig, line: &str, tick_us: u64) -> (u64, String) {
    rig.board().tick_us = tick_us;
    assert_eq!(rig.engine.receive(format!("{line}\n").as_bytes()), line.len() + 1);
    let mut longest_us = 0;
    let mut bytes = [0; 512];
    while rig.out.back() != Some(&b'\n') {
        let before_us = rig.now_us();
        rig.engine.poll();
        longest_us = longest_us.max(rig.now_us() - before_us);
        let count = rig.engine.transmit(&mut bytes);
        rig.out.extend(&bytes[..count]);
        let asleep = count == 0 && rig.engine.next_wake_us() > rig.now_us() + 100_000;
        assert!(!asleep, "{line}: it is forgotten");
    }
    rig.board().tick_us = 0;
    (longest_us, rig.text())
}

#[test]
fn a_long_line_is_carried_out_in_pieces() {
    let mut rig = Rig::new();
    rig.board().script = charging(0);
    rig.say("OUTP1 ON");
    rig.run_us(1_000_000);
    assert_eq!(rig.ask("STAT:OPER:COND?"), "0");
    let line = vec!["*ESE?"; LINE_MAX / 6].join(";");
    let (longest_us, answer) = polled(&mut rig, &line, 150);
    assert_eq!(answer.trim_end(), vec!["0"; LINE_MAX / 6].join(";"));
    assert!(longest_us <= 4_000, "{longest_us} us");
    // The packets have gone on: none begins later than the one before ended.
    let driven = &rig.engine.board().driven;
    assert!(driven.windows(2).all(|pair| pair[1].0 == pair[0].1), "a gap");
}

/// As soon as a capture is done its preamble may be asked for; it waits for the checksum.
#[test]
fn a_preamble_waits_for_the_checksum() {
    let mut rig = Rig::new();
    rig.board().script = Box::new(|channel, at_us| (at_us / 10 % 1_000) as i16 + channel as i16);
    rig.say("ROUT:SCAN (@101:108);:SENS:SWE:POIN 4096;TINT 100 us;:INIT");
    rig.run_us(300_000);
    let (_, answer) = polled(&mut rig, "ABOR;:FETC:PRE?;*ESE?", 10);
    let (preamble, rest) = answer.trim_end().rsplit_once(';').unwrap();
    assert_eq!(rest, "0", "the line goes on behind it");
    let preamble = Answers::only::<Preamble>(preamble.as_bytes()).unwrap();
    rig.send(b"FETC?\n");
    let block = rig.heard();
    let bytes = &block[2 + usize::from(block[1] - b'0')..block.len() - 1];
    assert_eq!(bytes.len(), preamble.points as usize * 16);
    assert!(preamble.points > 2_900, "{}", preamble.points);
    assert_eq!(preamble.crc, crc32(bytes));
}
