//! `feed`: on and off.

use super::expansion::{Expansion, Written};
use super::foreseen::Bench;
use super::keys::ON_OFF;
use super::plan::{Plan, Step};
use super::planned::Planned;
use super::{Action, Feed, FeedOff, FeedOn, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::script::jig_abilities::{JigAbilities, beyond, measures};
use crate::script::terms::{LoadChoice, Polarity};
use crate::script::timing::{Commanded, LEAD, SWITCHING, feed_on_window};
use crate::signal::target::Position;
use core::time::Duration;

impl Written for Feed {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let on = table.need("feed", "\"on\" or \"off\"")?.choice(&ON_OFF)?;
        let polarity = table.take("polarity");
        let compare = table.take("compare");
        if !on {
            return match polarity.or(compare) {
                None => Ok(Feed::Off),
                Some(v) => Err(v.error(format!("`{}` goes with feed = \"on\" only", v.key()))),
            };
        }
        let polarities = [("normal", Polarity::Normal), ("inverted", Polarity::Inverted)];
        let polarity = polarity.map(|v| v.choice(&polarities)).transpose()?;
        let compare = compare.map(|v| v.truth()).transpose()?;
        Ok(Feed::On {
            polarity: polarity.unwrap_or(Polarity::Normal),
            compare: compare.unwrap_or(false),
        })
    }

    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        match *self {
            Feed::On { polarity, compare } => on(step, plan, polarity, compare),
            Feed::Off => off(step, plan),
        }
    }
}

/// Turns the feed on.
pub(super) fn on(
    step: &WrittenStep,
    plan: &mut Expansion<'_>,
    polarity: Polarity,
    compare: bool,
) -> Result<(), Located> {
    plan.polarity = polarity;
    let name = match polarity {
        Polarity::Normal => "feed on",
        Polarity::Inverted => "feed on inverted",
    };
    let window = feed_on_window(plan.sheet);
    plan.push(step, name, Action::FeedOn(FeedOn { polarity, compare, window }))?;
    plan.lengthen(plan.switching_on());
    Ok(())
}

/// Turns it off.
pub(super) fn off(step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
    plan.push(step, "feed off", Action::FeedOff(FeedOff))
}

impl Planned for FeedOn {
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        LEAD + self.window + SWITCHING
    }

    fn check(&self, bench: &mut Bench<'_>) {
        let module = &bench.plan.module;
        if self.polarity == Polarity::Inverted && !module.try_inverted {
            bench.error("the module sheet forbids the feed inverted (`try_inverted = false`)");
        }
        if bench.feed_on {
            bench.error("the feed is on already");
        }
        if !bench.prepared {
            bench.error(
                "nobody has seated the module and set its switches: begin with \
                 { ask = \"prepare\" }",
            );
            bench.prepared = true;
        }
        if self.compare && !bench.was_on {
            bench.error("there is nothing to compare with: the feed was never on before");
        }
        let known = (0..usize::from(module.outputs)).all(|o| bench.positions[o].is_some());
        if self.compare && bench.was_on && !known {
            bench.error("to compare positions, send every output somewhere before");
        }
        if bench.loads == LoadChoice::None {
            bench
                .warn("no loads are connected, so nobody sees whether an output moves at power-on");
        } else {
            bench.load_current_flows(bench.switching_on() + self.window);
        }
        bench.feed_on = true;
        bench.was_on = true;
        if !module.keeps_position {
            bench.positions = [Some(Position::A); 4];
        }
    }

    fn beyond(&self, plan: &Plan, jig: &JigAbilities) -> Vec<String> {
        if !jig.feed_current {
            return measures(false, "the feed current");
        }
        beyond("the feed", plan.module.feed, jig.feed_voltage_v).into_iter().collect()
    }

    fn words(&self) -> String {
        let polarity = match self.polarity {
            Polarity::Normal => "",
            Polarity::Inverted => ", polarity inverted",
        };
        let compare = if self.compare { ", compare the positions with those before" } else { "" };
        format!("feed on{polarity}: charge, no output may move{compare}")
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        4
    }
}

impl Planned for FeedOff {
    /// Long enough for a module's reservoir to run down, so that its next start is a cold one.
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        Duration::from_millis(1_000)
    }

    fn check(&self, bench: &mut Bench<'_>) {
        if !bench.feed_on {
            bench.warn("the feed is off already");
        }
        bench.feed_on = false;
        if bench.watched_since.take().is_some() {
            bench.warn("the lamp is being watched, but never judged");
        }
    }

    fn beyond(&self, _: &Plan, _: &JigAbilities) -> Vec<String> {
        Vec::new()
    }

    fn words(&self) -> String {
        "feed off".to_owned()
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        1
    }
}
