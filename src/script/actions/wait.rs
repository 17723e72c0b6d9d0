//! `wait`: let time pass.

use super::expansion::{Expansion, Written};
use super::foreseen::Bench;
use super::plan::{Plan, Step};
use super::planned::Planned;
use super::{Action, Wait, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::quantity::unit::duration;
use crate::script::jig_abilities::JigAbilities;
use crate::script::timing::Commanded;
use core::time::Duration;
use uom::si::f64::Time;

impl Written for Wait {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let time: Time =
            table.need("wait", "a time such as \"500 ms\"")?.quantity_within("1 ms", "3600 s")?;
        Ok(Wait(duration(time)))
    }

    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        plan.push(step, "wait", Action::Wait(*self))
    }

    fn shorter(&self) -> Vec<String> {
        let half_ms = self.0.as_millis() / 2;
        (half_ms > 0).then(|| format!("{{ wait = \"{half_ms} ms\" }}")).into_iter().collect()
    }
}

impl Planned for Wait {
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        self.0
    }

    fn check(&self, _: &mut Bench<'_>) {}

    fn beyond(&self, _: &Plan, _: &JigAbilities) -> Vec<String> {
        Vec::new()
    }

    fn words(&self) -> String {
        "wait".to_owned()
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        1
    }
}
