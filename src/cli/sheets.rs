//! Which sheets a script is expanded with.

use super::command_result::{CommandError, OrExit, bad_input};
use super::word;
use crate::layout::plan::PlannedModule;
use crate::load::sheet::LoadSheet;
use crate::quantity::located::quoted;
use crate::record::report;
use crate::script::check::{self, Finding};
use crate::script::expand::{expand, expand_as_found};
use crate::script::module_sheet::FORMATS;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::Plan;
use crate::script::shipped;
use crate::script::steps::Script;
use std::path::Path;

fn module_sheet_help() -> String {
    let usual = shipped::usual_kind();
    format!("Module sheet: a file, or the name of a shipped one [default: {usual}]")
}

/// The sheets of a simulated bench.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct BenchSheets {
    /// Module sheet: a file, or the name of a shipped one; `None`: the first of these.
    #[arg(long, value_name = "FILE", help = module_sheet_help())]
    pub module_sheet: Option<String>,

    /// Load sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE")]
    pub loads: Option<String>,
}

impl BenchSheets {
    /// Reads them.
    ///
    /// # Errors
    /// What is wrong with one of them.
    pub fn read(&self) -> Result<(ModuleSheet, Option<LoadSheet>), CommandError> {
        let name = self.module_sheet.as_deref().unwrap_or(shipped::usual_kind());
        let module = shipped::module_sheet(name).or_bad_input()?;
        Ok((module, self.loads()?))
    }

    fn loads(&self) -> Result<Option<LoadSheet>, CommandError> {
        self.loads.as_deref().map(shipped::load_sheet).transpose().or_bad_input()
    }
}

/// What a script is expanded with.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Sheets {
    #[command(flatten)]
    bench: BenchSheets,

    /// First address at which the module should answer [default: the script's; else none is wanted, and
    /// that of the module sheet is tried first]
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
    pub fn prepare(&self, script: &str) -> Result<Prepared, CommandError> {
        let script = shipped::script(script).or_bad_input()?;
        let (module, loads) = self.bench.read()?;
        Prepared::new(script, module, loads, self.address)
    }

    /// The same for a module that an earlier run or roll-call has found: of the kind, and where it answered.
    ///
    /// # Errors
    /// As above, or the record does not say it.
    pub fn prepare_as_found(&self, script: &str, record: &Path) -> Result<Prepared, CommandError> {
        let script = shipped::script(script).or_bad_input()?;
        let facts = report::summary(record)?.facts;
        let name = || quoted(&record.display().to_string());
        let format = facts.command_format_found.as_deref();
        let format = format.and_then(|word| FORMATS.iter().find(|(name, _)| *name == word));
        let (Some(address), Some((_, format))) = (facts.address_found, format) else {
            return Err(bad_input(format!("nothing was found to answer in {}", name())));
        };
        let module = match (&self.bench.module_sheet, &facts.module_sheet) {
            (Some(given), _) => shipped::module_sheet(given).or_bad_input()?,
            (None, Some(sheet)) => shipped::module_sheet(sheet).or_bad_input()?,
            (None, None) => {
                return Err(bad_input(format!(
                    "{} does not say of which kind the module is: give --module-sheet",
                    name()
                )));
            }
        };
        if let Some(digest) = facts.module_sheet_digest.filter(|d| *d != module.origin.digest)
            && self.bench.module_sheet.is_none()
        {
            return Err(bad_input(format!(
                "{} was made with another module sheet of this name ({digest}): give --module-sheet",
                name()
            )));
        }
        let loads = self.bench.loads()?;
        let plan = expand_as_found(&script, &module, loads.as_ref(), (address, *format));
        Ok(Prepared::of(script, plan.or_bad_input()?, module, loads))
    }

    /// The same for a module of an address plan, which says what it is and how it is set.
    ///
    /// # Errors
    /// As above, or the script wants another format.
    pub fn prepare_planned(
        &self,
        script: &str,
        planned: &PlannedModule,
    ) -> Result<Prepared, CommandError> {
        let mut script = shipped::script(script).or_bad_input()?;
        planned.setting().map_err(bad_input)?;
        match &script.format {
            Some((wanted, span)) if *wanted != planned.format => {
                let (name, format) = (quoted(&planned.name), planned.format);
                let why =
                    format!("the script is for {wanted}, but the plan has {name} in {format}");
                return Err(script.source.error(span.clone(), why)).or_bad_input();
            }
            // Nothing in the script can be wrong with it: the module can be set so.
            _ => script.format = Some((planned.format, 0..0)),
        }
        let loads = self.bench.loads()?;
        let address = planned.address_by_sheet().map(i64::from);
        Prepared::new(script, planned.sheet.clone(), loads, address)
    }
}

impl Prepared {
    fn new(
        script: Script,
        module: ModuleSheet,
        loads: Option<LoadSheet>,
        address: Option<i64>,
    ) -> Result<Prepared, CommandError> {
        let plan = expand(&script, &module, loads.as_ref(), address).or_bad_input()?;
        Ok(Prepared::of(script, plan, module, loads))
    }

    fn of(script: Script, plan: Plan, module: ModuleSheet, loads: Option<LoadSheet>) -> Prepared {
        let findings = check::check(&plan);
        Prepared { script, plan, findings, module, loads }
    }

    /// Whether the plan may be carried out.
    ///
    /// # Errors
    /// The first error that the check found.
    pub fn may_be_carried_out(&self) -> Result<(), CommandError> {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::plan::AddressPlan;
    use crate::quantity::source::Source;
    use crate::signal::target::Format;
    use std::path::Path;

    #[test]
    fn an_address_plan_says_sheet_format_and_address() {
        let text = "[[module]]\nname = \"lock\"\nmodule_sheet = \"pier-four\"\naddress = 185\n\
                    numbering = \"from-group-zero\"\n[[module]]\nname = \"gates\"\n\
                    module_sheet = \"pier-four\"\nformat = \"trinary\"\naddress = 9\n";
        let layout = AddressPlan::parse(Source::new("layout.toml", text), Path::new("")).unwrap();
        let bench = BenchSheets { module_sheet: Some("quay-four".into()), loads: None };
        let sheets = Sheets { bench, address: None };
        for (name, format, address) in [("lock", Format::Dcc, 181), ("gates", Format::Trinary, 9)] {
            let module = layout.module(name).unwrap();
            let plan = sheets.prepare_planned("arrival", module).unwrap().plan;
            assert_eq!((plan.bank.format, plan.bank.address), (format, address));
            assert_eq!(plan.module.kind, "pier-four");
        }
    }
}
