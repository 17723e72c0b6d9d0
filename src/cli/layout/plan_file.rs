//! Which address plan is meant, and what its modules look like to people.

use crate::cli::command_result::CommandError;
use crate::layout::plan::{AddressPlan, PlannedModule};
use crate::layout::{DEFAULT_FILE, LayoutError};
use crate::report::planned_modules::Entry;
use crate::report::switch_bank::switch_bank;
use crate::script::address::switches_in_words;
use crate::script::module_sheet::{ModuleSheet, NUMBERINGS};
use crate::script::setting::write_switches;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;
use std::path::PathBuf;

/// The option that names the plan.
#[derive(Clone, Debug, clap::Args)]
pub struct PlanFile {
    /// The layout's address plan
    #[arg(id = "layout", long = "layout", value_name = "FILE", default_value = DEFAULT_FILE)]
    pub path: PathBuf,
}

impl PlanFile {
    /// Reads it where there is one.
    ///
    /// # Errors
    /// When the file cannot be read or is no TOML.
    pub fn read_if_any(&self) -> Result<Option<AddressPlan>, CommandError> {
        if self.path.exists() { self.read().map(Some) } else { Ok(None) }
    }

    /// Reads it. What is wrong with a module is no error yet.
    ///
    /// # Errors
    /// When the file cannot be read or is no TOML.
    pub fn read(&self) -> Result<AddressPlan, CommandError> {
        Ok(AddressPlan::read(&self.path).map_err(LayoutError::from)?)
    }
}

/// A module as it is listed.
pub fn entry(module: &PlannedModule) -> Entry {
    let count = module.sheet.switches.weights.len();
    Entry {
        name: module.name.clone(),
        kind: module.sheet.kind.clone(),
        module_sheet: module.sheet_name.clone(),
        format: module.format.to_string(),
        numbering: numbering(module.format, module.counted),
        addresses: module.addresses().collect(),
        switches: module.setting().ok().map(|set| write_switches(set.switches, count)),
        outputs: module.outputs.clone(),
        note: module.note.clone(),
        serial: module.link.as_ref().map(|link| link.serial.clone()),
        lot: module.link.as_ref().map(|link| link.lot.clone()),
    }
}

/// How the addresses of a format count, as a file names it; `None` where everybody counts alike.
pub fn numbering(format: Format, counted: Numbering) -> Option<&'static str> {
    match format {
        Format::Dcc => NUMBERINGS.iter().find(|n| n.1 == counted).map(|n| n.0),
        Format::Trinary => None,
    }
}

/// How to set a module's switches, for people.
pub fn how_to_set(sheet: &ModuleSheet, switches: u32) -> String {
    let count = sheet.switches.weights.len() as u8;
    let (drawn, words) = (switch_bank(switches, count), switches_in_words(switches, count));
    format!("\n{drawn}\nSwitches: {words}. Set them with the power off.\n")
}
