//! Which of the readings that do not pass stand for themselves, and which only follow from others.
//!
//! An output that stays where it is has no response time, no gap and no load current: four readings,
//! one finding. What follows from what is reasoned from the bench's wiring (common practice, no
//! source).

use super::reading::{Quantity, Reading, Verdict};

/// Readings of one quantity that follow from no other, at one output or at several.
#[derive(Clone, Debug, PartialEq)]
pub struct Root<'a> {
    /// The outputs; none where it belongs to the module as a whole.
    pub outputs: Vec<u8>,
    /// The one furthest outside its limits.
    pub worst: &'a Reading,
}

/// The roots among readings that do not pass: what fails before what is open, what belongs to the
/// module as a whole before its outputs, the output furthest outside its limits first.
pub fn roots(readings: &[Reading]) -> Vec<Root<'_>> {
    let of = |verdict| {
        let with = |r: &&Reading| r.verdict == verdict;
        roots_among(&readings.iter().filter(with).collect::<Vec<_>>())
    };
    let mut all = of(Verdict::Fail);
    // An open reading that follows from a failed one, or stands beside it, says nothing new.
    let is_new = |open: &Root<'_>, failed: &[Root<'_>]| {
        failed
            .iter()
            .all(|f| !follows(open.worst, f.worst, true) && f.worst.output != open.worst.output)
    };
    let open: Vec<Root<'_>> =
        of(Verdict::Indeterminate).into_iter().filter(|o| is_new(o, &all)).collect();
    all.extend(open);
    all
}

fn roots_among<'a>(readings: &[&'a Reading]) -> Vec<Root<'a>> {
    // An output that carries current where it should not is closed, only on the wrong side.
    let carries = |output: Option<u8>| {
        output.is_some()
            && readings.iter().any(|r| r.output == output && r.quantity == Quantity::OpenCurrent)
    };
    let from = |r: &Reading, s: &Reading| follows(r, s, carries(r.output));
    let stands = |r: &&&Reading| {
        !readings.iter().any(|s| !core::ptr::eq(*s, **r) && from(r, s) && !from(s, r))
    };
    let mut standing: Vec<&'a Reading> = readings.iter().filter(stands).copied().collect();
    if standing.is_empty() {
        // Whatever fails, something is told: what comes first in the chain.
        let first = readings.iter().map(|r| place_in_chain(r.quantity)).min();
        let is_first = |r: &&&Reading| Some(place_in_chain(r.quantity)) == first;
        standing = readings.iter().filter(is_first).copied().collect();
    }
    let mut roots: Vec<Root<'a>> = Vec::new();
    for reading in standing {
        let same = roots.iter_mut().find(|root| {
            root.worst.quantity == reading.quantity && root.worst.output == reading.output
        });
        match same {
            Some(root) if beyond(reading) > beyond(root.worst) => root.worst = reading,
            Some(_) => {}
            None => {
                roots.push(Root { outputs: reading.output.into_iter().collect(), worst: reading })
            }
        }
    }
    let mut joined: Vec<Root<'a>> = Vec::new();
    for root in roots {
        let alike = |other: &&mut Root<'_>| {
            let (a, b) = (other.worst, root.worst);
            a.quantity == b.quantity && a.output.is_some() == b.output.is_some() && a.note == b.note
        };
        match joined.iter_mut().find(alike) {
            Some(other) => {
                other.outputs.extend(root.outputs);
                other.outputs.sort_unstable();
                if beyond(root.worst) > beyond(other.worst) {
                    other.worst = root.worst;
                }
            }
            None => joined.push(root),
        }
    }
    let order =
        |root: &Root<'_>| (root.worst.output.is_some(), place_in_chain(root.worst.quantity));
    joined.sort_by(|a, b| {
        let of_module = order(a).0.cmp(&order(b).0);
        let further = beyond(b.worst).total_cmp(&beyond(a.worst));
        of_module.then(further).then(order(a).1.cmp(&order(b).1))
    });
    joined
}

/// Whether a root belongs to the supplies, the feed or the way of commands to the module, so that
/// everything behind may follow from it.
pub fn is_first_of_all(root: &Root<'_>) -> bool {
    root.outputs.is_empty()
        && place_in_chain(root.worst.quantity) <= place_in_chain(Quantity::Answers)
}

/// How far outside its limits a reading lies, as a share of what they allow; what was not seen, or
/// must not be at all, lies further out than any value.
pub fn beyond(reading: &Reading) -> f64 {
    let Some(value) = reading.value else { return f64::INFINITY };
    if reading.quantity.is_counted() {
        return f64::INFINITY;
    }
    let scale = match (reading.lower_limit, reading.upper_limit) {
        (Some(lower), Some(upper)) => upper - lower,
        (lower, upper) => lower.or(upper).unwrap_or(1.0).abs(),
    };
    let below = reading.lower_limit.map_or(0.0, |lower| lower - value);
    let above = reading.upper_limit.map_or(0.0, |upper| value - upper);
    below.max(above).max(0.0) / scale.max(f64::MIN_POSITIVE)
}

