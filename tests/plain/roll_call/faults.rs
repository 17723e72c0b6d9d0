//! What faults of module, setting, lead and jig make of a roll-call.

use crate::kit::roll_call::{addresses, bench, call, sheet, usual};
use musterbench::judge::reading::Verdict;
use musterbench::roll_call::answer::{Contacts, RollCall, Sense, Short, Silence};
use musterbench::signal::target::Format;
use musterbench::simulated_bench::faults::find;

const PIER: (&str, u16, Format) = ("pier-four", 181, Format::Dcc);

/// A roll-call of a bench with a fault at its usual severity.
fn with(fault: &str, seed: u64) -> RollCall {
    let severity = find(fault).unwrap_or_else(|| panic!("no fault {fault}")).default;
    with_faults(&[(fault, severity)], seed)
}

fn with_faults(faults: &[(&str, f64)], seed: u64) -> RollCall {
    let (kind, first, format) = PIER;
    let sheet = sheet(kind);
    let roll = call(&usual(&sheet), bench(&sheet, (first, format), faults, seed));
    assert!(roll.effort.packets <= roll.bound.most.packets);
    assert!(roll.effort.wire <= roll.bound.most.wire);
    roll
}

fn found(roll: &RollCall) -> Vec<Option<u16>> {
    addresses(roll, &sheet(PIER.0))
}

const HERE: [Option<u16>; 4] = [Some(181), Some(182), Some(183), Some(184)];

#[test]
fn what_does_not_concern_addresses_does_not_matter() {
    for fault in [
        "auxiliary-left-on",
        "auxiliary-dead",
        "lamp-dead",
        "lamp-rhythm-off",
        "jig-load-open",
        "jig-load-drifted",
        "load-supply-low",
        "dead-contact-input",
        "slow-output",
        "slow-boot",
        "contact-burnt",
        "high-idle-current",
    ] {
        let roll = with(fault, 1);
        assert_eq!((roll.verdict(), found(&roll)), (Verdict::Pass, HERE.into()), "{fault}");
    }
}

#[test]
fn crossed_and_swapped() {
    for (fault, seed) in
        ["outputs-crossed", "output-leads-swapped"].into_iter().flat_map(|f| [(f, 1), (f, 2)])
    {
        let roll = with(fault, seed);
        let mut seen = found(&roll);
        assert_ne!(seen, HERE, "{fault}");
        seen.sort_unstable();
        assert_eq!(seen, HERE, "{fault}");
        assert!(roll.own().unwrap().answers.iter().all(|a| a.sense == Sense::Right));
        assert_eq!(roll.verdict(), Verdict::Fail);
    }
    for fault in ["positions-swapped", "clamp-leads-swapped"] {
        let roll = with(fault, 1);
        assert_eq!((roll.verdict(), found(&roll)), (Verdict::Fail, HERE.into()));
        let swapped = roll.own().unwrap().answers.iter().filter(|a| a.sense == Sense::Swapped);
        assert_eq!(swapped.count(), 1, "{fault}");
    }
}

#[test]
fn outputs_that_do_not_do_as_they_should() {
    let follows = with("neighbour-follows", 1);
    assert_eq!(follows.own().unwrap().answers.iter().filter(|a| !a.also.is_empty()).count(), 1);
    for fault in ["output-stuck", "weak-coil"] {
        let roll = with(fault, 1);
        // Its coil pulls, its load does not move: it has the address that its place says.
        assert_eq!((roll.verdict(), found(&roll)), (Verdict::Fail, HERE.into()), "{fault}");
        assert_eq!(roll.own().unwrap().answers.iter().filter(|a| a.output.is_none()).count(), 1);
    }
    let one_way = with("coil-driver-open", 1);
    assert_eq!(one_way.own().unwrap().answers.iter().filter(|a| a.only.is_some()).count(), 1);
    for roll in [follows, one_way] {
        assert_eq!(roll.verdict(), Verdict::Fail);
    }
}

