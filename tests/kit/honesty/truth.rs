//! What a reading should have been.
//!
//! The definitions are those of `docs/methods.md`; the values come from the circuits of the
//! simulated bench, from the instants at which its contacts moved, and from the resistances that it
//! is made of. No sample, no channel and no part of `measure` has a hand in them.

use super::instants::{closings, openings, seconds};
use super::start::of_start;
use super::window::Window;
use musterbench::judge::reading::{Quantity, Reading};
use musterbench::load::expected::settled_current;
use musterbench::quantity::range::Toleranced;
use musterbench::quantity::unit::Units;
use musterbench::script::actions::Action;
use musterbench::script::plan::Plan;
use musterbench::signal::target::{Clamp, Position};
use musterbench::signal::telegram;
use musterbench::simulated_bench::World;
use musterbench::simulated_bench::truth::{Order, Truth};
use musterbench::wire::channel::LOAD_VOLTAGE;
use uom::si::f64::ElectricPotential;

/// A mean that the jig works out itself runs over so long.
const READ_OVER_US: u64 = 20_000;

/// What stands on the bench, and what happened there.
pub struct Bench<'a> {
    pub truth: &'a Truth,
    pub world: &'a World,
    pub plan: &'a Plan,
}

/// The true value; `None` for what is counted, and where nothing was measured.
pub fn true_value(bench: &Bench<'_>, reading: &Reading, windows: &[Window]) -> Option<f64> {
    // What is more than the jig can tell has no uncertainty: it is no measured value.
    reading.uncertainty.filter(|&u| u > 0.0)?;
    let Bench { truth, world, .. } = bench;
    let clamp =
        reading.output.zip(reading.position).map(|(output, position)| Clamp { output, position });
    let first = windows.first();
    match reading.quantity {
        Quantity::FeedResistance => Some(world.feed.resistance_ohm()),
        Quantity::FeedToCommons => Some(world.insulation.feed_to_commons_ohm()),
        Quantity::CommonToCommon => Some(world.insulation.common_to_common_ohm()),
        // Of a small load it is told only where it fails: no share of those says anything.
        Quantity::ContactResistance => {
            let upper = reading.upper_limit.unwrap_or(f64::INFINITY);
            let is_always_told = reading.uncertainty? <= upper / 4.0;
            clamp.filter(|_| is_always_told).map(|clamp| world.loads.path_ohm(clamp.index()))
        }
        Quantity::StartCharge => {
            let from_us = first?.first_us.saturating_sub(2_000);
            Some(truth.starts.iter().find(|s| s.began_us >= from_us)?.charge_c)
        }
        Quantity::FeedVoltage => {
            let (from, to) = first?.whole();
            Some(truth.feed_v.mean(from, to))
        }
        Quantity::LoadVoltage => {
            let window =
                windows.iter().rev().find(|w| w.supply.is_some() && w.channels.len() == 1)?;
            let (from, to) = window.whole();
            Some(truth.load_v.mean(from, to))
        }
        Quantity::IdleCurrent => Some(at_rest(truth, first?)),
        Quantity::AuxiliaryCurrent => {
            let all: Vec<&Window> = windows.iter().filter(|w| w.is_at_rest()).collect();
            let currents: Vec<f64> = all.iter().map(|w| at_rest(truth, w)).collect();
            let lowest = currents.iter().copied().fold(f64::INFINITY, f64::min);
            let highest = currents.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            (currents.len() >= 2).then_some(highest - lowest)
        }
        Quantity::LoadTotal => {
            let window = windows.iter().find(|w| w.channels.contains(&LOAD_VOLTAGE))?;
            let (from, to) = window.whole();
            let on = Clamp::ALL.into_iter().filter(|c| closed_at(truth, *c, to));
            Some(truth.total_a.mean(from, to) - shift(bench, reading, window, (from, to), on))
        }
        Quantity::LoadCurrent => {
            let clamp = clamp?;
            let window = windows.iter().find(|w| w.supply.is_some())?;
            if let Some((from, to)) = settled_later(bench, reading, window) {
                // Its limits were reckoned with the voltage as it was then.
                let upper = upper_at(bench, clamp, truth.load_v.mean(from, to))?;
                let shift = reading.upper_limit.map_or(0.0, |limit| upper - limit);
                return Some(truth.clamp_a[clamp.index()].mean(from, to) - shift);
            }
            let span = if window.is_triggered_change() { window.settled() } else { window.whole() };
            let current = truth.clamp_a[clamp.index()].mean(span.0, span.1);
            Some(current - shift(bench, reading, window, span, [clamp].into_iter()))
        }
        Quantity::OpenCurrent => {
            let (from, to) = first?.settled();
            Some(truth.clamp_a[clamp?.index()].mean(from, to))
        }
        Quantity::ResponseTime | Quantity::ContactResponseTime => {
            let by_contact = reading.quantity == Quantity::ContactResponseTime;
            let window = first?;
            let order = order(truth, clamp?, by_contact, window)?;
            let closings = closings(window, truth, clamp?)?;
            Some(seconds(order.at_us, closings.first_us))
        }
        Quantity::Gap => {
            let (new, window) = (clamp?, first?);
            let old = Clamp { position: new.position.other(), ..new };
            let (opening, closing) = (openings(window, truth, old)?, closings(window, truth, new)?);
            Some(seconds(opening.last_us, closing.first_us))
        }
        Quantity::BounceTime => {
            let closings = closings(first?, truth, clamp?)?;
            Some(seconds(closings.first_us, closings.last_us))
        }
        Quantity::CoilCurrent => {
            let window = first?;
            let (from, to) = window.whole();
            let began = began(bench, clamp?, window)?;
            let before = truth.feed_a.mean(from, began);
            Some(truth.feed_a.highest_mean(1_000, began, to) - before)
        }
        Quantity::LampRate | Quantity::LampDuty => {
            let (from, to) = windows.iter().find(|w| w.interval_us >= 10_000)?.whole();
            let lamp = Blinks::of(truth, from, to)?;
            let is_rate = reading.quantity == Quantity::LampRate;
            Some(if is_rate { lamp.rate_hz } else { lamp.duty })
        }
        Quantity::LampCurrent => {
            let (from, to) = windows.iter().find(|w| w.interval_us >= 10_000)?.whole();
            lamp_current(truth, from, to)
        }
        Quantity::UnwantedMoves
        | Quantity::WrongPositions
        | Quantity::Answers
        | Quantity::AnswersInverted
        | Quantity::StuckSwitches
        | Quantity::LampSeen => None,
        Quantity::InrushCurrent | Quantity::InrushDecay | Quantity::RiseTime => {
            of_start(bench, reading, windows)
        }
    }
}

