//! Lots and their modules, for other programs.

use super::planned_modules::json;
use crate::lot::modules_csv::Row;
use crate::lot::standing::Lot;
use serde::Serialize;
use serde_json::{Map, Value};

/// The part of a lot that goes through a longer script.
#[derive(Serialize)]
struct Sample {
    script: String,
    serials: Vec<String>,
    left: Vec<String>,
}

/// A lot.
#[derive(Serialize)]
struct Told {
    lot: String,
    kind: String,
    count: u32,
    came: u32,
    from: Option<String>,
    order: Option<String>,
    ordered: Option<String>,
    return_by: Option<String>,
    marks: Option<String>,
    script: String,
    closed: bool,
    simulated: bool,
    fates: Map<String, Value>,
    sample: Option<Sample>,
    #[serde(skip_serializing_if = "Option::is_none")]
    modules: Option<Vec<Row>>,
}

impl Told {
    fn of(lot: &Lot) -> Self {
        let order = &lot.order;
        Told {
            lot: lot.name(),
            kind: order.kind.clone(),
            count: order.count,
            came: order.came(),
            from: order.seller.clone(),
            order: order.order.clone(),
            ordered: order.ordered.map(|day| day.to_string()),
            return_by: order.return_by.map(|day| day.to_string()),
            marks: order.marks.clone(),
            script: order.script.clone(),
            closed: lot.closed().is_some(),
            simulated: lot.modules.iter().any(|module| module.is_simulated()),
            fates: lot.counts().into_iter().map(|(fate, n)| (fate.to_string(), n.into())).collect(),
            sample: order.sample.as_ref().map(|sample| Sample {
                script: sample.script.clone(),
                serials: lot.sample.clone(),
                left: lot.sample_left().iter().map(|module| module.serial.clone()).collect(),
            }),
            modules: None,
        }
    }
}

/// A line with all lots.
pub fn lots_json(lots: &[Lot]) -> String {
    json(&lots.iter().map(Told::of).collect::<Vec<_>>())
}

/// A lot and all its modules.
pub fn lot_value(lot: &Lot) -> Value {
    let name = lot.name();
    let modules = lot.modules.iter().map(|module| Row::of(&name, module)).collect();
    serde_json::to_value(Told { modules: Some(modules), ..Told::of(lot) }).unwrap_or_default()
}

/// A line with a lot and all its modules.
pub fn lot_json(lot: &Lot) -> String {
    let name = lot.name();
    let modules = lot.modules.iter().map(|module| Row::of(&name, module)).collect();
    json(&Told { modules: Some(modules), ..Told::of(lot) })
}
