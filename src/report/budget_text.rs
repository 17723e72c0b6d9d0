//! A reading explained: what its uncertainty is made of, and where its limits come from.

use super::amount::amount;
use super::risk_text::share;
use super::screen::Screen;
use super::table::{Column, table};
use crate::judge::reading::{Quantity, Verdict};
use crate::measure::uncertainty::coverage_factor;
use crate::plain::plain;
use crate::record::report::ReportRow;
use crate::record::row::{Background, Row};
use std::fmt::Write;

/// The text, lines ended.
pub fn budget_text(reading: &ReportRow, screen: Screen) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write_row(&mut text, reading, screen);
    text
}

fn write_row(text: &mut String, reading: &ReportRow, screen: Screen) -> std::fmt::Result {
    let ReportRow { number, row, background } = reading;
    let shown = |value: f64| amount(value, &row.unit);
    let place = row.place();
    let place = if place.is_empty() { String::new() } else { format!(" at {place}") };
    writeln!(text, "Row {number}: {}", plain(&row.step))?;
    match row.value {
        Some(value) => {
            let bound = row.bound.map_or(String::new(), |bound| format!("{bound} "));
            writeln!(text, "  {}{place}: {bound}{}", row.quantity, shown(value))?;
        }
        None => writeln!(text, "  {}{place}: no value", row.quantity)?,
    }
    writeln!(text, "  limits: {}{}", limits(row), from(background))?;
    let note = if row.note.is_empty() { String::new() } else { format!("; {}", plain(&row.note)) };
    writeln!(text, "  verdict: {}{note}", row.verdict)?;
    write_decision(text, row)?;
    if row.value.is_none() {
        return writeln!(text, "  Nothing could be measured, so there is no uncertainty either.");
    }
    if row.bound.is_some() {
        return writeln!(
            text,
            "  It is beyond what the jig can tell: nothing more is known of it."
        );
    }
    if Quantity::named(&row.quantity).is_some_and(Quantity::is_counted) {
        return writeln!(text, "  It is a count: it has no uncertainty.");
    }
    let Some(budget) = &background.budget else {
        return writeln!(text, "  What its uncertainty is made of is not recorded.");
    };
    let (whole, dof) = (budget.standard(), budget.dof());
    if let Some(calibration) = &row.calibration {
        writeln!(text, "  calibration: {}", plain(calibration))?;
    }
    let lines = budget
        .lines()
        .map(|line| {
            let share = (line.standard / whole).powi(2);
            [line.source.about().into(), shown(line.standard), percent(share), degrees(line.dof)]
        })
        .chain([["all together".into(), shown(whole), percent(1.0), degrees(dof)]]);
    let columns = [
        Column::Words(""),
        Column::Number("standard uncertainty"),
        Column::Number("share"),
        Column::Number("degrees of freedom"),
    ];
    write!(text, "\n{}", table(screen, 4, columns, lines))?;
    let factor = coverage_factor(dof);
    writeln!(
        text,
        "\n    {factor:.2} times that, ±{}, holds the true value in 95 of 100 cases.",
        shown(row.uncertainty.unwrap_or(factor * whole))
    )
}

/// How sure the verdict is, and what would make it surer.
fn write_decision(text: &mut String, row: &Row) -> std::fmt::Result {
    match row.guard_band {
        None => {}
        Some(0.0) => writeln!(text, "  guard band: none, the value alone decides")?,
        Some(band) => writeln!(text, "  guard band: {} at each limit", amount(band, &row.unit))?,
    }
    if let Some(outside) = row.outside {
        writeln!(text, "  chance that the true value is outside the limits: {}", share(outside))?;
    }
    if let Some(risk) = row.risk.filter(|_| row.verdict == Verdict::Fail) {
        writeln!(text, "  chance that it fails though good: {}", share(risk))?;
    }
    if let Some(remedy) = &row.settled_by {
        writeln!(text, "  would settle it: {}", plain(remedy))?;
    }
    Ok(())
}

fn limits(row: &Row) -> String {
    let shown = |value: f64| amount(value, &row.unit);
    match (row.lower_limit, row.upper_limit) {
        (Some(lower), Some(upper)) => format!("{} to {}", shown(lower), shown(upper)),
        (Some(lower), None) => format!("at least {}", shown(lower)),
        (None, Some(upper)) => format!("at most {}", shown(upper)),
        (None, None) => "none".into(),
    }
}

