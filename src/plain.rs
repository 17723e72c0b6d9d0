//! Text from files and people, made safe to show.

/// The text without what a terminal would obey, and without the marks that turn text around.
pub fn plain(text: &str) -> String {
    text.chars().map(|c| if is_harmful(c) { '\u{fffd}' } else { c }).collect()
}

/// The same for text of several lines, such as an error that shows the line that it is about.
pub fn plain_lines(text: &str) -> String {
    text.lines().map(plain).collect::<Vec<_>>().join("\n")
}

/// The same for text that carries the program's own colours: those stay.
pub fn shown(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let colour = colour_at(rest);
        if colour > 0 {
            shown.push_str(&rest[..colour]);
            rest = &rest[colour..];
            continue;
        }
        shown.push(if is_harmful(c) && c != '\n' { '\u{fffd}' } else { c });
        rest = &rest[c.len_utf8()..];
    }
    shown
}

/// How long the escape sequence of a colour is at the start of a text; 0 where there is none.
fn colour_at(text: &str) -> usize {
    let Some(parameters) = text.strip_prefix("\x1b[") else { return 0 };
    match parameters.find(|c: char| !c.is_ascii_digit() && c != ';') {
        Some(end) if parameters[end..].starts_with('m') => 2 + end + 1,
        _ => 0,
    }
}

/// The same for JSON, where such characters stand in strings only: escaped, so that nothing is lost.
pub fn escaped(text: &str) -> String {
    let escape = |c: char| match u32::from(c) {
        code if is_harmful(c) && c != '\n' => format!("\\u{code:04x}"),
        _ => c.to_string(),
    };
    text.chars().map(escape).collect()
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
        assert_eq!(
            shown("\u{1b}[1;31mFAIL\u{1b}[0m\u{1b}[2J\n"),
            "\u{1b}[1;31mFAIL\u{1b}[0m\u{fffd}[2J\n"
        );
        assert_eq!(escaped("{\"a\":\"\u{9b}2J\"}\n"), "{\"a\":\"\\u009b2J\"}\n");
    }
}
