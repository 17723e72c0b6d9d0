//! Faults of the jig itself.

use super::fault::{Fault, faults};

faults! {
    Jig
    "jig-load-open", "loads" 1.0 in 0.0 to 8.0, Contacts,
        "so many of the jig's own loads are burnt out",
        |site| for i in 0..site.all().len() {
            site.parts.jig.jig_load_ohm[site.all()[i]] = f64::INFINITY;
        };
    "jig-load-drifted", "share" 0.25 in -0.9 to 10.0, Contact,
        "the resistance of one of the jig's own loads is so much higher",
        |site| site.parts.jig.jig_load_ohm[site.one()] *= 1.0 + site.severity;
    "closers-dead", "closers" 8.0 in 0.0 to 8.0, Contacts,
        "so many of the jig's contact closers do not close",
        |site| for i in 0..site.all().len() {
            site.parts.jig.closer_dead[site.all()[i]] = true;
        };
    "load-supply-low", "V" 3.0 in 0.0 to 12.0, Whole,
        "the load supply gives so much less",
        |site| {
            let jig = &mut site.parts.jig;
            jig.load_v = (jig.load_v - site.severity).max(0.0);
        };
    "feed-supply-low", "V" 4.0 in 0.0 to 16.0, Whole,
        "the feed supply gives so much less",
        |site| {
            let jig = &mut site.parts.jig;
            jig.feed_v = (jig.feed_v - site.severity).max(0.0);
        };
}
