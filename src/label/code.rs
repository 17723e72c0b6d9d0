//! Lot and serial of a module, as a scanner reads them: `SPRING/PIER-07/9`.
//!
//! Only what a QR code holds in its alphanumeric mode (ISO/IEC 18004): capitals and digits, space and
//! `$ % * + - . / :`. Small letters become capitals, since names are the same with either. What else a name may
//! hold stands as `%` and two hexadecimal digits for each byte of its UTF-8, as in an address of the web (RFC 3986).
//! The last character checks all before it ([`check_character`]); there what is neither a letter nor a digit
//! counts as the two hexadecimal digits of its ASCII.

use super::check_character::check_character;

/// What stands between lot, serial and check character. No name holds one.
const BETWEEN: char = '/';

/// What a scanned text is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Scan {
    /// No code of ours: a serial alone, perhaps.
    Plain,
    /// A module of a lot.
    Module {
        /// The lot, in capitals.
        lot: String,
        /// The serial, in capitals.
        serial: String,
    },
    /// A code of ours that was not read as it was written.
    Wrong,
}

/// The text of a code.
pub fn write(lot: &str, serial: &str) -> String {
    let text = format!("{}{BETWEEN}{}", escaped(lot), escaped(serial));
    let check = checked_by(&text);
    format!("{text}{BETWEEN}{check}")
}

/// What a scanned text means. A code that somebody has made without a check character, lot and serial alone, is
/// as good as a serial that is typed.
pub fn read(text: &str) -> Scan {
    let text = text.trim().to_ascii_uppercase();
    let mut parts = text.split(BETWEEN);
    let (lot, serial, check) = (parts.next(), parts.next(), parts.next());
    let (Some(lot), Some(serial)) = (lot, serial) else { return Scan::Plain };
    let is_whole = check.is_none_or(|check| {
        let said = &text[..lot.len() + 1 + serial.len()];
        said.is_ascii() && check.chars().eq([checked_by(said)])
    });
    let is_one = is_whole && parts.next().is_none();
    let names = plain(lot).zip(plain(serial)).filter(|_| is_one);
    match names {
        Some((lot, serial)) => Scan::Module { lot, serial },
        None => Scan::Wrong,
    }
}

/// The check character of a text of ASCII.
fn checked_by(text: &str) -> char {
    let counted: String = text.bytes().fold(String::new(), |counted, byte| match byte {
        b'0'..=b'9' | b'A'..=b'Z' => counted + &char::from(byte).to_string(),
        other => counted + &format!("{other:02X}"),
    });
    // Nothing but capitals and digits is in it.
    check_character(&counted).unwrap_or('*')
}

fn escaped(name: &str) -> String {
    let mut text = String::new();
    for c in name.chars() {
        match c.to_ascii_uppercase() {
            c @ ('0'..='9' | 'A'..='Z' | '-' | '.' | ' ') => text.push(c),
            c => {
                let mut bytes = [0; 4];
                let bytes = c.encode_utf8(&mut bytes).bytes();
                bytes.for_each(|byte| text.push_str(&format!("%{byte:02X}")));
            }
        }
    }
    text
}

fn plain(text: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((first, more)) = rest.split_first() {
        rest = more;
        if *first != b'%' {
            bytes.push(*first);
            continue;
        }
        let (digits, more) = rest.split_at_checked(2)?;
        bytes.push(u8::from_str_radix(core::str::from_utf8(digits).ok()?, 16).ok()?);
        rest = more;
    }
    String::from_utf8(bytes).ok().filter(|name| !name.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::names;
    use proptest::prelude::*;

    #[test]
    fn a_code_is_read_as_it_was_written() {
        let text = write("spring", "pier-07");
        assert_eq!(text.rsplit_once('/').map(|(said, _)| said), Some("SPRING/PIER-07"));
        let module = Scan::Module { lot: "SPRING".into(), serial: "PIER-07".into() };
        assert_eq!(read(&text), module);
        assert_eq!(read(&format!(" {} ", text.to_lowercase())), module);
        assert_eq!(read("pier-07"), Scan::Plain);
        assert!(write("Kai_ä", "Süd 3").starts_with("KAI%5F%C3%A4/S%C3%BCD 3/"));
        assert_eq!(read("spring/pier-07"), module);
        for wrong in ["SPRING/PIER-07/", "SPRING/PIER-07/12", "/", "//*", "a/b/ü"] {
            assert_eq!(read(wrong), Scan::Wrong, "{wrong}");
        }
    }

    proptest! {
        #[test]
        fn every_name_comes_back_and_fits_the_alphanumeric_mode(
            lot in "[\\PC&&[\\w .-]]{1,12}", serial in "[a-zA-Z0-9äÖß_. -]{1,20}",
        ) {
            prop_assume!(names::check("lot", &lot).is_ok() && names::check("module", &serial).is_ok());
            let text = write(&lot, &serial);
            prop_assert!(text.bytes().all(|b| b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:".contains(&b)));
            match read(&text) {
                Scan::Module { lot: l, serial: s } => {
                    prop_assert!(names::is_same_name(&l, &lot), "{l} {lot}");
                    prop_assert!(names::is_same_name(&s, &serial), "{s} {serial}");
                }
                other => prop_assert!(false, "{other:?}"),
            }
        }

        #[test]
        fn one_wrong_character_is_found(at in any::<prop::sample::Index>(), other in "[0-9A-Z./-]") {
            let text = write("spring", "pier-07");
            let mut bytes = text.clone().into_bytes();
            let at = at.index(bytes.len());
            bytes[at] = other.as_bytes()[0];
            let wrong = String::from_utf8(bytes).expect("text");
            // Between two marks there is a chance of one in 37, since each counts as two characters.
            let is_mark = |c: u8| !c.is_ascii_alphanumeric();
            prop_assume!(wrong != text && !(is_mark(text.as_bytes()[at]) || is_mark(other.as_bytes()[0])));
            prop_assert_eq!(read(&wrong), Scan::Wrong);
        }

        #[test]
        fn whatever_is_scanned_nothing_breaks(text in "\\PC{0,60}") {
            read(&text);
        }
    }
}
