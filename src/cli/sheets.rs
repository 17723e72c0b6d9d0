//! Which sheets a script is expanded with.

use crate::quantity::located::Located;
use crate::script::plan::Plan;
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
    /// What is wrong with one of them.
    pub fn plan(&self, script: &str) -> Result<Plan, Located> {
        let script = shipped::script(script)?;
        let module = shipped::module_sheet(&self.module_sheet)?;
        let loads = self.loads.as_deref().map(shipped::load_sheet).transpose()?;
        expand(&script, &module, loads.as_ref(), self.address)
    }
}
