//! A lot with all its modules, as they stand now.

use super::decision::{Decision, What, Whereabouts};
use super::decisions::{self, Decisions};
use super::error::LotError;
use super::fate::{Fate, Ruling, rule};
use super::order::{FILE, Order};
use super::sample;
use super::tries::{Showed, Try, tries};
use crate::quantity::source::Source;
use crate::record::folder::LotFolder;
use crate::record::names::{is_same_name, key};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// A lot.
#[derive(Debug)]
pub struct Lot {
    /// Its folder.
    pub folder: LotFolder,
    /// What was ordered.
    pub order: Order,
    /// What people decided.
    pub decisions: Decisions,
    /// Its modules, in the order of their serials; those that were tested in it without being of the order last.
    pub modules: Vec<Module>,
    /// The serials of its sample.
    pub sample: Vec<String>,
    /// Where the last module that was tested was found: its first address, and the format.
    pub last_found: Option<(u16, String)>,
}

/// A module of a lot.
#[derive(Clone, Debug)]
pub struct Module {
    /// Its serial.
    pub serial: String,
    /// Whether its serial is one of the order's.
    pub is_ordered: bool,
    /// What becomes of it.
    pub ruling: Ruling,
    /// Its tries.
    pub tries: Vec<Try>,
    /// Where it is, as far as somebody said.
    pub whereabouts: Option<(Whereabouts, Option<String>)>,
    /// The notes on it.
    pub notes: Vec<String>,
    /// Whether it has passed the script of the sample; `None` where it is not of the sample.
    pub sample: Option<bool>,
}

impl Module {
    /// Its last run that came to its end; struck ones are none, nor are those from a bench that failed its check.
    pub fn newest_check(&self) -> Option<&Try> {
        let counts = |one: &&Try| {
            one.showed != Showed::CutShort && !self.ruling.not_counted.contains(&one.run)
        };
        self.tries.iter().rev().find(counts)
    }

    /// The number of its last run; 0 where there is none.
    pub fn last_run(&self) -> u32 {
        self.tries.last().map_or(0, |one| one.run)
    }

    /// Whether anything was tried on a simulated bench only.
    pub fn is_simulated(&self) -> bool {
        self.tries.iter().any(|one| one.simulated)
    }
}

impl Lot {
    /// Whether the folder of a lot holds an order.
    pub fn is_opened(folder: &LotFolder) -> bool {
        folder.path().join(FILE).exists()
    }

    /// Reads a lot that was opened.
    ///
    /// # Errors
    /// When there is none, something is wrong in its order, or a record cannot be read.
    pub fn read(records: &Path, name: &str) -> Result<Lot, LotError> {
        let path = records.join(name).join(FILE);
        if !path.exists() {
            return Err(LotError::refused(format!(
                "there is no lot {name} in {}: open it with `musterbench lot open {name}`",
                records.display()
            )));
        }
        Lot::of(LotFolder::open(records, name)?)
    }

    /// Reads the lot of a folder.
    ///
    /// # Errors
    /// When something is wrong in its order, or a record cannot be read.
    pub fn of(folder: LotFolder) -> Result<Lot, LotError> {
        let order = Order::parse(&Source::read(&folder.path().join(FILE))?)?;
        let decisions = decisions::read(&folder)?;
        let mut lot = Lot {
            folder,
            order,
            decisions,
            modules: Vec::new(),
            sample: Vec::new(),
            last_found: None,
        };
        lot.look()?;
        Ok(lot)
    }

    /// Looks anew what became of its modules.
    ///
    /// # Errors
    /// When a record cannot be read.
    pub fn look(&mut self) -> Result<(), LotError> {
        self.decisions = decisions::read(&self.folder)?;
        self.sample = sample::sample(&self.order, &self.decisions.all);
        let mut tested = BTreeMap::new();
        for folder in self.folder.modules()? {
            let name = folder.path().file_name().and_then(|name| name.to_str());
            if let Some(name) = name {
                tested.insert(key(name), (name.to_owned(), tries(&folder)?));
            }
        }
        let mut modules = Vec::new();
        for serial in self.order.serials.all(self.order.count) {
            let tries = tested.remove(&key(&serial)).map_or(Vec::new(), |(_, tries)| tries);
            modules.push(self.module(serial, true, tries));
        }
        let reference = key(self.order.reference.as_deref().unwrap_or_default());
        let others =
            tested.into_iter().filter(|(key, (_, tries))| *key != reference && !tries.is_empty());
        modules.extend(
            others.map(|(_, (name, tries))| self.module(name, false, tries)).collect::<Vec<_>>(),
        );
        let found = modules.iter().flat_map(|module: &Module| &module.tries);
        let found = found.filter(|one| one.found.is_some());
        let newest = found.max_by(|a, b| a.started.cmp(&b.started));
        self.last_found = newest.and_then(|one| one.found.clone());
        self.modules = modules;
        Ok(())
    }

