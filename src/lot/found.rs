//! The module that a label is for, as it stands.

use super::error::LotError;
use super::fate::rule;
use super::order::SETTLING;
use super::standing::{Lot, Module};
use super::tries::tries;
use crate::record::folder::LotFolder;
use crate::record::last_run::{all_finished, last_run};
use std::path::Path;

/// A module, and the lot that it is of.
#[derive(Clone, Debug)]
pub struct Found {
    /// The lot.
    pub lot: String,
    /// The module.
    pub module: Module,
}

/// The module of a lot.
///
/// # Errors
/// When there is none, or a run of it has no finished report.
pub fn in_lot(records: &Path, lot: &str, serial: &str) -> Result<Found, LotError> {
    let lot = Lot::read(records, lot)?;
    let module = lot.module_of(serial)?.clone();
    finished(&lot, &module)?;
    Ok(Found { lot: lot.name(), module })
}

/// A module by the name that it was tested under, in the lot in which that was last; `None`: it never was. Where
/// that lot was not opened, nobody can have decided anything, and its tries speak for themselves.
///
/// # Errors
/// When a record cannot be read, or a run of it has no finished report.
pub fn by_name(records: &Path, name: &str) -> Result<Option<Found>, LotError> {
    let Some(last) = last_run(records, name)? else { return Ok(None) };
    let folder = LotFolder::open(records, &last.facts.lot)?;
    if Lot::is_opened(&folder) {
        let lot = Lot::of(folder)?;
        let module = lot.module_of(name)?.clone();
        return Ok(Some(Found { lot: lot.name(), module }));
    }
    let tries = tries(&folder.module(name)?)?;
    let ruling = rule(name, &tries, &[], SETTLING);
    let module = Module {
        serial: last.facts.module,
        is_ordered: false,
        ruling,
        tries,
        whereabouts: None,
        notes: Vec::new(),
        sample: None,
    };
    Ok(Some(Found { lot: last.facts.lot, module }))
}

/// Makes sure that no run of a module goes on, or was cut off and not recovered.
///
/// # Errors
/// When one was.
pub fn finished(lot: &Lot, module: &Module) -> Result<(), LotError> {
    for folder in lot.folder.modules()? {
        let name = folder.path().file_name().and_then(|name| name.to_str());
        if name.is_some_and(|name| crate::record::names::is_same_name(name, &module.serial)) {
            all_finished(&folder)?;
        }
    }
    Ok(())
}
