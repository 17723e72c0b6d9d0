//! How often an interval holds the truth, if its budget is right: by drawing.
//!
//! Source: JCGM 101:2008 (propagation of distributions by a Monte Carlo method), 6.4.2 (rectangular
//! distributions for limits), 6.4.9 (Student's, scaled, for a type A evaluation) and clause 7. The
//! factor of 1.96 is that of a normal distribution: where one rectangle dominates, an interval of
//! that width holds more than 95 %.

use super::budget::{Budget, Contribution};
use super::component::RECTANGLE;
use super::unseen::Unseen;
use rand::{Rng, RngExt};
use rand_distr::{ChiSquared, Distribution, StandardNormal};

/// From so many rectangles of one source on, their sum is drawn as a normal value.
const MANY: usize = 12;

/// Draws errors that are distributed as a budget says.
#[derive(Clone, Debug)]
pub struct Errors(Vec<Part>, Unseen);

/// A contribution, drawn by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Part {
    Normal(f64),
    /// Standard uncertainty and degrees of freedom.
    Student(f64, ChiSquared<f64>, f64),
    /// Half-width.
    Rectangle(f64),
}

impl Errors {
    /// Those of a budget.
    pub fn of(budget: &Budget) -> Self {
        let mut parts = Vec::new();
        for line in budget.lines() {
            split(&line, &mut parts);
        }
        Errors(parts, budget.unseen())
    }

    /// One error, in the unit of the budget, if nothing stayed unseen.
    pub fn draw<R: Rng>(&self, rng: &mut R) -> f64 {
        self.0.iter().map(|part| part.draw(rng)).sum()
    }

    /// The share of so many draws that lies within ± `half_width`; of what stayed unseen only what reaches no
    /// farther.
    pub fn share_within<R: Rng>(&self, half_width: f64, draws: u32, rng: &mut R) -> f64 {
        let within = (0..draws).filter(|_| self.draw(rng).abs() <= half_width).count();
        let Unseen { chance, reach } = self.1;
        let seen = within as f64 / f64::from(draws);
        if chance > 0.0 {
            seen * (1.0 - chance) + chance * (half_width / reach.abs()).min(1.0)
        } else {
            seen
        }
    }
}

impl Part {
    fn draw<R: Rng>(&self, rng: &mut R) -> f64 {
        let normal = |rng: &mut R| -> f64 { StandardNormal.sample(rng) };
        match self {
            Part::Normal(standard) => standard * normal(rng),
            Part::Student(standard, chi_squared, dof) => {
                standard * normal(rng) / (chi_squared.sample(rng) / dof).sqrt()
            }
            Part::Rectangle(half_width) => half_width * rng.random_range(-1.0..=1.0),
        }
    }
}

/// What a line of a budget is made of. Limits of one source were added up; they are drawn as
/// rectangles that have the same variance and the same fourth cumulant together: one smaller one, and
/// others of equal size.
fn split(line: &Contribution, parts: &mut Vec<Part>) {
    let variance = line.standard * line.standard;
    let flat = line.cumulant / (RECTANGLE * variance * variance);
    let count = (1.0 / flat - 1e-9).ceil();
    if flat <= 0.0 || count > MANY as f64 {
        parts.push(match ChiSquared::new(line.dof) {
            Ok(chi_squared) if line.dof.is_finite() => {
                Part::Student(line.standard, chi_squared, line.dof)
            }
            _ => Part::Normal(line.standard),
        });
        return;
    }
    // Shares of the variance: p² + (1 − p)² / (n − 1) = flat, with p the smaller one.
    let others = count - 1.0;
    let root = (others * (count * flat - 1.0)).max(0.0).sqrt();
    let smaller = if others > 0.0 { ((1.0 - root) / count).max(0.0) } else { 1.0 };
    let mut rectangle = |share: f64| parts.push(Part::Rectangle((3.0 * share * variance).sqrt()));
    rectangle(smaller);
    (0..others as usize).for_each(|_| rectangle((1.0 - smaller) / others));
}

#[cfg(test)]
mod tests;
