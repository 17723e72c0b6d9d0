//! Work on all cores, with the same result for any number of them: what is made comes back in the order of
//! what it is made from, and sums are added up in that order.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// So many are made before the first of them is taken: they are kept as long.
const AT_ONCE: usize = 64;

/// Does something with each of these, in order as far as there are free cores.
pub fn each<T: Sync>(all: &[T], what: impl Fn(&T) + Sync) {
    let next = AtomicUsize::new(0);
    let workers = thread::available_parallelism().map_or(1, |n| n.get());
    thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| {
                while let Some(one) = all.get(next.fetch_add(1, Ordering::Relaxed)) {
                    what(one);
                }
            });
        }
    });
}

/// Makes something of each of these, on all cores, and takes it in their order.
pub fn in_order<T: Sync, R: Send>(
    all: impl IntoIterator<Item = T>,
    make: impl Fn(&T) -> R + Sync,
    mut take: impl FnMut(R),
) {
    let mut all = all.into_iter();
    loop {
        let some: Vec<_> = all.by_ref().take(AT_ONCE).map(|one| (one, Mutex::new(None))).collect();
        if some.is_empty() {
            return;
        }
        each(&some, |(one, made)| *made.lock().expect("no panic") = Some(make(one)));
        for (_, made) in some {
            take(made.into_inner().expect("no panic").expect("made"));
        }
    }
}
