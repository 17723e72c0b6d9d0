//! Which sheets a script is expanded with.

use super::ending::{OrEnd, Trouble};
use super::word;
use crate::load::sheet::LoadSheet;
use crate::script::check::{self, Finding};
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::Plan;
use crate::script::steps::Script;
use crate::script::{expand, shipped};

/// The sheets of a simulated bench.
#[derive(Clone, Debug, clap::Args)]
pub struct BenchSheets {
    /// Module sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE", default_value = shipped::MODULE_SHEETS[0].name)]
    pub module_sheet: String,

    /// Load sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE")]
    pub loads: Option<String>,
}

impl BenchSheets {
    /// Reads them.
    ///
    /// # Errors
    /// What is wrong with one of them.
    pub fn read(&self) -> Result<(ModuleSheet, Option<LoadSheet>), Trouble> {
        let module = shipped::module_sheet(&self.module_sheet).or_bad_input()?;
        let loads = self.loads.as_deref().map(shipped::load_sheet).transpose().or_bad_input()?;
        Ok((module, loads))
    }
}

/// What a script is expanded with.
#[derive(Clone, Debug, clap::Args)]
pub struct Sheets {
    #[command(flatten)]
    bench: BenchSheets,

    /// First address that the module is set to [default: the script's, else the module sheet's]
    #[arg(long, value_name = "N", value_parser = word::whole_number, allow_negative_numbers = true)]
    address: Option<i64>,
}

/// A script, expanded and checked.
#[derive(Clone, Debug)]
pub struct Prepared {
    /// The script.
    pub script: Script,
    /// Its plan.
    pub plan: Plan,
    /// What the check found.
    pub findings: Vec<Finding>,
    /// The module sheet.
    pub module: ModuleSheet,
    /// The load sheet, if one is given.
    pub loads: Option<LoadSheet>,
}

impl Sheets {
    /// Reads a script and the sheets, expands the script and checks the plan.
    ///
    /// # Errors
    /// What is wrong with a file, or keeps the script from being expanded.
    pub fn prepare(&self, script: &str) -> Result<Prepared, Trouble> {
        let script = shipped::script(script).or_bad_input()?;
        let (module, loads) = self.bench.read()?;
        let plan = expand(&script, &module, loads.as_ref(), self.address).or_bad_input()?;
        let findings = check::check(&plan);
        Ok(Prepared { script, plan, findings, module, loads })
    }
}

impl Prepared {
    /// Whether the plan may be carried out.
    ///
    /// # Errors
    /// The first error that the check found.
    pub fn may_be_carried_out(&self) -> Result<(), Trouble> {
        match check::first_error(&self.findings) {
            Some(finding) => Err(finding.located(&self.script)).or_bad_input(),
            None => Ok(()),
        }
    }

    /// What the check found, a text each.
    pub fn found(&self) -> Vec<String> {
        self.findings.iter().map(|f| f.located(&self.script).to_string()).collect()
    }
}
