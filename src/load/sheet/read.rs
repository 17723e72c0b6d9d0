//! A load sheet from its TOML.

use super::{Circuit, Load, LoadSheet, Sample};
use crate::load::marking;
use crate::quantity::located::{Located, quoted};
use crate::quantity::range::{Limits, Toleranced};
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use crate::quantity::value::Value;
use crate::signal::target::Clamp;
use std::path::Path;
use uom::si::f64::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Ratio, ThermodynamicTemperature, Time,
};

/// Extra-low voltage only: the highest supply that a load sheet may ask for, in volts.
const SUPPLY_MAX_V: f64 = 30.0;

/// The circuits that a load may be, as its key says.
const CIRCUITS: [&str; 7] = ["resistor", "led", "lamp", "coil", "motor", "measured", "parallel"];

/// Temperature of a coil in degrees Celsius: stated at the first; on the bench it may be as cold as
/// a cool room, or as warm as a warm one with ten kelvins of its own heat.
const COIL_C: [f64; 3] = [20.0, 10.0, 45.0];

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
        Ok(LoadSheet { title, supply, sample, clamps })
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
            "`supply.voltage` may be at most {SUPPLY_MAX_V} V: extra-low voltage only"
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
    let circuit = circuit(&mut table)?;
    table.finish()?;
    Ok(Load { name, circuit, on_time, rest })
}

/// Takes the one circuit of a table.
fn circuit(table: &mut Table<'_>) -> Result<Circuit, Located> {
    let mut named = CIRCUITS.into_iter().filter(|c| table.has(c));
    let list = CIRCUITS.map(|c| format!("`{c}`")).join(", ");
    let Some(name) = named.next() else {
        return Err(table.error(format!("a load needs one of {list}")));
    };
    if let Some(other) = named.next() {
        return Err(table.error(format!(
            "a load is one circuit, but this one has `{name}` and `{other}`; \
             put both into `parallel`"
        )));
    }
    let value = table.need(name, "a circuit")?;
    if name == "parallel" {
        let few = value.error("`parallel` holds two circuits or more");
        let parts = value.list("a list of circuits such as [{ resistor = { … } }]")?;
        if parts.len() < 2 {
            return Err(few);
        }
        return parts.into_iter().map(part).collect::<Result<_, _>>().map(Circuit::Parallel);
    }
    let mut inner = value.table()?;
    let circuit =
        match name {
            "resistor" => Circuit::Resistor {
                resistance: resistance(&mut inner, "resistance", "22 ohm ±5 %")?,
            },
            "led" => Circuit::Led {
                forward: positive(&mut inner, "forward", "2 V ±10 %")?,
                at_current: some(&mut inner, "at_current", "20 mA")?,
                series: resistance(&mut inner, "series", "680 ohm ±5 %")?,
            },
            "lamp" => Circuit::Lamp {
                rated_voltage: some(&mut inner, "rated_voltage", "16 V")?,
                rated_current: positive(&mut inner, "rated_current", "60 mA ±10 %")?,
                inrush_ratio: inrush_ratio(
                    inner.need("inrush_ratio", "cold inrush over rated current, such as 8")?,
                )?,
                warm_up: short_time(inner.need(
                    "warm_up",
                    "time in which half of the inrush is gone, such as \"15 ms\"",
                )?)?,
            },
            "coil" => Circuit::Coil {
                resistance: resistance(&mut inner, "resistance", "360 ohm ±10 %")?,
                inductance: positive(&mut inner, "inductance", "350 mH ±20 %")?,
                temperature: temperature(inner.take("temperature"))?,
            },
            "measured" => measured(&mut inner)?,
            _ => motor(&mut inner)?,
        };
    inner.finish()?;
    Ok(circuit)
}

/// A member of `parallel`.
fn part(value: Value<'_>) -> Result<Circuit, Located> {
    let mut table = value.table()?;
    let circuit = circuit(&mut table)?;
    table.finish()?;
    Ok(circuit)
}

fn motor(inner: &mut Table<'_>) -> Result<Circuit, Located> {
    let start = positive(inner, "start_current", "400 mA ±15 %")?;
    let value = inner.need("run_current", "for example \"120 mA ±15 %\"")?;
    let run: Toleranced<ElectricCurrent> = value.toleranced()?;
    if run.lower.si() <= 0.0 || run.nominal > start.nominal {
        return Err(value.error("`motor.run_current` must lie between 0 and the start current"));
    }
    Ok(Circuit::Motor {
        start_current: start,
        run_current: run,
        at_voltage: some(inner, "at_voltage", "12 V")?,
        run_up: short_time(
            inner.need("run_up", "time in which half of the start current's excess is gone")?,
        )?,
    })
}

