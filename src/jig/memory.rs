//! Where the captures keep their counts: far more than a stack should carry.

use super::board::Unit;
use crate::wire::{FAST_COUNTS, WATCH_COUNTS};

/// The memories of both capture units.
#[derive(Debug)]
pub struct Memory {
    fast: [i16; FAST_COUNTS],
    watch: [i16; WATCH_COUNTS],
}

/// On the heap where there is one, else a static of the firmware.
#[cfg(feature = "host")]
pub type MemoryRef = Box<Memory>;
/// On the heap where there is one, else a static of the firmware.
#[cfg(not(feature = "host"))]
pub type MemoryRef = &'static mut Memory;

impl Memory {
    /// Nothing in it yet.
    pub const fn new() -> Self {
        Memory { fast: [0; FAST_COUNTS], watch: [0; WATCH_COUNTS] }
    }

    /// That of one unit.
    pub fn of(&self, unit: Unit) -> &[i16] {
        match unit {
            Unit::Capture => &self.fast,
            Unit::Watch => &self.watch,
        }
    }

    /// That of one unit, to be changed.
    pub fn of_mut(&mut self, unit: Unit) -> &mut [i16] {
        match unit {
            Unit::Capture => &mut self.fast,
            Unit::Watch => &mut self.watch,
        }
    }
}

impl Default for Memory {
    fn default() -> Self {
        Self::new()
    }
}
