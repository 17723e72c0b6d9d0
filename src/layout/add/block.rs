//! The text of a module's block.

use crate::layout::plan::{PlannedModule, folder_of};
use crate::quantity::write::in_quotes;
use crate::script::module_sheet::{FORMATS, NUMBERINGS};
use crate::script::shipped;
use crate::signal::dcc::Numbering;
use std::fmt::Write;
use std::path::{Path, absolute};

/// How a new plan begins.
const HEADING: &str = "\
# The address plan of the layout: which module answers to what.
# `musterbench layout add` writes a block at the end and leaves everything else as it is.
";

/// The text of a plan with a module's block after it. What was there stays as it is.
pub fn appended(old: Option<&str>, module: &PlannedModule, numbering: Option<Numbering>) -> String {
    let old = old.unwrap_or(HEADING);
    let mut text = old.to_owned();
    let mut block = block(module, numbering);
    if !text.is_empty() {
        let gap = if text.ends_with('\n') { "\n" } else { "\n\n" };
        block.insert_str(0, gap);
    }
    text += &if old.contains("\r\n") { block.replace('\n', "\r\n") } else { block };
    text
}

fn block(module: &PlannedModule, numbering: Option<Numbering>) -> String {
    let mut text = String::from("[[module]]\n");
    // Writing to a string cannot fail.
    let mut key = |key: &str, value: String| {
        let _ = writeln!(text, "{key} = {value}");
    };
    key("name", in_quotes(&module.name));
    key("module_sheet", in_quotes(&module.sheet_name));
    key("format", in_quotes(word(&FORMATS, module.format)));
    key("address", module.address.to_string());
    if let Some(numbering) = numbering {
        key("numbering", in_quotes(word(&NUMBERINGS, numbering)));
    }
    let outputs: Vec<String> = (1..)
        .zip(&module.outputs)
        .filter_map(|(i, name)| Some(format!("{i} = {}", in_quotes(name.as_deref()?))))
        .collect();
    if !outputs.is_empty() {
        key("outputs", format!("{{ {} }}", outputs.join(", ")));
    }
    if let Some(link) = &module.link {
        key("serial", in_quotes(&link.serial));
        key("lot", in_quotes(&link.lot));
    }
    if let Some(note) = &module.note {
        key("note", in_quotes(note));
    }
    text
}

/// The word of a file for a value.
pub(in crate::layout) fn word<T: Copy + PartialEq>(
    words: &[(&'static str, T)],
    value: T,
) -> &'static str {
    words.iter().find(|(_, v)| *v == value).map_or("", |(word, _)| word)
}

/// How the plan in `file` names a module sheet that is given as seen from the current folder: a
/// shipped one by its name, a file as seen from the plan's folder.
pub fn sheet_name(file: &Path, given: &str) -> String {
    let is_shipped = |name: &str| shipped::MODULE_SHEETS.iter().any(|s| s.name == name);
    if is_shipped(given) {
        return given.to_owned();
    }
    let (Ok(sheet), Ok(folder)) = (absolute(given), absolute(Path::new(".").join(folder_of(file))))
    else {
        return given.to_owned();
    };
    let name = sheet.strip_prefix(&folder).unwrap_or(&sheet).to_string_lossy().into_owned();
    // A file that has the name of a shipped one.
    if is_shipped(&name) { format!("./{name}") } else { name }
}
