//! Not tests: tables for whoever tunes a measurement. Run one with
//! `cargo test --release --test long survey_of_faults -- --ignored --nocapture`.

use crate::kit::bench::{BASIN, CRANE, JETTY, PIER, QUAY, arrival, in_place};
use musterbench::judge::reading::Verdict;
use musterbench::simulated_bench::faults::catalogue;
use std::collections::BTreeMap;

const KINDS: [(&str, &str); 3] = [("pier", PIER), ("quay", QUAY), ("jetty", JETTY)];

fn seeds(default: u64) -> u64 {
    std::env::var("SEEDS").ok().and_then(|s| s.parse().ok()).unwrap_or(default)
}

/// Every sound module that does not pass; and of each quantity the lowest and the highest value,
/// the largest uncertainty, and the least room between the coverage interval and a limit.
#[test]
#[ignore = "a table, not a test"]
fn survey_of_sound_modules() {
    for (name, module) in KINDS {
        let mut spans: BTreeMap<&str, [f64; 4]> = BTreeMap::new();
        let mut passed = 0;
        for seed in 1..=seeds(50) {
            let run = arrival(module, &[], seed);
            if run.outcome.verdict == Verdict::Pass {
                passed += 1;
            } else {
                println!("{name} seed {seed}: {}", run.text());
            }
            for r in &run.readings {
                let (Some(value), Some(u)) = (r.value, r.uncertainty) else { continue };
                let room =
                    [r.upper_limit.map(|l| l - value - u), r.lower_limit.map(|l| value - u - l)]
                        .into_iter()
                        .flatten()
                        .fold(f64::INFINITY, f64::min);
                let far = f64::INFINITY;
                let [low, high, widest, least] =
                    spans.entry(r.quantity.name()).or_insert([far, -far, 0.0, far]);
                (*low, *high) = (low.min(value), high.max(value));
                (*widest, *least) = (widest.max(u), least.min(room));
            }
        }
        println!("{name}: {passed} of {} pass", seeds(50));
        for (quantity, [low, high, widest, least]) in spans {
            println!("  {quantity:22} {low:10.5} to {high:10.5} ± {widest:9.6}, room {least:9.6}");
        }
    }
}

/// Every fault of the catalogue: how often found, and on whom it is blamed.
#[test]
#[ignore = "a table, not a test"]
fn survey_of_faults() {
    let only = std::env::var("FAULT").ok();
    for fault in catalogue().filter(|f| only.as_ref().is_none_or(|o| f.name == o)) {
        for (name, module) in KINDS {
            let mut results: BTreeMap<String, u32> = BTreeMap::new();
            for seed in 1..=seeds(3) {
                let run = arrival(module, &[(fault.name, None)], seed);
                let blame = run.outcome.blame.map_or("-".into(), |b| b.to_string());
                *results.entry(format!("{} {blame}", run.outcome.verdict)).or_default() += 1;
                if only.is_some() {
                    println!("{name} seed {seed}: {}", run.text());
                }
            }
            println!("{:24} {:8} {name:6} {results:?}", fault.name, fault.class.to_string());
        }
    }
}

/// The in-place script on real loads: sound ones, and the faults that only real loads can have.
#[test]
#[ignore = "a table, not a test"]
fn survey_of_real_loads() {
    for (name, module) in [("pier", PIER), ("quay", QUAY)] {
        for (sheet, loads) in [("basin", BASIN), ("crane", CRANE)] {
            for fault in [None, Some("load-open"), Some("load-shorted"), Some("load-wrong-value")] {
                let mut results: BTreeMap<String, u32> = BTreeMap::new();
                let faults: Vec<_> = fault.iter().map(|f| (*f, None)).collect();
                for seed in 1..=seeds(3) {
                    let run = in_place(module, loads, &faults, seed);
                    let blame = run.outcome.blame.map_or("-".into(), |b| b.to_string());
                    let ending = format!("{:?}", run.outcome.ending);
                    let key = format!("{ending} {} {blame}", run.outcome.verdict);
                    *results.entry(key).or_default() += 1;
                    if seed <= 1 {
                        println!("{name} {sheet} {fault:?} seed {seed}: {}", run.text());
                    }
                }
                println!("{name} {sheet} {:18} {results:?}", fault.unwrap_or("sound"));
            }
        }
    }
}
