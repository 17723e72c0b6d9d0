//! Writing a module into an address plan.

pub(super) mod block;

use super::check::{Objection, Register};
use super::error::LayoutError;
use super::file::{Draft, change, read_back};
use super::next::next_free;
use super::plan::{AddressPlan, Link, Place, PlannedModule};
use crate::quantity::located::quoted;
use crate::record::names;
use crate::script::module_sheet::ModuleSheet;
use crate::script::setting::Setting;
use crate::script::shipped;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;
use std::path::Path;

/// A module that is to be added.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wanted {
    /// Its name.
    pub name: String,
    /// Its module sheet: a shipped name, or a file as seen from the current folder.
    pub module_sheet: String,
    /// The first address; `None`: the lowest that is free.
    pub first: Option<i64>,
    /// The format; `None`: the one that the sheet names first.
    pub format: Option<Format>,
    /// How addresses are counted; `None`: as the sheet says.
    pub numbering: Option<Numbering>,
    /// Names of outputs, from output 1.
    pub outputs: Vec<(u8, String)>,
    /// A note for people.
    pub note: Option<String>,
    /// The module that sits there.
    pub link: Option<Link>,
}

/// Adds a module to the plan in a file, and makes the file where it is missing. What stands in it
/// stays as it is, comments and order included. On an error the file stands untouched.
///
/// # Errors
/// When the plan is not in order, does not allow the module, or cannot be written.
pub fn add(file: &Path, wanted: &Wanted) -> Result<PlannedModule, LayoutError> {
    change(file, |plan, old| {
        let module = module(plan, file, wanted)?;
        let text = block::appended(old, &module, wanted.numbering);
        Ok(Draft { told: as_read(file, &text, module)?, text })
    })
}

/// The module as the plan will have it.
fn module(plan: &AddressPlan, file: &Path, wanted: &Wanted) -> Result<PlannedModule, LayoutError> {
    names::check("module", &wanted.name).map_err(|e| LayoutError::Refused(e.to_string()))?;
    let sheet = shipped::module_sheet(&wanted.module_sheet)?;
    let format = wanted.format.unwrap_or(sheet.switches.usual_format);
    let counted = counted(&sheet, format, wanted.numbering)?;
    let register = Register::of(plan);
    let address = match wanted.first {
        Some(first) => Setting::for_address(&sheet, first, format, counted)
            .map_err(LayoutError::Refused)?
            .first(),
        None => free(&register, &sheet, format, counted)?,
    };
    let module = PlannedModule {
        name: wanted.name.clone(),
        sheet_name: block::sheet_name(file, &wanted.module_sheet),
        outputs: outputs(&sheet, &wanted.outputs)?,
        sheet,
        counted,
        format,
        address,
        note: wanted.note.as_deref().map(|note| line_of_text("the note", note)).transpose()?,
        link: wanted.link.clone(),
        place: Place::default(),
    };
    no_objection(&register, &module)?;
    Ok(module)
}

/// What speaks against a module beside those in the register, in one sentence.
///
/// # Errors
/// That sentence, with the next address that is free where its own are taken.
pub(super) fn no_objection(
    register: &Register<'_>,
    module: &PlannedModule,
) -> Result<(), LayoutError> {
    let objections = register.objections(module);
    if objections.is_empty() {
        return Ok(());
    }
    let PlannedModule { sheet, format, counted, address, .. } = module;
    let mut sentences: Vec<String> =
        objections.iter().map(|objection| objection.sentence().to_owned()).collect();
    if objections.iter().any(|objection| matches!(objection, Objection::Owner(_))) {
        sentences.push(match next_free(register, sheet, *format, *counted, *address) {
            Some(next) => format!("the next free first address is {next}: give --first {next}"),
            None => none_is_free(sheet, *format),
        });
    }
    Err(LayoutError::Refused(sentences.join("; ")))
}

/// How addresses of a kind are counted.
///
/// # Errors
/// When a way of counting is given for a format that everybody counts alike.
pub fn counted(
    sheet: &ModuleSheet,
    format: Format,
    given: Option<Numbering>,
) -> Result<Numbering, LayoutError> {
    if given.is_some() && format != Format::Dcc {
        return Err(LayoutError::Refused(format!(
            "a numbering is for dcc: everybody counts {format} addresses the same way, so leave it \
             out"
        )));
    }
    Ok(given.unwrap_or(sheet.numbering))
}

/// The lowest first address that is free.
///
/// # Errors
/// When none is, or the kind does not understand the format.
pub fn free(
    register: &Register<'_>,
    sheet: &ModuleSheet,
    format: Format,
    counted: Numbering,
) -> Result<u16, LayoutError> {
    next_free(register, sheet, format, counted, 1).ok_or_else(|| {
        LayoutError::Refused(if sheet.switches.formats().contains(&format) {
            none_is_free(sheet, format)
        } else {
            format!("a {} does not understand {format}", sheet.kind)
        })
    })
}

fn none_is_free(sheet: &ModuleSheet, format: Format) -> String {
    format!("no {format} address that a {} can be set to is free in the plan", sheet.kind)
}

/// The names of all outputs of the kind.
fn outputs(
    sheet: &ModuleSheet,
    named: &[(u8, String)],
) -> Result<Vec<Option<String>>, LayoutError> {
    let mut names = vec![None; usize::from(sheet.outputs)];
    for (output, name) in named {
        let slot = usize::from(*output).checked_sub(1).and_then(|i| names.get_mut(i));
        let Some(slot) = slot else {
            let (kind, count) = (&sheet.kind, sheet.outputs);
            let why = format!("there is no output {output}: a {kind} has outputs 1 to {count}");
            return Err(LayoutError::Refused(why));
        };
        if slot.is_some() {
            let why = format!("output {output} is given two names: give one");
            return Err(LayoutError::Refused(why));
        }
        *slot = Some(line_of_text("the name of an output", name)?);
    }
    Ok(names)
}

/// A text that the plan's reader will take.
fn line_of_text(what: &str, text: &str) -> Result<String, LayoutError> {
    let text = text.trim();
    if (1..=120).contains(&text.chars().count()) && !text.chars().any(char::is_control) {
        return Ok(text.to_owned());
    }
    let why = format!("{what} is one line of text, 1 to 120 characters, not {}", quoted(text));
    Err(LayoutError::Refused(why))
}

/// Makes sure that what is about to be written says what it should.
fn as_read(file: &Path, text: &str, module: PlannedModule) -> Result<PlannedModule, LayoutError> {
    match read_back(file, text).and_then(|mut plan| plan.modules.pop()) {
        Some(last) if last.says_the_same_as(&module) => Ok(last),
        _ => Err(LayoutError::Refused(format!(
            "{} cannot be added to at its end: write its modules as [[module]] blocks and nothing \
             after them",
            file.display()
        ))),
    }
}
