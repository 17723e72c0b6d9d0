//! What somebody at the bench wants, from what the keyboard sends.
//!
//! A scanner is a keyboard: it types a burst of characters that ends in Enter. What comes as a burst is never a
//! key and never a start.

/// What somebody wants.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// Enter alone, however often at once: a key that is held down and a double press are one start.
    Start,
    /// A single key.
    Key(char),
    /// A line that a scanner has typed.
    Scan(String),
    /// Anything else: pasted text, an arrow, two keys at once.
    Noise,
}

/// The fewest characters of a scan.
const SHORTEST: usize = 2;

/// The longest scan.
const LONGEST: usize = 200;

/// What a burst means: all that came until the keyboard was at rest.
pub fn understood(burst: &[u8]) -> Input {
    let text = String::from_utf8_lossy(burst);
    let is_end = |c: char| matches!(c, '\r' | '\n');
    let line = text.trim_end_matches(is_end);
    if line.is_empty() {
        return if text.is_empty() { Input::Noise } else { Input::Start };
    }
    let count = line.chars().count();
    let is_plain = line == "\t" || !line.chars().any(char::is_control);
    let is_ended = line.len() < text.len();
    match line.chars().next() {
        Some(key) if count == 1 && is_plain => Input::Key(key),
        _ if is_plain && is_ended && (SHORTEST..=LONGEST).contains(&count) => {
            Input::Scan(line.trim().to_owned())
        }
        _ => Input::Noise,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_burst_is_a_scan_and_never_a_key_or_a_start() {
        for (burst, wanted) in [
            ("\n", Input::Start),
            ("\r", Input::Start),
            ("\r\r\r\n", Input::Start),
            ("r", Input::Key('r')),
            ("?", Input::Key('?')),
            ("\t", Input::Key('\t')),
            ("r\n", Input::Key('r')),
            ("pier-07\n", Input::Scan("pier-07".into())),
            ("pier-07\r\n", Input::Scan("pier-07".into())),
            ("pier-07", Input::Noise),
            ("pier-07\npier-08\n", Input::Noise),
            ("rr", Input::Noise),
            ("\x1b[A", Input::Noise),
            ("\n\nr", Input::Noise),
            ("", Input::Noise),
        ] {
            assert_eq!(understood(burst.as_bytes()), wanted, "{burst:?}");
        }
    }

    proptest! {
        #[test]
        fn nothing_but_enter_starts(burst in prop::collection::vec(any::<u8>(), 0..40)) {
            let only_ends = !burst.is_empty() && burst.iter().all(|b| matches!(b, b'\r' | b'\n'));
            prop_assert_eq!(understood(&burst) == Input::Start, only_ends);
        }

        #[test]
        fn no_control_character_gets_through(burst in prop::collection::vec(any::<u8>(), 0..40)) {
            match understood(&burst) {
                Input::Scan(text) => prop_assert!(!text.chars().any(char::is_control)),
                Input::Key(key) => prop_assert!(key == '\t' || !key.is_control()),
                Input::Start | Input::Noise => {}
            }
        }
    }
}
