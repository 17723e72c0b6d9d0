//! What became of sound modules, and how many of them chance lets fail.

use super::bench::{Held, Ran};
use core::fmt;
use musterbench::blame::Blame;
use musterbench::judge::reading::Verdict;
use musterbench::judge::risk::conformance;
use musterbench::judge::verdict::Window;
use musterbench::measure::uncertainty::Estimate;
use musterbench::measure::unseen::Unseen;
use musterbench::run::event::Ending;
use statrs::distribution::{DiscreteCDF, Poisson};

/// How sure the bound on a count is.
const SURE: f64 = 0.999;

/// What became of sound modules.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sound {
    pub tried: usize,
    pub open: usize,
    pub failed: usize,
    pub module_blamed: usize,
    pub trouble: usize,
    /// How many do not pass, and how many fail, if the uncertainties that the readings state are right.
    pub open_foreseen: f64,
    pub failed_foreseen: f64,
}

impl Sound {
    /// Adds a run.
    pub fn add(&mut self, ran: &Ran) {
        let outcome = &ran.outcome;
        self.tried += 1;
        self.trouble += usize::from(outcome.ending != Ending::Complete);
        self.failed += usize::from(outcome.verdict == Verdict::Fail);
        self.open += usize::from(outcome.verdict == Verdict::Indeterminate);
        let is_blamed = outcome.verdict != Verdict::Pass && outcome.blame == Some(Blame::Module);
        self.module_blamed += usize::from(is_blamed);
        // Of one reading or more: no more than the sum, and no more than one.
        let any = |chance: fn(&Held) -> f64| {
            1.0 - ran.held.iter().map(|h| 1.0 - chance(h)).product::<f64>()
        };
        self.open_foreseen += any(|held| beyond(held, -1.0));
        self.failed_foreseen += any(|held| beyond(held, 1.0));
    }

    /// Adds what became of others.
    pub fn merge(&mut self, other: &Sound) {
        self.tried += other.tried;
        self.open += other.open;
        self.failed += other.failed;
        self.module_blamed += other.module_blamed;
        self.trouble += other.trouble;
        self.open_foreseen += other.open_foreseen;
        self.failed_foreseen += other.failed_foreseen;
    }

    /// What is wrong: more modules that do not pass, or that fail, than chance allows; one that is blamed; a
    /// run that ended early.
    pub fn wrong(&self) -> Option<String> {
        let most = |foreseen: f64| {
            Poisson::new(foreseen.max(1e-12)).map_or(0, |p| p.inverse_cdf(SURE)) as usize
        };
        let is_wrong = self.open + self.failed > most(self.open_foreseen)
            || self.failed > most(self.failed_foreseen)
            || self.module_blamed + self.trouble > 0;
        is_wrong.then(|| format!("{self:?}"))
    }
}

impl fmt::Display for Sound {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "| {} | {}, {:.2} | {}, {:.4} | {} | {} |",
            self.tried,
            self.open,
            self.open_foreseen,
            self.failed,
            self.failed_foreseen,
            self.module_blamed,
            self.trouble
        )
    }
}

/// The chance that what is measured lies beyond a limit by so many times its expanded uncertainty, wherever
/// the truth is: the distribution that the reading states, about the truth.
fn beyond(Held { reading, truth }: &Held, by: f64) -> f64 {
    let (Some(expanded), Some(budget)) = (reading.uncertainty, reading.budget) else { return 0.0 };
    let limits = Window {
        lower: reading.lower_limit.map(|limit| limit - by * expanded),
        upper: reading.upper_limit.map(|limit| limit + by * expanded),
    };
    if limits == Window::OPEN {
        return 0.0;
    }
    // What stays unseen moves the reading to the other side of the truth.
    let Unseen { chance, reach } = budget.unseen();
    let budget = budget.with_unseen(Unseen { chance, reach: -reach });
    conformance(&Estimate::of(*truth, budget), &limits, None).outside
}
