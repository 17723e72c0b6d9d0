//! What a load's current does just after the load was switched on: a peak that decays, or a rise.
//!
//! The instant of switching on lies between two samples, give or take half an interval (a rectangle, GUM
//! 4.3.7). The first sample after it is no more than a hint: the filter before the converter has not yet
//! followed. So the first instant's current is reached by a parabola through the samples after that; what
//! the course does within the interval in which the load was switched on is left open.
//!
//! Where a current passes a level, a parabola through the samples around it tells: the first sample beyond
//! the level comes too soon, by noise alone. Too few samples leave the interval open (IEEE Std 181-2011,
//! 5.3.3 has the straight line between two).
//!
//! What the gain is off by is in all samples alike, so in the levels too: it moves a current, but no
//! instant (GUM F.1.2.3).

use super::budget::Budget;
use super::channel_class::ChannelClass;
use super::component::Component;
use super::filter::FILTER_S;
use super::parabola::{self, Parabola};
use super::sample::{Sample, extremes};
use super::scale::Scale;
use super::source::Source;
use super::uncertainty::Estimate;

/// Current flows from this share of the highest sample on.
const FLOWS: f64 = 0.1;

/// A rise has not begun while there is no more than this share of the settled current.
const BEGUN: f64 = 0.02;

/// A decay or a rise of fewer intervals than this is too fast to be read.
const LEAST_INTERVALS: f64 = 4.0;

/// After so long the filter before a converter has followed a jump, seconds: to a third of a thousandth, for what is
/// led back from there multiplies what is left.
const FOLLOWED_S: f64 = 8.0 * FILTER_S;
/// So long the filter may bend the beginning of a course the other way, seconds.
const BENDS_S: f64 = 3.0 * FILTER_S;
/// The filter's own rise, from 10 % to 90 %, seconds: ln 9 time constants.
const FILTER_RISE_S: f64 = 2.197 * FILTER_S;
/// The filter makes a passage late by its time constant, give or take this share of it: its capacitor alone has a tenth (common practice, no source).
const LATE_SHARE: f64 = 0.2;

/// The parabola through a passage holds the samples this share of the whole step above and below …
const AROUND: f64 = 0.04;
/// … and so many standard deviations of the noise at least.
const CLEAR: f64 = 6.0;
/// The parabola that leads back to the first instant is held against one that holds samples down to this share of
/// the first one's excess.
const LED_BACK: f64 = 0.9;

/// So much more of the way from the parabola through more samples to that through fewer leads to the true instant.
const MORE: f64 = 0.7;

/// Samples lie apart where one is lower than the last by more than this share of the first one's excess.
const APART: f64 = 0.03;

/// A trace that begins with the load switched on, and what is known of it.
#[derive(Clone, Copy, Debug)]
pub struct StartTrace<'v, S> {
    /// The samples.
    pub values: &'v [S],
    /// What they are in amperes.
    pub scale: Scale,
    /// Time between samples, seconds.
    pub interval_s: f64,
    /// The load was switched on no longer before the first sample than this, seconds.
    pub before_s: f64,
    /// The channel's value without current, amperes.
    pub zero: f64,
    /// The settled current above that, amperes.
    pub settled: f64,
    /// How well the channel is known.
    pub class: ChannelClass,
}

/// What was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// The current at the instant of switching on, amperes.
    pub current: Estimate,
    /// Time until half of what it is above the settled current is gone, seconds; `None` when it is
    /// not gone within the record.
    pub decay: Option<Estimate>,
    /// Whether the decay is long enough for the time between samples.
    pub resolved: bool,
}

