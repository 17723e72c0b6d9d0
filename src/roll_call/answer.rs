//! What a roll-call found.

use super::bound::{Bound, Effort};
use super::candidates::Candidate;
use super::plan::Copies;
use super::target::Target;
use crate::judge::reading::Verdict;
use crate::signal::target::{Format, Position};
use core::time::Duration;

/// Whether `a` is really `a`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sense {
    /// It is.
    Right,
    /// `a` is `b`, and `b` is `a`.
    Swapped,
    /// No load shows where the output stands.
    Unknown,
}

/// A target that answers.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Where it answers.
    pub target: Target,
    /// The output that moves; `None` when no load shows it.
    pub output: Option<u8>,
    /// Which way it moves.
    pub sense: Sense,
    /// It answers to this position only.
    pub only: Option<Position>,
    /// Outputs that move along with it.
    pub also: Vec<u8>,
    /// How far the feed current rose, amperes, if it did.
    pub coil_a: Option<f64>,
}

/// A module that answers.
#[derive(Clone, Debug, PartialEq)]
pub struct Module {
    /// Where its output 1 is, by its kind's way of counting.
    pub first: Target,
    /// Its answers, in order of their targets.
    pub answers: Vec<Answer>,
    /// It answers with the feed the other way round.
    pub inverted: bool,
    /// How many copies of a command it was sent.
    pub copies: u8,
}

impl Module {
    /// Whether any load shows a move: then it is the module whose leads go to the jig.
    pub fn shows(&self) -> bool {
        self.answers.iter().any(|answer| answer.output.is_some())
    }

    /// Where its output 1 answers: by what most of the outputs say whose loads move, else by its kind's way
    /// of counting.
    pub fn first_by_loads(&self) -> Target {
        let firsts = || {
            let of = |a: &Answer| a.target.plus(1 - i32::from(a.output?));
            self.answers.iter().filter_map(of)
        };
        let count = |first: &Target| firsts().filter(|other| other == first).count();
        let most = firsts().max_by_key(|first| (count(first), *first == self.first));
        most.unwrap_or(self.first)
    }

    /// The answer of an output: of the one that moves, else by its place.
    pub fn answer_of(&self, output: u8) -> Option<&Answer> {
        let by_load = self.answers.iter().find(|a| a.output == Some(output));
        by_load.or_else(|| {
            let place = self.first.plus(i32::from(output) - 1)?;
            self.answers.iter().find(|a| a.target == place && a.output.is_none())
        })
    }
}

/// Whether contact inputs move anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contacts {
    /// They do.
    Work,
    /// None of them does.
    Dead,
    /// The jig cannot close any.
    Untried,
}

/// What is joined that must be apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Short {
    /// The two feed wires.
    FeedWires,
    /// A feed wire and a common.
    FeedToCommons,
    /// Two commons.
    Commons,
    /// The feed has tripped.
    Tripped,
}

/// Why nothing answers.
#[derive(Clone, Debug, PartialEq)]
pub enum Silence {
    /// Something is shorted: measured before power, or seen when the feed tripped.
    Shorted {
        /// What.
        what: Short,
        /// What was measured before power, ohms.
        ohm: Option<f64>,
    },
    /// It draws no current at all.
    Dark {
        /// Feed current, amperes.
        current_a: f64,
    },
    /// It draws current, and nothing moves.
    Unmoved {
        /// Feed current, amperes.
        current_a: f64,
        /// Feed voltage, volts.
        feed_v: Option<f64>,
        /// Whether the contact inputs move anything.
        contacts: Contacts,
        /// It moves on the broadcast, so it hears dcc but has no address of its own.
        hears_broadcast: bool,
    },
}

/// One output of the module that was asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Row<'a> {
    /// The output.
    pub output: u8,
    /// Where it should answer.
    pub expected: Option<Target>,
    /// What was found of it.
    pub found: Option<&'a Answer>,
    /// It is where it should be, and the right way round.
    pub verdict: Verdict,
}

