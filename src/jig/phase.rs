//! Where the engine stands with the line in progress, and what keeps it from going on.

use super::board::Unit;

/// What the engine is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// No line is in progress.
    Idle,
    /// The units of a line are carried out, one by one.
    Running,
    /// The last unit is not complete before this has come.
    Waiting(For),
    /// The last unit answers with a block that goes out straight from a capture's memory.
    Streaming,
}

/// What a unit waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum For {
    /// The end of all operations.
    Operations,
    /// The same, and then it answers 1.
    OperationsAnswered,
    /// The measurement.
    Measurement,
    /// The checksum of a capture's block, and then it answers the preamble.
    Checksum(Unit),
}

/// What happens to the line in progress.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// A line to be carried out has come.
    Begun,
    /// A unit has to wait.
    Waits(For),
    /// A unit sends a block.
    Streams,
    /// What was waited for has come, or the block has gone out.
    GoesOn,
    /// No unit is left to be carried out.
    Over,
    /// The host has closed the port.
    Closed,
}

/// What keeps the engine from going on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Block {
    /// Nothing has come.
    NothingCame,
    /// The host has not read enough of what was answered.
    Unread,
    /// What a unit waits for has not come.
    NotYet(For),
}

/// What [`Phase::blocked`] looks at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct View {
    /// Bytes of the host wait.
    pub came: bool,
    /// The line in progress is sealed; without one: only sealed lines are taken.
    pub sealed: bool,
    /// All answers have gone out.
    pub drained: bool,
    /// There is room for the answer of one more unit.
    pub room: bool,
    /// What the unit waits for has come.
    pub over: bool,
}

impl Phase {
    /// The phase that an event leads to. An event that cannot happen in a phase leaves it.
    #[must_use]
    pub fn after(self, event: Event) -> Phase {
        match (self, event) {
            (_, Event::Closed) => Phase::Idle,
            (Phase::Idle, Event::Begun) => Phase::Running,
            (Phase::Running, Event::Waits(what)) => Phase::Waiting(what),
            (Phase::Running, Event::Streams) => Phase::Streaming,
            (Phase::Running, Event::Over) => Phase::Idle,
            (Phase::Waiting(_) | Phase::Streaming, Event::GoesOn) => Phase::Running,
            (phase, _) => phase,
        }
    }

    /// What keeps the engine from going on, if anything does.
    pub fn blocked(self, view: View) -> Option<Block> {
        let readable = match self {
            // Nothing is left of the answer before when that to a sealed line begins, and then it has
            // room for all of it.
            Phase::Idle if view.sealed => view.drained,
            _ => view.sealed || view.room || view.drained,
        };
        match self {
            Phase::Idle if !view.came => Some(Block::NothingCame),
            _ if !readable => Some(Block::Unread),
            Phase::Waiting(what) if !view.over => Some(Block::NotYet(what)),
            _ => None,
        }
    }

    /// Whether a unit waits for something other than its answer to be read.
    pub fn waits(self) -> bool {
        matches!(self, Phase::Waiting(_))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FOR: For = For::Measurement;
    const WAITING: Phase = Phase::Waiting(FOR);
    const PHASES: [Phase; 4] = [Phase::Idle, Phase::Running, WAITING, Phase::Streaming];
    const EVENTS: [Event; 6] = [
        Event::Begun,
        Event::Waits(FOR),
        Event::Streams,
        Event::GoesOn,
        Event::Over,
        Event::Closed,
    ];

    /// Every phase, every event.
    #[test]
    fn transitions() {
        use Phase::{Idle, Running, Streaming};
        #[rustfmt::skip]
        let table = [
            //           Begun      Waits      Streams    GoesOn     Over       Closed
            (Idle,      [Running,   Idle,      Idle,      Idle,      Idle,      Idle]),
            (Running,   [Running,   WAITING,   Streaming, Running,   Idle,      Idle]),
            (WAITING,   [WAITING,   WAITING,   WAITING,   Running,   WAITING,   Idle]),
            (Streaming, [Streaming, Streaming, Streaming, Running,   Streaming, Idle]),
        ];
        assert_eq!(table.map(|(from, _)| from), PHASES);
        for (from, to) in table {
            assert_eq!(EVENTS.map(|event| from.after(event)), to, "{from:?}");
        }
    }

    /// Every phase, for each of the 32 views.
    #[test]
    fn blocks() {
        for bits in 0..32 {
            let bit = |at: u32| bits >> at & 1 == 1;
            let view =
                View { came: bit(0), sealed: bit(1), drained: bit(2), room: bit(3), over: bit(4) };
            let unread = (!view.sealed && !view.drained && !view.room).then_some(Block::Unread);
            let idle = match view {
                View { came: false, .. } => Some(Block::NothingCame),
                View { sealed: true, drained: false, .. } => Some(Block::Unread),
                _ => unread,
            };
            let waiting = unread.or((!view.over).then_some(Block::NotYet(FOR)));
            let wanted = [idle, unread, waiting, unread];
            assert_eq!(PHASES.map(|phase| phase.blocked(view)), wanted, "{view:?}");
        }
    }
}
