//! Drawn lots with drawn faults and mistakes through muster and fates: a few. `tests/long` has a thousand.

use crate::kit::all_cores;
use crate::kit::drawn_lots::{Tally, lot};

#[test]
fn no_sound_module_is_rejected_and_every_module_has_one_fate() {
    let seeds: Vec<u64> = (0..9).collect();
    let mut all = Tally::default();
    let one = |seed: &u64| lot(*seed, tempfile::tempdir().expect("a folder").path());
    all_cores::each(&seeds, one).into_iter().for_each(|tally| all.add(tally));
    println!("{}", all.text());
    assert_eq!(all.sound_rejected, 0, "{}", all.text());
    assert!(all.sound > 0 && all.sound < all.modules, "{}", all.text());
    assert!(all.idle_starts > 0 && all.scans > 0, "{}", all.text());
}
