//! Sound modules of one kind, each drawn with its own spread, on as many benches each drawn with its
//! own errors: they pass, but for the share that the verdict's own risk predicts.
//!
//! The prediction: for each reading of the plan the room to its guarded limits (JCGM 106:2012, 8.3)
//! is taken over all modules as normally distributed; the share of it below zero is the chance that
//! this reading does not pass.

use super::all_cores;
use super::bench::{ARRIVAL, plan, run, setup, sheet};
use musterbench::judge::reading::{Reading, Verdict};
use musterbench::run::event::Ending;
use statrs::distribution::{Binomial, ContinuousCDF, DiscreteCDF, Normal};
use std::collections::BTreeMap;

/// Mean and spread of a room, gathered one by one (Welford).
#[derive(Default)]
struct Spread {
    count: f64,
    mean: f64,
    squares: f64,
}

impl Spread {
    fn add(&mut self, value: f64) {
        self.count += 1.0;
        let off = value - self.mean;
        self.mean += off / self.count;
        self.squares += off * (value - self.mean);
    }

    /// The share below zero.
    fn below_zero(&self) -> f64 {
        let sd = (self.squares / (self.count - 1.0)).sqrt();
        if sd > 0.0 { Normal::standard().cdf(-self.mean / sd) } else { f64::from(self.mean < 0.0) }
    }
}

/// Room above and below, for each reading of the plan in its place.
#[derive(Default)]
struct Rooms(BTreeMap<(usize, bool), Spread>);

impl Rooms {
    fn add(&mut self, readings: &[Reading]) {
        for (place, reading) in readings.iter().enumerate() {
            let (Some(value), Some(u)) = (reading.value, reading.uncertainty) else { continue };
            if let Some(upper) = reading.upper_limit {
                self.0.entry((place, true)).or_default().add(upper - u - value);
            }
            if let Some(lower) = reading.lower_limit {
                self.0.entry((place, false)).or_default().add(value - u - lower);
            }
        }
    }

    /// The share of runs in which at least one reading does not pass.
    fn predicted(&self) -> f64 {
        1.0 - self.0.values().map(|room| 1.0 - room.below_zero()).product::<f64>()
    }
}

/// Tests so many modules of a kind.
pub fn sound_modules_pass(name: &str, module: &str, modules: u64) {
    let plan = plan(module, ARRIVAL, None);
    let sheet = sheet(module);
    let mut rooms = Rooms::default();
    let mut rejected = 0;
    let mut failed = 0;
    let run = |&seed: &u64| (seed, run(&plan, setup(&sheet, &[], seed)));
    all_cores::in_order(1..=modules, run, |(seed, run)| {
        assert_eq!(run.outcome.ending, Ending::Complete, "{name} seed {seed}: {}", run.text());
        if run.outcome.verdict != Verdict::Pass {
            rejected += 1;
            failed += u64::from(run.outcome.verdict == Verdict::Fail);
            println!("{name} seed {seed}: {}", run.text());
        }
        rooms.add(&run.readings);
    });
    let predicted = rooms.predicted();
    let most = Binomial::new(predicted, modules).unwrap().inverse_cdf(0.999);
    println!(
        "{name}: {rejected} of {modules} sound modules do not pass ({failed} fail); predicted \
         {:.2}, at most {most} in 999 of 1000 trials",
        predicted * modules as f64
    );
    assert!(rejected <= most, "{name}: {rejected} of {modules} do not pass, {most} allowed");
}
