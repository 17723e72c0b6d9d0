//! Runs side by side on all processors, the same whatever their number.

use core::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::channel;

/// Does each of so many things, on all processors; what came of them, in their order. `done` is told how
/// many are done. `None` if it was stopped.
pub fn on_all_processors<T: Send>(
    count: usize,
    stop: &AtomicBool,
    each: impl Fn(usize) -> T + Sync,
    done: impl FnMut(usize),
) -> Option<Vec<T>> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    on_so_many(threads, count, stop, each, done)
}

fn on_so_many<T: Send>(
    threads: usize,
    count: usize,
    stop: &AtomicBool,
    each: impl Fn(usize) -> T + Sync,
    mut done: impl FnMut(usize),
) -> Option<Vec<T>> {
    let next = AtomicUsize::new(0);
    let mut made: Vec<Option<T>> = (0..count).map(|_| None).collect();
    std::thread::scope(|scope| {
        let (tell, told) = channel();
        for _ in 0..threads.min(count) {
            let (tell, next, each) = (tell.clone(), &next, &each);
            scope.spawn(move || {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    if at >= count || stop.load(Ordering::Relaxed) {
                        return;
                    }
                    if tell.send((at, each(at))).is_err() {
                        return;
                    }
                }
            });
        }
        drop(tell);
        for (so_far, (at, result)) in told.into_iter().enumerate() {
            made[at] = Some(result);
            done(so_far + 1);
        }
    });
    made.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_are_done_in_order_or_it_was_stopped() {
        let go_on = AtomicBool::new(false);
        for threads in [1, 2, 7, 200] {
            let mut last = 0;
            let squares = on_so_many(threads, 100, &go_on, |i| i * i, |n| last = n);
            assert_eq!(squares, Some((0..100).map(|i| i * i).collect::<Vec<_>>()));
            assert_eq!(last, 100);
        }
        assert_eq!(on_all_processors(0, &go_on, |i| i, |_| ()), Some(Vec::new()));
        assert_eq!(on_all_processors(3, &AtomicBool::new(true), |i| i, |_| ()), None);
    }
}
