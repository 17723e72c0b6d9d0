//! One output's place in a command format, whatever the numbering calls it.

use crate::signal::dcc::Numbering;
use crate::signal::target::{Format, Position};
use crate::signal::telegram::{Telegram, command};
use crate::signal::trinary;

/// Outputs of a group: four in either format.
pub const GROUP: u16 = 4;
/// Groups of dcc that are some module's own: 0 to 510, of the 9 bits; the last one is the broadcast
/// (S-9.2.1).
const DCC_GROUPS: u16 = 511;

/// An output's place, counted from 0 over all groups of its format.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Target {
    /// The format.
    pub format: Format,
    /// The place: group × 4 + pair, the groups counted as in the packet.
    pub place: u16,
}

impl Target {
    /// The target of an address; `None` when it is not one output's own.
    pub fn of(format: Format, numbering: Numbering, address: u16) -> Option<Target> {
        let place = match format {
            Format::Dcc => {
                let to = numbering.accessory(address)?;
                to.group * GROUP + u16::from(to.pair)
            }
            Format::Trinary if (1..=trinary::ADDRESS_MAX).contains(&address) => address - 1,
            Format::Trinary => return None,
        };
        Some(Target { format, place })
    }

    /// How many there are in a format.
    pub const fn count(format: Format) -> u16 {
        match format {
            Format::Dcc => DCC_GROUPS * GROUP,
            Format::Trinary => trinary::ADDRESS_MAX,
        }
    }

    /// What the numbering calls it; `None` for the first group of dcc where addresses begin with the
    /// second one.
    pub fn address(self, numbering: Numbering) -> Option<u16> {
        match self.format {
            Format::Dcc if numbering == Numbering::Rcn213 => {
                self.place.checked_sub(GROUP - 1).filter(|&address| address > 0)
            }
            Format::Dcc | Format::Trinary => Some(self.place + 1),
        }
    }

    /// The group as it goes out: trinary counts from 1.
    pub const fn group(self) -> u16 {
        match self.format {
            Format::Dcc => self.place / GROUP,
            Format::Trinary => self.place / GROUP + 1,
        }
    }

    /// The pair within the group, 0 to 3.
    pub const fn pair(self) -> u16 {
        self.place % GROUP
    }

    /// The target so many places further on, if the format has it.
    pub fn plus(self, by: i32) -> Option<Target> {
        let place = u16::try_from(i32::from(self.place).checked_add(by)?).ok()?;
        (place < Self::count(self.format)).then_some(Target { place, ..self })
    }

    /// The command that sends it to a position. `direction_of_a` is the direction bit that means
    /// position `a`.
    pub fn telegram(self, to: Position, direction_of_a: u8) -> Telegram {
        // Counted from group 0 every place has an address.
        let telegram =
            command(self.format, Numbering::FromGroupZero, self.place + 1, to, direction_of_a);
        telegram.expect("a place within its format has a telegram")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_address_has_its_target_and_its_telegram() {
        for numbering in [Numbering::Rcn213, Numbering::FromGroupZero] {
            for format in [Format::Dcc, Format::Trinary] {
                let highest = crate::signal::address::highest(format, numbering);
                for address in 1..=highest {
                    let target = Target::of(format, numbering, address).unwrap();
                    assert_eq!(target.address(numbering), Some(address));
                    let own = command(format, numbering, address, Position::B, 1).unwrap();
                    assert_eq!(target.telegram(Position::B, 1), own);
                }
                assert_eq!(Target::of(format, numbering, 0), None);
                assert_eq!(Target::of(format, numbering, highest + 1), None);
                let last = Target::of(format, numbering, highest).unwrap();
                assert_eq!(last.place + 1, Target::count(format));
                assert_eq!(last.plus(1), None);
            }
        }
        let group_0 = Target { format: Format::Dcc, place: 3 };
        assert_eq!(group_0.address(Numbering::Rcn213), None);
        assert_eq!(group_0.plus(-4), None);
    }
}
