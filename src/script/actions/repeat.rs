//! `repeat`: steps several times over.

use super::expansion::{Expansion, Written};
use super::read::steps;
use super::{Repeat, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;

impl Written for Repeat {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let times = table.need("repeat", "how often")?.integer(1..=1000)? as u32;
        let steps = steps(table.need("steps", "the steps to repeat")?)?;
        Ok(Repeat { times, steps })
    }

    fn expand(&self, _: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        (0..self.times).try_for_each(|_| plan.all(&self.steps))
    }
}
