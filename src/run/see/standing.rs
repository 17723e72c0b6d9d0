//! Where outputs stand, from what one record holds of their clamps.

use crate::measure::record::Record;
use crate::measure::uncertainty::Estimate;
use crate::measure::witness::Witness;
use crate::procedure::positions::position_of;
use crate::signal::target::{Clamp, Position};
use crate::wire::channel::LOAD_VOLTAGE;

/// Positions of all outputs before and after something happened; `None` where nothing tells.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    pub before: [Option<Position>; 4],
    pub after: [Option<Position>; 4],
    /// Outputs of which a contact changed, if only for a moment.
    pub stirred: [bool; 4],
}

impl Standing {
    /// Outputs of which something changed.
    pub fn stirred(&self) -> impl Iterator<Item = u8> + '_ {
        (1..=4u8).filter(|&output| self.stirred[usize::from(output) - 1])
    }

    /// Outputs that stood somewhere and do not stand there any more.
    pub fn moved(&self) -> impl Iterator<Item = u8> + '_ {
        (1..=4u8).filter(|&output| {
            let at = usize::from(output) - 1;
            self.before[at].is_some() && self.before[at] != self.after[at]
        })
    }

    /// Where an output stands afterwards.
    pub fn of(&self, output: u8) -> Option<Position> {
        self.after[usize::from(output) - 1]
    }
}

/// The positions, before scan `start` and at the record's end. `witness` is what tells of a clamp
/// whether its contact is closed.
pub fn standing<'r>(
    start: usize,
    outputs: u8,
    witness: impl Fn(Clamp) -> Option<Witness<'r>>,
) -> Standing {
    let mut standing = Standing::default();
    for output in 1..=outputs {
        let closed = |position| {
            let clamp = Clamp { output, position };
            let witness = witness(clamp)?;
            Some((witness.before_and_after(start), witness.stirs(start)))
        };
        let (a, b) = (closed(Position::A), closed(Position::B));
        let at = usize::from(output) - 1;
        standing.stirred[at] = [a, b].into_iter().flatten().any(|(_, stirs)| stirs);
        let (a, b) = (a.map(|a| a.0), b.map(|b| b.0));
        standing.before[at] = position_of(a.map(|c| c.0), b.map(|c| c.0));
        standing.after[at] = position_of(a.map(|c| c.1), b.map(|c| c.1));
    }
    standing
}

/// The voltage of the load supply in a record, from scan `from` on.
pub fn supply_in(record: &Record, from: usize) -> Option<Estimate> {
    let trace = record.trace(LOAD_VOLTAGE)?;
    Some(trace.mean(from..)?.estimate(&trace.class))
}
