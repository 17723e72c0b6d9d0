//! The lamp's rhythm, watched through the feed current while other steps run.

use crate::judge::blame::Facts;
use crate::judge::reading::Quantity;
use crate::judge::verdict::{Side, Window};
use crate::link::capture::{CaptureSetup, Trigger};
use crate::measure::lamp::{NoRhythm, Rhythm as Seen, rhythm};
use crate::measure::record::{Record, Trace};
use crate::measure::uncertainty::Estimate;
use crate::quantity::range::Limits;
use crate::quantity::unit::Units;
use crate::run::course::{Course, Halt, Taken};
use crate::run::event::LampQuestion;
use crate::run::judging::untrusted::Doubt;
use crate::run::known::{Feed, Watch};
use crate::run::steps::lamp_question;
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
pub fn watch(course: &mut Course<'_, '_>) -> Result<(), Halt> {
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
pub fn judge(course: &mut Course<'_, '_>) -> Result<(), Halt> {
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
        let seen =
            rhythm(&trace.numbers()[part], record.interval_us, record.average, &suspect, 1.0);
        seen.map(|seen| Seen { step: trace.scale.difference(seen.step), ..seen })
    });
    let is_inverted = course.known.feed == Feed::On(Polarity::Inverted);
    let sheet = &course.plan.module;
    // Without a matter of polarity there is one rhythm only.
    let told_apart = sheet.lamp_inverted.filter(|_| sheet.polarity_matters);
    let (due, other) = match told_apart {
        Some(inverted) if is_inverted => (inverted, Some(sheet.lamp)),
        other => (sheet.lamp, other),
    };
    let question = LampQuestion { lamps: sheet.lamps, due, other };
    let mut facts = course.known.facts;
    let is_other = seen.is_ok_and(|s| {
        other.is_some_and(|o| fits(&s, &o, sheet.lamps)) && !fits(&s, &due, sheet.lamps)
    });
    facts.lamp_inverted = !is_inverted && is_other;
    let trace = record.trace(FEED_CURRENT);
    let is_dark = facts.draws_nothing || trace.is_some_and(is_dead);
    let is_limited = [window(&due.rate), window(&due.duty)].iter().any(|w| *w != Window::OPEN);
    // The lamp is there, and the feed current does not tell what it does.
    if seen.is_err() && is_limited && !is_dark && !tripped && !is_cut {
        let facts = Facts { lamp_inverted: !is_inverted && other.is_some(), ..facts };
        if lamp_question::ask(course, &question, facts)? {
            return Ok(());
        }
    }
    for (quantity, window) in
        [(Quantity::LampRate, window(&due.rate)), (Quantity::LampDuty, window(&due.duty))]
    {
        // A rhythm that nobody cares about is no open question.
        if seen.is_err() && window == Window::OPEN {
            continue;
        }
        let mut taken = taken(quantity, window, &seen, course.plan.module.lamps);
        taken = taken.knowing(Facts { draws_nothing: is_dark, ..facts });
        taken.undecided = !is_dark;
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

fn taken(quantity: Quantity, window: Window, seen: &Result<Seen, NoRhythm>, lamps: u8) -> Taken {
    match seen {
        Ok(seen) => {
            let estimate = match quantity {
                Quantity::LampRate => seen.rate,
                _ => duty(seen, &window, lamps),
            };
            let note = format!("{} blinks of {:.3} mA", seen.cycles, seen.step * 1e3);
            Taken::new(quantity, Some(estimate), window).noting(note)
        }
        Err(why) => Taken::new(quantity, None, window).noting(why.to_string()),
    }
}

/// The share of the time that the lamp is on. Of two in turn the current tells which one draws
/// more, but not which one comes first: the one that fits better counts.
fn duty(seen: &Seen, window: &Window, lamps: u8) -> Estimate {
    let other = Estimate { value: 1.0 - seen.duty.value, ..seen.duty };
    let outside = |e: &Estimate| {
        let below = window.lower.map_or(0.0, |l| (l - e.value).max(0.0));
        below.max(window.upper.map_or(0.0, |u| (e.value - u).max(0.0)))
    };
    if lamps > 1 && outside(&other) < outside(&seen.duty) { other } else { seen.duty }
}

/// Whether there is no current at all, within what the channel can tell.
fn is_dead(trace: &Trace) -> bool {
    let limit = 3.0 * (trace.class.offset + trace.class.linearity + trace.class.resolution);
    let is_none = |&count: &i16| trace.scale.value(f64::from(count)).abs() <= limit;
    !trace.counts.is_empty() && trace.counts.iter().all(is_none)
}

fn window<Q: Units>(limits: &Limits<Q>) -> Window {
    Window { lower: limits.lower.map(Units::si), upper: limits.upper.map(Units::si) }
}

fn fits(seen: &Seen, rhythm: &Rhythm, lamps: u8) -> bool {
    let wanted = window(&rhythm.duty);
    window(&rhythm.rate).side(Some(seen.rate.value)) == Side::Inside
        && wanted.side(Some(duty(seen, &wanted, lamps).value)) == Side::Inside
}

/// The longest part of the record in which the current as a whole was not changed.
fn longest_part(record: &Record, watch: &Watch) -> Range<usize> {
    let points = record.scans();
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
    use crate::measure::channel_class::ChannelClass;
    use crate::measure::scale::{Ends, Scale};

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
            interval_us: INTERVAL_US,
            average: AVERAGE,
            trigger_us: None,
            traces: vec![trace],
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
