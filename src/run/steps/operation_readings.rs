//! What is read of an operation, from what its capture shows.

use crate::judge::blame::{ClampFacts, Facts, ModuleFacts};
use crate::judge::expect::{OPEN_SHARE, of_sheet, open_current};
use crate::judge::limits_from::LimitsFrom;
use crate::judge::reading::Quantity;
use crate::judge::verdict::Window;
use crate::measure::change_over::ChangeOver;
use crate::measure::contact::ToldBy;
use crate::measure::uncertainty::Estimate;
use crate::measure::unseen::Unseen;
use crate::quantity::unit::Units;
use crate::run::expected::{COULD_BE_NOTHING, TOO_CLOSE};
use crate::run::judging::draft::{ReadingDraft, count, outputs_note};
use crate::run::ongoing::OngoingRun;
use crate::run::order::Order;
use crate::run::see::contact_resistance::{self, channels_around, contact_resistance};
use crate::run::see::current_rise;
use crate::run::see::shown::Shown;
use crate::run::see::untrusted::{Untrusted, beyond_range};
use crate::run::step_stop::StepStop;
use crate::script::module_sheet::PositionNames;
use crate::script::plan::{By, LoadChoice};
use crate::signal::target::{Clamp, Position};
use crate::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, LOAD_VOLTAGE};

/// Neither current nor voltage says which contact is closed.
const UNTOLD_POSITION: &str = "nothing tells where it stands: its load draws so little that the \
                               current could be nothing, and no voltage tells";
const LOADS_TRIPPED: &str = "the load supply has tripped";

/// Readings of an operation that could not be carried out.
pub fn none(
    run: &mut OngoingRun<'_, '_>,
    order: &Order,
    why: &str,
    facts: Facts,
) -> Result<(), StepStop> {
    for &quantity in quantities(order.by) {
        let window = of_sheet(&run.plan.module, quantity);
        let draft = ReadingDraft::new(quantity, None, window).at(order.new_clamp());
        run.read(draft.knowing(facts).noting(why))?;
    }
    Ok(())
}

/// The reading of an output that was sent somewhere and did not go there.
pub fn missed(
    order: &Order,
    stands: Option<Position>,
    facts: ModuleFacts,
    names: &PositionNames,
) -> ReadingDraft {
    let unmoved = ClampFacts { moved: Some(false), ..ClampFacts::default() };
    ReadingDraft::new(Quantity::WrongPositions, Some(count(1)), Window::at_most(0.0))
        .knowing(Facts::from(facts).at(unmoved))
        .at(order.new_clamp())
        .noting(standing_note(stands, names))
}

fn standing_note(stands: Option<Position>, names: &PositionNames) -> String {
    match stands {
        Some(at) => format!("stands at {}", names.of(at)),
        None => "stands at neither position, or at both".into(),
    }
}

/// How an output moved that should not.
const fn moved_words(order: &Order) -> &'static str {
    match order.by {
        By::Command | By::Contact => "moved too",
        By::CommandAgainstContact => "moved against a held contact",
    }
}

fn quantities(by: By) -> &'static [Quantity] {
    match by {
        By::Command => &[
            Quantity::WrongPositions,
            Quantity::UnwantedMoves,
            Quantity::ResponseTime,
            Quantity::Gap,
            Quantity::BounceTime,
            Quantity::LoadCurrent,
            Quantity::OpenCurrent,
            Quantity::ContactResistance,
            Quantity::CoilCurrent,
        ],
        By::Contact => &[
            Quantity::WrongPositions,
            Quantity::UnwantedMoves,
            Quantity::ContactResponseTime,
            Quantity::Gap,
            Quantity::BounceTime,
            Quantity::LoadCurrent,
            Quantity::OpenCurrent,
            Quantity::ContactResistance,
            Quantity::CoilCurrent,
        ],
        By::CommandAgainstContact => &[Quantity::WrongPositions, Quantity::UnwantedMoves],
    }
}

