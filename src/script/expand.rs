//! From a script to a plan for one module.

use super::actions::Action;
use super::actions::expansion::Expansion;
use super::actions::plan::{BankSetting, HandTask, LoadChoice, Plan, Step, Wanted};
use super::address::set_to;
use super::module_sheet::ModuleSheet;
use super::steps::Script;
use crate::load::sheet::LoadSheet;
use crate::quantity::located::Located;
use crate::signal::target::Format;
use std::ops::Range;

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
    match (address, &script.address) {
        (Some(given), _) => expand_at(script, sheet, loads, (given, format), Named::User),
        (None, Some((written, span))) => {
            let at = (i64::from(*written), format);
            expand_at(script, sheet, loads, at, Named::Script(span.clone()))
        }
        (None, None) => {
            expand_at(script, sheet, loads, (i64::from(sheet.try_address), format), Named::Nobody)
        }
    }
}

/// Expands a script for a module that was found to answer at a first address in a format. Nobody asks for
/// it there: it is only where it is commanded.
///
/// # Errors
/// See [`expand`]; and when the script names another address or format.
pub fn expand_as_found(
    script: &Script,
    sheet: &ModuleSheet,
    loads: Option<&LoadSheet>,
    (address, format): (u16, Format),
) -> Result<Plan, Located> {
    let named = script.address.as_ref().filter(|(named, _)| *named != address);
    let named = named.map(|(_, span)| span.clone());
    let in_format = script.format.as_ref().filter(|(named, _)| *named != format);
    if let Some(span) = named.or(in_format.map(|(_, span)| span.clone())) {
        let message =
            format!("the module was found at {address} {format}, and the script wants another");
        return Err(script.source.error(span, message));
    }
    expand_at(script, sheet, loads, (address.into(), format), Named::Nobody)
}

/// Who asks for an address.
enum Named {
    User,
    Script(Range<usize>),
    Nobody,
}

fn expand_at(
    script: &Script,
    sheet: &ModuleSheet,
    loads: Option<&LoadSheet>,
    (address, format): (i64, Format),
    named: Named,
) -> Result<Plan, Located> {
    let is_named = !matches!(named, Named::Nobody);
    let named_at = match named {
        Named::Script(span) => Some(span),
        Named::User | Named::Nobody => None,
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
    // A script that moves every switch begins at a setting of its own.
    let is_wanted =
        is_named || out.steps.iter().any(|s| matches!(s.action, Action::ProveSwitches(_)));
    if !is_wanted && script.format.is_none() {
        out.steps.iter_mut().for_each(leave_switches);
    }
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

/// Where nobody asks for an address or a format, the switches stay as they are.
fn leave_switches(step: &mut Step) {
    if let Action::Ask(HandTask::Prepare { bank, .. }) = &mut step.action {
        *bank = None;
    }
}
