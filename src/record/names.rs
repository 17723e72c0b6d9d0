//! Names of modules and lots: they become folders, so they must be sane on any computer.

use thiserror::Error;

/// The table of a lot's runs, beside the folders of its modules.
pub const LOT_CSV: &str = "lot.csv";

/// Our own files beside the folders of a lot's modules.
const OWN: [&str; 4] = [LOT_CSV, "lot.toml", "decisions.jsonl", "modules.csv"];

/// Most characters of a name.
pub const LONGEST: usize = 64;

/// Most bytes of a name; file systems stop at 255.
const LONGEST_BYTES: usize = 200;

/// A name that cannot be a folder, in one sentence.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("the {what} name {shown:?} cannot be used: {why}")]
pub struct NameError {
    what: &'static str,
    shown: String,
    why: &'static str,
}

/// What a name goes by. Some file systems tell no capitals from small letters, and the records of
/// two modules must not mix.
pub fn key(name: &str) -> String {
    name.to_lowercase()
}

/// Whether two names mean the same module.
pub fn is_same_name(one: &str, other: &str) -> bool {
    key(one) == key(other)
}

/// Checks the name of a `what` (`module` or `lot`).
///
/// # Errors
/// When it could leave the records folder, or means trouble on some file system.
pub fn check(what: &'static str, name: &str) -> Result<(), NameError> {
    match objection(name) {
        None => Ok(()),
        Some(why) => {
            let mut shown: String = name.chars().take(LONGEST).collect();
            if shown.len() < name.len() {
                shown.push('…');
            }
            Err(NameError { what, shown, why })
        }
    }
}

fn objection(name: &str) -> Option<&'static str> {
    let allowed = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ');
    if name.is_empty() {
        return Some("it is empty");
    }
    if name.chars().count() > LONGEST || name.len() > LONGEST_BYTES {
        return Some("it is longer than 64 characters");
    }
    if !name.chars().all(allowed) {
        return Some("use letters, digits, spaces and - _ . only");
    }
    if !name.starts_with(char::is_alphanumeric) {
        return Some("begin it with a letter or a digit");
    }
    if name.ends_with(['.', ' ']) {
        return Some("it ends with a dot or a space");
    }
    if is_reserved(name) {
        return Some("it is a reserved name");
    }
    None
}

/// Device names of one large family of systems (with any extension), and our own files beside the
/// module folders.
fn is_reserved(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or(name).trim_end().to_ascii_uppercase();
    let is_numbered = |prefix: &str| {
        stem.strip_prefix(prefix).is_some_and(|rest| {
            let mut chars = rest.chars();
            matches!(chars.next(), Some('0'..='9' | '¹' | '²' | '³')) && chars.next().is_none()
        })
    };
    matches!(stem.as_str(), "CON" | "PRN" | "AUX" | "NUL")
        || is_numbered("COM")
        || is_numbered("LPT")
        || OWN.iter().any(|own| name.eq_ignore_ascii_case(own))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::path::{Component, Path};

    #[test]
    fn sane_names_pass() {
        for name in ["P4-017", "quay 3", "Kai_ä.2", "7", "lot", "console", "COM10", "2026-11 b"] {
            assert_eq!(check("module", name), Ok(()), "{name}");
        }
    }

    #[test]
    fn insane_names_are_refused() {
        for name in [
            "",
            ".",
            "..",
            ".hidden",
            "../x",
            "a/b",
            "a\\b",
            "a:b",
            "a\0b",
            "a\nb",
            "a\u{1b}[31m",
            " a",
            "a ",
            "a.",
            "-rf",
            "con",
            "NUL.txt",
            "aux ",
            "com1",
            "LPT².x",
            "lot.csv",
            "Lot.CSV",
            "lot.toml",
            "Decisions.jsonl",
            "=1+1",
            "a*",
            "~",
            "\u{202e}abc",
            "a\u{200b}b",
        ] {
            let error = check("module", name).expect_err(name).to_string();
            assert!(!error.chars().any(char::is_control), "{error:?}");
        }
        assert!(check("lot", &"x".repeat(65)).is_err());
        assert!(check("lot", &"x".repeat(64)).is_ok());
        // 64 characters of four bytes would not fit a file name.
        assert!(check("lot", &"𝒳".repeat(64)).is_err());
    }

    proptest! {
        #[test]
        fn a_good_name_is_one_plain_folder(name in "\\PC{0,20}|[a-zA-Z./\\\\ ]{0,12}") {
            if check("module", &name).is_ok() {
                let parts: Vec<_> = Path::new(&name).components().collect();
                prop_assert_eq!(parts.len(), 1);
                prop_assert!(matches!(parts[0], Component::Normal(p) if p == name.as_str()));
            }
        }
    }
}
