//! A roll-call on one screen.

use super::called::named;
use super::findings::findings;
use crate::report::plain::plain;
use crate::report::style::Style;
use crate::roll_call::answer::{Answer, RollCall, Row, Sense};
use crate::roll_call::bound::Effort;
use crate::script::module_sheet::ModuleSheet;
use std::fmt::{self, Write};

/// The text, lines ended.
pub fn roll_call_text(roll: &RollCall, sheet: &ModuleSheet, style: Style) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write(&mut text, roll, sheet, style);
    text
}

fn write(text: &mut String, roll: &RollCall, sheet: &ModuleSheet, style: Style) -> fmt::Result {
    let verdict = style.verdict(roll.verdict());
    let expected = named(roll.expected, sheet.numbering);
    writeln!(text, "{verdict}  {}, first address {expected}", plain(&sheet.kind))?;
    if roll.simulated {
        let jig = plain(&roll.jig);
        let warning = format!("SIMULATED: bench {jig}; no real module was asked");
        writeln!(text, "{}", style.warning(&warning))?;
    }
    if roll.own().is_some() {
        writeln!(
            text,
            "
  {:<7} {:<20} {:<20} a is",
            "output", "should answer at", "answers at"
        )?;
        for row in roll.rows() {
            writeln!(text, "{}", table_row(&row, sheet).trim_end())?;
        }
    }
    let own = roll.own();
    for other in roll.modules.iter().filter(|module| Some(*module) != own) {
        let at: Vec<String> =
            other.answers.iter().map(|a| named(a.target, sheet.numbering)).collect();
        writeln!(text, "  another module answers at {}", at.join(", "))?;
    }
    let (found, to_do) = findings(roll, sheet);
    writeln!(text)?;
    for sentence in found {
        writeln!(text, "{sentence}")?;
    }
    writeln!(text)?;
    if to_do.is_empty() && roll.simulated {
        writeln!(text, "To do:    nothing; it tells nothing about a real module")?;
    } else if to_do.is_empty() {
        writeln!(text, "To do:    nothing")?;
    }
    for (at, action) in to_do.iter().enumerate() {
        let label = if at == 0 { "To do:" } else { "" };
        writeln!(text, "{label:<9} {action}")?;
    }
    let until = roll.until_found.map_or(String::new(), |e| format!("{} until found, ", e.packets));
    let Effort { packets, wire } = roll.effort;
    let most = roll.bound.most;
    writeln!(
        text,
        "Sent:     {until}{packets} packets in all, {:.1} s on the feed; the bound is {} packets, \
         {:.0} s",
        wire.as_secs_f64(),
        most.packets,
        most.wire.as_secs_f64().ceil()
    )?;
    writeln!(text, "Took:     {:.1} s; nothing of it is recorded", roll.took.as_secs_f64())
}

fn table_row(row: &Row<'_>, sheet: &ModuleSheet) -> String {
    let at = |target| named(target, sheet.numbering);
    let expected = row.expected.map_or("no such address".into(), at);
    let (found, sense) = match row.found {
        None => ("nowhere".into(), ""),
        Some(answer) => (at(answer.target), sense(answer)),
    };
    format!("  {:<7} {expected:<20} {found:<20} {sense}", row.output)
}

fn sense(answer: &Answer) -> &'static str {
    match answer.sense {
        Sense::Right => "a",
        Sense::Swapped => "b",
        Sense::Unknown => "not known",
    }
}
