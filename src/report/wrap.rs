//! Lines that fit: no line of text is wider than the place where it is shown.

use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// The columns of a place that does not say how many it has.
pub const COLUMNS: usize = 80;

/// A text in lines of at most so many columns, broken at spaces; what has none is broken anywhere.
/// Lines that are there already stay, and the rest of a broken one is set in by `indent` columns.
pub fn wrap(text: &str, columns: usize, indent: usize) -> String {
    let lines: Vec<String> = text.lines().map(|line| wrap_line(line, columns, indent)).collect();
    lines.join("\n")
}

/// The same, set in as each line asks for: under its last column where its text stands in columns, else
/// a little further than it begins.
pub fn wrap_hanging(text: &str, columns: usize) -> String {
    let lines: Vec<String> =
        text.lines().map(|line| wrap_line(line, columns, hanging(line, columns))).collect();
    lines.join("\n")
}

/// Where the rest of a line goes on.
fn hanging(line: &str, columns: usize) -> usize {
    let begins = line.len() - line.trim_start_matches(' ').len();
    let fits = |at: &usize| width(&line[..*at]) <= columns / 2;
    // Where text stands after two spaces or more.
    let starts = line.match_indices("  ").filter_map(|(at, _)| {
        let text = line[at..].len() - line[at..].trim_start_matches(' ').len();
        (text >= 2 && at + text < line.len()).then_some(at + text)
    });
    let starts = starts.filter(|&at| at > begins);
    starts.filter(fits).last().map_or(begins + 2, |at| width(&line[..at]))
}

fn wrap_line(line: &str, columns: usize, indent: usize) -> String {
    let inner = " ".repeat(indent.min(columns / 2));
    let options = Options::new(columns)
        .subsequent_indent(&inner)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit)
        .break_words(true);
    textwrap::fill(line, options)
}

/// A text in at most so many columns; what is cut off is shown to be.
pub fn fit(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.into();
    }
    let mut fitted = String::new();
    for c in text.chars() {
        if width(&fitted) + width(c.encode_utf8(&mut [0; 4])) + 1 > columns {
            break;
        }
        fitted.push(c);
    }
    fitted.push('…');
    fitted
}

/// How many columns a text takes up on a terminal.
pub fn width(text: &str) -> usize {
    textwrap::core::display_width(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn lines_break_at_spaces_and_what_is_cut_off_is_shown() {
        assert_eq!(wrap("the slider of output 3\n  b", 12, 2), "the slider\n  of output\n  3\n  b");
        assert_eq!(wrap("/a/very/long/path", 8, 0), "/a/very/\nlong/pat\nh");
        assert_eq!((fit("harbour", 7), fit("harbour", 6)), ("harbour".into(), "harbo…".into()));
        assert_eq!(
            wrap_hanging("  9    0.00 s  seat the module", 20),
            "  9    0.00 s  seat\n       the module"
        );
        assert_eq!(wrap_hanging("key     some words more", 18), "key     some words\n        more");
        // A wide character takes up two columns.
        assert_eq!((width("港"), fit("港港港", 5)), (2, "港港…".into()));
    }

    proptest! {
        #[test]
        fn no_line_is_wider_and_nothing_is_lost(text in "[ a-zäΩ港\n]{0,200}", columns in 4usize..100) {
            let wrapped = wrap(&text, columns, 2);
            prop_assert!(wrapped.lines().all(|line| width(line) <= columns), "{wrapped:?}");
            let hung = wrap_hanging(&text, columns);
            prop_assert!(hung.lines().all(|line| width(line) <= columns), "{hung:?}");
            let letters = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            prop_assert_eq!(letters(&wrapped), letters(&text));
            prop_assert!(width(&fit(&text.replace('\n', " "), columns)) <= columns);
        }
    }
}
