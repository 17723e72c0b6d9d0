//! What is wrong in a file, and where.

use core::fmt;
use std::ops::Range;

/// How much of a long line is shown.
const EXCERPT_MAX: usize = 76;

/// Something wrong in a file: one sentence that says where, what, and what was expected.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Located {
    /// The file, as the user named it.
    pub file: String,
    /// Where in the file; `None` when the file as a whole is meant.
    pub place: Option<Place>,
    /// The sentence.
    pub message: String,
}

/// A stretch of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The line, from 1.
    pub line: usize,
    /// The column in characters, from 1.
    pub column: usize,
    /// The line itself, cut to what fits and free of control characters.
    pub excerpt: String,
    /// How many characters of the excerpt stand before the stretch.
    pub before: usize,
    /// How many characters of the excerpt the stretch has, at least 1.
    pub width: usize,
}

impl Place {
    /// The place of a byte range in a text.
    pub fn in_text(text: &str, span: Range<usize>) -> Place {
        let start = floor_boundary(text, span.start);
        let end = floor_boundary(text, span.end.max(start));
        let line_start = text[..start].rfind('\n').map_or(0, |i| i + 1);
        let line_end = text[start..].find('\n').map_or(text.len(), |i| start + i);
        let column = text[line_start..start].chars().count();
        let marked = text[start..end.min(line_end)].trim_end().chars().count().max(1);
        // Of a long line, show the part around the stretch.
        let skip = if column < EXCERPT_MAX * 3 / 4 { 0 } else { column - EXCERPT_MAX / 2 };
        let excerpt: String = text[line_start..line_end]
            .trim_end()
            .chars()
            .skip(skip)
            .take(EXCERPT_MAX)
            .map(visible)
            .collect();
        let before = column - skip;
        let room = excerpt.chars().count().saturating_sub(before).max(1);
        Place {
            line: 1 + text[..start].matches('\n').count(),
            column: column + 1,
            excerpt,
            before,
            width: marked.min(room),
        }
    }
}

/// The nearest character boundary at or below `at`.
fn floor_boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A terminal must not be steered by a file: control characters and those that turn the direction
/// of writing are shown as a dot.
fn visible(c: char) -> char {
    match c {
        '\t' => ' ',
        c if c.is_control() => '·',
        '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => '·',
        c => c,
    }
}

/// A value as a message quotes it: in double quotes, short, harmless.
pub fn quoted(text: &str) -> String {
    let mut out: String = text.chars().take(40).map(visible).collect();
    if text.chars().nth(40).is_some() {
        out.push('…');
    }
    format!("\"{out}\"")
}

impl fmt::Display for Located {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let file: String = self.file.chars().map(visible).collect();
        match &self.place {
            None => write!(f, "{file}: {}", self.message),
            Some(p) => {
                writeln!(f, "{file}:{}:{}: {}", p.line, p.column, self.message)?;
                writeln!(f, "  {}", p.excerpt)?;
                write!(f, "  {:before$}{}", "", "^".repeat(p.width), before = p.before)
            }
        }
    }
}

impl std::error::Error for Located {}
