//! A reading explained, as JSON: its row, and its budget line by line.

use crate::measure::budget::{self, Budget};
use crate::measure::uncertainty::coverage_factor;
use crate::record::report::ReportRow;
use serde::Serialize;
use serde_json::{Map, Value, json};

#[derive(Serialize)]
struct Line {
    source: &'static str,
    standard_uncertainty: f64,
    share: f64,
    degrees_of_freedom: Option<f64>,
}

/// The object, its line ended. Degrees of freedom that are infinite are `null`.
pub fn budget_json(reading: &ReportRow, simulated: bool) -> String {
    let ReportRow { number, row, background } = reading;
    let place = Some(row.place()).filter(|place| !place.is_empty());
    let mut explained = object(json!({ "row": number, "simulated": simulated, "place": place }));
    // A row is a struct of numbers and texts: cannot fail.
    explained.extend(object(serde_json::to_value(row).unwrap_or_default()));
    let budget = background.budget;
    let dof = budget.map(|b| b.dof());
    explained.extend(object(json!({
        "limits_from": background.limits_from,
        "budget": budget.map(|budget| lines(&budget)),
        "standard_uncertainty": budget.map(|b| b.standard()),
        "degrees_of_freedom": dof.filter(|dof| dof.is_finite()),
        "coverage_factor": dof.map(coverage_factor),
    })));
    Value::Object(explained).to_string() + "\n"
}

fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}

fn lines(budget: &Budget) -> Vec<Line> {
    let variance = budget.standard().powi(2);
    let line = |line: budget::Contribution| Line {
        source: line.source.word(),
        standard_uncertainty: line.standard,
        share: line.standard.powi(2) / variance,
        degrees_of_freedom: Some(line.dof).filter(|dof| dof.is_finite()),
    };
    budget.lines().map(line).collect()
}
