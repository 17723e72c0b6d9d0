//! What a plan does and how long it takes.

use crate::plain::plain;
use crate::script::describe::describe;
use crate::script::plan::{Action, Plan};
use core::time::Duration;
use std::fmt::Write;

/// The text, lines ended. What one line of the script makes is told together.
pub fn plan_text(plan: &Plan) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write(&mut text, plan);
    text
}

fn write(text: &mut String, plan: &Plan) -> std::fmt::Result {
    let module = &plan.module;
    writeln!(text, "{}: {}", plain(&plan.script), plain(&plan.title))?;
    writeln!(
        text,
        "For {}, {} {} address {}",
        plain(&module.title),
        if plan.wanted.address.is_some() { "at" } else { "tried first at" },
        plan.bank.format,
        plan.bank.address
    )?;
    if let Some(loads) = &plan.loads {
        writeln!(text, "On the loads of {}", plain(&loads.title))?;
    }
    if let Some(legend) = module.positions.legend() {
        writeln!(text, "{}", plain(&legend))?;
    }
    let by_hand = plan.steps.iter().filter(|s| matches!(s.action, Action::Ask(_))).count();
    writeln!(
        text,
        "{} steps in {} by the jig's clock, {by_hand} of them by hand (not counted)\n",
        plan.steps.len(),
        seconds(plan.duration())
    )?;
    writeln!(text, "{:>6}  {:>8}  {:>8}", "line", "begins", "lasts")?;
    for told in describe(plan) {
        let (begins, lasts) = (seconds(told.begins), seconds(told.lasts));
        writeln!(text, "{:>6}  {begins:>8}  {lasts:>8}  {}", told.line, plain(&told.words))?;
    }
    Ok(())
}

fn seconds(time: Duration) -> String {
    format!("{:.2} s", time.as_secs_f64())
}
