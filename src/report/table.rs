//! Tables that people read: columns that line up, and no line wider than the screen. What does not
//! fit goes on in the next line of its own column.

use super::screen::Screen;
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, presets};

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Column<'a> {
    /// Words: on the left, and broken where they do not fit.
    Words(&'a str),
    /// Codes and names: on the left, never broken.
    Code(&'a str),
    /// Numbers: on the right, never broken.
    Number(&'a str),
}

impl<'a> Column<'a> {
    const fn head(self) -> &'a str {
        match self {
            Column::Words(head) | Column::Code(head) | Column::Number(head) => head,
        }
    }
}

/// Columns between two cells.
const GAP: u16 = 2;

/// The table, lines ended, all of it so many columns to the right. The heads are left out where none
/// says anything. Cells hold nothing that a terminal would obey.
pub fn table<const N: usize>(
    screen: Screen,
    indent: u16,
    columns: [Column<'_>; N],
    rows: impl IntoIterator<Item = [String; N]>,
) -> String {
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(screen.width);
    if columns.iter().any(|column| !column.head().is_empty()) {
        table.set_header(columns.map(Column::head));
    }
    table.add_rows(rows);
    for (at, (column, set)) in columns.iter().zip(table.column_iter_mut()).enumerate() {
        set.set_padding((if at == 0 { indent } else { GAP }, 0));
        if !matches!(column, Column::Words(_)) {
            set.set_constraint(ColumnConstraint::ContentWidth);
        }
        if matches!(column, Column::Number(_)) {
            set.set_cell_alignment(CellAlignment::Right);
        }
    }
    table.trim_fmt() + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn columns_line_up_and_long_words_go_on_below() {
        let columns = [Column::Code("name"), Column::Number("limit"), Column::Words("about")];
        let rows = [
            ["fog horn", "12 mA", "sounds where nobody sees, and is heard where nobody listens"],
            ["bell", "1.5 A", "rings"],
        ];
        let screen = Screen { width: 44, ..Screen::PLAIN };
        insta::assert_snapshot!(table(screen, 2, columns, rows.map(|r| r.map(String::from))));
    }

    proptest! {
        #[test]
        fn no_line_is_wider_than_the_screen(
            words in prop::collection::vec("\\PC{0,60}", 1..8), width in 60..200u16,
        ) {
            let columns = [Column::Code("no"), Column::Words("what")];
            let rows = words.iter().map(|w| ["12".into(), w.clone()]);
            let text = table(Screen { width, ..Screen::PLAIN }, 4, columns, rows);
            let widest = text.lines().map(console_width).max().unwrap_or(0);
            prop_assert!(widest <= usize::from(width), "{widest} of {width}: {text}");
        }
    }

    fn console_width(line: &str) -> usize {
        unicode_width::UnicodeWidthStr::width(line)
    }
}
