//! Colour, where it is wanted.

use crate::judge::reading::Verdict;
use std::io::IsTerminal;

/// Whether to colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// No escape sequences at all.
    Plain,
    /// A few colours.
    Coloured,
}

impl Style {
    /// Coloured on a terminal, unless `NO_COLOR` is set or the terminal cannot.
    pub fn of(out: &impl IsTerminal) -> Self {
        let is_set = |name| std::env::var_os(name).is_some_and(|v| !v.is_empty());
        let is_dumb = std::env::var_os("TERM").is_some_and(|t| t == "dumb");
        if out.is_terminal() && !is_set("NO_COLOR") && !is_dumb {
            Style::Coloured
        } else {
            Style::Plain
        }
    }

    /// The verdict in capitals.
    pub fn verdict(self, verdict: Verdict) -> String {
        let word = match verdict {
            Verdict::Pass => "PASS",
            Verdict::Fail => "FAIL",
            Verdict::Indeterminate => "INDETERMINATE",
        };
        self.verdict_as(verdict, word)
    }

    /// A verdict in other words: never by colour alone.
    pub fn verdict_as(self, verdict: Verdict, words: &str) -> String {
        let colour = match verdict {
            Verdict::Pass => 32,
            Verdict::Fail => 31,
            Verdict::Indeterminate => 33,
        };
        self.paint(words, colour)
    }

    /// Something that must not be overlooked.
    pub fn warning(self, text: &str) -> String {
        self.paint(text, 35)
    }

    fn paint(self, text: &str, colour: u8) -> String {
        match self {
            Style::Plain => text.into(),
            Style::Coloured => format!("\x1b[1;{colour}m{text}\x1b[0m"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_has_no_escape_sequences() {
        assert_eq!(Style::Plain.verdict(Verdict::Fail), "FAIL");
        assert_eq!(Style::Coloured.verdict(Verdict::Pass), "\x1b[1;32mPASS\x1b[0m");
    }
}