/// Reads and judges.
pub fn read(run: &mut OngoingRun<'_, '_>, shown: &Shown<'_>, facts: Facts) -> Result<(), StepStop> {
    let (new, old) = (shown.order.new_clamp(), shown.order.old_clamp());
    let mut drafts = positions(shown, &run.plan.module.positions).to_vec();
    if shown.order.by != By::CommandAgainstContact {
        // A level that cannot be trusted spoils all that is measured against it.
        let level = shown.rise.and_then(|rise| rise.err()).and_then(current_rise::untrusted);
        drafts.extend(times(run, shown, level));
        drafts.extend(load_current(run, shown, level));
        drafts.extend(old_current(run, old, shown));
        drafts.extend(resistance(run, shown));
        drafts.push(coil(run, shown));
        if carries(&drafts) {
            run.state.has_carried[new.index()] = true;
        }
    }
    for draft in drafts {
        run.read(draft.knowing(facts))?;
    }
    Ok(())
}

/// Whether the load has carried at least half of the least current that it must.
fn carries(drafts: &[ReadingDraft]) -> bool {
    let load = drafts.iter().find(|draft| draft.quantity == Quantity::LoadCurrent);
    load.is_some_and(|draft| {
        let least = draft.window.lower.unwrap_or(f64::INFINITY) / 2.0;
        draft.estimate.is_some_and(|e| e.value > least)
    })
}

/// Where the outputs stand, and what else moved.
fn positions(shown: &Shown<'_>, names: &PositionNames) -> [ReadingDraft; 2] {
    let Shown { order, capture, .. } = shown;
    let new = order.new_clamp();
    let wanted = Some(new.position);
    let stands = capture.standing.of(order.output);
    let is_there = stands == wanted || shown.there_by_voltage;
    let is_untold = !is_there && shown.is_position_untold();
    let value = capture.supply.filter(|_| !is_untold).map(|_| count(usize::from(!is_there)));
    let note = match (is_there, is_untold) {
        (true, _) => String::new(),
        (_, true) => UNTOLD_POSITION.into(),
        _ => standing_note(stands, names),
    };
    let at_most = Window::at_most(0.0);
    let mut wrong =
        ReadingDraft::new(Quantity::WrongPositions, value, at_most).at(new).noting(note);
    wrong.undecided = is_untold;
    // Against a held contact the output itself may not even stir, once it stands where it is held.
    let may_move = order.by != By::CommandAgainstContact
        || capture.standing.before[usize::from(order.output) - 1] != wanted;
    let moved: Vec<u8> = capture
        .standing
        .stirred()
        .filter(|&output| !capture.tripped && (output != order.output || !may_move))
        .collect();
    let value = capture.supply.map(|_| count(moved.len()));
    let unwanted = ReadingDraft::new(Quantity::UnwantedMoves, value, at_most)
        .at(new)
        .noting(outputs_note(moved_words(order), &moved));
    [wrong, unwanted]
}

/// The times of the change-over.
fn times(
    run: &OngoingRun<'_, '_>,
    shown: &Shown<'_>,
    level: Option<Untrusted>,
) -> [ReadingDraft; 3] {
    let Shown { order, capture, change, rise, .. } = *shown;
    let response = match order.by {
        By::Contact => Quantity::ContactResponseTime,
        By::Command | By::CommandAgainstContact => Quantity::ResponseTime,
    };
    [
        (response, change.and_then(|c| c.response_after(capture.moment_us))),
        (Quantity::Gap, change.and_then(|c| c.gap())),
        (Quantity::BounceTime, change.and_then(|c| c.bounce())),
    ]
    .map(|(quantity, estimate)| {
        let window = of_sheet(&run.plan.module, quantity);
        let estimate = estimate.map(|e| {
            let unseen = change.and_then(|c| may_be_unseen(run, &c, quantity));
            unseen.map_or(e, |unseen| Estimate::of(e.value, e.budget.with_unseen(unseen)))
        });
        let how = rise.and_then(Result::ok).filter(|_| quantity == response);
        let note = match estimate {
            None => shown.why_missing().into(),
            Some(e) if quantity == Quantity::Gap && e.value < 0.0 => {
                "both positions are closed for a while".into()
            }
            Some(_) => how
                .map(|rise| current_rise::in_words(&rise, capture.record.interval_us))
                .unwrap_or_default(),
        };
        let mut draft = ReadingDraft::new(quantity, estimate, window).at(order.new_clamp());
        draft.undecided = estimate.is_none() && shown.is_untold(quantity);
        let stands_on = estimate.map(|_| shown.stands_on(quantity)).unwrap_or_default();
        // A current's level that is not to be trusted is nothing to what the voltage tells.
        let by_current =
            change.is_some_and(|c| c.closed.is_some_and(|c| c.told_by == ToldBy::Current));
        let level = level.filter(|_| by_current);
        draft.noting(note).noting(stands_on).untrusted(estimate.and(level))
    })
}

