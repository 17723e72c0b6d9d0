//! Which one test would settle which of two suspects it is (reasoned from the bench's wiring; common practice,
//! no source).

use crate::blame::Blame;
use crate::run::suspects::Suspect;

/// Suspects of one class that hold so much between them need no settling.
const ENOUGH: f64 = 0.95;

/// The one test that would settle it, where those that lead are not of one class.
pub fn settled_by(suspects: &[Suspect], none: f64) -> Option<String> {
    let first = suspects.first()?;
    let of_class = |class: Blame| -> f64 {
        suspects.iter().filter(|s| s.class == class).map(|s| s.probability).sum()
    };
    if of_class(first.class) >= ENOUGH {
        return None;
    }
    let other = suspects.iter().find(|s| s.class != first.class);
    let rival = other.map_or(0.0, |s| of_class(s.class));
    if none > rival {
        return Some(SEATED_AGAIN.into());
    }
    Some(test(first.class, other.map_or(Blame::Unsure, |s| s.class)).into())
}

const SEATED_AGAIN: &str =
    "seat the module again and test again: what stays the same is no accident";

fn test(one: Blame, other: Blame) -> &'static str {
    let has = |class| one == class || other == class;
    if has(Blame::Module) && has(Blame::Lead) {
        "swap its leads with those of an output that passes, and test again: what moves along is the lead"
    } else if has(Blame::Load) {
        "test again with another load at this clamp: what stays is not the load"
    } else if has(Blame::Jig) {
        "test a module that is known to be good: what stays is the jig"
    } else if has(Blame::Setting) {
        "turn the power off, read the type on the module and look at its switches, then test again"
    } else {
        SEATED_AGAIN
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn suspect(class: Blame, probability: f64) -> Suspect {
        Suspect { cause: "x".into(), place: None, class, probability, severity: None }
    }

    #[test]
    fn only_what_is_open_needs_settling() {
        use Blame::{Jig, Lead, Module};
        let test = |all: &[(Blame, f64)], none| {
            settled_by(&all.iter().map(|(c, p)| suspect(*c, *p)).collect::<Vec<_>>(), none)
        };
        assert_eq!(test(&[(Module, 0.6), (Module, 0.36), (Lead, 0.04)], 0.0), None);
        assert!(test(&[(Module, 0.6), (Lead, 0.4)], 0.0).unwrap().contains("leads"));
        assert!(test(&[(Lead, 0.6), (Jig, 0.4)], 0.0).unwrap().contains("known to be good"));
        assert_eq!(test(&[(Module, 0.3), (Jig, 0.1)], 0.6), Some(SEATED_AGAIN.into()));
        assert_eq!(test(&[], 1.0), None);
    }
}
