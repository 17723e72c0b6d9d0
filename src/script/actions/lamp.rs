//! `lamp`: its rhythm is watched through the feed current, and judged.

use super::expansion::{Expansion, Written};
use super::foreseen::Bench;
use super::plan::{Plan, Step};
use super::planned::Planned;
use super::{Action, JudgeLamp, Lamp, Wait, WatchLamp, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::script::jig_abilities::{JigAbilities, measures};
use crate::script::timing::{self, Commanded, SWITCHING};
use core::time::Duration;

/// A rhythm is not judged from fewer blinks.
const BLINKS_MIN: u32 = 5;

impl Written for Lamp {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let words = [("watch", true), ("judge", false)];
        let watch = table.need("lamp", "\"watch\" or \"judge\"")?.choice(&words)?;
        if watch {
            return Ok(Lamp::Watch);
        }
        let blinks = table.take("blinks").map(|v| v.integer(1..=50)).transpose()?;
        Ok(Lamp::Judge { blinks: blinks.unwrap_or(0) as u32 })
    }

    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        match self {
            Lamp::Watch => plan.push(step, "watch lamp", Action::WatchLamp(WatchLamp)),
            Lamp::Judge { blinks } => {
                let need = timing::blinks(plan.sheet, *blinks);
                let more = need.checked_sub(watched(&plan.steps));
                if let Some(more) = more.filter(|t| !t.is_zero()) {
                    plan.push(step, "watch on", Action::Wait(Wait(more)))?;
                }
                plan.push(step, "judge lamp", Action::JudgeLamp(JudgeLamp))
            }
        }
    }

    fn shorter(&self) -> Vec<String> {
        let fewer = |blinks: &u32| format!("{{ lamp = \"judge\", blinks = {} }}", blinks - 1);
        match self {
            Lamp::Judge { blinks } if *blinks > BLINKS_MIN => vec![fewer(blinks)],
            _ => Vec::new(),
        }
    }
}

/// For how long the lamp has been watched; for ever when it is not, so that nothing waits.
fn watched(steps: &[Step]) -> Duration {
    let begun = steps.iter().rposition(|s| matches!(s.action, Action::WatchLamp(_)));
    begun.map_or(Duration::MAX, |i| steps[i + 1..].iter().map(|s| s.duration).sum())
}

impl Planned for WatchLamp {
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        SWITCHING
    }

    fn check(&self, bench: &mut Bench<'_>) {
        bench.need_feed();
        if bench.watched_since.is_some() {
            bench.error("the lamp is being watched already");
        }
        bench.watched_since = Some(bench.passed + bench.lasts());
    }

    fn beyond(&self, _: &Plan, jig: &JigAbilities) -> Vec<String> {
        measures(jig.feed_current, "the feed current")
    }

    fn words(&self) -> String {
        "begin to watch the lamp".to_owned()
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        4
    }
}

impl Planned for JudgeLamp {
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        2 * SWITCHING
    }

    fn check(&self, bench: &mut Bench<'_>) {
        let Some(since) = bench.watched_since.take() else {
            bench.error("the lamp was not watched: put { lamp = \"watch\" } before");
            return;
        };
        let watched = bench.passed - since;
        let (seconds, most) = (watched.as_secs_f64(), timing::WATCH_MAX);
        if watched > most {
            let most = most.as_secs();
            bench.warn(format!(
                "the lamp is watched for {seconds:.0} s, but the jig remembers only the first {most} s"
            ));
        }
        let need = timing::blinks(&bench.plan.module, BLINKS_MIN);
        if watched < need {
            let need = need.as_secs_f64();
            bench.error(format!(
                "the lamp is watched for {seconds:.1} s only; {BLINKS_MIN} blinks take \
                 {need:.1} s: add blinks = 8 to this step"
            ));
        }
    }

    fn beyond(&self, _: &Plan, _: &JigAbilities) -> Vec<String> {
        Vec::new()
    }

    fn words(&self) -> String {
        "judge the lamp's rhythm".to_owned()
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        4
    }
}
