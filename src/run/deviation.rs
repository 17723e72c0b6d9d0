//! A module that answers elsewhere than its switches were asked to stand for, setting by setting: what
//! explains all of it at once. What follows from what was told already is not told again.

use super::outcome::AnswersAt;
use crate::judge::switches::{Place, Read};
use crate::roll_call::target::GROUP;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::BankSetting;

/// One setting, and where the module answered instead.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deviation {
    /// How the switches were asked to stand.
    pub asked: BankSetting,
    /// Where it answered.
    pub at: AnswersAt,
}

/// What explains where a module answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Explanation {
    /// It reads these switches (a bit each) the other way.
    Switches(u32),
    /// It reads its switches as they were asked to stand, and counts so many addresses further.
    Counting(i64),
}

impl Deviation {
    /// How many addresses further than asked, in the format that was asked for.
    fn further(&self) -> Option<i64> {
        let by = i64::from(self.at.address) - i64::from(self.asked.address);
        (self.at.format == self.asked.format && by != 0).then_some(by)
    }

    /// Whether it would answer there with these switches the other way.
    fn fits(&self, sheet: &ModuleSheet, otherwise: u32) -> bool {
        let set = self.asked.switches ^ otherwise;
        sheet.switches.address_of(set) == i64::from(self.at.address)
            && sheet.switches.format_of(set) == self.at.format
    }

    /// Whether it answers one group away, as a module does that counts groups the other way.
    pub fn is_a_group_away(&self) -> bool {
        self.further().map(i64::abs) == Some(i64::from(GROUP))
    }
}

/// The simplest that explains all of them: a few switches, else another way to count, else many
/// switches. `None` where nothing does.
pub fn explanation(sheet: &ModuleSheet, all: &[Deviation]) -> Option<Explanation> {
    let fewest = |some: &[Deviation]| {
        let with_meaning = sheet.switches.with_meaning();
        (1..1u32 << sheet.switches.weights.len())
            .filter(|otherwise| otherwise & !with_meaning == 0)
            .filter(|otherwise| some.iter().all(|one| one.fits(sheet, *otherwise)))
            .min_by_key(|otherwise| otherwise.count_ones())
    };
    let (first, rest) = all.split_first()?;
    let switches = fewest(all);
    let alone = fewest(core::slice::from_ref(first)).map_or(0, u32::count_ones);
    if let Some(few) = switches.filter(|set| set.count_ones() <= alone) {
        return Some(Explanation::Switches(few));
    }
    let by = first.further().filter(|by| rest.iter().all(|one| one.further() == Some(*by)));
    by.map(Explanation::Counting).or(switches.map(Explanation::Switches))
}

/// Whether a deviation follows from those that were told before.
pub fn follows(sheet: &ModuleSheet, told: &[Deviation], now: Deviation) -> bool {
    let Some(before) = explanation(sheet, told) else { return false };
    let all: Vec<Deviation> = told.iter().copied().chain([now]).collect();
    match explanation(sheet, &all) {
        Some(Explanation::Counting(_)) => {
            // That it may count so was told together with the switches that would explain it too.
            now.is_a_group_away() || matches!(before, Explanation::Counting(_))
        }
        after => after == Some(before),
    }
}

/// What the proof of one setting has shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proven {
    /// How the switches were asked to stand.
    pub asked: BankSetting,
    /// Where the module answered.
    pub seen: Seen,
}

/// Where a module answered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seen {
    /// Where it was asked.
    Here,
    /// Elsewhere.
    At(AnswersAt),
    /// Nowhere. With these switches (a bit each) the other way there is no address to try.
    Nowhere { untried: u32 },
}

