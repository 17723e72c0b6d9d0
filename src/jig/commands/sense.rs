//! `SENSe`: the settings of a capture.

use super::{microseconds, seconds, written};
use crate::jig::board::Board;
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::jig::sweep::Sweep;
use crate::wire::error::Error;
use crate::wire::message;
use crate::wire::number::Unit::{None as Plain, Second};
use crate::wire::response::Response;
use crate::wire::tree::Node;

/// Time between points, in seconds.
const INTERVAL_S: (f64, f64) = (1e-5, 60.0);

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    let which = super::unit(unit.suffix);
    let memory = instrument.captures.memory(which);
    let sweep = instrument.captures.sweep_mut(which);
    let preset = Sweep::new();
    if unit.node == Node::SweepInterval {
        let range = INTERVAL_S.0..=INTERVAL_S.1;
        let preset_s = seconds(preset.interval_us.into());
        if !unit.query {
            let interval_s = parameters.numeric(Second)?.resolve(range, preset_s)?;
            parameters.finish()?;
            sweep.interval_us = microseconds(interval_s) as u32;
            return Ok(());
        }
        let bound = parameters.bound()?;
        parameters.finish()?;
        return written(response.number(match bound {
            Some(bound) => bound.resolve(range, preset_s)?,
            None => seconds(sweep.interval_us.into()),
        }));
    }
    let (range, preset, present) = match unit.node {
        Node::SweepPoints => {
            // What may be asked for now, and what fits the present scan list.
            let highest = if unit.query { sweep.points_max(memory) } else { memory as u32 };
            (1..=i64::from(highest), preset.points.into(), sweep.points.into())
        }
        Node::SweepOffset => {
            (-(memory as i64) + 1..=0, -i64::from(preset.before), -i64::from(sweep.before))
        }
        _ => (1..=i64::from(u16::MAX), preset.average.into(), sweep.average.into()),
    };
    if unit.query {
        let bound = parameters.bound()?;
        parameters.finish()?;
        return written(response.integer(match bound {
            Some(bound) => bound.resolve_integer(range, preset)?,
            None => present,
        }));
    }
    let numeric = parameters.numeric(Plain)?;
    parameters.finish()?;
    let value = numeric.resolve_integer(range, preset)?;
    match unit.node {
        Node::SweepPoints => sweep.points = value as u32,
        Node::SweepOffset => sweep.before = -value as u32,
        _ => sweep.average = value as u16,
    }
    Ok(())
}
