//! What people call a target.

use crate::roll_call::target::Target;
use crate::signal::dcc::Numbering;

/// A target as people call it: `dcc 181`.
pub fn named(target: Target, numbering: Numbering) -> String {
    match target.address(numbering) {
        Some(address) => format!("{} {address}", target.format),
        None => format!("{} group {}, pair {}", target.format, target.group(), target.pair()),
    }
}
