//! Faults of the leads between jig and module.

use super::fault::{Fault, faults};

faults! {
    Lead
    "weak-feed", "ohm" 100.0 in 0.0 to 10000.0, Whole,
        "added resistance in the feed leads",
        |site| site.parts.leads.feed_ohm += site.severity;
    "feed-lead-off", "ohm" 1000000.0 in 0.0 to 1000000.0, Whole,
        "a feed lead is off: added resistance",
        |site| site.parts.leads.feed_ohm += site.severity;
    "feed-touches-common", "ohm" 1.0 in 0.01 to 1000000.0, WireAndCommon,
        "a feed wire touches a common: resistance between them",
        |site| {
            let [wire, output] = site.two();
            site.parts.leads.insulation.join_feed(wire, output, site.severity);
        };
    "commons-touch", "ohm" 1.0 in 0.01 to 1000000.0, TwoOutputs,
        "two commons touch: resistance between them; not on a kind with one output",
        |site| {
            let [one, other] = site.two();
            site.parts.leads.insulation.join_commons(one, other, site.severity);
        };
    "common-lead-off", "ohm" 1000000.0 in 0.0 to 1000000.0, Output,
        "the lead to one common is off: added resistance",
        |site| site.parts.leads.common_ohm[site.one()] += site.severity;
    "clamp-lead-loose", "ohm" 3.0 in 0.0 to 1000000.0, Contact,
        "added resistance in the lead of one clamp",
        |site| site.parts.leads.clamp_ohm[site.one()] += site.severity;
    "clamp-leads-swapped", "pairs" 1.0 in 0.0 to 1.0, Output,
        "the leads a and b of one output are swapped",
        |site| if site.applies() {
            let a = 2 * site.one();
            site.parts.leads.clamp_of.swap(a, a + 1);
        };
    "output-leads-swapped", "pairs" 1.0 in 0.0 to 1.0, TwoOutputs,
        "the leads of two outputs are swapped",
        |site| if site.applies() {
            let [one, other] = site.two();
            for position in 0..2 {
                site.parts.leads.clamp_of.swap(2 * one + position, 2 * other + position);
            }
        };
    "feed-comes-and-goes", "share" 0.2 in 0.0 to 1.0, Whole,
        "a joint of the feed is open for that share of the time, some milliseconds at once",
        |site| site.parts.leads.feed_loose = site.severity;
    "clamp-joint-comes-and-goes", "share" 0.2 in 0.0 to 1.0, Contact,
        "the joint of one clamp lead is open for that share of the time, some milliseconds at once",
        |site| site.parts.leads.clamp_loose[site.one()] = site.severity;
    "clamps-bridged", "ohm" 1.0 in 0.01 to 1000000.0, NeighbouringClamps,
        "two neighbouring clamps touch: resistance between them",
        |site| site.parts.leads.to_next_clamp_s[site.one()] += 1.0 / site.severity;
    "next-module-link-poor", "ohm" 100.0 in 0.0 to 1000000.0, NextModule,
        "added resistance in the feed from this module to the next; only with more modules on the feed",
        |site| site.parts.leads.next_module_ohm += site.severity;
}
