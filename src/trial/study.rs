//! Reports sorted into a crossed study: modules, operators, passes.

use super::alike::{NotAlike, alike};
use super::anova::{self, OneWay, TwoWay};
use super::read::{Key, Report, Row};
use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::record::facts::Facts;
use std::collections::{BTreeSet, HashMap};
use std::path::PathBuf;

/// Why reports make no study.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StudyError {
    /// They are not of like things.
    #[error(transparent)]
    NotAlike(#[from] NotAlike),
    /// No reading is in all of them.
    #[error(
        "no reading is in all of these reports: give reports of one script and one kind of module"
    )]
    NothingInCommon,
    /// The quantity asked for is not in all of them.
    #[error(
        "no reading of {0} is in all of these reports: the column `quantity` names what is there"
    )]
    NoSuchQuantity(String),
}

/// The values of one key, and what they are compared with.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// What and where.
    pub key: Key,
    /// Mean of the limits in use.
    pub limits: Window,
    /// Mean of all values.
    pub mean: f64,
    /// The mean variance that the readings themselves state, of a quantity that the module draws anew at
    /// each operation: what they scatter by beyond that is the module's.
    pub stated: Option<f64>,
    /// The analysis, or what is missing for it.
    pub analysis: Result<Analysis, String>,
}

/// The analysis of variance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Analysis {
    /// Several operators: modules, operators and both together.
    Crossed(TwoWay, Counts),
    /// One operator: modules alone.
    Modules(OneWay, Counts),
}

/// How many of each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counts {
    /// Modules.
    pub modules: usize,
    /// Operators.
    pub operators: usize,
    /// Passes of each operator with each module.
    pub passes: usize,
}

/// A whole study.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// Whether its reports are simulated.
    pub simulated: bool,
    /// Names of the modules.
    pub modules: Vec<String>,
    /// Names of the operators; an empty one is one too.
    pub operators: Vec<String>,
    /// Serial numbers of the jigs.
    pub jigs: Vec<String>,
    /// How many reports.
    pub reports: usize,
    /// What the reports differ in, though they are of like things.
    pub differs: Vec<&'static str>,
    /// What all reports have, in the order of the first.
    pub series: Vec<Series>,
    /// How many keys some reports lack.
    pub left_out: usize,
}

/// Sorts reports into a study; of one quantity only, where it is named.
///
/// # Errors
/// When they are not of one kind, a run was given twice, or nothing is in all of them.
pub fn study(reports: &[(PathBuf, Report)], quantity: Option<&str>) -> Result<Study, StudyError> {
    let differs = alike(reports)?;
    let names = |of: &dyn Fn(&Report) -> String| {
        let names: BTreeSet<String> = reports.iter().map(|(_, r)| of(r)).collect();
        names.into_iter().collect::<Vec<_>>()
    };
    let modules = names(&|r| r.facts.module.clone());
    let operators = names(&|r| r.facts.operator.clone());
    let all = by_key(reports, quantity);
    let series: Vec<Series> = all
        .iter()
        .filter(|of_key| of_key.reports == reports.len())
        .map(|of_key| one_series(of_key, &modules, &operators))
        .collect();
    if series.is_empty() {
        return Err(
            quantity.map_or(StudyError::NothingInCommon, |q| StudyError::NoSuchQuantity(q.into()))
        );
    }
    Ok(Study {
        simulated: reports.iter().any(|(_, r)| r.facts.simulated),
        left_out: all.len() - series.len(),
        jigs: names(&|r| r.facts.jig.clone()),
        reports: reports.len(),
        modules,
        operators,
        differs,
        series,
    })
}

/// All readings of one key.
struct OfKey<'r> {
    key: &'r Key,
    rows: Vec<(&'r Facts, &'r Row)>,
    /// How many reports have any.
    reports: usize,
    /// The last of them.
    last: usize,
}

