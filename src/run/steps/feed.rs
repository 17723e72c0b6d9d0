//! Feed on and off.

use super::carried_out::{CarriedOut, Lost};
use crate::judge::blame::Facts;
use crate::judge::expect::of_sheet;
use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::link::capture::{CaptureSetup, Trigger};
use crate::link::client::micros;
use crate::measure::budget::Source;
use crate::measure::filter::FILTER_S;
use crate::measure::record::Trace;
use crate::measure::uncertainty::{Component, Estimate};
use crate::procedure::captures::FAST;
use crate::procedure::captures::fit;
use crate::procedure::error::trips;
use crate::procedure::orders;
use crate::procedure::supplies::StartCharge;
use crate::run::judging::draft::ReadingDraft;
use crate::run::judging::draft::count;
use crate::run::judging::draft::outputs_note;
use crate::run::ongoing::OngoingRun;
use crate::run::search::short::find_short;
use crate::run::see::standing::Standing;
use crate::run::see::standing::supply_in;
use crate::run::see::untrusted::Untrusted;
use crate::run::see::untrusted::beyond_range;
use crate::run::state::Feed;
use crate::run::step_stop::StepStop;
use crate::script::actions::{FeedOff, FeedOn};
use crate::script::plan::Polarity;
use crate::script::timing::LEAD;
use crate::signal::target::Position;
use crate::wire::CHARGE_PERIOD_US;
use crate::wire::channel::{FEED_CURRENT, LOAD_VOLTAGE};
use crate::wire::suffix::Supply;
use core::time::Duration;

impl CarriedOut for FeedOn {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        feed_on(run, self.polarity, self.compare, self.window)
    }

    fn lost(&self) -> Lost {
        Lost::Reading(Quantity::StartCharge)
    }
}

impl CarriedOut for FeedOff {
    fn carry_out(&self, run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
        feed_off(run)
    }

    fn lost(&self) -> Lost {
        Lost::Nothing
    }
}

/// Time between scans while the feed comes on.
const WATCH_INTERVAL_US: u32 = 1_000;

/// An inrush below this share of the soft start's limit never reached it.
const CHOKED_SHARE: f64 = 0.8;

/// Off for so long at least, that the module's reservoir has run down; it lies within the slot.
const RUN_DOWN: Duration = Duration::from_millis(950);

/// So long after the feed's order no module moves an output yet: its reservoir still fills.
const NOTHING_YET: Duration = Duration::from_millis(10);

/// Feed on through the soft start, all outputs watched.
pub fn feed_on(
    run: &mut OngoingRun<'_, '_>,
    polarity: Polarity,
    compare: bool,
    window: Duration,
) -> Result<(), StepStop> {
    if run.state.feed == Feed::Tripped {
        run.bench.send(&orders::clear_trip(Supply::Feed))?;
    }
    let watched = run.telling_channels();
    let mut scan = vec![LOAD_VOLTAGE, FEED_CURRENT];
    scan.extend(&watched);
    let span_us = micros(window);
    let setup = CaptureSetup {
        scan,
        interval_us: WATCH_INTERVAL_US,
        points: (span_us / u64::from(WATCH_INTERVAL_US)) as u32,
        pre_trigger: 0,
        average: 1,
        trigger: Trigger::Immediate,
    };
    let setup = fit(setup, FAST);
    let tripped_loads = if watched.is_empty() { false } else { !run.load_supply_on()? };
    let lead_us = run.bench.clock_us()? + micros(LEAD);
    run.bench.wait_until(lead_us)?;

    run.state.break_watch(lead_us);
    run.state.feed = Feed::On(polarity);
    if !run.plan.module.keeps_position {
        run.state.ordered = [Some(Position::A); 4];
    }
    run.state.facts.draws_nothing = false;
    // In one line with the capture: however late it comes, the capture sees all that follows.
    let on = orders::feed_on(polarity, run.state.bank.format);
    let refused = trips(run.bench.jig.capture_with(FAST, &setup, &on))?;
    let on_us = run.bench.clock_us()?;
    let end_us = on_us + span_us + u64::from(WATCH_INTERVAL_US);
    // On a slow line the samples take longer to fetch than a load may be on.
    run.bench.wait_until(end_us)?;
    run.bench.load_supply_off()?;
    let record = run.fetch(FAST, end_us)?;
    let is_tripped = refused || !run.bench.jig.soft_start_ends(run.bench.stop)?;
    run.bench.check_stop()?;
    let tripped_loads = run.bench.trips()?.loads || tripped_loads;
    // A trip ends the capture early: then the inrush was not seen.
    let inrush = record.trace(FEED_CURRENT).filter(|_| !tripped_loads).and_then(Trace::highest);
    let untrusted = beyond_range(&record, FEED_CURRENT, &[], ..).map(|_| Untrusted::PartBeyond);
    read_charge(run, is_tripped, inrush, untrusted)?;
    if is_tripped {
        run.state.feed_trips();
        run.bench.feed_off()?;
    }
    let now_us = run.bench.clock_us()?;
    run.state.break_watch(now_us);

    if tripped_loads {
        return find_short(run);
    }
    let start = (micros(NOTHING_YET) / u64::from(record.interval_us)) as usize;
    let supply = supply_in(&record, 0);
    match supply.filter(|_| !watched.is_empty()) {
        Some(supply) => {
            let mut standing = run.stand(&record, start, supply);
            if compare {
                run.look_at_bare(&mut standing)?;
            }
            read_moves(run, &standing, compare, is_tripped)
        }
        None => Ok(()),
    }
}

