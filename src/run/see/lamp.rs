//! What a record of the feed current shows of the lamp.

use crate::judge::verdict::{Side, Window};
use crate::measure::budget::Budget;
use crate::measure::channel_class::ChannelClass;
use crate::measure::component::Component;
use crate::measure::lamp::{Rhythm as Seen, least_change};
use crate::measure::record::{Record, Trace};
use crate::measure::rounding::rounding;
use crate::measure::scale::Scale;
use crate::measure::source::Source;
use crate::measure::uncertainty::Estimate;
use crate::quantity::range::Limits;
use crate::quantity::unit::Units;
use crate::script::module_sheet::Rhythm;
use std::ops::Range;

/// The share of the time that the lamp is on. Of two in turn the current tells which one draws
/// more, but not which one comes first: the one that fits better counts.
pub fn duty(seen: &Seen, window: &Window, lamps: u8) -> Estimate {
    let other = Estimate { value: 1.0 - seen.duty.value, ..seen.duty };
    let outside = |e: &Estimate| {
        let below = window.lower.map_or(0.0, |l| (l - e.value).max(0.0));
        below.max(window.upper.map_or(0.0, |u| (e.value - u).max(0.0)))
    };
    if lamps > 1 && outside(&other) < outside(&seen.duty) { other } else { seen.duty }
}

/// What the lamp draws, in amperes, from that in counts: dark and lit lie close, so that offset and non-linearity
/// are the same in both. `noise` is that of a point, in counts; not known where it was never seen alone.
pub fn current(
    in_counts: &Estimate,
    noise: Option<f64>,
    scale: &Scale,
    class: &ChannelClass,
) -> Estimate {
    // One may be off as far up as the other down.
    let rounding = Component::rectangular(2.0 * rounding(noise.unwrap_or(0.0)));
    let own = in_counts.with(rounding.from(Source::Resolution)).scaled(scale.difference(1.0));
    Estimate::of(own.value, own.budget.plus(&Budget::of(&class.gain_between(own.value))))
}

/// Whether nothing in a part of a trace changes, though so much as the lamp must draw at least would show.
pub fn shows_less(
    trace: &Trace,
    part: Range<usize>,
    suspect: &[Range<usize>],
    current: &Window,
) -> bool {
    let least = least_change(&trace.numbers()[part], suspect, 1.0);
    least.zip(current.lower).is_some_and(|(least, lower)| trace.scale.difference(least) < lower)
}

/// Whether there is no current at all, within what the channel can tell.
pub fn is_dead(trace: &Trace) -> bool {
    let limit = 3.0 * (trace.class.offset + trace.class.linearity + trace.class.resolution);
    let is_none = |&count: &i16| trace.scale.value(f64::from(count)).abs() <= limit;
    !trace.counts.is_empty() && trace.counts.iter().all(is_none)
}

pub fn window<Q: Units>(limits: &Limits<Q>) -> Window {
    Window { lower: limits.lower.map(Units::si), upper: limits.upper.map(Units::si) }
}

pub fn fits(seen: &Seen, rhythm: &Rhythm, lamps: u8) -> bool {
    let wanted = window(&rhythm.duty);
    window(&rhythm.rate).side(Some(seen.rate.value)) == Side::Inside
        && wanted.side(Some(duty(seen, &wanted, lamps).value)) == Side::Inside
}

/// The longest part of the record in which the current as a whole was not changed.
pub fn longest_part(record: &Record, breaks_us: &[u64]) -> Range<usize> {
    let points = record.scans();
    let mut borders: Vec<usize> =
        breaks_us.iter().map(|&t| index_at(record, t).min(points)).collect();
    borders.extend([0, points]);
    borders.sort_unstable();
    borders.windows(2).map(|w| w[0]..w[1]).max_by_key(Range::len).unwrap_or(0..points)
}

/// The suspect stretches within a part, counted from its beginning.
pub fn suspect_in(
    record: &Record,
    suspect_us: &[Range<u64>],
    part: &Range<usize>,
) -> Vec<Range<usize>> {
    let within = |t: u64| index_at(record, t).clamp(part.start, part.end) - part.start;
    suspect_us.iter().map(|s| within(s.start)..within(s.end) + 1).collect()
}

fn index_at(record: &Record, t_us: u64) -> usize {
    (t_us.saturating_sub(record.first_us) / u64::from(record.interval_us.max(1))) as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::channel_class::ChannelClass;
    use crate::measure::scale::{Ends, Scale};
    use crate::wire::channel::FEED_CURRENT;

    fn record(points: usize) -> Record {
        let trace = Trace {
            channel: FEED_CURRENT,
            skew_us: 0.0,
            counts: vec![0; points],
            scale: Scale::VALUES,
            ends: Ends::NONE,
            class: ChannelClass::default(),
        };
        Record {
            first_us: 1_000_000,
            interval_us: 10_000,
            average: 20,
            trigger_us: None,
            traces: vec![trace],
        }
    }

    #[test]
    fn the_longest_undisturbed_part_is_taken() {
        let suspect_us = [3_000_000..3_050_000, 9_000_000..9_050_000];
        let r = record(1000);
        let part = longest_part(&r, &[2_000_000, 8_000_000]);
        assert_eq!(part, 100..700);
        assert_eq!(suspect_in(&r, &suspect_us, &part), vec![100..106, 600..601]);
    }
}