    fn module(&self, serial: String, is_ordered: bool, tries: Vec<Try>) -> Module {
        let all = &self.decisions.all;
        let ruling = rule(&serial, &tries, all, &self.order.settling_script);
        let own =
            || all.iter().filter(|d| d.what.serial().is_some_and(|s| is_same_name(s, &serial)));
        let whereabouts = own().rev().find_map(|decision| match &decision.what {
            What::Whereabouts { is, at, .. } => Some((*is, at.clone())),
            _ => None,
        });
        let notes = own().filter(|d| matches!(d.what, What::Note { .. }));
        let notes = notes.map(|decision| decision.reason.clone()).collect();
        let is_of_sample = self.sample.iter().any(|one| is_same_name(one, &serial));
        let passes = |script: &str| {
            let counts = |one: &&Try| !ruling.not_counted.contains(&one.run);
            tries.iter().filter(counts).any(|t| t.script == script && t.showed == Showed::Passes)
        };
        let script = self.order.sample.as_ref().map(|sample| sample.script.as_str());
        let sample = is_of_sample.then(|| script.is_some_and(passes));
        Module { serial, is_ordered, ruling, tries, whereabouts, notes, sample }
    }

    /// Its name.
    pub fn name(&self) -> String {
        self.folder.path().file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// The module of a serial.
    ///
    /// # Errors
    /// When there is none.
    pub fn module_of(&self, serial: &str) -> Result<&Module, LotError> {
        self.modules.iter().find(|m| is_same_name(&m.serial, serial)).ok_or_else(|| {
            let name = self.name();
            LotError::refused(format!(
                "there is no module {serial} in the lot {name}: `musterbench lot show {name}` lists them"
            ))
        })
    }

    /// The modules of the sample that have still to pass its script. What goes back need not.
    pub fn sample_left(&self) -> Vec<&Module> {
        let is_left = |m: &&Module| m.sample == Some(false) && m.ruling.fate != Fate::Rejected;
        self.modules.iter().filter(is_left).collect()
    }

    /// The decision that closed it.
    pub fn closed(&self) -> Option<&Decision> {
        self.decisions.all.iter().rev().find(|d| matches!(d.what, What::Close { .. }))
    }

    /// How many modules have each fate.
    pub fn counts(&self) -> [(Fate, usize); 5] {
        let ordered = |fate| self.modules.iter().filter(|m| m.ruling.fate == fate).count();
        Fate::ALL.map(|fate| (fate, ordered(fate)))
    }

    /// The last run of each module that has one.
    pub fn last_runs(&self) -> BTreeMap<String, u32> {
        let tested = self.modules.iter().filter(|m| m.last_run() > 0);
        tested.map(|m| (m.serial.clone(), m.last_run())).collect()
    }

    /// The runs of a jig since its last good check; all of them where there was none.
    pub fn runs_since_good(&self, jig: &str) -> BTreeMap<String, Vec<u32>> {
        let good = self.decisions.all.iter().rev().find_map(|decision| match &decision.what {
            What::BenchGood { jig: j, last } if j == jig => Some(last.clone()),
            _ => None,
        });
        let good = good.unwrap_or_default();
        let since = |module: &Module| {
            let last = good.get(&module.serial).copied().unwrap_or(0);
            let runs: BTreeSet<u32> = module
                .tries
                .iter()
                .filter(|t| t.jig == jig && t.run > last)
                .map(|t| t.run)
                .collect();
            runs.difference(&module.ruling.not_counted).copied().collect::<Vec<u32>>()
        };
        let all = self.modules.iter().map(|module| (module.serial.clone(), since(module)));
        all.filter(|(_, runs)| !runs.is_empty()).collect()
    }
}
