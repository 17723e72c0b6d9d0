//! `ask`: the operator does something by hand.

use super::expansion::{Expansion, Written};
use super::foreseen::Bench;
use super::keys::ON_OFF;
use super::plan::{Plan, Step};
use super::planned::Planned;
use super::{Action, Ask, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::script::address::switches_in_words;
use crate::script::jig_abilities::JigAbilities;
use crate::script::terms::HandTask;
use crate::script::timing::Commanded;
use core::time::Duration;

impl Written for Ask {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        #[derive(Clone, Copy)]
        enum Task {
            Prepare,
            Slider,
            Other,
        }
        let tasks = [("prepare", Task::Prepare), ("slider", Task::Slider), ("other", Task::Other)];
        Ok(match table.need("ask", "what to ask for")?.choice(&tasks)? {
            Task::Prepare => {
                let auxiliary = table.take("auxiliary").map(|v| v.choice(&ON_OFF)).transpose()?;
                Ask::Prepare { auxiliary: auxiliary.unwrap_or(false) }
            }
            Task::Slider => {
                let to = table.need("auxiliary", "where the slider goes, \"on\" or \"off\"")?;
                Ask::Slider(to.choice(&ON_OFF)?)
            }
            Task::Other => Ask::ByHand(table.need("say", "what to do, in words")?.line_of_text()?),
        })
    }

    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        let has_slider = plan.sheet.auxiliary_current.is_some();
        let (name, task) = match self {
            Ask::Prepare { auxiliary } => {
                plan.bank = plan.first;
                let auxiliary = has_slider.then_some(*auxiliary);
                ("prepare", HandTask::Prepare { bank: Some(plan.bank), auxiliary })
            }
            Ask::Slider(_) if !has_slider => return Ok(()),
            Ask::Slider(true) => ("slider on", HandTask::Auxiliary(true)),
            Ask::Slider(false) => ("slider off", HandTask::Auxiliary(false)),
            Ask::ByHand(text) => ("by hand", HandTask::Other(text.clone())),
        };
        plan.push(step, name, Action::Ask(task))
    }
}

impl Planned for HandTask {
    /// What people do takes no time of the script's.
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        Duration::ZERO
    }

    fn check(&self, bench: &mut Bench<'_>) {
        if matches!(self, HandTask::Prepare { .. } | HandTask::Switches(_)) && bench.feed_on {
            bench.error(
                "address switches are set with the power off: turn the feed off before this step",
            );
        }
        match self {
            HandTask::Prepare { auxiliary, .. } => {
                bench.prepared = true;
                bench.auxiliary = auxiliary.unwrap_or(false);
                bench.positions = [None; 4];
            }
            HandTask::Auxiliary(on) => bench.auxiliary = *on,
            HandTask::Switches(_) | HandTask::Other(_) => {}
        }
    }

    fn beyond(&self, _: &Plan, _: &JigAbilities) -> Vec<String> {
        Vec::new()
    }

    fn words(&self) -> String {
        match self {
            HandTask::Prepare { bank, auxiliary } => {
                let slider = match auxiliary {
                    None => "",
                    Some(true) => ", slider of the auxiliary supply on",
                    Some(false) => ", slider of the auxiliary supply off",
                };
                let switches = match bank {
                    Some(bank) => switches_in_words(bank.switches, bank.count),
                    None => "as they are".to_owned(),
                };
                format!("by hand, power off: seat the module, switches {switches}{slider}")
            }
            HandTask::Switches(bank) => {
                let switches = switches_in_words(bank.switches, bank.count);
                format!("by hand, power off: switches {switches}, for {bank}")
            }
            HandTask::Auxiliary(true) => "by hand: slider of the auxiliary supply on".to_owned(),
            HandTask::Auxiliary(false) => "by hand: slider of the auxiliary supply off".to_owned(),
            HandTask::Other(text) => format!("by hand: {text}"),
        }
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        1
    }
}
