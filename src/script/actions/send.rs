//! `send`: outputs go to positions, nothing judged.

use super::expansion::{Expansion, Written};
use super::foreseen::Bench;
use super::keys::{outputs, positions};
use super::plan::{Plan, Step};
use super::planned::Planned;
use super::{Action, Send, SendOutputs, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::quantity::unit::duration;
use crate::script::jig_abilities::JigAbilities;
use crate::script::terms::By;
use crate::script::timing::{Commanded, longest_move};
use core::time::Duration;

impl Written for SendOutputs {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let positions = positions(table.need("send", "\"a\" or \"b\", or a list of them")?)?;
        Ok(SendOutputs { positions, outputs: outputs(table)? })
    }

    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        let outputs = plan.outputs(step, &self.outputs)?;
        for (output, to) in outputs.into_iter().zip(self.positions.iter().cycle().copied()) {
            plan.push(step, &format!("send {output}{to}"), Action::Send(Send { output, to }))?;
            plan.lengthen(plan.switching_on());
        }
        Ok(())
    }
}

impl Planned for Send {
    fn slot(&self, commanded: &Commanded<'_>) -> Duration {
        let sheet = commanded.sheet;
        let moved = longest_move(sheet, By::Command);
        commanded.sending(self.output, self.to) + moved + duration(sheet.rest)
    }

    fn check(&self, bench: &mut Bench<'_>) {
        bench.need_feed();
        bench.positions[usize::from(self.output) - 1] = Some(self.to);
    }

    fn beyond(&self, _: &Plan, _: &JigAbilities) -> Vec<String> {
        Vec::new()
    }

    fn words(&self) -> String {
        format!("send output {} to {}, not judged", self.output, self.to)
    }

    fn line_in_words(&self, steps: &[Step]) -> Option<String> {
        let sent = steps.iter().map(|s| match &s.action {
            Action::Send(Send { output, to }) => Some(format!("{output}{to}")),
            _ => None,
        });
        let sent = sent.collect::<Option<Vec<_>>>()?;
        Some(format!("send outputs to {}, not judged", sent.join(" ")))
    }

    fn readings(&self) -> usize {
        4
    }
}
