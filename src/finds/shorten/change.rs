//! What can be changed of a script so that it takes less time.

use super::draft::Draft;
use crate::script::steps::Script;

/// A change of a draft.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Change {
    /// A step is left out.
    LeaveOut(usize),
    /// Two steps are left out, neither of which can be without the other, the first one first.
    LeaveOutBoth(usize, usize),
    /// A step is done in another way.
    Instead(usize, String),
    /// A step is done elsewhere: so much earlier or later that it stands at the second place.
    Move(usize, usize),
}

impl Change {
    /// All changes of a draft, whether they make sense or not.
    pub fn all(draft: &Draft, script: &Script) -> Vec<Change> {
        let count = draft.steps.len();
        let left_out = (0..count).map(Change::LeaveOut);
        let instead = script.steps.iter().enumerate().flat_map(|(at, step)| {
            step.verb.shorter().into_iter().map(move |text| Change::Instead(at, text))
        });
        let moved = (0..count).flat_map(|from| {
            (0..count).filter(move |&to| to != from).map(move |to| Change::Move(from, to))
        });
        let both = (0..count)
            .flat_map(|one| (one + 1..count).map(move |other| Change::LeaveOutBoth(one, other)));
        left_out.chain(both).chain(instead).chain(moved).collect()
    }

    /// A draft with this changed.
    pub fn made(&self, draft: &Draft) -> Draft {
        let mut draft = draft.clone();
        match self {
            Change::LeaveOut(at) => {
                draft.steps.remove(*at);
            }
            Change::LeaveOutBoth(one, other) => {
                draft.steps.remove(*other);
                draft.steps.remove(*one);
            }
            Change::Instead(at, step) => draft.steps[*at].clone_from(step),
            Change::Move(from, to) => {
                let step = draft.steps.remove(*from);
                draft.steps.insert(*to, step);
            }
        }
        draft
    }

    /// It in words that stay the same as long as the steps beside it do: what was tried once in vain need
    /// not be tried again on a script that is shorter still.
    pub fn named(&self, draft: &Draft) -> String {
        let which = |at: usize| {
            let same = draft.steps[..at].iter().filter(|step| **step == draft.steps[at]).count();
            format!("{} ({same})", draft.steps[at])
        };
        match self {
            Change::LeaveOut(at) => format!("without {}", which(*at)),
            Change::LeaveOutBoth(one, other) => {
                format!("without {} and {}", which(*one), which(*other))
            }
            Change::Instead(at, step) => format!("{step} for {}", which(*at)),
            Change::Move(from, to) => format!("{} at {}", which(*from), which(*to)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::shipped;

    /// Every way in which a shipped step is done shorter is a step again.
    #[test]
    fn what_is_done_shorter_is_still_a_step() {
        for shipped in shipped::SCRIPTS {
            let script = shipped::script(shipped.name).unwrap();
            let draft = Draft::of(&script).unwrap();
            let mut instead = 0;
            for change in Change::all(&draft, &script) {
                let Change::Instead(at, _) = change else { continue };
                let changed = change.made(&draft).script().unwrap();
                assert_ne!(changed.steps[at].verb, script.steps[at].verb, "{change:?}");
                instead += 1;
            }
            assert!(instead > 2, "{}", shipped.name);
        }
    }

    #[test]
    fn a_step_moves_and_goes() {
        let draft = Draft::of(&shipped::script("arrival").unwrap()).unwrap();
        let moved = Change::Move(1, 0).made(&draft);
        assert_eq!((&moved.steps[0], &moved.steps[1]), (&draft.steps[1], &draft.steps[0]));
        assert_eq!(Change::LeaveOut(0).made(&draft).steps, draft.steps[1..]);
    }

    #[test]
    fn two_that_need_each_other_go_together() {
        let script = shipped::script("arrival").unwrap();
        let draft = Draft::of(&script).unwrap();
        let lamp: Vec<usize> =
            (0..draft.steps.len()).filter(|&at| draft.steps[at].contains("lamp")).collect();
        let both = Change::LeaveOutBoth(lamp[0], lamp[1]);
        assert!(Change::all(&draft, &script).contains(&both));
        let without = both.made(&draft);
        assert_eq!(without.steps.len(), draft.steps.len() - 2);
        assert!(without.steps.iter().all(|step| !step.contains("lamp")));
    }
}
