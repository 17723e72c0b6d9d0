//! What the plan says of the modules that sit in its places, against what the lots say of them.
//!
//! Which module sits in a place of the layout is said by the plan alone; the lot keeps when it went in and came
//! out. They differ where somebody has changed the plan by hand.

use super::plan::{AddressPlan, Link, PlannedModule};
use crate::lot::LotError;
use crate::lot::decision::Whereabouts;
use crate::lot::standing::{Lot, Module};
use crate::quantity::located::{Located, quoted};
use crate::script::shipped;
use std::collections::BTreeMap;
use std::path::Path;

/// Everything in which a plan and the lots of its modules differ, at its place in the plan.
///
/// # Errors
/// When a lot cannot be read.
pub fn differences(plan: &AddressPlan, records: &Path) -> Result<Vec<Located>, LotError> {
    let mut lots: BTreeMap<&str, Result<Lot, String>> = BTreeMap::new();
    let mut wrong = Vec::new();
    for module in &plan.modules {
        let Some(link) = &module.link else { continue };
        if !lots.contains_key(link.lot.as_str()) {
            let lot = match Lot::read(records, &link.lot) {
                Err(LotError::Refused(why)) => Err(why),
                read => Ok(read?),
            };
            lots.insert(&link.lot, lot);
        }
        let told = match &lots[link.lot.as_str()] {
            Err(why) => Some(why.clone()),
            Ok(lot) => match lot.module_of(&link.serial) {
                Err(error) => Some(error.to_string()),
                Ok(found) => differs(module, link, lot, found),
            },
        };
        wrong.extend(told.map(|why| plan.source.error(module.place.serial.clone(), why)));
    }
    Ok(wrong)
}

/// Everything in which a plan and one lot differ, at its place in the plan.
pub fn differences_of(plan: &AddressPlan, lot: &Lot) -> Vec<Located> {
    let name = lot.name();
    let mut wrong = Vec::new();
    for found in &lot.modules {
        let told = match plan.place_of(&name, &found.serial) {
            Some(module) => module.link.as_ref().and_then(|link| {
                let why = differs(module, link, lot, found)?;
                Some((module.place.serial.clone(), why))
            }),
            None => left_behind(plan, &name, found),
        };
        wrong.extend(told.map(|(at, why)| plan.source.error(at, why)));
    }
    wrong
}

/// In what a module of the plan differs from the module that sits there, as its lot has it.
fn differs(module: &PlannedModule, link: &Link, lot: &Lot, found: &Module) -> Option<String> {
    let (serial, place) = (&found.serial, &module.name);
    if let Some(kind) = other_kind(module, lot) {
        let planned = &module.sheet.kind;
        return Some(format!("{serial} of the lot {} is a {kind}, not a {planned}", link.lot));
    }
    let is_in = |(is, at): &(Whereabouts, Option<String>)| {
        *is == Whereabouts::BuiltIn && at.as_deref() == Some(place.as_str())
    };
    if found.whereabouts.as_ref().is_some_and(is_in) {
        return None;
    }
    let is = found.whereabouts.as_ref().map_or("somewhere".to_owned(), |(is, at)| match at {
        Some(at) => format!("{is}, {at}"),
        None => is.to_string(),
    });
    Some(format!(
        "the lot {} has {serial} {is}, and not built in here: where it is so, tell the lot by `musterbench lot \
         where {serial} built-in --at {}`",
        link.lot,
        shell_word(place)
    ))
}

/// A module that its lot has built in at a place of the plan, where the plan has another one, or none.
fn left_behind(
    plan: &AddressPlan,
    lot: &str,
    found: &Module,
) -> Option<(core::ops::Range<usize>, String)> {
    let (Whereabouts::BuiltIn, Some(at)) = found.whereabouts.as_ref()? else { return None };
    let module = plan.module(at).ok()?;
    let serial = &found.serial;
    let sits = match &module.link {
        Some(link) => format!("{} of the lot {} sits there", link.serial, link.lot),
        None => "nothing is said of what sits there".into(),
    };
    let why = format!(
        "the lot {lot} has {serial} built in as {}, but here {sits}: say by `musterbench lot where {serial}` \
         where it is, or by `musterbench layout replace {} --serial {serial}` that it sits here",
        quoted(&module.name),
        shell_word(&module.name),
    );
    Some((module.place.name.clone(), why))
}

/// The kind of a lot, where that is another one than the plan has for a module.
pub fn other_kind(module: &PlannedModule, lot: &Lot) -> Option<String> {
    // A sheet that is gone says nothing against it.
    let sheet = shipped::module_sheet(&lot.order.kind).ok()?;
    (sheet.kind != module.sheet.kind).then_some(sheet.kind)
}

/// A name as it is typed in a shell; names hold nothing that would need more than quotes.
fn shell_word(name: &str) -> String {
    if name.contains(' ') { format!("\"{name}\"") } else { name.to_owned() }
}
