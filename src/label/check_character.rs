//! The check character of ISO/IEC 7064:2003, MOD 37-2: over capitals and digits, itself one of these or `*`.
//!
//! A pure system: it finds every single wrong character and every two neighbours that have changed places.

/// What the characters stand for, in their order.
const CHARACTERS: &[u8; 37] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*";

const MODULUS: u32 = 37;
const RADIX: u32 = 2;

/// The check character of a text of capitals and digits; `None` where there is anything else in it.
pub fn check_character(text: &str) -> Option<char> {
    let mut sum = 0;
    for c in text.bytes() {
        let value = CHARACTERS[..36].iter().position(|known| *known == c)? as u32;
        sum = (sum + value) * RADIX % MODULUS;
    }
    let value = (MODULUS + 1 - sum) % MODULUS;
    Some(CHARACTERS[value as usize].into())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The worked example of ISBT 128, which takes the check character of this standard: "Guidelines for the
    /// Blood Transfusion Services in the United Kingdom", annex 2, table A2.2.
    #[test]
    fn the_published_example() {
        assert_eq!(check_character("G123498654321"), Some('H'));
        assert_eq!(check_character("g1"), None);
        assert_eq!(check_character("PIER-07"), None);
    }

    proptest! {
        #[test]
        fn a_wrong_character_and_two_that_changed_places_are_found(
            text in "[0-9A-Z]{2,40}", at in any::<prop::sample::Index>(), other in "[0-9A-Z]",
        ) {
            let check = check_character(&text);
            let mut bytes = text.clone().into_bytes();
            let at = at.index(bytes.len());
            bytes[at] = other.as_bytes()[0];
            let wrong = String::from_utf8(bytes).expect("text");
            prop_assert_eq!(check_character(&wrong) == check, wrong == text);
            let mut bytes = text.clone().into_bytes();
            bytes.swap(at, (at + 1) % text.len());
            let swapped = String::from_utf8(bytes).expect("text");
            if at + 1 < text.len() {
                prop_assert_eq!(check_character(&swapped) == check, swapped == text);
            }
        }
    }
}
