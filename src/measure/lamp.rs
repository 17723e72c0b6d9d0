//! The rhythm of a lamp, from a slow record of the feed current.
//!
//! The record holds more than the lamp: noise, and the pulses of coils that move meanwhile. So the
//! two levels come from the parts where nothing else goes on, as the two fullest modes of their
//! histogram (IEEE Std 181-2011, 5.2.2); samples that belong to neither level are left out; and a
//! stretch left out that could hide a change splits the record. Rate and duty are taken over whole
//! cycles only.

use super::component::Component;
use super::filter::between_conversions;
use super::level::StateLevels;
use super::source::Source;
use super::uncertainty::Estimate;
use contributions::Contributions;
pub use no_rhythm::NoRhythm;
use std::ops::Range;

mod contributions;
mod drawn;
mod levels;
mod no_rhythm;
mod runs;

/// What was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rhythm {
    /// Changes on-off-on a second, in hertz.
    pub rate: Estimate,
    /// Share of the time that it is on.
    pub duty: Estimate,
    /// Whole cycles that were seen.
    pub cycles: usize,
    /// How much more current it draws when on, in the unit of the record, with what the scatter of the points
    /// leaves open of it.
    pub drawn: Estimate,
}

/// Cycles may differ by this share of their mean before it is no rhythm.
const REGULAR: f64 = 0.35;

/// By how much of a point a lamp may be slower to go on than to go off, as a limit (common practice, no
/// source). It is the same in every blink, so it does not average out; and it does not change the rate.
const LAG: f64 = 0.1;

/// How many points are averaged into one, tried in turn: two lamps that differ by little need it.
const WIDTHS: [usize; 4] = [1, 2, 4, 8];

/// Finds the rhythm.
///
/// Each value is the mean of `average` conversions. `suspect` are the parts of the record in which
/// something else draws current as well; the levels are not taken from there. `resolution` is the
/// value of one count.
///
/// Levels that do not stand clear of the noise tell nothing: a sample could be taken for one of the
/// other level. Then neighbours are averaged, as far as that leaves the lamp its changes.
///
/// # Errors
/// [`NoRhythm`], when there is none to be told.
pub fn rhythm(
    values: &[f32],
    interval_us: u32,
    average: u16,
    suspect: &[Range<usize>],
    resolution: f64,
) -> Result<Rhythm, NoRhythm> {
    let average = f64::from(average.max(1));
    let mut found = levels::two_levels(values, suspect, resolution);
    if let Ok(levels) = found
        && levels.are_clear
    {
        return of_levels(values, interval_us, average, &levels, suspect);
    }
    for width in WIDTHS.into_iter().skip(1) {
        let wide = averaged(values, width);
        let suspect: Vec<Range<usize>> =
            suspect.iter().map(|s| s.start / width..s.end.div_ceil(width)).collect();
        // What averages away is noise, the steps of the converter included.
        let resolution = resolution / (width as f64).sqrt();
        let levels = levels::two_levels(&wide, &suspect, resolution);
        if let Ok(levels) = levels
            && levels.are_clear
        {
            let (interval_us, average) = (interval_us * width as u32, average * width as f64);
            return of_levels(&wide, interval_us, average, &levels, &suspect);
        }
        if found.is_err() && levels.is_ok() {
            found = levels;
        }
    }
    Err(found.err().unwrap_or(NoRhythm::Faint))
}

/// The smallest change of the current that would have been seen in the same record; `None` where there are too few
/// points to say so.
pub fn least_change(values: &[f32], suspect: &[Range<usize>], resolution: f64) -> Option<f64> {
    levels::noise(values, suspect, resolution).map(|noise| levels::LEAST_SIGNAL * noise)
}

/// Neighbours averaged; what is left over at the end is dropped.
fn averaged(values: &[f32], width: usize) -> Vec<f32> {
    values.chunks_exact(width).map(|c| c.iter().sum::<f32>() / width as f32).collect()
}

