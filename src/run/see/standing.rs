//! Where outputs stand, from the currents of all clamps in one record.

use crate::measure::change_over::Contact;
use crate::measure::record::Record;
use crate::measure::uncertainty::Estimate;
use crate::procedure::positions::position_of;
use crate::signal::target::{Clamp, Position};
use crate::wire::channel::{CLAMP_CURRENT, LOAD_VOLTAGE};

/// Positions of all outputs before and after something happened; `None` where the currents do not
/// tell.
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

/// The positions in a record, before scan `start` and at its end. `least_a` is the least current at
/// a clamp that says that its contact is closed.
pub fn standing(
    record: &Record,
    start: usize,
    outputs: u8,
    least_a: impl Fn(Clamp) -> f64,
) -> Standing {
    let mut standing = Standing::default();
    for output in 1..=outputs {
        let closed = |position| {
            let clamp = Clamp { output, position };
            let trace = record.trace(clamp.channel(CLAMP_CURRENT))?;
            let contact = Contact { trace, least: least_a(clamp) };
            Some((contact.before_and_after(start), contact.stirs(start)))
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
