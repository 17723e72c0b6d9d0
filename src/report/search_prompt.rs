//! What is asked before a search that moves other things than the module.

use super::prompt::{Prompt, Subject};
use crate::run::event::MaySearch;

/// How to answer.
pub const SEARCH_ANSWER: &str = "Type y or n and press Enter, or q and Enter to stop: ";

/// The question.
pub fn search_prompt(question: &MaySearch, subject: &Subject) -> Prompt {
    let MaySearch { address, format, neighbours } = *question;
    let moves = if neighbours {
        "every module on this feed moves its outputs"
    } else {
        "the real loads move"
    };
    let before = format!(
        "The module does not answer at {address} {format}. To find out where it does, every address \
         is asked, and {moves}. Keep hands and tools away."
    );
    Prompt::new(subject, &before, "search all addresses?")
}

/// What an answer means; `None`: it is none.
pub fn search_answer(line: &str) -> Option<bool> {
    match line.trim().to_ascii_lowercase().as_str() {
        "y" | "yes" => Some(true),
        "n" | "no" => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::wrap::{COLUMNS, width};
    use crate::signal::target::Format;

    #[test]
    fn only_a_plain_yes_is_a_yes() {
        assert_eq!((search_answer(" Y "), search_answer("no")), (Some(true), Some(false)));
        for other in ["", "yes please", "ja", "1"] {
            assert_eq!(search_answer(other), None, "{other}");
        }
    }

    #[test]
    fn it_says_what_moves_and_fits_80_columns() {
        let subject = Subject { name: "lock-7".into(), address: Some(181) };
        for (neighbours, words) in [(true, "every module on this feed"), (false, "the real loads")]
        {
            let question = MaySearch { address: 181, format: Format::Dcc, neighbours };
            let Prompt { before, line } = search_prompt(&question, &subject);
            assert!(before.replace('\n', " ").contains(words), "{before}");
            assert!(
                before.lines().chain(line.lines()).all(|l| width(l) <= COLUMNS),
                "{before}{line}"
            );
        }
    }
}
