//! From steps as they are written to those of a plan.

use super::plan::{BankSetting, LoadChoice, Polarity, Step};
use super::planned::planned;
use super::{Action, Outputs, WrittenStep, on_verb};
use crate::load::sheet::LoadSheet;
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::script::every_switch::EverySwitch;
use crate::script::module_sheet::ModuleSheet;
use crate::script::switching_on::switching_on;
use crate::script::timing::Commanded;
use crate::signal::target::Clamp;
use core::time::Duration;
use std::collections::HashMap;

/// The most steps that a plan may have.
pub const STEPS_MAX: usize = 10_000;

/// What every verb says of itself.
pub(in crate::script) trait Written: Sized {
    /// Reads it from the table of its step.
    fn read(table: &mut Table<'_>) -> Result<Self, Located>;

    /// Becomes steps of a plan.
    fn expand(&self, step: &WrittenStep, plan: &mut Expansion<'_>) -> Result<(), Located>;

    /// How it is written to do less in less time; nothing where it can only be left out.
    fn shorter(&self) -> Vec<String> {
        Vec::new()
    }
}

/// The plan as far as it is expanded.
pub(in crate::script) struct Expansion<'x> {
    /// The file of the script.
    pub source: &'x Source,
    pub sheet: &'x ModuleSheet,
    pub loads: Option<&'x LoadSheet>,
    /// How the switches stand to begin with.
    pub first: BankSetting,
    /// How they stand by now.
    pub bank: BankSetting,
    pub connected: LoadChoice,
    pub clamps: Vec<Clamp>,
    /// How the feed was last turned on.
    pub polarity: Polarity,
    visits: usize,
    used: HashMap<String, u32>,
    /// What shows every switch, from each setting that it was asked from.
    pub every: HashMap<u32, EverySwitch>,
    pub steps: Vec<Step>,
}

impl<'x> Expansion<'x> {
    /// Nothing yet, for a module whose switches stand so to begin with.
    pub fn new(
        source: &'x Source,
        sheet: &'x ModuleSheet,
        loads: Option<&'x LoadSheet>,
        first: BankSetting,
    ) -> Self {
        Expansion {
            source,
            sheet,
            loads,
            first,
            bank: first,
            connected: LoadChoice::None,
            clamps: Vec::new(),
            polarity: Polarity::Normal,
            visits: 0,
            used: HashMap::new(),
            every: HashMap::new(),
            steps: Vec::new(),
        }
    }

    /// Expands steps, one after the other.
    pub fn all(&mut self, steps: &[WrittenStep]) -> Result<(), Located> {
        steps.iter().try_for_each(|step| self.one(step))
    }

    fn one(&mut self, step: &WrittenStep) -> Result<(), Located> {
        // Nested repeats of steps that this kind leaves out must end too.
        self.visits += 1;
        if self.visits > 10 * STEPS_MAX {
            return Err(self.error(step, "the script repeats too often"));
        }
        on_verb!(&step.verb, verb => verb.expand(step, self))
    }

    /// The outputs that a step means.
    pub fn outputs(&self, step: &WrittenStep, outputs: &Outputs) -> Result<Vec<u8>, Located> {
        let count = self.sheet.outputs;
        match outputs {
            Outputs::All => Ok((1..=count).collect()),
            Outputs::These(these) => match these.iter().find(|o| **o > count) {
                None => Ok(these.clone()),
                Some(o) => {
                    let kind = &self.sheet.kind;
                    let message = format!("there is no output {o}: a {kind} has {count}");
                    Err(self.error(step, message))
                }
            },
        }
    }

    /// The load sheet, while its loads are connected.
    pub fn real_loads(&self) -> Option<&'x LoadSheet> {
        self.loads.filter(|_| self.connected == LoadChoice::Real)
    }

    /// Appends a step. Its name is made unique with a number, and says where the module's switches
    /// stand when that is no longer where they stood first: where a reading was taken must be seen in
    /// the report.
    pub fn push(&mut self, step: &WrittenStep, name: &str, action: Action) -> Result<(), Located> {
        if self.bank == self.first {
            self.push_as(step, name, action)
        } else {
            self.push_as(step, &format!("{name} at {}", self.bank), action)
        }
    }

    /// Appends a step by this name, which is made unique with a number.
    pub fn push_as(
        &mut self,
        step: &WrittenStep,
        name: &str,
        action: Action,
    ) -> Result<(), Located> {
        if self.steps.len() >= STEPS_MAX {
            let message = format!("the script expands to more than {STEPS_MAX} steps from here on");
            return Err(self.error(step, message));
        }
        let times = self.used.entry(name.to_owned()).and_modify(|n| *n += 1).or_insert(1);
        let name = if *times == 1 { name.to_owned() } else { format!("{name} ({times})") };
        let BankSetting { format, address, .. } = self.bank;
        let duration = planned(&action).slot(&Commanded { sheet: self.sheet, format, address });
        self.steps.push(Step { name, action, duration, line: step.line });
        Ok(())
    }

    /// How much longer the loads take to go on than at once, each time that the load supply comes on.
    pub fn switching_on(&self) -> Duration {
        switching_on(self.real_loads(), &self.clamps)
    }

    /// The last step takes so much longer.
    pub fn lengthen(&mut self, by: Duration) {
        if let Some(last) = self.steps.last_mut() {
            last.duration += by;
        }
    }

    /// An error that points at a step.
    pub fn error(&self, step: &WrittenStep, message: impl Into<String>) -> Located {
        self.source.error(step.span.clone(), message)
    }
}
