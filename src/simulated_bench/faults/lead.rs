//! Faults of the leads between jig and module.

use super::Site;

pub(super) fn weak_feed(site: &mut Site<'_>) {
    site.parts.leads.feed_ohm += site.severity;
}

pub(super) fn feed_to_common(site: &mut Site<'_>) {
    let output = site.output();
    let wire = site.one_of(&[0, 1]).unwrap_or(0);
    site.parts.leads.insulation.join_feed(wire, output, site.severity);
}

pub(super) fn commons(site: &mut Site<'_>) {
    if let Some((one, other)) = site.two_outputs() {
        site.parts.leads.insulation.join_commons(one, other, site.severity);
    }
}

pub(super) fn common(site: &mut Site<'_>) {
    let k = site.output();
    site.parts.leads.common_ohm[k] += site.severity;
}

pub(super) fn clamp(site: &mut Site<'_>) {
    let c = site.contact();
    site.parts.leads.clamp_ohm[c] += site.severity;
}

pub(super) fn pair_swapped(site: &mut Site<'_>) {
    let k = site.output();
    if site.applies() {
        site.parts.leads.clamp_of.swap(2 * k, 2 * k + 1);
    }
}

pub(super) fn outputs_swapped(site: &mut Site<'_>) {
    if let (true, Some((k, other))) = (site.applies(), site.two_outputs()) {
        for p in 0..2 {
            site.parts.leads.clamp_of.swap(2 * k + p, 2 * other + p);
        }
    }
}
