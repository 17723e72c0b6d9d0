//! `modules.csv`: a row a module of a lot, made anew from tries and decisions at any time.

use super::error::LotError;
use super::standing::{Lot, Module};
use super::tries::Showed;
use crate::record::durable;
use crate::record::table;
use serde::Serialize;
use std::path::PathBuf;

/// The file's name, in the folder of the lot.
pub const FILE: &str = "modules.csv";

/// The number of the format.
const FORMAT: u32 = 1;

/// A module. The fields are the columns, in their order; new ones go last.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// The number of the format.
    pub format: u32,
    /// The lot.
    pub lot: String,
    /// The module.
    pub serial: String,
    /// Whether its serial is one of the order's.
    pub ordered: bool,
    /// What becomes of it.
    pub fate: String,
    /// Why.
    pub reason: String,
    /// Whether a person decided it.
    pub by_person: bool,
    /// Whether its tries were simulated.
    pub simulated: bool,
    /// How many tries there are.
    pub tries: usize,
    /// How many of them do not count.
    pub not_counted: usize,
    /// How many checks came after the lot was closed.
    pub checks: usize,
    /// The last run that counts.
    pub last_run: Option<u32>,
    /// When that began.
    pub last_started: Option<String>,
    /// What that showed.
    pub last_showed: Option<String>,
    /// What was found there.
    pub last_finding: Option<String>,
    /// Where the module is.
    pub whereabouts: Option<String>,
    /// Which place, person or other module.
    pub place: Option<String>,
    /// The notes on it.
    pub notes: Option<String>,
    /// Whether it has passed the script of the sample, where it is of the sample: `passed` or `open`.
    pub sample: Option<&'static str>,
}

impl Row {
    /// The row of a module.
    pub fn of(lot: &str, module: &Module) -> Self {
        let newest = module.newest_check();
        let (whereabouts, place) = module.whereabouts.clone().unzip();
        Row {
            format: FORMAT,
            lot: lot.into(),
            serial: module.serial.clone(),
            ordered: module.is_ordered,
            fate: module.ruling.fate.to_string(),
            reason: module.ruling.reason.clone(),
            by_person: module.ruling.by_person,
            simulated: module.is_simulated(),
            tries: module.tries.len(),
            not_counted: module.ruling.not_counted.len(),
            checks: module.ruling.checks.len(),
            last_run: newest.map(|one| one.run),
            last_started: newest.map(|one| one.started.clone()),
            last_showed: newest.map(|one| showed(&one.showed)),
            last_finding: newest.and_then(|one| one.finding.clone()),
            whereabouts: whereabouts.map(|is| is.to_string()),
            place: place.flatten(),
            notes: (!module.notes.is_empty()).then(|| module.notes.join("; ")),
            sample: module.sample.map(|has_passed| if has_passed { "passed" } else { "open" }),
        }
    }
}

/// What a try showed, in a word or two.
pub fn showed(showed: &Showed) -> String {
    match showed {
        Showed::Passes => "pass".into(),
        Showed::AtFault(_) => "fail, module".into(),
        Showed::Unsure(_) => "fail, unsure".into(),
        Showed::Open => "indeterminate".into(),
        Showed::Elsewhere(blame) => format!("fail, {blame}"),
        Showed::CutShort => "cut short".into(),
    }
}

/// The newest check of a module, in a word or two: `pass`. One after the lot was closed says so, since it changes
/// no fate.
pub fn newest_in_brief(module: &Module) -> Option<String> {
    let one = module.newest_check()?;
    let later = if module.ruling.checks.contains(&one.run) { "later: " } else { "" };
    Some(format!("{later}{}", showed(&one.showed)))
}

/// The same with its day and its run: `pass, 2026-03-09, run 3`.
pub fn newest_in_words(module: &Module) -> String {
    let Some((brief, one)) = newest_in_brief(module).zip(module.newest_check()) else {
        return "no try counts".into();
    };
    let day = one.started.get(..10).unwrap_or(&one.started);
    format!("{brief}, {day}, run {}", one.run)
}

/// Writes the file anew. Take the lot's lock first.
///
/// # Errors
/// When it cannot be written; the old one stays.
pub fn write(lot: &Lot) -> Result<PathBuf, LotError> {
    let name = lot.name();
    let rows: Vec<Row> = lot.modules.iter().map(|module| Row::of(&name, module)).collect();
    // A lot has one module at least.
    let mut bytes = rows.first().map(table::header).unwrap_or_default();
    rows.iter().for_each(|row| bytes.extend(table::row_line(row)));
    let path = lot.folder.path().join(FILE);
    durable::replace(lot.folder.disk(), &path, &bytes)?;
    Ok(path)
}
