//! Which lot and who decides.

use crate::cli::command_result::{CommandError, bad_input};
use crate::cli::output;
use crate::lot::LotError;
use crate::lot::decision::{Decision, What};
use crate::lot::sample::unkept;
use crate::lot::standing::Lot;
use crate::lot::{decisions, keep};
use crate::record::folder::LotFolder;
use std::path::{Path, PathBuf};

/// The records.
#[derive(Clone, Debug, clap::Args)]
pub struct Records {
    /// Folder of the records
    #[arg(id = "records", long = "records", value_name = "DIR", default_value = "records")]
    pub path: PathBuf,
}

/// Who decides, and why.
#[derive(Clone, Debug, clap::Args)]
pub struct Because {
    /// Why: one line
    #[arg(long, value_name = "TEXT")]
    pub reason: String,

    /// Who decides
    #[arg(long, value_name = "NAME")]
    pub by: String,
}

impl Because {
    /// The decision of it.
    ///
    /// # Errors
    /// When the words cannot be kept.
    pub fn decision(&self, what: What) -> Result<Decision, CommandError> {
        Ok(Decision::now(&self.by, &self.reason, what)?)
    }
}

/// The lot that holds a module.
///
/// # Errors
/// When none does, or several do.
pub fn lot_of(records: &Path, lot: Option<&str>, serial: &str) -> Result<Lot, CommandError> {
    if let Some(name) = lot {
        let lot = Lot::read(records, name)?;
        lot.module_of(serial)?;
        return Ok(lot);
    }
    let mut found: Vec<Lot> = all(records)?;
    found.retain(|lot| lot.module_of(serial).is_ok());
    let names: Vec<String> = found.iter().map(Lot::name).collect();
    match (found.pop(), found.is_empty()) {
        (Some(lot), true) => Ok(lot),
        (None, _) => Err(bad_input(format!(
            "no open lot in {} has a module {serial}: `musterbench lot list` lists the lots",
            records.display()
        ))),
        (Some(_), false) => Err(bad_input(format!(
            "several lots have a module {serial} ({}): say which with --lot",
            names.join(", ")
        ))),
    }
}

/// All lots that were opened.
///
/// # Errors
/// When the records cannot be read.
pub fn all(records: &Path) -> Result<Vec<Lot>, CommandError> {
    if !records.is_dir() {
        return Err(bad_input(format!(
            "there is no folder {}: give one with --records",
            records.display()
        )));
    }
    let opened = LotFolder::all(records)?.into_iter().filter(Lot::is_opened);
    Ok(opened.map(Lot::of).collect::<Result<_, LotError>>()?)
}

/// Keeps what was decided, and makes `modules.csv` anew.
///
/// # Errors
/// When it cannot be written.
pub fn keep(lot: &mut Lot, decided: &[Decision]) -> Result<(), CommandError> {
    keep::keep(lot, decided)?;
    warn_of_damage(lot);
    Ok(())
}

/// Keeps which modules are of the sample, where that is not kept yet.
///
/// # Errors
/// When it cannot be written.
pub fn keep_sample(lot: &mut Lot, by: &str) -> Result<(), CommandError> {
    let Some(what) = unkept(&lot.order, &lot.decisions.all) else { return Ok(()) };
    let reason = "as lot.toml says".to_owned();
    let decided = Because { reason, by: by.to_owned() }.decision(what)?;
    let _lock = lot.folder.lock()?;
    decisions::append(&lot.folder, &[decided])?;
    Ok(lot.look()?)
}

/// Tells which decisions cannot be read any more.
pub fn warn_of_damage(lot: &Lot) {
    for line in &lot.decisions.damaged {
        let path = decisions::path(&lot.folder);
        output::tell(&format!(
            "{}, line {line}: damaged, left out: decide anew what stood there",
            path.display()
        ));
    }
}
