//! Which changes of a contact count.
//!
//! A closure (or an opening) into which no conversion of the channel falls cannot be seen, and is no
//! part of what is measured. Where changes follow each other faster than a point of the record, the
//! contact closes at no one instant but from the first to the last of them: see `docs/honesty.md`. The
//! instants themselves are the true ones.

use super::window::{Conversions, Window};
use musterbench::signal::target::Clamp;
use musterbench::simulated_bench::truth::{ContactChange, Truth};
use musterbench::wire::channel::CLAMP_CURRENT;

/// From when to when, microseconds: one instant where there is no chatter.
#[derive(Clone, Copy, Debug)]
pub struct Span {
    pub from_us: f64,
    pub to_us: f64,
}

impl Span {
    /// From an earlier one to this one, in seconds: what of it lies nearest to a value.
    pub fn since(&self, earlier: &Span, value: f64) -> f64 {
        let shortest = self.from_us - earlier.to_us;
        let longest = self.to_us - earlier.from_us;
        value.clamp(1e-6 * shortest, 1e-6 * longest)
    }

    /// One instant.
    pub fn at(us: u64) -> Self {
        Span { from_us: us as f64, to_us: us as f64 }
    }
}

/// The first and the last change into a contact's final state.
#[derive(Clone, Copy, Debug)]
pub struct Ends {
    pub first: Span,
    pub last: Span,
}

/// The closings of the contact at a clamp.
pub fn closings(window: &Window, truth: &Truth, clamp: Clamp) -> Option<Ends> {
    changes(window, truth, clamp, true)
}

/// Its openings.
pub fn openings(window: &Window, truth: &Truth, clamp: Clamp) -> Option<Ends> {
    changes(window, truth, clamp, false)
}

fn changes(window: &Window, truth: &Truth, clamp: Clamp, to: bool) -> Option<Ends> {
    let conversions = window.conversions(clamp.channel(CLAMP_CURRENT))?;
    let seen = seen(truth, clamp, &conversions);
    // From each change into the final state to the next: how long it held, how long it did not.
    let into: Vec<usize> = (0..seen.len()).filter(|&i| seen[i].closed == to).collect();
    let point_us = conversions.every_us * conversions.average;
    let may_merge = |pair: &[usize]| {
        let back_us = seen[pair[0] + 1].at_us;
        back_us - seen[pair[0]].at_us < point_us || seen[pair[1]].at_us - back_us < point_us
    };
    let joined: Vec<bool> = into.windows(2).map(may_merge).collect();
    let end = into.len().checked_sub(1)?;
    let first = joined.iter().take_while(|&&joined| joined).count();
    let last = end - joined.iter().rev().take_while(|&&joined| joined).count();
    let at = |i: usize| seen[into[i]].at_us as f64;
    Some(Ends {
        first: Span { from_us: at(0), to_us: at(first) },
        last: Span { from_us: at(last), to_us: at(end) },
    })
}

/// The changes of a contact that a conversion tells, closings and openings in turn.
fn seen(truth: &Truth, clamp: Clamp, conversions: &Conversions) -> Vec<ContactChange> {
    let end_us = conversions.first_us + conversions.count * conversions.every_us;
    let within = |c: &&ContactChange| {
        (c.output, c.position) == (clamp.output, clamp.position)
            && (conversions.first_us..end_us).contains(&c.at_us)
    };
    let all: Vec<&ContactChange> = truth.contacts.iter().filter(within).collect();
    let mut seen: Vec<ContactChange> = Vec::new();
    for (i, change) in all.iter().enumerate() {
        let until_us = all.get(i + 1).map_or(end_us, |next| next.at_us);
        let is_new = seen.last().is_none_or(|last| last.closed != change.closed);
        if is_new && conversions.any_in(change.at_us, until_us) {
            seen.push(**change);
        }
    }
    seen
}
