//! A command as a module reads it, whatever its format.

/// Whom a command is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Addressee {
    /// The output with this address, counted from 1 as people do.
    Output(u16),
    /// The broadcast: this pair (0 to 3) of every group, so one output of every module.
    Everyone {
        /// The pair.
        pair: u8,
    },
}

/// What a module takes from the feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Received {
    /// Whom it is for.
    pub to: Addressee,
    /// The direction bit, 0 or 1.
    pub direction: u8,
    /// Whether the side is switched on (else: off).
    pub activate: bool,
}

impl Received {
    /// Which output of a module it is for, counted from 0, if the module's `outputs` addresses
    /// begin at `first`.
    pub fn output(&self, first: i32, outputs: u8) -> Option<u8> {
        let index = match self.to {
            Addressee::Output(address) => i32::from(address) - first,
            // Each address is some pair of its group, also where a module does not begin with a
            // group.
            Addressee::Everyone { pair } => (i32::from(pair) - (first - 1)).rem_euclid(4),
        };
        u8::try_from(index).ok().filter(|&index| index < outputs)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_one_output_of_one_module() {
        let to =
            |address| Received { to: Addressee::Output(address), direction: 0, activate: true };
        assert_eq!(to(181).output(181, 4), Some(0));
        assert_eq!(to(184).output(181, 4), Some(3));
        assert_eq!(to(185).output(181, 4), None);
        assert_eq!(to(180).output(181, 4), None);
        assert_eq!(to(1).output(-3, 4), None);
    }

    #[test]
    fn the_broadcast_is_an_output_of_every_module() {
        let all =
            |pair| Received { to: Addressee::Everyone { pair }, direction: 0, activate: true };
        for pair in 0..4 {
            assert_eq!(all(pair).output(181, 4), Some(pair));
            assert_eq!(all(pair).output(1, 4), Some(pair));
        }
        assert_eq!(all(2).output(181, 2), None);
        // 2 is the pair 1 of its group, and so on up to 5, the pair 0 of the next one.
        assert_eq!([1, 2, 3, 0].map(|pair| all(pair).output(2, 4)), [0, 1, 2, 3].map(Some));
    }
}
