//! What the user sets wrong.

use super::Site;

pub(super) fn switch_wrong(site: &mut Site<'_>) {
    let mut left = site.severity.round() as u32;
    let switches = site.parts.module.kind.switch_weights.iter().filter(|w| **w > 0).count() as u32;
    while left > 0 && site.parts.hand.flip.count_ones() < switches {
        let bit = 1 << site.address_switch();
        if site.parts.hand.flip & bit == 0 {
            site.parts.hand.flip |= bit;
            left -= 1;
        }
    }
}

pub(super) fn group_away(site: &mut Site<'_>) {
    site.parts.module.address_shift += 4 * site.severity.round() as i32;
}

pub(super) fn wrong_format(site: &mut Site<'_>) {
    if let (true, Some(switch)) = (site.applies(), site.parts.module.kind.format_switch) {
        site.parts.hand.flip ^= 1 << (switch - 1);
    }
}

pub(super) fn left_on(site: &mut Site<'_>) {
    site.parts.hand.slider = site.applies().then_some(true);
}

pub(super) fn left_off(site: &mut Site<'_>) {
    site.parts.hand.slider = site.applies().then_some(false);
}

pub(super) fn feed_swapped(site: &mut Site<'_>) {
    site.parts.leads.feed_swapped ^= site.applies();
}
