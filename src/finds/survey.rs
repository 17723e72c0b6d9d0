//! All that a script finds: sound modules, and every fault on its way from mild to worst.

use super::depth::Depth;
use super::severities::Searched;
use super::share::Share;
use super::spread::on_all_processors;
use super::steps::{Line, lines};
use super::trial_run::{CameOut, TrialRun, TriedPlan};
use crate::procedure::simulated_set_up::{kind, load_models};
use crate::script::plan::Plan;
use crate::simulated_bench::faults::Fault;
use core::sync::atomic::AtomicBool;
use rand::{Rng, SeedableRng};
use rand_xoshiro::SplitMix64;

/// What came of sound modules.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sound {
    /// Runs that fail.
    pub failed: Share,
    /// Runs that leave something open.
    pub open: Share,
    /// Runs that end in bench trouble.
    pub trouble: Share,
}

/// All of it.
#[derive(Clone, Debug)]
pub struct Survey {
    /// Sound modules.
    pub sound: Sound,
    /// Every fault that can sit on this bench, on each of its courses.
    pub searched: Vec<Searched>,
    /// Faults that have no place here.
    pub elsewhere: Vec<&'static Fault>,
    /// The lines of the script.
    pub lines: Vec<Line>,
    /// How many runs it took.
    pub runs: usize,
}

/// What is run next: a fault on one of its courses at a severity, so often.
struct Job {
    searched: usize,
    severity: f64,
    runs: u32,
}

/// Tries a plan, drawn from a number; `told` is how many runs are done, and of how many as far as is known.
/// `None` if it was stopped.
pub fn survey(
    plan: &Plan,
    faults: &[&'static Fault],
    depth: Depth,
    seed: u64,
    stop: &AtomicBool,
    told: &mut dyn FnMut(usize, usize),
) -> Option<Survey> {
    let tried = TriedPlan::new(plan);
    let (model, loads) = (kind(&plan.module), load_models(plan.loads.as_ref()));
    let has_place =
        |fault: &&&'static Fault| !fault.places(&model, &loads, fault.default).is_empty();
    let elsewhere = faults.iter().filter(|fault| !has_place(fault)).copied().collect();
    let mut searched: Vec<Searched> = faults
        .iter()
        .filter(has_place)
        .flat_map(|fault| fault.courses().into_iter().map(|course| Searched::new(fault, course)))
        .collect();

    let mut runs = 0;
    let mut seeds = SplitMix64::seed_from_u64(seed);
    let sound = {
        let numbers: Vec<u64> = (0..depth.sound).map(|_| seeds.next_u64()).collect();
        let all = numbers.len();
        let done = on_all_processors(all, stop, |i| tried.run(None, numbers[i]), |n| told(n, all))?;
        runs += all;
        sound(&done)
    };
    for look in 0..=depth.looks {
        let jobs: Vec<Job> = searched
            .iter()
            .enumerate()
            .flat_map(|(at, one)| {
                let (severities, runs) = match look {
                    0 => (one.first(), depth.first),
                    _ => (one.close(), depth.close),
                };
                severities.into_iter().map(move |severity| Job { searched: at, severity, runs })
            })
            .collect();
        let singles: Vec<(usize, u64)> = jobs
            .iter()
            .enumerate()
            .flat_map(|(at, job)| (0..job.runs).map(move |_| at))
            .map(|job| (job, seeds.next_u64()))
            .collect();
        let one = |i: usize| {
            let (job, seed) = singles[i];
            let Job { searched: at, severity, .. } = jobs[job];
            tried.run(Some((searched[at].fault, severity)), seed)
        };
        // Of the looks to come nobody knows how many runs they take.
        let all = runs + singles.len();
        let done = on_all_processors(singles.len(), stop, one, |n| told(runs + n, all))?;
        runs += singles.len();
        let mut done = done.into_iter();
        for job in &jobs {
            let of_it = done.by_ref().take(job.runs as usize).collect();
            searched[job.searched].add(job.severity, of_it);
        }
    }
    let lines = lines(plan, &searched);
    Some(Survey { sound, searched, elsewhere, lines, runs })
}

fn sound(runs: &[TrialRun]) -> Sound {
    let mut sound = Sound::default();
    for run in runs {
        sound.failed.count(run.came_out == CameOut::Failed);
        sound.open.count(run.came_out == CameOut::Open);
        sound.trouble.count(run.came_out == CameOut::Trouble);
    }
    sound
}
