//! Which switch of an address bank is stuck, and which one was only set wrongly: from where a
//! module answered while its switches were asked to stand in one way and another.
//!
//! A switch that reads the same though it was asked to stand on here and off there is stuck. One
//! that reads the other way round in both places moves, and was set wrongly.

/// How the module read its switches at one setting, as far as its answers tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Read {
    /// As they were asked to stand.
    AsAsked,
    /// All but these (a bit each).
    Otherwise(u32),
    /// As none of those that were tried. These switches (a bit each) were not: with one of them the
    /// other way there is no address to try.
    Nowhere {
        /// A bit for each.
        untried: u32,
    },
    /// In a way that no switches explain.
    Unexplained,
}

/// One setting, and what the module made of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// How the switches were asked to stand (bit 0 is switch 1).
    pub asked: u32,
    /// How the module read them.
    pub read: Read,
}

/// What is known of a switch that the module does not read as it was asked to stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum SwitchFault {
    /// There is none.
    #[default]
    None,
    /// It may be stuck or set wrongly: it was not asked to stand in both places yet.
    Undecided,
    /// It reads the same wherever it is asked to stand.
    Stuck,
    /// It moves, but stands the other way round.
    SetWrongly,
}

impl Place {
    /// Where a switch was asked to stand.
    fn asked(&self, switch: u8) -> bool {
        self.asked >> (switch - 1) & 1 == 1
    }

    /// Where the module saw a switch, if that is known.
    fn seen(&self, switch: u8) -> Option<bool> {
        match self.read {
            Read::AsAsked => Some(self.asked(switch)),
            Read::Otherwise(others) => Some(self.asked(switch) != (others & bit(switch) != 0)),
            Read::Nowhere { .. } | Read::Unexplained => None,
        }
    }

    /// Whether a switch that always reads `on` would explain what was seen here.
    fn fits_stuck(&self, switch: u8, on: bool) -> bool {
        let reads_right = self.asked(switch) == on;
        match self.read {
            Read::AsAsked => reads_right,
            Read::Otherwise(others) => others == bit(switch) && !reads_right,
            Read::Nowhere { untried } => !reads_right && untried >> (switch - 1) & 1 == 1,
            Read::Unexplained => false,
        }
    }
}

/// The bit of a switch (from 1).
const fn bit(switch: u8) -> u32 {
    1 << (switch - 1)
}

/// What is known of one switch (from 1).
pub fn fault_of(places: &[Place], switch: u8) -> SwitchFault {
    let seen = |asked: bool| {
        let here = places.iter().filter(|p| p.asked(switch) == asked);
        here.filter_map(|p| p.seen(switch)).next_back()
    };
    match (seen(false), seen(true)) {
        (Some(false), Some(true)) => SwitchFault::None,
        (Some(true), Some(false)) => SwitchFault::SetWrongly,
        (Some(off), Some(on)) if off == on => SwitchFault::Stuck,
        (Some(true), None) | (None, Some(false)) => SwitchFault::Undecided,
        _ => SwitchFault::None,
    }
}

/// The switch that explains why the module does not answer at a place, where one does: it was seen
/// there, or what is known of it from other places leaves it no address there.
pub fn explained_by(places: &[Place], place: &Place) -> Option<u8> {
    match place.read {
        Read::AsAsked | Read::Unexplained => None,
        Read::Otherwise(switches) => (1..=32).find(|&n| switches & bit(n) != 0),
        Read::Nowhere { untried } => {
            let is_otherwise = |switch: &u8| match fault_of(places, *switch) {
                SwitchFault::SetWrongly => true,
                SwitchFault::Stuck => stuck_at(places, *switch) != Some(place.asked(*switch)),
                SwitchFault::None | SwitchFault::Undecided => false,
            };
            (1..=32).filter(|n| untried >> (n - 1) & 1 == 1).find(is_otherwise)
        }
    }
}

/// What a stuck switch reads everywhere.
fn stuck_at(places: &[Place], switch: u8) -> Option<bool> {
    places.iter().find_map(|place| place.seen(switch))
}

/// What many settings tell of a whole bank.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bank {
    /// The switches that are stuck, and whether on.
    pub stuck: Vec<(u8, bool)>,
    /// Those that were set wrongly.
    pub set_wrongly: Vec<u8>,
    /// Those of which one may be stuck, where the answers do not tell which.
    pub suspects: Vec<u8>,
    /// Whether nothing is left open.
    pub is_clear: bool,
}

