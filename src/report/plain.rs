//! Text from files and people, made safe to show.

/// The text without what a terminal would obey, and without the marks that turn text around.
pub fn plain(text: &str) -> String {
    text.chars().map(|c| if is_harmful(c) { '\u{fffd}' } else { c }).collect()
}

/// The same for text of several lines, such as an error that shows the line that it is about.
pub fn plain_lines(text: &str) -> String {
    text.lines().map(plain).collect::<Vec<_>>().join("\n")
}

fn is_harmful(c: char) -> bool {
    // The bidirectional controls of Unicode Standard Annex #9.
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_harmful_characters_go() {
        assert_eq!(plain("Kai 3, Süd: ✓"), "Kai 3, Süd: ✓");
        assert_eq!(
            plain("a\u{1b}[2Jb\u{9b}c\nd\u{202e}e"),
            "a\u{fffd}[2Jb\u{fffd}c\u{fffd}d\u{fffd}e"
        );
        assert_eq!(plain_lines("a\u{1b}\n  b\n"), "a\u{fffd}\n  b");
    }
}
