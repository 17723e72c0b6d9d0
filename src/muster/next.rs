//! What a station does next: which module it takes in hand, and when its bench is looked at.

use super::desk::{AGED, Desk, GOOD_FOR, LAST};
use super::happening::Order;
use super::station::{Seating, Stands, Station};
use super::told::Told;
use super::turn;
use crate::lot::LotError;
use crate::lot::claims::Claim;
use crate::lot::standing::Lot;

impl Desk {
    pub(super) fn ready(&mut self, at: usize, seating: Seating) {
        if let Seating::Module(serial) = &seating {
            self.note(Told::Seat { station: at + 1, serial: serial.clone() });
        }
        self.stations[at].stands = Stands::Ready(seating);
        self.order(at, Order::WatchButton);
    }

    pub(super) fn is_aged(&self, at: usize) -> bool {
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

    /// The keyboard leaves a station that has nothing to do for one that has.
    pub(super) fn hand_on(&mut self, at: usize) {
        let is_busy = |one: &Station| !matches!(one.stands, Stands::Idle | Stands::Failed(_));
        if self.focus == at
            && self.asking.is_none()
            && let Some(other) = self.stations.iter().position(is_busy)
        {
            self.focus = other;
        }
    }

    /// Takes the module in hand that is to be seated next. `None`: nothing is left, or others have it in hand.
    pub(super) fn take_module(&mut self, at: usize) -> Result<Option<String>, LotError> {
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
}
