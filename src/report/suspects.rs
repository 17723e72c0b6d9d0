//! What is suspected, in a sentence.

use super::severity::said;
use crate::run::suspects::{Severity, Suspect, Suspects};

/// What is less likely than that is not said.
const SAID_FROM: f64 = 0.01;

/// `Likeliest: contact-burnt at contact 3a, 2.1 Ω (1.9 Ω to 2.3 Ω), 97 in 100; else clamp-lead-loose at
/// contact 3a, 2 in 100.`
pub fn sentence(suspects: &Suspects) -> String {
    let Some(first) = suspects.all.first() else { return String::new() };
    let second = suspects.all.get(1).filter(|second| second.probability >= SAID_FROM);
    if suspects.none > first.probability {
        let nearest = match second {
            Some(second) => format!("{} and {}", place(first), place(second)),
            None => place(first),
        };
        return format!(
            "Likeliest none of the known faults, {}; the nearest: {nearest}.",
            chance(suspects.none)
        );
    }
    let mut told = format!("Likeliest: {}{}", place(first), severity(first));
    told.push_str(&format!(", {}", chance(first.probability)));
    if let Some(second) = second.filter(|second| second.probability >= suspects.none) {
        told.push_str(&format!("; else {}, {}", place(second), chance(second.probability)));
    } else if suspects.none >= SAID_FROM {
        told.push_str(&format!("; else something unknown, {}", chance(suspects.none)));
    }
    told + "."
}

fn place(suspect: &Suspect) -> String {
    match &suspect.place {
        Some(place) => format!("{} at {place}", suspect.cause),
        None => suspect.cause.clone(),
    }
}

fn severity(suspect: &Suspect) -> String {
    let Some(Severity { value, from, to, unit }) = &suspect.severity else { return String::new() };
    if from == to {
        return format!(", {}", said(*value, unit));
    }
    format!(", {} ({} to {})", said(*value, unit), said(*from, unit), said(*to, unit))
}

/// A probability as people say it.
fn chance(probability: f64) -> String {
    match probability {
        p if p >= 0.999 => "more than 999 in 1000".into(),
        p if p >= 0.99 => format!("{:.0} in 1000", (1000.0 * p).floor()),
        p => format!("{:.0} in 100", (100.0 * p).min(99.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blame::Blame;

    fn suspect(cause: &str, probability: f64) -> Suspect {
        let severity = Severity { value: 2.1, from: 1.9, to: 2.3, unit: "ohm".into() };
        Suspect {
            cause: cause.into(),
            place: Some("contact 3a".into()),
            class: Blame::Module,
            probability,
            severity: Some(severity),
        }
    }

    fn of(all: Vec<Suspect>, none: f64) -> String {
        sentence(&Suspects { all, none, fit: 0.5, runs: 400, seed: 1, settled_by: None })
    }

    #[test]
    fn the_likeliest_the_next_and_none() {
        let two = || vec![suspect("contact-burnt", 0.97), suspect("clamp-lead-loose", 0.02)];
        insta::assert_snapshot!(
            [
                of(two(), 0.01),
                of(vec![suspect("contact-burnt", 0.9996)], 0.0),
                of(vec![suspect("contact-burnt", 0.9)], 0.1),
                of(vec![suspect("contact-burnt", 0.2), suspect("weak-coil", 0.1)], 0.7),
            ]
            .join("\n")
        );
    }
}
