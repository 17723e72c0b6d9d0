//! Which word was most likely meant.

/// No known word is longer; nobody waits for a page of text to be compared.
const LONGEST: usize = 64;

/// The known word that an unknown one was most likely meant to be: at most a third of it differs.
/// Words of one letter are not guessed.
pub fn nearest<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    let word: String = word.chars().take(LONGEST).collect();
    known
        .iter()
        .filter(|k| k.len() > 1)
        .map(|k| (strsim::levenshtein(&word, k), *k))
        .min()
        .filter(|(distance, k)| *distance * 3 <= k.chars().count().max(3))
        .map(|(_, k)| k)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_seen_and_another_word_is_not() {
        assert_eq!(nearest("reponse", &["gap", "response"]), Some("response"));
        assert_eq!(nearest("bridge", &["gap", "response"]), None);
        assert_eq!(nearest("a", &["b", "c"]), None);
        assert_eq!(nearest(&"ä".repeat(1 << 20), &["gap"]), None);
    }
}
