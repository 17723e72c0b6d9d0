//! What a script finds, for people, as CSV and as JSON.

pub mod csv;
pub mod json;
pub mod proposal;
pub mod text;
