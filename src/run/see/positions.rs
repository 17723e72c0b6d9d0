//! Where outputs stand, from the currents of all clamps in one record.

use crate::judge::expect::OPEN_SHARE;
use crate::link::capture::CaptureSetup;
use crate::link::scpi::list;
use crate::measure::change_over::Contact;
use crate::measure::record::Record;
use crate::measure::uncertainty::Estimate;
use crate::run::course::{Course, Halt};
use crate::run::steps::power::{load_supply_on, numbers};
use crate::signal::target::{Clamp, Position};
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE, LOAD_VOLTAGE};
use core::time::Duration;

/// The smallest current that counts as closed, in limits of the offset.
const OFFSETS: f64 = 3.0;

/// Share of the supply's voltage at a clamp that says that its contact is closed, whatever flows.
const FULL_SHARE: f64 = 0.95;
/// Between a switch's order and the moment its contacts have settled.
const SWITCHED: Duration = Duration::from_millis(10);
/// What a `MEASure` takes.
const MEASURED_OVER: Duration = Duration::from_millis(20);

/// Positions of all outputs before and after something happened; `None` where the currents do not
/// tell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    pub before: [Option<Position>; 4],
    pub after: [Option<Position>; 4],
    /// Outputs of which a contact changed, if only for a moment.
    pub stirred: [bool; 4],
}

impl Standing {
    /// Outputs of which something changed.
    pub fn stirred(&self) -> impl Iterator<Item = u8> + '_ {
        (1..=4u8).filter(|&output| self.stirred[usize::from(output) - 1])
    }

    /// Outputs that stood somewhere and do not stand there any more.
    pub fn moved(&self) -> impl Iterator<Item = u8> + '_ {
        (1..=4u8).filter(|&output| {
            let at = usize::from(output) - 1;
            self.before[at].is_some() && self.before[at] != self.after[at]
        })
    }

    /// Where an output stands afterwards.
    pub fn of(&self, output: u8) -> Option<Position> {
        self.after[usize::from(output) - 1]
    }
}

impl Course<'_, '_> {
    /// The channels of the currents at all loaded clamps.
    pub fn loaded_channels(&self) -> Vec<u16> {
        self.known
            .loaded()
            .map(|c| c.channel(CLAMP_CURRENT))
            .filter(|&channel| self.jig.channel(channel).is_some())
            .collect()
    }

    /// Whether currents or voltages tell where an output stands.
    pub fn is_seen(&self, output: u8) -> bool {
        [Position::A, Position::B].into_iter().any(|position| {
            let clamp = Clamp { output, position };
            self.known.is_loaded(clamp) || self.jig.channel(clamp.channel(CLAMP_VOLTAGE)).is_some()
        })
    }

    /// Whether nothing that can be measured hangs on an output: no current tells where it stands.
    pub fn is_bare(&self, output: u8) -> bool {
        ![Position::A, Position::B]
            .into_iter()
            .any(|position| self.known.is_loaded(Clamp { output, position }))
    }

    /// The smallest current at a clamp that counts as closed, at a supply voltage.
    pub fn least_closed(&self, clamp: Clamp, supply: Estimate) -> f64 {
        let offset = self.class(clamp.channel(CLAMP_CURRENT)).offset;
        let share = self.expected(clamp, supply).map_or(0.0, |e| OPEN_SHARE * e.lower());
        share.max(OFFSETS * offset)
    }

    /// The positions in a record, before scan `start` and at its end, and remembers the latter.
    pub fn stand(&mut self, record: &Record, start: usize, supply: Estimate) -> Standing {
        let mut standing = Standing::default();
        for output in self.outputs() {
            let closed = |position| {
                let clamp = Clamp { output, position };
                let trace = record.trace(clamp.channel(CLAMP_CURRENT))?;
                let least = self.least_closed(clamp, supply);
                let contact = Contact { trace, least };
                Some((contact.before_and_after(start), contact.stirs(start)))
            };
            let (a, b) = (closed(Position::A), closed(Position::B));
            let at = usize::from(output) - 1;
            standing.stirred[at] = [a, b].into_iter().flatten().any(|(_, stirs)| stirs);
            let (a, b) = (a.map(|a| a.0), b.map(|b| b.0));
            standing.before[at] = stands(a.map(|c| c.0), b.map(|c| c.0));
            standing.after[at] = stands(a.map(|c| c.1), b.map(|c| c.1));
        }
        self.known.positions = standing.after;
        standing
    }

