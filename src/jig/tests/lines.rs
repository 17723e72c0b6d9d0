//! Common commands, and how lines are carried out.

use super::rig::Rig;
use crate::wire::refusal::Refusal;

#[test]
fn identity_and_versions() {
    let mut rig = Rig::new();
    assert_eq!(rig.ask("*IDN?"), "musterbench,jig,T-1,0.0");
    assert_eq!(rig.ask("SYST:VERS?"), "1999.0");
    assert_eq!(rig.ask("SYST:PROT?"), crate::wire::PROTOCOL.to_string());
    assert_eq!(rig.ask("SYST:CLOC?"), rig.now_us().to_string());
}

#[test]
fn power_on_bit_and_masks() {
    let mut rig = Rig::new();
    assert_eq!(rig.ask("*ESR?"), "128");
    assert_eq!(rig.ask("*ESR?"), "0");
    rig.say("*ESE 255;*SRE 255");
    assert_eq!(rig.ask("*ESE?"), "255");
    assert_eq!(rig.ask("*SRE?"), "191", "bit 6 stays zero");
    assert_eq!(rig.wrong("*ESE 256"), -222);
}

#[test]
fn status_byte_and_summary_bit() {
    let mut rig = Rig::new();
    rig.say("*CLS;*ESE 48;*SRE 32");
    assert_eq!(rig.ask("*STB?"), "0");
    rig.send(b"NONSENSE\n");
    assert_eq!(rig.ask("*STB?"), "100", "error queued, event summary, master summary");
    assert_eq!(rig.ask("*ESR?"), "32");
    assert_eq!(rig.ask("SYST:ERR?"), "-113,\"Undefined header\"");
    assert_eq!(rig.ask("*STB?"), "0");
    assert_eq!(rig.ask("*ESE?;*STB?"), "48;16", "an answer waits");
}

#[test]
fn errors_come_in_order_and_overflow() {
    let mut rig = Rig::new();
    rig.send(b"FOO\n*ESE 999\n");
    assert_eq!(rig.ask("SYST:ERR:COUN?"), "2");
    assert_eq!(rig.ask("SYST:ERR?"), "-113,\"Undefined header\"");
    assert_eq!(rig.ask("SYST:ERR:NEXT?"), "-222,\"Data out of range\"");
    for _ in 0..50 {
        rig.send(b"FOO\n");
    }
    let last = (0..crate::wire::error::QUEUE_SIZE).map(|_| rig.ask("SYST:ERR?")).last();
    assert_eq!(last.unwrap(), "-350,\"Queue overflow\"");
    assert_eq!(rig.ask("SYST:ERR?"), "0,\"No error\"");
}

#[test]
fn command_error_discards_the_rest_and_execution_error_does_not() {
    let mut rig = Rig::new();
    assert_eq!(rig.ask("*ESE 3;*ESE 999;*ESE?"), "3");
    assert_eq!(rig.ask("SYST:ERR?"), "-222,\"Data out of range\"");
    rig.send(b"*ESE 5;FOO;*ESE 7\n");
    assert_eq!(rig.ask("*ESE?"), "5");
}

#[test]
fn a_query_after_the_identity_is_refused() {
    let mut rig = Rig::new();
    assert_eq!(rig.ask("*ESE?;*IDN?;*ESE?"), "0;musterbench,jig,T-1,0.0");
    assert!(rig.ask("SYST:ERR?").starts_with("-440,"));
}

#[test]
fn a_long_line_is_thrown_away() {
    let mut rig = Rig::new();
    let line = format!("*ESE 7;{}\n", "x".repeat(600));
    rig.send(line.as_bytes());
    assert_eq!(rig.ask("SYST:ERR?"), "-363,\"Input buffer overrun\"");
    assert_eq!(rig.ask("*ESE?"), "0");
}

#[test]
fn many_answers_of_one_line_are_joined() {
    let mut rig = Rig::new();
    let line = vec!["*ESE?"; 80].join(";");
    assert_eq!(rig.ask(&line), vec!["0"; 80].join(";"));
    let line = vec!["SYST:CHAN:DESC? 101"; 22].join(";:");
    let answer = rig.ask(&line);
    assert_eq!(answer.split(';').count(), 22);
}

