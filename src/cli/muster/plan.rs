//! The plan that the modules of a lot go through.

use crate::cli::command_result::{CommandError, OrExit, bad_input};
use crate::lot::order::Order;
use crate::script::check::{check, first_error};
use crate::script::expand::{expand, expand_as_found};
use crate::script::module_sheet::{FORMATS, ModuleSheet};
use crate::script::plan::{Action, HandTask, Plan};
use crate::script::shipped;

/// The plan of the lot's script. Asked is first where the last module of the lot was found.
///
/// # Errors
/// When something is wrong with it, or it asks for more by hand than the seating.
pub fn plan(
    order: &Order,
    sheet: &ModuleSheet,
    asked_first: Option<&(u16, String)>,
) -> Result<Plan, CommandError> {
    let script = shipped::script(&order.script).or_bad_input()?;
    let loads = order.loads.as_deref().map(shipped::load_sheet).transpose().or_bad_input()?;
    let found = asked_first.and_then(|(address, word)| {
        let format = FORMATS.iter().find(|(name, _)| name == word)?.1;
        Some((*address, format))
    });
    let plan = match found {
        Some(at) => expand_as_found(&script, sheet, loads.as_ref(), at),
        None => expand(&script, sheet, loads.as_ref(), None),
    };
    let plan = plan.or_bad_input()?;
    if let Some(error) = first_error(&check(&plan)) {
        return Err(error.located(&script)).or_bad_input();
    }
    let by_hand = plan.steps.iter().find(|step| {
        matches!(&step.action, Action::Ask(task) if !matches!(task, HandTask::Prepare { bank: None, .. }))
    });
    match by_hand {
        None => Ok(plan),
        Some(step) => Err(bad_input(format!(
            "the script {} asks for more by hand than to seat the module (line {}): name another one in lot.toml, \
             such as muster",
            order.script, step.line
        ))),
    }
}
