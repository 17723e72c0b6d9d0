//! Both scripts on the same fresh benches.

use super::cases::Kept;
use super::tried::Tried;
use crate::finds::share::Share;
use crate::finds::spread::on_all_processors;
use crate::finds::threshold::NEARLY_ALL;
use crate::finds::trial_run::CameOut;
use core::sync::atomic::AtomicBool;
use rand::{Rng, SeedableRng};
use rand_xoshiro::SplitMix64;

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
    /// So many sound modules were tried.
    pub sound_tried: u32,
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
        let mut seeds = SplitMix64::seed_from_u64(seed);
        // Kind, fault with severity, and which of the faults it is.
        let mut all = Vec::new();
        for (at, kept) in kept.iter().enumerate() {
            let fault = Some((kept.fault, kept.severity));
            all.extend((0..of_each).map(|_| (kept.kind, fault, Some(at), seeds.next_u64())));
        }
        for kind in 0..kinds {
            all.extend((0..sound).map(|_| (kind, None, None, seeds.next_u64())));
        }
        let both = |i: usize| {
            let (kind, fault, _, seed) = all[i];
            [given, proposed].map(|plans| plans.run(kind, fault, seed))
        };
        let done = on_all_processors(all.len(), stop, both, |n| told(n, all.len()))?;
        let none = |kept: &Kept| Proven {
            kept: *kept,
            given: Share::default(),
            proposed: Share::default(),
        };
        let mut proof = Proof {
            faults: kept.iter().map(none).collect(),
            sound: Share::default(),
            sound_tried: kinds as u32 * sound,
        };
        for ((_, _, at, _), [by_given, by_proposed]) in all.iter().zip(&done) {
            match at {
                Some(at) => {
                    let proven = &mut proof.faults[*at];
                    proven.given.count(by_given.is_found());
                    if by_given.is_found() {
                        proven.proposed.count(by_proposed.is_found());
                    }
                }
                None if by_given.came_out == CameOut::Passed => {
                    proof.sound.count(by_proposed.came_out == CameOut::Passed);
                }
                None => {}
            }
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