#[test]
fn a_host_that_does_not_read_loses_nothing() {
    let mut rig = Rig::new();
    let lines = "SYST:CHAN:DESC? 101;DESC? 102;DESC? 401\n".repeat(60);
    let mut bytes = lines.as_bytes();
    // Nothing is read until the jig takes no more.
    loop {
        let taken = rig.engine.receive(bytes);
        bytes = &bytes[taken..];
        rig.engine.poll();
        if taken == 0 || bytes.is_empty() {
            break;
        }
    }
    rig.send(bytes);
    let text = rig.text();
    assert_eq!(text.lines().count(), 60);
    assert!(text.lines().all(|line| line.split(';').count() == 3));
    assert_eq!(rig.ask("SYST:ERR?"), "0,\"No error\"");
}

#[test]
fn channels_are_described() {
    let mut rig = Rig::new();
    assert_eq!(
        rig.ask("SYST:CHAN:CAT?"),
        "(@1:4,101:108,201:208,301:308,311:318,321:328,401:408,601,611:612,701)"
    );
    let by_number = rig.ask("SYST:CHAN:DESC? 2");
    assert!(by_number.starts_with("2,CURR,"), "{by_number}");
    assert_eq!(rig.ask("SYST:CHAN:DESC? (@2)"), by_number);
    assert_eq!(rig.wrong("SYST:CHAN:DESC? (@5)"), -222);
    assert_eq!(rig.wrong("SYST:CHAN:DESC? (@1,2)"), -222);
}

#[test]
fn operation_complete_waits_for_a_capture() {
    let mut rig = Rig::new();
    rig.say("*CLS;ROUT:SCAN (@2);:SENS:SWE:POIN 50;TINT 1 ms;:INIT;*OPC");
    assert_eq!(rig.ask("*ESR?"), "0");
    rig.run_us(60_000);
    assert_eq!(rig.ask("*ESR?"), "1");
    let before_us = rig.now_us();
    assert_eq!(rig.ask("INIT;*OPC?"), "1");
    assert!(rig.now_us() - before_us >= 49_000);
    assert_eq!(rig.ask("*OPC?"), "1", "nothing pending");
    rig.send(b"INIT;*WAI;:FETC:PRE?\n");
    assert_eq!(rig.text(), "");
    rig.run_us(60_000);
    assert!(rig.text().contains(",DONE,50,1000,1,"));
}

#[test]
fn clear_status_calls_off_operation_complete() {
    let mut rig = Rig::new();
    rig.say("ROUT:SCAN (@2);:SENS:SWE:POIN 50;:INIT;*OPC;*CLS");
    rig.run_us(200_000);
    assert_eq!(rig.ask("*ESR?"), "0");
}

#[test]
fn a_wait_ends_with_the_silence_limit() {
    let mut rig = Rig::new();
    rig.say("ROUT:SCAN (@2);:TRIG:SOUR BUS;:INIT");
    rig.send(b"*OPC?\n*ESE?\n");
    rig.run_us(4_900_000);
    assert_eq!(rig.text(), "");
    rig.run_us(200_000);
    assert_eq!(rig.text(), "1\n0\n");
    assert!(rig.ask("FETC:PRE?").contains(",ABOR,"));
}

/// A byte that came damaged takes its whole line with it, and no other.
#[test]
fn a_damaged_line_is_refused_whole() {
    for cut in 0..="OUTP2 ON;*ESE 4;*ESE?\n".len() {
        let mut rig = Rig::new();
        let line = b"OUTP2 ON;*ESE 4;*ESE?\n";
        rig.send(b"*ESE 8\n");
        rig.send(&line[..cut]);
        assert!(rig.engine.receive_damaged());
        rig.send(&line[cut..]);
        // Behind the newline it is a byte of the next line.
        let whole = cut == line.len();
        assert_eq!(rig.text(), if whole { "4\n" } else { "" }, "{cut}");
        rig.send(b"\n");
        assert_eq!(rig.board().loads, whole, "{cut}");
        assert_eq!(rig.ask("*ESE?"), if whole { "4" } else { "8" }, "{cut}");
        assert!(rig.ask("SYST:ERR?").starts_with("-360,"), "{cut}");
        assert_eq!(rig.ask("SYST:ERR?"), "0,\"No error\"");
    }
}

