//! From an address to the switches of a bank, and back.

use super::module_sheet::{ModuleSheet, SwitchBank};
use crate::signal::address::{broadcast, check_module};
use crate::signal::target::Format;
use crate::signal::telegram::highest_address;

impl SwitchBank {
    /// The formats that it can choose, the usual one first.
    pub fn formats(&self) -> Vec<Format> {
        let both = [self.format_when_on, self.format_when_off];
        let other = both.into_iter().find(|format| *format != self.usual_format);
        core::iter::once(self.usual_format).chain(other).collect()
    }

    /// The first address that switch settings mean (bit 0 is switch 1).
    pub fn address_of(&self, switches: u32) -> i64 {
        let sum: i64 = (self.weights.iter().enumerate())
            .filter(|(i, _)| switches >> i & 1 == 1)
            .map(|(_, weight)| i64::from(*weight))
            .sum();
        sum * i64::from(self.step) + i64::from(self.base)
    }

    /// The format that switch settings choose.
    pub fn format_of(&self, switches: u32) -> Format {
        match self.format_switch {
            Some(switch) if switches >> (switch - 1) & 1 == 0 => self.format_when_off,
            _ => self.format_when_on,
        }
    }

    /// The switches whose place means something, a bit each: those that add to the address, and the
    /// one that chooses between two formats.
    pub fn with_meaning(&self) -> u32 {
        let chooses = |n: u8| self.format_switch == Some(n) && self.formats().len() > 1;
        (1u8..)
            .zip(&self.weights)
            .filter(|(n, weight)| **weight > 0 || chooses(*n))
            .fold(0, |bits, (n, _)| bits | 1 << (n - 1))
    }

    /// The switch settings for a first address in a format (bit 0 is switch 1), with as few
    /// switches on as can be; `None` when the bank cannot be set so.
    pub fn switches_for(&self, address: u16, format: Format) -> Option<u32> {
        let format_bit = self.format_bit(format)?;
        let sum = self.sum_for(i64::from(address))?;
        let fewest = self.fewest_switches(sum);
        Some(fewest.get(sum).copied().flatten()? | format_bit)
    }

    /// All first addresses from 1 to `highest` that it can be set to in a format, in their order.
    pub fn addresses(&self, format: Format, highest: u16) -> Vec<u16> {
        if self.format_bit(format).is_none() {
            return Vec::new();
        }
        let most = self.weights.iter().map(|w| usize::from(*w)).sum();
        let fewest = self.fewest_switches(most);
        let is_reached = |address: &u16| {
            let sum = self.sum_for(i64::from(*address));
            sum.is_some_and(|sum| fewest.get(sum).copied().flatten().is_some())
        };
        (1..=highest).filter(is_reached).collect()
    }

    /// The format switch as it must stand for a format, if the bank can choose that.
    fn format_bit(&self, format: Format) -> Option<u32> {
        match self.format_switch {
            Some(switch) if format == self.format_when_on => Some(1 << (switch - 1)),
            Some(_) if format == self.format_when_off => Some(0),
            None if format == self.format_when_on => Some(0),
            _ => None,
        }
    }

    /// What the weights must add up to for a first address.
    fn sum_for(&self, address: i64) -> Option<usize> {
        let above_base = address - i64::from(self.base);
        let step = i64::from(self.step);
        if above_base % step != 0 {
            return None;
        }
        usize::try_from(above_base / step).ok()
    }

    /// For each sum up to `most`, the least number of switches whose weights add up to it (each
    /// switch once).
    fn fewest_switches(&self, most: usize) -> Vec<Option<u32>> {
        let all: usize = self.weights.iter().map(|w| usize::from(*w)).sum();
        let most = most.min(all);
        let mut best: Vec<Option<u32>> = vec![None; most + 1];
        best[0] = Some(0);
        for (i, weight) in self.weights.iter().enumerate() {
            let weight = usize::from(*weight);
            if weight == 0 {
                continue;
            }
            for total in (weight..=most).rev() {
                let Some(without) = best[total - weight] else { continue };
                let with = without | 1 << i;
                if best[total].is_none_or(|old| with.count_ones() < old.count_ones()) {
                    best[total] = Some(with);
                }
            }
        }
        best
    }
}

