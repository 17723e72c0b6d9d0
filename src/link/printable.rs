//! Device text made safe to show.
//!
//! What a device sends may hold escape sequences that a terminal would obey, or Unicode controls
//! that turn text around. The jig's language is plain ASCII, so everything else is shown as an
//! escape.

/// The most characters of device text that a message shows.
pub const SHOWN_MAX: usize = 80;

/// The text with everything but printable ASCII escaped, cut after [`SHOWN_MAX`] characters.
pub fn printable(bytes: &[u8]) -> String {
    let mut shown = String::new();
    for &byte in bytes {
        let start = shown.len();
        match byte {
            b'"' | b'\'' => shown.push(char::from(byte)),
            _ => shown.extend(std::ascii::escape_default(byte).map(char::from)),
        }
        if shown.len() > SHOWN_MAX {
            shown.truncate(start);
            shown.push('…');
            break;
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn leaves_plain_text_alone() {
        assert_eq!(printable(b"-222,\"Data out of range\""), "-222,\"Data out of range\"");
    }

    #[test]
    fn escapes_what_a_terminal_would_obey() {
        assert_eq!(printable(b"\x1b[2J\x07\r\n\x9b"), "\\x1b[2J\\x07\\r\\n\\x9b");
        assert_eq!(printable("\u{202e}gip".as_bytes()), "\\xe2\\x80\\xaegip");
        assert_eq!(printable(b"back\\slash"), "back\\\\slash");
    }

    #[test]
    fn cuts_long_text() {
        let shown = printable(&[b'x'; 1000]);
        assert_eq!(shown.chars().count(), SHOWN_MAX + 1);
        assert!(shown.ends_with('…'));
    }

    proptest! {
        #[test]
        fn only_printable_characters_come_out(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            let shown = printable(&bytes);
            prop_assert!(shown.chars().count() <= SHOWN_MAX + 1);
            prop_assert!(shown.chars().all(|c| c == '…' || c == ' ' || c.is_ascii_graphic()));
        }
    }
}
