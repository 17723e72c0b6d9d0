//! A roll-call on one screen.

use super::called::named;
use super::findings::findings;
use crate::plain::plain;
use crate::report::screen::Screen;
use crate::report::table::{Column, table};
use crate::roll_call::answer::{Answer, RollCall, Row, Sense};
use crate::roll_call::bound::Effort;
use crate::script::module_sheet::ModuleSheet;
use crate::signal::target::Position;
use std::fmt::{self, Write};
use std::path::Path;

/// The text, lines ended.
pub fn roll_call_text(
    roll: &RollCall,
    sheet: &ModuleSheet,
    report: Option<&Path>,
    screen: Screen,
) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write(&mut text, roll, sheet, report, screen);
    text
}

fn write(
    text: &mut String,
    roll: &RollCall,
    sheet: &ModuleSheet,
    report: Option<&Path>,
    screen: Screen,
) -> fmt::Result {
    let kind = plain(&sheet.kind);
    match (roll.judged(), roll.own()) {
        (Some(verdict), _) => {
            let (verdict, expected) =
                (screen.verdict(verdict), named(roll.expected, sheet.numbering));
            writeln!(text, "{verdict}  {kind}, first address {expected}")?;
        }
        (None, Some(own)) => {
            let at = named(own.first_by_loads(), sheet.numbering);
            let kind = if roll.fits.is_empty() { kind } else { plain(&roll.fits.join(" or ")) };
            writeln!(text, "FOUND  {kind}, first address {at}")?;
        }
        (None, None) => writeln!(text, "NOTHING FOUND")?,
    }
    if roll.simulated {
        let jig = plain(&roll.jig);
        let warning = format!("SIMULATED: bench {jig}; no real module was asked");
        writeln!(text, "{}", screen.warning(&warning))?;
    }
    if roll.own().is_some() {
        let all = roll.rows();
        let rows = all.iter().map(|row| table_row(row, sheet));
        let [output, found, sense] =
            [Column::Code("output"), Column::Code("answers at"), Column::Code("a is")];
        let table = if roll.wanted {
            let columns = [output, Column::Code("should answer at"), found, sense];
            table(screen, 2, columns, rows)
        } else {
            let rows = rows.map(|[output, _, found, sense]| [output, found, sense]);
            table(screen, 2, [output, found, sense], rows)
        };
        write!(text, "\n{table}")?;
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
    writeln!(text, "Took:     {:.1} s", roll.took.as_secs_f64())?;
    match report {
        Some(path) => writeln!(text, "Report:   {}", plain(&path.display().to_string())),
        None => Ok(()),
    }
}

fn table_row(row: &Row<'_>, sheet: &ModuleSheet) -> [String; 4] {
    let at = |target| named(target, sheet.numbering);
    let expected = row.expected.map_or("no such address".into(), at);
    let (found, sense) = match row.found {
        None => ("nowhere".into(), String::new()),
        Some(answer) => (at(answer.target), sense(answer, sheet)),
    };
    [row.output.to_string(), expected, found, sense]
}

fn sense(answer: &Answer, sheet: &ModuleSheet) -> String {
    match answer.sense {
        Sense::Right => sheet.positions.of(Position::A),
        Sense::Swapped => sheet.positions.of(Position::B),
        Sense::Unknown => "not known".into(),
    }
}