/// The mean of the feed current over whole blinks; over all of the window where there is none.
fn at_rest(truth: &Truth, window: &Window) -> f64 {
    let (from, to) = window.whole();
    let (from, to) = Blinks::of(truth, from, to).map_or((from, to), |b| (b.from_us, b.to_us));
    truth.feed_a.mean(from, to)
}

/// By how much the feed current is higher while the lamp is lit: of the current at the end of each phase, where nothing
/// of what came before is left, that of the lit ones less that of the dark ones. Coils that pulse just then, now and
/// then in most of the phases, only add to it: so the lower quarter tells.
fn lamp_current(truth: &Truth, from_us: u64, to_us: u64) -> Option<f64> {
    let within = truth.lamp.iter().filter(|c| (from_us..=to_us).contains(&c.0));
    let ends_when = |becomes_lit: bool| {
        let ends = within.clone().filter(|c| c.1 == becomes_lit);
        let mut amperes: Vec<f64> =
            ends.filter_map(|c| truth.feed_a.at(c.0.checked_sub(1)?)).collect();
        amperes.sort_by(f64::total_cmp);
        amperes.get(amperes.len() / 4).copied()
    };
    Some(ends_when(false)? - ends_when(true)?)
}

/// The blinks of the lamp within a time, from the first time that it is lit to the last.
struct Blinks {
    from_us: u64,
    to_us: u64,
    rate_hz: f64,
    duty: f64,
}

