//! The verdict in letters that one reads from across the room, with a shape beside.
//!
//! Drawn for this program: blocks of two columns, five rows.

use super::screen::Screen;
use crate::judge::reading::Verdict;

/// Rows of the large letters.
pub const ROWS: usize = 5;

/// The columns that they take up.
pub const COLUMNS: usize = 60;

/// The same where a mark is one column wide.
pub const NARROW: usize = 32;

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
    let width = usize::from(screen.width);
    if width >= COLUMNS {
        large(verdict, screen)
    } else if width >= NARROW {
        drawn(verdict, screen, "█")
    } else {
        screen.verdict(verdict) + "\n"
    }
}

/// The word of a verdict, five rows high, a shape in front; lines ended.
pub fn large(verdict: Verdict, screen: Screen) -> String {
    drawn(verdict, screen, "██")
}

/// The same with marks of this width.
fn drawn(verdict: Verdict, screen: Screen, mark: &str) -> String {
    let gap = " ".repeat(mark.chars().count());
    let (shape, word) = match verdict {
        Verdict::Pass => (BALL, [P, A, S, S]),
        Verdict::Fail => (CROSS, [F, A, I, L]),
        Verdict::Indeterminate => (OPEN_RING, [O, P, E, N]),
    };
    let mut text = String::new();
    for row in 0..ROWS {
        let mut line = gap.clone();
        line.push_str(&blocks(shape[row], mark));
        line.push_str(&gap.repeat(2));
        for letter in word {
            line.push_str(&gap);
            line.push_str(&blocks(letter[row], mark));
        }
        text.push_str(&screen.verdict_as(verdict, line.trim_end()));
        text.push('\n');
    }
    text
}

fn blocks(row: &str, mark: &str) -> String {
    let gap = " ".repeat(mark.chars().count());
    row.chars().map(|drawn| if drawn == '#' { mark } else { &gap }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::wrap::width;

    fn drawn_narrow(verdict: Verdict) -> String {
        super::verdict(verdict, Screen { width: NARROW as u16, coloured: false })
    }

    #[test]
    fn each_verdict_has_its_word_and_its_shape() {
        let all = [Verdict::Pass, Verdict::Fail, Verdict::Indeterminate];
        let drawn: Vec<String> = all.map(|verdict| large(verdict, Screen::PLAIN)).into();
        for text in &drawn {
            assert_eq!(text.lines().count(), ROWS);
            assert!(text.lines().all(|line| width(line) <= COLUMNS), "{text}");
        }
        for verdict in all {
            let text = drawn_narrow(verdict);
            assert!(text.lines().all(|line| width(line) <= NARROW), "{text}");
        }
        insta::assert_snapshot!(drawn.join("\n"));
    }
}
