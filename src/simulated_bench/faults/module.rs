//! Faults of the module.

use super::fault::{Fault, faults};

/// What a reservoir's electrolyte has when it is new, ohms (common practice, no source).
const RESERVOIR_OHM: f64 = 0.1;

faults! {
    Module
    "output-stuck", "share" 1.0 in 0.0 to 1.0, Output,
        "the coil pulls but the armature of one output does not move",
        |site| site.output().stuck = site.severity;
    "outputs-crossed", "pairs" 1.0 in 0.0 to 1.0, TwoOutputs,
        "two outputs answer to each other's commands",
        |site| if site.applies() {
            let [one, other] = site.two();
            let outputs = &mut site.parts.module.outputs;
            outputs[one].obeys = other;
            outputs[other].obeys = one;
        };
    "positions-swapped", "outputs" 1.0 in 0.0 to 1.0, Output,
        "one output takes commands to a for b, and to b for a; its contact inputs are right",
        |site| site.output().swapped = site.applies();
    "neighbour-follows", "share" 1.0 in 0.0 to 1.0, OutputOfSeveral,
        "a command to one output moves the next one too",
        |site| {
            let outputs = usize::from(site.parts.module.kind.outputs).min(4);
            // The output after it moves along; the last one has none after it.
            let next = (site.one() + 1) % outputs;
            site.parts.module.outputs[next].follows = site.severity;
        };
    "contact-burnt", "ohm" 2.0 in 0.0 to 1000.0, Contact,
        "added resistance in one switched contact",
        |site| {
            let severity = site.severity;
            let (output, contact) = site.contact();
            output.contact_ohm[contact] += severity;
        };
    "contact-misses", "share" 1.0 in 0.0 to 1.0, Contact,
        "one contact does not close though the armature moves",
        |site| {
            let severity = site.severity;
            let (output, contact) = site.contact();
            output.contact_misses[contact] = severity;
        };
    "contacts-overlap", "s" 0.004 in 0.0 to 0.1, Output,
        "on one output the new position closes so long before the old one opens",
        |site| if site.severity > 0.0 {
            site.output().gap_s = -site.severity;
        };
    "slow-release", "s" 0.05 in 0.0 to 1.0, Output,
        "on one output both contacts stay open so much longer",
        |site| {
            // The old contact opens when it should; the new one closes later.
            let later = site.severity;
            let output = site.output();
            output.gap_s += later;
            output.response_s += later;
            output.contact_response_s += later;
        };
    "long-bounce", "s" 0.03 in 0.0 to 0.5, Output,
        "one output bounces so much longer",
        |site| site.output().bounce_s += site.severity;
    "slow-output", "s" 0.15 in 0.0 to 2.0, Output,
        "one output operates so much later",
        |site| {
            let later = site.severity;
            let output = site.output();
            output.response_s += later;
            output.contact_response_s += later;
        };
    "weak-coil", "share" 0.5 in 0.0 to 0.99, Output,
        "the coils of one output take so much less current than they should",
        |site| {
            let left = 1.0 - site.severity;
            for ohm in &mut site.output().coil_ohm {
                *ohm /= left;
            }
        };
    "coil-driver-open", "share" 1.0 in 0.0 to 1.0, Contact,
        "one coil of one output gets no current",
        |site| {
            let severity = site.severity;
            let (output, contact) = site.contact();
            output.driver_open[contact] = severity;
        };
    "dead-contact-input", "share" 1.0 in 0.0 to 1.0, Contact,
        "one contact input is not seen",
        |site| {
            let severity = site.severity;
            let (output, contact) = site.contact();
            output.input_dead[contact] = severity;
        };
    "contact-input-grounded", "share" 1.0 in 0.0 to 1.0, Contact,
        "one contact input is stuck to ground from power-up on",
        |site| {
            let severity = site.severity;
            let (output, contact) = site.contact();
            output.input_grounded[contact] = severity;
        };
    "command-beats-contact", "share" 1.0 in 0.0 to 1.0, Whole,
        "commands get through against a held contact input",
        |site| site.parts.module.ignores_held = site.severity;
    "moves-at-power-on", "share" 1.0 in 0.0 to 1.0, Output,
        "one output changes its position when power comes",
        |site| site.output().moves_at_boot = site.severity;
    "address-switch-stuck", "switches" 1.0 in 0.0 to 1.0, AddressSwitch,
        "one address switch reads the same in both places, and not as it is set first",
        |site| if site.applies() {
            let switch = site.one() as u8;
            let set = site.switches >> switch & 1 == 1;
            site.parts.module.switch_stuck = Some((switch, !set));
        };
    "needs-more-packets", "packets" 4.0 in 0.0 to 20.0, Whole,
        "wants so many identical packets more than its kind",
        |site| site.parts.module.extra_packets += site.severity.round() as u8;
    "hard-of-hearing", "share" 1.0 in 0.0 to 1.0, Whole,
        "misses so many of the packets that come",
        |site| site.parts.module.deaf = site.severity;
    "slow-boot", "s" 6.0 in 0.0 to 30.0, Whole,
        "ready so much later after power-up",
        |site| site.parts.module.kind.boot_s += site.severity;
    "high-idle-current", "A" 0.03 in 0.0 to 0.5, Whole,
        "its logic draws so much more",
        |site| site.parts.module.kind.logic_a += site.severity;
    "reservoir-leaky", "ohm" 400.0 in 20.0 to 1000000.0, Whole,
        "leakage across the reservoir",
        |site| site.parts.module.bleeder_s += 1.0 / site.severity;
    "reservoir-small", "share" 0.6 in 0.0 to 0.95, Whole,
        "the reservoir has lost so much of its capacitance",
        |site| site.parts.module.kind.reservoir_f *= 1.0 - site.severity;
    "rectifier-shorted", "ohm" 2.0 in 0.1 to 100000.0, Whole,
        "a resistance across the feed terminals",
        |site| site.parts.module.short_s += 1.0 / site.severity;
    "lamp-dead", "share" 1.0 in 0.0 to 1.0, Whole,
        "the status lamp draws so much less",
        |site| {
            let left = 1.0 - site.severity;
            site.parts.module.kind.lamp_a *= left;
            site.parts.module.second_lamp_a *= left;
        };
    "lamp-rhythm-off", "share" 0.5 in -0.9 to 5.0, Whole,
        "the status lamp blinks so much faster",
        |site| {
            let kind = &mut site.parts.module.kind;
            kind.lamp_hz *= 1.0 + site.severity;
            kind.lamp_inverted_hz *= 1.0 + site.severity;
        };
    "auxiliary-dead", "share" 1.0 in 0.0 to 1.0, AuxiliarySupply,
        "the auxiliary supply gives so much less; only kinds that have one",
        |site| site.parts.module.kind.auxiliary_a *= 1.0 - site.severity;
    "contact-comes-and-goes", "share" 0.2 in 0.0 to 1.0, Contact,
        "one closed contact is open for that share of the time, some milliseconds at once",
        |site| {
            let severity = site.severity;
            let (output, contact) = site.contact();
            output.contact_loose[contact] = severity;
        };
    "contact-welded", "share" 1.0 in 0.0 to 1.0, Contact,
        "one contact does not let go, which keeps the armature and so the other contact where they are",
        |site| {
            let severity = site.severity;
            let (output, contact) = site.contact();
            output.welded[contact] = severity;
        };
    "coil-driver-always-on", "share" 1.0 in 0.0 to 1.0, Contact,
        "that share of its full current flows through one coil all the time",
        |site| {
            let severity = site.severity;
            let (output, contact) = site.contact();
            output.driver_leak[contact] = severity;
        };
    "contact-input-leaky", "ohm" 10000.0 in 100.0 to 1000000.0, Contact,
        "leakage from one contact input to ground; below 23 kohm it holds a closure, below 4 it makes one",
        |site| {
            let severity = site.severity;
            let (output, contact) = site.contact();
            output.input_leak_ohm[contact] = severity;
        };
    "slow-when-warm", "s" 0.15 in 0.0 to 2.0, Output,
        "one output operates later as the module warms up, so much when it is warm",
        |site| site.output().later_when_warm_s += site.severity;
    "controller-dead", "share" 1.0 in 0.0 to 1.0, Whole,
        "the controller does not start when power comes",
        |site| site.parts.module.stays_dead = site.severity;
    "controller-restarts", "share" 1.0 in 0.0 to 1.0, Whole,
        "the controller starts anew when a coil draws its current",
        |site| site.parts.module.restarts = site.severity;
    "rectifier-diode-open", "diodes" 1.0 in 0.0 to 1.0, RectifierHalf,
        "one diode of the rectifier is open: with one polarity nothing flows",
        |site| site.half().open |= site.applies();
    "rectifier-diode-shorted", "ohm" 2.0 in 0.1 to 100000.0, RectifierHalf,
        "one diode of the rectifier is a resistance: with the other polarity it lies across the feed",
        |site| site.half().shorted_s += 1.0 / site.severity;
    "reservoir-dried-out", "share" 0.6 in 0.0 to 0.95, Whole,
        "the reservoir has lost that share of its electrolyte: less capacitance, more resistance",
        |site| {
            let left = 1.0 - site.severity;
            let module = &mut site.parts.module;
            module.kind.reservoir_f *= left;
            // With the square of what is left: Gasperi, Life prediction model for aluminum electrolytic
            // capacitors, IEEE IAS Annual Meeting 1996 (from memory).
            module.reservoir_esr_ohm += RESERVOIR_OHM * (1.0 / (left * left) - 1.0);
        };
}
