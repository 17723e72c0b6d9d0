//! Making a text fit its room.

/// A text and the size to set it in.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// The text, cut with an ellipsis where it had to be.
    pub text: String,
    /// Font size, in millimetres.
    pub size_mm: f64,
}

/// The text in `size_mm`, or smaller down to `least_mm`, or cut, so that it is no wider than
/// `room_mm`.
pub fn fit(text: &str, room_mm: f64, size_mm: f64, least_mm: f64) -> Fitted {
    let size_mm = (room_mm / width_em(text)).clamp(least_mm, size_mm);
    if width_em(text) * size_mm <= room_mm {
        return Fitted { text: text.to_owned(), size_mm };
    }
    let mut kept = String::new();
    let mut width = width_em("…");
    for c in text.chars() {
        width += char_width_em(c);
        if width * size_mm > room_mm {
            break;
        }
        kept.push(c);
    }
    Fitted { text: kept.trim_end().to_owned() + "…", size_mm }
}

/// How wide a text is at most, in multiples of its font size.
pub fn width_em(text: &str) -> f64 {
    // Never nothing: what is divided by it stays finite.
    text.chars().map(char_width_em).sum::<f64>().max(0.01)
}

/// At least as wide as in DejaVu Sans Bold, taken from the advance widths of version 2.37 for Latin,
/// Greek and Cyrillic. Which font a viewer takes is not ours to say; this is one of
/// the widest without serifs.
fn char_width_em(c: char) -> f64 {
    match c {
        ' ' | '\'' | 'i' | 'j' | 'l' | 'I' | 'J' | '.' | ',' | ':' | ';' | '|' | '/' | '\\' => 0.4,
        '-' | '_' | '!' | '(' | ')' | '[' | ']' | '`' | '"' | '*' | 'f' | 't' | 'r' => 0.53,
        'M' | 'W' | 'm' | '%' | '@' => 1.11,
        'w' | '&' => 0.93,
        'a'..='z' | '0'..='9' | '{' | '}' | '?' | '$' => 0.72,
        ' '..='~' => 0.86,
        '…' => 1.0,
        '–' | '·' => 0.6,
        // Two letters in one.
        '\u{1c4}'..='\u{1cc}' | '\u{1f1}'..='\u{1f6}' => 1.6,
        '\u{a0}'..='\u{24f}' | '\u{370}'..='\u{3ff}' => 1.2,
        '\u{400}'..='\u{52f}' => 1.45,
        // Squares, from here on (common practice, no source).
        '\u{2e80}'..='\u{ffff}' => 1.1,
        _ => 1.6,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn short_texts_stay_long_ones_shrink_and_very_long_ones_are_cut() {
        let short = fit("quay", 40.0, 5.0, 2.5);
        assert_eq!(short, Fitted { text: "quay".into(), size_mm: 5.0 });
        let long = fit("swing-bridge north", 40.0, 5.0, 2.5);
        assert_eq!(long.text, "swing-bridge north");
        assert!(long.size_mm < 5.0 && long.size_mm > 2.5, "{long:?}");
        let very_long = fit("the swing-bridge over the northern lock", 40.0, 5.0, 2.5);
        assert!(very_long.text.starts_with("the swing") && very_long.text.ends_with('…'));
        assert_eq!(very_long.size_mm, 2.5);
    }

    proptest! {
        #[test]
        fn whatever_it_is_it_fits(text in "\\PC{0,200}", room in 5.0..80.0_f64) {
            let fitted = fit(&text, room, 6.0, 2.0);
            prop_assert!(width_em(&fitted.text) * fitted.size_mm <= room + 1e-9);
            prop_assert!((2.0..=6.0).contains(&fitted.size_mm));
        }
    }
}
