//! A module of the plan is moved, renamed, replaced or taken out. Everything else in the file stays as people
//! wrote it, comments included.

use super::add::block::word;
use super::add::{counted, free, no_objection};
use super::check::Register;
use super::error::LayoutError;
use super::file::{Draft, change, read_back};
use super::plan::{AddressPlan, Link, PlannedModule};
use crate::record::names;
use crate::script::module_sheet::{FORMATS, NUMBERINGS};
use crate::script::setting::Setting;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;
use std::path::Path;
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, Value};

/// A module before and after it was altered.
#[derive(Clone, Debug, PartialEq)]
pub struct Altered {
    /// As it was.
    pub before: PlannedModule,
    /// As it is.
    pub after: PlannedModule,
}

/// Where a module is to be moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Target {
    /// The first address; `None`: the lowest that is free.
    pub first: Option<i64>,
    /// The format; `None`: as it was.
    pub format: Option<Format>,
    /// How addresses are counted; `None`: as it was.
    pub numbering: Option<Numbering>,
}

/// Moves a module to other addresses.
///
/// # Errors
/// When there is none of that name, the addresses are taken or cannot be set, or the file cannot be written.
pub fn moved(file: &Path, name: &str, to: Target) -> Result<Altered, LayoutError> {
    alter(file, name, |plan, module| {
        let format = to.format.unwrap_or(module.format);
        let numbering = to.numbering.or((format == Format::Dcc).then_some(module.counted));
        module.counted = counted(&module.sheet, format, numbering)?;
        module.format = format;
        let (sheet, register) = (&module.sheet, Register::without(plan, name));
        module.address = match to.first {
            Some(first) => Setting::for_address(sheet, first, format, module.counted)
                .map_err(LayoutError::Refused)?
                .first(),
            None => free(&register, sheet, format, module.counted)?,
        };
        Ok(())
    })
}

/// Gives a module another name.
///
/// # Errors
/// When there is none of that name, the new one is taken or cannot be used, or the file cannot be written.
pub fn renamed(file: &Path, name: &str, new: &str) -> Result<Altered, LayoutError> {
    names::check("module", new).map_err(|e| LayoutError::Refused(e.to_string()))?;
    alter(file, name, |_, module| {
        new.clone_into(&mut module.name);
        Ok(())
    })
}

/// Says which module sits in a place.
///
/// # Errors
/// When there is no such place, the module sits elsewhere, or the file cannot be written.
pub fn replaced(file: &Path, name: &str, by: Link) -> Result<Altered, LayoutError> {
    alter(file, name, |_, module| {
        module.link = Some(by);
        Ok(())
    })
}

/// Takes a module out of the plan: its name and its addresses are free.
///
/// # Errors
/// When there is none of that name, or the file cannot be written.
pub fn retired(file: &Path, name: &str) -> Result<PlannedModule, LayoutError> {
    change(file, |plan, old| {
        let (at, module) = found(plan, name)?;
        let text = edited(file, old, |modules| drop(modules.remove(at)))?;
        let mut left = plan.modules.clone();
        left.remove(at);
        as_wanted(file, &text, &left)?;
        Ok(Draft { text, told: module.clone() })
    })
}

fn alter(
    file: &Path,
    name: &str,
    what: impl FnOnce(&AddressPlan, &mut PlannedModule) -> Result<(), LayoutError>,
) -> Result<Altered, LayoutError> {
    change(file, |plan, old| {
        let (at, before) = found(plan, name)?;
        let mut after = before.clone();
        what(plan, &mut after)?;
        no_objection(&Register::without(plan, &before.name), &after)?;
        let text = edited(file, old, |modules| {
            if let Some(table) = modules.get_mut(at) {
                write(table, before, &after);
            }
        })?;
        let mut wanted = plan.modules.clone();
        wanted[at] = after.clone();
        as_wanted(file, &text, &wanted)?;
        Ok(Draft { text, told: Altered { before: before.clone(), after } })
    })
}

/// A module, and the how-manieth it is.
fn found<'p>(plan: &'p AddressPlan, name: &str) -> Result<(usize, &'p PlannedModule), LayoutError> {
    let module = plan.module(name)?;
    let at = plan.modules.iter().position(|one| std::ptr::eq(one, module));
    Ok((at.unwrap_or_default(), module))
}

/// The text of the file after its blocks were edited.
fn edited(
    file: &Path,
    old: Option<&str>,
    edit: impl FnOnce(&mut ArrayOfTables),
) -> Result<String, LayoutError> {
    let old = old.unwrap_or_default();
    let mut document: DocumentMut = old.parse().map_err(|_| no_blocks(file))?;
    let modules = document.get_mut("module").and_then(Item::as_array_of_tables_mut);
    edit(modules.ok_or_else(|| no_blocks(file))?);
    let text = document.to_string();
    let has_returns = old.contains("\r\n");
    Ok(if has_returns { text.replace("\r\n", "\n").replace('\n', "\r\n") } else { text })
}

/// Makes sure that what is about to be written says what it should.
fn as_wanted(file: &Path, text: &str, wanted: &[PlannedModule]) -> Result<(), LayoutError> {
    let says = |plan: &AddressPlan| {
        plan.modules.len() == wanted.len()
            && plan.modules.iter().zip(wanted).all(|(is, wanted)| is.says_the_same_as(wanted))
    };
    read_back(file, text).filter(says).map(drop).ok_or_else(|| no_blocks(file))
}

fn no_blocks(file: &Path) -> LayoutError {
    LayoutError::Refused(format!(
        "{} cannot be changed: write its modules as [[module]] blocks",
        file.display()
    ))
}

/// Writes what has changed.
fn write(table: &mut Table, before: &PlannedModule, after: &PlannedModule) {
    if before.name != after.name {
        put(table, "name", after.name.as_str());
    }
    if before.address != after.address {
        put(table, "address", i64::from(after.address));
    }
    if before.format != after.format {
        put(table, "format", word(&FORMATS, after.format));
    }
    if before.counted != after.counted || before.format != after.format {
        if after.format == Format::Dcc {
            put(table, "numbering", word(&NUMBERINGS, after.counted));
        } else {
            table.remove("numbering");
        }
    }
    if let Some(link) = after.link.as_ref().filter(|link| before.link.as_ref() != Some(*link)) {
        put(table, "serial", link.serial.as_str());
        put(table, "lot", link.lot.as_str());
    }
}

/// Puts a value in the place of another one; what stands around it stays.
fn put(table: &mut Table, key: &str, value: impl Into<Value>) {
    let mut value = value.into();
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            value.decor_mut().clone_from(old.decor());
            *old = value;
        }
        None => {
            table.insert(key, Item::Value(value));
        }
    }
}
