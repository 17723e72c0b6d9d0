//! From a script to a plan for one module.

use super::address::set_to;
use super::every_switch::{EverySwitch, every_switch};
use super::module_sheet::ModuleSheet;
use super::plan::{Action, BankSetting, By, HandTask, LoadChoice, Measured, Plan, Polarity, Step};
use super::steps::{Outputs, Script, Verb, WrittenStep};
use super::timing;
use crate::load::sheet::LoadSheet;
use crate::quantity::located::Located;
use crate::signal::target::{Clamp, Position};
use core::time::Duration;
use std::collections::HashMap;

/// The most steps that a plan may have.
pub const STEPS_MAX: usize = 10_000;

/// Expands a script for one kind of module, its loads and its first address (`None`: the script's,
/// else the sheet's).
///
/// # Errors
/// When the module cannot be set to the address or lacks a named output, when real loads are wanted
/// without a load sheet, or when the plan becomes too long. What else may be wrong with a plan,
/// [`super::check::check`] finds.
pub fn expand(
    script: &Script,
    sheet: &ModuleSheet,
    loads: Option<&LoadSheet>,
    address: Option<i64>,
) -> Result<Plan, Located> {
    let format = script.format.as_ref().map_or(sheet.switches.format_when_on, |f| f.0);
    let (address, named_at) = match (address, &script.address) {
        (Some(given), _) => (given, None),
        (None, Some((written, span))) => (i64::from(*written), Some(span.clone())),
        (None, None) => (i64::from(sheet.try_address), None),
    };
    let (address, switches) = set_to(sheet, address, format).map_err(|message| {
        let span = named_at.or(script.format.as_ref().map(|f| f.1.clone()));
        match span {
            Some(span) => script.source.error(span, message),
            None => Located { file: script.source.name().to_owned(), place: None, message },
        }
    })?;
    let count = sheet.switches.weights.len() as u8;
    let first = BankSetting { switches, count, address, format };
    let mut out = Expansion {
        script,
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
    };
    out.all(&script.steps)?;
    let uses_real = |s: &Step| matches!(s.action, Action::Loads { choice: LoadChoice::Real, .. });
    Ok(Plan {
        script: script.name.clone(),
        title: script.title.clone(),
        rule: script.rule,
        calibration_max_days: script.calibration_max_days,
        module: sheet.clone(),
        loads: loads.filter(|_| out.steps.iter().any(uses_real)).cloned(),
        bank: first,
        steps: out.steps,
    })
}

struct Expansion<'x> {
    script: &'x Script,
    sheet: &'x ModuleSheet,
    loads: Option<&'x LoadSheet>,
    /// How the switches stand to begin with.
    first: BankSetting,
    /// How they stand by now.
    bank: BankSetting,
    connected: LoadChoice,
    clamps: Vec<Clamp>,
    /// How the feed was last turned on.
    polarity: Polarity,
    visits: usize,
    used: HashMap<String, u32>,
    /// What shows every switch, from each setting that it was asked from.
    every: HashMap<u32, EverySwitch>,
    steps: Vec<Step>,
}

