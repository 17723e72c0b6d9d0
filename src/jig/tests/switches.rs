//! Switches, duties, timed closures.

use super::rig::Rig;
use crate::wire::refusal::Refusal;

#[test]
fn lists_open_and_close() {
    let mut rig = Rig::new();
    rig.say("ROUT:CLOS (@201,301:303,611)");
    assert_eq!(rig.ask("ROUT:CLOS? (@201:202,303:304,611)"), "1,0,1,0,1");
    assert_eq!(rig.ask("ROUT:OPEN? (@201:202)"), "0,1");
    rig.say("ROUT:OPEN (@302)");
    assert!(!rig.board().is_closed(302) && rig.board().is_closed(303));
    rig.say("ROUT:OPEN:ALL");
    assert!(rig.board().all_off());
}

#[test]
fn a_list_with_an_unknown_channel_does_nothing() {
    let mut rig = Rig::new();
    for list in ["(@301,309)", "(@301,101)", "(@301,999)"] {
        assert_eq!(rig.wrong(&format!("ROUT:CLOS {list}")), -222);
        assert!(!rig.board().is_closed(301));
    }
}

#[test]
fn a_jig_load_is_opened_after_its_time_and_rests() {
    let mut rig = Rig::new();
    rig.say("SYST:SIL 60;:ROUT:CLOS (@323,611)");
    rig.run_us(30_000_000);
    assert!(rig.board().is_closed(323), "without the supply it does not warm up");
    rig.say("OUTP2 ON");
    rig.run_us(19_999_000);
    assert!(rig.board().is_closed(323));
    rig.run_us(2_000);
    assert!(!rig.board().is_closed(323) && rig.board().is_closed(611));
    assert!(!rig.board().loads, "the supply goes off too");
    assert_eq!(rig.ask("STAT:QUES:COND?"), "1024");
    assert_eq!(rig.wrong("ROUT:CLOS (@322,323)"), Refusal::LoadResting.number());
    assert!(!rig.board().is_closed(322));
    let refused = rig.wrong("OUTP2 ON");
    assert_eq!(refused, Refusal::LoadResting.number(), "nobody goes on without it unawares");
    assert!(!rig.board().loads);
    rig.say("*RST");
    assert_eq!(
        rig.wrong("ROUT:CLOS (@323)"),
        Refusal::LoadResting.number(),
        "a reset does not cool it"
    );
    rig.run_us(20_100_000);
    assert_eq!(rig.ask("STAT:QUES:COND?"), "0");
    rig.say("ROUT:CLOS (@323);:OUTP2 ON");
    assert!(rig.board().loads);
}

#[test]
fn a_real_load_keeps_its_own_duty_through_switch_and_bypass() {
    let mut rig = Rig::new();
    assert_eq!(rig.ask("ROUT:DUTY? (@301)"), "0.0E+0,0.0E+0");
    assert_eq!(rig.ask("ROUT:DUTY? (@321)"), "2.0E+1,2.0E+1");
    rig.say("ROUT:DUTY 1,2,(@301:302)");
    assert_eq!(rig.ask("ROUT:DUTY? (@311)"), "1.0E+0,2.0E+0", "a bypass drives the same load");
    rig.say("ROUT:CLOS (@301,303,311);:OUTP2 ON");
    rig.run_us(500_000);
    rig.say("ROUT:OPEN (@301)");
    rig.run_us(499_000);
    assert!(rig.board().is_closed(311));
    rig.run_us(2_000);
    assert!(!rig.board().is_closed(311) && rig.board().is_closed(303));
    assert_eq!(rig.wrong("ROUT:CLOS (@301)"), Refusal::LoadResting.number());
    assert_eq!(rig.wrong("ROUT:CLOS (@311)"), Refusal::LoadResting.number());
    rig.say("ROUT:DUTY 0,0,(@301);:ROUT:CLOS (@301)");
    assert_eq!(rig.wrong("ROUT:DUTY 1,2,(@201)"), -222);
    assert_eq!(rig.wrong("ROUT:DUTY? (@301,302)"), -222);
}

#[test]
fn closures_last_as_long_as_told() {
    let mut rig = Rig::new();
    rig.run_us(500);
    rig.say("CONT:CLOS 20 ms,(@201,204)");
    assert_eq!(rig.ask("STAT:OPER:COND?;:CONT:TIME?"), "1024;500,20500");
    rig.say("CONT:CLOS 50 ms,(@202)");
    rig.run_us(19_999);
    assert!(rig.board().is_closed(201) && rig.board().is_closed(204));
    rig.run_us(1);
    assert!(!rig.board().is_closed(201) && !rig.board().is_closed(204));
    assert!(rig.board().is_closed(202));
    assert_eq!(rig.ask("*OPC?"), "1", "the closure is an operation");
    assert_eq!(rig.now_us(), 50_500);
    assert!(rig.board().all_off());
}

#[test]
fn a_closer_switched_by_hand_stays() {
    let mut rig = Rig::new();
    rig.say("CONT:CLOS 20 ms,(@201);:ROUT:CLOS (@201)");
    rig.run_us(100_000);
    assert!(rig.board().is_closed(201));
}

#[test]
fn closures_are_for_contact_closers() {
    let mut rig = Rig::new();
    assert_eq!(rig.wrong("CONT:CLOS 20 ms,(@201,301)"), -222);
    assert_eq!(rig.wrong("CONT:CLOS 0,(@201)"), -222);
    assert_eq!(rig.wrong("CONT:CLOS 61,(@201)"), -222);
    assert!(rig.board().all_off());
}
