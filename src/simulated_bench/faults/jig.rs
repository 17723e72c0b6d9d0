//! Faults of the jig itself.

use super::Site;

pub(super) fn load_open(site: &mut Site<'_>) {
    for c in site.contacts(site.severity) {
        site.parts.jig.jig_load_ohm[c] = f64::INFINITY;
    }
}

pub(super) fn load_drifted(site: &mut Site<'_>) {
    let c = site.contact();
    site.parts.jig.jig_load_ohm[c] *= 1.0 + site.severity;
}

pub(super) fn closers_dead(site: &mut Site<'_>) {
    for c in site.contacts(site.severity) {
        site.parts.jig.closer_dead[c] = true;
    }
}

pub(super) fn load_supply(site: &mut Site<'_>) {
    let jig = &mut site.parts.jig;
    jig.load_v = (jig.load_v - site.severity).max(0.0);
}

pub(super) fn feed_supply(site: &mut Site<'_>) {
    let jig = &mut site.parts.jig;
    jig.feed_v = (jig.feed_v - site.severity).max(0.0);
}
