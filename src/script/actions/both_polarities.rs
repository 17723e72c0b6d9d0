//! `try`: does the module answer, the feed as it is and the other way round?

use super::expansion::{Expansion, Written};
use super::feed;
use super::foreseen::Bench;
use super::plan::{Plan, Step};
use super::planned::Planned;
use super::{Action, Answer, BothPolarities, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::script::jig_abilities::JigAbilities;
use crate::script::terms::{By, LoadChoice, Polarity};
use crate::script::timing::{Commanded, QUEUED, SWITCHING, longest_move};
use core::time::Duration;

impl Written for BothPolarities {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        table.need("try", "\"both polarities\"")?.choice(&[("both polarities", BothPolarities)])
    }

    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        if !plan.sheet.try_inverted {
            return Ok(());
        }
        let first = plan.polarity;
        for polarity in [first, first.other()] {
            let name = match polarity {
                Polarity::Normal => "answer",
                Polarity::Inverted => "answer inverted",
            };
            plan.push(step, name, Action::Answer(Answer { polarity }))?;
            plan.lengthen(plan.switching_on());
            feed::off(step, plan)?;
            feed::on(step, plan, polarity.other(), false)?;
        }
        Ok(())
    }
}

impl Planned for Answer {
    /// A look at all outputs before, and one after a sound output has moved.
    fn slot(&self, commanded: &Commanded<'_>) -> Duration {
        let sheet = commanded.sheet;
        let moved = longest_move(sheet, By::Command).max(longest_move(sheet, By::Contact));
        2 * SWITCHING + commanded.sending_either(1) + QUEUED + moved + SWITCHING
    }

    fn check(&self, bench: &mut Bench<'_>) {
        bench.need_feed();
        if bench.loads == LoadChoice::None {
            bench.error("no loads are connected, so nobody sees whether the module answers");
        }
        bench.positions[0] = None;
        bench.load_current_flows(bench.lasts());
    }

    fn beyond(&self, _: &Plan, _: &JigAbilities) -> Vec<String> {
        Vec::new()
    }

    fn words(&self) -> String {
        "does it answer?".to_owned()
    }

    fn line_in_words(&self, steps: &[Step]) -> Option<String> {
        let tried = |s: &Step| matches!(s.action, Action::Answer(_));
        let turned = |s: &Step| matches!(s.action, Action::FeedOff(_) | Action::FeedOn(_));
        let both = steps.iter().filter(|s| tried(s)).count() == 2
            && steps.iter().all(|s| tried(s) || turned(s));
        both.then(|| "does it answer, the feed one way round and then the other?".to_owned())
    }

    fn readings(&self) -> usize {
        4
    }
}
