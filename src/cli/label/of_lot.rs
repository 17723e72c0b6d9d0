//! Sheets of labels for the modules of a lot.

use super::Given;
use super::pages::{HOW, write};
use crate::cli::command_result::{CommandResult, Exit, OrExit, bad_input};
use crate::cli::output;
use crate::label::page::{as_html, filled, used_of_last};
use crate::label::sheet::Sheet;
use crate::label::sticker::{Sticker, What, by_fate};
use crate::lot::fate::Fate;
use crate::lot::found::finished;
use crate::lot::standing::{Lot, Module};
use crate::plain::plain;
use crate::record::names::is_same_name;
use crate::report::planned_modules::json;
use serde::Serialize;

/// What was printed.
#[derive(Serialize)]
struct Printed<'a> {
    lot: &'a str,
    sheet: &'a str,
    numbers: Vec<&'a str>,
    labels: Vec<&'a str>,
    tags: Vec<&'a str>,
    /// Nothing is settled of these.
    left_out: Vec<&'a str>,
    /// How many places of the last sheet are used; 0 where all are.
    next_skip: usize,
    files: Vec<String>,
    pages: Option<Vec<String>>,
}

/// Prints them.
///
/// # Errors
/// When there is no such lot, nothing is to be printed, or a label has no room for its code.
pub fn run(given: &Given, name: &str) -> CommandResult {
    let sheet = Sheet::named(&given.sheet).or_bad_input()?;
    let places = sheet.places();
    if given.skip >= places {
        return Err(bad_input(format!(
            "--skip {}: a sheet of {} has {places} labels, so that {} can be used already",
            given.skip,
            plain(&given.sheet),
            places - 1
        )));
    }
    let lot = Lot::read(&given.records.path, name)?;
    let (lot_name, modules) = (lot.name(), chosen(given, &lot)?);
    let what = |module: &Module| match given.numbers {
        true => module.is_ordered.then_some(What::Number),
        false => by_fate(module.ruling.fate),
    };
    let mut stickers = Vec::new();
    for module in &modules {
        if let Some(what) = what(module) {
            if what != What::Number {
                finished(&lot, module)?;
            }
            stickers.push(Sticker { what, lot: &lot_name, kind: &lot.order.kind, module });
        }
    }
    if stickers.is_empty() {
        return Err(bad_input(format!(
            "no module of the lot {} is accepted, rejected or on hold yet: there is nothing to print; --numbers \
             prints their serials",
            plain(&lot_name)
        )));
    }
    let title = format!("Labels of the lot {lot_name}");
    let pages = filled(&sheet, &title, given.skip, &stickers).or_bad_input()?;
    let files = write(given, &sheet, &title, &pages)?;
    let those = |wanted: What| {
        let those = stickers.iter().filter(move |sticker| sticker.what == wanted);
        those.map(|sticker| sticker.module.serial.as_str()).collect::<Vec<_>>()
    };
    let left = modules.iter().filter(|module| what(module).is_none());
    let printed = Printed {
        lot: &lot_name,
        sheet: &given.sheet,
        numbers: those(What::Number),
        labels: those(What::Label),
        tags: those(What::Tag),
        left_out: left.clone().map(|module| module.serial.as_str()).collect(),
        next_skip: used_of_last(&sheet, given.skip, stickers.len()),
        pages: (given.json && files.is_empty()).then(|| pages.clone()),
        files,
    };
    let text = match (given.json, printed.files.is_empty()) {
        (true, _) => json(&printed),
        (false, true) => as_html(&sheet, &title, &pages),
        (false, false) => told(&printed, pages.len(), &left.copied().collect::<Vec<_>>()),
    };
    output::print_as(given.json || given.out.is_none(), &text)?;
    Ok(Exit::Pass)
}

/// The modules that are meant.
fn chosen<'l>(
    given: &Given,
    lot: &'l Lot,
) -> Result<Vec<&'l Module>, crate::cli::command_result::CommandError> {
    for serial in &given.serials {
        lot.module_of(serial)?;
    }
    let is_meant = |module: &&Module| {
        given.serials.is_empty() || given.serials.iter().any(|s| is_same_name(s, &module.serial))
    };
    Ok(lot.modules.iter().filter(is_meant).collect())
}

/// What was printed, for people.
fn told(printed: &Printed<'_>, pages: usize, left: &[&Module]) -> String {
    let counted = |count: usize, one: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        many => Some(format!("{many} {one}s")),
    };
    let kinds = [(&printed.numbers, "sticker"), (&printed.labels, "label"), (&printed.tags, "tag")];
    let all: Vec<String> = kinds.iter().filter_map(|(all, one)| counted(all.len(), one)).collect();
    let mut text = format!(
        "{} of the lot {} on {}: {}\n",
        all.join(" and "),
        plain(printed.lot),
        counted(pages, "sheet").unwrap_or_default(),
        printed.files.join(", ")
    );
    let fates: Vec<String> = Fate::ALL
        .into_iter()
        .filter_map(|fate| {
            let many = left.iter().filter(|module| module.ruling.fate == fate).count();
            (many > 0).then(|| format!("{many} {fate}"))
        })
        .collect();
    if !fates.is_empty() && printed.numbers.is_empty() {
        text += &format!("Left out: {}.\n", fates.join(", "));
    }
    if printed.next_skip > 0 {
        text +=
            &format!("Next time --skip {} goes on where the last sheet ends.\n", printed.next_skip);
    }
    text + HOW + "\n"
}
