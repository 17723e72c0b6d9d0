//! The one owner of the screen during a muster, and of the terminal's bell.

use super::signals::bells;
use crate::cli::command_result::CommandError;
use crate::cli::output;
use crate::muster::desk::Desk;
use crate::muster::told::Told;
use crate::report::muster_screen;
use core::time::Duration;
use std::time::Instant;

/// Between two rings of the bell.
const BETWEEN: Duration = Duration::from_millis(350);

/// The screen.
#[derive(Debug)]
pub struct Page {
    on_error_output: bool,
    quiet: bool,
    shown: String,
    /// Rings that are due, and when the last one was.
    rings: u32,
    rang: Option<Instant>,
}

impl Page {
    /// A screen on the standard output, or on the error output where the standard output is for programs.
    pub fn new(on_error_output: bool, quiet: bool) -> Self {
        Page { on_error_output, quiet, shown: String::new(), rings: 0, rang: None }
    }

    /// Rings for verdicts.
    pub fn ring(&mut self, told: &[Told]) {
        if !self.quiet {
            self.rings += told.iter().map(bells).sum::<u32>();
        }
    }

    /// Shows the desk as it stands, where that has changed.
    ///
    /// # Errors
    /// When the screen cannot be written.
    pub fn show(&mut self, desk: &Desk) -> Result<(), CommandError> {
        let screen = if self.on_error_output { output::error_screen() } else { output::screen() };
        let text = muster_screen::screen(desk, screen);
        let is_due = self.rang.is_none_or(|rang| rang.elapsed() >= BETWEEN);
        let rings = self.rings > 0 && is_due;
        if rings {
            self.rings -= 1;
            self.rang = Some(Instant::now());
        }
        if rings {
            output::ask("", true);
        }
        if text != self.shown {
            output::redraw(&text, self.on_error_output)?;
            self.shown = text;
        }
        Ok(())
    }
}
