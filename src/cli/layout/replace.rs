//! `musterbench layout replace`: another module sits in a place of the layout.

use super::plan_file::{PlanFile, entry, how_to_set};
use super::seat::Told;
use crate::cli::command_result::{CommandResult, Exit, bad_input};
use crate::cli::output;
use crate::layout::alter::replaced;
use crate::layout::seated::other_kind;
use crate::lot::decision::Whereabouts;
use crate::plain::plain;
use crate::report::planned_modules::json;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Name of the module in the address plan
    #[arg(value_name = "NAME")]
    name: String,

    /// The module that sits there from now on, by its own name
    #[arg(long, value_name = "SERIAL")]
    serial: String,

    /// Its lot, where several have a module of this serial
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,

    #[command(flatten)]
    told: Told,

    #[command(flatten)]
    plan: PlanFile,

    /// Print a JSON object instead
    #[arg(long)]
    json: bool,
}

/// Carries the command out.
///
/// # Errors
/// When there is no such place or module, it is of another kind, or it sits elsewhere.
pub fn run(given: &Given) -> CommandResult {
    given.told.check()?;
    let seat = given.told.seat(given.lot.as_deref(), &given.serial)?;
    let place = given.plan.read()?.sound()?;
    let place = place.module(&given.name)?;
    if place.link.as_ref().is_some_and(|old| old.is(&seat.link.lot, &seat.link.serial)) {
        return Err(bad_input(format!("{} sits there already", plain(&seat.link.serial))));
    }
    if let Some(kind) = other_kind(place, &seat.lot) {
        return Err(bad_input(format!(
            "{} is a {kind}, and {} is planned for a {}: take that out by `musterbench layout retire`, and add \
             it anew",
            plain(&seat.link.serial),
            plain(&place.name),
            place.sheet.kind,
        )));
    }
    let altered = replaced(&given.plan.path, &given.name, seat.link.clone())?;
    let module = &altered.after;
    let mut told = String::new();
    if let Some(old) = &altered.before.link {
        told += &given.told.tell(old, Whereabouts::ReplacedBy, Some(&seat.link.serial))?;
    }
    told += &given.told.tell(&seat.link, Whereabouts::BuiltIn, Some(&module.name))?;
    let set = module.setting().map_err(bad_input)?;
    let said = told + &how_to_set(&module.sheet, set.switches) + "Print its label anew.\n";
    output::print_as(given.json, &if given.json { json(&entry(module)) } else { said })?;
    Ok(Exit::Pass)
}
