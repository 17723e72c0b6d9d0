//! A sheet of labels: how large it is, and where its labels lie.

use super::svg::Area;
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use crate::quantity::value::Value;
use std::path::Path;
use uom::si::f64::Length;

/// The shipped sheets, the default one first.
pub static SHIPPED: [(&str, &str); 2] = [
    ("a4-cut", include_str!("../../fixtures/label-sheets/a4-cut.toml")),
    ("a5-cut", include_str!("../../fixtures/label-sheets/a5-cut.toml")),
];

/// The most rows and columns of a sheet.
const MOST: i64 = 100;

/// Rounding of what people measure, in millimetres.
const SLACK_MM: f64 = 0.005;

/// A sheet of labels. Lengths are millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// What it is, for people.
    pub title: String,
    /// Width and height of the paper.
    pub paper_mm: (f64, f64),
    /// Left and upper edge of the first label.
    pub margin_mm: (f64, f64),
    /// Width and height of a label.
    pub label_mm: (f64, f64),
    /// From one label's left or upper edge to that of the next.
    pub pitch_mm: (f64, f64),
    /// How many labels lie side by side.
    pub columns: usize,
    /// How many lie one below the other.
    pub rows: usize,
    /// Whether a thin line is drawn around each, to cut along.
    pub outline: bool,
}

impl Sheet {
    /// The sheet of a shipped name, or from a file.
    ///
    /// # Errors
    /// When there is neither such a name nor such a file, or something in it is wrong.
    pub fn named(name_or_path: &str) -> Result<Sheet, Located> {
        if let Some((name, text)) = SHIPPED.iter().find(|(name, _)| *name == name_or_path) {
            return Sheet::parse(&Source::shipped(name, text));
        }
        let path = Path::new(name_or_path);
        Sheet::parse(&Source::read(path).map_err(|mut error| {
            if error.place.is_none() && !path.exists() {
                let names = SHIPPED.map(|(name, _)| name).join(", ");
                error.message =
                    format!("there is no such file, and the shipped label sheets are {names}");
            }
            error
        })?)
    }

    /// Reads a sheet.
    ///
    /// # Errors
    /// What is wrong in it, at its place.
    pub fn parse(source: &Source) -> Result<Sheet, Located> {
        let mut top = source.table()?;
        let title = top.need("title", "what the sheet is, in a line")?.line_of_text()?;
        let two = |table: &mut Table<'_>, key, what, names: [&'static str; 2], least| {
            let mut both = table.need_table(key, what)?;
            let one = |both: &mut Table<'_>, name| {
                length(&both.need(name, "a length such as \"44 mm\"")?, least)
            };
            let lengths = (one(&mut both, names[0])?, one(&mut both, names[1])?);
            both.finish()?;
            Ok::<_, Located>(lengths)
        };
        let size = ["width", "height"];
        let paper_mm = two(&mut top, "paper", "the paper's width and height", size, "10 mm")?;
        let sides = ["left", "top"];
        let margin_mm = two(&mut top, "margin", "where the first label begins", sides, "0 mm")?;
        let label_mm = two(&mut top, "label", "a label's width and height", size, "5 mm")?;
        let ways = ["across", "down"];
        let pitch_mm = two(&mut top, "pitch", "from one label to the next", ways, "5 mm")?;
        let (columns, at_columns) = count(&mut top, "columns", "how many labels lie side by side")?;
        let (rows, at_rows) = count(&mut top, "rows", "how many lie one below the other")?;
        let outline = top.take("outline").map(|value| value.truth()).transpose()?.unwrap_or(false);
        top.finish()?;
        let sheet =
            Sheet { title, paper_mm, margin_mm, label_mm, pitch_mm, columns, rows, outline };
        let across = (columns, at_columns, "columns", "wide");
        let down = (rows, at_rows, "rows", "high");
        let of = |one: (f64, f64), is_across: bool| if is_across { one.0 } else { one.1 };
        for ((many, at, what, way), is_across) in [(across, true), (down, false)] {
            let (label, pitch) = (of(label_mm, is_across), of(pitch_mm, is_across));
            if many > 1 && pitch + SLACK_MM < label {
                return Err(source.error(at, format!("the {what} overlap: a label is {label} mm {way}, and the next one begins after {pitch} mm")));
            }
            let end = of(margin_mm, is_across) + pitch * (many as f64 - 1.0) + label;
            let paper = of(paper_mm, is_across);
            if end > paper + SLACK_MM {
                let end = (end * 100.0).round() / 100.0;
                return Err(source.error(at, format!("the {what} do not fit: the last one ends at {end} mm, and the paper is {paper} mm {way}")));
            }
        }
        Ok(sheet)
    }

    /// How many labels a sheet has.
    pub fn places(&self) -> usize {
        self.columns * self.rows
    }

    /// Where a label lies, counted from 0 row by row.
    pub fn place(&self, at: usize) -> Area {
        let (column, row) = (at % self.columns, at / self.columns);
        Area {
            x: self.margin_mm.0 + self.pitch_mm.0 * column as f64,
            y: self.margin_mm.1 + self.pitch_mm.1 * row as f64,
            width: self.label_mm.0,
            height: self.label_mm.1,
        }
    }
}

