//! Moves an output and captures all that has to do with it.

use crate::link::capture::{CaptureSetup, Trigger};
use crate::link::client::micros;
use crate::quantity::unit::Units;
use crate::run::course::{Course, Halt};
use crate::run::known::Feed;
use crate::run::search::{elsewhere, short};
use crate::run::see::operation::{Seen, Zero};
use crate::run::see::positions::{Standing, look};
use crate::run::steps::operate_readings as readings;
use crate::run::steps::power::{MEMORY, load_supply_on, load_switch, numbers};
use crate::script::plan::By;
use crate::script::timing::LEAD;
use crate::signal::target::{Clamp, Format, Position};
use crate::signal::telegram::{self, Telegram};
use crate::wire::channel::{
    CLAMP_CURRENT, CLAMP_VOLTAGE, CONTACT_CLOSER, FEED_CURRENT, LOAD_VOLTAGE,
};
use core::time::Duration;

/// Time between points.
const INTERVAL_US: u32 = 200;
/// The most conversions averaged into one point: a closure that lasts just one of them still shows.
const AVERAGE_MAX: u32 = 4;
/// What is captured before anything goes out.
const BEFORE: Duration = Duration::from_millis(20);
/// What may lie between an order and the moment it goes out: the packets that are queued already,
/// and those that keep two of the same address apart.
const QUEUED: Duration = Duration::from_millis(15);
/// A held contact is let go by an order; should the line fail, by itself so much later. That is as
/// long as the line may hold up the command against it.
const HELD_LONGER: Duration = Duration::from_secs(5);
/// What a `MEASure` takes.
const MEASURED_OVER: Duration = Duration::from_millis(20);

/// What shall move, and by what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Order {
    pub output: u8,
    pub to: Position,
    pub by: By,
}

impl Order {
    /// The clamp that shall be closed afterwards.
    pub fn new_clamp(&self) -> Clamp {
        let position = if self.by == By::CommandAgainstContact { self.to.other() } else { self.to };
        Clamp { output: self.output, position }
    }

    /// The clamp that shall be open afterwards.
    pub fn old_clamp(&self) -> Clamp {
        Clamp { output: self.output, position: self.new_clamp().position.other() }
    }
}

/// The command that sends an output to a position, at the address and in the format that it is set to.
pub fn command(course: &Course<'_, '_>, output: u8, to: Position) -> Result<Telegram, Halt> {
    command_at(course, course.known.bank.address, course.known.bank.format, output, to)
}

/// The same for a module whose first address is another one.
pub fn command_at(
    course: &Course<'_, '_>,
    first: u16,
    format: Format,
    output: u8,
    to: Position,
) -> Result<Telegram, Halt> {
    let module = &course.plan.module;
    let address = first + u16::from(output) - 1;
    telegram::command(format, module.numbering, address, to, module.direction_of_a)
        .map_err(|error| Halt::Trouble(error.to_string()))
}

/// The longest that a sound output needs from the end of a command.
pub fn longest_move(course: &Course<'_, '_>) -> Duration {
    let sheet = &course.plan.module;
    let upper = |limits: &crate::quantity::range::Limits<uom::si::f64::Time>| {
        limits.upper.map_or(0.0, Units::si)
    };
    let response = upper(&sheet.response).max(upper(&sheet.contact_response));
    Duration::try_from_secs_f64(response + upper(&sheet.gap) + upper(&sheet.bounce))
        .unwrap_or(Duration::ZERO)
}