/// The rhythm of a record whose levels are known.
fn of_levels(
    values: &[f32],
    interval_us: u32,
    average: f64,
    levels: &levels::Levels,
    suspect: &[Range<usize>],
) -> Result<Rhythm, NoRhythm> {
    let interval_s = f64::from(interval_us) * 1e-6;
    let half_width = between_conversions(interval_s / average) / average;
    let mut stretches = runs::stretches(values, levels, half_width, suspect);
    let mut sums = Sums::of(&stretches);
    if sums.cycles < 2 {
        return Err(NoRhythm::TooFewCycles);
    }
    if !sums.are_regular() {
        return Err(NoRhythm::Irregular);
    }
    // The cycles whose changes were all seen tell more than all of them.
    let seen: Vec<Vec<runs::Change>> =
        stretches.iter().flat_map(|s| s.split(|c| c.hidden)).map(<[_]>::to_vec).collect();
    let of_seen = Sums::of(&seen);
    if of_seen.cycles >= 2 {
        (stretches, sums) = (seen, of_seen);
    }
    let total = sums.whole;
    let rate = sums.cycles as f64 / (total * interval_s);
    let duty = sums.on / total;
    let mut parts = Contributions::default();
    stretches.iter().for_each(|s| parts.add(whole_cycles_of(s), duty));
    let of_rate = parts.of_rate.budget().scaled(rate / total);
    let mut of_duty = parts.of_duty.budget().scaled(1.0 / total);
    let lag = LAG * sums.cycles as f64 / total;
    of_duty.add(&Component::rectangular(lag).from(Source::Threshold));
    Ok(Rhythm {
        rate: Estimate::of(rate, of_rate),
        duty: Estimate::of(duty, of_duty),
        cycles: sums.cycles,
        drawn: drawn::drawn(values, levels, suspect),
    })
}

/// The changes of a stretch from its first one to the last one of the same direction; none where there
/// is no whole cycle.
fn whole_cycles_of(changes: &[runs::Change]) -> &[runs::Change] {
    if changes.len() < 3 { &[] } else { &changes[..=2 * ((changes.len() - 1) / 2)] }
}

/// The part of a quiet record that holds whole cycles, as many as there are (one at least), with
/// the levels of the lamp.
///
/// # Errors
/// [`NoRhythm::TooFewCycles`] when the current changes but shows no whole cycle; else there is
/// nothing that blinks.
pub fn whole_cycles(
    values: &[f32],
    resolution: f64,
) -> Result<(Range<usize>, StateLevels), NoRhythm> {
    let levels = levels::two_levels(values, &[], resolution)?;
    let stretches = runs::stretches(values, &levels, 0.5, &[]);
    let changes = stretches
        .iter()
        .max_by_key(|s| s.len())
        .filter(|s| s.len() >= 3)
        .ok_or(NoRhythm::TooFewCycles)?;
    let last = changes[2 * ((changes.len() - 1) / 2)];
    // A change at 3.5 lies between samples 3 and 4: the cycle begins with sample 4.
    let sample = |at: f64| (at.max(0.0) + 0.5).floor() as usize;
    let range = sample(changes[0].at)..sample(last.at).min(values.len());
    Ok((range, StateLevels { low: levels.low, high: levels.high }))
}

/// The level that each sample belongs to, by the side of `middle` that it lies on.
pub fn course<'a>(
    values: &'a [f32],
    middle: f64,
    levels: &StateLevels,
) -> impl Fn(usize) -> f64 + 'a {
    let StateLevels { low, high } = *levels;
    move |i| if f64::from(values[i]) > middle { high } else { low }
}

/// Whole cycles of all stretches added up, in samples.
#[derive(Default)]
struct Sums {
    cycles: usize,
    whole: f64,
    shortest: f64,
    longest: f64,
    on: f64,
}

impl Sums {
    fn of(stretches: &[Vec<runs::Change>]) -> Self {
        let mut sums = Sums { shortest: f64::INFINITY, ..Sums::default() };
        stretches.iter().for_each(|stretch| sums.add(stretch));
        sums
    }

    /// Adds the whole cycles of one stretch, from its first change to the last one of the same
    /// direction.
    fn add(&mut self, changes: &[runs::Change]) {
        for cycle in whole_cycles_of(changes).windows(3).step_by(2) {
            let whole = cycle[2].at - cycle[0].at;
            let first = cycle[1].at - cycle[0].at;
            self.on += if cycle[0].to_high { first } else { whole - first };
            self.whole += whole;
            self.shortest = self.shortest.min(whole);
            self.longest = self.longest.max(whole);
            self.cycles += 1;
        }
    }

    /// Whether no cycle is much shorter or longer than they are on the average: one that is was
    /// made by something else, or hides another one.
    fn are_regular(&self) -> bool {
        let mean = self.whole / self.cycles as f64;
        self.shortest > (1.0 - REGULAR) * mean && self.longest < (1.0 + REGULAR) * mean
    }
}

#[cfg(test)]
mod tests;
