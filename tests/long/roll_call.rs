//! Every first address in every format, clean and with one packet in a hundred missed: what is
//! found, and what it takes beside the bound.

use crate::kit::roll_call::{addresses, bench, call, sheet, usual};
use musterbench::roll_call::answer::{RollCall, Sense};
use musterbench::script::address;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::signal::target::Format;

/// Share of packets that the module does not hear.
const MISSED: f64 = 0.01;

fn is_right(roll: &RollCall, sheet: &ModuleSheet, first: u16, format: Format) -> bool {
    let want: Vec<_> = (first..).take(sheet.outputs.into()).map(Some).collect();
    let own = roll.own();
    addresses(roll, sheet) == want
        && own.is_some_and(|own| own.first.format == format && !own.inverted)
        && own.is_some_and(|own| own.answers.iter().all(|a| a.sense == Sense::Right))
}

/// The middle one and the last one.
fn median_and_worst<T: PartialOrd + Copy>(mut all: Vec<T>) -> (T, T) {
    all.sort_by(|a, b| a.partial_cmp(b).unwrap());
    (all[all.len() / 2], all[all.len() - 1])
}

#[test]
#[ignore = "two minutes"]
fn every_first_address() {
    println!(
        "kind       format   missed     right   packets until found   packets in all   s on the \
         feed     bound of a usual module   bound of all"
    );
    println!(
        "                                       median  worst         median  worst    median  \
         worst     packets  s                packets  s"
    );
    for (kind, format) in [
        ("pier-four", Format::Dcc),
        ("pier-four", Format::Trinary),
        ("quay-four", Format::Dcc),
        ("jetty-two", Format::Trinary),
    ] {
        let sheet = sheet(kind);
        let question = usual(&sheet);
        let firsts = address::addresses(&sheet, format);
        for missed in [0.0, MISSED] {
            let faults = if missed > 0.0 { vec![("hard-of-hearing", missed)] } else { vec![] };
            let mut wrong = Vec::new();
            let (mut until, mut packets, mut wire) = (Vec::new(), Vec::new(), Vec::new());
            let mut bound = None;
            for (seed, &first) in (1..).zip(&firsts) {
                let roll = call(&question, bench(&sheet, (first, format), &faults, seed));
                if !is_right(&roll, &sheet, first, format) {
                    wrong.push(first);
                }
                until.push(roll.until_found.map_or(u64::MAX, |effort| effort.packets));
                packets.push(roll.effort.packets);
                wire.push(roll.effort.wire.as_secs_f64());
                assert!(roll.effort.packets <= roll.bound.most.packets, "{kind} {first}");
                assert!(roll.effort.wire <= roll.bound.most.wire, "{kind} {first}");
                if missed == 0.0 {
                    assert!(roll.effort.packets <= roll.bound.usual.packets, "{kind} {first}");
                    assert!(roll.effort.wire <= roll.bound.usual.wire, "{kind} {first}");
                }
                bound = Some(roll.bound);
            }
            let (bound, count) = (bound.unwrap(), firsts.len());
            let (until, packets, wire) =
                (median_and_worst(until), median_and_worst(packets), median_and_worst(wire));
            println!(
                "{kind:<10} {:<8} {:>5.0} % {:>4}/{count:<4}   {:>6} {:>6}         {:>6} {:>6}    \
                 {:>6.2} {:>6.2}     {:>7} {:>6.1}           {:>7} {:>6.1}",
                format.to_string(),
                100.0 * missed,
                count - wrong.len(),
                until.0,
                until.1,
                packets.0,
                packets.1,
                wire.0,
                wire.1,
                bound.usual.packets,
                bound.usual.wire.as_secs_f64(),
                bound.most.packets,
                bound.most.wire.as_secs_f64(),
            );
            assert!(wrong.is_empty(), "{kind} {format}: not found right at {wrong:?}");
        }
    }
}