impl<S: Sample> StartTrace<'_, S> {
    fn at(&self, i: usize) -> Option<f64> {
        self.values.get(i).map(|&v| self.above_zero(v))
    }

    fn above_zero(&self, sample: S) -> f64 {
        self.scale.value(sample.value()) - self.zero
    }

    /// The first sample with current.
    fn first(&self) -> Option<usize> {
        let most = extremes(self.values).map_or(0.0, |(_, high)| self.above_zero(high));
        if most <= 3.0 * self.class.offset.max(self.class.resolution) {
            return None;
        }
        self.values.iter().position(|&v| self.above_zero(v) > FLOWS * most)
    }

    /// The instant of switching on lies so much before the first sample with current, in intervals, give or take
    /// as much: after the sample before, where there is one.
    fn unseen(&self, first: usize) -> f64 {
        if first > 0 { 0.5 } else { 0.5 * self.before_s / self.interval_s }
    }

    /// Standard deviation of one sample, from what second differences leave of a smooth course:
    /// their variance is six times that of a sample (J. von Neumann's mean square successive
    /// difference, one order higher).
    fn noise(&self, from: usize) -> f64 {
        let tail = self.values.get(from..).unwrap_or_default();
        let tail = &tail[tail.len() / 2..];
        let second: Vec<f64> =
            tail.windows(3).map(|w| w[0].value() - 2.0 * w[1].value() + w[2].value()).collect();
        let sum: f64 = second.iter().map(|d| d * d).sum();
        self.scale.difference((sum / (6.0 * second.len().max(1) as f64)).sqrt())
    }

    /// The peak and its decay; `None` where no current comes.
    pub fn peak(&self) -> Option<Peak> {
        let first = self.first()?;
        let followed = self.followed(first);
        let LedBack { value, steep, shape } = self.led_back(first)?;
        let unseen = self.unseen(first);
        let gain = Budget::of(&self.class.gain_between(value));
        let current = Estimate::of(value, shape.plus(&gain))
            .with(Component::rectangular(unseen * steep).from(Source::Sampling));
        let level = 0.5 * (value + self.settled);
        let around = AROUND * (self.at(followed)? - self.settled);
        let decay = self.passes([first, followed], level, around, false).map(|passage| {
            let begun = (first as f64 - unseen) * self.interval_s;
            let level = shape.plus(&Budget::of(&self.class.of_converter()));
            let level = level.scaled(0.5 / passage.slope);
            // One that was switched on earlier had more to lose: half of it is a higher level, which is passed
            // sooner. Of an exponential decay the two cancel.
            let sooner = 0.5 * steep / passage.slope;
            let open = unseen * (self.interval_s - sooner).abs();
            Estimate::of(passage.at_s - FILTER_S - begun, level.plus(&passage.budget))
                .with(Component::rectangular(open).from(Source::Sampling))
                .with(Component::rectangular(LATE_SHARE * FILTER_S).from(Source::Sampling))
        });
        let resolved =
            decay.is_some_and(|d: Estimate| d.value >= LEAST_INTERVALS * self.interval_s);
        Some(Peak { current, decay, resolved })
    }

    /// The current at the instant of switching on, from the samples for which the filter has followed.
    fn led_back(&self, first: usize) -> Option<LedBack> {
        let followed = self.followed(first);
        let height = self.at(followed)? - self.settled;
        let noise = self.noise(first);
        let course = Course::of(height, CLEAR * noise);
        let lowest = self.settled + LED_BACK * height;
        let falls = (followed..self.values.len()).take_while(|&i| self.at(i) > Some(lowest));
        let until = (followed + parabola::LEAST).max(followed + falls.count());
        // A filament falls more steeply at first than a parabola through much of its fall: the nearer half tells.
        let half = followed + parabola::LEAST.max((until - followed) / 2);
        let fit = |until: usize| {
            let values = self.values.get(followed..until)?;
            let excess = values.iter().map(|&v| self.above_zero(v) - self.settled);
            Parabola::through(excess.map(|excess| course.bent(excess)))
        };
        let (wide, near) = (fit(until)?, fit(half)?);
        // What is seen comes late, so the first instant as well.
        let late = FILTER_S / self.interval_s;
        let began = first as f64 - self.unseen(first) + late - followed as f64;
        let [by_few, by_many] = [&near, &wide].map(|fit| course.excess(fit.at(began)));
        // What fewer samples have changed they have not changed enough: three points led back by one and a half
        // intervals are off by about as much more (the third differences' terms of both).
        let more = if half < until { MORE } else { 0.0 };
        let excess = by_few + more * (by_few - by_many);
        let stretch = course.stretch(excess);
        let steep = (stretch * near.slope_at(began)).abs();
        let bent = (stretch / course.stretch(height)).abs();
        // One fit holds the samples of the other: their covariance is the variance of that with more samples
        // (J. A. Hausman, Econometrica 46 (1978) 1251, from memory).
        let [few, many] = [&near, &wide].map(|fit| fit.noise_at(began).powi(2));
        let combined = (1.0 + more).powi(2) * few - more * (2.0 + more) * many;
        let larger = bent * combined.max(many).sqrt();
        let of_noise = noise * larger;
        // What a parabola leaves out: no more than what twice as many samples tell otherwise.
        let bend = (by_many - by_few).abs().min(3.0 * of_noise + 0.5 * steep);
        let shape = Budget::of(&[
            Component::type_a(of_noise, self.dof(first)).from(Source::Noise),
            Component::rectangular(bend).from(Source::Sampling),
        ]);
        // Samples that lie close together are off alike; those that lie apart each by itself, as by noise.
        let off = if steep > APART * height { larger.max(1.0) } else { 1.0 };
        let shape = shape.plus(&Budget::of(&self.class.of_converter()).scaled(off));
        // A current that rises, or a bend by noise alone, leads to no higher peak than was seen.
        let seen = self.at(first)?.max(self.at(followed)?);
        Some(LedBack { value: (self.settled + excess).max(seen), steep, shape })
    }

    /// From 10 % to 90 % of the settled current, seconds, and whether the time between samples
    /// resolves it; `None` where it is not reached.
    pub fn rise(&self) -> Option<(Estimate, bool)> {
        let first = self.first().filter(|_| self.settled > 0.0)?;
        let around = AROUND * self.settled;
        // By the settled current, for noise makes the highest sample higher.
        let nothing = (BEGUN * self.settled).max(CLEAR * self.noise(first));
        let begun = (0..first).rev().find(|&i| self.at(i) <= Some(nothing)).map_or(0, |i| i + 1);
        let low = self.passes([begun, begun], 0.1 * self.settled, around, true)?;
        let high = self.passes([begun, begun], 0.9 * self.settled, around, true)?;
        // The levels go with the settled current: what that is off by moves both.
        let levels =
            Budget::of(&self.class.of_converter()).scaled(0.9 / high.slope - 0.1 / low.slope);
        let rise = Estimate::of(high.at_s - low.at_s, levels.plus(&low.budget).plus(&high.budget));
        // Both passages are late by the filter, but what is fast is also drawn out: rise times add as squares.
        let drawn_out = FILTER_RISE_S.hypot(rise.value) - rise.value;
        let rise = rise.with(Component::rectangular(drawn_out).from(Source::Sampling));
        Some((rise, rise.value >= LEAST_INTERVALS * self.interval_s))
    }

    /// The first sample for which the filter has followed.
    fn followed(&self, first: usize) -> usize {
        first + (FOLLOWED_S / self.interval_s).ceil() as usize
    }

    fn dof(&self, first: usize) -> f64 {
        (self.values.len().saturating_sub(first) as f64 / 2.0 - 2.0).max(1.0)
    }

    fn parabola(&self, from: usize, until: usize) -> Option<Parabola> {
        let values = self.values.get(from..until)?;
        Parabola::through(values.iter().map(|&v| self.above_zero(v)))
    }

    /// When the course first passes a level: it has begun since the sample before `begun`, and is looked at
    /// from another sample on. The samples within `around` of the level, and clear of the noise, tell.
    fn passes(
        &self,
        [begun, from]: [usize; 2],
        level: f64,
        around: f64,
        rising: bool,
    ) -> Option<Passage> {
        let towards = |y: f64| if rising { y - level } else { level - y };
        let noise = self.noise(from);
        let around = around.max(CLEAR * noise);
        let last = self.values.len();
        let beyond = (from..last).find(|&i| self.at(i).map(towards) >= Some(0.0))?;
        let followed = self.followed(begun);
        let clearly_before = |&i: &usize| self.at(i).map(towards) <= Some(-around);
        let lo = (from..beyond).rev().find(clearly_before).unwrap_or(from).max(followed);
        let hi = (beyond..last).find(|&i| self.at(i).map(towards) >= Some(around))?;
        let converter = Budget::of(&self.class.of_converter());
        if let Some(fit) = self.parabola(lo, hi + 1)
            && lo < beyond
            && let Some(at) = fit.passes(level)
        {
            let slope = (fit.slope_at(at) / self.interval_s).abs();
            let noise = Component::type_a(noise * fit.noise_at(at), self.dof(begun));
            let mut budget = converter;
            budget.add(&noise.from(Source::Noise));
            let at_s = (lo as f64 + at) * self.interval_s;
            return Some(Passage { at_s, slope, budget: budget.scaled(1.0 / slope) });
        }
        // Anywhere since the sample before, or since the beginning where none tells.
        let earliest =
            if begun > 0 { begun as f64 - 1.0 } else { -self.before_s / self.interval_s };
        let since = if beyond > from { beyond as f64 - 1.0 } else { earliest };
        let before = if beyond > from { self.at(beyond - 1)? } else { 0.0 };
        let slope = ((self.at(beyond)? - before) / self.interval_s).abs();
        let mut budget = converter;
        let [since, until] = match self.bent_between(begun, beyond, towards) {
            Some([early, late]) => {
                budget.add(&Component::type_a(noise, self.dof(begun)).from(Source::Noise));
                [since + early, since + late]
            }
            None => [since, beyond as f64],
        };
        let half = 0.5 * (until - since);
        let unseen = Component::rectangular(half * self.interval_s).from(Source::Sampling);
        let budget = Budget::of(&[unseen]).plus(&budget.scaled(1.0 / slope));
        Some(Passage { at_s: (since + half) * self.interval_s, slope, budget })
    }

    /// When, in intervals after the sample before `beyond`, a course passes nothing that comes ever more slowly:
    /// not after the straight line from that sample to `beyond` does, for the course lies above it; and not before
    /// the lines through the neighbours on either side do, for it lies below these. `None` where the filter has
    /// yet to follow, or what comes does not slow down.
    fn bent_between(
        &self,
        begun: usize,
        beyond: usize,
        towards: impl Fn(f64) -> f64,
    ) -> Option<[f64; 2]> {
        // Behind the filter a jump's course is bent the other way at first.
        let bends = begun + (BENDS_S / self.interval_s).ceil() as usize;
        let before = beyond.checked_sub(1).filter(|&before| before >= bends)?;
        let y = |i: usize| self.at(i).map(&towards);
        let [a, b, c] = [y(before)?, y(beyond)?, y(beyond + 1)?];
        let slows_down = a < 0.0 && c > b && c - b < b - a;
        let late = -a / (b - a);
        let by_next = 1.0 - b / (c - b);
        let by_last = if before > bends { -a / (a - y(before - 1)?) } else { 0.0 };
        slows_down.then(|| [by_next.max(by_last).clamp(0.0, late), late])
    }
}

