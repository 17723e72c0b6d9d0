//! Work on all cores, with the same result for any number of them: what is made comes back in the order of
//! what it is made from, and sums are added up in that order.

use musterbench::finds::spread::on_all_processors;
use std::sync::atomic::AtomicBool;

/// So many are made before the first of them is taken: they are kept as long.
const AT_ONCE: usize = 64;

/// Makes something of each of these, in order as far as there are free cores.
pub fn each<T: Sync, R: Send>(all: &[T], make: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let go_on = AtomicBool::new(false);
    let made = on_all_processors(all.len(), &go_on, |at| make(&all[at]), |_| ());
    made.expect("nobody stops it")
}

/// Makes something of each of these, on all cores, and takes it in their order.
pub fn in_order<T: Sync, R: Send>(
    all: impl IntoIterator<Item = T>,
    make: impl Fn(&T) -> R + Sync,
    mut take: impl FnMut(R),
) {
    let mut all = all.into_iter();
    loop {
        let some: Vec<T> = all.by_ref().take(AT_ONCE).collect();
        if some.is_empty() {
            return;
        }
        each(&some, &make).into_iter().for_each(&mut take);
    }
}
