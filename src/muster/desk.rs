//! The desk: all stations of a muster, and whoever sits at the keyboard. It knows no jig and no screen: it takes
//! what happens, one thing after the other, and gives orders to the stations.
//!
//! Start counts only while a station is ready for it, and only once: what comes before, while a module is tested,
//! or before the last one has left, starts nothing.

use super::asking::Asking;
use super::happening::{Happening, Job, Order};
use super::station::{Seating, Stands, Station};
use super::told::Told;
use super::turn;
use crate::lot::LotError;
use crate::lot::claims;
use crate::lot::decision::Decision;
use crate::lot::fate::Fate;
use crate::lot::keep::keep;
use crate::lot::standing::Lot;
use core::time::Duration;
use std::collections::BTreeMap;

/// After so long a bench is looked at again.
pub const GOOD_FOR: Duration = Duration::from_secs(8 * 3600);

/// When a bench is looked at.
pub(super) const FIRST: &str = "before the first module";
pub(super) const LAST: &str = "after the last module";
pub(super) const AGED: &str = "after eight hours";
pub(super) const SUSPECT: &str = "after a failure that is none of a module's";
pub(super) const CUT_SHORT: &str = "after a run that was cut short";
pub(super) const ANEW: &str = "after it was put right";

/// What sort of start it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum By {
    Enter,
    Button,
}

/// How a muster ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum End {
    /// Nothing is left to do here.
    Done,
    /// Somebody has stopped it.
    Stopped,
    /// No bench is left that is good: why.
    Failed(String),
}

/// The desk.
#[derive(Debug)]
pub struct Desk {
    /// The lot.
    pub lot: Lot,
    /// The stations.
    pub stations: Vec<Station>,
    /// The one that Enter, keys and scans mean.
    pub focus: usize,
    /// What is asked at the keyboard.
    pub asking: Option<Asking>,
    /// Something that somebody should know.
    pub message: Option<String>,
    /// Whether the keys are explained.
    pub help: bool,
    /// How many modules were tested, those again included.
    pub seatings: usize,
    /// How many modules had their fate before it began.
    pub done_before: usize,
    /// How long the benches took for that.
    pub bench_time: Duration,
    /// No real module is tested.
    pub simulated: bool,
    /// A jig cannot do what the lot wants.
    pub refused: bool,
    /// Runs shall stop.
    pub stops_runs: bool,
    pub(super) by: String,
    pub(super) stops: bool,
    pub(super) orders: Vec<(usize, Order)>,
    told: Vec<Told>,
    fates: BTreeMap<String, Fate>,
    pub(super) now: Duration,
}

impl Desk {
    /// A desk with stations of these names, for whoever decides.
    ///
    /// # Errors
    /// When the claims of the lot cannot be read.
    pub fn new(lot: Lot, by: &str, stations: &[String], simulated: bool) -> Result<Self, LotError> {
        let (fates, done_before) = (fates(&lot), turn::done(&lot).0);
        let began = Told::Began {
            lot: lot.name(),
            modules: lot.modules.len(),
            stations: stations.to_vec(),
            simulated,
        };
        let mut stations: Vec<Station> = stations.iter().map(Station::new).collect();
        // A muster that died had these in hand: they are seated still.
        let seated = claims::left_behind(&lot.folder)?.into_iter().filter(|serial| {
            lot.module_of(serial).is_ok_and(|module| !module.ruling.fate.is_settled())
        });
        for (station, serial) in stations.iter_mut().zip(seated) {
            station.chosen = Some(serial);
        }
        Ok(Desk {
            lot,
            stations,
            focus: 0,
            asking: None,
            message: None,
            help: false,
            seatings: 0,
            done_before,
            bench_time: Duration::ZERO,
            simulated,
            refused: false,
            stops_runs: false,
            by: by.into(),
            stops: false,
            orders: Vec::new(),
            told: vec![began],
            fates,
            now: Duration::ZERO,
        })
    }

    /// The first orders.
    pub fn begin(&mut self) -> Vec<(usize, Order)> {
        (0..self.stations.len()).for_each(|at| self.check(at, FIRST));
        core::mem::take(&mut self.orders)
    }

    /// Takes something that has happened, at a time of a clock that never goes back; gives orders to stations.
    ///
    /// # Errors
    /// When a record cannot be read or written.
    pub fn take(
        &mut self,
        happening: Happening,
        now: Duration,
    ) -> Result<Vec<(usize, Order)>, LotError> {
        self.now = now;
        match happening {
            Happening::Typed(burst) => self.typed(&burst)?,
            Happening::Pressed(at) => self.start(at, By::Button)?,
            Happening::Seat(at, seat) => self.seen(at, seat)?,
            Happening::Progress(at, progress) => {
                if let Stands::Running(_, shown) = &mut self.stations[at].stands {
                    *shown = Some(progress);
                }
            }
            Happening::Ended(at, tried) => self.ended(at, tried)?,
            Happening::Looked(at, look) => self.looked(at, look)?,
            Happening::Lost(at, why) => self.lost(at, why),
            Happening::Refused(at, why) => {
                self.refused = true;
                self.lost(at, why);
            }
            Happening::Note(text) => self.message = Some(text),
            Happening::Time => {}
        }
        Ok(core::mem::take(&mut self.orders))
    }