/// Charge of the soft start. `inrush_a` is the highest feed current while it went on.
fn read_charge(
    run: &mut OngoingRun<'_, '_>,
    is_tripped: bool,
    inrush_a: Option<f64>,
    untrusted: Option<Untrusted>,
) -> Result<(), StepStop> {
    let window = of_sheet(&run.plan.module, Quantity::StartCharge);
    let StartCharge { coulomb, time_s, step_a, limit_a } = run.bench.start_charge()?;
    let class = run.class(FEED_CURRENT);
    let correction = run.channels().correction(FEED_CURRENT);
    let charge = correction.map_or(coulomb, |c| c.correct_sum(time_s, coulomb));
    // What is read lags by the filter's time constant: the current is seen to end so much later than it does.
    let most_a = inrush_a.unwrap_or(limit_a);
    let charge = charge - FILTER_S * most_a;
    let [calibration, offset, gain] = class.offset_and_gain_over(time_s, charge);
    // The current while the reservoir fills and that at rest lie apart: each is off by itself.
    let filling_s = (charge / most_a).clamp(0.0, time_s);
    let bent_s = filling_s.hypot(time_s - filling_s);
    let linearity = Component::rectangular(class.linearity * bent_s).from(Source::Linearity);
    // Where the current falls at once, it may do so anywhere between two looks of the jig.
    let open = step_a * CHARGE_PERIOD_US as f64 * 1e-6 / 2.0;
    let sampling = Component::rectangular(open).from(Source::Sampling);
    let estimate = Estimate::new(charge, &[calibration, offset, gain, linearity, sampling]);
    let mut draft = ReadingDraft::new(Quantity::StartCharge, Some(estimate), window);
    draft.facts = Facts::from(run.state.facts).tripping(is_tripped);
    if is_tripped {
        draft.estimate = None;
        draft = draft.noting("the feed has tripped: there is a short at the module or its leads");
    } else {
        draft = draft.untrusted(untrusted);
        draft.facts.module.draws_nothing = window.lower.is_some_and(|lower| charge < 0.2 * lower);
        // A reservoir fills at the limit of the soft start, unless something is in its way.
        draft.facts.module.feed_choked = !draft.facts.module.draws_nothing
            && inrush_a.is_some_and(|a| a < CHOKED_SHARE * limit_a);
        run.state.facts = draft.facts.module;
    }
    run.read(draft)?;
    Ok(())
}

/// Outputs that moved at power-on, and those that do not stand where the sheet says.
fn read_moves(
    run: &mut OngoingRun<'_, '_>,
    standing: &Standing,
    compare: bool,
    is_tripped: bool,
) -> Result<(), StepStop> {
    let keeps = run.plan.module.keeps_position;
    let facts = Facts::from(run.state.facts).tripping(is_tripped);
    // A module that falls back moves to `a` and nowhere else.
    let moved: Vec<u8> = standing
        .moved()
        .filter(|&output| keeps || standing.of(output) != Some(Position::A))
        .collect();
    let draft =
        ReadingDraft::new(Quantity::UnwantedMoves, Some(count(moved.len())), Window::at_most(0.0))
            .knowing(facts)
            .noting(outputs_note("moved at power-on", &moved));
    run.read(draft)?;
    if !compare {
        return Ok(());
    }
    let at_off = run.state.positions_at_off;
    let wrong: Vec<u8> = run
        .outputs()
        .filter(|&output| run.is_seen(output))
        .filter(|&output| {
            let wanted = if keeps { at_off[usize::from(output) - 1] } else { Some(Position::A) };
            wanted.is_some() && standing.of(output) != wanted
        })
        .collect();
    let draft =
        ReadingDraft::new(Quantity::WrongPositions, Some(count(wrong.len())), Window::at_most(0.0))
            .knowing(facts)
            .noting(outputs_note(
                if keeps { "not where it was before" } else { "not fallen back to a" },
                &wrong,
            ));
    run.read(draft)?;
    Ok(())
}

/// Turns the feed off until the module has run down.
pub fn feed_off(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    run.state.break_watch(run.began_us);
    run.bench.feed_off()?;
    let now_us = run.bench.clock_us()?;
    run.state.break_watch(now_us);
    // On a slow line it goes off late in the slot: it stays off for its time all the same.
    run.bench.wait_until(now_us + micros(RUN_DOWN))?;
    run.state.positions_at_off = run.state.positions;
    if run.state.feed != Feed::Tripped {
        run.state.feed = Feed::Off;
    }
    Ok(())
}