/// How the module read its switches at each setting: what explains all of them, else each for itself.
pub fn places(sheet: &ModuleSheet, proven: &[Proven]) -> Vec<Place> {
    let deviation = |one: &Proven| match one.seen {
        Seen::At(at) => Some(Deviation { asked: one.asked, at }),
        Seen::Here | Seen::Nowhere { .. } => None,
    };
    let all: Vec<Deviation> = proven.iter().filter_map(deviation).collect();
    let common = explanation(sheet, &all);
    let read = |one: &Proven| match one.seen {
        Seen::Here => Read::AsAsked,
        Seen::Nowhere { untried } => Read::Nowhere { untried },
        Seen::At(at) => {
            let alone = || explanation(sheet, &[Deviation { asked: one.asked, at }]);
            match common.or_else(alone) {
                Some(Explanation::Switches(others)) => Read::Otherwise(others),
                Some(Explanation::Counting(_)) if all.len() > 1 => Read::AsAsked,
                Some(Explanation::Counting(_)) | None => Read::Unexplained,
            }
        }
    };
    proven.iter().map(|one| Place { asked: one.asked.switches, read: read(one) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::address::set_to;
    use crate::script::every_switch::every_switch;
    use crate::script::shipped;
    use proptest::prelude::*;

    fn bank(sheet: &ModuleSheet, switches: u32) -> BankSetting {
        let bank = &sheet.switches;
        BankSetting {
            switches,
            count: bank.weights.len() as u8,
            address: u16::try_from(bank.address_of(switches)).unwrap(),
            format: bank.format_of(switches),
        }
    }

    /// All settings of `thorough`.
    fn settings(sheet: &ModuleSheet) -> Vec<BankSetting> {
        let first = i64::from(sheet.try_address);
        let (_, set) = set_to(sheet, first, sheet.switches.usual_format).unwrap();
        let others = every_switch(sheet, set).settings;
        [set].into_iter().chain(others).map(|set| bank(sheet, set)).collect()
    }

    fn reads(sheet: &ModuleSheet, asked: BankSetting, otherwise: u32) -> Option<Deviation> {
        let set = asked.switches ^ otherwise;
        let address = u16::try_from(sheet.switches.address_of(set)).ok()?;
        let at = AnswersAt { address, format: sheet.switches.format_of(set) };
        Some(Deviation { asked, at })
    }

    #[test]
    fn a_switch_set_wrongly_is_told_once() {
        for kind in shipped::MODULE_SHEETS {
            let sheet = shipped::module_sheet(kind.name).unwrap();
            for switch in 0..sheet.switches.weights.len() {
                let at = |asked| reads(&sheet, asked, 1 << switch);
                let all: Vec<Deviation> = settings(&sheet).into_iter().filter_map(at).collect();
                for told in 1..all.len() {
                    assert!(follows(&sheet, &all[..told], all[told]), "{} {switch}", sheet.kind);
                }
            }
        }
    }

    #[test]
    fn another_way_to_count_is_told_once_and_told_from_a_switch() {
        let sheet = shipped::module_sheet("pier-four").unwrap();
        let further = |asked: BankSetting| Deviation {
            asked,
            at: AnswersAt { address: asked.address + 4, format: asked.format },
        };
        let all: Vec<Deviation> = settings(&sheet).into_iter().map(further).collect();
        assert!(all[0].is_a_group_away());
        assert!(matches!(explanation(&sheet, &all[..1]), Some(Explanation::Switches(_))));
        assert_eq!(explanation(&sheet, &all), Some(Explanation::Counting(4)));
        assert!(follows(&sheet, &all[..2], all[2]));
    }

    #[test]
    fn another_deviation_does_not_follow() {
        let sheet = shipped::module_sheet("pier-four").unwrap();
        let all = settings(&sheet);
        let first = reads(&sheet, all[0], 1 << 7).unwrap();
        let other = reads(&sheet, all[1], 1 << 5).unwrap();
        assert!(!follows(&sheet, &[first], other));
        assert!(!follows(&sheet, &[], first));
        assert_eq!(explanation(&sheet, &[]), None);
    }

    proptest! {
        /// What explains a deviation does so, and needs no more switches than were the other way.
        #[test]
        fn as_few_switches_as_can_be(otherwise in 1u32..1 << 7) {
            let sheet = shipped::module_sheet("quay-four").unwrap();
            let asked = settings(&sheet)[0];
            let one = reads(&sheet, asked, otherwise).unwrap();
            let Some(Explanation::Switches(found)) = explanation(&sheet, &[one]) else {
                panic!("nothing explains it")
            };
            prop_assert!(one.fits(&sheet, found));
            prop_assert!(found.count_ones() <= otherwise.count_ones());
        }
    }
}
