//! The scripts and sheets that come with the program, so that it works from any folder.

use super::module_sheet::ModuleSheet;
use super::steps::Script;
use crate::load::sheet::LoadSheet;
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use std::path::Path;

/// A file that comes with the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shipped {
    /// The name that it is asked for by.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

macro_rules! shipped {
    ($folder:literal: $($name:literal),+ $(,)?) => {
        &[$(Shipped {
            name: $name,
            text: include_str!(concat!("../../fixtures/", $folder, "/", $name, ".toml")),
        }),+]
    };
}

/// The scripts, the default one first.
pub static SCRIPTS: &[Shipped] =
    shipped!("scripts": "arrival", "muster", "thorough", "settle", "in-place", "set");

/// The module sheets, the default one first.
pub static MODULE_SHEETS: &[Shipped] = shipped!("modules": "pier-four", "quay-four", "jetty-two");

/// The load sheets of the harbour diorama.
pub static LOAD_SHEETS: &[Shipped] = shipped!("loads": "harbour-basin", "crane-yard");

/// The name of the script that is carried out where nobody says which.
pub fn usual_script() -> &'static str {
    SCRIPTS[0].name
}

/// The name of the module sheet that holds where nobody says which.
pub fn usual_kind() -> &'static str {
    MODULE_SHEETS[0].name
}

/// The script of a shipped name, or from a file.
///
/// # Errors
/// When there is neither such a name nor such a file, or something in it is wrong.
pub fn script(name_or_path: &str) -> Result<Script, Located> {
    match find(SCRIPTS, name_or_path) {
        Some(shipped) => Script::parse(shipped.name, source(shipped)),
        None => {
            Script::read(Path::new(name_or_path)).map_err(|e| with_names(e, "scripts", SCRIPTS))
        }
    }
}

/// The module sheet of a shipped name, or from a file.
///
/// # Errors
/// When there is neither such a name nor such a file, or something in it is wrong.
pub fn module_sheet(name_or_path: &str) -> Result<ModuleSheet, Located> {
    match find(MODULE_SHEETS, name_or_path) {
        Some(shipped) => ModuleSheet::parse(&source(shipped)),
        None => ModuleSheet::read(Path::new(name_or_path))
            .map_err(|e| with_names(e, "module sheets", MODULE_SHEETS)),
    }
}

/// The shipped kinds besides one.
pub fn other_kinds(sheet: &ModuleSheet) -> Vec<ModuleSheet> {
    let all = MODULE_SHEETS.iter().filter_map(|shipped| ModuleSheet::parse(&source(shipped)).ok());
    all.filter(|other| other.kind != sheet.kind).collect()
}

/// The load sheet of a shipped name, or from a file.
///
/// # Errors
/// When there is neither such a name nor such a file, or something in it is wrong.
pub fn load_sheet(name_or_path: &str) -> Result<LoadSheet, Located> {
    match find(LOAD_SHEETS, name_or_path) {
        Some(shipped) => LoadSheet::parse(&source(shipped)),
        None => LoadSheet::read(Path::new(name_or_path))
            .map_err(|e| with_names(e, "load sheets", LOAD_SHEETS)),
    }
}

fn find<'a>(among: &'a [Shipped], name: &str) -> Option<&'a Shipped> {
    among.iter().find(|s| s.name == name)
}

fn source(shipped: &Shipped) -> Source {
    Source::shipped(shipped.name, shipped.text)
}

/// Whoever mistypes a shipped name sees what there is.
fn with_names(mut error: Located, what: &str, among: &[Shipped]) -> Located {
    let names: Vec<&str> = among.iter().map(|s| s.name).collect();
    if error.place.is_none() && !Path::new(&error.file).exists() {
        let list = names.join(", ");
        error.message = format!("there is no such file, and the shipped {what} are {list}");
    }
    error
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::expand;

    #[test]
    fn every_shipped_file_reads_and_fits_every_other() {
        for module in MODULE_SHEETS {
            let sheet = module_sheet(module.name).unwrap_or_else(|e| panic!("{e}"));
            assert_eq!(sheet.kind, module.name);
            for loads in LOAD_SHEETS {
                let loads = load_sheet(loads.name).unwrap_or_else(|e| panic!("{e}"));
                for script in SCRIPTS {
                    let script = super::script(script.name).unwrap_or_else(|e| panic!("{e}"));
                    let plan = expand(&script, &sheet, Some(&loads), None);
                    let plan = plan.unwrap_or_else(|e| panic!("{}: {e}", module.name));
                    println!("{} {} {:?}", module.name, plan.script, plan.duration());
                }
            }
        }
    }
}
