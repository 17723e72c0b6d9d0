//! Which modules of a lot go through the long script too.
//!
//! Drawn before the first is seated, by a rule that anyone can follow: the serials are put in the order of the
//! SHA-256 of the number that is drawn from and the serial, and the first ones are taken. More of them later keep
//! those that there are. What was drawn is kept with the decisions, and stays, whatever is corrected by hand later.

use super::decision::{Decision, What};
use super::order::{Order, Which};
use crate::record::names::{is_same_name, key};
use sha2::{Digest, Sha256};

/// The sample of an order, in the order of its serials.
pub fn wanted(order: &Order) -> Vec<String> {
    let all = order.serials.all(order.count);
    let Some(sample) = &order.sample else { return Vec::new() };
    match &sample.which {
        Which::Named(serials) => serials.clone(),
        Which::Drawn { count, seed } => {
            let mut by_digest: Vec<&String> = all.iter().collect();
            by_digest
                .sort_by_cached_key(|serial| Sha256::digest(format!("{seed}/{}", key(serial))));
            by_digest.truncate(*count as usize);
            all.iter().filter(|serial| by_digest.contains(serial)).cloned().collect()
        }
    }
}

/// The sample of a lot: what was drawn once stays in it.
pub fn sample(order: &Order, decisions: &[Decision]) -> Vec<String> {
    let mut sample = wanted(order);
    for serial in decisions.iter().flat_map(|decision| drawn(&decision.what)) {
        if !sample.iter().any(|known| is_same_name(known, serial)) {
            sample.push(serial.clone());
        }
    }
    sample
}

/// What is to be kept of a sample that is not kept yet; `None` where nothing is.
pub fn unkept(order: &Order, decisions: &[Decision]) -> Option<What> {
    let kept: Vec<&String> = decisions.iter().flat_map(|decision| drawn(&decision.what)).collect();
    let is_kept = |serial: &String| kept.iter().any(|known| is_same_name(known, serial));
    let serials = wanted(order);
    let sample = order.sample.as_ref().filter(|_| !serials.iter().all(is_kept))?;
    let seed = match sample.which {
        Which::Drawn { seed, .. } => Some(seed),
        Which::Named(_) => None,
    };
    Some(What::Sample { serials, script: sample.script.clone(), seed })
}

fn drawn(what: &What) -> &[String] {
    match what {
        What::Sample { serials, .. } => serials,
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::order::Sample;

    fn order(count: u32, seed: u32) -> Order {
        let which = Which::Drawn { count, seed };
        let sample = Some(Sample { which, script: "thorough".into() });
        Order { sample, ..Order::of("spring", "pier-four", 24, "muster", "settle") }
    }

    #[test]
    fn the_same_number_draws_the_same_modules_and_more_keep_those_that_there_are() {
        let five = wanted(&order(5, 7));
        assert_eq!(five.len(), 5);
        assert_eq!(five, wanted(&order(5, 7)));
        assert_ne!(five, wanted(&order(5, 8)));
        let eight = wanted(&order(8, 7));
        assert!(five.iter().all(|serial| eight.contains(serial)), "{five:?} {eight:?}");
    }

    /// 2,000 drawings of 6 of 24: each module is expected 500 times, with a standard deviation of 19.4
    /// (binomial, 1 in 4).
    #[test]
    fn every_module_is_drawn_as_often_as_any_other() {
        let mut times = std::collections::BTreeMap::new();
        for seed in 0..2000 {
            wanted(&order(6, seed))
                .into_iter()
                .for_each(|serial| *times.entry(serial).or_insert(0) += 1);
        }
        assert_eq!(times.len(), 24);
        assert!(times.values().all(|times| (410..590).contains(times)), "{times:?}");
    }

    #[test]
    fn what_was_drawn_stays_drawn() {
        let first = order(4, 7);
        let what = unkept(&first, &[]).expect("new");
        let kept = Decision {
            format: 1,
            time: "2026-03-09T10:00:00+01:00".into(),
            by: "Ines".into(),
            reason: "drawn".into(),
            what,
        };
        assert_eq!(unkept(&first, std::slice::from_ref(&kept)), None);
        let fewer = order(1, 7);
        assert_eq!(sample(&fewer, std::slice::from_ref(&kept)).len(), 4);
        let more = order(6, 7);
        assert!(unkept(&more, std::slice::from_ref(&kept)).is_some());
        assert_eq!(sample(&more, &[kept]).len(), 6);
    }
}
