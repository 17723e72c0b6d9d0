//! Modules with hidden faults, to learn by. Nothing of them is ever recorded.

use crate::blame::Blame;
use crate::judge::reading::Verdict;
use crate::simulated_bench::Setup;
use crate::simulated_bench::faults::{Fault, catalogue};
use rand::seq::IndexedRandom;
use rand::{Rng, RngExt, SeedableRng};
use rand_xoshiro::SplitMix64;

/// So many of ten modules have a fault.
const FAULTY_OF_TEN: u32 = 5;

/// What a module hides.
#[derive(Clone, Copy, Debug)]
pub struct Hidden {
    /// The fault and how bad it is; none: it is sound.
    pub fault: Option<(&'static Fault, f64)>,
    /// The number that its bench is drawn from.
    pub seed: u64,
}

/// What somebody does with a module that was tested.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choice {
    /// It is put away, to go into service.
    Accept,
    /// It goes back.
    Reject,
    /// It is put aside.
    Hold,
}

/// What a choice is worth, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Worth {
    /// 2 for what was right, 1 for what does no harm, 0 for what does.
    pub points: u32,
    /// What it would have cost.
    pub sentence: &'static str,
}

/// The most points for a module.
pub const MOST: u32 = 2;

impl Hidden {
    /// The same after it was seated anew: leads and settings are put right then, a fault of its own stays.
    pub fn seated_anew(self) -> Self {
        let fault = self.fault.filter(|(fault, _)| fault.class == Blame::Module);
        Hidden { fault, seed: self.seed.wrapping_add(1) }
    }

    /// What it was, in a sentence.
    pub fn told(&self) -> String {
        match self.fault {
            None => "It was sound.".into(),
            Some((fault, _)) => {
                let whose = match fault.class {
                    Blame::Module => "the module's own",
                    Blame::Setting => "a setting",
                    _ => "a lead or clamp, not the module",
                };
                format!("It was {} ({whose}): {}.", fault.name, fault.about)
            }
        }
    }

    /// What a choice is worth, after a run that ended with that verdict.
    pub fn worth(&self, choice: Choice, verdict: Verdict) -> Worth {
        let own = self.fault.is_some_and(|(fault, _)| fault.class == Blame::Module);
        let (points, sentence) = match (choice, self.fault.is_some(), own, verdict) {
            (Choice::Accept, false, _, _) => (2, "Right: it can go into service."),
            (Choice::Accept, true, _, Verdict::Pass) => (
                2,
                "Nobody could know: the script does not see that. `script finds` says what it sees.",
            ),
            (Choice::Accept, true, true, _) => (
                0,
                "A faulty module would now vanish under the scenery, and be looked for in a year.",
            ),
            (Choice::Accept, true, false, _) => (
                0,
                "Accepted though it did not pass: put right what was wrong, and seat it again (r).",
            ),
            (Choice::Reject, true, true, _) => {
                (2, "Right: it goes back, with its reports as proof.")
            }
            (Choice::Reject, true, false, _) => (
                0,
                "A sound module would go back to its seller: put it right and seat it again (r).",
            ),
            (Choice::Reject, false, _, _) => (0, "A sound module would go back to its seller."),
            (Choice::Hold, false, _, Verdict::Pass) => {
                (1, "No harm, but it passes: somebody tests it again for nothing.")
            }
            (Choice::Hold, _, _, _) => (1, "No harm: somebody looks at it again later."),
        };
        Worth { points, sentence }
    }
}

/// So many modules as on a bench, drawn from a number, with faults that can be there.
pub fn draw(count: usize, seed: u64, bench: &Setup) -> Vec<Hidden> {
    let mut random = SplitMix64::seed_from_u64(seed);
    let may_be = |fault: &&Fault| {
        matches!(fault.class, Blame::Module | Blame::Setting | Blame::Lead)
            && !fault.places(&bench.kind, &bench.loads, fault.default).is_empty()
    };
    let faults: Vec<&'static Fault> = catalogue().filter(may_be).collect();
    let mut one = || {
        let is_faulty = random.random_range(0..10) < FAULTY_OF_TEN;
        let fault = faults.choose(&mut random).filter(|_| is_faulty);
        Hidden { fault: fault.map(|fault| (*fault, fault.default)), seed: random.next_u64() >> 1 }
    };
    (0..count).map(|_| one()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::simulated_set_up::setup;
    use crate::script::shipped;

    fn bench() -> Setup {
        let sheet = shipped::module_sheet(shipped::usual_kind()).expect("shipped");
        setup(&sheet, None, Vec::new(), 1)
    }

    #[test]
    fn a_seed_draws_the_same_modules_and_a_mixture() {
        let names = |seed| -> Vec<Option<&str>> {
            draw(200, seed, &bench())
                .iter()
                .map(|hidden| hidden.fault.map(|(fault, _)| fault.name))
                .collect()
        };
        assert_eq!(names(7), names(7));
        assert_ne!(names(7), names(8));
        let sound = names(7).iter().filter(|name| name.is_none()).count();
        assert!((60..140).contains(&sound), "{sound} of 200");
    }

    #[test]
    fn only_what_is_right_has_all_points() {
        let of = |class| Hidden {
            fault: catalogue()
                .find(|fault| fault.class == class)
                .map(|fault| (fault, fault.default)),
            seed: 1,
        };
        let sound = Hidden { fault: None, seed: 1 };
        let points = |hidden: Hidden, choice| hidden.worth(choice, Verdict::Fail).points;
        assert_eq!(points(sound, Choice::Accept), MOST);
        assert_eq!(points(of(Blame::Module), Choice::Reject), MOST);
        for (hidden, choice) in [
            (sound, Choice::Reject),
            (of(Blame::Lead), Choice::Reject),
            (of(Blame::Setting), Choice::Reject),
            (of(Blame::Module), Choice::Accept),
            (of(Blame::Lead), Choice::Accept),
        ] {
            assert_eq!(points(hidden, choice), 0, "{hidden:?} {choice:?}");
        }
        // A lead is put right by seating anew; a fault of its own is not.
        assert!(of(Blame::Lead).seated_anew().fault.is_none());
        assert!(of(Blame::Module).seated_anew().fault.is_some());
    }
}