/// How early in the chain from the supplies to the loads a quantity stands.
const fn place_in_chain(quantity: Quantity) -> u8 {
    match quantity {
        Quantity::FeedResistance | Quantity::FeedToCommons | Quantity::CommonToCommon => 0,
        Quantity::FeedVoltage | Quantity::LoadVoltage => 1,
        Quantity::StartCharge => 2,
        Quantity::IdleCurrent => 3,
        Quantity::AuxiliaryCurrent => 4,
        Quantity::StuckSwitches => 5,
        Quantity::Answers => 6,
        Quantity::AnswersInverted => 7,
        Quantity::LampRate | Quantity::LampCurrent | Quantity::LampSeen => 8,
        Quantity::LampDuty => 9,
        Quantity::CoilCurrent => 10,
        Quantity::UnwantedMoves => 11,
        Quantity::WrongPositions => 12,
        Quantity::ResponseTime | Quantity::ContactResponseTime => 13,
        Quantity::Gap | Quantity::BounceTime => 14,
        Quantity::ContactResistance => 15,
        Quantity::LoadCurrent
        | Quantity::OpenCurrent
        | Quantity::InrushCurrent
        | Quantity::InrushDecay
        | Quantity::RiseTime => 16,
        Quantity::LoadTotal => 17,
    }
}

/// Whether a reading follows from another one that does not pass either. `carries`: its output passes
/// current, in whichever position.
fn follows(r: &Reading, s: &Reading, carries: bool) -> bool {
    use Quantity as Q;
    let (later, earlier) = (place_in_chain(r.quantity), place_in_chain(s.quantity));
    let same_output = r.output.is_some() && r.output == s.output;
    let same_step = same_output && r.step == s.step;
    let needs_load_supply =
        later >= place_in_chain(Q::UnwantedMoves) || r.quantity == Q::OpenCurrent;
    match s.quantity {
        // With the power off something is wrong already.
        Q::FeedResistance | Q::FeedToCommons | Q::CommonToCommon => later > earlier,
        Q::FeedVoltage => later > earlier,
        Q::LoadVoltage => needs_load_supply,
        // A module that draws nothing does nothing.
        Q::StartCharge | Q::IdleCurrent if is_low(s) => later > earlier,
        Q::IdleCurrent => r.quantity == Q::AuxiliaryCurrent,
        // A module that does not listen moves nothing, and its lamp does not show how it is fed.
        Q::StuckSwitches => matches!(r.quantity, Q::Answers) || needs_load_supply || is_coil(r),
        // Where it answers elsewhere it is tested there.
        Q::Answers => r.quantity == Q::AnswersInverted,
        Q::LampRate => r.quantity == Q::LampDuty,
        // A lamp that is dark blinks in no rhythm.
        Q::LampCurrent if is_low(s) => matches!(r.quantity, Q::LampRate | Q::LampDuty),
        // No coil, no move.
        Q::CoilCurrent if is_low(s) => same_step && needs_load_supply,
        // Two coils draw twice as much.
        Q::UnwantedMoves => {
            (same_step && (is_coil(r) || later > earlier))
                || (r.output.is_none() && r.quantity == Q::WrongPositions)
                || (s.output.is_none() && named_in(s, r.output) && later > earlier)
        }
        Q::WrongPositions => {
            let moves =
                r.output.is_none() && matches!(r.quantity, Q::WrongPositions | Q::LoadTotal);
            let shows = later > earlier && (carries || r.quantity != Q::LoadCurrent);
            (same_output && (shows || is_coil(r))) || (s.output.is_some() && moves)
        }
        // What is late makes the gap long.
        Q::ResponseTime | Q::ContactResponseTime => {
            let shows = later > earlier && (carries || r.quantity != Q::LoadCurrent);
            same_step && (r.quantity == Q::Gap || (s.value.is_none() && shows))
        }
        Q::ContactResistance if s.value.is_some() => {
            later > earlier && (same_output || is_total(r))
        }
        // A load that draws nothing does not show where its output stands either.
        Q::LoadCurrent if is_low(s) && s.value.is_some() => {
            is_total(r)
                || (same_output
                    && match r.quantity {
                        Q::LoadCurrent => false,
                        Q::ResponseTime | Q::ContactResponseTime => r.value.is_none() && !carries,
                        Q::WrongPositions => !carries,
                        _ => r.value.is_none(),
                    })
        }
        Q::LoadCurrent | Q::InrushCurrent => {
            is_total(r) || (same_output && later == earlier && r.quantity != s.quantity)
        }
        _ => false,
    }
}

