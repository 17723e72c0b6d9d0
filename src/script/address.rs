//! From an address to the switches of a bank, and back.

use super::module_sheet::{ModuleSheet, SwitchBank};
use crate::signal::address::{broadcast, check_module};
use crate::signal::target::Format;
use crate::signal::telegram::highest_address;

impl SwitchBank {
    /// The formats that it can choose, the usual one first.
    pub fn formats(&self) -> Vec<Format> {
        if self.format_switch.is_some() && self.format_when_off != self.format_when_on {
            vec![self.format_when_on, self.format_when_off]
        } else {
            vec![self.format_when_on]
        }
    }

    /// The first address that switch settings mean (bit 0 is switch 1).
    pub fn address_of(&self, switches: u32) -> i64 {
        let sum: i64 = (self.weights.iter().enumerate())
            .filter(|(i, _)| switches >> i & 1 == 1)
            .map(|(_, weight)| i64::from(*weight))
            .sum();
        sum * i64::from(self.step) + i64::from(self.base)
    }

    /// The switch settings for a first address in a format (bit 0 is switch 1), with as few
    /// switches on as can be; `None` when the bank cannot be set so.
    pub fn switches_for(&self, address: u16, format: Format) -> Option<u32> {
        let format_bit = match self.format_switch {
            None if format == self.format_when_on => 0,
            None => return None,
            Some(switch) if format == self.format_when_on => 1 << (switch - 1),
            Some(_) if format == self.format_when_off => 0,
            Some(_) => return None,
        };
        let above_base = i64::from(address) - i64::from(self.base);
        let step = i64::from(self.step);
        if above_base < 0 || above_base % step != 0 {
            return None;
        }
        let sum = usize::try_from(above_base / step).ok()?;
        Some(self.fewest_switches(sum)? | format_bit)
    }

    /// The least number of switches whose weights add up to `sum` (each switch once).
    fn fewest_switches(&self, sum: usize) -> Option<u32> {
        if sum > self.weights.iter().map(|w| usize::from(*w)).sum() {
            return None;
        }
        let mut best: Vec<Option<u32>> = vec![None; sum + 1];
        best[0] = Some(0);
        for (i, weight) in self.weights.iter().enumerate() {
            let weight = usize::from(*weight);
            if weight == 0 {
                continue;
            }
            for total in (weight..=sum).rev() {
                let Some(without) = best[total - weight] else { continue };
                let with = without | 1 << i;
                if best[total].is_none_or(|old| with.count_ones() < old.count_ones()) {
                    best[total] = Some(with);
                }
            }
        }
        best[sum]
    }
}

/// Why a module cannot be set to an address: a sentence.
pub fn obstacle(sheet: &ModuleSheet, address: u16, format: Format) -> Option<String> {
    let kind = &sheet.kind;
    if !sheet.switches.formats().contains(&format) {
        return Some(format!("{kind} does not understand {format}"));
    }
    if let Err(error) = check_module(format, sheet.numbering, address, sheet.outputs) {
        let last = u32::from(address) + u32::from(sheet.outputs) - 1;
        let highest = highest_address(format, sheet.numbering);
        let mut text = format!(
            "{format} addresses go from 1 to {highest}, and a {kind} at {address} takes up \
             {address} to {last}"
        );
        if let Some(all) = broadcast(format, sheet.numbering).filter(|b| b.contains(&error.address))
        {
            let (first, last) = (all.start(), all.end());
            text += &format!("; {first} to {last} are the broadcast, which switches every module");
        }
        return Some(text);
    }
    if sheet.switches.switches_for(address, format).is_none() {
        let near = nearest_addresses(sheet, address, format);
        let near: Vec<String> = near.iter().map(u16::to_string).collect();
        return Some(format!(
            "the switches of a {kind} cannot be set to first address {address}; {} can",
            if near.is_empty() { "none".to_owned() } else { near.join(" and ") }
        ));
    }
    None
}

/// The nearest addresses below and above that the switches can be set to.
fn nearest_addresses(sheet: &ModuleSheet, address: u16, format: Format) -> Vec<u16> {
    let reach = |a: &u16| sheet.switches.switches_for(*a, format).is_some();
    let highest =
        highest_address(format, sheet.numbering).saturating_sub(u16::from(sheet.outputs) - 1);
    let below = (1..address.min(highest + 1)).rev().take(64).find(reach);
    let above = (address.saturating_add(1)..=highest).take(64).find(reach);
    below.into_iter().chain(above).collect()
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
    use proptest::prelude::*;

    fn ten_switches() -> SwitchBank {
        SwitchBank {
            weights: vec![1, 2, 4, 8, 16, 32, 64, 128, 256, 0],
            format_switch: Some(10),
            format_when_on: Format::Dcc,
            format_when_off: Format::Trinary,
            base: -3,
            step: 4,
        }
    }

    /// Common practice, no source: with group numbers on binary switches, 77 is group 20, which is
    /// switches 3 and 5, and 10 for the format. The group itself is RCN-213's: (77 + 3) / 4.
    #[test]
    fn address_77_is_switches_3_5_and_10() {
        let bank = ten_switches();
        assert_eq!(bank.switches_for(77, Format::Dcc), Some(0b10_0001_0100));
        assert_eq!(bank.switches_for(77, Format::Trinary), Some(0b00_0001_0100));
        assert_eq!(bank.switches_for(78, Format::Dcc), None);
        assert_eq!(switches_in_words(0b10_0001_0100, 10), "3, 5 and 10 on, the others off");
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
                format_when_off: Format::Dcc, base, step,
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