/// What of the bounce may have left no trace: a first touch, so that the true closing came earlier, or an
/// interruption before the last one. A bounce has both ends.
fn may_be_unseen(
    run: &OngoingRun<'_, '_>,
    change: &ChangeOver,
    quantity: Quantity,
) -> Option<Unseen> {
    let one = change.unseen(run.plan.module.bounce.upper?.si());
    Some(match quantity {
        Quantity::BounceTime => Unseen { chance: 2.0 * one.chance, ..one },
        _ => Unseen { reach: -one.reach, ..one },
    })
}

/// The load's current at the clamp that must be closed.
fn load_current(
    run: &OngoingRun<'_, '_>,
    shown: &Shown<'_>,
    level: Option<Untrusted>,
) -> Option<ReadingDraft> {
    let (clamp, capture) = (shown.order.new_clamp(), shown.capture);
    if !run.state.connected[clamp.index()] || run.state.loads == LoadChoice::None {
        return None;
    }
    let expected = capture.supply_of_load().and_then(|supply| run.expected(clamp, supply));
    let is_short = run.state.shorted[clamp.index()];
    let least = capture.supply.map_or(0.0, |supply| run.least_closed(clamp, supply));
    let measured = capture.risen_current(clamp, least).filter(|_| !capture.tripped && !is_short);
    let is_told = is_short || run.tells_by_current(clamp);
    let estimate = measured.zip(expected.as_ref()).map(|(current, e)| e.compared(current));
    let is_too_close = estimate
        .zip(expected.as_ref())
        .is_some_and(|(current, e)| e.is_too_close(&current, run.plan.rule));
    let is_judged = is_told && !is_too_close;
    let window = expected.as_ref().filter(|_| is_judged).map_or(Window::OPEN, |e| e.window);
    let note = if is_short {
        "its load is a short and stays disconnected"
    } else if capture.tripped {
        LOADS_TRIPPED
    } else if !is_told {
        COULD_BE_NOTHING
    } else if is_too_close {
        TOO_CLOSE
    } else {
        ""
    };
    let untrusted = estimate.and_then(|_| match capture.settled_later {
        Some(later) => later.is_cut_off.then_some(Untrusted::PartBeyond),
        // Of a current that could be nothing, no step is expected.
        None => settled_untrusted(clamp, shown).or(level).filter(|_| is_told),
    });
    let limits_from = expected.filter(|_| is_judged).and_then(|e| e.limits_from());
    let draft = ReadingDraft::new(Quantity::LoadCurrent, estimate, window).at(clamp);
    Some(draft.untrusted(untrusted).limited_by(limits_from).noting(note))
}