/// What is known of a bank of `count` switches.
pub fn bank(places: &[Place], count: u8) -> Bank {
    let mut found = Bank { is_clear: !places.is_empty(), ..Bank::default() };
    for switch in 1..=count {
        match fault_of(places, switch) {
            SwitchFault::None => {}
            SwitchFault::Undecided => {
                found.suspects.push(switch);
                found.is_clear = false;
            }
            SwitchFault::SetWrongly => found.set_wrongly.push(switch),
            SwitchFault::Stuck => {
                found.stuck.extend(stuck_at(places, switch).map(|on| (switch, on)));
            }
        }
    }
    let is_lost = |p: &Place| p.read != Read::AsAsked && explained_by(places, p).is_none();
    if places.iter().any(is_lost) && found.stuck.is_empty() {
        // Which single stuck switch would explain all that was seen?
        let fits = |switch, on| places.iter().all(|p| p.fits_stuck(switch, on));
        let one: Vec<(u8, bool)> = (1..=count)
            .flat_map(|switch| [(switch, false), (switch, true)])
            .filter(|&(switch, on)| fits(switch, on))
            .collect();
        found.is_clear = one.len() == 1;
        if found.is_clear {
            found.suspects.clear();
            found.stuck = one;
        } else {
            found.suspects.extend(one.iter().map(|(switch, _)| *switch));
            found.suspects.sort_unstable();
            found.suspects.dedup();
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const COUNT: u8 = 6;
    const ALL: u32 = (1 << COUNT) - 1;

    /// What a module would be seen to read, of a bank that stands as `stands`.
    fn place(asked: u32, stands: u32) -> Place {
        let read = match asked ^ stands {
            0 => Read::AsAsked,
            others => Read::Otherwise(others),
        };
        Place { asked, read }
    }

    #[test]
    fn the_first_setting_alone_leaves_it_open() {
        let places = [place(0b10_0100, 0b10_0000)];
        assert_eq!(fault_of(&places, 3), SwitchFault::Undecided);
        let found = bank(&places, COUNT);
        assert_eq!((found.suspects, found.is_clear), (vec![3], false));
    }

    #[test]
    fn what_cannot_be_tried_is_told_from_the_rest() {
        // Switches 5 and 6 the other way have no address to try at the second setting. The first
        // one rules out that 6 is stuck where it was right.
        let places = [
            Place { asked: 0b01_0000, read: Read::AsAsked },
            Place { asked: 0b10_1111, read: Read::Nowhere { untried: 0b11_0000 } },
        ];
        assert_eq!(bank(&places, COUNT).suspects, [5, 6]);
        let third = Place { asked: 0b11_0000, read: Read::AsAsked };
        let found = bank(&[places[0], places[1], third], COUNT);
        assert_eq!((found.stuck, found.is_clear), (vec![(5, true)], true));
    }

    #[test]
    fn a_switch_known_from_elsewhere_explains_a_place_without_address() {
        let places = [
            Place { asked: 0b00_0000, read: Read::Otherwise(0b10_0000) },
            Place { asked: 0b10_0000, read: Read::Otherwise(0b10_0000) },
            Place { asked: 0b01_1111, read: Read::Nowhere { untried: 0b11_0000 } },
        ];
        assert_eq!(explained_by(&places, &places[2]), Some(6));
        let found = bank(&places, COUNT);
        assert_eq!((found.set_wrongly, found.is_clear), (vec![6], true));
        let stuck = [places[0], Place { asked: 0b10_0000, read: Read::AsAsked }, places[2]];
        assert_eq!(explained_by(&stuck, &stuck[2]), Some(6));
        assert_eq!(bank(&stuck, COUNT).stuck, [(6, true)]);
        // Where it was asked to stand as it is stuck, it explains nothing.
        let right = Place { asked: 0b11_1111, ..places[2] };
        assert_eq!(explained_by(&[stuck[0], stuck[1], right], &right), None);
    }

    #[test]
    fn nothing_proven_says_nothing() {
        assert!(!bank(&[], COUNT).is_clear);
        let silent = Place { asked: 1, read: Read::Nowhere { untried: 0 } };
        assert_eq!(bank(&[silent], COUNT), Bank::default());
    }

    proptest! {
        #[test]
        fn a_stuck_switch_is_named_and_nothing_else(
            first in 0..=ALL, switch in 1..=COUNT, on: bool,
        ) {
            let stand = |asked: u32| {
                let bit = 1 << (switch - 1);
                if on { asked | bit } else { asked & !bit }
            };
            let places = [first, !first & ALL].map(|asked| place(asked, stand(asked)));
            let found = bank(&places, COUNT);
            prop_assert_eq!(found.stuck, vec![(switch, on)]);
            prop_assert!(found.set_wrongly.is_empty() && found.is_clear);
        }

        #[test]
        fn a_switch_set_wrongly_is_named_and_nothing_else(first in 0..=ALL, switch in 1..=COUNT) {
            let places = [first, !first & ALL].map(|asked| place(asked, asked ^ 1 << (switch - 1)));
            let found = bank(&places, COUNT);
            prop_assert_eq!(found.set_wrongly, vec![switch]);
            prop_assert!(found.stuck.is_empty() && found.is_clear);
        }

        #[test]
        fn several_set_wrongly_are_all_named(first in 0..=ALL, wrong in 1..=ALL) {
            let places = [first, !first & ALL].map(|asked| place(asked, asked ^ wrong));
            let found = bank(&places, COUNT);
            let named: Vec<u8> = (1..=COUNT).filter(|&n| wrong & bit(n) != 0).collect();
            prop_assert_eq!(found.set_wrongly, named);
            prop_assert!(found.stuck.is_empty() && found.is_clear);
        }

        #[test]
        fn a_sound_bank_is_sound(first in 0..=ALL) {
            let places = [first, !first & ALL].map(|asked| place(asked, asked));
            let sound = Bank { is_clear: true, ..Bank::default() };
            prop_assert_eq!(bank(&places, COUNT), sound);
        }
    }
}
