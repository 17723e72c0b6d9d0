//! `lot.toml`, read.

use super::order::{MOST, Order, Parcel, Sample, Which};
use super::serials::Serials;
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::quantity::value::Value;
use crate::record::names::is_same_name;
use jiff::civil::Date;

const A_DATE: &str = "a date such as \"2026-03-02\"";
const HOW_MANY: &str = "how many modules";

impl Order {
    /// Reads an order.
    ///
    /// # Errors
    /// What is wrong in it, at its place.
    pub fn parse(source: &Source) -> Result<Order, Located> {
        let mut top = source.table()?;
        let kind = top.need("kind", "the kind of module, such as \"pier-four\"")?.line_of_text()?;
        let count = count(&top.need("count", HOW_MANY)?)?;
        let written = top.need("serials", "what the modules are called, such as \"pier-{}\"")?;
        let at = written.span();
        let serials = serials(written)?;
        serials.check(count).map_err(|why| source.error(at, why))?;
        let all = serials.all(count);
        let ordered = day(&mut top, "ordered")?;
        let order = Order {
            kind,
            count,
            serials,
            seller: words(&mut top, "from")?,
            order: words(&mut top, "order")?,
            ordered,
            return_by: last_day(&mut top, ordered)?,
            marks: words(&mut top, "marks")?,
            script: top.need("script", "the script, such as \"arrival\"")?.line_of_text()?,
            loads: words(&mut top, "loads")?,
            settling_script: top
                .need("settling_script", "the script that takes a module off hold")?
                .line_of_text()?,
            reference: words(&mut top, "reference")?,
            sample: top.take("sample").map(|value| sample(value.table()?, &all)).transpose()?,
            parcels: match top.take("parcel") {
                Some(value) => parcels(value, count)?,
                None => Vec::new(),
            },
        };
        top.finish()?;
        Ok(order)
    }
}

fn words(table: &mut Table<'_>, key: &'static str) -> Result<Option<String>, Located> {
    table.take(key).map(|value| value.line_of_text()).transpose()
}

fn day(table: &mut Table<'_>, key: &'static str) -> Result<Option<Date>, Located> {
    table.take(key).map(|value| date(&value)).transpose()
}

/// The last day to send modules back, which is not before they were ordered.
fn last_day(table: &mut Table<'_>, ordered: Option<Date>) -> Result<Option<Date>, Located> {
    let Some(value) = table.take("return_by") else { return Ok(None) };
    let day = date(&value)?;
    match ordered.filter(|ordered| day < *ordered) {
        Some(ordered) => {
            Err(value
                .error(format!("`return_by` is before it was ordered, which was on {ordered}")))
        }
        None => Ok(Some(day)),
    }
}

fn date(value: &Value<'_>) -> Result<Date, Located> {
    let text = value.text(A_DATE)?;
    text.parse().map_err(|_| value.error(format!("`{}` is {A_DATE}", value.key())))
}

fn count(value: &Value<'_>) -> Result<u32, Located> {
    Ok(u32::try_from(value.integer(1..=i64::from(MOST))?).unwrap_or(MOST))
}

fn serials(value: Value<'_>) -> Result<Serials, Located> {
    if !value.is_list() {
        return value.line_of_text().map(Serials::Pattern);
    }
    let list = value.list("serials")?;
    list.iter().map(Value::line_of_text).collect::<Result<_, _>>().map(Serials::List)
}

fn sample(mut table: Table<'_>, all: &[String]) -> Result<Sample, Located> {
    let which = match (table.take("count"), table.take("serials")) {
        (Some(how_many), None) => {
            let count = count(&how_many)?;
            if count as usize > all.len() {
                return Err(how_many.error(format!("the lot has {} modules only", all.len())));
            }
            let seed = table.take("seed").map(|seed| seed.integer(0..=i64::from(u32::MAX)));
            Which::Drawn { count, seed: seed.transpose()?.unwrap_or_default() as u32 }
        }
        (None, Some(list)) => Which::Named(named(list, all)?),
        (None, None) => {
            return Err(table.error(
                "a sample says how many modules, such as { count = 3, script = \"thorough\" }, or which, such as \
                 { serials = [\"pier-03\"], script = \"thorough\" }",
            ));
        }
        (Some(_), Some(list)) => {
            return Err(list.error("a sample has `count` or `serials`, not both: leave one out"));
        }
    };
    let script = table.need("script", "the script of the sample")?.line_of_text()?;
    table.finish()?;
    Ok(Sample { which, script })
}

/// The modules of a sample, each of them one of the lot.
fn named(list: Value<'_>, all: &[String]) -> Result<Vec<String>, Located> {
    let mut serials: Vec<String> = Vec::new();
    for value in list.list("the serials of the sample")? {
        let serial = value.line_of_text()?;
        let known = all.iter().find(|known| is_same_name(known, &serial));
        let known = known.ok_or_else(|| value.error(format!("the lot has no module {serial}")))?;
        if serials.contains(known) {
            return Err(value.error(format!("{serial} is there twice: leave one out")));
        }
        serials.push(known.clone());
    }
    Ok(serials)
}

fn parcels(value: Value<'_>, ordered: u32) -> Result<Vec<Parcel>, Located> {
    let mut all = 0;
    let one = |value: Value<'_>| {
        let mut table = value.table()?;
        let came = date(&table.need("came", A_DATE)?)?;
        let how_many = table.need("count", HOW_MANY)?;
        let parcel = Parcel { came, count: count(&how_many)? };
        all += parcel.count;
        if all > ordered {
            return Err(how_many.error(format!(
                "{all} modules have come, and {ordered} were ordered: correct one of the two counts"
            )));
        }
        table.finish()?;
        Ok(parcel)
    };
    value.list("a [[parcel]] block for each parcel")?.into_iter().map(one).collect()
}
