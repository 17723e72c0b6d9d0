//! A reading explained, as JSON.

use crate::measure::uncertainty::coverage_factor;
use crate::record::report_rows::Row;
use serde::Serialize;

#[derive(Serialize)]
struct Explained<'a> {
    row: usize,
    simulated: bool,
    step: &'a str,
    place: Option<&'a str>,
    quantity: &'a str,
    value: Option<f64>,
    unit: &'a str,
    uncertainty: Option<f64>,
    lower_limit: Option<f64>,
    upper_limit: Option<f64>,
    limits_from: Option<&'a str>,
    verdict: &'a str,
    risk: Option<f64>,
    guard_band: Option<f64>,
    outside: Option<f64>,
    settled_by: Option<&'a str>,
    note: &'a str,
    calibration: Option<&'a str>,
    budget: Option<Vec<Line>>,
    standard_uncertainty: Option<f64>,
    degrees_of_freedom: Option<f64>,
    coverage_factor: Option<f64>,
}

#[derive(Serialize)]
struct Line {
    source: &'static str,
    standard_uncertainty: f64,
    share: f64,
    degrees_of_freedom: Option<f64>,
}

/// The object, its line ended. Degrees of freedom that are infinite are `null`.
pub fn budget_json(row: &Row, simulated: bool) -> String {
    let filled = |text: &'_ str| !text.is_empty();
    let whole = row.budget.map(|b| b.standard());
    let explained = Explained {
        row: row.number,
        simulated,
        step: &row.step,
        place: Some(row.place.as_str()).filter(|t| filled(t)),
        quantity: &row.quantity,
        value: row.value,
        unit: &row.unit,
        uncertainty: row.uncertainty,
        lower_limit: row.lower_limit,
        upper_limit: row.upper_limit,
        limits_from: Some(row.limits_from.as_str()).filter(|t| filled(t)),
        verdict: &row.verdict,
        risk: row.risk,
        guard_band: row.guard_band,
        outside: row.outside,
        settled_by: Some(row.settled_by.as_str()).filter(|t| filled(t)),
        note: &row.note,
        calibration: Some(row.calibration.as_str()).filter(|t| filled(t)),
        budget: row.budget.map(|budget| {
            let variance = budget.standard().powi(2);
            budget
                .lines()
                .map(|line| Line {
                    source: line.source.word(),
                    standard_uncertainty: line.standard,
                    share: line.standard.powi(2) / variance,
                    degrees_of_freedom: Some(line.dof).filter(|dof| dof.is_finite()),
                })
                .collect()
        }),
        standard_uncertainty: whole,
        degrees_of_freedom: row.budget.map(|b| b.dof()).filter(|dof| dof.is_finite()),
        coverage_factor: row.budget.map(|b| coverage_factor(b.dof())),
    };
    // Strings and numbers only: cannot fail.
    serde_json::to_string(&explained).unwrap_or_default() + "\n"
}