/// Both coils of output 1 dead, and the module elsewhere: another pair finds it.
#[test]
fn a_dead_output_1_is_no_obstacle() {
    let sheet = sheet(PIER.0);
    // The seed decides which output the fault hits.
    let stuck = |seed| {
        let faults = [("weak-coil", 0.99)];
        call(&usual(&sheet), bench(&sheet, (401, Format::Dcc), &faults, seed))
    };
    let mut hit = 0;
    for seed in 1..=12 {
        let roll = stuck(seed);
        let others: Vec<_> = addresses(&roll, &sheet).into_iter().flatten().collect();
        assert_eq!(others.len(), 3, "seed {seed}: {roll:#?}");
        assert!(others.iter().all(|a| (401..=404).contains(a)));
        assert_eq!(roll.verdict(), Verdict::Fail);
        hit += u32::from(!others.contains(&401));
        if hit > 0 {
            return;
        }
    }
    panic!("no seed hits output 1");
}

#[test]
fn settings_and_polarity() {
    for (fault, first) in [("one-group-away", 185), ("wrong-format", 181)] {
        let roll = with(fault, 1);
        let want: Vec<_> = (first..first + 4).map(Some).collect();
        assert_eq!(found(&roll), want, "{fault}");
        assert_eq!(roll.verdict(), Verdict::Fail);
    }
    assert_eq!(with("wrong-format", 1).own().unwrap().first.format, Format::Trinary);
    let turned = with("feed-wires-swapped", 1);
    assert!(turned.own().unwrap().inverted);
    assert_eq!((turned.verdict(), found(&turned)), (Verdict::Fail, HERE.into()));
}

#[test]
fn a_module_that_wants_more_packets_is_found_and_fails() {
    let roll = with("needs-more-packets", 1);
    assert_eq!(found(&roll), HERE);
    assert!(roll.is_stubborn(roll.own().unwrap()));
    assert_eq!(roll.verdict(), Verdict::Fail);
}

#[test]
fn nothing_answers_and_why() {
    let short = with("rectifier-shorted", 1);
    assert!(matches!(
        short.silence,
        Some(Silence::Shorted { what: Short::FeedWires, ohm: Some(_) })
    ));
    let off = with("feed-lead-off", 1);
    assert!(matches!(off.silence, Some(Silence::Dark { .. })));
    for roll in [&short, &off] {
        assert_eq!(roll.effort.packets, 0);
    }
    let deaf = with("hard-of-hearing", 1);
    assert!(matches!(
        deaf.silence,
        Some(Silence::Unmoved { contacts: Contacts::Work, hears_broadcast: false, .. })
    ));
    let weak = with_faults(&[("weak-feed", 200.0)], 1);
    assert!(matches!(weak.silence, Some(Silence::Unmoved { contacts: Contacts::Dead, .. })));
    for roll in [short, off, deaf, weak] {
        assert!(roll.own().is_none());
        assert_eq!(roll.verdict(), Verdict::Fail);
    }
    // Switches that mean the broadcast group.
    let sheet = sheet(PIER.0);
    let mut setup = bench(&sheet, (PIER.1, PIER.2), &[], 1);
    setup.kind.switch_weights[10] += 46;
    setup.switches = 0x7FE;
    let roll = call(&usual(&sheet), setup);
    assert!(matches!(roll.silence, Some(Silence::Unmoved { hears_broadcast: true, .. })));
}

/// One packet in ten is missed, and the module stands anywhere.
#[test]
fn damaged_packets_cost_passes_at_most() {
    let sheet = sheet(PIER.0);
    for (seed, first) in [(1, 1013), (2, 181), (3, 1721), (4, 5)] {
        let faults = [("hard-of-hearing", 0.1)];
        let roll = call(&usual(&sheet), bench(&sheet, (first, Format::Dcc), &faults, seed));
        let want: Vec<_> = (first..first + 4).map(Some).collect();
        assert_eq!(addresses(&roll, &sheet), want);
        assert!(roll.effort.packets <= roll.bound.most.packets);
    }
}
