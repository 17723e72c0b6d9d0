//! A module of another kind than was asked for, or of a kind that nobody has named.

use crate::kit::roll_call::{bench, call, sheet, usual};
use musterbench::roll_call::Question;
use musterbench::roll_call::answer::Silence;
use musterbench::script::shipped::{MODULE_SHEETS, other_kinds};

/// Benches and modules that no other test draws.
const SEED: u64 = 6100;

#[test]
fn the_kind_that_answers_is_named_whatever_sheet_was_given() {
    for asked in MODULE_SHEETS {
        let sheet_asked = sheet(asked.name);
        let kinds = other_kinds(&sheet_asked);
        for seated in MODULE_SHEETS {
            let own = sheet(seated.name);
            for (nth, kind_given) in [true, false].into_iter().enumerate() {
                let what =
                    format!("{} asked as a {}, given: {kind_given}", seated.name, asked.name);
                let at = (own.try_address, own.switches.usual_format);
                let question =
                    Question { kinds: &kinds, kind_given, wanted: false, ..usual(&sheet_asked) };
                let roll = call(&question, bench(&own, at, &[], SEED + nth as u64));
                let found = roll.own().unwrap_or_else(|| panic!("{what}: nothing"));
                let first = found.first_by_loads();
                assert_eq!(
                    (first.address(own.numbering), first.format),
                    (Some(at.0), at.1),
                    "{what}"
                );
                assert_eq!(roll.fits, [seated.name], "{what}: {:?}", roll.took);
                assert!(roll.effort.packets <= roll.bound.most.packets, "{what}");
                assert!(roll.took <= roll.bound.at_most, "{what}");
                assert!(roll.took.as_secs() < 50, "{what}: {:?}", roll.took);
                // A kind that was named stays, where some outputs may only be dead.
                if !kind_given {
                    assert_eq!(question.sheet_of(&roll).kind, seated.name, "{what}");
                    assert_eq!(roll.outputs, own.outputs, "{what}");
                }
                assert_eq!(roll.judged(), None, "{what}");
            }
        }
    }
}

#[test]
fn a_roll_call_that_finds_nothing_keeps_within_its_bound() {
    for kind in MODULE_SHEETS {
        let sheet = sheet(kind.name);
        let kinds = other_kinds(&sheet);
        let question = Question { kinds: &kinds, ..usual(&sheet) };
        let at = (sheet.try_address, sheet.switches.usual_format);
        let roll = call(&question, bench(&sheet, at, &[("hard-of-hearing", 1.0)], SEED));
        assert!(matches!(roll.silence, Some(Silence::Unmoved { .. })), "{:?}", roll.silence);
        assert!(roll.effort.packets <= roll.bound.most.packets);
        let (took, at_most) = (roll.took, roll.bound.at_most);
        assert!(took <= at_most, "{}: {took:?} of {at_most:?}", kind.name);
    }
}