impl Blinks {
    fn of(truth: &Truth, from_us: u64, to_us: u64) -> Option<Self> {
        let within = |t: u64| (from_us..=to_us).contains(&t);
        let lit: Vec<u64> = truth.lamp.iter().filter(|c| c.1 && within(c.0)).map(|c| c.0).collect();
        let (&from_us, &to_us) = (lit.first()?, lit.last()?);
        let time_us = (to_us - from_us) as f64;
        if time_us <= 0.0 {
            return None;
        }
        let mut on_us = 0;
        for pair in truth.lamp.windows(2) {
            if pair[0].1 && pair[0].0 >= from_us && pair[1].0 <= to_us {
                on_us += pair[1].0 - pair[0].0;
            }
        }
        let rate_hz = (lit.len() - 1) as f64 / (time_us * 1e-6);
        Some(Blinks { from_us, to_us, rate_hz, duty: on_us as f64 / time_us })
    }
}

/// By how much the limits of a current would be higher at the true voltage: they were reckoned with
/// the measured one, and the uncertainty of the reading is that of the comparison.
fn shift(
    bench: &Bench<'_>,
    reading: &Reading,
    window: &Window,
    (from, to): (u64, u64),
    on: impl Iterator<Item = Clamp>,
) -> f64 {
    let measured = window.supply.map_or(f64::NAN, |s| s[usize::from(window.is_triggered_change())]);
    let volt = bench.truth.load_v.mean(from, to);
    if bench.plan.loads.is_none() {
        // Resistors: their current goes with the voltage.
        return reading.upper_limit.unwrap_or(0.0) * (volt / measured - 1.0);
    }
    let upper = |clamp, volt| upper_at(bench, clamp, volt);
    on.filter_map(|clamp| Some(upper(clamp, volt)? - upper(clamp, measured)?)).sum()
}

/// The highest current of the real load at a clamp at a voltage.
fn upper_at(bench: &Bench<'_>, clamp: Clamp, volt: f64) -> Option<f64> {
    let circuit = &bench.plan.loads.as_ref()?.clamps[clamp.index()].as_ref()?.circuit;
    let at = ElectricPotential::from_si(volt);
    let at = Toleranced { nominal: at, lower: at, upper: at };
    Some(settled_current(circuit, at).upper.si())
}

/// When the current of a load is read that settles only after its operation's capture has ended.
fn settled_later(bench: &Bench<'_>, reading: &Reading, window: &Window) -> Option<(u64, u64)> {
    let step = bench.plan.steps.iter().find(|step| step.name == reading.step)?;
    let Action::Operate(operate) = &step.action else { return None };
    let from_us = window.whole().1 + operate.settles.as_micros() as u64;
    (!operate.settles.is_zero()).then_some((from_us, from_us + READ_OVER_US))
}

fn closed_at(truth: &Truth, clamp: Clamp, at_us: u64) -> bool {
    let own = |c: &&musterbench::simulated_bench::truth::ContactChange| {
        c.output == clamp.output && c.position == clamp.position
    };
    let mut own = truth.contacts.iter().filter(own);
    match own.clone().rfind(|c| c.at_us <= at_us) {
        Some(change) => change.closed,
        // It stands as it was unpacked: the other way than its first change.
        None => own.next().is_some_and(|change| !change.closed),
    }
}

/// The order that a change-over follows.
fn order(truth: &Truth, clamp: Clamp, by_contact: bool, window: &Window) -> Option<Order> {
    let (from, to) = window.whole();
    let is_it = |o: &&Order| {
        (o.output, o.to, o.by_contact) == (clamp.output, clamp.position, by_contact)
            && (from..=to).contains(&o.at_us)
    };
    truth.orders.iter().find(is_it).copied()
}

/// When the first of what makes a change-over began: the contact's closure, or the first packet.
fn began(bench: &Bench<'_>, clamp: Clamp, window: &Window) -> Option<u64> {
    if let Some(order) = order(bench.truth, clamp, true, window) {
        return Some(order.at_us);
    }
    let order = order(bench.truth, clamp, false, window)?;
    let (bank, sheet) = (bench.plan.bank, &bench.plan.module);
    let address = bank.address + u16::from(clamp.output) - 1;
    let to: Position = clamp.position;
    let telegram =
        telegram::command(bank.format, sheet.numbering, address, to, sheet.direction_of_a).ok()?;
    Some(order.at_us - u64::from(telegram.duration_us()))
}
