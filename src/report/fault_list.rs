//! The catalogue of faults, name first.

use super::screen::Screen;
use super::table::{Column, table};

/// One fault.
#[derive(Clone, Debug)]
pub struct Entry<'a> {
    /// Its name, as `--fault` takes it.
    pub name: &'a str,
    /// Whose fault it is.
    pub class: String,
    /// Severity when none is given, and the least and most that can be given.
    pub severity: [f64; 3],
    /// Unit of the severity.
    pub unit: &'a str,
    /// One line for people.
    pub about: &'a str,
}

/// The text, lines ended.
pub fn fault_list(entries: &[Entry<'_>], screen: Screen) -> String {
    let columns = [Column::Code(""), Column::Code(""), Column::Code(""), Column::Words("")];
    let row = |e: &Entry<'_>| [e.name.into(), e.class.clone(), severity(e), e.about.into()];
    table(screen, 0, columns, entries.iter().map(row))
}

/// Usual severity and range, in the unit that `--fault NAME=SEVERITY` takes.
fn severity(entry: &Entry<'_>) -> String {
    let [usual, least, most] = entry.severity;
    let unit = if entry.unit == "1" { String::new() } else { format!(" {}", entry.unit) };
    format!("{usual}{unit} ({least} to {most})")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up() {
        let one = |name, class: &str, unit| Entry {
            name,
            class: String::from(class),
            severity: [1.0, 0.5, 20.0],
            unit,
            about: "about it",
        };
        let entries = [one("burnt-contact", "module", "ohm"), one("open", "lead", "1")];
        insta::assert_snapshot!(fault_list(&entries, Screen::PLAIN));
    }
}
