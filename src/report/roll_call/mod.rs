//! What a roll-call found: for people, and for other programs.

mod findings;
mod json;
mod progress;
mod text;

pub use json::roll_call_json;
pub use progress::Progress;
pub use text::roll_call_text;

use crate::roll_call::target::Target;
use crate::signal::dcc::Numbering;

/// A target as people call it: `dcc 77`.
fn named(target: Target, numbering: Numbering) -> String {
    match target.address(numbering) {
        Some(address) => format!("{} {address}", target.format),
        None => format!("{} group {}, pair {}", target.format, target.group(), target.pair()),
    }
}
