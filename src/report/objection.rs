//! A reading that does not pass, in words.

use super::amount::amount;
use crate::judge::reading::{Quantity, Reading, Verdict};
use crate::judge::roots::Root;
use crate::plain::plain;
use crate::script::module_sheet::PositionNames;

/// Where, what, how much, and by how much that is too much: a line without its note.
pub fn line(root: &Root<'_>, names: &PositionNames) -> String {
    let place = place(root, names);
    let words = words(root, names);
    if place.is_empty() { words } else { format!("{place}: {words}") }
}

/// The same in one sentence with the note.
pub fn sentence(root: &Root<'_>, names: &PositionNames) -> String {
    let note = plain(&root.worst.note);
    if note.is_empty() || is_told_by_note(root.worst) {
        return line(root, names);
    }
    format!("{}; {note}", line(root, names))
}

/// The outputs that it is about, and the position where there is one output.
fn place(root: &Root<'_>, names: &PositionNames) -> String {
    match root.outputs.as_slice() {
        // The note says which output moved.
        _ if root.worst.quantity == Quantity::UnwantedMoves => String::new(),
        [] => String::new(),
        [one] => match root.worst.position {
            // What the position means is part of what is told.
            Some(position) if !is_told_by_note(root.worst) => {
                format!("output {one} {}", names.of(position))
            }
            _ => format!("output {one}"),
        },
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(u8::to_string).collect();
            format!("outputs {} and {last}", first.join(", "))
        }
    }
}

/// Whether the note says it all: what is counted or seen, where and how.
fn is_told_by_note(reading: &Reading) -> bool {
    (reading.quantity.is_counted() || reading.quantity == Quantity::LampSeen)
        && !reading.note.is_empty()
}

/// What does not pass, by how much.
fn words(root: &Root<'_>, names: &PositionNames) -> String {
    let reading = root.worst;
    let note = plain(&reading.note);
    if is_told_by_note(reading) {
        return match (reading.quantity, reading.position) {
            (Quantity::WrongPositions, Some(position)) => {
                let note = if root.outputs.len() > 1 {
                    note.replacen("stands at ", "stand at ", 1)
                } else {
                    note
                };
                format!("told to go to {}, {note}", names.of(position))
            }
            (Quantity::UnwantedMoves, _) => format!("{}: {note}", plain(&reading.step)),
            _ => note,
        };
    }
    let unit = reading.quantity.unit();
    let what = reading.quantity.name().replace('_', " ");
    if reading.quantity == Quantity::LampSeen {
        return "the operator looked at the lamp".into();
    }
    if reading.quantity.is_yes_or_no() {
        let wanted = if reading.lower_limit.is_some() { "yes" } else { "no" };
        let seen = match reading.value {
            None => "not seen",
            Some(value) if value > 0.5 => "yes",
            Some(_) => "no",
        };
        return format!("{what} {seen}, {wanted} wanted");
    }
    let seen = match reading.value {
        None => "not seen".into(),
        Some(value) if is_next_to_none(value, reading) => "next to none".into(),
        Some(value) => {
            let within = match reading.uncertainty {
                Some(u) if reading.verdict == Verdict::Indeterminate => {
                    format!(" ± {}", amount(u, unit))
                }
                _ => String::new(),
            };
            let bound = reading.bound.map(|bound| format!("{bound} ")).unwrap_or_default();
            format!("{bound}{}{within}", amount(value, unit))
        }
    };
    let limits = match (reading.lower_limit, reading.upper_limit) {
        (_, Some(0.0)) if unit == "1" => return format!("{what} {seen}, none allowed"),
        (Some(lower), Some(upper)) => {
            format!(", {} to {} allowed", amount(lower, unit), amount(upper, unit))
        }
        (Some(lower), None) => format!(", at least {} wanted", amount(lower, unit)),
        (None, Some(upper)) => format!(", at most {} allowed", amount(upper, unit)),
        (None, None) => String::new(),
    };
    format!("{what} {seen}{limits}")
}

/// Whether a value is as good as zero where much more is wanted.
fn is_next_to_none(value: f64, reading: &Reading) -> bool {
    let wanted = reading.lower_limit.unwrap_or(0.0);
    reading.verdict == Verdict::Fail && value.abs() < NONE_SHARE * wanted
}

/// Below this share of the least that is allowed a value is next to none.
const NONE_SHARE: f64 = 1e-2;