fn from(background: &Background) -> String {
    let words = background.limits_from.as_ref().map(|from| plain(&from.words()));
    words.map(|words| format!(", from: {words}")).unwrap_or_default()
}

fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.005 { "< 1 %".into() } else { format!("{:.0} %", 100.0 * share) }
}

fn degrees(dof: f64) -> String {
    if dof.is_finite() && dof < 1e4 { format!("{dof:.0}") } else { "many".into() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::limits_from::LimitsFrom;
    use crate::judge::reading::{Bound, Reading, Traceability};
    use crate::measure::budget::{Budget, Source};
    use crate::measure::uncertainty::Component;
    use crate::record::row::KeptReading;
    use crate::signal::target::Position;

    fn reading() -> ReportRow {
        let reading = Reading {
            output: Some(2),
            position: Some(Position::B),
            value: Some(0.5452),
            uncertainty: Some(0.0024),
            lower_limit: Some(0.52),
            upper_limit: Some(0.56),
            traceability: Traceability::Uncalibrated,
            risk: Some(2.5e-4),
            guard_band: Some(0.0023),
            outside: Some(2.5e-4),
            budget: Some(Budget::of(&[
                Component::type_a(1.0e-4, 12.0).from(Source::Noise),
                Component::rectangular(2.0e-3).from(Source::Gain),
                Component::rectangular(5.0e-5).from(Source::Resolution),
            ])),
            limits_from: Some(LimitsFrom::Words { words: "load at 12 V: nominal …".into() }),
            ..Reading::bare("output 2 to b", Quantity::LoadCurrent, Verdict::Pass)
        };
        let KeptReading { row, background } = KeptReading::of(&reading);
        ReportRow { number: 24, row, background }
    }

    fn text(row: Row, background: Background) -> String {
        budget_text(&ReportRow { row, background, ..reading() }, Screen::PLAIN)
    }

    #[test]
    fn the_table_shows_what_dominates() {
        insta::assert_snapshot!(budget_text(&reading(), Screen::PLAIN), @r"
        Row 24: output 2 to b
          load_current at 2b: 545.2 mA
          limits: 520 mA to 560 mA, from: load at 12 V: nominal …
          verdict: pass
          guard band: 2.3 mA at each limit
          chance that the true value is outside the limits: 0.025 %
          calibration: uncalibrated

                                         standard uncertainty  share  degrees of freedom
            scatter of the samples                     100 µA    1 %                  12
            the value of one count                   28.87 µA  < 1 %                many
            gain of the channel, by its              1.155 mA   99 %                many
            class
            all together                             1.159 mA  100 %                many

            1.96 times that, ±2.4 mA, holds the true value in 95 of 100 cases.
        ");
    }

    #[test]
    fn what_is_not_there_is_said() {
        let ReportRow { row, background, .. } = reading();
        let none = Background::default();
        assert!(text(Row { value: None, ..row.clone() }, none.clone()).contains("no value"));
        assert!(text(row.clone(), none.clone()).contains("is not recorded"));
        let count = Row { quantity: "unwanted_moves".into(), ..row.clone() };
        assert!(text(count, none.clone()).contains("It is a count"));
        let beyond = Row { bound: Some(Bound::MoreThan), value: Some(3e4), ..row.clone() };
        let told = text(Row { unit: "ohm".into(), ..beyond }, none);
        assert!(told.contains("more than 30 kΩ") && told.contains("beyond what the jig"), "{told}");
        let near = Row {
            verdict: Verdict::Indeterminate,
            risk: None,
            outside: Some(0.4),
            settled_by: Some("a window 4 times as long".into()),
            ..row.clone()
        };
        let told = text(near, background.clone());
        assert!(told.contains("outside the limits: 40 %\n  would settle it: a window 4 times"));
        let rejected = Row { verdict: Verdict::Fail, guard_band: Some(0.0), ..row };
        let told = text(rejected, background);
        assert!(told.contains("guard band: none"), "{told}");
        assert!(told.contains("it fails though good: 0.025 %"), "{told}");
    }
}
