//! A step of a script from its TOML.

use super::expansion::Written;
use super::{Verb, WrittenStep, verb_readers};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::quantity::value::Value;

/// Reads what a step says.
type Reader = fn(&mut Table<'_>) -> Result<Verb, Located>;

/// What a step looks like.
const A_STEP: &str = "a step such as { feed = \"on\" }";

/// The steps of a script, or those that are repeated.
pub(in crate::script) fn steps(value: Value<'_>) -> Result<Vec<WrittenStep>, Located> {
    let empty = value.error(format!("`{}` holds no step", value.key()));
    let steps = value.list("a list of steps such as [{ feed = \"on\" }]")?;
    if steps.is_empty() {
        return Err(empty);
    }
    steps.into_iter().map(step).collect()
}

fn step(value: Value<'_>) -> Result<WrittenStep, Located> {
    let (span, line) = (value.span(), value.line());
    if !value.is_table() {
        return Err(value.error(format!("a member of `steps` is {A_STEP}")));
    }
    let mut table = value.table()?;
    let readers: [(&str, Reader); Verb::KEYS.len()] = verb_readers!(Written);
    let verbs: Vec<(&str, Reader)> = readers.into_iter().filter(|v| table.has(v.0)).collect();
    let read = match verbs.as_slice() {
        [(_, read)] => read,
        [] => {
            if let Some((span, verb)) = table.nearest_to(Verb::KEYS) {
                let message = format!("no step begins so; did you mean `{verb}`?");
                return Err(table.source().error(span, message));
            }
            let list: Vec<String> = Verb::KEYS.iter().map(|v| format!("`{v}`")).collect();
            return Err(table.error(format!("a step needs one of {}", list.join(", "))));
        }
        [(one, _), (two, _), ..] => {
            return Err(table.error(format!(
                "a step does one thing, but this one has `{one}` and `{two}`: make it two steps"
            )));
        }
    };
    let verb = read(&mut table)?;
    table.finish()?;
    Ok(WrittenStep { span, line, verb })
}