fn measured(inner: &mut Table<'_>) -> Result<Circuit, Located> {
    let value = inner.need("current", "for example \"498 to 521 mA\"")?;
    let limits: Limits<ElectricCurrent> = value.limits()?;
    let (Some(lower), Some(upper)) = (limits.lower, limits.upper) else {
        return Err(both_limits(&value));
    };
    if lower.si() <= 0.0 {
        return Err(not_above_zero(&value));
    }
    let nominal = ElectricCurrent::from_si((lower.si() + upper.si()) / 2.0);
    Ok(Circuit::Measured {
        current: Toleranced { nominal, lower, upper },
        at_voltage: some(inner, "at_voltage", "12.05 V")?,
        settled_after: inner
            .need("settled_after", "how long after switching on it was measured")?
            .quantity_within("0 ms", "3600 s")?,
    })
}

/// A plain number, or one with its tolerance (`"8 ±25 %"`).
fn inrush_ratio(value: Value<'_>) -> Result<Toleranced<Ratio>, Located> {
    const WHAT: &str = "a number from 1 to 20, or one with its tolerance such as \"8 ±25 %\"";
    let ratio = if value.is_text() {
        value.parsed(WHAT, marking::ratio)?
    } else {
        let ratio = Ratio::from_si(value.number(1.0..=20.0)?);
        Toleranced { nominal: ratio, lower: ratio, upper: ratio }
    };
    if ratio.lower.si() >= 1.0 && ratio.upper.si() <= 20.0 {
        Ok(ratio)
    } else {
        Err(value.error(format!("`{}` is {WHAT}", value.key())))
    }
}

/// How warm a coil may be: the range that is given, or that of a room and the coil's own heat.
fn temperature(value: Option<Value<'_>>) -> Result<Toleranced<ThermodynamicTemperature>, Located> {
    let [stated, lower, upper] = COIL_C.map(ThermodynamicTemperature::from_si);
    let Some(value) = value else { return Ok(Toleranced { nominal: stated, lower, upper }) };
    let limits: Limits<ThermodynamicTemperature> = value.limits()?;
    let (Some(lower), Some(upper)) = (limits.lower, limits.upper) else {
        return Err(both_limits(&value));
    };
    if upper.si() > 200.0 {
        return Err(value.error(format!("`{}` goes up to 200 °C", value.key())));
    }
    let nominal = if stated < lower {
        lower
    } else if stated > upper {
        upper
    } else {
        stated
    };
    Ok(Toleranced { nominal, lower, upper })
}

/// A time of up to 10 s, with its tolerance.
fn short_time(value: Value<'_>) -> Result<Toleranced<Time>, Located> {
    let time: Toleranced<Time> = value.toleranced()?;
    if time.upper.si() <= 10.0 {
        Ok(time)
    } else {
        Err(value.error(format!("`{}` is at most 10 s", value.key())))
    }
}

/// A resistance above zero, as a quantity or as it is marked on the part.
fn resistance(
    table: &mut Table<'_>,
    key: &'static str,
    example: &str,
) -> Result<Toleranced<ElectricalResistance>, Located> {
    let value = table.need(key, &format!("for example \"{example}\""))?;
    let what = format!("a resistance such as \"{example}\", \"4K7J\" or \"red red black gold\"");
    above_zero(&value, value.parsed(&what, marking::resistance)?)
}

/// A toleranced quantity above zero.
fn positive<Q: Units>(
    table: &mut Table<'_>,
    key: &'static str,
    example: &str,
) -> Result<Toleranced<Q>, Located> {
    let value = table.need(key, &format!("for example \"{example}\""))?;
    above_zero(&value, value.toleranced()?)
}

fn both_limits(value: &Value<'_>) -> Located {
    value.error(format!("`{}` has a lower and an upper limit", value.key()))
}

fn not_above_zero(value: &Value<'_>) -> Located {
    value.error(format!("`{}` must be more than zero", value.key()))
}

fn above_zero<Q: Units>(value: &Value<'_>, found: Toleranced<Q>) -> Result<Toleranced<Q>, Located> {
    if found.lower.si() > 0.0 { Ok(found) } else { Err(not_above_zero(value)) }
}

/// A quantity above zero without tolerance.
fn some<Q: Units>(table: &mut Table<'_>, key: &'static str, example: &str) -> Result<Q, Located> {
    let value = table.need(key, &format!("for example \"{example}\""))?;
    let found: Q = value.quantity()?;
    if found.si() > 0.0 { Ok(found) } else { Err(not_above_zero(&value)) }
}
