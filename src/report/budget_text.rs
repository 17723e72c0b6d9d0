//! A reading explained: what its uncertainty is made of, and where its limits come from.

use super::amount::amount;
use super::plain::plain;
use super::risk_text::share;
use super::screen::Screen;
use super::table::{Column, table};
use crate::judge::reading::Verdict;
use crate::measure::uncertainty::coverage_factor;
use crate::record::row::Row;
use std::fmt::Write;

/// The text, lines ended.
pub fn budget_text(number: usize, row: &Row, screen: Screen) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write_row(&mut text, number, row, screen);
    text
}

fn write_row(text: &mut String, number: usize, row: &Row, screen: Screen) -> std::fmt::Result {
    let shown = |value: f64| amount(value, &row.unit);
    let place = row.place();
    let place = if place.is_empty() { String::new() } else { format!(" at {place}") };
    writeln!(text, "Row {number}: {}", plain(&row.step))?;
    match row.value {
        Some(value) => writeln!(text, "  {}{place}: {}", row.quantity, shown(value))?,
        None => writeln!(text, "  {}{place}: no value", row.quantity)?,
    }
    writeln!(text, "  limits: {}{}", limits(row), from(row))?;
    let note = if row.note.is_empty() { String::new() } else { format!("; {}", plain(&row.note)) };
    writeln!(text, "  verdict: {}{note}", row.verdict)?;
    write_decision(text, row)?;
    if row.value.is_none() {
        return writeln!(text, "  Nothing could be measured, so there is no uncertainty either.");
    }
    if row.uncertainty == Some(0.0) && row.unit == "1" {
        return writeln!(text, "  It is a count: it has no uncertainty.");
    }
    let Some(budget) = &row.budget else {
        return writeln!(text, "  This report is older than budgets: it does not say more.");
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

fn from(row: &Row) -> String {
    row.limits_from.as_ref().map(|from| format!(", from: {}", plain(from))).unwrap_or_default()
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
    use crate::measure::budget::{Budget, Source};
    use crate::measure::uncertainty::Component;
    use crate::signal::target::Position;

    fn row() -> Row {
        Row {
            step: "output 2 to b".into(),
            output: Some(2),
            position: Some(Position::B),
            quantity: "load_current".into(),
            value: Some(0.5452),
            unit: "A".into(),
            uncertainty: Some(0.0024),
            lower_limit: Some(0.52),
            upper_limit: Some(0.56),
            verdict: Verdict::Pass,
            blame: None,
            note: String::new(),
            calibration: Some("uncalibrated".into()),
            budget: Some(Budget::of(&[
                Component::type_a(1.0e-4, 12.0).from(Source::Noise),
                Component::rectangular(2.0e-3).from(Source::Gain),
                Component::rectangular(5.0e-5).from(Source::Resolution),
            ])),
            limits_from: Some(
                "load at 12 V: nominal 545.5 mA; lowest 517.2 mA with …; highest 571.4 mA with …"
                    .into(),
            ),
            risk: Some(2.5e-4),
            guard_band: Some(0.0023),
            outside: Some(2.5e-4),
            settled_by: None,
        }
    }

    #[test]
    fn the_table_shows_what_dominates() {
        insta::assert_snapshot!(budget_text(24, &row(), Screen::PLAIN), @r"
        Row 24: output 2 to b
          load_current at 2b: 545.2 mA
          limits: 520 mA to 560 mA, from: load at 12 V: nominal 545.5 mA; lowest 517.2 mA with …; highest 571.4 mA with …
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
        assert!(budget_text(24, &Row { value: None, ..row() }, Screen::PLAIN).contains("no value"));
        assert!(
            budget_text(24, &Row { budget: None, ..row() }, Screen::PLAIN)
                .contains("older than budgets")
        );
        let count = Row { budget: None, uncertainty: Some(0.0), unit: "1".into(), ..row() };
        assert!(budget_text(24, &count, Screen::PLAIN).contains("It is a count"));
        let near = Row {
            verdict: Verdict::Indeterminate,
            risk: None,
            outside: Some(0.4),
            settled_by: Some("a window 4 times as long".into()),
            ..row()
        };
        let text = budget_text(24, &near, Screen::PLAIN);
        assert!(text.contains("outside the limits: 40 %\n  would settle it: a window 4 times"));
        let rejected = Row { verdict: Verdict::Fail, guard_band: Some(0.0), ..row() };
        let text = budget_text(24, &rejected, Screen::PLAIN);
        assert!(text.contains("guard band: none"), "{text}");
        assert!(text.contains("it fails though good: 0.025 %"), "{text}");
    }
}
