//! From a script to a plan for one module.

use super::actions::Action;
use super::actions::expansion::Expansion;
use super::actions::plan::{BankSetting, LoadChoice, Plan, Step, Wanted};
use super::address::set_to;
use super::module_sheet::ModuleSheet;
use super::steps::Script;
use crate::load::sheet::LoadSheet;
use crate::quantity::located::Located;

pub use super::actions::expansion::STEPS_MAX;

/// Expands a script for one kind of module, its loads and its first address (`None`: the script's,
/// else the sheet's).
///
/// # Errors
/// When the module cannot be set to the address or lacks a named output, when real loads are wanted
/// without a load sheet, or when the plan becomes too long. What else may be wrong with a plan,
/// [`super::check::check`] finds.
pub fn expand(
    script: &Script,
    sheet: &ModuleSheet,
    loads: Option<&LoadSheet>,
    address: Option<i64>,
) -> Result<Plan, Located> {
    let format = script.format.as_ref().map_or(sheet.switches.usual_format, |f| f.0);
    let is_wanted = address.is_some() || script.address.is_some();
    let (address, named_at) = match (address, &script.address) {
        (Some(given), _) => (given, None),
        (None, Some((written, span))) => (i64::from(*written), Some(span.clone())),
        (None, None) => (i64::from(sheet.try_address), None),
    };
    let (address, switches) = set_to(sheet, address, format).map_err(|message| {
        let span = named_at.or(script.format.as_ref().map(|f| f.1.clone()));
        match span {
            Some(span) => script.source.error(span, message),
            None => Located { file: script.source.name().to_owned(), place: None, message },
        }
    })?;
    let count = sheet.switches.weights.len() as u8;
    let first = BankSetting { switches, count, address, format };
    let mut out = Expansion::new(&script.source, sheet, loads, first);
    out.all(&script.steps)?;
    let uses_real =
        |s: &Step| matches!(&s.action, Action::Loads(l) if l.choice == LoadChoice::Real);
    Ok(Plan {
        script: script.name.clone(),
        origin: script.source.origin(),
        title: script.title.clone(),
        rule: script.rule,
        calibration_max_days: script.calibration_max_days,
        longest_rests: script.longest_rests,
        module: sheet.clone(),
        loads: loads.filter(|_| out.steps.iter().any(uses_real)).cloned(),
        bank: first,
        wanted: Wanted {
            address: is_wanted.then_some(first.address),
            format: script.format.as_ref().map(|(format, _)| *format),
        },
        steps: out.steps,
    })
}
