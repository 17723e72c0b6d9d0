//! The desk: all stations of a muster, and whoever sits at the keyboard. It knows no jig and no screen: it takes
//! what happens, one thing after the other, and gives orders to the stations.
//!
//! Start counts only while a station is ready for it, and only once: what comes before, while a module is tested,
//! or before the last one has left, starts nothing.

use super::asking::Asking;
use super::happening::{Happening, Job, Look, Order};
use super::station::{Last, Seating, Stands, Station};
use super::told::Told;
use super::tried::{How, Tried};
use super::turn;
use crate::blame::Blame;
use crate::judge::reading::Verdict;
use crate::lot::LotError;
use crate::lot::claims::{self, Claim};
use crate::lot::decision::{Decision, What};
use crate::lot::fate::Fate;
use crate::lot::keep::keep;
use crate::lot::standing::Lot;
use crate::lot::tries::Showed;
use crate::procedure::seat::Seat;
use core::time::Duration;
use std::collections::BTreeMap;

/// After so long a bench is looked at again.
pub const GOOD_FOR: Duration = Duration::from_secs(8 * 3600);

/// When a bench is looked at.
const FIRST: &str = "before the first module";
const LAST: &str = "after the last module";
const AGED: &str = "after eight hours";
const SUSPECT: &str = "after a failure that is none of a module's";
const CUT_SHORT: &str = "after a run that was cut short";
const ANEW: &str = "after it was put right";

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
    now: Duration,
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

    fn seen(&mut self, at: usize, seat: Seat) -> Result<(), LotError> {
        let Stands::Leaving { is_asked, .. } = &mut self.stations[at].stands else {
            return Ok(());
        };
        match seat {
            Seat::Empty => self.left(at)?,
            Seat::Unseen => {
                *is_asked = true;
                self.order(at, Order::WatchButton);
            }
            Seat::Taken => {}
        }
        Ok(())
    }

    /// The module has left.
    fn left(&mut self, at: usize) -> Result<(), LotError> {
        if let Stands::Leaving { serial, .. } = &self.stations[at].stands {
            let serial = serial.clone();
            self.note(Told::Left { station: at + 1, serial });
        }
        self.next(at)
    }

    fn ended(&mut self, at: usize, tried: Tried) -> Result<(), LotError> {
        let Stands::Running(seating, _) = self.stations[at].stands.clone() else { return Ok(()) };
        let serial = seating.serial().to_owned();
        self.note(Told::verdict(at, &serial, &tried));
        self.bench_time += tried.took;
        let how = tried.how;
        match (how, &seating) {
            (How::Stopped, _) => {
                self.message = Some(format!("{serial} was stopped: that is no try."));
                self.keep_up(&[])?;
                self.stations[at].stands = Stands::Leaving { serial, is_asked: true };
                return Ok(());
            }
            (How::PulledOut, _) => {
                self.message = Some(format!(
                    "{serial} was pulled out during its run, or a wire of its feed came off: the feed is off, and \
                     that is no try."
                ));
                self.keep_up(&[])?;
                self.ready(at, seating);
                return Ok(());
            }
            (_, Seating::Reference(_, when)) => {
                let is_good = tried.verdict == Verdict::Pass && how == How::Whole;
                let why = format!(
                    "the module {serial} is known to be good and does not pass: {}",
                    tried.sentence
                );
                self.judged(at, when, (!is_good).then_some(why))?;
                if !is_good {
                    return Ok(());
                }
            }
            (_, Seating::Module(_)) => {
                self.seatings += 1;
                self.stations[at].tested = true;
                self.stations[at].last = Some(Last { serial: serial.clone(), tried });
                self.keep_up(&[])?;
                self.stations[at].check = match how {
                    How::CutShort => Some(CUT_SHORT),
                    _ if self.bench_is_suspect(&serial) => Some(SUSPECT),
                    _ => None,
                };
            }
        }
        self.stations[at].stands = Stands::Leaving { serial, is_asked: false };
        self.order(at, Order::WatchSeat);
        Ok(())
    }

    fn looked(&mut self, at: usize, look: Look) -> Result<(), LotError> {
        let Stands::Checking(when) = self.stations[at].stands else { return Ok(()) };
        self.simulated |= look.simulated;
        self.stations[at].jig = Some(look.jig);
        match (look.trouble, self.lot.order.reference.clone()) {
            (None, Some(reference)) => self.ready(at, Seating::Reference(reference, when)),
            (None, None) => {
                self.judged(at, when, None)?;
                self.next(at)?;
            }
            (trouble, _) => self.judged(at, when, trouble)?,
        }
        Ok(())
    }

    /// A bench is good, or it is not: then all that it has tested since it was last good waits again.
    fn judged(
        &mut self,
        at: usize,
        when: &'static str,
        trouble: Option<String>,
    ) -> Result<(), LotError> {
        let jig = self.stations[at].jig.clone().unwrap_or_default();
        let told =
            Told::Bench { station: at + 1, jig: jig.clone(), when, trouble: trouble.clone() };
        self.note(told);
        let Some(trouble) = trouble else {
            let reason = format!("the bench is good, {when}");
            let what = What::BenchGood { jig, last: self.lot.last_runs() };
            let station = &mut self.stations[at];
            (station.good_at, station.check, station.tested) = (Some(self.now), None, false);
            return self.keep_up(&[Decision::now(&self.by, &reason, what)?]);
        };
        // What others have tested on this jig since then is on the disk.
        self.lot.look()?;
        let runs = self.lot.runs_since_good(&jig);
        let reason: String = trouble.chars().filter(|c| !c.is_control()).take(400).collect();
        let failed = Decision::now(&self.by, &reason, What::BenchFailed { jig, runs })?;
        self.keep_up(&[failed])?;
        self.fail(
            at,
            format!("{trouble}; every module tested since the last good check waits again"),
        );
        Ok(())
    }

    fn lost(&mut self, at: usize, why: String) {
        self.note(Told::Lost { station: at + 1, reason: why.clone() });
        self.fail(at, why);
    }

    fn fail(&mut self, at: usize, why: String) {
        let station = &mut self.stations[at];
        // It goes on with the module that is seated there, unless another station takes it.
        station.chosen = station.claim.take().map(|claim| claim.serial().to_owned());
        station.stands = Stands::Failed(why);
        self.order(at, Order::Rest);
        self.revive(at);
    }

    pub(super) fn check(&mut self, at: usize, when: &'static str) {
        self.stations[at].stands = Stands::Checking(when);
        self.order(at, Order::Check);
    }

    fn ready(&mut self, at: usize, seating: Seating) {
        if let Seating::Module(serial) = &seating {
            self.note(Told::Seat { station: at + 1, serial: serial.clone() });
        }
        self.stations[at].stands = Stands::Ready(seating);
        self.order(at, Order::WatchButton);
    }

    fn is_aged(&self, at: usize) -> bool {
        self.stations[at].good_at.is_none_or(|good| self.now.saturating_sub(good) > GOOD_FOR)
    }

    /// What a station does next.
    pub(super) fn next(&mut self, at: usize) -> Result<(), LotError> {
        if let Some(when) = self.stations[at].check.take() {
            self.check(at, when);
        } else if let Some(serial) = self.take_module(at)? {
            if self.is_aged(at) {
                self.stations[at].chosen = Some(serial);
                self.check(at, AGED);
            } else {
                self.ready(at, Seating::Module(serial));
            }
        } else if self.stations[at].tested {
            self.check(at, LAST);
        } else {
            self.stations[at].stands = Stands::Idle;
            self.order(at, Order::Rest);
            self.hand_on(at);
        }
        Ok(())
    }

    /// Something may be left for stations that had nothing to do.
    fn revive(&mut self, but: usize) {
        for at in (0..self.stations.len()).filter(|&at| at != but) {
            if self.stations[at].stands == Stands::Idle {
                self.check(at, ANEW);
            }
        }
    }

    /// The keyboard leaves a station that has nothing to do for one that has.
    fn hand_on(&mut self, at: usize) {
        let is_busy = |one: &Station| !matches!(one.stands, Stands::Idle | Stands::Failed(_));
        if self.focus == at
            && self.asking.is_none()
            && let Some(other) = self.stations.iter().position(is_busy)
        {
            self.focus = other;
        }
    }

    /// Takes the module in hand that is to be seated next. `None`: nothing is left, or others have it in hand.
    fn take_module(&mut self, at: usize) -> Result<Option<String>, LotError> {
        let last = self.stations[at].last.as_ref().map(|last| last.serial.clone());
        let chosen = self.stations[at].chosen.take();
        let left = |lot: &Lot| -> Vec<String> {
            turn::left(lot, last.as_deref()).iter().map(|m| m.serial.clone()).collect()
        };
        self.lot.look()?;
        let wanted = chosen.iter().cloned().chain(left(&self.lot));
        let mut held = self.stations[at].claim.take();
        for serial in wanted.collect::<Vec<_>>() {
            let kept = held.take_if(|claim| claim.serial() == serial);
            let claim = match kept {
                Some(claim) => Some(claim),
                None => Claim::take(&self.lot.folder, &serial)?,
            };
            let is_chosen = chosen.as_ref() == Some(&serial);
            let Some(claim) = claim else {
                if is_chosen {
                    self.message = Some(format!("Somebody else has {serial} in hand."));
                }
                continue;
            };
            // Another muster may have had it in hand until now.
            self.lot.look()?;
            if is_chosen || left(&self.lot).contains(&serial) {
                self.stations[at].claim = Some(claim);
                return Ok(Some(serial));
            }
        }
        Ok(None)
    }

    /// Something was decided: what a station is ready for may be settled by it, and more may be left for others.
    pub(super) fn decided(&mut self) -> Result<(), LotError> {
        for at in 0..self.stations.len() {
            let Stands::Ready(Seating::Module(serial)) = &self.stations[at].stands else {
                continue;
            };
            let fate = self.lot.module_of(serial)?.ruling.fate;
            let was_again =
                self.stations[at].last.as_ref().is_some_and(|last| last.serial == *serial);
            if fate.is_settled() && was_again {
                self.next(at)?;
            }
        }
        Ok(())
    }

    /// A station takes another module than it would.
    pub(super) fn choose(&mut self, at: usize, serial: String) -> Result<(), LotError> {
        self.stations[at].chosen = Some(serial);
        match self.stations[at].stands {
            Stands::Ready(Seating::Module(_)) | Stands::Idle if self.is_aged(at) => {
                self.check(at, AGED);
                Ok(())
            }
            Stands::Ready(Seating::Module(_)) | Stands::Idle => self.next(at),
            _ => Ok(()),
        }
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

    /// Whether a failure is none of the module's, so that the bench must be looked at.
    fn bench_is_suspect(&self, serial: &str) -> bool {
        let module = self.lot.module_of(serial).ok();
        let newest = module.and_then(|module| module.tries.last());
        newest.is_some_and(|one| {
            matches!(one.showed, Showed::Elsewhere(Blame::Jig | Blame::Lead) | Showed::CutShort)
        })
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
