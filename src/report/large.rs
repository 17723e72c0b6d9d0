//! The verdict in letters that one reads from across the room, with a shape beside.
//!
//! Drawn for this program: blocks of two columns, five rows.

use super::screen::Screen;
use crate::judge::reading::Verdict;

/// Rows of the large letters.
pub const ROWS: usize = 5;

/// The columns that they take up.
pub const COLUMNS: usize = 60;

/// A mark is a block of two columns.
type Drawn = [&'static str; ROWS];

const A: Drawn = [" ## ", "#  #", "####", "#  #", "#  #"];
const E: Drawn = ["####", "#   ", "### ", "#   ", "####"];
const F: Drawn = ["####", "#   ", "### ", "#   ", "#   "];
const I: Drawn = ["#", "#", "#", "#", "#"];
const L: Drawn = ["#   ", "#   ", "#   ", "#   ", "####"];
const N: Drawn = ["#   #", "##  #", "# # #", "#  ##", "#   #"];
const O: Drawn = [" ## ", "#  #", "#  #", "#  #", " ## "];
const P: Drawn = ["### ", "#  #", "### ", "#   ", "#   "];
const S: Drawn = [" ###", "#   ", " ## ", "   #", "### "];

/// A harbour's ball: clear to go in.
const BALL: Drawn = [" ### ", "#####", "#####", "#####", " ### "];
/// A cross: closed.
const CROSS: Drawn = ["#   #", " # # ", "  #  ", " # # ", "#   #"];
/// A ring that is not closed: undecided.
const OPEN_RING: Drawn = ["  ## ", " #   ", "#   #", "   # ", " ##  "];

/// The verdict for two metres where there is room for it, else in its word; lines ended.
pub fn verdict(verdict: Verdict, screen: Screen) -> String {
    if usize::from(screen.width) >= COLUMNS {
        large(verdict, screen)
    } else {
        screen.verdict(verdict) + "\n"
    }
}

/// The word of a verdict, five rows high, a shape in front; lines ended.
pub fn large(verdict: Verdict, screen: Screen) -> String {
    let (shape, word) = match verdict {
        Verdict::Pass => (BALL, [P, A, S, S]),
        Verdict::Fail => (CROSS, [F, A, I, L]),
        Verdict::Indeterminate => (OPEN_RING, [O, P, E, N]),
    };
    let mut text = String::new();
    for row in 0..ROWS {
        let mut line = String::from("  ");
        line.push_str(&blocks(shape[row]));
        line.push_str("    ");
        for letter in word {
            line.push_str("  ");
            line.push_str(&blocks(letter[row]));
        }
        text.push_str(&screen.verdict_as(verdict, line.trim_end()));
        text.push('\n');
    }
    text
}

fn blocks(row: &str) -> String {
    row.chars().map(|mark| if mark == '#' { "██" } else { "  " }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::wrap::width;

    #[test]
    fn each_verdict_has_its_word_and_its_shape() {
        let all = [Verdict::Pass, Verdict::Fail, Verdict::Indeterminate];
        let drawn: Vec<String> = all.map(|verdict| large(verdict, Screen::PLAIN)).into();
        for text in &drawn {
            assert_eq!(text.lines().count(), ROWS);
            assert!(text.lines().all(|line| width(line) <= COLUMNS), "{text}");
        }
        insta::assert_snapshot!(drawn.join("\n"));
    }
}
