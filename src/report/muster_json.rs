//! A muster as JSON, one object a line, for other programs.

use super::lot_json::lot_value;
use crate::lot::standing::Lot;
use crate::muster::told::Told;
use serde_json::json;

/// A line for each event.
pub fn lines(told: &[Told]) -> String {
    // Strings and numbers only: cannot fail.
    told.iter().map(|one| serde_json::to_string(one).unwrap_or_default() + "\n").collect()
}

/// The line of the end.
pub fn ended(lot: &Lot, seatings: usize) -> String {
    json!({ "event": "ended", "seatings": seatings, "lot": lot_value(lot) }).to_string() + "\n"
}
