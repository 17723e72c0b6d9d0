//! What must be known of every planned action besides its data.

use super::foreseen::Bench;
use super::plan::{Plan, Step};
use super::{Action, on_action};
use crate::script::jig_abilities::JigAbilities;
use crate::script::timing::Commanded;
use core::time::Duration;

/// What every planned action says of itself.
pub(in crate::script) trait Planned {
    /// Its slot: everything that a run does within it, the transfer of its samples included, fits
    /// in, so that a run takes as long as its script says.
    fn slot(&self, commanded: &Commanded<'_>) -> Duration;

    /// Finds what is wrong with it on the bench as it stands, and does to the bench what it does.
    fn check(&self, bench: &mut Bench<'_>);

    /// What of it a jig cannot do, in sentences.
    fn beyond(&self, plan: &Plan, jig: &JigAbilities) -> Vec<String>;

    /// What it does, in words.
    fn words(&self) -> String;

    /// What the steps of a line of the script do, told together, where it is the first of them and
    /// they belong together.
    fn line_in_words(&self, steps: &[Step]) -> Option<String>;

    /// How many readings it gives at most: for so many its report has space on the disk.
    fn readings(&self) -> usize;
}

/// An action, to be asked.
pub(in crate::script) fn planned(action: &Action) -> &dyn Planned {
    on_action!(action, one => one)
}

impl Action {
    /// How many readings it gives at most: for so many its report has space on the disk.
    pub fn readings(&self) -> usize {
        planned(self).readings()
    }
}
