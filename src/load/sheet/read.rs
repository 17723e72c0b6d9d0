//! A load sheet from its TOML.

use super::{Load, LoadSheet, Sample};
use crate::load::circuit::Circuit;
use crate::quantity::located::{Located, quoted};
use crate::quantity::range::Toleranced;
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use crate::quantity::value::Value;
use crate::signal::target::Clamp;
use std::path::Path;
use uom::si::f64::{ElectricPotential, Ratio};

/// Extra-low voltage only: the highest supply that a load sheet may ask for, tolerance included, in volts.
/// The same as in README.md and docs/jig.md.
const SUPPLY_MAX_V: f64 = 20.0;

impl LoadSheet {
    /// Reads a load sheet from a file.
    ///
    /// # Errors
    /// When the file cannot be read or something in it is wrong.
    pub fn read(path: &Path) -> Result<LoadSheet, Located> {
        LoadSheet::parse(&Source::read(path)?)
    }

    /// Reads a load sheet from its text.
    ///
    /// # Errors
    /// When something in it is wrong: a clamp that does not exist or is used twice, an
    /// alternating-current supply, a circuit that cannot be.
    pub fn parse(source: &Source) -> Result<LoadSheet, Located> {
        let mut top = source.table()?;
        let title = top.need("title", "one line for people")?.line_of_text()?;
        let supply = supply(top.need_table("supply", "the supply of the loads")?)?;
        let sample = top.take("sample").map(|v| v.table().and_then(sample)).transpose()?;
        let list = top.need("load", "one [[load]] for each load")?;
        let mut clamps: [Option<Load>; 8] = Default::default();
        for member in list.list("a list of [[load]] tables")? {
            let mut table = member.table()?;
            let at = table.need("at", "its clamp, such as \"1a\", or a list of them")?;
            let places = places(at, &clamps)?;
            let load = load(table)?;
            for clamp in places {
                clamps[clamp.index()] = Some(load.clone());
            }
        }
        top.finish()?;
        Ok(LoadSheet { origin: source.origin(), title, supply, sample, clamps })
    }
}

fn supply(mut table: Table<'_>) -> Result<Toleranced<ElectricPotential>, Located> {
    let kind = table.need("kind", "\"dc\"")?;
    match kind.text("\"dc\"")? {
        "dc" => {}
        "ac" => {
            return Err(kind.error(
                "the jig's load supply is direct current only: it has no \"ac\"; test these loads \
                 on \"dc\" where they allow it",
            ));
        }
        other => {
            return Err(kind.error(format!("`supply.kind` is \"dc\", not {}", quoted(other))));
        }
    }
    let value = table.need("voltage", "for example \"16 V ±5 %\"")?;
    let voltage: Toleranced<ElectricPotential> = value.toleranced()?;
    if voltage.upper.si() > SUPPLY_MAX_V || voltage.lower.si() <= 0.0 {
        return Err(value.error(format!(
            "`supply.voltage` may be at most {SUPPLY_MAX_V} V, tolerance included: extra-low \
             voltage only"
        )));
    }
    table.finish()?;
    Ok(voltage)
}

fn sample(mut table: Table<'_>) -> Result<Sample, Located> {
    let share = |value: Value<'_>| -> Result<Ratio, Located> {
        let found: Ratio = value.quantity()?;
        let inside = found.si() > 0.0 && found.si() < 1.0;
        if inside {
            Ok(found)
        } else {
            Err(value.error(format!("`{}` lies between 0 % and 100 %", value.key())))
        }
    };
    let count = |value: Value<'_>| Ok(value.integer(1..=1_000_000)?.unsigned_abs() as u32);
    let sample = Sample {
        simulated: table.take("simulated").map_or(Ok(false), |v| v.truth())?,
        specimens: table.need("specimens", "how many were measured").and_then(count)?,
        times: table.need("times", "how often each was measured").and_then(count)?,
        coverage: table.need("coverage", "for example \"95 %\"").and_then(share)?,
        confidence: table.need("confidence", "for example \"95 %\"").and_then(share)?,
    };
    table.finish()?;
    Ok(sample)
}

fn places(at: Value<'_>, taken: &[Option<Load>; 8]) -> Result<Vec<Clamp>, Located> {
    const WHAT: &str = "a clamp such as \"1a\", or a list such as [\"1a\", \"2a\"]";
    let empty = at.error(format!("`load.at` is {WHAT}"));
    let mut found = Vec::new();
    for member in at.one_or_more() {
        let text = member.text(WHAT)?;
        let clamp = Clamp::ALL.into_iter().find(|c| c.to_string() == text).ok_or_else(|| {
            member.error(format!(
                "there is no clamp {}: they are 1a, 1b, 2a, 2b, 3a, 3b, 4a and 4b",
                quoted(text)
            ))
        })?;
        if found.contains(&clamp) || taken[clamp.index()].is_some() {
            return Err(member
                .error(format!("clamp {clamp} already has a load; put both into one `parallel`")));
        }
        found.push(clamp);
    }
    if found.is_empty() { Err(empty) } else { Ok(found) }
}

fn load(mut table: Table<'_>) -> Result<Load, Located> {
    let name = table.need("name", "its name on the layout")?.line_of_text()?;
    let on_time = table.take("longest_on").map(|v| v.quantity_within("10 ms", "3600 s"));
    let on_time = on_time.transpose()?;
    let rest = match table.take("rest") {
        None => None,
        Some(v) if on_time.is_none() => {
            return Err(v.error("`rest` goes with `longest_on`, which is missing"));
        }
        Some(v) => Some(v.quantity_within("0 s", "3600 s")?),
    };
    let circuit = Circuit::take(&mut table)?;
    table.finish()?;
    Ok(Load { name, circuit, on_time, rest })
}