/// Sends an output to a position. Nothing is judged, but an output that does not go there is told:
/// what follows would not make sense without it.
pub fn send(course: &mut Course<'_, '_>, output: u8, to: Position) -> Result<(), Halt> {
    if !matches!(course.known.feed, Feed::On(_)) {
        return Ok(());
    }
    course.known.ordered[usize::from(output) - 1] = Some(to);
    let telegram = command(course, output, to)?;
    let repeat = course.plan.module.repeat;
    let asked_us = course.began_us;
    course.jig.command(&telegram, repeat)?;
    let sent_us = course.jig.clock_us()?;
    let moved_us = sent_us
        + u64::from(telegram.sending_us(repeat))
        + micros(QUEUED)
        + micros(longest_move(course));
    course.known.suspect(asked_us, moved_us);
    course.wait_until(moved_us)?;
    if course.loaded_channels().is_empty() || !course.is_seen(output) {
        course.known.positions[usize::from(output) - 1] = Some(to);
        return Ok(());
    }
    let at = usize::from(output) - 1;
    let stands = if load_supply_on(course)? { look(course)?[at] } else { Some(to) };
    if stands != Some(to) {
        let order = Order { output, to, by: By::Command };
        elsewhere::find_answer_once(course, &order)?;
        readings::missed(course, &order, stands)?;
    }
    Ok(course.jig.send("OUTP2 OFF")?)
}

/// Moves an output and judges all that has to do with it.
pub fn operate(course: &mut Course<'_, '_>, order: &Order, window: Duration) -> Result<(), Halt> {
    if !matches!(course.known.feed, Feed::On(_)) {
        let why = if course.known.feed == Feed::Tripped {
            "the feed has tripped"
        } else {
            "the feed is off"
        };
        return readings::none(course, order, why);
    }
    course.known.ordered[usize::from(order.output) - 1] = Some(order.new_clamp().position);
    let mut tripped = !load_supply_on(course)?;
    let (telegram, active) = match order.by {
        By::Contact => (None, Duration::ZERO),
        By::Command | By::CommandAgainstContact => {
            let telegram = command(course, order.output, order.to)?;
            let sending = telegram.sending_us(course.plan.module.repeat);
            (Some(telegram), Duration::from_micros(sending.into()) + QUEUED)
        }
    };
    course.arm(1, &setup(course, order, active, window))?;
    let armed_us = course.jig.clock_us()?;
    if order.by == By::CommandAgainstContact {
        let held = Clamp { output: order.output, position: order.to.other() };
        let time = LEAD + active + window + HELD_LONGER;
        course.jig.close_contact(held.channel(CONTACT_CLOSER), time)?;
    }
    let lead_us = course.began_us.max(armed_us.saturating_sub(5_000)) + micros(LEAD);
    course.wait_until(lead_us)?;

    match &telegram {
        Some(telegram) => course.jig.command(telegram, course.plan.module.repeat)?,
        None => {
            let closer = order.new_clamp().channel(CONTACT_CLOSER);
            let time = Duration::try_from_secs_f64(course.plan.module.contact_closure.si())
                .unwrap_or(window);
            course.jig.close_contact(closer, time)?;
        }
    }
    let acted_us = course.jig.clock_us()?;
    let end_us = acted_us + micros(active) + micros(window);
    // The line may have taken its time between the two clocks.
    course.known.suspect(lead_us.min(acted_us), end_us);
    course.wait_until(end_us)?;
    if order.by == By::CommandAgainstContact {
        let_go(course, order, end_us)?;
    }

    // In the module's rest: the two voltages around the contact without current between them.
    let zero = if tripped { None } else { without_current(course, order.new_clamp())? };
    let trips = course.trips()?;
    tripped |= trips.loads;
    course.jig.send("OUTP2 OFF")?;
    if trips.feed {
        course.known.feed_trips();
        course.jig.send("OUTP1 OFF;:ABOR1")?;
        return readings::none(course, order, "the feed has tripped");
    }
    // When the module had all it needs: from here its response counts.
    let (begin_us, moment_us) = match &telegram {
        None => {
            let closure = course.jig.closure()?;
            (closure.began_us, closure.began_us)
        }
        Some(telegram) => {
            let sent = course.jig.sent()?;
            let needed = match course.plan.module.packets_needed {
                0 | 1 => sent.first_end_us,
                _ => sent.second_end_us,
            };
            (sent.first_end_us.saturating_sub(u64::from(telegram.duration_us())), needed)
        }
    };
    let record = course.fetch(1, end_us)?;
    let zero_us = record.trigger_us.unwrap_or(record.first_us);
    let begin = begin_us.saturating_sub(record.first_us) / u64::from(record.interval_us.max(1));
    let seen = Seen {
        start: (begin as usize).min(record.scans()),
        moment_us: moment_us as f64 - zero_us as f64,
        standing: Standing::default(),
        supply: None,
        zero,
        tripped,
        record,
    };
    if tripped {
        short::find_short(course)?;
    }
    readings::read(course, order, seen)
}