/// The readings by their keys, in the order of the first report that has one.
fn by_key<'r>(reports: &'r [(PathBuf, Report)], quantity: Option<&str>) -> Vec<OfKey<'r>> {
    let mut all: Vec<OfKey<'r>> = Vec::new();
    let mut places: HashMap<&Key, usize> = HashMap::new();
    for (number, (_, report)) in reports.iter().enumerate() {
        for row in &report.rows {
            if quantity.is_some_and(|quantity| quantity != row.key.quantity) {
                continue;
            }
            let place = *places.entry(&row.key).or_insert_with(|| {
                all.push(OfKey { key: &row.key, rows: vec![], reports: 0, last: usize::MAX });
                all.len() - 1
            });
            let of_key = &mut all[place];
            of_key.reports += usize::from(of_key.last != number);
            of_key.last = number;
            of_key.rows.push((&report.facts, row));
        }
    }
    all
}

fn one_series(of_key: &OfKey<'_>, modules: &[String], operators: &[String]) -> Series {
    let rows = &of_key.rows;
    let values: Vec<f64> = rows.iter().filter_map(|(_, row)| row.value).collect();
    let mean = |values: &[f64]| {
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    let limit = |of: &dyn Fn(&Window) -> Option<f64>| {
        let limits: Vec<f64> = rows.iter().filter_map(|(_, row)| of(&row.limits)).collect();
        mean(&limits).filter(|_| limits.len() == rows.len())
    };
    let mut cells = vec![vec![Vec::new(); operators.len()]; modules.len()];
    // Both lists are sorted, and hold every name.
    let place = |names: &[String], name: &String| names.binary_search(name).ok();
    for (facts, row) in rows {
        let at = (place(modules, &facts.module), place(operators, &facts.operator));
        if let ((Some(module), Some(operator)), Some(value)) = (at, row.value) {
            cells[module][operator].push(value);
        }
    }
    Series {
        key: of_key.key.clone(),
        limits: Window { lower: limit(&|w| w.lower), upper: limit(&|w| w.upper) },
        mean: mean(&values).unwrap_or(f64::NAN),
        stated: stated(of_key),
        analysis: match missing(&cells, modules, operators) {
            Some(why) => Err(why),
            None => analyse(&cells).ok_or_else(|| "the readings are not balanced".into()),
        },
    }
}

/// The mean stated variance of a quantity that is drawn anew at each operation.
fn stated(of_key: &OfKey<'_>) -> Option<f64> {
    Quantity::named(&of_key.key.quantity).filter(|quantity| quantity.is_drawn_anew())?;
    let variances: Option<Vec<f64>> =
        of_key.rows.iter().map(|(_, row)| Some(row.uncertainty?.powi(2))).collect();
    let variances = variances.filter(|all| !all.is_empty())?;
    Some(variances.iter().sum::<f64>() / variances.len() as f64)
}

/// What an analysis lacks.
fn missing(cells: &[Vec<Vec<f64>>], modules: &[String], operators: &[String]) -> Option<String> {
    if modules.len() < 2 {
        return Some("at least two modules are needed".into());
    }
    let most = cells.iter().flatten().map(Vec::len).max().unwrap_or(0);
    if most < 2 {
        return Some("each operator must test each module at least twice".into());
    }
    for (row, module) in cells.iter().zip(modules) {
        for (cell, operator) in row.iter().zip(operators) {
            if cell.len() != most {
                let by = if operator.is_empty() { "nobody named" } else { operator };
                return Some(format!(
                    "module {module} by {by} has {} of {most} readings",
                    cell.len()
                ));
            }
        }
    }
    None
}

fn analyse(cells: &[Vec<Vec<f64>>]) -> Option<Analysis> {
    let counts = Counts {
        modules: cells.len(),
        operators: cells.first()?.len(),
        passes: cells.first()?.first()?.len(),
    };
    if counts.operators > 1 {
        return anova::two_way(cells).map(|table| Analysis::Crossed(table, counts));
    }
    let levels: Vec<Vec<f64>> = cells.iter().map(|row| row.concat()).collect();
    anova::one_way(&levels).map(|table| Analysis::Modules(table, counts))
}
