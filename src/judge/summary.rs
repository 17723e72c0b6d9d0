//! One verdict and one blame out of many readings.

use super::reading::{Blame, Reading, Verdict};
use super::roots::{is_first_of_all, roots};

/// Counts readings as they come.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Summary {
    /// How many.
    pub readings: usize,
    /// How many fail.
    pub failed: usize,
    /// How many are indeterminate.
    pub indeterminate: usize,
    /// Those that do not pass, as far as they are known whole.
    objections: Vec<Reading>,
    blamed_fail: [usize; BLAMES.len()],
    blamed_indeterminate: [usize; BLAMES.len()],
}

/// In the order that settles a tie: what is put right most easily comes first.
const BLAMES: [Blame; 5] = [Blame::Setting, Blame::Lead, Blame::Jig, Blame::Load, Blame::Module];

impl Summary {
    /// Counts one more reading.
    pub fn add(&mut self, reading: &Reading) {
        self.count(reading.verdict, reading.blame);
        if reading.verdict != Verdict::Pass {
            self.objections.push(reading.clone());
        }
    }

    /// Counts one more reading of which only verdict and blame are known.
    pub fn count(&mut self, verdict: Verdict, blame: Option<Blame>) {
        self.readings += 1;
        let blamed = match verdict {
            Verdict::Pass => return,
            Verdict::Fail => {
                self.failed += 1;
                &mut self.blamed_fail
            }
            Verdict::Indeterminate => {
                self.indeterminate += 1;
                &mut self.blamed_indeterminate
            }
        };
        if let Some(at) = blame.and_then(|b| BLAMES.iter().position(|&x| x == b)) {
            blamed[at] += 1;
        }
    }

    /// `fail` if a reading fails, else `indeterminate` if one is or the run was cut short or
    /// nothing was read at all, else `pass`.
    pub fn verdict(&self, complete: bool) -> Verdict {
        if self.failed > 0 {
            Verdict::Fail
        } else if self.indeterminate > 0 || !complete || self.readings == 0 {
            Verdict::Indeterminate
        } else {
            Verdict::Pass
        }
    }

    /// Whom a reading blames that all others may follow from, of the supplies, the feed or the way of
    /// commands to the module, where it can tell; else whom most of the failed readings blame (of the indeterminate ones
    /// where none failed). `unsure` where none of them can tell.
    pub fn blame(&self) -> Option<Blame> {
        let first = roots(&self.objections)
            .first()
            .filter(|root| is_first_of_all(root))
            .map(|r| r.worst.blame);
        if let Some(blame @ Some(_)) = first.filter(|&blame| blame != Some(Blame::Unsure)) {
            return blame;
        }
        let counts = if self.failed > 0 {
            &self.blamed_fail
        } else if self.indeterminate > 0 {
            &self.blamed_indeterminate
        } else {
            return None;
        };
        let most = *counts.iter().max()?;
        if most == 0 {
            return Some(Blame::Unsure);
        }
        counts.iter().position(|&c| c == most).map(|at| BLAMES[at])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::reading::Quantity;

    fn reading(verdict: Verdict, blame: Option<Blame>) -> Reading {
        Reading { blame, ..Reading::bare("quay lamps", Quantity::LoadCurrent, verdict) }
    }

    fn of(readings: &[(Verdict, Option<Blame>)]) -> Summary {
        let mut summary = Summary::default();
        for &(verdict, blame) in readings {
            summary.add(&reading(verdict, blame));
        }
        summary
    }

    #[test]
    fn the_worst_reading_decides() {
        use Verdict::{Fail, Indeterminate, Pass};
        assert_eq!(of(&[(Pass, None)]).verdict(true), Pass);
        assert_eq!(of(&[(Pass, None), (Indeterminate, None)]).verdict(true), Indeterminate);
        assert_eq!(of(&[(Fail, None), (Indeterminate, None)]).verdict(true), Fail);
    }

    #[test]
    fn a_run_cut_short_is_at_best_indeterminate() {
        assert_eq!(of(&[(Verdict::Pass, None)]).verdict(false), Verdict::Indeterminate);
        assert_eq!(of(&[(Verdict::Fail, None)]).verdict(false), Verdict::Fail);
        assert_eq!(of(&[]).verdict(true), Verdict::Indeterminate);
    }

    #[test]
    fn the_most_frequent_blame_wins_and_unsure_only_when_alone() {
        use Verdict::{Fail, Indeterminate};
        let module = (Fail, Some(Blame::Module));
        let setting = (Fail, Some(Blame::Setting));
        let unsure = (Fail, Some(Blame::Unsure));
        assert_eq!(
            of(&[module, module, setting, unsure, unsure, unsure]).blame(),
            Some(Blame::Module)
        );
        assert_eq!(of(&[module, setting]).blame(), Some(Blame::Setting));
        assert_eq!(of(&[unsure]).blame(), Some(Blame::Unsure));
        assert_eq!(of(&[(Indeterminate, Some(Blame::Jig))]).blame(), Some(Blame::Jig));
        assert_eq!(of(&[module, (Indeterminate, Some(Blame::Jig))]).blame(), Some(Blame::Module));
        assert_eq!(of(&[]).blame(), None);
    }
}
