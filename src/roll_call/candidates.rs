//! Where a module answers most likely: where it should, a group either side, with one switch set
//! the other way, in the other format, where its kind is tried first.

use super::target::{GROUP, Target};
use crate::script::module_sheet::ModuleSheet;
use crate::signal::target::Format;

/// Why a module may answer there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// Its maker counts groups the other way: one group lower.
    GroupBelow,
    /// One group higher.
    GroupAbove,
    /// This switch, counted from 1, is set the other way.
    Switch(u8),
    /// It listens to the other format.
    OtherFormat,
    /// Where modules of its kind are tried first: nobody has set its switches yet.
    Usual,
    /// Its switches are set as those of another kind should be.
    AsAnother,
}

/// Another first output than the expected one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// Where output 1 would be.
    pub first: Target,
    /// Why.
    pub why: Why,
}

/// The candidates beside the expected target, the likeliest first. Each target stands there once.
pub fn candidates(
    sheet: &ModuleSheet,
    address: u16,
    expected: Target,
    formats: &[Format],
) -> Vec<Candidate> {
    let mut list: Vec<Candidate> = Vec::new();
    let mut push = |first: Option<Target>, why: Why| {
        let Some(first) = first else { return };
        let is_new = first != expected && !list.iter().any(|c| c.first == first);
        if is_new && formats.contains(&first.format) {
            list.push(Candidate { first, why });
        }
    };
    let group = i32::from(GROUP);
    push(expected.plus(-group), Why::GroupBelow);
    push(expected.plus(group), Why::GroupAbove);
    let (bank, format) = (&sheet.switches, expected.format);
    if let Some(set) = bank.switches_for(address, format) {
        for (switch, weight) in (0u8..).zip(&bank.weights) {
            if *weight > 0 {
                let shift = bank.address_of(set ^ 1 << switch) - i64::from(address);
                let shift = i32::try_from(shift).unwrap_or(i32::MAX);
                push(expected.plus(shift), Why::Switch(switch + 1));
            }
        }
    }
    for &other in formats.iter().filter(|&&other| other != format) {
        push(Target::of(other, sheet.numbering, address), Why::OtherFormat);
    }
    push(Target::of(bank.usual_format, sheet.numbering, sheet.try_address), Why::Usual);
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::shipped;

    fn of(kind: &str, address: u16, format: Format) -> Vec<(Option<u16>, Why)> {
        let sheet = shipped::module_sheet(kind).unwrap();
        let expected = Target::of(format, sheet.numbering, address).unwrap();
        candidates(&sheet, address, expected, &sheet.switches.formats())
            .into_iter()
            .map(|c| (c.first.address(sheet.numbering), c.why))
            .collect()
    }

    #[test]
    fn either_side_then_each_switch_then_the_other_format() {
        let list = of("pier-four", 181, Format::Dcc);
        assert_eq!(list[..2], [(Some(177), Why::GroupBelow), (Some(185), Why::GroupAbove)]);
        // Group 46 is switches 3, 4 and 8. Flipping switch 2 gives 185, which stands there already.
        assert!(list.contains(&(Some(181 - 8), Why::Switch(3))));
        assert!(list.contains(&(Some(181 + 800), Why::Switch(11))));
        assert!(!list.contains(&(Some(185), Why::Switch(2))));
        assert_eq!(list.last(), Some(&(Some(181), Why::OtherFormat)));
        assert_eq!(list.len(), 2 + 9 + 1);
    }

    #[test]
    fn each_stands_there_once_and_within_its_format() {
        for kind in shipped::MODULE_SHEETS {
            let sheet = shipped::module_sheet(kind.name).unwrap();
            for format in sheet.switches.formats() {
                for address in 1..=Target::count(format) - 8 {
                    if sheet.switches.switches_for(address, format).is_none() {
                        continue;
                    }
                    let list = of(kind.name, address, format);
                    let mut places: Vec<_> = list.iter().map(|(address, _)| address).collect();
                    places.sort_unstable();
                    // The same address in the other format is another target.
                    let others =
                        list.iter().filter(|(_, why)| matches!(why, Why::OtherFormat | Why::Usual));
                    let others = others.count();
                    places.dedup();
                    assert!(places.len() + others >= list.len(), "{list:?}");
                    assert!(list.len() <= 2 + sheet.switches.weights.len() + 2);
                }
            }
        }
    }
}
