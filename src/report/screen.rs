//! Where text goes: how wide it may be there, and whether it may be coloured.

use crate::judge::reading::Verdict;
use crate::system::terminal::AsStream;
use anstream::stream::RawStream;
use anstream::{AutoStream, ColorChoice};
use anstyle::{AnsiColor, Style};
use terminal_size::{Width, terminal_size_of};

/// Where text goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Screen {
    /// Columns of a line.
    pub width: u16,
    /// Whether colours may be used; else no escape sequences at all.
    pub coloured: bool,
}

impl Screen {
    /// What is no terminal: 80 columns, no colours.
    pub const PLAIN: Screen = Screen { width: 80, coloured: false };

    /// As wide as the terminal; coloured unless it cannot, or the environment forbids it (`NO_COLOR`,
    /// `CLICOLOR`, `TERM=dumb`).
    pub fn of<S: RawStream + AsStream>(out: &S) -> Self {
        let width = terminal_size_of(out).map_or(Self::PLAIN.width, |(Width(columns), _)| columns);
        Screen { width, coloured: AutoStream::choice(out) != ColorChoice::Never }
    }

    /// The verdict in capitals.
    pub fn verdict(self, verdict: Verdict) -> String {
        self.verdict_as(verdict, Screen::word(verdict))
    }

    /// The same without any colour.
    pub const fn word(verdict: Verdict) -> &'static str {
        match verdict {
            Verdict::Pass => "PASS",
            Verdict::Fail => "FAIL",
            Verdict::Indeterminate => "INDETERMINATE",
        }
    }

    /// A verdict in other words: never by colour alone.
    pub fn verdict_as(self, verdict: Verdict, words: &str) -> String {
        self.painted(
            words,
            match verdict {
                Verdict::Pass => AnsiColor::Green,
                Verdict::Fail => AnsiColor::Red,
                Verdict::Indeterminate => AnsiColor::Yellow,
            },
        )
    }

    /// Something that must not be overlooked.
    pub fn warning(self, text: &str) -> String {
        self.painted(text, AnsiColor::Magenta)
    }

    fn painted(self, text: &str, colour: AnsiColor) -> String {
        let style = if self.coloured {
            Style::new().bold().fg_color(Some(colour.into()))
        } else {
            Style::new()
        };
        format!("{style}{text}{style:#}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_has_no_escape_sequences() {
        assert_eq!(Screen::PLAIN.verdict(Verdict::Fail), "FAIL");
        let coloured = Screen { coloured: true, ..Screen::PLAIN };
        assert_eq!(coloured.verdict(Verdict::Pass), "\x1b[1m\x1b[32mPASS\x1b[0m");
    }
}
