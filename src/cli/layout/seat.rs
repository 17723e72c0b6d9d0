//! The module that sits in a place of the layout: which lot it is of, and what the lot is told.

use crate::cli::command_result::{CommandError, bad_input};
use crate::cli::lot::{Because, Records, keep, lot_of};
use crate::cli::output;
use crate::layout::plan::Link;
use crate::lot::decision::{What, Whereabouts};
use crate::lot::fate::Fate;
use crate::lot::standing::Lot;
use crate::plain::plain;

/// Who says so, and where the lots are.
#[derive(Clone, Debug, clap::Args)]
pub struct Told {
    /// Why: one line, kept with the module
    #[arg(long, value_name = "TEXT", default_value = "told", hide_default_value = true)]
    reason: String,

    /// Who says so; kept with the module
    #[arg(long, value_name = "NAME", default_value = "nobody named", hide_default_value = true)]
    by: String,

    #[command(flatten)]
    pub records: Records,
}

/// The module of a serial, with its lot.
pub struct Seat {
    pub lot: Lot,
    pub link: Link,
}

impl Told {
    /// The module of a serial that is to sit in a place of the layout.
    ///
    /// # Errors
    /// When there is none, several lots have one, or it is rejected.
    pub fn seat(&self, lot: Option<&str>, serial: &str) -> Result<Seat, CommandError> {
        let lot = lot_of(&self.records.path, lot, serial)?;
        let module = lot.module_of(serial)?;
        let (serial, ruling) = (module.serial.clone(), &module.ruling);
        match ruling.fate {
            Fate::Accepted => {}
            Fate::Rejected => {
                let (serial, reason) = (plain(&serial), plain(&ruling.reason));
                return Err(bad_input(format!(
                    "{serial} is rejected ({reason}): seat another one, or accept it first by `musterbench \
                     lot accept`"
                )));
            }
            fate => output::tell(&format!("{} is {fate}, not accepted yet.", plain(&serial))),
        }
        let link = Link { serial, lot: lot.name() };
        Ok(Seat { lot, link })
    }

    /// Tells the lot of a module where that is now. The plan has been written already.
    ///
    /// # Errors
    /// When there is no such lot any more, or its decisions cannot be written.
    pub fn tell(
        &self,
        link: &Link,
        is: Whereabouts,
        at: Option<&str>,
    ) -> Result<String, CommandError> {
        let mut lot = Lot::read(&self.records.path, &link.lot)?;
        let serial = lot.module_of(&link.serial)?.serial.clone();
        let what = What::Whereabouts { serial: serial.clone(), is, at: at.map(str::to_owned) };
        keep(&mut lot, &[self.because().decision(what)?])?;
        let at = at.map(|at| format!(", {}", plain(at))).unwrap_or_default();
        Ok(format!("{} of the lot {}: {is}{at}\n", plain(&serial), plain(&link.lot)))
    }

    /// Says at once, before the plan is touched, when the words cannot be kept.
    ///
    /// # Errors
    /// That sentence.
    pub fn check(&self) -> Result<(), CommandError> {
        self.because().decision(What::Note { serial: String::new() }).map(drop)
    }

    fn because(&self) -> Because {
        Because { reason: self.reason.clone(), by: self.by.clone() }
    }
}
