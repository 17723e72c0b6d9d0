use super::*;
use crate::judge::quantity::Quantity;
use crate::judge::reading::Blame;
use crate::lot::decision::FORMAT;
use std::collections::BTreeMap;

fn stuck(output: u8) -> Symptom {
    Symptom { quantity: Some(Quantity::WrongPositions), outputs: vec![output] }
}

fn try_of(run: u32, script: &str, showed: Showed) -> Try {
    Try {
        run,
        started: "2026-03-09T10:00:00+01:00".into(),
        jig: "0001".into(),
        simulated: false,
        script: script.into(),
        showed,
        finding: None,
        found: None,
    }
}

fn tries(showed: &[Showed]) -> Vec<Try> {
    (1..).zip(showed).map(|(run, showed)| try_of(run, "arrival", showed.clone())).collect()
}

fn decided(what: What) -> Decision {
    let (time, by, reason) = ("2026-03-09T11:00:00+01:00".into(), "Ines".into(), "why".into());
    Decision { format: FORMAT, time, by, reason, what }
}

fn fate(showed: &[Showed]) -> Fate {
    rule("pier-07", &tries(showed), &[], "thorough").fate
}

const PASS: Showed = Showed::Passes;
const OPEN: Showed = Showed::Open;

fn bad(output: u8) -> Showed {
    Showed::AtFault(stuck(output))
}

fn unsure(output: u8) -> Showed {
    Showed::Unsure(stuck(output))
}

#[test]
fn a_module_is_rejected_only_after_it_failed_twice_in_the_same_way() {
    let lead = Showed::Elsewhere(Blame::Lead);
    for (showed, wanted) in [
        (&[][..], Fate::Waiting),
        (&[PASS], Fate::Accepted),
        (&[bad(1)], Fate::ToRepeat),
        (&[bad(1), bad(1)], Fate::Rejected),
        (&[bad(1), bad(2)], Fate::OnHold),
        (&[bad(1), unsure(1)], Fate::OnHold),
        (&[unsure(1)], Fate::ToRepeat),
        (&[unsure(1), unsure(1)], Fate::OnHold),
        (&[unsure(1), bad(1)], Fate::OnHold),
        (&[bad(1), PASS], Fate::OnHold),
        (&[OPEN], Fate::ToRepeat),
        (&[OPEN, PASS], Fate::Accepted),
        (&[OPEN, OPEN], Fate::OnHold),
        (&[PASS, bad(1)], Fate::ToRepeat),
        (&[PASS, bad(1), bad(1)], Fate::Rejected),
        (std::slice::from_ref(&lead), Fate::ToRepeat),
        (&[lead.clone(), PASS], Fate::Accepted),
        (&[bad(1), lead.clone(), bad(1)], Fate::Rejected),
        (&[PASS, lead.clone()], Fate::Accepted),
        (&[lead.clone(), lead.clone(), lead.clone(), bad(1)], Fate::ToRepeat),
        (&[Showed::CutShort], Fate::Waiting),
        (&[bad(1), Showed::CutShort, bad(1)], Fate::Rejected),
        (&[bad(1), bad(2), bad(2)], Fate::OnHold),
        (&[bad(1), PASS, PASS, PASS], Fate::OnHold),
    ] {
        assert_eq!(fate(showed), wanted, "{showed:?}");
    }
}

#[test]
fn hold_ends_by_the_settling_script_or_by_a_person() {
    let mut held = tries(&[bad(1), PASS]);
    held.push(try_of(3, "thorough", Showed::CutShort));
    held.push(try_of(4, "thorough", Showed::Elsewhere(Blame::Setting)));
    let ruled =
        |tries: &[Try], decisions: &[Decision]| rule("pier-07", tries, decisions, "thorough").fate;
    assert_eq!(ruled(&held, &[]), Fate::OnHold);
    let mut settled = held.clone();
    settled.push(try_of(5, "thorough", PASS));
    assert_eq!(ruled(&settled, &[]), Fate::Accepted);
    // Afterwards it is as any accepted module.
    settled.push(try_of(6, "arrival", bad(1)));
    assert_eq!(ruled(&settled, &[]), Fate::ToRepeat);

    for not in [bad(1), unsure(2), OPEN] {
        let mut failed = held.clone();
        failed.push(try_of(5, "thorough", not));
        failed.push(try_of(6, "thorough", PASS));
        assert_eq!(ruled(&failed, &[]), Fate::OnHold, "only a person takes it off hold");
        let serial = || "pier-07".to_owned();
        let accept = decided(What::Accept { serial: serial(), after: 6 });
        assert_eq!(ruled(&failed, &[accept]), Fate::Accepted);
        let reject = decided(What::Reject { serial: serial(), after: 6 });
        assert_eq!(ruled(&failed, &[reject]), Fate::Rejected);
        let release = decided(What::Release { serial: serial(), after: 6 });
        assert_eq!(ruled(&failed, std::slice::from_ref(&release)), Fate::ToRepeat);
        failed.push(try_of(7, "arrival", PASS));
        assert_eq!(ruled(&failed, &[release]), Fate::Accepted);
    }
}

#[test]
fn struck_tries_a_bench_that_failed_and_later_checks_do_not_count() {
    let serial = || "pier-07".to_owned();
    let twice = tries(&[bad(1), bad(1)]);
    let strike = decided(What::Strike { serial: serial(), run: 1 });
    let ruling = rule("pier-07", &twice, std::slice::from_ref(&strike), "thorough");
    assert_eq!((ruling.fate, ruling.not_counted.len()), (Fate::ToRepeat, 1));
    let others = decided(What::Strike { serial: "pier-08".into(), run: 1 });
    assert_eq!(rule("pier-07", &twice, &[others], "thorough").fate, Fate::Rejected);

    let runs = BTreeMap::from([(serial(), vec![1, 2])]);
    let failed = decided(What::BenchFailed { jig: "0001".into(), runs });
    assert_eq!(rule("pier-07", &twice, &[failed], "thorough").fate, Fate::Waiting);

    let close = decided(What::Close { last: BTreeMap::from([(serial(), 1)]) });
    let ruling = rule("pier-07", &tries(&[PASS, bad(1), bad(1)]), &[close], "thorough");
    assert_eq!((ruling.fate, ruling.checks.len()), (Fate::Accepted, 2));
}

#[test]
fn what_a_person_decided_stands_until_released() {
    let hold = decided(What::Hold { serial: "pier-07".into(), after: 1 });
    let ruling = rule("pier-07", &tries(&[PASS, PASS]), std::slice::from_ref(&hold), "thorough");
    assert_eq!((ruling.fate, ruling.by_person), (Fate::OnHold, true));
    let mut more = tries(&[PASS, PASS]);
    more.push(try_of(3, "thorough", PASS));
    assert_eq!(rule("pier-07", &more, &[hold], "thorough").fate, Fate::OnHold);
}
