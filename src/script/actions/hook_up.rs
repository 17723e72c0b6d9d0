//! Resistances with everything off. In a script it is one of the things to `measure`.

use super::HookUp;
use super::foreseen::Bench;
use super::plan::{Plan, Step};
use super::planned::Planned;
use crate::script::jig_abilities::{JigAbilities, measures};
use crate::script::timing::Commanded;
use core::time::Duration;

impl Planned for HookUp {
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        Duration::from_millis(200)
    }

    fn check(&self, bench: &mut Bench<'_>) {
        if bench.feed_on {
            bench.error("the hook-up is measured with the feed off, but the feed is on");
        }
    }

    fn beyond(&self, _: &Plan, jig: &JigAbilities) -> Vec<String> {
        measures(jig.feed_resistance, "the resistance between the feed wires")
    }

    fn words(&self) -> String {
        "is anything joined that must be apart? (feed wires, commons)".to_owned()
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        4
    }
}
