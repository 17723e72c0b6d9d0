//! The diagnosis by simulated runs: it is told to a run as whose fault it is, and as suspects.

use super::bench::{Benches, SEED};
use super::odds::Odds;
use super::posterior::{Posterior, TEMPERATURE, blame, reason};
use super::search::{Searched, Told, Tried};
use super::seen::SeenRun;
use super::settling::settled_by;
use crate::blame::Blame;
use crate::judge::blame::{Facts, Finding};
use crate::judge::reading::{Quantity, Reading};
use crate::judge::verdict::Side;
use crate::run::Rules;
use crate::run::event::{Diagnosed, Diagnosis, Ending, Over};
use crate::run::options::{Leave, NOT_SEARCHED};
use crate::run::suspects::{Severity, Suspect, Suspects};
use crate::script::module_sheet::ModuleSheet;
use crate::simulated_bench::faults::place::Sits;
use core::sync::atomic::AtomicBool;

/// What is less likely than that is not told.
const TOLD_FROM: f64 = 0.005;
/// At most so many suspects are told.
const MOST: usize = 5;
/// About so many simulated runs one diagnosis takes.
const USUALLY: usize = 420;

/// Diagnoses by simulated runs. Where it is stopped, or a run was cut short, the rules of thumb stand.
pub struct Reasoned<'s> {
    /// How often what is the matter.
    pub odds: Odds,
    /// The other kinds that the module may be of.
    pub kinds: Vec<ModuleSheet>,
    /// Whether all addresses may be searched.
    pub search: Leave,
    /// Whoever wants to stop it.
    pub stop: &'s AtomicBool,
}

impl Diagnosis for Reasoned<'_> {
    fn of_reading(&mut self, quantity: Quantity, side: Side, facts: &Facts) -> Finding {
        Rules.of_reading(quantity, side, facts)
    }

    fn of_run(&mut self, over: &Over<'_>, told: &mut dyn FnMut(usize, usize)) -> Diagnosed {
        let by_rules = Rules.of_run(over, told);
        if !matches!(over.ending, Ending::Complete | Ending::EndedEarly(_)) {
            return by_rules;
        }
        let mut told = |done: usize| told(done.min(USUALLY), USUALLY);
        self.reasoned(over, by_rules.blame, &mut told).unwrap_or(by_rules)
    }
}

impl Reasoned<'_> {
    fn reasoned(
        &self,
        over: &Over<'_>,
        by_rules: Option<Blame>,
        told: Told<'_>,
    ) -> Option<Diagnosed> {
        let search = if not_searched(over.readings) { Leave::Refused } else { self.search };
        let search = if search == Leave::Ask { Leave::Given } else { search };
        let mut benches = Benches::new(over.plan, self.kinds.clone(), search);
        let seen = SeenRun::of(over);
        let (searched, weighed) = reason(&mut benches, &self.odds, &seen, self.stop, told)?;
        let suspects = suspects(&benches, &searched, &weighed);
        let blame = blame(&searched, &weighed, by_rules);
        Some(Diagnosed { blame: Some(blame), suspects: Some(suspects) })
    }
}

/// Whether a search for the module was not made though it would have been.
fn not_searched(readings: &[Reading]) -> bool {
    readings.iter().any(|reading| reading.note.contains(NOT_SEARCHED))
}

fn suspects(benches: &Benches<'_>, searched: &Searched, posterior: &Posterior) -> Suspects {
    let mut all: Vec<Suspect> = Vec::new();
    for suspect in &posterior.suspects {
        let tried = &searched.tried[suspect.tried];
        if all.len() < MOST && (suspect.probability >= TOLD_FROM || all.is_empty()) {
            all.push(told(benches, tried, suspect.probability));
        }
    }
    let settled_by = settled_by(&all, posterior.none);
    let digits = |probability: f64| (probability * 1e4).round() / 1e4;
    for suspect in &mut all {
        suspect.probability = digits(suspect.probability);
    }
    Suspects {
        all,
        none: digits(posterior.none),
        fit: digits(posterior.fit),
        runs: benches.asked,
        seed: SEED,
        settled_by,
    }
}

fn told(benches: &Benches<'_>, tried: &Tried, probability: f64) -> Suspect {
    let cause = &tried.cause;
    let class = cause.class();
    let Some(sought) = &cause.fault else {
        let cause = match cause.kind {
            Some(kind) => format!("another kind: {}", benches.kinds()[kind].kind),
            None => "nothing".into(),
        };
        return Suspect { cause, place: None, class, probability, severity: None };
    };
    let says_nothing = matches!(sought.place.sits, Sits::Whole | Sits::AuxiliarySupply);
    let place = (!says_nothing).then(|| sought.place.to_string());
    let [value, from, to] = tried.severity(TEMPERATURE);
    let tells = tried.severities.all.len() > 1 || sought.fault.maximum > 1.0;
    let severity = tells.then(|| Severity { value, from, to, unit: sought.fault.unit.into() });
    Suspect { cause: sought.fault.name.into(), place, class, probability, severity }
}
