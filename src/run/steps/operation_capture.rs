//! Captures all that has to do with the move of an output.

use crate::link::capture::{CaptureSetup, Trigger};
use crate::link::client::micros;
use crate::measure::mean::Mean;
use crate::measure::rounding::conversion_noise;
use crate::procedure::bench::MEASURED_OVER;
use crate::procedure::captures::{FAST, fit};
use crate::procedure::commands::{command, on_its_way};
use crate::procedure::numbers::Numbers;
use crate::procedure::orders;
use crate::quantity::unit::Units;
use crate::run::ongoing::OngoingRun;
use crate::run::order::Order;
use crate::run::see::operation::{Means, OperationCapture};
use crate::run::see::standing::Standing;
use crate::run::step_stop::StepStop;
use crate::script::plan::By;
use crate::script::timing::LEAD;
use crate::signal::target::Clamp;
use crate::signal::telegram::Telegram;
use crate::wire::channel::{
    CLAMP_CURRENT, CLAMP_VOLTAGE, CONTACT_CLOSER, FEED_CURRENT, LOAD_VOLTAGE,
};
use crate::wire::request::Request;
use core::time::Duration;

/// Time between points.
const INTERVAL_US: u32 = 200;
/// The most conversions averaged into one point: a closure that lasts just one of them still shows.
const AVERAGE_MAX: u32 = 4;
/// What is captured before anything goes out.
const BEFORE: Duration = Duration::from_millis(20);
/// The lead counts from the slot's begin, but from no more than this before the capture was armed:
/// so long an order takes on an ordinary line.
const ARMED_WITHIN_US: u64 = 5_000;
/// A held contact is let go by an order; should the line fail, by itself so much later. That is as
/// long as the line may hold up the command against it.
const HELD_LONGER: Duration = Duration::from_secs(5);

/// Carries an order out and captures what follows; a load that settles later is read then. `None`: the feed
/// has tripped.
pub fn take(
    run: &mut OngoingRun<'_, '_>,
    order: &Order,
    [window, settles]: [Duration; 2],
) -> Result<Option<OperationCapture>, StepStop> {
    run.state.ordered[usize::from(order.output) - 1] = Some(order.new_clamp().position);
    let mut tripped = !run.load_supply_on()?;
    let (sheet, bank) = (&run.plan.module, run.state.bank);
    let (telegram, active) = match order.by {
        By::Contact => (None, Duration::ZERO),
        By::Command | By::CommandAgainstContact => {
            let telegram = command(sheet, bank.address, bank.format, order.output, order.to)?;
            let active = on_its_way(sheet, &telegram);
            (Some(telegram), active)
        }
    };
    let setup = setup(run, order, active, window);
    run.bench.arm(FAST, &setup)?;
    let armed_us = run.bench.clock_us()?;
    if order.by == By::CommandAgainstContact {
        let held = Clamp { output: order.output, position: order.to.other() };
        let time = LEAD + active + window + HELD_LONGER;
        run.bench.jig.close_contact(held.channel(CONTACT_CLOSER), time)?;
    }
    let lead_us = run.began_us.max(armed_us.saturating_sub(ARMED_WITHIN_US)) + micros(LEAD);
    run.bench.wait_until(lead_us)?;

    match &telegram {
        Some(telegram) => run.bench.jig.command(telegram, sheet.repeat)?,
        None => {
            let closer = order.new_clamp().channel(CONTACT_CLOSER);
            let time = Duration::try_from_secs_f64(sheet.contact_closure.si()).unwrap_or(window);
            run.bench.jig.close_contact(closer, time)?;
        }
    }
    let acted_us = run.bench.clock_us()?;
    // The jig's timer runs by itself: its last point may end so much later than the window.
    let last_us = u64::from(setup.interval_us);
    let end_us = acted_us + micros(active) + micros(window) + last_us;
    // The line may have taken its time between the two clocks.
    run.state.suspect(lead_us.min(acted_us), end_us);
    run.bench.wait_until(end_us)?;
    if order.by == By::CommandAgainstContact {
        let_go(run, order, end_us)?;
    }

    let clamp = order.new_clamp();
    let mut settled_later = None;
    if !settles.is_zero() && !tripped {
        run.bench.wait_until(end_us + micros(settles))?;
        settled_later = self::settled_later(run, clamp)?;
    }
    // In the module's rest: the two voltages around the contact without current between them.
    let without_current = if tripped { None } else { without_current(run, clamp)? };
    let trips = run.bench.trips()?;
    tripped |= trips.loads;
    run.bench.load_supply_off()?;
    if trips.feed {
        run.state.feed_trips();
        run.bench.send(&(orders::FEED_OFF, orders::END_CAPTURE))?;
        return Ok(None);
    }
    let (begin_us, moment_us) = moments(run, telegram.as_ref())?;
    let record = run.fetch(FAST, end_us)?;
    let zero_us = record.trigger_us.unwrap_or(record.first_us);
    let begin = begin_us.saturating_sub(record.first_us) / u64::from(record.interval_us.max(1));
    let start = (begin as usize).min(record.scans());
    let still = record.trace(FEED_CURRENT).and_then(|t| Mean::of(t.counts.get(..start)?));
    if let Some(still) = still {
        run.state.sees_feed_noise(conversion_noise(still.deviation, record.average));
    }
    Ok(Some(OperationCapture {
        start,
        moment_us: moment_us as f64 - zero_us as f64,
        standing: Standing::default(),
        supply: None,
        settled_later,
        without_current,
        tripped,
        record,
    }))
}

