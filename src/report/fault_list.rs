//! The catalogue of faults, a line each, name first.

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
pub fn fault_list(entries: &[Entry<'_>]) -> String {
    let name = widest(entries.iter().map(|e| e.name.chars().count()));
    let class = widest(entries.iter().map(|e| e.class.chars().count()));
    let severities: Vec<String> = entries.iter().map(severity).collect();
    let range = widest(severities.iter().map(|s| s.chars().count()));
    let lines = entries.iter().zip(&severities).map(|(e, severity)| {
        format!("{:<name$}  {:<class$}  {severity:<range$}  {}\n", e.name, e.class, e.about)
    });
    lines.collect()
}

fn widest(widths: impl Iterator<Item = usize>) -> usize {
    widths.max().unwrap_or(0)
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
        assert_eq!(
            fault_list(&[one("burnt-contact", "module", "ohm"), one("open", "lead", "1")]),
            "burnt-contact  module  1 ohm (0.5 to 20)  about it\n\
             open           lead    1 (0.5 to 20)      about it\n"
        );
    }
}
