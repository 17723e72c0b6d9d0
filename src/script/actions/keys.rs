//! Keys that several actions share.

use super::Outputs;
use crate::quantity::located::{Located, quoted};
use crate::quantity::table::Table;
use crate::quantity::value::Value;
use crate::signal::target::{Clamp, Position};

const POSITIONS: [(&str, Position); 2] = [("a", Position::A), ("b", Position::B)];

/// What is on or off.
pub(super) const ON_OFF: [(&str, bool); 2] = [("on", true), ("off", false)];

/// `"all"` (`None`), `"1a"`, `["1a", "2b"]`, or `"a"` for that position of every output.
pub(super) fn clamps(value: Value<'_>) -> Result<Option<Vec<Clamp>>, Located> {
    const WHAT: &str = "\"all\", or clamps such as \"1a\" or [\"1a\", \"2b\"]";
    let mut found: Vec<Clamp> = Vec::new();
    let alone = !value.is_list();
    for member in value.one_or_more() {
        let text = member.text(WHAT)?;
        if text == "all" && alone {
            return Ok(None);
        }
        let clamp = Clamp::ALL.into_iter().find(|c| c.to_string() == text).ok_or_else(|| {
            let text = quoted(text);
            member.error(format!("there is no clamp {text}: they are 1a, 1b, 2a to 4b, or \"all\""))
        })?;
        if found.contains(&clamp) {
            return Err(member.error(format!("clamp {clamp} is named twice")));
        }
        found.push(clamp);
    }
    Ok(Some(found))
}

/// `"a"`, or a list of positions.
pub(super) fn positions(value: Value<'_>) -> Result<Vec<Position>, Located> {
    let empty = value.error(format!("`{}` names no position", value.key()));
    let found: Vec<Position> =
        value.one_or_more().iter().map(|v| v.choice(&POSITIONS)).collect::<Result<_, _>>()?;
    if found.is_empty() { Err(empty) } else { Ok(found) }
}

/// `"all"` (also when the key is missing), `2`, `[1, 3]` or `"2 to 4"`.
pub(super) fn outputs(table: &mut Table<'_>) -> Result<Outputs, Located> {
    const WHAT: &str = "\"all\", an output such as 2, a list such as [1, 3] or \"2 to 4\"";
    let Some(value) = table.take("outputs") else { return Ok(Outputs::All) };
    if value.is_integer() || value.is_list() {
        let empty = value.error(format!("`outputs` is {WHAT}"));
        let mut found: Vec<u8> = Vec::new();
        for member in value.one_or_more() {
            let output = member.integer(1..=4)? as u8;
            if found.contains(&output) {
                return Err(member.error(format!("output {output} is named twice")));
            }
            found.push(output);
        }
        return if found.is_empty() { Err(empty) } else { Ok(Outputs::These(found)) };
    }
    let text = value.text(WHAT)?;
    if text == "all" {
        return Ok(Outputs::All);
    }
    let range = text.split_once("to").and_then(|(first, last)| {
        let (first, last) = (first.trim().parse::<u8>().ok()?, last.trim().parse::<u8>().ok()?);
        (1 <= first && first < last && last <= 4).then(|| (first..=last).collect())
    });
    range.map(Outputs::These).ok_or_else(|| value.error(format!("`outputs` is {WHAT}")))
}
