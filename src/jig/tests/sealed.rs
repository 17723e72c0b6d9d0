//! Sealed lines: at most once, one answer each.

use super::rig::{Rig, split};
use crate::wire::seal;

#[test]
fn a_session_carries_lines_out_and_counts() {
    let mut rig = Rig::new();
    rig.open_session();
    assert_eq!(rig.sealed("SYST:SEAL:STAT?;*ESE 5;*ESE?"), ("1;5".into(), 3, 0));
    assert_eq!(rig.sealed("*ESE 9;*ESE 999;*ESE 1"), (String::new(), 1, 1));
    assert_eq!(rig.sealed("*ESE?;SYST:ERR?"), ("9;-222,\"Data out of range\"".into(), 2, 0));
    assert_eq!(rig.sealed("*ESE?;FOO?;*ESE?"), ("9".into(), 1, 1));
}

#[test]
fn a_repeated_line_is_answered_again_and_not_carried_out() {
    let mut rig = Rig::new();
    rig.open_session();
    let line = rig.next_sealed("FOO;*ESE?");
    rig.send(&line);
    let first = rig.heard();
    rig.send(b"\n");
    rig.send(&line);
    assert_eq!(rig.heard(), first);
    let line = rig.next_sealed("SYST:ERR:COUN?");
    rig.send(&line);
    let (response, trailer) = split(&rig.heard());
    assert_eq!((response, trailer.errors), (b"1".to_vec(), 0), "the error was made once");
}

#[test]
fn gaps_and_stale_lines_are_refused_and_leave_the_stored_answer() {
    let mut rig = Rig::new();
    rig.open_session();
    let second = rig.next_sealed("*ESE?");
    let third = rig.next_sealed("*ESE 4");
    let fourth = rig.next_sealed("*ESE 8");
    rig.send(&second);
    let answer = rig.heard();
    rig.send(&fourth);
    let (_, trailer) = split(&rig.heard());
    assert_eq!((trailer.number, trailer.carried_out, trailer.errors), (4, 0, 1), "a gap");
    rig.send(&second);
    assert_eq!(rig.heard(), answer, "still stored");
    rig.send(&third);
    rig.heard();
    rig.send(&second);
    let (_, trailer) = split(&rig.heard());
    assert_eq!((trailer.number, trailer.carried_out, trailer.errors), (2, 0, 1), "stale");
    rig.send(&fourth);
    rig.heard();
    assert_eq!(rig.sealed("*ESE?").0, "8");
}

#[test]
fn a_bad_seal_is_passed_over_in_silence() {
    let mut rig = Rig::new();
    let mut line = seal::seal(5, 1, "*CLS").unwrap();
    line[20] ^= 1;
    rig.send(&line);
    assert_eq!(rig.heard(), b"");
    assert_eq!(rig.ask("SYST:ERR:COUN?"), "0");
    assert_eq!(rig.ask("SYST:SEAL:STAT?"), "0");
}

#[test]
fn every_flipped_bit_of_a_line_is_noticed() {
    let mut rig = Rig::new();
    rig.open_session();
    let line = rig.next_sealed("*ESE 255");
    for at in 0..line.len() - 1 {
        for bit in 0..8 {
            let mut damaged = line.clone();
            damaged[at] ^= 1 << bit;
            rig.send(&damaged);
            assert_eq!(rig.heard(), b"", "byte {at}, bit {bit}");
        }
    }
    rig.send(&line);
    let (_, trailer) = split(&rig.heard());
    assert_eq!((trailer.carried_out, trailer.errors), (1, 0));
}

#[test]
fn a_session_opens_with_clear_status_only_and_makes_safe() {
    let mut rig = Rig::new();
    rig.say("ROUT:CLOS (@301);:OUTP2 ON");
    rig.send(&seal::seal(5, 1, "OUTP1 ON").unwrap());
    let (_, trailer) = split(&rig.heard());
    assert_eq!((trailer.carried_out, trailer.errors), (0, 1));
    assert!(rig.board().loads, "a refused line changes nothing");
    rig.open_session();
    assert!(rig.board().all_off());
}

#[test]
fn unsealed_lines_are_passed_over_in_sealed_mode() {
    let mut rig = Rig::new();
    rig.open_session();
    rig.send(b"*IDN?\nOUTP1 ON\nFOO\n");
    rig.send(&[b'x'; 700]);
    rig.send(b"\n");
    assert_eq!(rig.heard(), b"");
    assert_eq!(rig.sealed("SYST:ERR:COUN?;:OUTP1?"), ("0;0".into(), 2, 0));
}

#[test]
fn a_replaced_session_stays_closed() {
    let mut rig = Rig::new();
    let old = seal::seal(7, 1, "*CLS").unwrap();
    rig.send(&old);
    rig.heard();
    rig.open_session();
    rig.sealed("*ESE 3;:OUTP2 ON");
    rig.send(&old);
    let (_, trailer) = split(&rig.heard());
    assert_eq!((trailer.session, trailer.carried_out, trailer.errors), (7, 0, 1));
    assert!(rig.board().loads, "a late duplicate does not take over");
    assert_eq!(rig.sealed("*ESE?").0, "3");
}

#[test]
fn leaving_sealed_mode_makes_safe_and_may_be_repeated() {
    let mut rig = Rig::new();
    rig.open_session();
    rig.sealed("OUTP2 ON;:ROUT:CLOS (@301)");
    let line = rig.next_sealed("SYST:SEAL:END;:OUTP2 ON");
    rig.send(&line);
    let answer = rig.heard();
    assert_eq!(split(&answer).1.carried_out, 2);
    assert!(rig.board().all_off(), "also what the same line has switched on");
    rig.send(&line);
    assert_eq!(rig.heard(), answer, "the answer was lost on the way");
    let line = rig.next_sealed("*ESE?");
    rig.send(&line);
    assert_eq!(split(&rig.heard()).1.errors, 1, "the session is over");
    assert_eq!(rig.ask("SYST:SEAL:STAT?"), "0");
    rig.open_session();
}

#[test]
fn an_answer_may_wait() {
    let mut rig = Rig::new();
    rig.open_session();
    let line = rig.next_sealed("MEAS:CURR? (@2);*ESE?");
    rig.send(&line);
    assert_eq!(rig.heard(), b"");
    rig.send(&line);
    rig.run_us(30_000);
    let text = rig.text();
    let answers: Vec<&str> = text.lines().collect();
    assert_eq!(answers.len(), 2, "answered, and answered again from the store");
    assert_eq!(answers[0], answers[1]);
    assert!(answers[0].starts_with("0.0E+0;0;SEAL "));
}

#[test]
fn an_answer_that_does_not_fit_is_an_error() {
    let mut rig = Rig::new();
    rig.open_session();
    rig.sealed("ROUT:SCAN (@101:108,401:408);:SENS:SWE:POIN 200;TINT 100us;:INIT");
    rig.run_us(50_000);
    let (response, carried_out, errors) = rig.sealed("FETC? 1,0,4096;FETC? 1,0,4096;SYST:ERR?");
    assert!(response.starts_with("#44096"));
    assert_eq!((carried_out, errors), (1, 1));
    assert_eq!(rig.sealed("SYST:ERR?").0, "-430,\"Query DEADLOCKED\"");
    assert_eq!(rig.sealed("FETC?").2, 1, "6400 bytes at once");
}
