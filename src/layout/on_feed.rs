//! What an address is on the feed, whatever figure people give it.

use crate::signal::dcc::Numbering;
use crate::signal::target::Format;

/// An output's address as its command carries it. Two outputs that have the same one move together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct OnFeed {
    /// The format of the command.
    pub format: Format,
    /// In `dcc` four times the packet's group and its pair; in `trinary` the address itself, which
    /// everyone counts alike.
    pub number: u16,
}

/// What `address` is on the feed; `None` when the format has no such address.
pub fn on_feed(format: Format, numbering: Numbering, address: u16) -> Option<OnFeed> {
    let number = match format {
        Format::Dcc => {
            let to = numbering.accessory(address)?;
            to.group * 4 + u16::from(to.pair)
        }
        Format::Trinary => address,
    };
    Some(OnFeed { format, number })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RCN-213, 2.1: address 1 is group 1, pair 0. Whoever counts from group zero calls it 5.
    #[test]
    fn the_same_group_has_two_figures() {
        let as_rcn = on_feed(Format::Dcc, Numbering::Rcn213, 1);
        assert_eq!(as_rcn, Some(OnFeed { format: Format::Dcc, number: 4 }));
        assert_eq!(on_feed(Format::Dcc, Numbering::FromGroupZero, 5), as_rcn);
        assert_ne!(on_feed(Format::Dcc, Numbering::FromGroupZero, 1), as_rcn);
        assert_ne!(on_feed(Format::Trinary, Numbering::Rcn213, 4), as_rcn);
    }
}
