//! A thousand drawn lots with drawn faults of any severity, wrong seatings, double presses, wrong scans and pulled
//! modules through muster and fates.

use crate::kit::all_cores;
use crate::kit::drawn_lots::{Tally, lot};

#[test]
#[ignore = "long: a thousand lots; asked for with -- --ignored"]
fn a_thousand_lots_reject_no_sound_module() {
    let count = std::env::var("LOTS").ok().and_then(|count| count.parse().ok()).unwrap_or(1000);
    let seeds: Vec<u64> = (0..count).map(|seed| 1_000_000 + seed).collect();
    let mut all = Tally::default();
    let one = |seed: &u64| lot(*seed, tempfile::tempdir().expect("a folder").path());
    all_cores::in_order(seeds, one, |tally| all.add(tally));
    println!("{}", all.text());
    assert_eq!(all.sound_rejected, 0, "{}", all.text());
    // What a run of the script does not find is accepted, and no more than that.
    assert!(all.faulty_accepted() as f64 <= all.acceptable(), "{}", all.text());
}
