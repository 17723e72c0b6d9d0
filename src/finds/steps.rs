//! Which lines of the script find a fault, and what each of them costs.

use super::severities::Searched;
use super::trial_run::TrialRun;
use crate::script::describe::describe;
use crate::script::plan::Plan;
use core::time::Duration;
use std::collections::BTreeMap;

/// A line counts as the only one that finds a fault where it alone does so in this share of the runs
/// that find it.
const ALONE: f64 = 0.05;

/// A line of the script.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its number.
    pub line: usize,
    /// What it does.
    pub words: String,
    /// What it costs by the jig's clock; nothing where the operator does it.
    pub costs: Duration,
    /// Faults that it finds, each with the share of the runs that find the fault in which it does.
    pub finds: Vec<(&'static str, f64)>,
    /// Those of them that only it finds, with the share in which that is so.
    pub alone: Vec<(&'static str, f64)>,
}

/// Every line of the plan that measures something or takes time, in order.
pub fn lines(plan: &Plan, searched: &[Searched]) -> Vec<Line> {
    let mut lines: BTreeMap<usize, Line> = BTreeMap::new();
    for told in describe(plan) {
        let line = lines.entry(told.line).or_insert_with(|| Line {
            line: told.line,
            words: told.words,
            costs: Duration::ZERO,
            finds: Vec::new(),
            alone: Vec::new(),
        });
        line.costs += told.lasts;
    }
    for one in searched {
        let runs = one.tried.iter().flat_map(|at| &at.runs);
        let found: Vec<&TrialRun> = runs.filter(|run| !run.lines.is_empty()).collect();
        let share = |count: usize| count as f64 / found.len().max(1) as f64;
        for line in lines.values_mut() {
            let by = found.iter().filter(|run| run.lines.contains(&line.line));
            let alone = by.clone().filter(|run| run.lines.len() == 1).count();
            let name = one.fault.name;
            match share(by.count()) {
                by if by > 0.0 => raise(&mut line.finds, name, by),
                _ => continue,
            }
            if share(alone) >= ALONE {
                raise(&mut line.alone, name, share(alone));
            }
        }
    }
    lines.into_values().collect()
}

/// A fault that can get worse both ways stands there once, with the larger share.
fn raise(shares: &mut Vec<(&'static str, f64)>, name: &'static str, share: f64) {
    match shares.iter_mut().find(|(known, _)| *known == name) {
        Some((_, known)) => *known = known.max(share),
        None => shares.push((name, share)),
    }
}
