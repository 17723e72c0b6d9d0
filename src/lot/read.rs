//! `lot.toml`, read.

use super::order::{MOST, Order, Parcel, Sample};
use super::serials::Serials;
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::quantity::value::Value;
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
        let order = Order {
            kind,
            count,
            serials,
            seller: words(&mut top, "from")?,
            order: words(&mut top, "order")?,
            ordered: day(&mut top, "ordered")?,
            return_by: day(&mut top, "return_by")?,
            marks: words(&mut top, "marks")?,
            script: top.need("script", "the script, such as \"arrival\"")?.line_of_text()?,
            loads: words(&mut top, "loads")?,
            settling_script: top
                .need("settling_script", "the script that takes a module off hold")?
                .line_of_text()?,
            reference: words(&mut top, "reference")?,
            sample: top.take("sample").map(|value| sample(value.table()?, count)).transpose()?,
            parcels: match top.take("parcel") {
                Some(value) => parcels(value)?,
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

fn sample(mut table: Table<'_>, of: u32) -> Result<Sample, Located> {
    let how_many = table.need("count", HOW_MANY)?;
    let sample = Sample {
        count: count(&how_many)?,
        script: table.need("script", "the script of the sample")?.line_of_text()?,
    };
    if sample.count > of {
        return Err(how_many.error(format!("the lot has {of} modules only")));
    }
    table.finish()?;
    Ok(sample)
}

fn parcels(value: Value<'_>) -> Result<Vec<Parcel>, Located> {
    let one = |value: Value<'_>| {
        let mut table = value.table()?;
        let parcel = Parcel {
            came: date(&table.need("came", A_DATE)?)?,
            count: count(&table.need("count", HOW_MANY)?)?,
        };
        table.finish()?;
        Ok(parcel)
    };
    value.list("a [[parcel]] block for each parcel")?.into_iter().map(one).collect()
}