/// When something could move at the earliest, and when the module had all it needs: from there its
/// response counts.
fn moments(
    run: &mut OngoingRun<'_, '_>,
    telegram: Option<&Telegram>,
) -> Result<(u64, u64), StepStop> {
    let Some(telegram) = telegram else {
        let closure = run.bench.jig.closure()?;
        return Ok((closure.began_us, closure.began_us));
    };
    let sent = run.bench.jig.sent()?;
    let needed = match run.plan.module.packets_needed {
        0 | 1 => sent.first_end_us,
        _ => sent.second_end_us,
    };
    // What follows the last pulse tells the module nothing more.
    let needed = needed.saturating_sub(telegram.rests_us().into());
    Ok((sent.first_end_us.saturating_sub(u64::from(telegram.duration_us())), needed))
}

/// Lets the held contact go, and makes sure that it was held all the time until `end_us`.
fn let_go(run: &mut OngoingRun<'_, '_>, order: &Order, end_us: u64) -> Result<(), StepStop> {
    let held = order.new_clamp().channel(CONTACT_CLOSER);
    run.bench.send(&orders::open(&[held]))?;
    if run.bench.jig.closure()?.ends_us < end_us {
        return Err(StepStop::Trouble(
            "the line to the jig is so slow that a contact was let go before the command against \
             it had gone out: look at the cable, and test again"
                .into(),
        ));
    }
    Ok(())
}

fn setup(
    run: &OngoingRun<'_, '_>,
    order: &Order,
    active: Duration,
    window: Duration,
) -> CaptureSetup {
    let mut scan = run.telling_channels();
    for clamp in [order.new_clamp(), order.old_clamp()] {
        for channel in [clamp.channel(CLAMP_CURRENT), clamp.channel(CLAMP_VOLTAGE)] {
            if !scan.contains(&channel) && run.bench.has(channel) {
                scan.push(channel);
            }
        }
    }
    scan.extend([FEED_CURRENT, LOAD_VOLTAGE]);
    let channels = run.channels();
    let fastest_us = scan.iter().filter_map(|&c| channels.get(c)).map(|d| d.interval_us).max();
    let pre_us = micros(BEFORE + active);
    let interval = u64::from(INTERVAL_US);
    let setup = CaptureSetup {
        scan,
        interval_us: INTERVAL_US,
        points: ((pre_us + micros(window)) / interval) as u32,
        pre_trigger: (pre_us / interval) as u32,
        average: 1,
        trigger: if order.by == By::Contact { Trigger::Contact } else { Trigger::Sent },
    };
    let setup = fit(setup, FAST);
    // Points that lie farther apart, since the capture is long, are means of more conversions: between two
    // of these nobody looks.
    let average = average(setup.interval_us, fastest_us.unwrap_or(INTERVAL_US));
    CaptureSetup { average, ..setup }
}

