//! Whether the jig at hand can do what the plan wants, asked before the feed is ever on.

use crate::link::client::Jig;
use crate::run::ongoing::OngoingRun;
use crate::run::step_stop::StepStop;
use crate::script::check::{JigAbilities, against_jig, told_by_voltage};
use crate::signal::target::Clamp;
use crate::wire::channel::{
    CLAMP_CURRENT, CLAMP_VOLTAGE, CONTACT_CLOSER, FEED_CURRENT, FEED_RESISTANCE, FEED_VOLTAGE,
    JIG_LOAD, LOAD_SWITCH, LOAD_TOTAL, LOAD_VOLTAGE,
};

/// Ends the run when the jig cannot do a step.
pub(super) fn refuse_what_cannot_be_done(run: &OngoingRun<'_, '_>) -> Result<(), StepStop> {
    let findings = against_jig(run.plan, &of(run.bench.jig));
    match findings.first() {
        None => Ok(()),
        Some(f) => {
            let (line, step, message) = (f.line, &f.step, &f.message);
            let script = &run.plan.script;
            let sentence = format!("script {script}, line {line}, step \"{step}\": {message}");
            Err(StepStop::Trouble(sentence))
        }
    }
}

/// Which loads of the plan draw too little for the jig at hand to tell by their current.
pub(super) fn small_loads(run: &OngoingRun<'_, '_>) -> Vec<String> {
    told_by_voltage(run.plan, &of(run.bench.jig))
}

/// What a jig can do, from the channels that it describes.
pub fn of(jig: &Jig) -> JigAbilities {
    let has = |channel: u16| jig.channel(channel).is_some();
    let highest = |channel: u16| jig.channel(channel).map(|d| d.maximum);
    let at_clamps = |first: u16| Clamp::ALL.map(|c| has(c.channel(first)));
    let offset = |channel: u16| jig.channel(channel).map(|d| d.offset_limit);
    let highest_at_clamps = |first: u16| Clamp::ALL.map(|c| highest(c.channel(first)));
    JigAbilities {
        feed_voltage_v: highest(FEED_VOLTAGE),
        feed_current: has(FEED_CURRENT),
        feed_resistance: has(FEED_RESISTANCE),
        load_voltage_v: highest(LOAD_VOLTAGE),
        clamp_voltage_v: highest_at_clamps(CLAMP_VOLTAGE),
        load_total: has(LOAD_TOTAL),
        clamp_current_a: highest_at_clamps(CLAMP_CURRENT),
        clamp_offset_a: Clamp::ALL.map(|c| offset(c.channel(CLAMP_CURRENT))),
        contact_closers: at_clamps(CONTACT_CLOSER),
        load_switches: at_clamps(LOAD_SWITCH),
        jig_loads: at_clamps(JIG_LOAD),
    }
}