/// The current at the clamp that must be open.
fn old_current(run: &OngoingRun<'_, '_>, clamp: Clamp, shown: &Shown<'_>) -> Option<ReadingDraft> {
    if !run.state.is_loaded(clamp) {
        return None;
    }
    let capture = shown.capture;
    let is_told = run.tells_by_current(clamp);
    let smallest_a = capture
        .supply
        .filter(|_| is_told)
        .and_then(|supply| run.expected(clamp, supply))
        .map(|expected| expected.lower());
    let window = smallest_a.map_or(Window::OPEN, open_current);
    let limits_from =
        smallest_a.map(|smallest_a| LimitsFrom::OpenContact { share: OPEN_SHARE, smallest_a });
    let estimate = capture.settled_current(clamp).filter(|_| !capture.tripped);
    let untrusted = estimate.and_then(|_| settled_untrusted(clamp, shown));
    let draft = ReadingDraft::new(Quantity::OpenCurrent, estimate, window)
        .at(clamp)
        .limited_by(limits_from);
    Some(draft.untrusted(untrusted).noting(match (capture.tripped, is_told) {
        (true, _) => LOADS_TRIPPED,
        (_, false) => COULD_BE_NOTHING,
        _ => "",
    }))
}

/// Whether a settled current, or the voltage that it is compared by, is beyond the jig's range.
fn settled_untrusted(clamp: Clamp, shown: &Shown<'_>) -> Option<Untrusted> {
    let (channel, capture) = (clamp.channel(CLAMP_CURRENT), shown.capture);
    let settled = capture.settled();
    beyond_range(&capture.record, channel, &[LOAD_VOLTAGE], settled)
}

/// The contact's resistance, where the load is large enough to tell it.
fn resistance(run: &OngoingRun<'_, '_>, shown: &Shown<'_>) -> Option<ReadingDraft> {
    let (clamp, capture) = (shown.order.new_clamp(), shown.capture);
    let is_measurable = run.tells_by_current(clamp) || run.state.shorted[clamp.index()];
    if !is_measurable || channels_around(clamp).iter().any(|&c| !run.bench.has(c)) {
        return None;
    }
    let window = of_sheet(&run.plan.module, Quantity::ContactResistance);
    let draft =
        |estimate| ReadingDraft::new(Quantity::ContactResistance, estimate, window).at(clamp);
    let Some(found) = contact_resistance(capture, clamp) else {
        let supply = capture.supply.unwrap_or(Estimate::new(0.0, &[]));
        let least = run.least_closed(clamp, supply);
        // A small load (a light-emitting diode, say) cannot show a drop: that is no fault.
        if capture.settled_current(clamp).is_some_and(|i| i.value > least) {
            return None;
        }
        let why = if shown.has_closed() { "no current" } else { shown.why_missing() };
        return Some(draft(None).noting(why));
    };
    let untrusted = contact_resistance::untrusted(capture, clamp, &found);
    if untrusted.is_none() && cannot_decide(&found, &window) {
        return None;
    }
    Some(draft(Some(found)).untrusted(untrusted))
}

/// The pulse of the coil in the feed current.
fn coil(run: &OngoingRun<'_, '_>, shown: &Shown<'_>) -> ReadingDraft {
    let capture = shown.capture;
    let window = of_sheet(&run.plan.module, Quantity::CoilCurrent);
    let after = capture.start..capture.settled().end;
    let untrusted = beyond_range(&capture.record, FEED_CURRENT, &[], after);
    let height = capture.coil().map(|p| p.height);
    let draft = ReadingDraft::new(Quantity::CoilCurrent, height, window);
    draft.at(shown.order.new_clamp()).untrusted(untrusted)
}

/// Whether an uncertainty is too large for its window to say anything, and the value does not fail
/// all the same: a small load shows no drop. The ratio of 4:1 is that of ANSI/NCSL Z540.3 (from
/// memory).
///
/// What is told only where it fails must fail beyond doubt: such readings are many, nobody counts those that say
/// nothing, and what is 1.4 times its uncertainty above a limit was a sound module one time in a hundred.
fn cannot_decide(estimate: &Estimate, window: &Window) -> bool {
    let Some(upper) = window.upper else { return false };
    estimate.expanded() > upper / 4.0
        && estimate.value - BEYOND_DOUBT * estimate.expanded() <= upper
}

/// So many expanded uncertainties beyond a limit: limits that all point one way do not reach that far, and of a normal
/// distribution less than one in a hundred million.
const BEYOND_DOUBT: f64 = 3.0;
