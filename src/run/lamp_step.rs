//! The lamp's rhythm, watched through the feed current while other steps run.

use super::course::{Course, Halt, Taken};
use super::doubt::Doubt;
use super::known::{Feed, Watch};
use crate::judge::blame::Facts;
use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::link::capture::{CaptureSetup, Trigger};
use crate::measure::lamp::{NoRhythm, Rhythm as Seen, rhythm};
use crate::measure::record::{Record, Trace};
use crate::quantity::range::Limits;
use crate::quantity::unit::Units;
use crate::script::module_sheet::Rhythm;
use crate::script::plan::Polarity;
use crate::wire::channel::FEED_CURRENT;
use crate::wire::preamble::State;
use std::ops::Range;

/// Time between points.
const INTERVAL_US: u32 = 10_000;
/// Conversions averaged into one point.
const AVERAGE: u16 = 20;
/// The capture memory of unit 2, in counts.
const MEMORY: u32 = 8_192;

/// Begins to watch.
pub(super) fn watch(course: &mut Course<'_, '_>) -> Result<(), Halt> {
    let setup = CaptureSetup {
        scan: vec![FEED_CURRENT],
        interval_us: INTERVAL_US,
        points: MEMORY,
        pre_trigger: 0,
        average: AVERAGE,
        trigger: Trigger::Immediate,
    };
    course.arm(2, &setup)?;
    let began_us = course.jig.clock_us()?;
    course.known.watch =
        Some(Watch { began_us, suspect_us: Vec::new(), breaks_us: Vec::new(), tripped: false });
    Ok(())
}

/// Judges what was watched since.
pub(super) fn judge(course: &mut Course<'_, '_>) -> Result<(), Halt> {
    let Some(watch) = course.known.watch.take() else {
        return Err(Halt::Trouble("the script judges the lamp but never watched it".into()));
    };
    let is_cut = course.jig.capture_state(2)?.state == State::Aborted;
    let tripped = watch.tripped || course.feed_tripped()?;
    course.jig.abort_capture(2)?;
    let record = course.fetch(2, watch.began_us)?;
    let seen = record.trace(FEED_CURRENT).map_or(Err(NoRhythm::TooShort), |trace| {
        let part = longest_part(&record, &watch);
        let suspect = suspect_in(&record, &watch, &part);
        rhythm(&trace.values[part], record.interval_us, &suspect, trace.class.resolution)
    });
    let is_inverted = course.known.feed == Feed::On(Polarity::Inverted);
    let sheet = &course.plan.module;
    let (wanted, other) = match (is_inverted, sheet.lamp_inverted) {
        (true, Some(inverted)) => (inverted, Some(sheet.lamp)),
        (_, inverted) => (sheet.lamp, inverted),
    };
    let mut facts = course.known.facts;
    facts.lamp_inverted = !is_inverted
        && seen.is_ok_and(|s| other.is_some_and(|o| fits(&s, &o)) && !fits(&s, &wanted));
    let trace = record.trace(FEED_CURRENT);
    for (quantity, window) in
        [(Quantity::LampRate, window(&wanted.rate)), (Quantity::LampDuty, window(&wanted.duty))]
    {
        let mut taken = taken(quantity, window, &seen, facts, trace);
        if seen.is_err() && tripped {
            taken.facts.tripped = true;
            taken.undecided = false;
            taken.note = "the feed has tripped".into();
        } else if seen.is_err() && is_cut {
            taken = taken.doubting(Some(Doubt::CutShort));
        }
        course.read(taken)?;
    }
    Ok(())
}

fn taken(
    quantity: Quantity,
    window: Window,
    seen: &Result<Seen, NoRhythm>,
    facts: Facts,
    trace: Option<&Trace>,
) -> Taken {
    match seen {
        Ok(seen) => {
            let estimate = if quantity == Quantity::LampRate { seen.rate } else { seen.duty };
            let note = format!("{} blinks of {:.1} mA", seen.cycles, seen.step * 1e3);
            Taken::new(quantity, Some(estimate), window).knowing(facts).noting(note)
        }
        Err(why) => {
            // A module without any current has no lamp to look at: that is no open question.
            let dark = facts.draws_nothing || trace.is_some_and(is_dead);
            let facts = Facts { draws_nothing: dark, ..facts };
            let mut taken =
                Taken::new(quantity, None, window).knowing(facts).noting(why.to_string());
            taken.undecided = !dark;
            taken
        }
    }
}

/// Whether there is no current at all, within what the channel can tell.
fn is_dead(trace: &Trace) -> bool {
    let limit =
        (3.0 * (trace.class.offset + trace.class.linearity + trace.class.resolution)) as f32;
    !trace.values.is_empty() && trace.values.iter().all(|v| v.abs() <= limit)
}

fn window<Q: Units>(limits: &Limits<Q>) -> Window {
    Window { lower: limits.lower.map(Units::si), upper: limits.upper.map(Units::si) }
}

fn fits(seen: &Seen, rhythm: &Rhythm) -> bool {
    use crate::judge::verdict::Side;
    window(&rhythm.rate).side(Some(seen.rate.value)) == Side::Inside
        && window(&rhythm.duty).side(Some(seen.duty.value)) == Side::Inside
}

/// The longest part of the record in which the current as a whole was not changed.
fn longest_part(record: &Record, watch: &Watch) -> Range<usize> {
    let points = record.traces.first().map_or(0, |t| t.values.len());
    let mut borders: Vec<usize> =
        watch.breaks_us.iter().map(|&t| index_at(record, t).min(points)).collect();
    borders.extend([0, points]);
    borders.sort_unstable();
    borders.windows(2).map(|w| w[0]..w[1]).max_by_key(Range::len).unwrap_or(0..points)
}

/// The suspect stretches within a part, counted from its beginning.
fn suspect_in(record: &Record, watch: &Watch, part: &Range<usize>) -> Vec<Range<usize>> {
    let within = |t: u64| index_at(record, t).clamp(part.start, part.end) - part.start;
    watch.suspect_us.iter().map(|s| within(s.start)..within(s.end) + 1).collect()
}

fn index_at(record: &Record, t_us: u64) -> usize {
    (t_us.saturating_sub(record.first_us) / u64::from(record.interval_us.max(1))) as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::record::ChannelClass;

    fn record(points: usize) -> Record {
        let class = ChannelClass::default();
        let values = vec![0.0; points];
        Record {
            first_us: 1_000_000,
            interval_us: INTERVAL_US,
            average: AVERAGE,
            trigger_us: None,
            traces: vec![Trace { channel: FEED_CURRENT, skew_us: 0.0, values, class }],
        }
    }

    #[test]
    fn the_longest_undisturbed_part_is_taken() {
        let watch = Watch {
            began_us: 1_000_000,
            suspect_us: vec![3_000_000..3_050_000, 9_000_000..9_050_000],
            breaks_us: vec![2_000_000, 8_000_000],
            tripped: false,
        };
        let r = record(1000);
        let part = longest_part(&r, &watch);
        assert_eq!(part, 100..700);
        assert_eq!(suspect_in(&r, &watch, &part), vec![100..106, 600..601]);
    }
}
