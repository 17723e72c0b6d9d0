//! The settings of a capture.

use crate::jig::board::Unit;
use crate::jig::captures::Captures;
use crate::jig::sweep::Sweep;
use crate::wire::data::Seconds;
use crate::wire::error::Error;
use crate::wire::tree::{command, query};
use core::ops::RangeInclusive;

/// Settings as after reset.
const RESET: Sweep = Sweep::new();

/// Time between points.
const INTERVAL: RangeInclusive<Seconds> = Seconds(1e-5)..=Seconds(60.0);

/// Conversions averaged into one point.
const AVERAGE: RangeInclusive<i64> = 1..=u16::MAX as i64;

pub fn set_points(captures: &mut Captures, to: command::SweepPoints) -> Result<(), Error> {
    // Whether they fit the scan list is found out when the capture is armed.
    let range = 1..=captures.memory(to.unit) as i64;
    let points = to.points.resolve(&range, RESET.points.into())?;
    captures.sweep_mut(to.unit).points = points as u32;
    Ok(())
}

/// `MAX` is what fits the present scan list.
pub fn points(captures: &Captures, of: &query::SweepPoints) -> i64 {
    let sweep = captures.sweep(of.unit);
    let range = 1..=i64::from(sweep.points_max(captures.memory(of.unit)));
    of.bound.map_or(sweep.points.into(), |bound| bound.of(&range, RESET.points.into()))
}

pub fn set_interval(captures: &mut Captures, to: command::SweepInterval) -> Result<(), Error> {
    let interval = to.interval.resolve(&INTERVAL, interval_of(&RESET))?;
    captures.sweep_mut(to.unit).interval_us = interval.in_us() as u32;
    Ok(())
}

pub fn interval(captures: &Captures, of: &query::SweepInterval) -> Seconds {
    let set = interval_of(captures.sweep(of.unit));
    of.bound.map_or(set, |bound| bound.of(&INTERVAL, interval_of(&RESET)))
}

pub fn set_offset(captures: &mut Captures, to: command::SweepOffset) -> Result<(), Error> {
    let range = offsets(captures, to.unit);
    let offset = to.points.resolve(&range, -i64::from(RESET.before))?;
    captures.sweep_mut(to.unit).before = offset.unsigned_abs() as u32;
    Ok(())
}

pub fn offset(captures: &Captures, of: &query::SweepOffset) -> i64 {
    let set = -i64::from(captures.sweep(of.unit).before);
    let range = offsets(captures, of.unit);
    of.bound.map_or(set, |bound| bound.of(&range, -i64::from(RESET.before)))
}

pub fn set_average(captures: &mut Captures, to: command::AverageCount) -> Result<(), Error> {
    let conversions = to.conversions.resolve(&AVERAGE, RESET.average.into())?;
    captures.sweep_mut(to.unit).average = conversions as u16;
    Ok(())
}

pub fn average(captures: &Captures, of: &query::AverageCount) -> i64 {
    let set = captures.sweep(of.unit).average.into();
    of.bound.map_or(set, |bound| bound.of(&AVERAGE, RESET.average.into()))
}

fn interval_of(sweep: &Sweep) -> Seconds {
    Seconds::from_us(sweep.interval_us.into())
}

/// One point at least lies after the trigger.
fn offsets(captures: &Captures, unit: Unit) -> RangeInclusive<i64> {
    -(captures.memory(unit) as i64) + 1..=0
}
