//! What people decide about one module.

use super::which::{Because, Records, keep, lot_of};
use crate::cli::command_result::{CommandError, CommandResult, Exit, bad_input};
use crate::cli::layout::plan_file::PlanFile;
use crate::cli::output;
use crate::lot::decision::{What, Whereabouts};
use crate::lot::standing::Lot;
use crate::plain::plain;
use crate::record::names::is_same_name;
use crate::report::lot_text::module_line;

/// The arguments that all of them have.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// The module
    #[arg(value_name = "SERIAL")]
    serial: String,

    /// Its lot, where several have a module of this serial
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,

    #[command(flatten)]
    because: Because,

    #[command(flatten)]
    records: Records,
}

/// Those of `strike`.
#[derive(Debug, clap::Args)]
pub struct Struck {
    #[command(flatten)]
    given: Given,

    /// The run [default: its last one]
    #[arg(long, value_name = "N")]
    run: Option<u32>,
}

/// Those of `where`.
#[derive(Debug, clap::Args)]
pub struct Placed {
    /// The module
    #[arg(value_name = "SERIAL")]
    serial: String,

    /// Where it is
    #[arg(value_name = "WHERE", value_parser = whereabouts)]
    is: Whereabouts,

    /// Which place, person or other module
    #[arg(long, value_name = "TEXT")]
    at: Option<String>,

    /// Its lot, where several have a module of this serial
    #[arg(long, value_name = "LOT")]
    lot: Option<String>,

    /// Why
    #[arg(long, value_name = "TEXT", default_value = "told", hide_default_value = true)]
    reason: String,

    /// Who says so
    #[arg(long, value_name = "NAME")]
    by: String,

    #[command(flatten)]
    records: Records,

    #[command(flatten)]
    plan: PlanFile,
}

fn whereabouts(text: &str) -> Result<Whereabouts, String> {
    Whereabouts::among(text, |_| true).map_err(|words| format!("a module is {words}"))
}

/// Keeps one of them.
///
/// # Errors
/// When there is no such module, or its fate is frozen.
pub fn run(given: &Given, what: impl FnOnce(String, u32) -> What) -> CommandResult {
    let lot = lot_of(&given.records.path, given.lot.as_deref(), &given.serial)?;
    let module = lot.module_of(&given.serial)?;
    let what = what(module.serial.clone(), module.last_run());
    if !matches!(what, What::Note { .. }) {
        check_open(&lot)?;
    }
    decided(lot, &given.because, what)
}

/// Strikes a try.
///
/// # Errors
/// When there is no such try, or its module's fate is frozen.
pub fn strike(Struck { given, run }: &Struck) -> CommandResult {
    let lot = lot_of(&given.records.path, given.lot.as_deref(), &given.serial)?;
    let module = lot.module_of(&given.serial)?;
    check_open(&lot)?;
    let run = run.unwrap_or(module.last_run());
    if !module.tries.iter().any(|one| one.run == run) {
        let runs: Vec<String> = module.tries.iter().map(|one| one.run.to_string()).collect();
        let there = if runs.is_empty() { "none".into() } else { runs.join(", ") };
        return Err(bad_input(format!("{} has no run {run}; it has {there}", module.serial)));
    }
    if module.ruling.not_counted.contains(&run) {
        return Err(bad_input(format!("run {run} of {} does not count already", module.serial)));
    }
    let what = What::Strike { serial: module.serial.clone(), run };
    decided(lot, &given.because, what)
}

/// Notes where a module is.
///
/// # Errors
/// When there is no such module.
pub fn place(given: &Placed) -> CommandResult {
    let lot = lot_of(&given.records.path, given.lot.as_deref(), &given.serial)?;
    let serial = lot.module_of(&given.serial)?.serial.clone();
    fits_plan(given, &lot.name(), &serial)?;
    let what = What::Whereabouts { serial, is: given.is, at: given.at.clone() };
    let because = Because { reason: given.reason.clone(), by: given.by.clone() };
    decided(lot, &because, what)
}

/// Which module sits in a place of the layout is said by the address plan: nothing else is taken down here.
fn fits_plan(given: &Placed, lot: &str, serial: &str) -> Result<(), CommandError> {
    let Some(plan) = given.plan.read_if_any()? else { return Ok(()) };
    let file = plain(plan.source.name());
    let says = |at: &str| {
        given.is == Whereabouts::BuiltIn && given.at.as_deref().is_some_and(|a| is_same_name(a, at))
    };
    if let Some(module) = plan.place_of(lot, serial) {
        let (name, line) = (plain(&module.name), plan.line_of(module));
        if says(&module.name) {
            return Ok(());
        }
        return Err(bad_input(format!(
            "{file} has {serial} in it as {name} (line {line}): take it out by `musterbench layout retire`, or \
             seat another one there by `musterbench layout replace`"
        )));
    }
    match plan.modules.iter().find(|module| says(&module.name)) {
        Some(module) => Err(bad_input(format!(
            "what sits in {} is said by {file} (line {}): tell it by `musterbench layout replace --serial \
             {serial}`",
            plain(&module.name),
            plan.line_of(module)
        ))),
        None => Ok(()),
    }
}

fn check_open(lot: &Lot) -> Result<(), CommandError> {
    match lot.closed() {
        None => Ok(()),
        Some(closed) => Err(bad_input(format!(
            "the lot {} was closed by {}: fates stay as they are; note it, or say where the module is",
            plain(&lot.name()),
            plain(&closed.by)
        ))),
    }
}

fn decided(mut lot: Lot, because: &Because, what: What) -> CommandResult {
    let serial = what.serial().unwrap_or_default().to_owned();
    let decision = because.decision(what)?;
    keep(&mut lot, &[decision])?;
    output::print(&(module_line(lot.module_of(&serial)?) + "\n"))?;
    Ok(Exit::Pass)
}
