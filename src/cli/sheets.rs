//! Which sheets a script is expanded with.

use crate::quantity::located::Located;
use crate::script::check::{self, Finding};
use crate::script::plan::Plan;
use crate::script::steps::Script;
use crate::script::{expand, shipped};

/// The arguments that name sheets.
#[derive(Clone, Debug, clap::Args)]
pub struct Sheets {
    /// Module sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE", default_value = shipped::MODULE_SHEETS[0].name)]
    pub module_sheet: String,

    /// Load sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE")]
    pub loads: Option<String>,

    /// First address that the module is set to [default: the script's, else the module sheet's]
    #[arg(long, value_name = "N")]
    pub address: Option<u16>,
}

impl Sheets {
    /// Reads a script and the sheets, expands the script and checks the plan.
    ///
    /// # Errors
    /// What is wrong with one of them, the first error that the check finds included.
    pub fn plan(&self, script: &str) -> Result<Plan, Located> {
        let (plan, script, findings) = self.checked(script)?;
        match check::first_error(&findings) {
            Some(finding) => Err(finding.located(&script)),
            None => Ok(plan),
        }
    }

    /// The same with everything that the check finds.
    ///
    /// # Errors
    /// What is wrong with a file, or keeps the script from being expanded.
    pub fn checked(&self, script: &str) -> Result<(Plan, Script, Vec<Finding>), Located> {
        let script = shipped::script(script)?;
        let module = shipped::module_sheet(&self.module_sheet)?;
        let loads = self.loads.as_deref().map(shipped::load_sheet).transpose()?;
        let plan = expand(&script, &module, loads.as_ref(), self.address)?;
        let findings = check::check(&plan);
        Ok((plan, script, findings))
    }
}
