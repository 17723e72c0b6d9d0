//! The serial devices, a line each.

use super::plain::plain;

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
pub fn port_list(entries: &[Entry]) -> String {
    if entries.is_empty() {
        return "No serial device found. Plug the jig in, or use `--port simulated`.\n".into();
    }
    let width = entries.iter().map(|e| e.name.chars().count()).max().unwrap_or(0);
    let mut text = String::new();
    for entry in entries {
        text.push_str(&format!("{:<width$}  {}\n", plain(&entry.name), plain(&entry.about)));
        if let Some(answer) = &entry.answer {
            text.push_str(&format!("{:width$}  {}\n", "", plain(answer)));
        }
        if let Some(lasting) = &entry.lasting_name {
            text.push_str(&format!("{:width$}  lasting name: {}\n", "", plain(lasting)));
        }
    }
    text
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
            port_list(&[entry("/dev/ttyACM0", Some("a jig")), entry("/dev/tty\u{1b}7", None)]),
            "/dev/ttyACM0  USB serial\n              a jig\n/dev/tty\u{fffd}7    USB serial\n"
        );
        assert!(port_list(&[]).contains("simulated"));
    }
}
