//! Reports sorted into a crossed study: modules, operators, passes.

use super::anova::{self, OneWay, TwoWay};
use super::read::{Key, Report};
use crate::judge::verdict::Window;
use std::path::PathBuf;

/// Why reports make no study.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StudyError {
    /// Some are simulated, some are not.
    #[error("{} is simulated and {} is not: a trial is of one or of the other", simulated.display(), real.display())]
    Mixed {
        /// A simulated one.
        simulated: PathBuf,
        /// One that is not.
        real: PathBuf,
    },
    /// A run was given twice.
    #[error("{} and {} are the same run: give each report once", first.display(), second.display())]
    Twice {
        /// The first of them.
        first: PathBuf,
        /// The second.
        second: PathBuf,
    },
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
    one_kind(reports)?;
    let names = |of: &dyn Fn(&Report) -> String| {
        let mut names: Vec<String> = reports.iter().map(|(_, r)| of(r)).collect();
        names.sort();
        names.dedup();
        names
    };
    let modules = names(&|r| r.facts.module.clone());
    let operators = names(&|r| r.facts.operator.clone());
    let wanted = |key: &Key| quantity.is_none_or(|q| q == key.quantity);
    let mut keys: Vec<&Key> = Vec::new();
    for row in reports.iter().flat_map(|(_, r)| &r.rows).filter(|row| wanted(&row.key)) {
        if !keys.contains(&&row.key) {
            keys.push(&row.key);
        }
    }
    let in_all = |key: &Key| reports.iter().all(|(_, r)| r.rows.iter().any(|w| &w.key == key));
    let series: Vec<Series> = keys
        .iter()
        .filter(|key| in_all(key))
        .map(|key| one_series(reports, key, &modules, &operators))
        .collect();
    if series.is_empty() {
        return Err(
            quantity.map_or(StudyError::NothingInCommon, |q| StudyError::NoSuchQuantity(q.into()))
        );
    }
    Ok(Study {
        simulated: reports.iter().any(|(_, r)| r.facts.simulated),
        left_out: keys.len() - series.len(),
        jigs: names(&|r| r.facts.jig.clone()),
        reports: reports.len(),
        modules,
        operators,
        series,
    })
}

fn one_kind(reports: &[(PathBuf, Report)]) -> Result<(), StudyError> {
    let of = |simulated| reports.iter().find(|(_, r)| r.facts.simulated == simulated);
    if let (Some((simulated, _)), Some((real, _))) = (of(true), of(false)) {
        let (simulated, real) = (simulated.clone(), real.clone());
        return Err(StudyError::Mixed { simulated, real });
    }
    for (i, (second, report)) in reports.iter().enumerate() {
        if let Some((first, _)) = reports[..i].iter().find(|(_, r)| r.facts == report.facts) {
            return Err(StudyError::Twice { first: first.clone(), second: second.clone() });
        }
    }
    Ok(())
}

fn one_series(
    reports: &[(PathBuf, Report)],
    key: &Key,
    modules: &[String],
    operators: &[String],
) -> Series {
    let rows = || {
        let all = reports.iter().flat_map(|(_, r)| r.rows.iter().map(move |row| (&r.facts, row)));
        all.filter(|(_, row)| &row.key == key)
    };
    let values: Vec<f64> = rows().filter_map(|(_, row)| row.value).collect();
    let mean = |values: &[f64]| {
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    let limit = |of: &dyn Fn(&Window) -> Option<f64>| {
        let limits: Vec<f64> = rows().filter_map(|(_, row)| of(&row.limits)).collect();
        mean(&limits).filter(|_| limits.len() == rows().count())
    };
    let cells: Vec<Vec<Vec<f64>>> = modules
        .iter()
        .map(|module| {
            let cell = |operator: &String| {
                rows()
                    .filter(|(f, _)| f.module == *module && f.operator == *operator)
                    .filter_map(|(_, row)| row.value)
                    .collect()
            };
            operators.iter().map(cell).collect()
        })
        .collect();
    Series {
        key: key.clone(),
        limits: Window { lower: limit(&|w| w.lower), upper: limit(&|w| w.upper) },
        mean: mean(&values).unwrap_or(f64::NAN),
        analysis: match missing(&cells, modules, operators) {
            Some(why) => Err(why),
            None => analyse(&cells).ok_or_else(|| "the readings are not balanced".into()),
        },
    }
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
