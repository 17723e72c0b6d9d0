//! A shorter script, from the given one to the proof.

use super::alone::{Alone, of_each_step};
use super::cases::{Case, Kept, severities};
use super::draft::Draft;
use super::proof::Proof;
use super::search::Search;
use super::tried::{Kinds, Tried, warnings};
use crate::finds::depth::Depth;
use crate::finds::survey::survey;
use crate::quantity::located::Located;
use crate::script::steps::Script;
use crate::simulated_bench::faults::Fault;
use core::sync::atomic::AtomicBool;
use core::time::Duration;
use rand::{Rng, SeedableRng};
use rand_xoshiro::SplitMix64;

/// How deep the given script is looked at: where its thresholds lie need not be known as well as when they
/// are what is asked for.
const LOOKED: f64 = 0.5;
/// So many benches of each fault at each severity, and so many sound ones, that must stay as they are …
const SEARCHED: (u32, u32) = (2, 20);
/// … and so many fresh ones for the proof.
const PROVEN: (u32, u32) = (12, 100);
/// So many sound benches tell whether a step keeps sound modules from being rejected.
const SOUND_ALONE: usize = 4;
/// So often a search is begun anew with what its proof has shown to be lost.
const ROUNDS: u32 = 3;

/// What is asked for.
#[derive(Clone, Debug)]
pub struct Asked<'a> {
    /// The script.
    pub script: &'a Script,
    /// What it is for.
    pub kinds: &'a Kinds,
    /// The faults that must not be lost; none: all that the script finds.
    pub keep: &'a [&'static Fault],
    /// What everything is drawn from.
    pub seed: u64,
}

/// A shorter script.
#[derive(Clone, Debug)]
pub struct Proposal {
    /// It.
    pub draft: Draft,
    /// What each of its steps is for.
    pub alone: Vec<Alone>,
    /// What the given one takes for each kind, and what it takes.
    pub takes: Vec<[Duration; 2]>,
    /// Both on fresh benches.
    pub proof: Proof,
    /// So many changes were tried.
    pub tried: usize,
}

/// Why there is none.
#[derive(Debug, thiserror::Error)]
pub enum NoProposal {
    /// It was stopped.
    #[error("stopped: nothing is proposed")]
    Stopped,
    /// The script itself is wrong.
    #[error(transparent)]
    Wrong(#[from] Located),
    /// It cannot be carried out.
    #[error(
        "{script} cannot be carried out on every kind that is asked for; `script check` says why"
    )]
    NotCarriedOut {
        /// Its name.
        script: String,
    },
    /// It is written in a way that cannot be taken to pieces.
    #[error("{script} cannot be rewritten: write each of its steps as {{ … }} in the list `steps`")]
    NotInPieces {
        /// Its name.
        script: String,
    },
    /// What is to be kept is not there.
    #[error(
        "{script} does not find {fault} on any kind that is asked for: leave --keep {fault} out"
    )]
    NotFound {
        /// Its name.
        script: String,
        /// The fault.
        fault: &'static str,
    },
}

/// What is done just now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// The given script is tried.
    Given,
    /// Changes are tried.
    Changes,
    /// Both are tried on fresh benches.
    Proof,
    /// Each step is left out once.
    Alone,
}

/// Looks for a shorter script; `told` is what is done, how much of it, and of how much as far as is known.
///
/// # Errors
/// Why there is none.
pub fn propose(
    asked: &Asked<'_>,
    faults: &[&'static Fault],
    stop: &AtomicBool,
    told: &mut dyn FnMut(Stage, usize, usize),
) -> Result<Proposal, NoProposal> {
    let Asked { script, kinds, .. } = asked;
    let name = || script.name.clone();
    let given = kinds.plans(script)?;
    let allowed = warnings(&given).ok_or_else(|| NoProposal::NotCarriedOut { script: name() })?;
    let draft = Draft::of(script).ok_or_else(|| NoProposal::NotInPieces { script: name() })?;
    let mut seeds = SplitMix64::seed_from_u64(asked.seed);

    let mut kept: Vec<Kept> = Vec::new();
    let wanted = if asked.keep.is_empty() { faults } else { asked.keep };
    for (kind, plan) in given.iter().enumerate() {
        let depth = Depth::of(plan, LOOKED);
        let mut one = |n: usize, all: usize| told(Stage::Given, n, all);
        let found = survey(plan, wanted, depth, seeds.next_u64(), stop, &mut one);
        for searched in found.ok_or(NoProposal::Stopped)?.searched {
            let fault = searched.fault;
            let severities = severities(&searched).into_iter();
            kept.extend(severities.map(|severity| Kept { kind, fault, severity }));
        }
    }
    if let Some(fault) = asked.keep.iter().find(|f| !kept.iter().any(|k| k.fault == **f)) {
        return Err(NoProposal::NotFound { script: name(), fault: fault.name });
    }

    let tried_given = Tried::new(&given);
    let count = given.len();
    let mut one = |n: usize, all: usize| told(Stage::Given, n, all);
    let drawn = seeds.next_u64();
    let cases = Case::that_are_found(&kept, count, SEARCHED, &tried_given, drawn, stop, &mut one);
    let mut cases = cases.ok_or(NoProposal::Stopped)?;
    let mut tried = 0;
    let mut round = 1;
    let (search, proof) = loop {
        let mut search = Search::new(kinds, draft.clone(), given.clone(), allowed);
        let mut one = |n: usize, all: usize| told(Stage::Changes, n, all);
        search.shorten(&mut cases, stop, &mut one).ok_or(NoProposal::Stopped)?;
        tried += search.tried;
        let proof = {
            let proposed = Tried::new(&search.plans);
            let both = [&tried_given, &proposed];
            let mut one = |n: usize, all: usize| told(Stage::Proof, n, all);
            Proof::of(&kept, count, PROVEN, both, seeds.next_u64(), stop, &mut one)
        };
        let proof = proof.ok_or(NoProposal::Stopped)?;
        if proof.holds() || round == ROUNDS {
            break (search, proof);
        }
        // Once more, with more benches of what was lost.
        let lost: Vec<Kept> = proof.lost().map(|proven| proven.kept).collect();
        let more = (4 * SEARCHED.0, SEARCHED.1);
        let drawn = seeds.next_u64();
        let mut one = |n: usize, all: usize| told(Stage::Given, n, all);
        let more = Case::that_are_found(&lost, count, more, &tried_given, drawn, stop, &mut one);
        cases.splice(0..0, more.ok_or(NoProposal::Stopped)?);
        round += 1;
    };
    let mut one = |n: usize, all: usize| told(Stage::Alone, n, all);
    // A bench each is enough to tell what a step is for.
    let mut seen: Vec<Case> = Vec::new();
    cases.retain(|case| {
        let same = seen.iter().filter(|s| (s.kind, s.fault) == (case.kind, case.fault)).count();
        let is_new = same < if case.fault.is_some() { 1 } else { SOUND_ALONE };
        seen.extend(is_new.then_some(*case));
        is_new
    });
    let alone = of_each_step(&search.draft, kinds, allowed, &cases, stop, &mut one);
    let takes = given.iter().zip(&search.plans).map(|(a, b)| [a.duration(), b.duration()]);
    Ok(Proposal {
        takes: takes.collect(),
        alone: alone.ok_or(NoProposal::Stopped)?,
        draft: search.draft,
        proof,
        tried,
    })
}
