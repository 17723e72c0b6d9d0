//! Musters that are killed at random instants: a few. `tests/long` has five hundred.

use crate::kit::killed_musters::killed;

#[test]
fn a_killed_muster_goes_on_with_nothing_lost_and_nothing_twice() {
    let done = killed(6, 3);
    println!("{done:?}");
    assert_eq!(done.kills, 6);
}
