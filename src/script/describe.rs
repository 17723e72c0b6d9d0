//! What a plan does, in words.

use super::address::switches_in_words;
use super::expand::measured_name;
use super::plan::{Action, By, HandTask, LoadChoice, Plan, Polarity, Step};
use crate::signal::target::Clamp;
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
        return alone(one);
    }
    if let Some(round) = round(steps) {
        return format!("{} times: {}", steps.len() / round.len(), together(round));
    }
    let operated = steps.iter().map(|s| match &s.action {
        Action::Operate { output, to, by, .. } => Some((*output, *to, *by)),
        _ => None,
    });
    if let Some(operated) = operated.collect::<Option<Vec<_>>>() {
        let (first, _, by) = operated[0];
        let mut outputs: Vec<u8> = operated.iter().map(|o| o.0).collect();
        outputs.dedup();
        let to: Vec<String> =
            operated.iter().take_while(|o| o.0 == first).map(|o| o.1.to_string()).collect();
        if outputs.len() * to.len() == operated.len() {
            let outputs: Vec<String> = outputs.iter().map(u8::to_string).collect();
            return format!("move {} to {} {}", listed("output", &outputs), to.join(", "), way(by));
        }
    }
    let sent = steps.iter().map(|s| match &s.action {
        Action::Send { output, to } => Some(format!("{output}{to}")),
        _ => None,
    });
    if let Some(sent) = sent.collect::<Option<Vec<_>>>() {
        return format!("send outputs to {}, not judged", sent.join(" "));
    }
    let is_of_switches =
        |s: &Step| matches!(s.action, Action::ProveSwitches(_) | Action::JudgeSwitches { .. });
    if steps.iter().any(is_of_switches) {
        return every_switch(steps);
    }
    let tried = |s: &Step| matches!(s.action, Action::Answer { .. });
    let turned = |s: &Step| matches!(s.action, Action::FeedOff | Action::FeedOn { .. });
    if steps.iter().filter(|s| tried(s)).count() == 2 && steps.iter().all(|s| tried(s) || turned(s))
    {
        return "does it answer, the feed one way round and then the other?".to_owned();
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

/// The addresses at which the switches are shown, and how often the operator is asked.
fn every_switch(steps: &[Step]) -> String {
    let mut places = Vec::new();
    let mut by_hand = 0;
    for step in steps {
        match &step.action {
            Action::Ask(HandTask::Switches(bank)) => {
                let switches = switches_in_words(bank.switches, bank.count);
                places.push(format!("{bank} (switches {switches})"));
                by_hand += 1;
            }
            Action::ProveSwitches(bank) if places.is_empty() => places.push(bank.to_string()),
            _ => {}
        }
    }
    let times = if by_hand == 1 { "once".to_owned() } else { format!("{by_hand} times") };
    format!(
        "every switch in both places, {times} by hand with the power off: {}",
        places.join(", then ")
    )
}

fn alone(step: &Step) -> String {
    match &step.action {
        Action::Ask(HandTask::Prepare { bank, auxiliary }) => {
            let slider = match auxiliary {
                None => String::new(),
                Some(true) => ", slider of the auxiliary supply on".to_owned(),
                Some(false) => ", slider of the auxiliary supply off".to_owned(),
            };
            let switches = switches_in_words(bank.switches, bank.count);
            format!("by hand, power off: seat the module, switches {switches}{slider}")
        }
        Action::Ask(HandTask::Switches(bank)) => {
            let switches = switches_in_words(bank.switches, bank.count);
            format!("by hand, power off: switches {switches}, for {bank}")
        }
        Action::Ask(HandTask::Auxiliary(on)) => {
            let to = if *on { "on" } else { "off" };
            format!("by hand: slider of the auxiliary supply {to}")
        }
        Action::Ask(HandTask::Other(text)) => format!("by hand: {text}"),
        Action::HookUp => "is anything joined that must be apart? (feed wires, commons)".to_owned(),
        Action::FeedOn { polarity, compare, .. } => {
            let polarity = match polarity {
                Polarity::Normal => "",
                Polarity::Inverted => ", polarity inverted",
            };
            let compare = if *compare { ", compare the positions with those before" } else { "" };
            format!("feed on{polarity}: charge, no output may move{compare}")
        }
        Action::FeedOff => "feed off".to_owned(),
        Action::Loads { choice, clamps } => match choice {
            LoadChoice::None => "loads off".to_owned(),
            LoadChoice::Jig => format!("the jig's own loads on {}", clamped(clamps)),
            LoadChoice::Real => format!("the real loads on {}", clamped(clamps)),
        },
        Action::Wait => "wait".to_owned(),
        Action::Send { output, to } => format!("send output {output} to {to}, not judged"),
        Action::Operate { output, to, by, .. } => {
            format!("move output {output} to {to} {}", way(*by))
        }
        Action::Measure { what, .. } => format!("measure the {}", measured_name(*what)),
        Action::Answer { .. } => "does it answer?".to_owned(),
        Action::ProveSwitches(bank) => format!("does it answer at {bank}?"),
        Action::JudgeSwitches { .. } => "is a switch stuck?".to_owned(),
        Action::WatchLamp => "begin to watch the lamp".to_owned(),
        Action::JudgeLamp => "judge the lamp's rhythm".to_owned(),
    }
}

fn way(by: By) -> &'static str {
    match by {
        By::Command => "by command",
        By::Contact => "by its contact inputs",
        By::CommandAgainstContact => {
            "by command against the held contact of the other position: it must stay"
        }
    }
}

fn clamped(clamps: &[Clamp]) -> String {
    if clamps.len() == 8 {
        return "every clamp".to_owned();
    }
    listed("clamp", &clamps.iter().map(Clamp::to_string).collect::<Vec<_>>())
}

/// `output 1`, `outputs 1, 2 and 3`.
fn listed(what: &str, names: &[String]) -> String {
    match names {
        [] => format!("no {what}"),
        [one] => format!("{what} {one}"),
        [first @ .., last] => format!("{what}s {} and {last}", first.join(", ")),
    }
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
