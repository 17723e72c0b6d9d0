//! Which settings of a bank show every switch in both places, in as few as can be.
//!
//! One setting shows each switch in one place. So what is wanted are settings that together show
//! each in the other one. Only such settings count for which every output has an address of its
//! own, so the one that moves all switches at once is often none of them.

use super::address::have_their_own;
use super::module_sheet::ModuleSheet;

/// Up to so many switches the fewest settings are found for certain, however many that are. With
/// more of them that holds for up to two settings; from three on there may be one too many.
const CERTAIN: u32 = 12;

/// What shows every switch in both places.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EverySwitch {
    /// The settings besides the first one, in the order in which to set them (bit 0 is switch 1).
    /// Those of the first one's format come last.
    pub settings: Vec<u32>,
    /// Switches (from 1) that have a meaning, but that no setting shows in their other place.
    pub never: Vec<u8>,
}

/// The settings that together with the `first` one show every switch in both places.
pub fn every_switch(sheet: &ModuleSheet, first: u32) -> EverySwitch {
    let with_meaning = sheet.switches.with_meaning();
    let bank = &sheet.switches;
    let counts: Vec<bool> = (0..1u32 << bank.weights.len())
        .map(|moved| {
            let set = first ^ moved;
            moved & !with_meaning == 0
                && have_their_own(sheet, bank.address_of(set), bank.format_of(set))
        })
        .collect();
    let shown = Movers::new(&counts, |moved| moved);
    let never: Vec<u8> =
        switches(with_meaning).filter(|n| shown.least(1 << (n - 1)).is_none()).collect();
    let need = never.iter().fold(with_meaning, |need, n| need & !(1 << (n - 1)));
    let (count, fewest) =
        (0..).find_map(|count| Some((count, shown.cover(need, count)?))).unwrap_or_default();
    // As many, but such that each single switch that did not follow would leave the module an
    // address where it can be found.
    let told = Movers::new(&counts, |moved| {
        let is_found = |n: &u8| counts[(moved ^ 1 << (n - 1)) as usize];
        switches(moved).filter(is_found).fold(0, |told, n| told | 1 << (n - 1))
    });
    let moved = told.cover(need, count).unwrap_or(fewest);
    let mut settings: Vec<u32> = moved.into_iter().map(|moved| first ^ moved).collect();
    let is_of_firsts_format = |s: u32| bank.format_of(s) == bank.format_of(first);
    settings.sort_by_key(|&s| (is_of_firsts_format(s), (s ^ first).count_ones()));
    EverySwitch { settings, never }
}

/// The switches (from 1) whose bits are set.
pub fn switches(bits: u32) -> impl Iterator<Item = u8> {
    (1..=32u8).filter(move |n| bits >> (n - 1) & 1 == 1)
}

/// What can be moved at once: sets of switches, a bit each, whose move away from the first setting
/// makes one that counts.
struct Movers {
    /// For every set of switches the least one to move that shows them all; `NONE` for none.
    least: Vec<u32>,
    /// Which switches each set shows when it is moved.
    shows: Vec<u32>,
}

const NONE: u32 = u32::MAX;

impl Movers {
    /// Of the sets that count, each of which `shows` some of its switches.
    fn new(counts: &[bool], shows: impl Fn(u32) -> u32) -> Self {
        let shows: Vec<u32> = (0u32..)
            .zip(counts)
            .map(|(moved, counts)| if *counts { shows(moved) } else { 0 })
            .collect();
        let mut least = vec![NONE; counts.len()];
        let put = |least: &mut Vec<u32>, set: usize, moved: u32| {
            if moved != NONE && (least[set] == NONE || moved.count_ones() < least[set].count_ones())
            {
                least[set] = moved;
            }
        };
        for (moved, set) in (0u32..).zip(&shows).filter(|(moved, _)| counts[*moved as usize]) {
            put(&mut least, *set as usize, moved);
        }
        // From each set to those with one switch less; so every set hears of all that hold it.
        for bit in 0..counts.len().ilog2() {
            for set in 0..counts.len() {
                let with = least[set | 1 << bit];
                put(&mut least, set, with);
            }
        }
        Movers { least, shows }
    }

    /// The least set to move that shows all of `need`.
    fn least(&self, need: u32) -> Option<u32> {
        self.least.get(need as usize).copied().filter(|&moved| moved != NONE)
    }

    fn shown(&self, moved: u32) -> u32 {
        self.shows[moved as usize]
    }

    /// At most `count` sets to move that together show `need`.
    fn cover(&self, need: u32, count: u32) -> Option<Vec<u32>> {
        if need == 0 {
            return Some(Vec::new());
        }
        if count == 0 {
            return None;
        }
        if count == 1 {
            return self.least(need).map(|moved| vec![moved]);
        }
        // One of the sets shows the first switch that is needed. Of what it shows besides, more
        // never hurts.
        let first = need & need.wrapping_neg();
        let parts = subsets(need)
            .filter(|part| part & first != 0)
            .filter_map(|part| self.least(part).filter(|moved| self.shown(*moved) & need == part));
        let with_rest = |moved: u32| {
            let mut sets = self.cover(need & !self.shown(moved), count - 1)?;
            sets.push(moved);
            Some(sets)
        };
        if count == 2 {
            // The least to move, and a small step first.
            let moves = |sets: &Vec<u32>| {
                let each = sets.iter().map(|set| set.count_ones());
                (each.clone().sum::<u32>(), each.min())
            };
            return parts.filter_map(with_rest).min_by_key(moves);
        }
        if need.count_ones() <= CERTAIN {
            return { parts }.find_map(with_rest);
        }
        parts.max_by_key(|moved| (self.shown(*moved) & need).count_ones()).and_then(with_rest)
    }
}

