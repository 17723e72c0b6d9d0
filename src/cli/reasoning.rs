//! How it is told whose fault it is.

use super::command_result::{CommandError, OrExit, bad_input};
use crate::diagnosis::odds::Odds;
use crate::diagnosis::reasoned::Reasoned;
use crate::quantity::source::Source;
use crate::run::Rules;
use crate::run::event::Diagnosis;
use crate::run::options::Leave;
use crate::script::module_sheet::ModuleSheet;
use crate::script::shipped;
use core::sync::atomic::AtomicBool;
use std::path::PathBuf;

/// What it is told by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum By {
    /// Simulated runs with every fault that the program knows; a few seconds after a run that does not pass
    Runs,
    /// Rules of thumb alone, at once
    Rules,
}

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Reasoning {
    /// What tells whose fault it is when a run does not pass, and by runs which fault it may be
    #[arg(long = "diagnosis", value_name = "BY", value_enum, default_value = "rules")]
    by: By,

    /// How often what is the matter, as you have counted it: a file like the shipped one
    /// (`docs/diagnosis.md`)
    #[arg(long, value_name = "FILE")]
    odds: Option<PathBuf>,
}

impl Reasoning {
    /// Whoever says whose fault it is.
    ///
    /// # Errors
    /// When the odds cannot be read.
    pub fn diagnosis<'s>(
        &self,
        module: &ModuleSheet,
        search: Leave,
        stop: &'s AtomicBool,
    ) -> Result<Box<dyn Diagnosis + 's>, CommandError> {
        let odds = match &self.odds {
            None => Odds::shipped(),
            Some(path) => {
                let source = Source::read(path).or_bad_input()?;
                let why = |why| bad_input(format!("{}: {why}", source.name()));
                Odds::parse(source.text()).map_err(why)?
            }
        };
        Ok(match self.by {
            By::Rules => Box::new(Rules),
            By::Runs => {
                let kinds = shipped::other_kinds(module);
                Box::new(Reasoned { odds, kinds, search, stop })
            }
        })
    }
}