fn is_low(reading: &Reading) -> bool {
    match (reading.value, reading.lower_limit) {
        (Some(value), Some(lower)) => value < lower,
        (value, _) => value.is_none(),
    }
}

fn is_coil(reading: &Reading) -> bool {
    reading.quantity == Quantity::CoilCurrent
}

fn is_total(reading: &Reading) -> bool {
    reading.quantity == Quantity::LoadTotal
}

/// Whether a note speaks of an output.
fn named_in(reading: &Reading, output: Option<u8>) -> bool {
    output.is_some_and(|n| reading.note.contains(&format!("output {n} ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(step: &str, output: u8, quantity: Quantity) -> Reading {
        Reading { output: Some(output), ..Reading::bare(step, quantity, Verdict::Fail) }
    }

    fn value(reading: Reading, value: f64, lower: f64, upper: f64) -> Reading {
        Reading {
            value: Some(value),
            lower_limit: Some(lower),
            upper_limit: Some(upper),
            ..reading
        }
    }

    fn told(readings: &[Reading]) -> Vec<(Quantity, Vec<u8>)> {
        roots(readings).into_iter().map(|r| (r.worst.quantity, r.outputs)).collect()
    }

    #[test]
    fn an_output_that_stays_is_one_finding() {
        let mut readings = Vec::new();
        for step in ["operate 1b", "operate 1b (2)"] {
            readings.push(Reading { value: Some(1.0), ..at(step, 1, Quantity::WrongPositions) });
            readings.extend(
                [Quantity::ResponseTime, Quantity::Gap, Quantity::BounceTime]
                    .map(|quantity| at(step, 1, quantity)),
            );
            readings.push(value(at(step, 1, Quantity::LoadCurrent), 0.0, 0.5, 0.6));
            readings.push(value(at(step, 1, Quantity::OpenCurrent), 0.5, 0.0, 0.02));
        }
        // In a step of its own: it was there already.
        readings.push(at("operate 1a", 1, Quantity::ResponseTime));
        assert_eq!(told(&readings)[0], (Quantity::WrongPositions, vec![1]));
        assert_eq!(told(&readings).len(), 1, "{:?}", told(&readings));
    }

    #[test]
    fn a_burnt_contact_is_its_resistance_not_the_current_behind_it() {
        let readings = [
            value(at("operate 3a", 3, Quantity::LoadCurrent), 0.49, 0.51, 0.56),
            Reading {
                value: Some(2.0),
                upper_limit: Some(0.15),
                ..at("operate 3a", 3, Quantity::ContactResistance)
            },
            value(Reading::bare("total", Quantity::LoadTotal, Verdict::Fail), 0.49, 0.51, 0.56),
        ];
        assert_eq!(told(&readings), [(Quantity::ContactResistance, vec![3])]);
    }

    #[test]
    fn what_all_outputs_have_in_common_is_told_once_and_the_worst_comes_first() {
        let late = |output, v| value(at("late", output, Quantity::ResponseTime), v, 0.0, 0.04);
        let bounce = value(at("late", 3, Quantity::BounceTime), 0.006, 0.0, 0.005);
        let readings = [late(2, 0.05), late(4, 0.07), bounce];
        assert_eq!(
            told(&readings),
            [(Quantity::ResponseTime, vec![2, 4]), (Quantity::BounceTime, vec![3])]
        );
        assert_eq!(roots(&readings)[0].worst.output, Some(4));
    }

    #[test]
    fn a_supply_that_is_low_explains_the_rest_and_never_the_other_way_round() {
        let low =
            value(Reading::bare("feed", Quantity::FeedVoltage, Verdict::Fail), 11.9, 15.2, 16.8);
        let charge = value(
            Reading::bare("feed on", Quantity::StartCharge, Verdict::Fail),
            0.004,
            0.005,
            0.015,
        );
        assert_eq!(told(&[charge, low]), [(Quantity::FeedVoltage, vec![])]);
    }

    #[test]
    fn something_always_stands() {
        // Whatever fails, at least one reading is told.
        let all = [
            Quantity::FeedToCommons,
            Quantity::LoadVoltage,
            Quantity::StartCharge,
            Quantity::Answers,
            Quantity::CoilCurrent,
            Quantity::UnwantedMoves,
            Quantity::WrongPositions,
            Quantity::ResponseTime,
            Quantity::ContactResistance,
            Quantity::LoadCurrent,
            Quantity::InrushCurrent,
            Quantity::LoadTotal,
        ];
        for a in all {
            for b in all {
                for of_module in [false, true] {
                    let mut pair = [at("x", 1, a), at("x", 1, b)];
                    if of_module {
                        pair[1].output = None;
                    }
                    assert!(!roots(&pair).is_empty(), "{a:?} {b:?}");
                    pair[1].verdict = Verdict::Indeterminate;
                    assert!(!roots(&pair).is_empty(), "{a:?} {b:?}");
                }
            }
        }
    }
}
