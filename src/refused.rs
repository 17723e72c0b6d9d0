//! Why the system refuses something, in words that people read.

use std::io;

/// In words, without the system's number.
pub fn words(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".into(),
        io::ErrorKind::AlreadyExists => "something is there already".into(),
        io::ErrorKind::PermissionDenied => "this user may not do that".into(),
        io::ErrorKind::NotADirectory => "what should be a folder is none".into(),
        _ => {
            let whole = error.to_string();
            whole.split(" (os error").next().unwrap_or_default().to_owned()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_number_of_the_system_is_told() {
        for number in 1..=133 {
            let said = words(&io::Error::from_raw_os_error(number));
            assert!(!said.is_empty() && !said.contains("os error"), "{said}");
        }
        assert_eq!(words(&io::Error::other("the line is cut")), "the line is cut");
    }
}