/// How many conversions make a point: as many as the channels allow. Powers of two only, so that the interval
/// stays a multiple of them.
fn average(interval_us: u32, fastest_us: u32) -> u16 {
    let fits = |average: &u32| {
        interval_us.is_multiple_of(*average) && interval_us / average >= fastest_us.max(1)
    };
    [AVERAGE_MAX, AVERAGE_MAX / 2].into_iter().find(fits).unwrap_or(1) as u16
}

/// The means once the load has settled.
fn settled_later(run: &mut OngoingRun<'_, '_>, clamp: Clamp) -> Result<Option<Means>, StepStop> {
    let voltages = [LOAD_VOLTAGE, clamp.channel(CLAMP_VOLTAGE)];
    let currents = [clamp.channel(CLAMP_CURRENT)];
    means(run, clamp, &(orders::voltages(&voltages), orders::currents(&currents)))
}

/// The means with the clamp's load disconnected for a moment.
fn without_current(run: &mut OngoingRun<'_, '_>, clamp: Clamp) -> Result<Option<Means>, StepStop> {
    let switch = [run.load_switch(clamp)];
    let voltages = [LOAD_VOLTAGE, clamp.channel(CLAMP_VOLTAGE)];
    let currents = [clamp.channel(CLAMP_CURRENT)];
    let request = (
        orders::open(&switch),
        orders::voltages(&voltages),
        orders::currents(&currents),
        orders::close(&switch),
    );
    means(run, clamp, &request)
}

/// What a request reads of supply voltage, clamp voltage and current.
fn means<R>(
    run: &mut OngoingRun<'_, '_>,
    clamp: Clamp,
    request: &R,
) -> Result<Option<Means>, StepStop>
where
    R: Request<Answer: Numbers>,
{
    let (current, voltage) = (clamp.channel(CLAMP_CURRENT), clamp.channel(CLAMP_VOLTAGE));
    if !run.state.is_loaded(clamp) || !run.bench.has(voltage) || !run.bench.has(current) {
        return Ok(None);
    }
    let said = match run.bench.channel_readings(
        request,
        &[LOAD_VOLTAGE, voltage, current],
        2 * MEASURED_OVER,
    ) {
        Ok(said) => said,
        // A trip meanwhile: the caller asks for it.
        Err(_) if run.bench.trips()?.supplies() => return Ok(None),
        Err(error) => return Err(error.into()),
    };
    Ok(match said[..] {
        [supply, at_clamp, amperes] => {
            let channels = run.channels();
            let is_cut_off = [(LOAD_VOLTAGE, supply), (voltage, at_clamp), (current, amperes)]
                .into_iter()
                .any(|(channel, reading)| channels.end_of_reading(channel, reading).is_some());
            let current = channels.corrected(current, amperes);
            Some(Means { supply, clamp: at_clamp, current, is_cut_off })
        }
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::average;

    /// Ten thousand conversions a second, however far apart the points of a long capture lie.
    #[test]
    fn a_long_capture_looks_as_often_as_a_short_one() {
        for (interval_us, fastest_us, conversions) in [
            (200, 100, 2),
            (400, 100, 4),
            (800, 100, 4),
            (200, 50, 4),
            (200, 200, 1),
            (250, 100, 2),
        ] {
            assert_eq!(average(interval_us, fastest_us), conversions, "{interval_us} {fastest_us}");
        }
    }
}