/// Lets the held contact go, and makes sure that it was held all the time until `end_us`.
fn let_go(course: &mut Course<'_, '_>, order: &Order, end_us: u64) -> Result<(), Halt> {
    let held = order.new_clamp().channel(CONTACT_CLOSER);
    course.jig.send(&format!("ROUT:OPEN (@{held})"))?;
    if course.jig.closure()?.ends_us < end_us {
        return Err(Halt::Trouble(
            "the line to the jig is so slow that a contact was let go before the command against \
             it had gone out: look at the cable, and test again"
                .into(),
        ));
    }
    Ok(())
}

fn setup(
    course: &Course<'_, '_>,
    order: &Order,
    active: Duration,
    window: Duration,
) -> CaptureSetup {
    let mut scan = course.loaded_channels();
    for clamp in [order.new_clamp(), order.old_clamp()] {
        for channel in [clamp.channel(CLAMP_CURRENT), clamp.channel(CLAMP_VOLTAGE)] {
            if !scan.contains(&channel) && course.jig.channel(channel).is_some() {
                scan.push(channel);
            }
        }
    }
    scan.extend([FEED_CURRENT, LOAD_VOLTAGE]);
    let fastest_us =
        scan.iter().filter_map(|&c| course.jig.channel(c)).map(|d| d.interval_us).max();
    // Halves only, so that the interval stays a multiple of the average.
    let average = match INTERVAL_US / fastest_us.unwrap_or(INTERVAL_US).max(1) {
        AVERAGE_MAX.. => AVERAGE_MAX,
        2..AVERAGE_MAX => 2,
        _ => 1,
    };
    let pre_us = micros(BEFORE + active);
    let interval = u64::from(INTERVAL_US);
    let setup = CaptureSetup {
        scan,
        interval_us: INTERVAL_US,
        points: ((pre_us + micros(window)) / interval) as u32,
        pre_trigger: (pre_us / interval) as u32,
        average: average as u16,
        trigger: if order.by == By::Contact { Trigger::Contact } else { Trigger::Sent },
    };
    Course::fit(setup, MEMORY)
}

/// Supply voltage, clamp voltage and current with the clamp's load disconnected for a moment.
fn without_current(course: &mut Course<'_, '_>, clamp: Clamp) -> Result<Option<Zero>, Halt> {
    let (current, voltage) = (clamp.channel(CLAMP_CURRENT), clamp.channel(CLAMP_VOLTAGE));
    let has = |channel| course.jig.channel(channel).is_some();
    if !course.known.is_loaded(clamp) || !has(voltage) || !has(current) {
        return Ok(None);
    }
    let switch = load_switch(course.known.loads, clamp);
    let units = format!(
        "ROUT:OPEN (@{switch});:MEAS:VOLT? (@{LOAD_VOLTAGE},{voltage});\
         :MEAS:CURR? (@{current});:ROUT:CLOS (@{switch})"
    );
    let said = match numbers(course, &units, 2 * MEASURED_OVER) {
        Ok(said) => said,
        // A trip meanwhile: the caller asks for it.
        Err(_) if course.trips()?.supplies() => return Ok(None),
        Err(halt) => return Err(halt),
    };
    Ok(match said[..] {
        [supply, at_clamp, amperes] => Some(Zero {
            supply,
            clamp: at_clamp,
            current: course.corrected(current, amperes),
            is_cut_off: [(LOAD_VOLTAGE, supply), (voltage, at_clamp), (current, amperes)]
                .into_iter()
                .any(|(channel, reading)| course.end_of_reading(channel, reading).is_some()),
        }),
        _ => None,
    })
}