    /// The voltage of the load supply in a record, from scan `from` on.
    pub fn supply_in(&self, record: &Record, from: usize) -> Option<Estimate> {
        let trace = record.trace(LOAD_VOLTAGE)?;
        Some(trace.mean(from..)?.estimate(&trace.class))
    }

    /// Widens the time between scans until a capture fits the jig's memory of `counts`.
    pub fn fit(setup: CaptureSetup, counts: u32) -> CaptureSetup {
        let room = counts / setup.scan.len().max(1) as u32;
        if setup.points <= room {
            return setup;
        }
        let wider = setup.points.div_ceil(room);
        CaptureSetup {
            interval_us: setup.interval_us * wider,
            points: setup.points / wider,
            pre_trigger: setup.pre_trigger / wider,
            ..setup
        }
    }
}

/// Where all outputs stand, by a quick look at currents and voltages; the load supply is on.
pub fn look(course: &mut Course<'_, '_>) -> Result<[Option<Position>; 4], Halt> {
    let currents = course.loaded_channels();
    if currents.is_empty() {
        return Ok([None; 4]);
    }
    let mut voltages = vec![LOAD_VOLTAGE];
    voltages.extend(
        Clamp::ALL
            .iter()
            .filter(|c| c.output <= course.plan.module.outputs)
            .map(|c| c.channel(CLAMP_VOLTAGE))
            .filter(|&c| course.jig.channel(c).is_some()),
    );
    course.pause(SWITCHED)?;
    let units = format!("MEAS:VOLT? (@{});:MEAS:CURR? (@{})", list(&voltages), list(&currents));
    let said = match numbers(course, &units, 2 * MEASURED_OVER) {
        Ok(said) => said,
        Err(_) if course.trips()?.supplies() => return Ok([None; 4]),
        Err(halt) => return Err(halt),
    };
    // Of a load that was switched off to rest nothing is told.
    course.trips()?;
    let channels: Vec<u16> = voltages.into_iter().chain(currents).collect();
    let value = |channel: u16| {
        let at = channels.iter().position(|&c| c == channel)?;
        said.get(at).map(|&value| course.corrected(channel, value))
    };
    let supply = Estimate::new(said[0], &[]);
    let mut positions = [None; 4];
    for output in course.outputs() {
        let closed = |position| {
            let clamp = Clamp { output, position };
            let flows = value(clamp.channel(CLAMP_CURRENT))
                .map(|current| current > course.least_closed(clamp, supply));
            // A contact that is closed onto nothing passes the whole voltage.
            let is_full = value(clamp.channel(CLAMP_VOLTAGE))
                .map(|volts| supply.value > 0.0 && volts > FULL_SHARE * supply.value);
            match (flows, is_full) {
                (None, None) => None,
                (flows, is_full) => Some(flows == Some(true) || is_full == Some(true)),
            }
        };
        positions[usize::from(output) - 1] = stands(closed(Position::A), closed(Position::B));
    }
    course.known.positions = positions;
    Ok(positions)
}

/// Where outputs stand on which nothing hangs, by the voltages at their clamps; their currents have
/// told nothing.
pub fn look_at_bare(course: &mut Course<'_, '_>, standing: &mut Standing) -> Result<(), Halt> {
    let bare: Vec<u8> = course.outputs().filter(|&o| course.is_bare(o)).collect();
    if !bare.iter().any(|&o| course.is_seen(o)) || !load_supply_on(course)? {
        return Ok(());
    }
    let seen = look(course)?;
    for at in bare.into_iter().map(|output| usize::from(output) - 1) {
        standing.after[at] = seen[at];
    }
    Ok(course.jig.send("OUTP2 OFF")?)
}

/// A position from which contacts are closed; one that is not looked at tells by the other one.
fn stands(a: Option<bool>, b: Option<bool>) -> Option<Position> {
    match (a, b) {
        (Some(true), Some(false) | None) => Some(Position::A),
        (Some(false) | None, Some(true)) => Some(Position::B),
        (Some(false), None) => Some(Position::B),
        (None, Some(false)) => Some(Position::A),
        _ => None,
    }
}