/// In place of a newline it takes both lines, since nobody knows where the one ended.
#[test]
fn a_damaged_newline_takes_both_lines() {
    let mut rig = Rig::new();
    rig.send(b"OUTP2 ON");
    assert!(rig.engine.receive_damaged());
    rig.send(b"*ESE 4\n");
    assert!(!rig.board().loads);
    assert_eq!(rig.ask("*ESE?"), "0");
}

#[test]
fn a_damaged_sealed_line_is_passed_over() {
    let mut rig = Rig::new();
    rig.open_session();
    let line = rig.next_sealed("*ESE 4");
    rig.send(&line[..20]);
    assert!(rig.engine.receive_damaged());
    rig.send(&line[20..]);
    assert_eq!(rig.text(), "");
    rig.send(&line);
    assert!(rig.text().ends_with('\n'));
    assert_eq!(rig.sealed("*ESE?;SYST:ERR?"), ("4;0,\"No error\"".into(), 2, 0));
}

#[test]
fn self_test_and_hand() {
    let mut rig = Rig::new();
    assert_eq!(rig.ask("*TST?"), "0");
    rig.board().self_test = 4;
    assert_eq!(rig.ask("*TST?"), "4");
    rig.say("DIAG:HAND:AUX ON");
    assert_eq!(rig.board().hand, Some(crate::jig::hand::HandAct::Auxiliary(true)));
    assert_eq!(rig.wrong("DIAG:HAND:SWIT 99"), -241);
    rig.say("DIAG:HAND:REF 47.5,(@103)");
    let reference = crate::jig::hand::HandAct::Reference { channel: 103, milliohm: 47_500 };
    assert_eq!(rig.board().hand, Some(reference));
    for line in ["REF 47,(@3)", "REF 47,(@101,102)", "REF -1,(@2)", "REF 1E7,(@2)"] {
        assert_eq!(rig.wrong(&format!("DIAG:HAND:{line}")), -222, "{line}");
    }
    assert_eq!(rig.ask("DIAG:HAND:MET?"), "1.25E-1");
    // A board without a hand.
    rig.board().has_hand = false;
    for line in ["MET?", "AUX ON", "REF 47.5,(@103)"] {
        assert_eq!(rig.wrong(&format!("DIAG:HAND:{line}")), -241, "{line}");
    }
}

#[test]
fn status_registers() {
    let mut rig = Rig::new();
    rig.say("STAT:OPER:ENAB 8;PTR 0;NTR 8");
    assert_eq!(rig.ask("STAT:OPER:ENAB?;PTR?;NTR?"), "8;0;8");
    rig.say("ROUT:SCAN (@2);:SENS:SWE:POIN 50;:INIT");
    assert_eq!(rig.ask("STAT:OPER:COND?"), "8", "SWEeping");
    assert_eq!(rig.ask("STAT:OPER?"), "0");
    rig.run_us(100_000);
    assert_eq!(rig.ask("*STB?"), "128");
    assert_eq!(rig.ask("STAT:OPER:EVEN?"), "8", "it has ended");
    rig.say("STAT:PRES");
    assert_eq!(rig.ask("STAT:OPER:ENAB?;PTR?;NTR?"), "0;32767;0");
    rig.say("STAT:QUES:ENAB 7;PTR 6;NTR 5");
    assert_eq!(rig.ask("STAT:QUES:ENAB?;PTR?;NTR?;:STAT:QUES?;QUES:COND?"), "7;6;5;0;0");
}

