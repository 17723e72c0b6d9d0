//! The changes of a script that lose nothing: the one that saves most is tried first, and stands if every
//! case is still found; until none is left.

use super::cases::{Case, first_lost};
use super::change::Change;
use super::draft::Draft;
use super::tried::{Kinds, Tried, duration};
use crate::script::plan::{Action, Plan, Step};
use core::sync::atomic::AtomicBool;
use core::time::Duration;
use std::collections::HashSet;

/// What saves less, for each kind of module, is not worth a change.
const WORTH_WHILE: Duration = Duration::from_millis(90);
/// So many places are tried for a step that can be moved.
const PLACES: usize = 2;

/// A script on its way to a shorter one.
#[derive(Clone, Debug)]
pub struct Search<'k> {
    kinds: &'k Kinds,
    /// So many warnings the given script has.
    warnings: usize,
    /// The script as it stands.
    pub draft: Draft,
    /// Its plans.
    pub plans: Vec<Plan>,
    /// Changes that were tried in vain.
    in_vain: HashSet<String>,
    /// So many changes were tried.
    pub tried: usize,
}

/// A change that saves something.
struct Saving {
    by: Duration,
    change: Change,
    draft: Draft,
    plans: Vec<Plan>,
}

impl<'k> Search<'k> {
    /// From a script, with its plans.
    pub fn new(kinds: &'k Kinds, draft: Draft, plans: Vec<Plan>, warnings: usize) -> Self {
        // Made anew from the draft, so that their lines are its own.
        let plans = kinds.sound_plans(&draft, warnings).unwrap_or(plans);
        Search { kinds, warnings, draft, plans, in_vain: HashSet::new(), tried: 0 }
    }

    /// Changes it until nothing more can be saved without losing one of the cases. Those that are lost most
    /// often come to stand first among them. `None` if it was stopped.
    pub fn shorten(
        &mut self,
        cases: &mut Vec<Case>,
        stop: &AtomicBool,
        told: &mut dyn FnMut(usize, usize),
    ) -> Option<()> {
        loop {
            let savings = self.savings();
            let mut found = None;
            for (at, saving) in savings.iter().enumerate() {
                self.tried += 1;
                told(self.tried, self.tried + savings.len() - at - 1);
                let all: Vec<&Case> = cases.iter().collect();
                match first_lost(&all, &Tried::new(&saving.plans), stop)? {
                    Some(lost) => {
                        let case = cases.remove(lost);
                        cases.insert(0, case);
                        self.in_vain.insert(saving.change.named(&self.draft));
                    }
                    None => {
                        found = Some(at);
                        break;
                    }
                }
            }
            let Some(at) = found else { return Some(()) };
            let Saving { draft, plans, .. } = savings.into_iter().nth(at)?;
            (self.draft, self.plans) = (draft, plans);
        }
    }

    /// All changes that save something and were not tried in vain, the largest saving first; and at last steps
    /// that take time beside others, or a hand, and may not be worth it.
    fn savings(&self) -> Vec<Saving> {
        let Ok(script) = self.draft.script() else { return Vec::new() };
        let now = duration(&self.plans);
        let least = WORTH_WHILE * self.plans.len() as u32;
        let changes = Change::all(&self.draft, &script);
        // Which steps can be left out alone is known from the first changes, when two together come.
        let mut alone = HashSet::new();
        let mut savings = Vec::new();
        for change in changes {
            let is_pair_of_singles = matches!(
                change,
                Change::LeaveOutBoth(one, other) if alone.contains(&one) && alone.contains(&other)
            );
            if is_pair_of_singles {
                continue;
            }
            let draft = change.made(&self.draft);
            let Some(plans) = self.kinds.sound_plans(&draft, self.warnings) else { continue };
            let Some(by) = now.checked_sub(duration(&plans)) else { continue };
            let is_idle = match change {
                Change::LeaveOut(at) => {
                    alone.insert(at);
                    self.costs(script.steps[at].line) >= least
                        || self.is_by_hand(script.steps[at].line)
                }
                _ => false,
            };
            if (by >= least || is_idle) && !self.in_vain.contains(&change.named(&self.draft)) {
                savings.push(Saving { by, change, draft, plans });
            }
        }
        savings.sort_by_key(|saving| core::cmp::Reverse(saving.by));
        let mut moved: Vec<usize> = vec![0; self.draft.steps.len()];
        savings.retain(|saving| {
            let Change::Move(from, _) = saving.change else { return true };
            moved[from] += 1;
            moved[from] <= PLACES
        });
        savings
    }

    /// What a line takes on all kinds together.
    fn costs(&self, line: usize) -> Duration {
        self.steps_of(line).map(|step| step.duration).sum()
    }

    fn is_by_hand(&self, line: usize) -> bool {
        self.steps_of(line).any(|step| matches!(step.action, Action::Ask(_)))
    }

    fn steps_of(&self, line: usize) -> impl Iterator<Item = &Step> {
        self.plans.iter().flat_map(|plan| &plan.steps).filter(move |step| step.line == line)
    }
}
