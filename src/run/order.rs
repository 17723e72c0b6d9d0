//! What shall move, and by what.

use crate::script::plan::By;
use crate::signal::target::{Clamp, Position};

/// What shall move, and by what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Order {
    pub output: u8,
    pub to: Position,
    pub by: By,
}

impl Order {
    /// The clamp that shall be closed afterwards.
    pub fn new_clamp(&self) -> Clamp {
        let position = if self.by == By::CommandAgainstContact { self.to.other() } else { self.to };
        Clamp { output: self.output, position }
    }

    /// The clamp that shall be open afterwards.
    pub fn old_clamp(&self) -> Clamp {
        Clamp { output: self.output, position: self.new_clamp().position.other() }
    }
}
