//! What the modules of a lot are called before they have a place on the layout.

use crate::record::names;

/// Where the number goes in a pattern.
pub const PLACE: &str = "{}";

/// The fewest digits of a number in a pattern.
const DIGITS: usize = 2;

/// Where serials come from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Serials {
    /// A number in a pattern, such as `pier-{}`.
    Pattern(String),
    /// The serials themselves.
    List(Vec<String>),
}

impl Serials {
    /// The serials of so many modules.
    pub fn all(&self, count: u32) -> Vec<String> {
        match self {
            Serials::Pattern(pattern) => {
                let digits = count.to_string().len().max(DIGITS);
                let numbered = |n: u32| pattern.replacen(PLACE, &format!("{n:0digits$}"), 1);
                (1..=count).map(numbered).collect()
            }
            Serials::List(list) => list.clone(),
        }
    }

    /// What is wrong with them for so many modules; a sentence.
    ///
    /// # Errors
    /// That sentence.
    pub fn check(&self, count: u32) -> Result<(), String> {
        match self {
            Serials::Pattern(pattern) if pattern.matches(PLACE).count() != 1 => {
                return Err(format!(
                    "the pattern of the serials has {PLACE} once, where the number goes, such as \
                     \"pier-{PLACE}\""
                ));
            }
            Serials::List(list) if list.len() != count as usize => {
                return Err(format!(
                    "there are {} serials for {count} modules: give one for each",
                    list.len()
                ));
            }
            _ => {}
        }
        let mut seen = std::collections::HashSet::new();
        for serial in self.all(count) {
            names::check("module", &serial).map_err(|error| error.to_string())?;
            if !seen.insert(names::key(&serial)) {
                return Err(format!(
                    "the serial {serial} is there twice: give each module its own"
                ));
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_as_many_digits_as_the_last_one_and_two_at_least() {
        let pattern = Serials::Pattern("pier-{}".into());
        assert_eq!(pattern.all(3), ["pier-01", "pier-02", "pier-03"]);
        assert_eq!(pattern.all(120)[6], "pier-007");
        assert_eq!(pattern.check(120), Ok(()));
    }

    #[test]
    fn what_could_mix_two_modules_up_is_refused() {
        let list = |names: &[&str]| Serials::List(names.iter().map(|n| (*n).into()).collect());
        for (serials, told) in [
            (Serials::Pattern("pier".into()), "{} once"),
            (Serials::Pattern("{}-{}".into()), "{} once"),
            (Serials::Pattern("../{}".into()), "cannot be used"),
            (list(&["one"]), "1 serials for 2"),
            (list(&["one", "One"]), "twice"),
            (list(&["one", ""]), "empty"),
        ] {
            let why = serials.check(2).expect_err("refused");
            assert!(why.contains(told), "{why}");
        }
    }
}
