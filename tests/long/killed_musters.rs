//! Musters that are killed at five hundred random instants.

use crate::kit::all_cores;
use crate::kit::killed_musters::killed;

#[test]
#[ignore = "long: five hundred kills; asked for with -- --ignored"]
fn five_hundred_kills_lose_nothing_and_count_nothing_twice() {
    let done = all_cores::each(&[1u64, 2, 3, 4], |seed| killed(125, *seed));
    println!("{done:?}");
    assert_eq!(done.iter().map(|one| one.kills).sum::<usize>(), 500);
    let midway: usize = done.iter().map(|one| one.midway).sum();
    assert!(midway > 25, "too few of them in the middle of a run: {midway}");
}