/// All that a roll-call found.
#[derive(Clone, Debug, PartialEq)]
pub struct RollCall {
    /// Serial number of the jig.
    pub jig: String,
    /// Whether it is a simulated bench.
    pub simulated: bool,
    /// Where output 1 should answer.
    pub expected: Target,
    /// Whether somebody wants it there; else it is only where it was tried first.
    pub wanted: bool,
    /// It answered as another kind does: its place among the question's other kinds.
    pub kind: Option<usize>,
    /// The kinds, of those that were known, that do just what was seen.
    pub fits: Vec<String>,
    /// How many outputs the module has.
    pub outputs: u8,
    /// The formats that were asked.
    pub formats: Vec<Format>,
    /// Both polarities of the feed were to be tried.
    pub both_polarities: bool,
    /// The likely other places.
    pub likely: Vec<Candidate>,
    /// How often commands were sent in a row.
    pub copies: Copies,
    /// What answers.
    pub modules: Vec<Module>,
    /// Why nothing does.
    pub silence: Option<Silence>,
    /// It was not looked further after the first module.
    pub stopped_at_first: bool,
    /// The feed current is so restless that not every stir could be looked into.
    pub restless: bool,
    /// What was sent until the first answer was found, its proof not counted.
    pub until_found: Option<Effort>,
    /// What was sent in all.
    pub effort: Effort,
    /// The most that could have been sent.
    pub bound: Bound,
    /// How long it took, by the jig's clock.
    pub took: Duration,
    /// How long it took to ask the expected and the likely places, by the jig's clock, when none of
    /// them answered.
    pub likely_took: Option<Duration>,
}

impl RollCall {
    /// The module that the leads go to: the one whose loads move; else the one that stands where it
    /// should; else the first that was found.
    pub fn own(&self) -> Option<&Module> {
        let all = || self.modules.iter();
        all()
            .find(|module| module.shows())
            .or_else(|| all().find(|module| module.first == self.expected))
            .or_else(|| self.modules.first())
    }

    /// Output by output.
    pub fn rows(&self) -> Vec<Row<'_>> {
        let own = self.own();
        let row = |output: u8| {
            let expected = self.expected.plus(i32::from(output) - 1);
            let found = own.and_then(|module| module.answer_of(output));
            let shows = own.is_some_and(Module::shows);
            let verdict = match found {
                None => Verdict::Fail,
                Some(answer) if Some(answer.target) != expected || answer.only.is_some() => {
                    Verdict::Fail
                }
                Some(answer) => match answer.sense {
                    Sense::Right if answer.also.is_empty() => Verdict::Pass,
                    Sense::Right | Sense::Swapped => Verdict::Fail,
                    // Others of this module move their loads and this one does not.
                    Sense::Unknown if shows && answer.output.is_none() => Verdict::Fail,
                    Sense::Unknown => Verdict::Indeterminate,
                },
            };
            Row { output, expected, found, verdict }
        };
        (1..=self.outputs).map(row).collect()
    }

    /// Whether a module wants more copies of a command than its sheet sends.
    pub fn is_stubborn(&self, module: &Module) -> bool {
        module.copies > self.copies.alone
    }

    /// The verdict, where there is something to be judged: see [`RollCall::verdict`].
    pub fn judged(&self) -> Option<Verdict> {
        self.wanted.then(|| self.verdict())
    }

    /// `pass` when every output is where it should be, the right way round; `indeterminate` when no
    /// load shows which way.
    pub fn verdict(&self) -> Verdict {
        let rows = self.rows();
        let any = |verdict| rows.iter().any(|row| row.verdict == verdict);
        let fails = |module: &Module| module.inverted || self.is_stubborn(module);
        if any(Verdict::Fail) || self.kind.is_some() || self.own().is_none_or(fails) {
            Verdict::Fail
        } else if any(Verdict::Indeterminate) {
            Verdict::Indeterminate
        } else {
            Verdict::Pass
        }
    }
}
