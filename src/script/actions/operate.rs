//! `operate`: outputs move and are judged.

use super::expansion::{Expansion, Written};
use super::foreseen::Bench;
use super::keys::{outputs, positions};
use super::plan::{BankSetting, Plan, Step};
use super::planned::Planned;
use super::{Action, Operate, OperateOutputs, Outputs, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::table::Table;
use crate::quantity::unit::duration;
use crate::script::jig_abilities::JigAbilities;
use crate::script::terms::By;
use crate::script::terms::listed;
use crate::script::timing::{self, Commanded};
use crate::signal::target::{Clamp, Position};
use core::time::Duration;

/// By what an output can be moved.
const WAYS: [(&str, By); 3] = [
    ("command", By::Command),
    ("contact", By::Contact),
    ("command against contact", By::CommandAgainstContact),
];

impl Written for OperateOutputs {
    fn read(table: &mut Table<'_>) -> Result<Self, Located> {
        let positions = positions(table.need("operate", "\"a\" or \"b\", or a list of them")?)?;
        let by = table.take("by").map(|v| v.choice(&WAYS)).transpose()?.unwrap_or(By::Command);
        Ok(OperateOutputs { positions, outputs: outputs(table)?, by })
    }

    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located> {
        let by = self.by;
        let way = match by {
            By::Command => "by command",
            By::Contact => "by contact",
            By::CommandAgainstContact => "against contact",
        };
        for output in plan.outputs(step, &self.outputs)? {
            for &to in &self.positions {
                let clamp = Clamp { output, position: to };
                let settle = timing::settle_at(plan.real_loads(), clamp);
                let BankSetting { format, address, .. } = plan.bank;
                let before = match by {
                    By::Contact => Duration::ZERO,
                    By::Command | By::CommandAgainstContact => {
                        Commanded { sheet: plan.sheet, format, address }.sending(output, to)
                    }
                };
                let window = timing::operate_window(plan.sheet, by, settle, before);
                let settles =
                    timing::operate_settled(plan.sheet, by, settle).saturating_sub(window);
                let operate = Operate { output, to, by, window, settles };
                plan.push(step, &format!("operate {clamp} {way}"), Action::Operate(operate))?;
                plan.lengthen(plan.switching_on());
            }
        }
        Ok(())
    }

    fn shorter(&self) -> Vec<String> {
        let mut all = Vec::new();
        if self.positions.len() > 1 {
            // The first half, and where that leaves the outputs elsewhere, one less.
            for keep in [self.positions.len() / 2, self.positions.len() - 1] {
                let fewer = OperateOutputs {
                    positions: self.positions[..keep].to_vec(),
                    outputs: self.outputs.clone(),
                    by: self.by,
                };
                all.push(fewer.written());
            }
        }
        let one = OperateOutputs { outputs: Outputs::These(vec![1]), ..self.clone() };
        if one != *self {
            all.push(one.written());
        }
        all
    }
}

impl OperateOutputs {
    /// As it stands in a script.
    fn written(&self) -> String {
        let list = |all: Vec<String>| match &all[..] {
            [one] => one.clone(),
            all => format!("[{}]", all.join(", ")),
        };
        let positions = self.positions.iter().map(|position| format!("\"{position}\"")).collect();
        let mut text = format!("{{ operate = {}", list(positions));
        if let Outputs::These(outputs) = &self.outputs {
            text += &format!(", outputs = {}", list(outputs.iter().map(u8::to_string).collect()));
        }
        if let Some((word, _)) =
            WAYS.iter().find(|(_, by)| *by == self.by && self.by != By::Command)
        {
            text += &format!(", by = \"{word}\"");
        }
        text + " }"
    }
}

impl Planned for Operate {
    fn slot(&self, commanded: &Commanded<'_>) -> Duration {
        let sheet = commanded.sheet;
        let active = match self.by {
            By::Command | By::CommandAgainstContact => {
                commanded.sending(self.output, self.to) + self.window
            }
            By::Contact => self.window.max(duration(sheet.contact_closure)),
        };
        timing::LEAD + active + self.settled_after() + duration(sheet.rest)
    }

    fn check(&self, bench: &mut Bench<'_>) {
        bench.need_feed();
        let (output, to) = (self.output, self.to);
        self.stands(bench);
        let [target, other] = [to, to.other()].map(|position| Clamp { output, position });
        if !bench.is_watched(&[target, other]) {
            bench.error(format!(
                "no load hangs at {target} or {other}, so output {output} cannot be watched"
            ));
        } else if !bench.is_watched(&[target]) || !bench.is_watched(&[other]) {
            let bare = if bench.is_watched(&[target]) { other } else { target };
            bench.warn(format!("no load hangs at {bare}, so its contact is not seen"));
        }
        let on = bench.switching_on() + timing::LEAD;
        bench.load_current_flows(on + self.window + self.settled_after());
        self.slow_output(bench);
    }

    fn beyond(&self, _: &Plan, jig: &JigAbilities) -> Vec<String> {
        let position = match self.by {
            By::Command => return Vec::new(),
            By::Contact => self.to,
            By::CommandAgainstContact => self.to.other(),
        };
        let clamp = Clamp { output: self.output, position };
        if jig.contact_closers[clamp.index()] {
            return Vec::new();
        }
        vec![format!("this jig cannot close the contact input {clamp}")]
    }

    fn words(&self) -> String {
        format!("move output {} to {} {}", self.output, self.to, way(self.by))
    }

    fn line_in_words(&self, steps: &[Step]) -> Option<String> {
        let operated = steps.iter().map(|s| match &s.action {
            Action::Operate(operate) => Some((operate.output, operate.to)),
            _ => None,
        });
        let operated = operated.collect::<Option<Vec<(u8, Position)>>>()?;
        let mut outputs: Vec<u8> = operated.iter().map(|o| o.0).collect();
        outputs.dedup();
        let to = operated.iter().take_while(|o| o.0 == self.output).map(|o| o.1.to_string());
        let to: Vec<String> = to.collect();
        if outputs.len() * to.len() != operated.len() {
            return None;
        }
        let outputs: Vec<String> = outputs.iter().map(u8::to_string).collect();
        let outputs = listed("output", &outputs);
        Some(format!("move {outputs} to {} {}", to.join(", "), way(self.by)))
    }

    fn readings(&self) -> usize {
        12
    }
}

impl Operate {
    /// Where the output must stand before, and stands then.
    fn stands(&self, bench: &mut Bench<'_>) {
        let (output, to, other) = (self.output, self.to, self.to.other());
        let stands = bench.positions[usize::from(output) - 1];
        if self.by == By::CommandAgainstContact {
            if stands != Some(other) {
                bench.error(format!(
                    "a command to {to} against the held contact of {other} needs output \
                     {output} at {other} first"
                ));
            }
            return;
        }
        match stands {
            None => bench.error(format!(
                "nobody knows where output {output} stands: send it to {other} first"
            )),
            Some(at) if at == to => {
                bench.error(format!("output {output} stands at {to} already"));
            }
            Some(_) => {}
        }
        bench.positions[usize::from(output) - 1] = Some(to);
    }

    /// An output that may move after the capture has ended would fail though it is sound.
    fn slow_output(&self, bench: &mut Bench<'_>) {
        let longest = timing::longest_move(&bench.plan.module, self.by);
        let most = timing::CAPTURE_MAX.saturating_sub(timing::SETTLED);
        if longest > most {
            let (longest, most) = (longest.as_millis(), most.as_millis());
            bench.error(format!(
                "by its module sheet an output may take {longest} ms to move (response, gap \
                 and bounce), but no more than {most} ms can be captured"
            ));
        }
    }

    /// From the end of the capture until the load has settled and its current is read.
    fn settled_after(&self) -> Duration {
        if self.settles.is_zero() { Duration::ZERO } else { self.settles + timing::SETTLED }
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
