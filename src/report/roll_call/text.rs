//! A roll-call on one screen.

use super::called::named;
use super::findings::findings;
use crate::report::plain::plain;
use crate::report::screen::Screen;
use crate::report::table::{Column, table};
use crate::roll_call::answer::{Answer, RollCall, Row, Sense};
use crate::roll_call::bound::Effort;
use crate::script::module_sheet::ModuleSheet;
use std::fmt::{self, Write};

/// The text, lines ended.
pub fn roll_call_text(roll: &RollCall, sheet: &ModuleSheet, screen: Screen) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write(&mut text, roll, sheet, screen);
    text
}

fn write(text: &mut String, roll: &RollCall, sheet: &ModuleSheet, screen: Screen) -> fmt::Result {
    let verdict = screen.verdict(roll.verdict());
    let expected = named(roll.expected, sheet.numbering);
    writeln!(text, "{verdict}  {}, first address {expected}", plain(&sheet.kind))?;
    if roll.simulated {
        let jig = plain(&roll.jig);
        let warning = format!("SIMULATED: bench {jig}; no real module was asked");
        writeln!(text, "{}", screen.warning(&warning))?;
    }
    if roll.own().is_some() {
        let columns = [
            Column::Code("output"),
            Column::Code("should answer at"),
            Column::Code("answers at"),
            Column::Code("a is"),
        ];
        let rows = roll.rows();
        let rows = rows.iter().map(|row| table_row(row, sheet));
        write!(text, "\n{}", table(screen, 2, columns, rows))?;
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

fn table_row(row: &Row<'_>, sheet: &ModuleSheet) -> [String; 4] {
    let at = |target| named(target, sheet.numbering);
    let expected = row.expected.map_or("no such address".into(), at);
    let (found, sense) = match row.found {
        None => ("nowhere".into(), ""),
        Some(answer) => (at(answer.target), sense(answer)),
    };
    [row.output.to_string(), expected, found, sense.into()]
}

fn sense(answer: &Answer) -> &'static str {
    match answer.sense {
        Sense::Right => "a",
        Sense::Swapped => "b",
        Sense::Unknown => "not known",
    }
}
