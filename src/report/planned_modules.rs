//! The modules of a layout's address plan, for people and for other programs.

use super::screen::Screen;
use super::table::{Column, table};
use crate::lot::modules_csv::Row;
use crate::plain::plain;
use serde::Serialize;

/// One module.
#[derive(Clone, Debug, Serialize)]
pub struct Entry {
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: String,
    /// Its module sheet, as the plan names it.
    pub module_sheet: String,
    /// Its command format.
    pub format: String,
    /// How its addresses count, as a file names it; nothing where everybody counts alike.
    pub numbering: Option<&'static str>,
    /// The addresses of its outputs, output 1 first.
    pub addresses: Vec<u16>,
    /// Its switches, switch 1 first, `1` for on; nothing when no setting makes its address.
    pub switches: Option<String>,
    /// The names of its outputs, where they have one.
    pub outputs: Vec<Option<String>>,
    /// A note.
    pub note: Option<String>,
    /// The module that sits there, by its own name.
    pub serial: Option<String>,
    /// Its lot.
    pub lot: Option<String>,
}

/// Addresses that are free for a kind.
#[derive(Clone, Debug, Serialize)]
pub struct Free<'a> {
    /// The kind.
    pub kind: &'a str,
    /// The command format.
    pub format: String,
    /// How the addresses count; nothing where everybody counts alike.
    pub numbering: Option<&'static str>,
    /// The addresses.
    pub addresses: Vec<u16>,
    /// How its switches are to be set, switch 1 first, `1` for on.
    pub switches: String,
}

/// A label.
#[derive(Clone, Debug, Serialize)]
pub struct Label {
    /// The module that it is for.
    pub module: Entry,
    /// How it stands in its lot: its fate and its newest check, as in `modules.csv`.
    pub standing: Option<Row>,
    /// The file that it was written to.
    pub file: Option<String>,
    /// The drawing, when it was not written to a file.
    pub svg: Option<String>,
}

/// The way of counting that goes without saying.
const USUAL: &str = "rcn-213";

/// A line of JSON.
pub fn json(value: &impl Serialize) -> String {
    // None of ours has a key that is no text, so this cannot fail.
    serde_json::to_string(value).expect("JSON") + "\n"
}

/// The table, lines ended.
pub fn planned_modules(entries: &[Entry], screen: Screen) -> String {
    if entries.is_empty() {
        return "The address plan holds no modules.\n".into();
    }
    let notes = if entries.iter().any(|entry| entry.note.is_some()) { "note" } else { "" };
    let serials = if entries.iter().any(|entry| entry.serial.is_some()) { "serial" } else { "" };
    let columns = [
        Column::Code("name"),
        Column::Code("kind"),
        Column::Words("format"),
        Column::Code("addresses"),
        Column::Words("switches on"),
        Column::Words("outputs"),
        Column::Words(serials),
        Column::Words(notes),
    ];
    table(screen, 0, columns, entries.iter().map(row))
}

fn row(entry: &Entry) -> [String; 8] {
    let addresses = match entry.addresses.as_slice() {
        [] => String::new(),
        [one] => one.to_string(),
        [first, .., last] => format!("{first}-{last}"),
    };
    let switches = entry.switches.as_deref().map_or("cannot be set".into(), switches_on);
    let format = match entry.numbering {
        Some(numbering) if numbering != USUAL => format!("{}, {numbering}", entry.format),
        _ => entry.format.clone(),
    };
    let outputs: Vec<&str> = entry.outputs.iter().map(|o| o.as_deref().unwrap_or("-")).collect();
    let outputs = if entry.outputs.iter().all(Option::is_none) {
        String::new()
    } else {
        plain(&outputs.join(", "))
    };
    let note = entry.note.as_deref().map_or(String::new(), plain);
    let serial = match (&entry.serial, &entry.lot) {
        (Some(serial), Some(lot)) => format!("{}, {}", plain(serial), plain(lot)),
        _ => String::new(),
    };
    [plain(&entry.name), entry.kind.clone(), format, addresses, switches, outputs, serial, note]
}

/// Which switches are on: `3 4 8`.
fn switches_on(switches: &str) -> String {
    let on: Vec<String> = (switches.chars().zip(1..))
        .filter(|(digit, _)| *digit == '1')
        .map(|(_, number): (char, u8)| number.to_string())
        .collect();
    if on.is_empty() { "none".into() } else { on.join(" ") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_lines_up() {
        let entry = |name: &str, first: u16, switches: Option<&str>| Entry {
            name: name.into(),
            kind: "pier-four".into(),
            module_sheet: "pier-four".into(),
            format: "dcc".into(),
            numbering: Some(if first == 8 { "from-group-zero" } else { USUAL }),
            addresses: (first..first + 4).collect(),
            switches: switches.map(String::from),
            outputs: vec![Some("lantern".into()), None, None, Some("fog\u{1b} horn".into())],
            note: (first == 181).then(|| "behind the customs house".into()),
            serial: (first == 181).then(|| "pier-07".into()),
            lot: (first == 181).then(|| "spring".into()),
        };
        let bare = Entry { outputs: vec![None; 4], ..entry("quay", 1, Some("0000000000")) };
        let entries = [entry("lighthouse", 181, Some("00110001000")), bare, entry("m", 8, None)];
        insta::assert_snapshot!(planned_modules(&entries, Screen::PLAIN));
        assert_eq!(planned_modules(&[], Screen::PLAIN), "The address plan holds no modules.\n");
    }
}