#[test]
fn measurements_are_means() {
    let mut rig = Rig::new();
    rig.board().script = Box::new(|channel, at_us| match channel {
        2 => 100 + (at_us / 1000 % 2) as i16,
        701 => 123,
        _ => channel as i16,
    });
    assert_eq!(rig.ask("MEAS:CURR? (@2,101)"), "1.005E-1,1.01E-1");
    assert_eq!(rig.ask("MEAS:VOLT? (@401);*ESE?"), "4.01E-1;0");
    assert_eq!(rig.ask("MEAS:RES? (@701)"), "1.23E+2");
    assert_eq!(rig.board().test, None, "the test voltage is taken away");
    assert_eq!(rig.wrong("MEAS:CURR? (@401)"), -222);
    assert_eq!(rig.wrong("MEAS:CURR?"), -109);
    rig.say("OUTP2 ON");
    assert_eq!(rig.wrong("MEAS:RES? (@701)"), Refusal::SupplyOn.number());
}

#[test]
fn of_the_ways_to_a_resistance_the_lowest_counts() {
    let mut rig = Rig::new();
    rig.board().ways = (3, 50_000);
    let began_us = rig.board().now_us;
    // Each way settles for 50 ms and is read for 20 ms: the second is the lowest.
    rig.board().script = Box::new(move |_, at_us| match at_us - began_us {
        ..100_000 => 900,
        100_000..170_000 => 400,
        _ => 700,
    });
    assert_eq!(rig.ask("MEAS:RES? (@701)"), "4.0E+2");
    let took_us = rig.board().now_us - began_us;
    assert!((210_000..230_000).contains(&took_us), "{took_us} us");
    assert_eq!(rig.board().test, None);
}

#[test]
fn settings_answer_and_take_their_bounds() {
    let mut rig = Rig::new();
    for (header, preset, set, highest) in [
        ("SYST:SIL", "5.0E+0", "0.25", "6.0E+1"),
        ("SOUR:CURR:LIM", "2.5E-1", "0.2", "5.0E-1"),
        ("SOUR1:CURR:PROT", "1.0E+0", "0.5", "3.0E+0"),
        ("SOUR2:CURR:PROT:LEV", "4.0E+0", "0.5", "1.0E+1"),
        ("SOUR1:CURR:PROT:DEL", "1.0E-1", "0.2", "1.0E+0"),
        ("SENS:SWE:TINT", "1.0E-3", "0.002", "6.0E+1"),
        ("SENS:SWE:POIN", "100", "250", "32768"),
        ("SENS2:SWE:POIN", "100", "250", "8192"),
        ("SENS:SWE:OFFS:POIN", "0", "-20", "0"),
        ("SENS:AVER:COUN", "1", "8", "65535"),
    ] {
        assert_eq!(rig.ask(&format!("{header}?")), preset, "{header}");
        rig.say(&format!("{header} {set}"));
        let answer: f64 = rig.ask(&format!("{header}?")).parse().unwrap();
        assert_eq!(answer, set.parse::<f64>().unwrap(), "{header}");
        assert_eq!(rig.ask(&format!("{header}? MAX")), highest, "{header}");
        assert_eq!(rig.wrong(&format!("{header} 1e9")), -222, "{header}");
        rig.say(&format!("{header} DEF"));
        assert_eq!(rig.ask(&format!("{header}?")), preset, "{header}");
        rig.say(&format!("{header} {set};*RST"));
        assert_eq!(rig.ask(&format!("{header}?")), preset, "{header} after reset");
    }
    assert_eq!(rig.ask("ROUT:SCAN?"), "(@)");
    rig.say("ROUT:SCAN (@101:108,2)");
    assert_eq!(rig.ask("ROUT:SCAN?"), "(@101:108,2)");
    assert_eq!(rig.ask("SENS:SWE:POIN? MAX"), "3640");
    assert_eq!(rig.wrong("ROUT:SCAN (@201)"), -222);
    assert_eq!(rig.wrong("ROUT:SCAN (@101:108,401:408,2)"), -223);
    rig.say("TRIG:SOUR CONT;:DRIV:IDLE LOW");
    assert_eq!(rig.ask("TRIG:SOUR?;:DRIV:IDLE?"), "CONT;LOW");
    assert_eq!(rig.wrong("TRIG:SOUR EXT"), -224);
}