/// A length in millimetres.
fn length(value: &Value<'_>, least: &str) -> Result<f64, Located> {
    let length: Length = value.quantity_within(least, "2 m")?;
    // What was written in millimetres comes back without the noise of the conversion.
    Ok((length.si() * 1e6).round() / 1e3)
}

fn count(
    table: &mut Table<'_>,
    key: &'static str,
    what: &str,
) -> Result<(usize, core::ops::Range<usize>), Located> {
    let value = table.need(key, what)?;
    let count = value.integer(1..=MOST)?;
    Ok((usize::try_from(count).unwrap_or(1), value.span()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shipped_sheets_are_in_the_middle_of_their_paper() {
        for (name, _) in SHIPPED {
            let sheet = Sheet::named(name).unwrap_or_else(|e| panic!("{e}"));
            let last = sheet.place(sheet.places() - 1);
            let right = sheet.paper_mm.0 - last.x - last.width;
            let below = sheet.paper_mm.1 - last.y - last.height;
            assert!((right - sheet.margin_mm.0).abs() < 1e-6, "{name}: {right}");
            assert!((below - sheet.margin_mm.1).abs() < 1e-6, "{name}: {below}");
            assert!(sheet.outline);
        }
    }

    #[test]
    fn what_is_wrong_is_told_at_its_line() {
        let text = SHIPPED[0].1;
        for (old, new, told) in [
            (
                "columns = 4",
                "columns = 5",
                "7:11: the columns do not fit: the last one ends at 244.5 mm, and the paper is 210 mm wide",
            ),
            ("rows = 7", "rows = 8", "8:8: the rows do not fit"),
            (
                "down = \"39 mm\"",
                "down = \"30 mm\"",
                "8:8: the rows overlap: a label is 36 mm high",
            ),
            ("\"44 mm\"", "\"44\"", "9:22: `label.width` is a length such as"),
            ("\"44 mm\"", "44", "9:19: `label.width`"),
            ("\"210 mm\"", "\"210 m\"", "4:19: `paper.width` is a length from 10 mm to 2 m"),
            ("rows = 7", "rows = 0", "8:8"),
            ("outline = true", "outlne = true", "12:1: unknown key"),
            ("rows = 7\n", "", "rows"),
        ] {
            assert!(text.contains(old), "{old}");
            let source = Source::new("sheet.toml", &text.replace(old, new));
            let error = Sheet::parse(&source).expect_err(new).to_string();
            assert!(error.contains(told), "{told} is not in: {error}");
        }
        let error = Sheet::named("no-such").expect_err("none").to_string();
        assert!(error.contains("a4-cut, a5-cut"), "{error}");
    }
}