impl Expansion<'_> {
    fn all(&mut self, steps: &[WrittenStep]) -> Result<(), Located> {
        steps.iter().try_for_each(|step| self.one(step))
    }

    fn one(&mut self, step: &WrittenStep) -> Result<(), Located> {
        // Nested repeats of steps that this kind leaves out must end too.
        self.visits += 1;
        if self.visits > 10 * STEPS_MAX {
            return Err(self.error(step, "the script repeats too often"));
        }
        match &step.verb {
            Verb::Repeat { times, steps } => (0..*times).try_for_each(|_| self.all(steps)),
            Verb::Prepare { auxiliary } => {
                self.bank = self.first;
                let task = HandTask::Prepare {
                    bank: self.bank,
                    auxiliary: self.sheet.auxiliary_current.map(|_| *auxiliary),
                };
                self.push(step, "prepare", Action::Ask(task))
            }
            Verb::Slider(_) if self.sheet.auxiliary_current.is_none() => Ok(()),
            Verb::Slider(on) => {
                let name = if *on { "slider on" } else { "slider off" };
                self.push(step, name, Action::Ask(HandTask::Auxiliary(*on)))
            }
            Verb::ByHand(text) => {
                self.push(step, "by hand", Action::Ask(HandTask::Other(text.clone())))
            }
            Verb::HookUp => self.push(step, "hook-up", Action::HookUp),
            Verb::FeedOn { polarity, compare } => self.feed_on(step, *polarity, *compare),
            Verb::FeedOff => self.push(step, "feed off", Action::FeedOff),
            Verb::Loads { choice, clamps } => self.connect(step, *choice, clamps.as_deref()),
            Verb::Wait(time) => self.wait(step, "wait", *time),
            Verb::Send { positions, outputs } => {
                let outputs = self.outputs(step, outputs)?;
                for (output, to) in outputs.into_iter().zip(positions.iter().cycle().copied()) {
                    let name = format!("send {output}{to}");
                    self.push(step, &name, Action::Send { output, to })?;
                }
                Ok(())
            }
            Verb::Operate { positions, outputs, by } => {
                for output in self.outputs(step, outputs)? {
                    for to in positions {
                        self.operate(step, output, *to, *by)?;
                    }
                }
                Ok(())
            }
            Verb::Measure { what: Measured::AuxiliaryCurrent, .. }
                if self.sheet.auxiliary_current.is_none() =>
            {
                Ok(())
            }
            Verb::Measure { what, over } => {
                let name = measured_name(*what);
                self.push(step, name, Action::Measure { what: *what, window: *over })?;
                // The load supply comes on for these, and the loads must settle first.
                if *what == Measured::LoadStart {
                    let starts = timing::starts(self.real_loads(), &self.clamps);
                    if let Some(last) = self.steps.last_mut() {
                        last.duration += starts;
                    }
                    return Ok(());
                }
                let settle = timing::slowest(self.real_loads(), &self.clamps);
                if matches!(what, Measured::LoadTotal | Measured::LoadVoltage)
                    && let Some(last) = self.steps.last_mut()
                {
                    last.duration += settle;
                }
                Ok(())
            }
            Verb::BothPolarities if !self.sheet.try_inverted => Ok(()),
            Verb::BothPolarities => {
                let first = self.polarity;
                for polarity in [first, first.other()] {
                    self.answer(step, polarity)?;
                    self.push(step, "feed off", Action::FeedOff)?;
                    self.feed_on(step, polarity.other(), false)?;
                }
                Ok(())
            }
            Verb::EverySwitch => self.every_switch(step),
            Verb::WatchLamp => self.push(step, "watch lamp", Action::WatchLamp),
            Verb::JudgeLamp { blinks } => {
                let need = timing::blinks(self.sheet, *blinks);
                let watched = self.watched();
                if let Some(more) = need.checked_sub(watched).filter(|t| !t.is_zero()) {
                    self.wait(step, "watch on", more)?;
                }
                self.push(step, "judge lamp", Action::JudgeLamp)
            }
        }
    }

    fn feed_on(
        &mut self,
        step: &WrittenStep,
        polarity: Polarity,
        compare: bool,
    ) -> Result<(), Located> {
        self.polarity = polarity;
        let name = match polarity {
            Polarity::Normal => "feed on",
            Polarity::Inverted => "feed on inverted",
        };
        let window = timing::feed_on_window(self.sheet);
        self.push(step, name, Action::FeedOn { polarity, compare, window })
    }

    fn answer(&mut self, step: &WrittenStep, polarity: Polarity) -> Result<(), Located> {
        let name = match polarity {
            Polarity::Normal => "answer",
            Polarity::Inverted => "answer inverted",
        };
        self.push(step, name, Action::Answer { polarity })
    }

    /// The module is proven to answer as it stands, and then at each of the other settings.
    fn every_switch(&mut self, step: &WrittenStep) -> Result<(), Located> {
        let begin = self.bank.switches;
        let worked_out = self.every.entry(begin).or_insert_with(|| every_switch(self.sheet, begin));
        let EverySwitch { settings, never } = worked_out.clone();
        self.push(step, "proven", Action::ProveSwitches(self.bank))?;
        let bank = &self.sheet.switches;
        for switches in settings {
            // All of them have addresses.
            let address = u16::try_from(bank.address_of(switches)).unwrap_or_default();
            let format = bank.format_of(switches);
            self.push(step, "feed off", Action::FeedOff)?;
            self.bank = BankSetting { switches, address, format, ..self.bank };
            let task = HandTask::Switches(self.bank);
            self.push(step, "set switches", Action::Ask(task))?;
            self.feed_on(step, self.polarity, false)?;
            self.push(step, "proven", Action::ProveSwitches(self.bank))?;
        }
        self.push(step, "switches", Action::JudgeSwitches { never })
    }

    fn wait(&mut self, step: &WrittenStep, name: &str, time: Duration) -> Result<(), Located> {
        self.push(step, name, Action::Wait)?;
        if let Some(last) = self.steps.last_mut() {
            last.duration = time;
        }
        Ok(())
    }

    /// For how long the lamp has been watched; for ever when it is not, so that nothing waits.
    fn watched(&self) -> Duration {
        let begun = self.steps.iter().rposition(|s| s.action == Action::WatchLamp);
        begun.map_or(Duration::MAX, |i| self.steps[i + 1..].iter().map(|s| s.duration).sum())
    }

    fn connect(
        &mut self,
        step: &WrittenStep,
        choice: LoadChoice,
        named: Option<&[Clamp]>,
    ) -> Result<(), Located> {
        let has = |c: &Clamp| c.output <= self.sheet.outputs;
        let real = |c: &Clamp| self.loads.is_some_and(|sheet| sheet.clamps[c.index()].is_some());
        if choice == LoadChoice::Real && self.loads.is_none() {
            return Err(self.error(step, "real loads need a load sheet: give one with --loads"));
        }
        let clamps: Vec<Clamp> = match named {
            None => Clamp::ALL
                .into_iter()
                .filter(|c| has(c) && (choice != LoadChoice::Real || real(c)))
                .collect(),
            Some(named) => named.to_vec(),
        };
        if let Some(c) = clamps.iter().find(|c| !has(c)) {
            return Err(self.error(step, format!("a {} has no clamp {c}", self.sheet.kind)));
        }
        if choice == LoadChoice::Real
            && let Some(c) = clamps.iter().find(|c| !real(c))
        {
            return Err(self.error(step, format!("the load sheet has nothing at clamp {c}")));
        }
        self.connected = choice;
        self.clamps.clone_from(&clamps);
        let name = match choice {
            LoadChoice::None => "loads off",
            LoadChoice::Jig => "loads jig",
            LoadChoice::Real => "loads real",
        };
        self.push(step, name, Action::Loads { choice, clamps })
    }

    fn operate(
        &mut self,
        step: &WrittenStep,
        output: u8,
        to: Position,
        by: By,
    ) -> Result<(), Located> {
        let clamp = Clamp { output, position: to };
        let settle = timing::settle_at(self.real_loads(), clamp);
        let window = timing::operate_window(self.sheet, by, settle);
        let way = match by {
            By::Command => "by command",
            By::Contact => "by contact",
            By::CommandAgainstContact => "against contact",
        };
        let name = format!("operate {clamp} {way}");
        self.push(step, &name, Action::Operate { output, to, by, window })
    }

    fn outputs(&self, step: &WrittenStep, outputs: &Outputs) -> Result<Vec<u8>, Located> {
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
    fn real_loads(&self) -> Option<&LoadSheet> {
        self.loads.filter(|_| self.connected == LoadChoice::Real)
    }

    /// Appends a step. Its name is made unique with a number.
    fn push(&mut self, step: &WrittenStep, name: &str, action: Action) -> Result<(), Located> {
        if self.steps.len() >= STEPS_MAX {
            let message = format!("the script expands to more than {STEPS_MAX} steps from here on");
            return Err(self.error(step, message));
        }
        // Where a reading was taken must be seen in the report.
        let is_named = self.bank != self.first || matches!(action, Action::ProveSwitches(_));
        let name = if is_named && !matches!(action, Action::JudgeSwitches { .. }) {
            &format!("{name} at {}", self.bank)
        } else {
            name
        };
        let times = self.used.entry(name.to_owned()).and_modify(|n| *n += 1).or_insert(1);
        let name = if *times == 1 { name.to_owned() } else { format!("{name} ({times})") };
        let duration = timing::slot(self.sheet, self.bank.format, self.bank.address, &action);
        self.steps.push(Step { name, action, duration, line: step.line });
        Ok(())
    }

    fn error(&self, step: &WrittenStep, message: impl Into<String>) -> Located {
        self.script.source.error(step.span.clone(), message)
    }
}

/// A measured quantity as scripts and reports name it.
pub const fn measured_name(what: Measured) -> &'static str {
    match what {
        Measured::IdleCurrent => "idle current",
        Measured::AuxiliaryCurrent => "auxiliary current",
        Measured::FeedVoltage => "feed voltage",
        Measured::LoadVoltage => "load voltage",
        Measured::LoadTotal => "load total",
        Measured::LoadStart => "load start",
    }
}
