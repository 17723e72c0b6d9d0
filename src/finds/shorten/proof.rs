//! Both scripts on the same fresh benches.

use super::cases::{Case, Kept};
use super::tried::Tried;
use crate::finds::share::Share;
use crate::finds::spread::on_all_processors;
use crate::finds::threshold::NEARLY_ALL;
use core::sync::atomic::AtomicBool;

/// What came of one fault at one severity.
#[derive(Clone, Copy, Debug)]
pub struct Proven {
    /// Which it was.
    pub kept: Kept,
    /// Runs in which the given script finds it.
    pub given: Share,
    /// Of these, runs in which the proposed one finds it too.
    pub proposed: Share,
}

/// All of it.
#[derive(Clone, Debug)]
pub struct Proof {
    /// Fault by fault, severity by severity.
    pub faults: Vec<Proven>,
    /// Sound modules that the given script passes; of these, those that the proposed one passes too.
    pub sound: Share,
}

impl Proven {
    /// Whether it surely finds less than nearly all of what the given one finds.
    pub fn is_lost(&self) -> bool {
        self.proposed.runs > 0 && self.proposed.interval().1 < NEARLY_ALL
    }
}

impl Proof {
    /// Tries both, so often each fault and so many sound modules of each kind, drawn from a number. `None` if
    /// it was stopped.
    pub fn of(
        kept: &[Kept],
        kinds: usize,
        (of_each, sound): (u32, u32),
        [given, proposed]: [&Tried<'_>; 2],
        seed: u64,
        stop: &AtomicBool,
        told: &mut dyn FnMut(usize, usize),
    ) -> Option<Proof> {
        let cases = Case::drawn(kept, kinds, (of_each, sound), seed);
        let both = |i: usize| [given, proposed].map(|plans| cases[i].is_held_by(plans));
        let done = on_all_processors(cases.len(), stop, both, |n| told(n, cases.len()))?;
        let none = |kept: &Kept| Proven {
            kept: *kept,
            given: Share::default(),
            proposed: Share::default(),
        };
        let mut proof = Proof { faults: kept.iter().map(none).collect(), sound: Share::default() };
        let (faulty, of_sound) = done.split_at(kept.len() * of_each as usize);
        for (proven, runs) in proof.faults.iter_mut().zip(faulty.chunks(of_each as usize)) {
            for &[by_given, by_proposed] in runs {
                proven.given.count(by_given);
                if by_given {
                    proven.proposed.count(by_proposed);
                }
            }
        }
        for &[_, by_proposed] in of_sound.iter().filter(|[by_given, _]| *by_given) {
            proof.sound.count(by_proposed);
        }
        Some(proof)
    }

    /// What is lost.
    pub fn lost(&self) -> impl Iterator<Item = &Proven> {
        self.faults.iter().filter(|proven| proven.is_lost())
    }

    /// Whether nothing is lost, and no sound module more is rejected or left open than may be by chance.
    pub fn holds(&self) -> bool {
        self.lost().next().is_none() && self.sound.interval().1 >= NEARLY_ALL
    }

    /// Of all that the given script finds: how much the proposed one does.
    pub fn all(&self) -> Share {
        self.faults.iter().fold(Share::default(), |sum, one| Share {
            of: sum.of + one.proposed.of,
            runs: sum.runs + one.proposed.runs,
        })
    }
}
