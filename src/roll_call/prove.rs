//! Output by output: which address moves which output, and which way.

use super::answer::{Answer, Module, Sense};
use super::call_stop::CallStop;
use super::caller::Caller;
use super::positions::Moved;
use super::target::Target;
use super::watch::Heard;
use crate::signal::target::Position;

/// What a target did when it was sent to `a` and to `b`.
#[derive(Clone, Debug, Default)]
struct Asked {
    a: Heard,
    b: Heard,
}

impl Caller<'_> {
    /// Proves the module that answers at a target, or says that there is none after all. What
    /// answers beside its own addresses is looked for when an output is missing.
    pub fn prove(&mut self, target: Target, copies: u8) -> Result<Option<Module>, CallStop> {
        let outputs = i32::from(self.plan.outputs);
        let first = self.first_of(target);
        let mut answers = Vec::new();
        for by in 0..outputs {
            self.prove_one(first.plus(by), copies, &mut answers)?;
        }
        if answers.is_empty() {
            return Ok(None);
        }
        // Loads tell whose the answers are. Without them what answers beside it may well be another
        // module.
        let shows = answers.iter().any(|answer: &Answer| answer.output.is_some());
        let beside = (1..outputs).map(|by| outputs - 1 + by).chain((1..outputs).map(|by| -by));
        for by in beside {
            if shows && answers.len() < usize::from(self.plan.outputs) {
                self.prove_one(first.plus(by), copies, &mut answers)?;
            }
        }
        answers.sort_by_key(|answer| answer.target);
        Ok(Some(Module { first, answers, inverted: false, copies }))
    }

    /// The target of output 1, if the module's addresses begin where its kind's do.
    fn first_of(&self, target: Target) -> Target {
        let step = i32::from(self.sheet.switches.step.max(1));
        let by = (i32::from(target.place) - i32::from(self.plan.expected.place)).rem_euclid(step);
        // A place beyond the module's outputs is no place of a module that begins there.
        let by = if by < i32::from(self.plan.outputs) { by } else { 0 };
        target.plus(-by).unwrap_or(target)
    }

    fn prove_one(
        &mut self,
        target: Option<Target>,
        copies: u8,
        answers: &mut Vec<Answer>,
    ) -> Result<(), CallStop> {
        let Some(target) = target else { return Ok(()) };
        let mut asked = Asked { a: self.ask(&[target], Position::A, copies)?, ..Asked::default() };
        asked.b = self.ask(&[target], Position::B, copies)?;
        // Perhaps it stood in `a` already, or one was lost.
        if asked.a.is_silent() {
            asked.a = self.ask(&[target], Position::A, copies)?;
        }
        if asked.b.is_silent() {
            asked.b = self.ask(&[target], Position::B, copies)?;
        }
        answers.extend(answer(target, &asked));
        Ok(())
    }
}

/// What a target's answers mean; `None` when it does not answer.
fn answer(target: Target, asked: &Asked) -> Option<Answer> {
    let Asked { a, b } = asked;
    if a.is_silent() && b.is_silent() {
        return None;
    }
    let ways = [(Position::A, a), (Position::B, b)];
    // The output that moves in more of the two ways is meant; others follow it.
    let count =
        |output: u8| ways.iter().filter(|(_, heard)| moved(heard, output).is_some()).count();
    let output = (1..=4u8).filter(|&o| count(o) > 0).max_by_key(|&o| (count(o), 5 - o));
    let also = (1..=4u8).filter(|&o| Some(o) != output && count(o) > 0).collect();
    let goes = |output: u8, turned: bool| {
        ways.iter().any(|(sent, heard)| {
            let to = if turned { sent.other() } else { *sent };
            moved(heard, output).is_some_and(|m| m.to == Some(to))
        })
    };
    let sense = match output.map(|output| (goes(output, false), goes(output, true))) {
        Some((true, false)) => Sense::Right,
        Some((false, true)) => Sense::Swapped,
        _ => Sense::Unknown,
    };
    let only = match (a.is_silent(), b.is_silent()) {
        (false, true) => Some(Position::A),
        (true, false) => Some(Position::B),
        _ => None,
    };
    let coil_a = ways.iter().flat_map(|(_, h)| &h.coils).map(|c| c.height_a).reduce(f64::max);
    Some(Answer { target, output, sense, only, also, coil_a })
}

fn moved(heard: &Heard, output: u8) -> Option<&Moved> {
    heard.moved.iter().find(|m| m.output == output)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::target::Format;

    const AT: Target = Target { format: Format::Dcc, place: 80 };

    fn heard(moves: &[(u8, Position)]) -> Heard {
        let moved = moves.iter().map(|&(output, to)| Moved { output, to: Some(to) }).collect();
        Heard { moved, coils: Vec::new() }
    }

    fn of(a: &[(u8, Position)], b: &[(u8, Position)]) -> Option<Answer> {
        answer(AT, &Asked { a: heard(a), b: heard(b) })
    }

    #[test]
    fn the_moves_say_which_output_and_which_way() {
        use Position::{A, B};
        assert_eq!(of(&[], &[]), None);
        let right = of(&[(2, A)], &[(2, B)]).unwrap();
        assert_eq!((right.output, right.sense, right.only), (Some(2), Sense::Right, None));
        let swapped = of(&[(3, B)], &[(3, A)]).unwrap();
        assert_eq!((swapped.output, swapped.sense), (Some(3), Sense::Swapped));
        let one_way = of(&[], &[(1, B)]).unwrap();
        assert_eq!((one_way.only, one_way.sense), (Some(B), Sense::Right));
        let followed = of(&[(1, A)], &[(1, B), (2, B)]).unwrap();
        assert_eq!((followed.output, followed.also), (Some(1), vec![2]));
    }
}
