//! The limit of the soft start, and what counts as an overload.

use crate::jig::board::{Board, Supply};
use crate::jig::instrument::Instrument;
use crate::jig::overload::{DELAY_MAX_US, DELAY_MIN_US};
use crate::jig::power::{FEED_OVERLOAD, LIMIT_A, LOADS_OVERLOAD, Power};
use crate::wire::data::{Amperes, Seconds};
use crate::wire::error::Error;
use crate::wire::tree::{command, query};
use core::ops::RangeInclusive;

/// Current limits of the soft start that fill a module's reservoir and still hurt nothing.
const SOFT_START: RangeInclusive<Amperes> = Amperes(0.05)..=Amperes(0.5);

pub fn set_soft_start_limit<B: Board>(
    instrument: &mut Instrument<B>,
    to: command::SoftStartLimit,
) -> Result<(), Error> {
    let limit = to.limit.resolve(&SOFT_START, Amperes(LIMIT_A))?;
    instrument.power.set_limit_a(&mut instrument.board, limit.0);
    Ok(())
}

pub fn soft_start_limit(power: &Power, of: &query::SoftStartLimit) -> Amperes {
    let set = Amperes(power.limit_a());
    of.bound.map_or(set, |bound| bound.of(&SOFT_START, Amperes(LIMIT_A)))
}

pub fn set_level(power: &mut Power, to: command::ProtectionLevel) -> Result<(), Error> {
    let (range, after_boot) = levels(power, to.supply);
    power.overload(to.supply).level_a = to.level.resolve(&range, after_boot)?.0;
    Ok(())
}

pub fn level(power: &mut Power, of: &query::ProtectionLevel) -> Amperes {
    let (range, after_boot) = levels(power, of.supply);
    let set = Amperes(power.overload(of.supply).level_a);
    of.bound.map_or(set, |bound| bound.of(&range, after_boot))
}

pub fn set_delay(power: &mut Power, to: command::ProtectionDelay) -> Result<(), Error> {
    let (range, after_boot) = delays(to.supply);
    let delay = to.delay.resolve(&range, after_boot)?;
    power.overload(to.supply).set_delay_us(delay.in_us());
    Ok(())
}

pub fn delay(power: &mut Power, of: &query::ProtectionDelay) -> Seconds {
    let (range, after_boot) = delays(of.supply);
    let set = Seconds::from_us(power.overload(of.supply).delay_us());
    of.bound.map_or(set, |bound| bound.of(&range, after_boot))
}

/// What may be set, and what holds after boot.
fn levels(power: &Power, supply: Supply) -> (RangeInclusive<Amperes>, Amperes) {
    let (lowest, highest) = power.levels_a(supply).into_inner();
    (Amperes(lowest)..=Amperes(highest), Amperes(power.preset_level_a(supply)))
}

/// What may be set, and what holds after boot.
fn delays(supply: Supply) -> (RangeInclusive<Seconds>, Seconds) {
    let (_, after_boot_us) = match supply {
        Supply::Feed => FEED_OVERLOAD,
        Supply::Loads => LOADS_OVERLOAD,
    };
    let range = Seconds::from_us(DELAY_MIN_US)..=Seconds::from_us(DELAY_MAX_US);
    (range, Seconds::from_us(after_boot_us))
}