    /// What other programs are to be told since the last time.
    pub fn tell(&mut self) -> Vec<Told> {
        core::mem::take(&mut self.told)
    }

    /// How it ended, if it has.
    pub fn end(&self) -> Option<End> {
        let goes_on = |one: &Station| !matches!(one.stands, Stands::Idle | Stands::Failed(_));
        let runs = |one: &Station| matches!(one.stands, Stands::Running(..));
        if self.stops {
            return (!self.stations.iter().any(runs)).then_some(End::Stopped);
        }
        if self.stations.iter().any(goes_on) || self.asking.is_some() {
            return None;
        }
        let failed: Vec<&str> = self.stations.iter().filter_map(Station::trouble).collect();
        let is_left = !turn::left(&self.lot, None).is_empty();
        if failed.len() == self.stations.len() || !failed.is_empty() && is_left {
            return Some(End::Failed(failed.join("; ")));
        }
        Some(End::Done)
    }

    /// Looks anew what became of the modules, and writes it down.
    ///
    /// # Errors
    /// When a record cannot be read or written.
    pub fn look(&mut self) -> Result<(), LotError> {
        self.keep_up(&[])
    }

    /// Everything stops as soon as it can.
    pub fn stop(&mut self) {
        (self.stops, self.stops_runs) = (true, true);
    }

    /// Whether a scan, or Enter, would be taken by the station that is meant.
    pub fn is_ready(&self) -> bool {
        self.asking.is_none() && matches!(self.stations[self.focus].stands, Stands::Ready(_))
    }

    /// How many modules are left that others have in hand.
    pub fn others_have(&self) -> usize {
        turn::left(&self.lot, None).len()
    }

    pub(super) fn note(&mut self, told: Told) {
        self.told.push(told);
    }

    pub(super) fn order(&mut self, at: usize, order: Order) {
        self.orders.push((at, order));
    }

    /// Enter at the keyboard.
    pub(super) fn enter(&mut self) -> Result<(), LotError> {
        self.start(self.focus, By::Enter)
    }

    fn start(&mut self, at: usize, by: By) -> Result<(), LotError> {
        match self.stations[at].stands.clone() {
            Stands::Ready(seating) => {
                let serial = seating.serial().to_owned();
                self.message = None;
                if self.is_aged(at) && matches!(seating, Seating::Module(_)) {
                    self.stations[at].chosen = Some(serial);
                    self.check(at, AGED);
                    return Ok(());
                }
                let last_run = self.lot.module_of(&serial).map_or(0, |module| module.last_run());
                let by_button = by == By::Button;
                self.note(Told::Started { station: at + 1, serial: serial.clone(), by_button });
                let asked_first = self.lot.last_found.clone();
                self.stations[at].stands = Stands::Running(seating, None);
                self.order(at, Order::Run(Job { serial, asked_first, last_run }));
            }
            Stands::Leaving { is_asked: true, .. } => self.left(at)?,
            Stands::Leaving { serial, .. } => {
                self.message = Some(format!("First take {serial} out."));
            }
            Stands::Failed(_) => self.check(at, ANEW),
            Stands::Running(..) | Stands::Checking(_) | Stands::Idle => {}
        }
        Ok(())
    }

    pub(super) fn check(&mut self, at: usize, when: &'static str) {
        self.stations[at].stands = Stands::Checking(when);
        self.order(at, Order::Check);
    }

    /// Keeps what was decided, looks anew what became of the modules, and tells what has changed.
    pub(super) fn keep_up(&mut self, decided: &[Decision]) -> Result<(), LotError> {
        keep(&mut self.lot, decided)?;
        let now = fates(&self.lot);
        for module in &self.lot.modules {
            let (serial, ruling) = (&module.serial, &module.ruling);
            if self.fates.get(serial) != Some(&ruling.fate) {
                let (fate, reason) = (ruling.fate, ruling.reason.clone());
                self.told.push(Told::Fate { serial: serial.clone(), fate, reason });
            }
        }
        self.fates = now;
        Ok(())
    }
}

impl Station {
    fn trouble(&self) -> Option<&str> {
        match &self.stands {
            Stands::Failed(why) => Some(why),
            _ => None,
        }
    }
}

fn fates(lot: &Lot) -> BTreeMap<String, Fate> {
    lot.modules.iter().map(|module| (module.serial.clone(), module.ruling.fate)).collect()
}
