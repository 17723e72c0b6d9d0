//! Which addresses there are in a format, and which of them switch every module at once.

use super::dcc::Numbering;
use super::target::Format;
use super::trinary;
use core::fmt;
use core::ops::RangeInclusive;

/// What a command to an address would reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existence {
    /// One output of one module.
    Single,
    /// The broadcast: every module on the feed acts on it (S-9.2.1).
    Broadcast,
    /// Nothing: the format has no such address.
    Missing,
}

/// What a command to `address` would reach, counted in `numbering` (which means nothing for
/// trinary).
pub fn existence(format: Format, numbering: Numbering, address: u16) -> Existence {
    if (1..=highest(format, numbering)).contains(&address) {
        Existence::Single
    } else if broadcast(format, numbering).is_some_and(|all| all.contains(&address)) {
        Existence::Broadcast
    } else {
        Existence::Missing
    }
}

/// The highest address of a format that is one output's own; the lowest is 1.
pub const fn highest(format: Format, numbering: Numbering) -> u16 {
    match format {
        Format::Dcc => numbering.highest(),
        Format::Trinary => trinary::ADDRESS_MAX,
    }
}

/// The addresses that are the broadcast, where the format has one.
///
/// S-9.2.1 gives the last group to it. The three-state code has none (common practice, no source).
pub const fn broadcast(format: Format, numbering: Numbering) -> Option<RangeInclusive<u16>> {
    match format {
        Format::Dcc => Some(numbering.highest() + 1..=numbering.highest() + 4),
        Format::Trinary => None,
    }
}

/// An address is not one output's own. Says why in a sentence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AddressError {
    /// The format.
    pub format: Format,
    /// How addresses count.
    pub numbering: Numbering,
    /// The address that was asked for.
    pub address: u16,
}

impl fmt::Display for AddressError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let AddressError { format, numbering, address } = *self;
        let highest = highest(format, numbering);
        match existence(format, numbering, address) {
            Existence::Broadcast => write!(
                f,
                "{format} address {address} is the broadcast, which switches every module on the \
                 feed: addresses go from 1 to {highest}"
            ),
            Existence::Single | Existence::Missing => {
                write!(f, "{format} has no address {address}: they go from 1 to {highest}")
            }
        }
    }
}

impl core::error::Error for AddressError {}

/// Checks that a module whose outputs take up `outputs` addresses from `first` on would have an
/// address of its own for each.
///
/// # Errors
/// The first address that is none.
pub fn check_module(
    format: Format,
    numbering: Numbering,
    first: u16,
    outputs: u8,
) -> Result<(), AddressError> {
    for output in 0..u16::from(outputs.max(1)) {
        let address = first.saturating_add(output);
        if existence(format, numbering, address) != Existence::Single {
            return Err(AddressError { format, numbering, address });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::Existence::{Broadcast, Missing, Single};
    use super::*;
    use Numbering::{FromGroupZero, Rcn213};

    /// RCN-213, 2.1, from memory: users see 2041 to 2044 for the broadcast. Counted from group 0
    /// everything stands four higher.
    #[test]
    fn every_address_is_one_of_three() {
        for (numbering, singles) in [(Rcn213, 2040), (FromGroupZero, 2044)] {
            for address in 0..=u16::MAX {
                let want = match address {
                    0 => Missing,
                    _ if address <= singles => Single,
                    _ if address <= singles + 4 => Broadcast,
                    _ => Missing,
                };
                assert_eq!(existence(Format::Dcc, numbering, address), want, "{address}");
                let want = if (1..=320).contains(&address) { Single } else { Missing };
                assert_eq!(existence(Format::Trinary, numbering, address), want, "{address}");
            }
        }
    }

    #[test]
    fn sentences() {
        let say =
            |format, numbering, address| AddressError { format, numbering, address }.to_string();
        assert_eq!(
            say(Format::Dcc, Rcn213, 2041),
            "dcc address 2041 is the broadcast, which switches every module on the feed: \
             addresses go from 1 to 2040"
        );
        assert_eq!(
            say(Format::Dcc, Rcn213, 2045),
            "dcc has no address 2045: they go from 1 to 2040"
        );
        assert_eq!(
            say(Format::Dcc, FromGroupZero, 0),
            "dcc has no address 0: they go from 1 to 2044"
        );
        assert_eq!(
            say(Format::Trinary, Rcn213, 321),
            "trinary has no address 321: they go from 1 to 320"
        );
    }

    #[test]
    fn a_module_stays_clear_of_the_broadcast() {
        let check = |first| check_module(Format::Dcc, Rcn213, first, 4).map_err(|e| e.address);
        assert_eq!(check(2037), Ok(()));
        assert_eq!(check(2038), Err(2041));
        assert_eq!(check(0), Err(0));
        assert_eq!(check(u16::MAX), Err(u16::MAX));
        assert_eq!(check_module(Format::Dcc, FromGroupZero, 2041, 4), Ok(()));
        assert_eq!(check_module(Format::Trinary, Rcn213, 317, 4), Ok(()));
        assert!(check_module(Format::Trinary, Rcn213, 318, 4).is_err());
    }
}
