//! An address plan from its TOML.

use super::plan::{AddressPlan, Link, Place, PlannedModule};
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::quantity::value::Value;
use crate::record::names;
use crate::script::module_sheet::{FORMATS, ModuleSheet, NUMBERINGS};
use crate::script::shipped;
use crate::signal::address::highest;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// The highest figure that stands for an address in any way of counting, broadcasts included.
const HIGHEST: i64 = 2048;

/// Most modules of a plan: every address of both formats has one of its own.
const MOST: usize = highest(Format::Dcc, Numbering::FromGroupZero) as usize
    + highest(Format::Trinary, Numbering::FromGroupZero) as usize;

/// The keys of an output's name.
const OUTPUTS: [&str; 4] = ["1", "2", "3", "4"];

impl AddressPlan {
    /// Reads a plan from its text. Module sheets that are files are looked for from `folder`.
    ///
    /// # Errors
    /// When it is no TOML. What is wrong with a module stands in [`AddressPlan::wrong`].
    pub fn parse(source: Source, folder: &Path) -> Result<AddressPlan, Located> {
        let mut wrong = Vec::new();
        let mut modules = Vec::new();
        if holds_only_comments(source.text()) {
            return Ok(AddressPlan { source, modules, wrong });
        }
        let mut top = source.table()?;
        for value in entries(&mut top).unwrap_or_else(|error| {
            wrong.push(error);
            Vec::new()
        }) {
            match value.table().and_then(|table| module(table, folder)) {
                Ok(module) => modules.push(module),
                Err(error) => wrong.push(error),
            }
        }
        wrong.extend(top.finish().err());
        Ok(AddressPlan { source, modules, wrong })
    }
}

/// A plan without modules is a plan.
fn holds_only_comments(text: &str) -> bool {
    text.lines().map(str::trim).all(|line| line.is_empty() || line.starts_with('#'))
}

/// The `[[module]]` blocks.
fn entries<'s>(top: &mut Table<'s>) -> Result<Vec<Value<'s>>, Located> {
    if let Some(title) = top.take("title") {
        title.line_of_text()?;
    }
    let Some(modules) = top.take("module") else { return Ok(Vec::new()) };
    let too_many = modules
        .error(format!("the plan holds more modules than there are addresses: {MOST} at most"));
    let modules = modules.list("a [[module]] block for each module of the layout")?;
    if modules.len() > MOST { Err(too_many) } else { Ok(modules) }
}

fn module(mut table: Table<'_>, folder: &Path) -> Result<PlannedModule, Located> {
    let what = "the module's name, such as \"lighthouse\"";
    let name_value = table.need("name", what)?;
    let name = name_value.text(what)?.to_owned();
    names::check("module", &name).map_err(|e| name_value.error(e.to_string()))?;

    let sheet_value = table.need("module_sheet", "a shipped module sheet, or a file")?;
    let (sheet_name, sheet) = module_sheet(&sheet_value, folder)?;
    let counted = match table.take("numbering") {
        Some(value) => value.choice(&NUMBERINGS)?,
        None => sheet.numbering,
    };
    let format = match table.take("format") {
        Some(value) => value.choice(&FORMATS)?,
        None => sheet.switches.usual_format,
    };
    let address = table.need("address", "the module's first address, such as 181")?;
    let outputs = match table.take("outputs") {
        Some(value) if !value.is_table() => {
            let what = "names by the outputs' numbers, such as { 1 = \"lantern\" }";
            return Err(value.error(format!("`{}` is a table of {what}", value.key())));
        }
        Some(value) => outputs(value.table()?, sheet.outputs)?,
        None => vec![None; usize::from(sheet.outputs)],
    };
    let (link, serial) = link(&mut table)?;
    let module = PlannedModule {
        name,
        sheet_name,
        sheet,
        counted,
        format,
        address: address.integer(1..=HIGHEST)? as u16,
        outputs,
        note: table.take("note").map(|v| v.line_of_text()).transpose()?,
        link,
        place: Place { name: name_value.span(), address: address.span(), serial },
    };
    table.finish()?;
    Ok(module)
}

/// Which module sits there, and where its serial stands.
fn link(table: &mut Table<'_>) -> Result<(Option<Link>, Range<usize>), Located> {
    let name = |value: &Value<'_>, what| {
        let text = value.line_of_text()?;
        names::check(what, &text).map_err(|e| value.error(e.to_string()))?;
        Ok(text)
    };
    match (table.take("serial"), table.take("lot")) {
        (None, None) => Ok((None, 0..0)),
        (Some(serial), Some(lot)) => {
            let link = Link { serial: name(&serial, "module")?, lot: name(&lot, "lot")? };
            Ok((Some(link), serial.span()))
        }
        (Some(serial), None) => Err(serial.error(
            "`serial` needs `lot` beside it: the lot in which the module came, such as \"spring\"",
        )),
        (None, Some(lot)) => Err(lot.error(
            "`lot` needs `serial` beside it: what the module is called, such as \"pier-07\"",
        )),
    }
}

/// The module sheet that a value names, and the name.
fn module_sheet(value: &Value<'_>, folder: &Path) -> Result<(String, ModuleSheet), Located> {
    let name = value.line_of_text()?;
    let sheet = sheet_from(&name, folder).map_err(|error| {
        // The place in the sheet is part of the sentence; the mark is at the plan's own line.
        let told = error.to_string();
        value.error(format!("its module sheet: {}", told.lines().next().unwrap_or_default()))
    })?;
    Ok((name, sheet))
}

/// The module sheet of a shipped name, or from a file as seen from `folder`.
fn sheet_from(name: &str, folder: &Path) -> Result<ModuleSheet, Located> {
    let is_shipped = shipped::MODULE_SHEETS.iter().any(|s| s.name == name);
    let path = if is_shipped { PathBuf::from(name) } else { folder.join(name) };
    shipped::module_sheet(&path.to_string_lossy())
}

/// The names of the outputs that the kind has.
fn outputs(mut table: Table<'_>, count: u8) -> Result<Vec<Option<String>>, Located> {
    let names = OUTPUTS[..usize::from(count)]
        .iter()
        .map(|key| table.take(key).map(|v| v.line_of_text()).transpose())
        .collect::<Result<_, _>>()?;
    table.finish()?;
    Ok(names)
}
