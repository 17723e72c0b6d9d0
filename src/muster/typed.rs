//! The keyboard of a muster: keys and scans, and the answers to what is asked.

use super::asking::Asking;
use super::desk::Desk;
use super::keys::{Input, understood};
use super::scan::{Scanned, scanned};
use super::station::Stands;
use super::told::Told;
use crate::lot::LotError;
use crate::lot::decision::{Decision, What};

/// The longest line.
const LONGEST: usize = 300;

const NO_KEY: &str = "That was no key of these.";
const LEFT: &str = "Left as it was.";

/// Its word for other programs.
fn word(key: char) -> &'static str {
    match key {
        'x' => "reject",
        'h' => "hold",
        's' => "strike",
        _ => "note",
    }
}

impl Desk {
    /// What the keyboard sent.
    pub(super) fn typed(&mut self, burst: &[u8]) -> Result<(), LotError> {
        let Some(asked) = self.asking.take() else { return self.pressed(understood(burst)) };
        if let Asking::Reason { key, serial, line } = asked {
            return self.reason(key, serial, line, burst);
        }
        match (understood(burst), asked) {
            (Input::Key('y' | 'Y'), Asking::Sure { key, serial, reason }) => {
                self.decide(key, &serial, &reason)?;
            }
            (Input::Key('y' | 'Y'), Asking::Again { at, serial, .. }) => self.choose(at, serial)?,
            (Input::Key('y' | 'Y'), Asking::Stop) => {
                (self.stops, self.stops_runs) = (true, true);
            }
            (Input::Key(_), Asking::Sure { .. }) => self.message = Some(LEFT.into()),
            (Input::Key(_), _) => {}
            // A start, a scan or two keys at once are no answer.
            (_, asked) => self.asking = Some(asked),
        }
        Ok(())
    }

    fn pressed(&mut self, input: Input) -> Result<(), LotError> {
        let stations = self.stations.len();
        match input {
            Input::Start => return self.enter(),
            Input::Scan(text) => return self.scan(&text),
            Input::Noise => self.message = Some(NO_KEY.into()),
            Input::Key(key) => match key.to_ascii_lowercase() {
                'q' => self.quit(),
                '?' => self.help = !self.help,
                'r' => match self.last() {
                    Some(serial) => {
                        self.message = None;
                        return self.choose(self.focus, serial);
                    }
                    None => self.message = Some("No module was tested yet.".into()),
                },
                key @ ('x' | 'h' | 'n' | 's') => match self.last() {
                    Some(serial) => {
                        self.asking = Some(Asking::Reason { key, serial, line: String::new() });
                    }
                    None => self.message = Some("No module was tested yet.".into()),
                },
                '\t' if stations > 1 => self.focus = (self.focus + 1) % stations,
                digit @ '1'..='9' if stations > 1 => {
                    let at = digit as usize - '1' as usize;
                    if at < stations {
                        self.focus = at;
                    } else {
                        self.message = Some(format!("There are {stations} jigs."));
                    }
                }
                _ => self.message = Some(NO_KEY.into()),
            },
        }
        Ok(())
    }

    /// The last module of the station that is meant.
    fn last(&self) -> Option<String> {
        self.stations[self.focus].last.as_ref().map(|last| last.serial.clone())
    }

    fn quit(&mut self) {
        let runs = self.stations.iter().any(|one| matches!(one.stands, Stands::Running(..)));
        if runs { self.asking = Some(Asking::Stop) } else { self.stops = true }
    }

    fn scan(&mut self, text: &str) -> Result<(), LotError> {
        let at = self.focus;
        let mut serial = None;
        match scanned(&self.lot, text) {
            Scanned::Module(chosen) => serial = Some(chosen),
            Scanned::Refused(why) => self.message = Some(why),
            Scanned::Question(chosen, question) => {
                self.asking = Some(Asking::Again { at, serial: chosen, question });
            }
        }
        self.note(Told::Scanned { station: at + 1, text: text.into(), serial: serial.clone() });
        if let Some(serial) = serial {
            self.message = None;
            self.choose(at, serial)?;
        }
        Ok(())
    }

    fn reason(
        &mut self,
        key: char,
        serial: String,
        mut line: String,
        burst: &[u8],
    ) -> Result<(), LotError> {
        if let Input::Scan(text) = understood(burst)
            && !matches!(scanned(&self.lot, &text), Scanned::Refused(_))
        {
            self.message = Some(format!("{text} was scanned: that is no reason."));
            self.asking = Some(Asking::Reason { key, serial, line });
            return Ok(());
        }
        let mut is_ended = false;
        for c in String::from_utf8_lossy(burst).chars() {
            match c {
                '\r' | '\n' => {
                    is_ended = true;
                    break;
                }
                '\u{8}' | '\u{7f}' => drop(line.pop()),
                '\u{15}' => line.clear(),
                c if !c.is_control() && line.chars().count() < LONGEST => line.push(c),
                _ => {}
            }
        }
        let reason = line.trim().to_owned();
        if !is_ended {
            self.asking = Some(Asking::Reason { key, serial, line });
        } else if reason.is_empty() {
            self.message = Some(LEFT.into());
        } else if key == 'n' {
            self.decide(key, &serial, &reason)?;
        } else {
            self.asking = Some(Asking::Sure { key, serial, reason });
        }
        Ok(())
    }

    fn decide(&mut self, key: char, serial: &str, reason: &str) -> Result<(), LotError> {
        self.lot.look()?;
        let module = self.lot.module_of(serial)?;
        let (serial, after) = (module.serial.clone(), module.last_run());
        let what = match key {
            'x' => What::Reject { serial: serial.clone(), after },
            'h' => What::Hold { serial: serial.clone(), after },
            's' => What::Strike { serial: serial.clone(), run: after },
            _ => What::Note { serial: serial.clone() },
        };
        let decided = Decision::now(&self.by, reason, what)?;
        let (reason, by) = (decided.reason.clone(), decided.by.clone());
        self.keep_up(&[decided])?;
        self.note(Told::Decided { serial: serial.clone(), decision: word(key), reason, by });
        let fate = self.lot.module_of(&serial)?.ruling.fate;
        self.message = Some(format!("{serial}: {fate}."));
        self.decided()
    }
}