/// What leads back to the instant of switching on.
struct LedBack {
    /// The current there, amperes.
    value: f64,
    /// How steep it is there, amperes an interval.
    steep: f64,
    /// What noise, the shape and the converter leave open.
    shape: Budget,
}

/// How what is above the settled current is drawn so that a parabola follows it: as its logarithm, since a capacitor
/// and a motor let it fall exponentially, and a filament nearly so at first; as it is where there is nothing to fall.
#[derive(Clone, Copy)]
enum Course {
    Falls { from: f64 },
    Stays,
}

impl Course {
    /// From a height on, if that is clear of the noise.
    fn of(height: f64, clear: f64) -> Self {
        if height > clear { Course::Falls { from: height } } else { Course::Stays }
    }

    fn bent(self, excess: f64) -> f64 {
        match self {
            Course::Falls { from } => (excess / from).max(f64::MIN_POSITIVE).ln(),
            Course::Stays => excess,
        }
    }

    fn excess(self, bent: f64) -> f64 {
        match self {
            Course::Falls { from } => from * bent.exp(),
            Course::Stays => bent,
        }
    }

    /// By how much the excess changes with what is drawn.
    fn stretch(self, excess: f64) -> f64 {
        match self {
            Course::Falls { .. } => excess,
            Course::Stays => 1.0,
        }
    }
}

/// Where a course passes a level.
struct Passage {
    /// Seconds after the first sample.
    at_s: f64,
    /// How steep it is there, amperes a second.
    slope: f64,
    /// What its instant leaves open, seconds.
    budget: Budget,
}

#[cfg(test)]
#[path = "start/tests.rs"]
mod tests;
