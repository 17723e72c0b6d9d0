//! Whatever bytes come: no panic, no endless wait, no power without its command.

use super::rig::Rig;
use crate::jig::board::FeedDrive;
use proptest::prelude::*;

/// Pieces of lines, whole and broken, that never say that the feed goes on.
fn pieces() -> impl Strategy<Value = Vec<u8>> {
    let known = crate::wire::tree::TREE.iter().map(|entry| {
        let header: String =
            entry.pattern.chars().filter(|c| !matches!(c, '[' | ']' | '#')).collect();
        header.into_bytes()
    });
    let words: Vec<Vec<u8>> = known
        .chain(
            [
                "?",
                " ",
                ";",
                ":",
                ",",
                "\n",
                "\r\n",
                "(@101:104)",
                "(@201,301)",
                "1",
                "2",
                "ON",
                "0.5",
                "1e999",
                "-3",
                "#H1F",
                "BUS",
                "SENT",
                "CONT",
                "LOW",
                "MAX",
                "20 ms",
                "SEAL 1,1",
                "\"",
                "#15hello",
                "(@",
                "OUTP1 OFF",
                "*WAI",
                "*OPC?",
            ]
            .map(|word| word.as_bytes().to_vec()),
        )
        .collect();
    prop_oneof![
        8 => prop::sample::select(words),
        1 => prop::collection::vec(any::<u8>(), 0..20),
    ]
}

/// Whether any line of these bytes could switch a supply on: `OUTP`, and a true value after it.
fn says_on(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes).to_ascii_uppercase();
    text.lines().any(|line| line.contains("OUTP"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn no_panic_no_power(list in prop::collection::vec(pieces(), 0..60), wait_us in 0u64..30_000) {
        let mut rig = Rig::new();
        let bytes = list.concat();
        for piece in bytes.chunks(37) {
            rig.send(piece);
            rig.run_us(wait_us);
            if !says_on(&bytes) {
                prop_assert_eq!(rig.board().feed, FeedDrive::Off);
                prop_assert!(!rig.board().loads);
            }
        }
        // Whatever it was: after a silence the jig is safe and answers again.
        rig.send(b"\n");
        rig.run_us(61_000_000);
        prop_assert!(rig.board().all_off());
        rig.heard();
        prop_assert_eq!(rig.ask("*IDN?"), "musterbench,jig,T-1,0.0");
    }

    #[test]
    fn raw_bytes(bytes in prop::collection::vec(any::<u8>(), 0..2000)) {
        let mut rig = Rig::new();
        rig.send(&bytes);
        rig.run_us(100_000);
        prop_assert!(rig.board().all_off());
    }

    /// Only these spellings switch the feed on; any byte changed in them may not, unless what is
    /// left is still such a spelling.
    #[test]
    fn a_damaged_command_does_not_switch_on(at in 0usize..8, to: u8) {
        let mut line = *b"OUTP1 ON";
        line[at] = to;
        let mut rig = Rig::new();
        rig.send(&line);
        rig.send(b"\n");
        // Letters of either case; the 1 may be left out; any white space but the newline.
        let space = |byte: u8| byte <= b' ' && byte != b'\n';
        let upper = line.to_ascii_uppercase();
        let sound = upper.starts_with(b"OUTP")
            && (line[4] == b'1' || space(line[4]))
            && space(line[5])
            && upper.ends_with(b"ON");
        prop_assert_eq!(rig.board().feed != FeedDrive::Off, sound, "{:?}", line);
    }
}
