//! What a roll-call found: for people, and for other programs.

mod called;
mod findings;
mod json;
mod progress;
mod text;

pub use json::roll_call_json;
pub use progress::Progress;
pub use text::roll_call_text;
