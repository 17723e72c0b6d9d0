//! The faults themselves, by class.

use super::{Class, Fault, jig, lead, load, module, setting};

macro_rules! catalogue {
    ($($class:ident $name:literal, $unit:literal $default:literal in $min:literal to $max:literal,
       $about:literal, $put:path;)*) => {
        /// Every fault.
        pub static CATALOGUE: &[Fault] = &[$(Fault {
            name: $name,
            class: Class::$class,
            unit: $unit,
            default: $default,
            minimum: $min,
            maximum: $max,
            about: $about,
            put: $put,
        }),*];
    };
}

// Severities called "share" are the share of operations, closures or power-ups in which the fault
// shows; 1 is always.
catalogue! {
    Module "output-stuck", "share" 1.0 in 0.0 to 1.0,
        "the coil pulls but the armature of one output does not move", module::stuck;
    Module "outputs-crossed", "pairs" 1.0 in 0.0 to 1.0,
        "two outputs answer to each other's commands", module::crossed;
    Module "positions-swapped", "outputs" 1.0 in 0.0 to 1.0,
        "one output takes commands to a for b, and to b for a; its contact inputs are right",
        module::swapped;
    Module "neighbour-follows", "share" 1.0 in 0.0 to 1.0,
        "a command to one output moves the next one too", module::follows;
    Module "contact-burnt", "ohm" 2.0 in 0.0 to 1000.0,
        "added resistance in one switched contact", module::burnt;
    Module "contact-misses", "share" 1.0 in 0.0 to 1.0,
        "one contact does not close though the armature moves", module::misses;
    Module "contacts-overlap", "s" 0.004 in 0.0 to 0.1,
        "on one output the new position closes so long before the old one opens", module::overlap;
    Module "slow-release", "s" 0.05 in 0.0 to 1.0,
        "on one output both contacts stay open so much longer", module::slow_release;
    Module "long-bounce", "s" 0.03 in 0.0 to 0.5,
        "one output bounces so much longer", module::long_bounce;
    Module "slow-output", "s" 0.15 in 0.0 to 2.0,
        "one output operates so much later", module::slow;
    Module "weak-coil", "share" 0.5 in 0.0 to 0.99,
        "the coils of one output take so much less current than they should", module::weak_coil;
    Module "coil-driver-open", "share" 1.0 in 0.0 to 1.0,
        "one coil of one output gets no current", module::driver_open;
    Module "dead-contact-input", "share" 1.0 in 0.0 to 1.0,
        "one contact input is not seen", module::input_dead;
    Module "contact-input-grounded", "share" 1.0 in 0.0 to 1.0,
        "one contact input is stuck to ground from power-up on", module::input_grounded;
    Module "command-beats-contact", "share" 1.0 in 0.0 to 1.0,
        "commands get through against a held contact input", module::ignores_held;
    Module "moves-at-power-on", "share" 1.0 in 0.0 to 1.0,
        "one output changes its position when power comes", module::moves_at_boot;
    Module "address-switch-stuck", "switches" 1.0 in 0.0 to 1.0,
        "one address switch reads the same in both places, and not as it is set first",
        module::switch_stuck;
    Module "needs-more-packets", "packets" 4.0 in 0.0 to 20.0,
        "wants so many identical packets more than its kind", module::more_packets;
    Module "hard-of-hearing", "share" 1.0 in 0.0 to 1.0,
        "misses so many of the packets that come", module::deaf;
    Module "slow-boot", "s" 6.0 in 0.0 to 30.0,
        "ready so much later after power-up", module::slow_boot;
    Module "high-idle-current", "A" 0.03 in 0.0 to 0.5,
        "its logic draws so much more", module::idle_current;
    Module "reservoir-leaky", "ohm" 400.0 in 20.0 to 1000000.0,
        "leakage across the reservoir", module::leaky;
    Module "reservoir-small", "share" 0.6 in 0.0 to 0.95,
        "the reservoir has lost so much of its capacitance", module::small_reservoir;
    Module "rectifier-shorted", "ohm" 2.0 in 0.1 to 100000.0,
        "a resistance across the feed terminals", module::shorted;
    Module "lamp-dead", "share" 1.0 in 0.0 to 1.0,
        "the status lamp draws so much less", module::lamp_dead;
    Module "lamp-rhythm-off", "share" 0.5 in -0.9 to 5.0,
        "the status lamp blinks so much faster", module::lamp_fast;
    Module "auxiliary-dead", "share" 1.0 in 0.0 to 1.0,
        "the auxiliary supply gives so much less; only kinds that have one", module::auxiliary_dead;

    Setting "switch-set-wrong", "switches" 1.0 in 0.0 to 8.0,
        "so many address switches end the other way than asked for", setting::switch_wrong;
    Setting "one-group-away", "groups" 1.0 in 0.0 to 8.0,
        "is set to count groups the other way: answers so many groups of four addresses higher",
        setting::group_away;
    Setting "wrong-format", "switches" 1.0 in 0.0 to 1.0,
        "the format switch is set the other way; only kinds that have one", setting::wrong_format;
    Setting "auxiliary-left-on", "sliders" 1.0 in 0.0 to 1.0,
        "the slider of the auxiliary supply stays on; only kinds that have one", setting::left_on;
    Setting "auxiliary-left-off", "sliders" 1.0 in 0.0 to 1.0,
        "the slider of the auxiliary supply stays off; only kinds that have one", setting::left_off;
    Setting "feed-wires-swapped", "pairs" 1.0 in 0.0 to 1.0,
        "the feed wires are swapped; shows only on kinds for which polarity matters",
        setting::feed_swapped;

    Lead "weak-feed", "ohm" 100.0 in 0.0 to 10000.0,
        "added resistance in the feed leads", lead::weak_feed;
    Lead "feed-lead-off", "ohm" 1000000.0 in 0.0 to 1000000.0,
        "a feed lead is off: added resistance", lead::weak_feed;
    Lead "feed-touches-common", "ohm" 1.0 in 0.01 to 1000000.0,
        "a feed wire touches a common: resistance between them", lead::feed_to_common;
    Lead "commons-touch", "ohm" 1.0 in 0.01 to 1000000.0,
        "two commons touch: resistance between them; not on a kind with one output",
        lead::commons;
    Lead "common-lead-off", "ohm" 1000000.0 in 0.0 to 1000000.0,
        "the lead to one common is off: added resistance", lead::common;
    Lead "clamp-lead-loose", "ohm" 3.0 in 0.0 to 1000000.0,
        "added resistance in the lead of one clamp", lead::clamp;
    Lead "clamp-leads-swapped", "pairs" 1.0 in 0.0 to 1.0,
        "the leads a and b of one output are swapped", lead::pair_swapped;
    Lead "output-leads-swapped", "pairs" 1.0 in 0.0 to 1.0,
        "the leads of two outputs are swapped", lead::outputs_swapped;

    Load "load-open", "share" 1.0 in 0.0 to 1.0,
        "one real load is off; shows only with real loads", load::open;
    Load "load-shorted", "ohm" 0.2 in 0.05 to 1000.0,
        "a resistance across one real load; shows only with real loads", load::shorted;
    Load "load-wrong-value", "share" 0.4 in -0.9 to 10.0,
        "one real load takes so much more; shows only with real loads", load::wrong_value;

    Jig "jig-load-open", "loads" 1.0 in 0.0 to 8.0,
        "so many of the jig's own loads are burnt out", jig::load_open;
    Jig "jig-load-drifted", "share" 0.25 in -0.9 to 10.0,
        "the resistance of one of the jig's own loads is so much higher", jig::load_drifted;
    Jig "closers-dead", "closers" 8.0 in 0.0 to 8.0,
        "so many of the jig's contact closers do not close", jig::closers_dead;
    Jig "load-supply-low", "V" 3.0 in 0.0 to 12.0,
        "the load supply gives so much less", jig::load_supply;
    Jig "feed-supply-low", "V" 4.0 in 0.0 to 16.0,
        "the feed supply gives so much less", jig::feed_supply;
}
