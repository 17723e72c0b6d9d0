//! What a plan does, in words.

use super::actions::plan::{Plan, Step};
use super::actions::planned::planned;
use core::time::Duration;

/// The steps that one line of the script makes, told together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// The line of the script.
    pub line: usize,
    /// When it begins, by the script's own time.
    pub begins: Duration,
    /// How long it takes; zero for what the operator does.
    pub lasts: Duration,
    /// How many steps it makes.
    pub steps: usize,
    /// What it does.
    pub words: String,
}

/// What a plan does, in words: an entry for each line of the script, in the order of the plan.
pub fn describe(plan: &Plan) -> Vec<Told> {
    let mut begins = Duration::ZERO;
    let mut told = Vec::new();
    for steps in plan.steps.chunk_by(|a, b| a.line == b.line) {
        let lasts = steps.iter().map(|s| s.duration).sum();
        let words = together(steps);
        told.push(Told { line: steps[0].line, begins, lasts, steps: steps.len(), words });
        begins += lasts;
    }
    told
}

/// The steps of one line. They are of one kind, unless a whole `repeat` stands on the line.
fn together(steps: &[Step]) -> String {
    if let [one] = steps {
        return planned(&one.action).words();
    }
    if let Some(round) = round(steps) {
        return format!("{} times: {}", steps.len() / round.len(), together(round));
    }
    if let Some(words) = planned(&steps[0].action).line_in_words(steps) {
        return words;
    }
    let (first, last) = (&steps[0], &steps[steps.len() - 1]);
    format!("{} steps, from \"{}\" to \"{}\"", steps.len(), first.name, last.name)
}

/// The steps that are done several times over, once.
fn round(steps: &[Step]) -> Option<&[Step]> {
    let is_round = |length: &usize| {
        let first = steps[..*length].iter().cycle();
        steps.len().is_multiple_of(*length)
            && steps.iter().zip(first).all(|(a, b)| a.action == b.action)
    };
    (1..=steps.len() / 2).find(is_round).map(|length| &steps[..length])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::{expand, shipped};

    #[test]
    fn the_addresses_of_every_switch_in_words() {
        let script = shipped::script("thorough").unwrap();
        let told = |kind| {
            let sheet = shipped::module_sheet(kind).unwrap();
            let plan = expand(&script, &sheet, None, None).unwrap();
            let told = describe(&plan);
            let words = told.into_iter().map(|told| told.words);
            words.filter(|words| words.contains("switch in") || words.contains("times:")).collect()
        };
        let told: Vec<Vec<String>> = vec![told("pier-four"), told("quay-four"), told("jetty-two")];
        insta::assert_snapshot!(told.concat().join("\n"));
    }

    #[test]
    fn the_arrival_script_in_words() {
        let script = shipped::script("arrival").unwrap();
        let sheet = shipped::module_sheet("pier-four").unwrap();
        let plan = expand(&script, &sheet, None, None).unwrap();
        let text: Vec<String> = describe(&plan)
            .iter()
            .map(|t| {
                let (begins, lasts) = (t.begins.as_secs_f64(), t.lasts.as_secs_f64());
                format!("{begins:6.2} {lasts:6.2} {:3} {}", t.steps, t.words)
            })
            .collect();
        let total: Duration = describe(&plan).iter().map(|t| t.lasts).sum();
        assert_eq!(total, plan.duration());
        insta::assert_snapshot!(text.join("\n"));
    }
}
