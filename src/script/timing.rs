//! How long things take on a bench, by the script's own time.

use super::module_sheet::ModuleSheet;
use super::terms::By;
use crate::load;
use crate::load::Fed;
use crate::load::sheet::LoadSheet;
use crate::load::start::{Start, start};
use crate::quantity::range::Limits;
use crate::quantity::unit::Units;
use crate::quantity::unit::duration;
use crate::signal::target::{Clamp, Format, Position};
use crate::signal::telegram;
use core::time::Duration;
use uom::si::f64::Time;

/// Before a command: the load supply comes on and the pre-trigger fills.
pub const LEAD: Duration = Duration::from_millis(40);
/// After the last bounce: the settled window in which levels are read.
pub const SETTLED: Duration = Duration::from_millis(60);
/// How long the outputs are watched after the boot.
pub const AFTER_BOOT: Duration = Duration::from_millis(300);
/// The longest capture: what fits in the jig's memory at an output's full set of channels.
pub const CAPTURE_MAX: Duration = Duration::from_millis(520);
/// The longest that the lamp can be watched: what fits in the jig's memory.
pub const WATCH_MAX: Duration = Duration::from_secs(81);
/// For switches of the jig to move, a query, and the like.
pub const SWITCHING: Duration = Duration::from_millis(50);

/// How long is captured after the trigger of an operation.
///
/// `settle` is what the load at the clamp needs before its current may be judged, `before` what is captured
/// before the trigger. A longer capture would have its points farther apart, and know less of when contacts
/// change; what settles later is read later.
pub fn operate_window(sheet: &ModuleSheet, by: By, settle: Time, before: Duration) -> Duration {
    let room = CAPTURE_MAX.saturating_sub(before);
    let most = room.max(longest_move(sheet, by) + SETTLED).min(CAPTURE_MAX);
    operate_settled(sheet, by, settle).min(most)
}

/// How long after the trigger of an operation the load has surely settled, and has been seen to.
pub fn operate_settled(sheet: &ModuleSheet, by: By, settle: Time) -> Duration {
    longest_move(sheet, by) + duration(settle) + SETTLED
}

/// The longest that a sound output takes from the trigger to its last bounce.
pub fn longest_move(sheet: &ModuleSheet, by: By) -> Duration {
    let response = match by {
        By::Contact => sheet.contact_response,
        By::Command | By::CommandAgainstContact => sheet.response,
    };
    upper(response) + upper(sheet.gap) + upper(sheet.bounce)
}

/// The longest that a sound output takes, whatever moves it.
pub fn slowest_move(sheet: &ModuleSheet) -> Duration {
    longest_move(sheet, By::Command).max(longest_move(sheet, By::Contact))
}

/// How long the outputs are watched after the feed went on.
pub fn feed_on_window(sheet: &ModuleSheet) -> Duration {
    duration(sheet.boot) + AFTER_BOOT
}

/// The load's settle time at a clamp.
pub fn settle_at(loads: Option<&LoadSheet>, clamp: Clamp) -> Time {
    loads
        .and_then(|sheet| Some((sheet.clamps[clamp.index()].as_ref()?, sheet.supply)))
        .map_or(Time::from_si(0.0), |(load, supply)| load::settle_time(&load.circuit, supply))
}

/// How long the slowest good lamp takes to blink so often.
pub fn blinks(sheet: &ModuleSheet, count: u32) -> Duration {
    let slowest = sheet.lamp.rate.lower.map_or(1.0, Units::si).max(0.05);
    Duration::from_secs_f64(f64::from(count) / slowest)
}

/// How long the slowest of the connected real loads needs until its current may be judged.
pub fn slowest(loads: Option<&LoadSheet>, clamps: &[Clamp]) -> Duration {
    let slowest = clamps.iter().map(|c| settle_at(loads, *c).si()).fold(0.0, f64::max);
    duration(Time::from_si(slowest))
}