/// All subsets of a set of bits but the empty one, the whole first.
fn subsets(of: u32) -> impl Iterator<Item = u32> {
    std::iter::successors(Some(of), move |&set| (set != 0).then(|| (set - 1) & of))
        .take_while(|&set| set != 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::address::set_to;
    use crate::script::module_sheet::SwitchBank;
    use crate::script::shipped;
    use crate::signal::target::Format;
    use proptest::prelude::*;

    /// Each switch is shown in both places, by settings that have addresses of their own.
    fn check(sheet: &ModuleSheet, first: u32, found: &EverySwitch) {
        let bank = &sheet.switches;
        let (mut on, mut off) = (first, !first);
        for &set in &found.settings {
            assert!(have_their_own(sheet, bank.address_of(set), bank.format_of(set)), "{set:b}");
            on |= set;
            off |= !set;
        }
        for switch in switches(bank.with_meaning()).filter(|n| !found.never.contains(n)) {
            assert!(on & off & 1 << (switch - 1) != 0, "switch {switch} of {bank:?} {found:?}");
        }
    }

    #[test]
    fn the_shipped_kinds_need_two_prompts_at_most() {
        let found = |kind, first, format| {
            let sheet = shipped::module_sheet(kind).unwrap();
            let (_, set) = set_to(&sheet, first, format).unwrap();
            let found = every_switch(&sheet, set);
            check(&sheet, set, &found);
            assert_eq!(found.never, [0u8; 0]);
            let bank = &sheet.switches;
            let say = |s: &u32| format!("{} {}", bank.address_of(*s), bank.format_of(*s));
            found.settings.iter().map(say).collect::<Vec<_>>()
        };
        // All but the format switch at once: 465 - 46 is group 419. In trinary there is no such
        // group, so the format switch goes alone.
        assert_eq!(found("pier-four", 181, Format::Dcc), ["181 trinary", "1673 dcc"]);
        // 127 - 22: all at once.
        assert_eq!(found("quay-four", 217, Format::Dcc), ["549 dcc"]);
        // 120 - 13 is group 107, beyond the last one.
        assert_eq!(found("jetty-two", 49, Format::Trinary).len(), 2);
    }

    #[test]
    fn every_first_address_of_every_shipped_kind() {
        for shipped in shipped::MODULE_SHEETS {
            let sheet = shipped::module_sheet(shipped.name).unwrap();
            for format in sheet.switches.formats() {
                for first in crate::script::address::addresses(&sheet, format).iter().step_by(7) {
                    let (_, set) = set_to(&sheet, i64::from(*first), format).unwrap();
                    let found = every_switch(&sheet, set);
                    check(&sheet, set, &found);
                    assert!(found.settings.len() <= 3, "{} {first} {found:?}", sheet.kind);
                }
            }
        }
    }

    #[test]
    fn a_switch_without_an_address_is_named() {
        let mut sheet = shipped::module_sheet("jetty-two").unwrap();
        sheet.switches.weights.push(200);
        let (_, set) = set_to(&sheet, 49, Format::Trinary).unwrap();
        let found = every_switch(&sheet, set);
        check(&sheet, set, &found);
        assert_eq!(found.never, [9]);
    }

    /// The fewest settings by trying all, one more at a time.
    fn fewest(sheet: &ModuleSheet, first: u32, need: u32) -> usize {
        let bank = &sheet.switches;
        let moves: Vec<u32> = (0..1u32 << bank.weights.len())
            .filter(|set| have_their_own(sheet, bank.address_of(*set), bank.format_of(*set)))
            .map(|set| (set ^ first) & need)
            .collect();
        let mut reached = vec![0];
        let mut count = 0;
        while !reached.contains(&need) {
            reached = reached.iter().flat_map(|r| moves.iter().map(move |m| r | m)).collect();
            reached.sort_unstable();
            reached.dedup();
            count += 1;
        }
        count
    }

    proptest! {
        #[test]
        fn no_fewer_settings_would_do(
            weights in proptest::collection::vec(0u16..90, 1..7),
            format_switch: bool,
            base in -8i32..5,
            step in 1u16..6,
            first: u32,
        ) {
            let mut sheet = shipped::module_sheet("pier-four").unwrap();
            let mut weights = weights;
            let format_switch = format_switch.then(|| {
                weights.push(0);
                weights.len() as u8
            });
            sheet.switches = SwitchBank {
                weights, format_switch, base, step,
                format_when_on: Format::Trinary, format_when_off: Format::Dcc,
                usual_format: Format::Dcc,
            };
            let bank = &sheet.switches;
            let first = first & ((1 << bank.weights.len()) - 1);
            prop_assume!(have_their_own(&sheet, bank.address_of(first), bank.format_of(first)));
            let found = every_switch(&sheet, first);
            check(&sheet, first, &found);
            let need = switches(bank.with_meaning())
                .filter(|n| !found.never.contains(n))
                .fold(0, |need, n| need | 1 << (n - 1));
            prop_assert_eq!(found.settings.len(), fewest(&sheet, first, need));
        }
    }
}
