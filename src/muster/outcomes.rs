//! What a desk makes of what jigs tell: modules that leave, runs that end, benches that are good or not.

use super::desk::{ANEW, CUT_SHORT, Desk, SUSPECT};
use super::happening::{Look, Order};
use super::station::{Last, Seating, Stands};
use super::told::Told;
use super::tried::{How, Tried};
use crate::blame::Blame;
use crate::judge::reading::Verdict;
use crate::lot::LotError;
use crate::lot::decision::{Decision, What};
use crate::lot::tries::Showed;
use crate::procedure::seat::Seat;

impl Desk {
    pub(super) fn seen(&mut self, at: usize, seat: Seat) -> Result<(), LotError> {
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
    pub(super) fn left(&mut self, at: usize) -> Result<(), LotError> {
        if let Stands::Leaving { serial, .. } = &self.stations[at].stands {
            let serial = serial.clone();
            self.note(Told::Left { station: at + 1, serial });
        }
        self.next(at)
    }

    pub(super) fn ended(&mut self, at: usize, tried: Tried) -> Result<(), LotError> {
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

    pub(super) fn looked(&mut self, at: usize, look: Look) -> Result<(), LotError> {
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
    pub(super) fn judged(
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

    pub(super) fn lost(&mut self, at: usize, why: String) {
        self.note(Told::Lost { station: at + 1, reason: why.clone() });
        self.fail(at, why);
    }

    pub(super) fn fail(&mut self, at: usize, why: String) {
        let station = &mut self.stations[at];
        // It goes on with the module that is seated there, unless another station takes it.
        station.chosen = station.claim.take().map(|claim| claim.serial().to_owned());
        station.stands = Stands::Failed(why);
        self.order(at, Order::Rest);
        self.revive(at);
    }

    /// Something may be left for stations that had nothing to do.
    pub(super) fn revive(&mut self, but: usize) {
        for at in (0..self.stations.len()).filter(|&at| at != but) {
            if self.stations[at].stands == Stands::Idle {
                self.check(at, ANEW);
            }
        }
    }

    /// Whether a failure is none of the module's, so that the bench must be looked at.
    pub(super) fn bench_is_suspect(&self, serial: &str) -> bool {
        let module = self.lot.module_of(serial).ok();
        let newest = module.and_then(|module| module.tries.last());
        newest.is_some_and(|one| {
            matches!(one.showed, Showed::Elsewhere(Blame::Jig | Blame::Lead) | Showed::CutShort)
        })
    }
}
