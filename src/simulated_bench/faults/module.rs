//! Faults of the module.

use super::Site;

pub(super) fn stuck(site: &mut Site<'_>) {
    let k = site.output();
    site.parts.module.outputs[k].stuck = site.severity;
}

pub(super) fn crossed(site: &mut Site<'_>) {
    if let (true, Some((k, other))) = (site.applies(), site.two_outputs()) {
        let outputs = &mut site.parts.module.outputs;
        outputs[k].obeys = other;
        outputs[other].obeys = k;
    }
}

pub(super) fn swapped(site: &mut Site<'_>) {
    let k = site.output();
    site.parts.module.outputs[k].swapped = site.applies();
}

pub(super) fn follows(site: &mut Site<'_>) {
    if let Some((k, _)) = site.two_outputs() {
        let outputs = usize::from(site.parts.module.kind.outputs).min(4);
        // The output after it moves along; the last one has none after it.
        site.parts.module.outputs[(k + 1) % outputs].follows = site.severity;
    }
}

pub(super) fn burnt(site: &mut Site<'_>) {
    let c = site.contact();
    site.parts.module.outputs[c / 2].contact_ohm[c % 2] += site.severity;
}

pub(super) fn misses(site: &mut Site<'_>) {
    let c = site.contact();
    site.parts.module.outputs[c / 2].contact_misses[c % 2] = site.severity;
}

pub(super) fn overlap(site: &mut Site<'_>) {
    let k = site.output();
    if site.severity > 0.0 {
        site.parts.module.outputs[k].gap_s = -site.severity;
    }
}

pub(super) fn slow_release(site: &mut Site<'_>) {
    let k = site.output();
    let output = &mut site.parts.module.outputs[k];
    // The old contact opens when it should; the new one closes later.
    output.gap_s += site.severity;
    output.response_s += site.severity;
    output.contact_response_s += site.severity;
}

pub(super) fn long_bounce(site: &mut Site<'_>) {
    let k = site.output();
    site.parts.module.outputs[k].bounce_s += site.severity;
}

pub(super) fn slow(site: &mut Site<'_>) {
    let k = site.output();
    let output = &mut site.parts.module.outputs[k];
    output.response_s += site.severity;
    output.contact_response_s += site.severity;
}

pub(super) fn weak_coil(site: &mut Site<'_>) {
    let k = site.output();
    for ohm in &mut site.parts.module.outputs[k].coil_ohm {
        *ohm /= 1.0 - site.severity;
    }
}

pub(super) fn driver_open(site: &mut Site<'_>) {
    let c = site.contact();
    site.parts.module.outputs[c / 2].driver_open[c % 2] = site.severity;
}

pub(super) fn input_dead(site: &mut Site<'_>) {
    let c = site.contact();
    site.parts.module.outputs[c / 2].input_dead[c % 2] = site.severity;
}

pub(super) fn input_grounded(site: &mut Site<'_>) {
    let c = site.contact();
    site.parts.module.outputs[c / 2].input_grounded[c % 2] = site.severity;
}

pub(super) fn ignores_held(site: &mut Site<'_>) {
    site.parts.module.ignores_held = site.severity;
}

pub(super) fn moves_at_boot(site: &mut Site<'_>) {
    let k = site.output();
    site.parts.module.outputs[k].moves_at_boot = site.severity;
}

pub(super) fn switch_stuck(site: &mut Site<'_>) {
    let index = site.address_switch();
    if site.applies() {
        let set = site.switches >> index & 1 == 1;
        site.parts.module.switch_stuck = Some((index, !set));
    }
}

pub(super) fn more_packets(site: &mut Site<'_>) {
    site.parts.module.extra_packets += site.severity.round() as u8;
}

pub(super) fn deaf(site: &mut Site<'_>) {
    site.parts.module.deaf = site.severity;
}

pub(super) fn slow_boot(site: &mut Site<'_>) {
    site.parts.module.kind.boot_s += site.severity;
}

pub(super) fn idle_current(site: &mut Site<'_>) {
    site.parts.module.kind.logic_a += site.severity;
}

pub(super) fn leaky(site: &mut Site<'_>) {
    site.parts.module.bleeder_s += 1.0 / site.severity;
}

pub(super) fn small_reservoir(site: &mut Site<'_>) {
    site.parts.module.kind.reservoir_f *= 1.0 - site.severity;
}

pub(super) fn shorted(site: &mut Site<'_>) {
    site.parts.module.short_s += 1.0 / site.severity;
}

pub(super) fn lamp_dead(site: &mut Site<'_>) {
    let module = &mut site.parts.module;
    module.kind.lamp_a *= 1.0 - site.severity;
    module.second_lamp_a *= 1.0 - site.severity;
}

pub(super) fn lamp_fast(site: &mut Site<'_>) {
    let kind = &mut site.parts.module.kind;
    kind.lamp_hz *= 1.0 + site.severity;
    kind.lamp_inverted_hz *= 1.0 + site.severity;
}

pub(super) fn auxiliary_dead(site: &mut Site<'_>) {
    site.parts.module.kind.auxiliary_a *= 1.0 - site.severity;
}
