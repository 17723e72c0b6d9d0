//! The serial devices, a line each.

use super::screen::Screen;
use super::table::{Column, table};
use crate::plain::plain;

/// One device.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Its name, as `--port` takes it.
    pub name: String,
    /// A name that stays when it is plugged in elsewhere.
    pub lasting_name: Option<String>,
    /// What is known about it.
    pub about: String,
    /// What it answered; `None` when it was not asked.
    pub answer: Option<String>,
}

/// The text, lines ended.
pub fn port_list(entries: &[Entry], screen: Screen) -> String {
    if entries.is_empty() {
        return "No serial device found. Plug the jig in, or use `--port simulated`.\n".into();
    }
    let row = |entry: &Entry| {
        let lasting = entry.lasting_name.as_ref().map(|name| format!("lasting name: {name}"));
        let about = [Some(entry.about.clone()), entry.answer.clone(), lasting];
        let about: Vec<String> = about.into_iter().flatten().map(|line| plain(&line)).collect();
        [plain(&entry.name), about.join("\n")]
    };
    table(screen, 0, [Column::Code(""), Column::Words("")], entries.iter().map(row))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn devices_line_up() {
        let entry = |name: &str, answer: Option<&str>| Entry {
            name: name.into(),
            lasting_name: None,
            about: "USB serial".into(),
            answer: answer.map(String::from),
        };
        assert_eq!(
            port_list(
                &[entry("/dev/ttyACM0", Some("a jig")), entry("/dev/tty\u{1b}7", None)],
                Screen::PLAIN
            ),
            "/dev/ttyACM0  USB serial\n              a jig\n/dev/tty\u{fffd}7    USB serial\n"
        );
        assert!(port_list(&[], Screen::PLAIN).contains("simulated"));
    }
}
