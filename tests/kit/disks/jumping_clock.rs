//! A clock that several threads see, and that only jumps.

use core::time::Duration;
use std::sync::{Condvar, Mutex};

#[derive(Debug, Default)]
pub struct JumpingClock {
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Debug, Default)]
struct State {
    now: Duration,
    /// When those who sleep wake up.
    due: Vec<Duration>,
}

impl JumpingClock {
    pub fn now(&self) -> Duration {
        self.state.lock().expect("no panic").now
    }

    /// It is at least so late.
    pub fn at_least(&self, now: Duration) {
        let mut state = self.state.lock().expect("no panic");
        state.now = state.now.max(now);
        self.changed.notify_all();
    }

    /// To when the first sleeper wakes up; nowhere when nobody sleeps.
    pub fn jump(&self) {
        let first = self.state.lock().expect("no panic").due.iter().min().copied();
        first.into_iter().for_each(|first| self.at_least(first));
    }

    pub fn sleep(&self, time: Duration) {
        let mut state = self.state.lock().expect("no panic");
        let due = state.now + time;
        state.due.push(due);
        while state.now < due {
            state = self.changed.wait(state).expect("no panic");
        }
        let at = state.due.iter().position(|other| *other == due).expect("it is there");
        state.due.swap_remove(at);
    }
}