/// The longest that loads are given to come to rest before their start is looked at.
pub const REST_MAX: Duration = Duration::from_secs(60);
/// Before a load is switched on: the load supply comes on and settles.
pub const START_LEAD: Duration = Duration::from_millis(30);
/// Around a start: the zero before, the settled current after, and what the line takes.
const START_READS: Duration = Duration::from_millis(120);
/// A decay is watched for so many times its longest half, a rise for so many times its own.
const START_WATCHED: [f64; 2] = [4.0, 2.5];

/// How a real load starts on its sheet's supply.
pub fn start_at(loads: &LoadSheet, clamp: Clamp) -> Option<Start> {
    let load = loads.clamps[clamp.index()].as_ref()?;
    start(&load.circuit, &Fed::behind(loads.supply, load::jig::PATH_OHM))
}

/// How long a start is watched.
pub fn start_watched(start: &Start) -> Duration {
    let [decays, rises] = START_WATCHED;
    let decay = start.decay.map_or(0.0, |d| decays * d.value.upper.si());
    let rise = start.rise.map_or(0.0, |r| rises * r.value.upper.si());
    duration(Time::from_si(decay.max(rise))) + Duration::from_millis(2)
}

/// How long a load is on while its start is looked at; no time where there is nothing to see.
pub fn start_on(loads: Option<&LoadSheet>, clamp: Clamp) -> Duration {
    let Some(start) = loads.and_then(|loads| start_at(loads, clamp)) else { return Duration::ZERO };
    START_READS + start_watched(&start) + duration(settle_at(loads, clamp))
}

/// How long loads must have been off before their start may be looked at, and at most
/// [`REST_MAX`].
pub fn rest_before(loads: Option<&LoadSheet>, clamps: &[Clamp]) -> Duration {
    let rests = clamps.iter().filter_map(|&c| Some(duration(start_at(loads?, c)?.rest)));
    rests.max().unwrap_or_default().min(REST_MAX)
}

/// How long the starts of all connected loads take, with the rest before.
pub fn starts(loads: Option<&LoadSheet>, clamps: &[Clamp]) -> Duration {
    let each = |&clamp: &Clamp| match start_on(loads, clamp) {
        Duration::ZERO => Duration::ZERO,
        on => START_LEAD + on + SWITCHING,
    };
    rest_before(loads, clamps) + clamps.iter().map(each).sum::<Duration>()
}

/// What may lie between an order and the moment it goes out: the packets that are queued already,
/// and those that keep two of the same address apart.
pub const QUEUED: Duration = Duration::from_millis(15);

/// How long a command takes on the feed, all repeats counted.
pub fn on_the_feed(sheet: &ModuleSheet, format: Format, address: u16, to: Position) -> Duration {
    telegram::command(format, sheet.numbering, address, to, sheet.direction_of_a)
        .map_or(Duration::ZERO, |t| Duration::from_micros(t.sending_us(sheet.repeat).into()))
}

/// The outputs that prove an address: where the first and the last one answer, all do.
pub fn ends(outputs: u8) -> impl Iterator<Item = u8> {
    let last = (outputs > 1).then_some(outputs);
    [Some(1), last].into_iter().flatten()
}

/// A module that is commanded: its sheet, the format, and the address of its first output.
#[derive(Clone, Copy, Debug)]
pub struct Commanded<'s> {
    /// Its sheet.
    pub sheet: &'s ModuleSheet,
    /// The format.
    pub format: Format,
    /// The address of its first output.
    pub address: u16,
}

impl Commanded<'_> {
    /// How long the command that sends an output to a position takes, all repeats counted.
    pub fn sending(&self, output: u8, to: Position) -> Duration {
        on_the_feed(self.sheet, self.format, self.address + u16::from(output) - 1, to)
    }

    /// The same towards whichever position takes longer.
    pub fn sending_either(&self, output: u8) -> Duration {
        self.sending(output, Position::A).max(self.sending(output, Position::B))
    }
}

fn upper(limits: Limits<Time>) -> Duration {
    limits.upper.map_or(Duration::ZERO, duration)
}
