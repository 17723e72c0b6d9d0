//! Every fault of the catalogue changes what there is to measure.

use super::survey::{Finding, survey};
use crate::blame::Blame;
use crate::simulated_bench::faults::place::Sits;
use crate::simulated_bench::faults::{Fault, catalogue, find};
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;

fn differences(sound: &[Finding], faulty: &[Finding]) -> Vec<String> {
    assert_eq!(sound.len(), faulty.len());
    sound
        .iter()
        .zip(faulty)
        .filter(|(a, b)| (a.1 - b.1).abs() > a.2)
        .map(|(a, b)| format!("{}: {:.4} not {:.4}", a.0, b.1, a.1))
        .collect()
}

/// Whether it has a place on the bench of the survey, where the module is alone.
fn has_place(fault: &Fault) -> bool {
    let loads = core::array::from_fn(|_| LoadModel::resistor(120.0));
    !fault.places(&Kind::example(), &loads, fault.default).is_empty()
}

/// Two sound surveys of different modules differ by no more than what counts as a difference: so
/// what the next test sees is the fault.
#[test]
fn sound_modules_look_alike() {
    let first = survey(0, vec![]);
    for seed in 1..8 {
        assert_eq!(differences(&first, &survey(seed, vec![])), Vec::<String>::new(), "seed {seed}");
    }
}

#[test]
fn every_fault_shows_at_its_default_severity() {
    let sound = survey(0, vec![]);
    for fault in catalogue().filter(|fault| has_place(fault)) {
        for seed in [0, 1] {
            let seen = differences(&sound, &survey(seed, vec![(fault, fault.default)]));
            assert!(!seen.is_empty(), "{} with seed {seed}", fault.name);
        }
    }
}

#[test]
fn no_fault_shows_without_severity() {
    let sound = survey(0, vec![]);
    for fault in catalogue().filter(|f| f.minimum == 0.0) {
        let seen = differences(&sound, &survey(0, vec![(fault, 0.0)]));
        assert_eq!(seen, Vec::<String>::new(), "{}", fault.name);
    }
}

#[test]
fn catalogue_is_in_order() {
    let mut names: Vec<_> = catalogue().map(|f| f.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), catalogue().count(), "a name stands twice");
    for fault in catalogue() {
        assert!((fault.minimum..=fault.maximum).contains(&fault.default), "{}", fault.name);
        assert_eq!(find(fault.name), Some(fault));
        let good = |c: char| c.is_ascii_lowercase() || c == '-';
        assert!(fault.name.chars().all(good), "{}", fault.name);
    }
    for class in [Blame::Module, Blame::Setting, Blame::Lead, Blame::Load, Blame::Jig] {
        assert!(catalogue().any(|f| f.class == class), "{class}");
    }
    assert!(catalogue().all(|f| f.class != Blame::Unsure), "whose fault it is is always known");
    assert_eq!(find("no-such-fault"), None);
}

/// Each fault has as many places as what it sits on has on this bench.
#[test]
fn every_place_is_told() {
    let kind = Kind::example();
    let loads = core::array::from_fn(|_| LoadModel::resistor(120.0));
    let outputs = usize::from(kind.outputs);
    for fault in catalogue() {
        let places = fault.places(&kind, &loads, fault.default);
        let wanted = match fault.sits {
            Sits::Whole | Sits::FormatSwitch | Sits::AuxiliarySupply | Sits::SwitchBank => 1,
            Sits::RectifierHalf => 2,
            Sits::NeighbouringClamps => 2 * outputs - 1,
            // On a feed of its own it has no next one.
            Sits::NextModule => 0,
            Sits::Output | Sits::OutputOfSeveral => outputs,
            Sits::TwoOutputs => outputs * (outputs - 1) / 2,
            Sits::Contact | Sits::RealLoad | Sits::WireAndCommon => 2 * outputs,
            // All eight closers, or any one of the loads.
            Sits::Contacts if fault.default == 8.0 => 1,
            Sits::Contacts => 2 * outputs,
            Sits::AddressSwitch | Sits::AddressSwitches => {
                kind.switch_weights.iter().filter(|weight| **weight > 0).count()
            }
        };
        assert_eq!(places.len(), wanted, "{}", fault.name);
        assert!(places.iter().all(|place| !place.to_string().is_empty()));
    }
}
