//! Keys of a load as they are read.

use super::marking;
use crate::quantity::located::Located;
use crate::quantity::range::Toleranced;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use crate::quantity::value::Value;
use uom::si::f64::{ElectricalResistance, Time};

/// The time in which a load warms up or gets up to speed: from 10 µs, far below the time between two conversions, up
/// to 10 s, with its tolerance.
pub fn short_time(value: Value<'_>) -> Result<Toleranced<Time>, Located> {
    let time: Toleranced<Time> = value.toleranced()?;
    if time.upper.si() > 10.0 {
        Err(value.error(format!("`{}` is at most 10 s", value.key())))
    } else if time.lower.si() < SHORTEST_S {
        Err(value.error(format!("`{}` is at least 10 us", value.key())))
    } else {
        Ok(time)
    }
}

/// No load is faster, seconds: nothing could be seen of it.
const SHORTEST_S: f64 = 10e-6;

/// A resistance above zero, as a quantity or as it is marked on the part.
pub fn resistance(
    table: &mut Table<'_>,
    key: &'static str,
    example: &str,
) -> Result<Toleranced<ElectricalResistance>, Located> {
    let value = table.need(key, &format!("for example \"{example}\""))?;
    let what = format!("a resistance such as \"{example}\", \"4K7J\" or \"red red black gold\"");
    above_zero(&value, value.parsed(&what, marking::resistance)?)
}

/// A toleranced quantity above zero.
pub fn positive<Q: Units>(
    table: &mut Table<'_>,
    key: &'static str,
    example: &str,
) -> Result<Toleranced<Q>, Located> {
    let value = table.need(key, &format!("for example \"{example}\""))?;
    above_zero(&value, value.toleranced()?)
}

/// A quantity above zero without tolerance.
pub fn some<Q: Units>(
    table: &mut Table<'_>,
    key: &'static str,
    example: &str,
) -> Result<Q, Located> {
    let value = table.need(key, &format!("for example \"{example}\""))?;
    let found: Q = value.quantity()?;
    if found.si() > 0.0 { Ok(found) } else { Err(not_above_zero(&value)) }
}

/// A value that lacks one of its limits.
pub fn both_limits(value: &Value<'_>) -> Located {
    value.error(format!("`{}` has a lower and an upper limit", value.key()))
}

/// A value that must be more than zero and is not.
pub fn not_above_zero(value: &Value<'_>) -> Located {
    value.error(format!("`{}` must be more than zero", value.key()))
}

fn above_zero<Q: Units>(value: &Value<'_>, found: Toleranced<Q>) -> Result<Toleranced<Q>, Located> {
    if found.lower.si() > 0.0 { Ok(found) } else { Err(not_above_zero(value)) }
}
