//! What a run showed, in a form that runs can be compared in.

use crate::judge::reading::{Blame, Bound, Quantity, Reading, Verdict};
use crate::run::event::{Ending, Over};
use crate::signal::target::{Format, Position};
use std::collections::{BTreeMap, HashMap};

/// Which reading it is: the same in every run of a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key {
    /// The step, by its place in the plan.
    pub step: usize,
    /// The output, 0 for the module as a whole.
    pub output: u8,
    /// The position, 2 for none.
    pub position: u8,
    /// What was measured.
    pub quantity: Quantity,
    /// Which of several that are alike.
    pub nth: usize,
}

impl Key {
    /// What happens to it together: a step at an output.
    pub fn event(&self) -> Event {
        Event { step: self.step, output: self.output }
    }

    /// The clamp that it belongs to, from 0.
    pub fn clamp(&self) -> Option<usize> {
        (self.output > 0 && self.position < 2)
            .then(|| 2 * (usize::from(self.output) - 1) + usize::from(self.position))
    }
}

/// A step at an output: its readings come from one and the same thing that happens.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Event {
    /// The step, by its place in the plan.
    pub step: usize,
    /// The output, 0 for the module as a whole.
    pub output: u8,
}

/// What became of a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum State {
    /// A value.
    Value(f64),
    /// A count, a yes or a no.
    Count(i64),
    /// Nothing could be measured.
    Missing,
    /// It lies beyond what the jig can tell.
    Beyond(Bound),
}

impl State {
    /// Whether another is of the same sort: values are, however large.
    pub fn is_like(&self, other: &State) -> bool {
        match (self, other) {
            (State::Value(_), State::Value(_)) => true,
            _ => self == other,
        }
    }

    /// The value.
    pub fn value(&self) -> Option<f64> {
        match self {
            State::Value(value) => Some(*value),
            _ => None,
        }
    }
}

/// A reading as it was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// What became of it.
    pub state: State,
    /// Whom it points at, where it does not pass: what the run looked at besides.
    pub hint: Option<Blame>,
}

/// What a run knows as a whole.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Whole {
    /// Where the module answered as it was set to begin with.
    pub answers_at: Option<(u16, Format)>,
    /// What was noted where it was asked whether it answers: where it does, and as which kind.
    pub answer_note: String,
    /// How many steps had been begun when it ended early.
    pub ended_in: Option<usize>,
}

/// What a run showed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SeenRun {
    /// All readings, in order of their keys.
    readings: Vec<(Key, Seen)>,
    /// What is known besides.
    pub whole: Whole,
}

impl SeenRun {
    /// What a run of a plan showed.
    pub fn of(over: &Over<'_>) -> Self {
        let Over { plan, readings, ending, answers_at } = *over;
        let places: HashMap<&str, usize> =
            plan.steps.iter().enumerate().map(|(at, step)| (step.name.as_str(), at)).collect();
        let mut seen: BTreeMap<Key, Seen> = BTreeMap::new();
        let (mut whole, mut last) = (Whole::default(), 0);
        for reading in readings {
            let Some(&step) = places.get(reading.step.as_str()) else { continue };
            last = last.max(step);
            let position = match reading.position {
                Some(Position::A) => 0,
                Some(Position::B) => 1,
                None => 2,
            };
            let output = reading.output.unwrap_or(0);
            let mut key = Key { step, output, position, quantity: reading.quantity, nth: 0 };
            while seen.contains_key(&key) {
                key.nth += 1;
            }
            seen.insert(key, Seen { state: state(reading), hint: hint(reading) });
            if reading.quantity == Quantity::Answers && reading.verdict != Verdict::Pass {
                whole.answer_note.push_str(&reading.note);
            }
        }
        whole.answers_at = answers_at.map(|at| (at.address, at.format));
        whole.ended_in = (*ending != Ending::Complete).then_some(last);
        SeenRun { readings: seen.into_iter().collect(), whole }
    }

    /// A reading.
    pub fn reading(&self, key: &Key) -> Option<&Seen> {
        let at = self.readings.binary_search_by(|(known, _)| known.cmp(key)).ok()?;
        Some(&self.readings[at].1)
    }

    /// The value of a reading.
    pub fn value(&self, key: &Key) -> Option<f64> {
        self.reading(key)?.state.value()
    }

    /// All keys, in order.
    pub fn keys(&self) -> impl Iterator<Item = Key> + '_ {
        self.readings.iter().map(|(key, _)| *key)
    }

    /// Its events in order, each with its readings.
    pub fn events(&self) -> impl Iterator<Item = (Event, &[(Key, Seen)])> {
        let same = |a: &(Key, Seen), b: &(Key, Seen)| a.0.event() == b.0.event();
        self.readings.chunk_by(same).map(|all| (all[0].0.event(), all))
    }

    /// The readings of an event.
    pub fn event(&self, event: Event) -> &[(Key, Seen)] {
        let from = self.readings.partition_point(|(key, _)| key.event() < event);
        let to = self.readings.partition_point(|(key, _)| key.event() <= event);
        &self.readings[from..to]
    }
}

fn state(reading: &Reading) -> State {
    match (reading.bound, reading.value) {
        (Some(bound), _) => State::Beyond(bound),
        (None, Some(value)) if reading.quantity.is_counted() => State::Count(value.round() as i64),
        (None, Some(value)) => State::Value(value),
        (None, None) => State::Missing,
    }
}

fn hint(reading: &Reading) -> Option<Blame> {
    reading.blame.filter(|_| reading.verdict == Verdict::Fail)
}
