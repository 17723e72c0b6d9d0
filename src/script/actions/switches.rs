//! `switches`: every switch is shown in both places.

use super::expansion::{Expansion, Written};
use super::feed;
use super::foreseen::Bench;
use super::plan::{Plan, Step};
use super::planned::Planned;
use super::{Action, EverySwitch, JudgeSwitches, ProveSwitches, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::quantity::unit::duration;
use crate::script::address::switches_in_words;
use crate::script::every_switch::{self, every_switch};
use crate::script::jig_abilities::JigAbilities;
use crate::script::terms::{BankSetting, By, HandTask};
use crate::script::timing::{Commanded, QUEUED, SWITCHING, ends, longest_move};
use crate::signal::target::{Clamp, Position};
use core::time::Duration;

impl Written for EverySwitch {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        table.need("switches", "\"every\"")?.choice(&[("every", EverySwitch)])
    }

    /// The module is proven to answer as it stands, and then at each of the other settings.
    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        let (sheet, begin) = (plan.sheet, plan.bank.switches);
        let worked_out = plan.every.entry(begin).or_insert_with(|| every_switch(sheet, begin));
        let every_switch::EverySwitch { settings, never } = worked_out.clone();
        prove(step, plan)?;
        let bank = &sheet.switches;
        for switches in settings {
            // All of them have addresses.
            let address = u16::try_from(bank.address_of(switches)).unwrap_or_default();
            let format = bank.format_of(switches);
            feed::off(step, plan)?;
            plan.bank = BankSetting { switches, address, format, ..plan.bank };
            let task = HandTask::Switches(plan.bank);
            plan.push(step, "set switches", Action::Ask(task))?;
            feed::on(step, plan, plan.polarity, false)?;
            prove(step, plan)?;
        }
        plan.push_as(step, "switches", Action::JudgeSwitches(JudgeSwitches { never }))
    }
}

/// Proves the setting as it stands; the name always says which one.
fn prove(step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
    let bank = plan.bank;
    plan.push_as(step, &format!("proven at {bank}"), Action::ProveSwitches(ProveSwitches(bank)))?;
    plan.lengthen(plan.switching_on());
    Ok(())
}

impl Planned for ProveSwitches {
    fn slot(&self, commanded: &Commanded<'_>) -> Duration {
        let sheet = commanded.sheet;
        let moved = longest_move(sheet, By::Command);
        let each = |output: u8| {
            let sent = commanded.sending_either(output);
            2 * (2 * SWITCHING + sent + QUEUED + moved + duration(sheet.rest))
        };
        SWITCHING + ends(sheet.outputs).map(each).sum::<Duration>()
    }

    /// The first output and the last one must be seen to move.
    fn check(&self, bench: &mut Bench<'_>) {
        bench.need_feed();
        for output in ends(bench.plan.module.outputs) {
            let [a, b] = [Position::A, Position::B].map(|position| Clamp { output, position });
            if !bench.is_watched(&[a, b]) {
                bench.error(format!(
                    "no load hangs at {a} or {b}, so output {output} cannot be watched"
                ));
            }
        }
        bench.load_current_flows(bench.lasts());
    }

    fn beyond(&self, _: &Plan, _: &JigAbilities) -> Vec<String> {
        Vec::new()
    }

    fn words(&self) -> String {
        format!("does it answer at {}?", self.0)
    }

    /// The addresses at which the switches are shown, and how often the operator is asked.
    fn line_in_words(&self, steps: &[Step]) -> Option<String> {
        let mut places = vec![self.0.to_string()];
        for step in steps {
            if let Action::Ask(HandTask::Switches(bank)) = &step.action {
                let switches = switches_in_words(bank.switches, bank.count);
                places.push(format!("{bank} (switches {switches})"));
            }
        }
        let by_hand = places.len() - 1;
        let times = if by_hand == 1 { "once".to_owned() } else { format!("{by_hand} times") };
        Some(format!(
            "every switch in both places, {times} by hand with the power off: {}",
            places.join(", then ")
        ))
    }

    fn readings(&self) -> usize {
        4
    }
}

impl Planned for JudgeSwitches {
    fn slot(&self, _: &Commanded<'_>) -> Duration {
        Duration::ZERO
    }

    /// Some switches cannot be shown in both places.
    fn check(&self, bench: &mut Bench<'_>) {
        for switch in &self.never {
            bench.warn(format!(
                "no address shows switch {switch} in its other place, so it is not proven"
            ));
        }
    }

    fn beyond(&self, _: &Plan, _: &JigAbilities) -> Vec<String> {
        Vec::new()
    }

    fn words(&self) -> String {
        "is a switch stuck?".to_owned()
    }

    fn line_in_words(&self, _: &[Step]) -> Option<String> {
        None
    }

    fn readings(&self) -> usize {
        4
    }
}
