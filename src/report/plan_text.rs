//! What a plan does and how long it takes.

use super::plain::plain;
use crate::script::plan::{Action, HandTask, Plan, Step};
use core::time::Duration;
use std::fmt::Write;

/// The text, lines ended. Steps of the same line of the script are told together.
pub fn plan_text(plan: &Plan) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write(&mut text, plan);
    text
}

fn write(text: &mut String, plan: &Plan) -> std::fmt::Result {
    let module = &plan.module;
    writeln!(text, "{}: {}", plain(&plan.script), plain(&plan.title))?;
    writeln!(text, "For {} at {} address {}", plain(&module.title), plan.format, plan.address)?;
    if let Some(loads) = &plan.loads {
        writeln!(text, "On the loads of {}", plain(&loads.title))?;
    }
    let by_hand = plan.steps.iter().filter(|s| matches!(s.action, Action::Ask(_))).count();
    writeln!(
        text,
        "{} steps in {} by the jig's clock, {by_hand} of them by hand (not counted)\n",
        plan.steps.len(),
        seconds(plan.duration())
    )?;
    for together in plan.steps.chunk_by(|a, b| a.line == b.line) {
        let (Some(first), Some(last)) = (together.first(), together.last()) else { continue };
        let time: Duration = together.iter().map(|s| s.duration).sum();
        let name = match together.len() {
            1 => plain(&first.name),
            n => format!("{} … {} ({n} steps)", plain(&first.name), plain(&last.name)),
        };
        writeln!(
            text,
            "{:>6}  {:>8}  {name}",
            format!("line {}", first.line),
            shown_time(first, time)
        )?;
    }
    Ok(())
}

fn shown_time(step: &Step, time: Duration) -> String {
    match &step.action {
        Action::Ask(HandTask::Prepare { .. } | HandTask::Auxiliary(_) | HandTask::Other(_)) => {
            "by hand".into()
        }
        _ => seconds(time),
    }
}

fn seconds(time: Duration) -> String {
    format!("{:.2} s", time.as_secs_f64())
}