/// The first address of a module, and the switches for it (bit 0 is switch 1).
///
/// # Errors
/// A sentence: why the module cannot be set to it, and the nearest addresses that it can be set to.
pub fn set_to(sheet: &ModuleSheet, first: i64, format: Format) -> Result<(u16, u32), String> {
    let kind = &sheet.kind;
    if !sheet.switches.formats().contains(&format) {
        return Err(format!("a {kind} does not understand {format}"));
    }
    // All that can be set are worked out only for those that ask for what cannot.
    let can = || nearest(&addresses(sheet, format), first);
    if let Some(why) = not_its_own(sheet, first, format) {
        return Err(format!("{why}; {}", can()));
    }
    let set = u16::try_from(first).ok().and_then(|first| {
        let switches = sheet.switches.switches_for(first, format)?;
        Some((first, switches))
    });
    set.ok_or_else(|| {
        format!("the switches of a {kind} cannot be set to first address {first}; {}", can())
    })
}

/// Whether each output of a module at a first address has an address of its own.
pub fn have_their_own(sheet: &ModuleSheet, first: i64, format: Format) -> bool {
    u16::try_from(first)
        .is_ok_and(|first| check_module(format, sheet.numbering, first, sheet.outputs).is_ok())
}

/// Why not each output of a module would have an address of its own; `None` when each has.
pub fn not_its_own(sheet: &ModuleSheet, first: i64, format: Format) -> Option<String> {
    let last = first.saturating_add(i64::from(sheet.outputs) - 1);
    let highest = highest_address(format, sheet.numbering);
    if have_their_own(sheet, first, format) {
        return None;
    }
    let mut why = format!(
        "{format} addresses go from 1 to {highest}, and a {} at {first} takes up {first} to {last}",
        sheet.kind
    );
    if let Some(all) = broadcast(format, sheet.numbering) {
        let (from, to) = all.into_inner();
        if first <= i64::from(to) && last >= i64::from(from) {
            why += &format!("; {from} to {to} are the broadcast, which switches every module");
        }
    }
    Some(why)
}

/// All first addresses that a module can be set to in a format, such that each output has one.
pub fn addresses(sheet: &ModuleSheet, format: Format) -> Vec<u16> {
    let highest =
        highest_address(format, sheet.numbering).saturating_sub(u16::from(sheet.outputs) - 1);
    sheet.switches.addresses(format, highest)
}

/// Which addresses are the nearest below and above one, for the end of a sentence.
fn nearest(can: &[u16], first: i64) -> String {
    let at = can.partition_point(|&a| i64::from(a) < first);
    let below = at.checked_sub(1).and_then(|i| can.get(i));
    match (below, can.get(at)) {
        (Some(below), Some(above)) => {
            format!("the nearest that it can be set to are {below} and {above}")
        }
        (Some(one), None) | (None, Some(one)) => {
            format!("the nearest that it can be set to is {one}")
        }
        (None, None) => "there is none that it can be set to".to_owned(),
    }
}

