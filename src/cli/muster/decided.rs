//! What somebody decides in the middle of a muster.

use super::{Muster, Next};
use crate::cli::command_result::CommandError;
use crate::cli::keyboard::Keyboard;
use crate::cli::lot::{Because, keep};
use crate::cli::output;
use crate::lot::decision::What;

impl Muster<'_> {
    /// Asks why, and once more whether, then keeps it.
    pub(super) fn decide(&mut self, key: char, serial: &str) -> Result<Next, CommandError> {
        let module = self.lot.module_of(serial)?;
        let (serial, after) = (module.serial.clone(), module.last_run());
        let (words, what) = match key {
            'x' => ("Reject", What::Reject { serial: serial.clone(), after }),
            'h' => ("Put on hold", What::Hold { serial: serial.clone(), after }),
            's' => ("Strike the last try of", What::Strike { serial: serial.clone(), run: after }),
            _ => ("Note on", What::Note { serial: serial.clone() }),
        };
        output::ask(
            &format!("\n{words} {serial}. Why, in a line (empty: leave it): "),
            !self.given.quiet,
        );
        let Some(reason) = self.line() else { return Ok(Next::Stopped) };
        if reason.trim().is_empty() {
            self.message = Some("Left as it was.".into());
            return Ok(Next::GoOn);
        }
        let is_note = matches!(what, What::Note { .. });
        let yes = is_note
            || match self.says_yes(&format!("{words} {serial}: {}?", reason.trim())) {
                Ok(yes) => yes,
                Err(_) => return Ok(Next::Stopped),
            };
        if !yes {
            self.message = Some("Left as it was.".into());
            return Ok(Next::GoOn);
        }
        let because = Because { reason, by: self.given.operator.clone() };
        match because.decision(what) {
            Err(error) => self.message = Some(error.error.to_string()),
            Ok(decision) => {
                keep(&mut self.lot, &[decision])?;
                let fate = self.fate(&serial).map(|fate| fate.to_string()).unwrap_or_default();
                self.message = Some(format!("{serial}: {fate}."));
            }
        }
        Ok(Next::GoOn)
    }

    /// A line that a person types; what a scanner sends is none. `None`: nothing will come.
    fn line(&self) -> Option<String> {
        let mut alive = || true;
        let mut keyboard = Keyboard::new(self.stop, &mut alive);
        keyboard.forget().ok()?;
        loop {
            match keyboard.line() {
                Ok(Some(line)) => return Some(line),
                Ok(None) => keyboard.forget().ok()?,
                Err(_) => return None,
            }
        }
    }
}
