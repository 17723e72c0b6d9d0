//! The label of a module that sits in a place of the layout.

use super::Given;
use crate::cli::command_result::{CommandResult, Exit, bad_input};
use crate::cli::layout::plan_file::entry;
use crate::cli::out_file::OutFile;
use crate::cli::output;
use crate::layout::LayoutError;
use crate::layout::check::check;
use crate::layout::label::{HEIGHT_MM, OWN, Standing, WIDTH_MM, draw};
use crate::layout::seated::differences;
use crate::lot::found::{by_name, in_lot};
use crate::lot::modules_csv::Row;
use crate::plain::plain;
use crate::report::planned_modules::{Label, json};

/// Carries the command out.
///
/// # Errors
/// When the plan is not in order, has no such module, or the label cannot be written.
pub fn run(given: &Given, name: &str) -> CommandResult {
    let plan = given.plan.read()?;
    // A label outlives what it was printed from, so everything must be in order.
    let mut wrong = check(&plan);
    if wrong.is_empty() {
        wrong = differences(&plan, &given.records.path)?;
    }
    if !wrong.is_empty() {
        return Err(LayoutError::Wrong(wrong).into());
    }
    let module = plan.module(name)?;
    let found = match &module.link {
        Some(link) => Some(in_lot(&given.records.path, &link.lot, &link.serial)?),
        None => by_name(&given.records.path, &module.name)?,
    };
    let standing = found.as_ref().map(|found| Standing { lot: &found.lot, module: &found.module });
    let set = module.setting().map_err(bad_input)?;
    let svg = draw(module, set.switches, standing);
    if let Some(out) = &given.out {
        OutFile { path: out, replace: given.replace, own: Some(OWN) }.write(&svg)?;
    }
    let out = given.out.as_ref().map(|out| out.display().to_string());
    output::print_as(
        out.is_none() || given.json,
        &match (&out, given.json) {
            (Some(out), false) => {
                let name = plain(&module.name);
                format!("Label of {name}, {WIDTH_MM} mm by {HEIGHT_MM} mm: {}\n", plain(out))
            }
            (None, false) => svg,
            (_, true) => json(&Label {
                module: entry(module),
                standing: found.map(|found| Row::of(&found.lot, &found.module)),
                svg: if out.is_none() { Some(svg) } else { None },
                file: out,
            }),
        },
    )?;
    Ok(Exit::Pass)
}