/// `1, 3 and 10 on, the others off`, for people.
pub fn switches_in_words(switches: u32, count: u8) -> String {
    let on: Vec<String> =
        (0..count).filter(|i| switches >> i & 1 == 1).map(|i| (i + 1).to_string()).collect();
    match on.as_slice() {
        [] => "all off".to_owned(),
        all if all.len() == usize::from(count) => "all on".to_owned(),
        [one] => format!("{one} on, the others off"),
        [first @ .., last] => format!("{} and {last} on, the others off", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::shipped;
    use proptest::prelude::*;

    fn ten_switches() -> SwitchBank {
        SwitchBank {
            weights: vec![1, 2, 4, 8, 16, 32, 64, 128, 256, 0],
            format_switch: Some(10),
            format_when_on: Format::Dcc,
            format_when_off: Format::Trinary,
            usual_format: Format::Dcc,
            base: -3,
            step: 4,
        }
    }

    /// Common practice, no source: with group numbers on ten binary switches, 77 is group 20, which is
    /// switches 3 and 5, and 10 for the format. The group itself is RCN-213's: (77 + 3) / 4.
    #[test]
    fn address_77_is_switches_3_5_and_10() {
        let bank = ten_switches();
        assert_eq!(bank.switches_for(77, Format::Dcc), Some(0b10_0001_0100));
        assert_eq!(bank.switches_for(77, Format::Trinary), Some(0b00_0001_0100));
        assert_eq!(bank.switches_for(78, Format::Dcc), None);
        assert_eq!(switches_in_words(0b10_0001_0100, 10), "3, 5 and 10 on, the others off");
    }

    /// Every address that a shipped kind can be set to, in every format: the switches for it mean
    /// it again, and everything else is refused.
    #[test]
    fn addresses_and_switches_of_every_shipped_kind_go_both_ways() {
        for shipped in shipped::MODULE_SHEETS {
            let sheet = shipped::module_sheet(shipped.name).unwrap();
            for format in [Format::Dcc, Format::Trinary] {
                let can = addresses(&sheet, format);
                assert_eq!(can.is_empty(), !sheet.switches.formats().contains(&format));
                for first in -10..=2100 {
                    let set = set_to(&sheet, first, format);
                    let is_settable = can.iter().any(|&a| i64::from(a) == first);
                    assert_eq!(set.is_ok(), is_settable, "{} {first} {format}", sheet.kind);
                    let Ok((address, switches)) = set else { continue };
                    assert_eq!(i64::from(address), first);
                    assert_eq!(sheet.switches.address_of(switches), first);
                    assert_eq!(sheet.switches.format_of(switches), format);
                }
            }
        }
    }

    /// The other way: every setting of a shipped bank either means an address that asks for a
    /// setting of the same meaning, or is refused for an address that no output has for its own.
    #[test]
    fn every_setting_of_a_shipped_bank_means_an_address_or_none() {
        for shipped in shipped::MODULE_SHEETS {
            let sheet = shipped::module_sheet(shipped.name).unwrap();
            let bank = &sheet.switches;
            for switches in 0..1u32 << bank.weights.len() {
                let (first, format) = (bank.address_of(switches), bank.format_of(switches));
                match set_to(&sheet, first, format) {
                    Ok((_, again)) => {
                        assert!(again.count_ones() <= switches.count_ones());
                        assert_eq!(bank.address_of(again), first);
                        assert_eq!(bank.format_of(again), format);
                    }
                    Err(_) => assert!(not_its_own(&sheet, first, format).is_some(), "{first}"),
                }
            }
        }
    }

    #[test]
    fn what_cannot_be_set_says_what_can() {
        let say = |kind, first, format| {
            let sheet = shipped::module_sheet(kind).unwrap();
            set_to(&sheet, first, format).unwrap_err()
        };
        let said = [
            say("pier-four", 182, Format::Dcc),
            say("pier-four", 0, Format::Dcc),
            say("pier-four", -1, Format::Dcc),
            say("pier-four", 2041, Format::Dcc),
            say("pier-four", 2045, Format::Dcc),
            say("pier-four", 321, Format::Trinary),
            say("quay-four", 181, Format::Trinary),
            say("quay-four", 2001, Format::Dcc),
            say("jetty-two", i64::MAX, Format::Trinary),
        ];
        insta::assert_snapshot!(said.join("\n"));
    }

    /// The group number on the switches is the one that goes out in the packet (RCN-213, 2.1).
    #[test]
    fn the_sum_is_the_group_of_the_packet() {
        use crate::signal::dcc::Numbering;
        let bank = ten_switches();
        for address in (1..=2037).step_by(4) {
            let on = bank.switches_for(address, Format::Dcc).unwrap();
            let group = Numbering::Rcn213.accessory(address).unwrap().group;
            assert_eq!(on & 0x1FF, u32::from(group));
        }
    }

    proptest! {
        #[test]
        fn switches_mean_the_address_they_are_for(
            weights in proptest::collection::vec(0u16..300, 1..12),
            base in -5i32..5,
            step in 1u16..5,
            address in 1u16..2040,
        ) {
            let bank = SwitchBank {
                weights, format_switch: None, format_when_on: Format::Dcc,
                format_when_off: Format::Dcc, usual_format: Format::Dcc, base, step,
            };
            let found = bank.switches_for(address, Format::Dcc);
            if let Some(switches) = found {
                prop_assert_eq!(bank.address_of(switches), i64::from(address));
            }
            // Trying every setting finds one exactly where ours does, and none with fewer on.
            let every = (0u32..1 << bank.weights.len())
                .filter(|s| bank.address_of(*s) == i64::from(address))
                .map(u32::count_ones)
                .min();
            prop_assert_eq!(found.map(u32::count_ones), every);
        }
    }
}
