//! How often a diagnosis is right.

use crate::kit::bench::{ARRIVAL, IN_PLACE, JETTY, PIER, QUAY, plan};
use crate::kit::program::{diagnosed, facts, musterbench, said, short_script};
use musterbench::blame::Blame;
use musterbench::diagnosis::bench::{Benches, Wrong};
use musterbench::diagnosis::odds::Odds;
use musterbench::diagnosis::posterior::{blame, reason};
use musterbench::diagnosis::seen::SeenRun;
use musterbench::finds::trial_run::carried_out;
use musterbench::judge::reading::Verdict;
use musterbench::procedure::simulated_set_up::{kind, load_models};
use musterbench::run::Options;
use musterbench::run::event::Over;
use musterbench::run::options::Leave;
use musterbench::script::plan::Plan;
use musterbench::script::shipped;
use musterbench::simulated_bench::Placed;
use musterbench::simulated_bench::faults::{Course, Fault, catalogue};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus as Rng;
use serde_json::Value;
use std::process::Output;
use std::sync::atomic::AtomicBool;

fn from_environment(name: &str, usual: usize) -> usize {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

/// A fault by the odds, a place of it and a severity, all by chance.
fn draw(plan: &Plan, odds: &Odds, rng: &mut Rng) -> Placed {
    let (model, loads) = (kind(&plan.module), load_models(plan.loads.as_ref()));
    let all: Vec<&'static Fault> = catalogue().collect();
    let sum: f64 = all.iter().map(|fault| odds.of(fault)).sum();
    loop {
        let mut at = rng.random_range(0.0..sum);
        let chosen = all.iter().find(|fault| {
            at -= odds.of(fault);
            at < 0.0
        });
        let Some(fault) = chosen else { continue };
        let courses = fault.courses();
        let severity = match &courses[rng.random_range(0..courses.len())] {
            Course::Counts(counts) => {
                let most = counts.len().min(8);
                counts[rng.random_range(0..most)]
            }
            Course::Values { mild, worst } => {
                let mild = if fault.unit == "ohm" && fault.minimum == 0.0 { 0.02 } else { *mild };
                mild * (worst / mild).powf(rng.random_range(0.0..1.0))
            }
        };
        let places = fault.places(&model, &loads, severity);
        if places.is_empty() {
            continue;
        }
        let place = places[rng.random_range(0..places.len())].clone();
        return Placed { fault, place, severity };
    }
}

#[test]
#[ignore = "tells, asserts nothing"]
fn survey_of_diagnoses() {
    let cases = from_environment("DIAGNOSIS_CASES", 2000);
    let seed = from_environment("DIAGNOSIS_SEED", 1) as u64;
    let which = std::env::var("DIAGNOSIS_PLANS").unwrap_or("pier quay jetty basin".into());
    let basin = shipped::load_sheet("harbour-basin").unwrap();
    let plans: Vec<(&str, Plan)> = [
        ("pier", plan(PIER, ARRIVAL, None)),
        ("quay", plan(QUAY, ARRIVAL, None)),
        ("jetty", plan(JETTY, ARRIVAL, None)),
        ("basin", plan(PIER, IN_PLACE, Some(&basin))),
    ]
    .into_iter()
    .filter(|(name, _)| which.contains(name))
    .collect();
    let odds = Odds::shipped();
    let stop = AtomicBool::new(false);
    let mut rng = Rng::seed_from_u64(seed);
    let mut told = 0;
    let (mut right, mut first, mut three, mut module_wrong, mut others) = (0, 0, 0, 0, 0);
    for (name, plan) in &plans {
        let kinds = shipped::other_kinds(&plan.module);
        let mut benches = Benches::new(plan, kinds.clone(), Leave::Given);
        let options = Options {
            unattended: true,
            search: Leave::Given,
            kinds: kinds.clone(),
            ..Options::default()
        };
        let mut here = 0;
        while here < cases / plans.len() {
            let placed = draw(plan, &odds, &mut rng);
            let wrong = Wrong { kind: None, faults: vec![placed.clone()] };
            let setup = benches.setup(&wrong, rng.random());
            let Some((outcome, readings)) = carried_out(plan, &options, setup) else { continue };
            if outcome.verdict == Verdict::Pass {
                continue;
            }
            here += 1;
            told += 1;
            let seen = SeenRun::of(&Over {
                plan,
                readings: &readings,
                ending: &outcome.ending,
                answers_at: outcome.answers_at,
            });
            let began = std::time::Instant::now();
            let before = benches.asked;
            let (searched, concluded) =
                reason(&mut benches, &odds, &seen, &stop, &mut |_| ()).unwrap();
            let class = blame(&searched, &concluded, outcome.blame);
            let told_names: Vec<String> = concluded
                .suspects
                .iter()
                .take(4)
                .map(|s| {
                    let t = &searched.tried[s.tried];
                    let f = t.cause.fault.as_ref();
                    format!(
                        "{} {:?} {:.3} p={:.4} log={:.1}",
                        f.map_or(format!("{:?}", t.cause.kind), |f| f.fault.name.to_string()),
                        f.map(|f| &f.place.at),
                        t.severities.all[t.best().at],
                        s.probability,
                        t.log_marginal()
                    )
                })
                .collect();
            let is = |i: usize| {
                concluded
                    .suspects
                    .get(i)
                    .and_then(|s| searched.tried[s.tried].cause.fault.as_ref())
                    .is_some_and(|f| f.fault == placed.fault)
            };
            let truth = searched.tried.iter().position(|t| {
                t.cause
                    .fault
                    .as_ref()
                    .is_some_and(|f| f.fault == placed.fault && f.place == placed.place)
            });
            let ok = class == placed.fault.class;
            right += usize::from(ok);
            first += usize::from(is(0));
            three += usize::from((0..3).any(is));
            if placed.fault.class != Blame::Module {
                others += 1;
                module_wrong += usize::from(class == Blame::Module);
            }
            let elsewhere = truth.filter(|_| !is(0) || concluded.none > 0.3).map(|t| {
                let t = &searched.tried[t];
                let at = t.severities.nearest(placed.severity);
                format!(
                    "  truth is at {at} of {}; tried {:?}; fits {:?}",
                    t.severities.all.len(),
                    t.effects.keys().collect::<Vec<_>>(),
                    t.fits.iter().map(|f| (f.at, f.log.round())).collect::<Vec<_>>()
                )
            });
            if let Some(text) = elsewhere {
                println!("{text}");
            }
            println!(
                "{}{} {name} {} {:?} {:.4} -> {class} (rules {:?}) none={:.3} fit={:.4} [{} alike, {} runs {:.1}s] truth tried {:?}\n     {}",
                if is(0) { "ok " } else { "BAD" },
                if ok { "" } else { " CLASS" },
                placed.fault.name,
                placed.place.at,
                placed.severity,
                outcome.blame,
                concluded.none,
                concluded.fit,
                concluded.alike.len(),
                benches.asked - before,
                began.elapsed().as_secs_f64(),
                truth.map(|t| {
                    let t = &searched.tried[t];
                    format!("{:.1} at {:.3}", t.log_marginal(), t.severities.all[t.best().at])
                }),
                told_names.join("\n     ")
            );
        }
    }
    println!(
        "{told}: class right {right}, fault first {first}, among three {three}, module wrongly {module_wrong} of {others}"
    );
}

fn ended(output: &Output) -> Value {
    let text = said(output);
    let last = text.lines().last().expect("a line");
    serde_json::from_str(last).expect("JSON")
}

#[test]
#[ignore = "two diagnoses"]
fn what_is_suspected_is_told_everywhere_and_the_same_each_time() {
    let folder = tempfile::tempdir().expect("a folder");
    short_script(folder.path());
    let first = ended(&diagnosed(folder.path(), &["--json"]));
    let suspects = &first["suspects"];
    assert_eq!(suspects["all"][0]["cause"], "reservoir-small", "{first}");
    // A short script sees the reservoir by its charge alone, as it would see a weak feed.
    assert_eq!(first["blame"], "unsure", "{first}");
    let finding = first["finding"].as_str().expect("text");
    assert!(finding.contains("Likeliest: reservoir-small, "), "{finding}");
    let severity = &suspects["all"][0]["severity"];
    let (from, to) = (severity["from"].as_f64().unwrap(), severity["to"].as_f64().unwrap());
    assert!(from <= 0.7 && 0.7 <= to, "{severity}");

    let kept = facts(folder.path(), 1);
    assert_eq!((&kept["suspects"], &kept["suspect"]), (suspects, &suspects["all"][0]["cause"]));

    // On the screen too, and the same again.
    let shown = said(&diagnosed(folder.path(), &[]));
    assert!(shown.contains("Likeliest: reservoir-small"), "{shown}");
    assert_eq!(&facts(folder.path(), 2)["suspects"], suspects);
    let usual = ["test", "--port", "simulated", "--unattended", "--module", "P4-1", "--json"];
    let mut by_rules = musterbench(folder.path());
    by_rules.args(usual).args(["--script", "short.toml", "--fault", "reservoir-small=0.7"]);
    assert_eq!(ended(&by_rules.output().expect("it starts"))["suspects"], Value::Null);
}
