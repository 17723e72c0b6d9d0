//! What hangs on one clamp: a load, or several side by side.

use super::kinds::{Part, Resistor};
use crate::quantity::located::Located;
use crate::quantity::range::Toleranced;
use crate::quantity::table::Table;
use crate::quantity::value::Value;
use uom::si::f64::ElectricalResistance;

/// The key of several loads on one clamp.
const PARALLEL: &str = "parallel";

/// Loads in parallel: one, several, or none.
#[derive(Clone, Debug, PartialEq)]
pub struct Circuit {
    /// Each of them.
    pub parts: Vec<Part>,
}

impl From<Part> for Circuit {
    fn from(part: Part) -> Self {
        Circuit { parts: vec![part] }
    }
}

impl Circuit {
    /// A resistor.
    pub fn resistor(resistance: Toleranced<ElectricalResistance>) -> Self {
        Part::Resistor(Resistor { resistance }).into()
    }

    /// Takes the one circuit of a table.
    ///
    /// # Errors
    /// When there is none, more than one, or something in it is wrong.
    pub fn take(table: &mut Table<'_>) -> Result<Self, Located> {
        let keys = || Part::READERS.iter().map(|kind| kind.0).chain([PARALLEL]);
        let mut named = keys().filter(|key| table.has(key));
        let Some(name) = named.next() else {
            let list: Vec<String> = keys().map(|key| format!("`{key}`")).collect();
            return Err(table.error(format!("a load needs one of {}", list.join(", "))));
        };
        if let Some(other) = named.next() {
            return Err(table.error(format!(
                "a load is one circuit, but this one has `{name}` and `{other}`; \
                 put both into `parallel`"
            )));
        }
        let value = table.need(name, "a circuit")?;
        match Part::READERS.iter().find(|kind| kind.0 == name) {
            Some((_, read)) => {
                let mut inner = value.table()?;
                let part = read(&mut inner)?;
                inner.finish()?;
                Ok(part.into())
            }
            None => parallel(value),
        }
    }
}

fn parallel(value: Value<'_>) -> Result<Circuit, Located> {
    let few = value.error("`parallel` holds two circuits or more");
    let members = value.list("a list of circuits such as [{ resistor = { … } }]")?;
    if members.len() < 2 {
        return Err(few);
    }
    let mut parts = Vec::new();
    for member in members {
        let mut table = member.table()?;
        parts.extend(Circuit::take(&mut table)?.parts);
        table.finish()?;
    }
    Ok(Circuit { parts })
}
