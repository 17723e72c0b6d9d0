//! A thread of its own for what may take long: whoever gives it something goes on at once.

use std::collections::VecDeque;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Entries on their way to a thread, in their order.
#[derive(Debug)]
pub struct Queue<M> {
    shared: Arc<Shared<M>>,
    thread: Option<JoinHandle<()>>,
    /// How much may wait.
    room: usize,
}

#[derive(Debug)]
struct Shared<M> {
    waiting: Mutex<Waiting<M>>,
    changed: Condvar,
}

#[derive(Debug)]
struct Waiting<M> {
    entries: VecDeque<(M, usize)>,
    size: usize,
    /// The thread has one in hand.
    at_work: bool,
    /// No more will come.
    closed: bool,
}

impl<M: Send + 'static> Queue<M> {
    /// Begins a thread that does `work` for each entry; it is told whether more of them wait. No more
    /// than `room` in all may wait.
    pub fn begin(room: usize, mut work: impl FnMut(M, bool) + Send + 'static) -> Self {
        let waiting = Waiting { entries: VecDeque::new(), size: 0, at_work: false, closed: false };
        let shared = Arc::new(Shared { waiting: Mutex::new(waiting), changed: Condvar::new() });
        let its = Arc::clone(&shared);
        let thread = std::thread::spawn(move || {
            while let Some((entry, more)) = its.next() {
                work(entry, more);
            }
        });
        Queue { shared, thread: Some(thread), room }
    }

    /// Gives an entry of a size. `false`: there is no room for it, and it is gone.
    #[must_use]
    pub fn give(&self, entry: M, size: usize) -> bool {
        let mut waiting = self.shared.lock();
        if waiting.size + size > self.room {
            return false;
        }
        waiting.size += size;
        waiting.entries.push_back((entry, size));
        self.shared.changed.notify_all();
        true
    }

    /// Whether an entry of a size has room.
    pub fn has_room(&self, size: usize) -> bool {
        self.shared.lock().size + size <= self.room
    }

    /// Waits until all that was given is done, for no longer than `patience`. Whether it is.
    pub fn settle(&self, patience: Duration) -> bool {
        let until = Instant::now() + patience;
        let mut waiting = self.shared.lock();
        while waiting.at_work || !waiting.entries.is_empty() {
            let left = until.saturating_duration_since(Instant::now());
            // A thread that has fallen over will never be done.
            if left.is_zero() || self.thread.as_ref().is_none_or(JoinHandle::is_finished) {
                return false;
            }
            let woken = self.shared.changed.wait_timeout(waiting, left);
            waiting = woken.unwrap_or_else(PoisonError::into_inner).0;
        }
        true
    }

    /// From now on nobody waits for the thread, not even when this goes away.
    pub fn abandon(&mut self) {
        self.thread = None;
    }
}

impl<M> Shared<M> {
    fn lock(&self) -> MutexGuard<'_, Waiting<M>> {
        // Nothing that could fall over is done under the lock.
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The next entry, and whether more wait behind it; `None` when no more will come.
    fn next(&self) -> Option<(M, bool)> {
        let mut waiting = self.lock();
        waiting.at_work = false;
        loop {
            self.changed.notify_all();
            if let Some((entry, size)) = waiting.entries.pop_front() {
                waiting.size -= size;
                waiting.at_work = true;
                return Some((entry, !waiting.entries.is_empty()));
            }
            if waiting.closed {
                return None;
            }
            waiting = self.changed.wait(waiting).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

impl<M> Drop for Queue<M> {
    /// What was given is still done.
    fn drop(&mut self) {
        self.shared.lock().closed = true;
        self.shared.changed.notify_all();
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::channel;

    #[test]
    fn all_is_done_in_order_also_when_nobody_waits() {
        let (done, seen) = channel();
        let queue = Queue::begin(1000, move |entry: u32, _| done.send(entry).unwrap());
        assert!((0..1000).all(|entry| queue.give(entry, 0)));
        drop(queue);
        assert!(seen.iter().eq(0..1000));
    }

    #[test]
    fn whoever_gives_never_waits_and_the_room_is_bounded() {
        let (go_on, may) = channel();
        let queue = Queue::begin(3, move |_: (), _| may.recv().unwrap());
        // One is soon in hand; the others wait.
        assert!(queue.give((), 1) && queue.give((), 1) && queue.give((), 1));
        while queue.shared.lock().size > 2 {
            std::thread::yield_now();
        }
        assert!(queue.give((), 1));
        assert!(!queue.give((), 1));
        assert!(!queue.settle(Duration::ZERO));
        (0..4).for_each(|_| go_on.send(()).unwrap());
        assert!(queue.settle(Duration::from_secs(60)));
        assert!(queue.give((), 1));
        go_on.send(()).unwrap();
    }

    #[test]
    fn an_abandoned_one_is_not_waited_for() {
        let (go_on, may) = channel::<()>();
        let mut queue = Queue::begin(3, move |_: (), _| {
            let _ = may.recv();
        });
        assert!(queue.give((), 1));
        queue.abandon();
        drop(queue);
        drop(go_on);
    }
}
