//! What the user sets wrong.

use super::fault::{Fault, faults};

faults! {
    Setting
    "switch-set-wrong", "switches" 1.0 in 0.0 to 8.0, AddressSwitches,
        "so many address switches end the other way than asked for",
        |site| for i in 0..site.all().len() {
            site.parts.hand.flip |= 1 << site.all()[i];
        };
    "one-group-away", "groups" 1.0 in 0.0 to 8.0, Whole,
        "is set to count groups the other way: answers so many groups of four addresses higher",
        |site| site.parts.module.address_shift += 4 * site.severity.round() as i32;
    "wrong-format", "switches" 1.0 in 0.0 to 1.0, FormatSwitch,
        "the format switch is set the other way; only kinds that have one",
        |site| if site.applies() {
            site.parts.hand.flip ^= 1 << site.one();
        };
    "auxiliary-left-on", "sliders" 1.0 in 0.0 to 1.0, AuxiliarySupply,
        "the slider of the auxiliary supply stays on; only kinds that have one",
        |site| if site.applies() {
            site.parts.hand.slider = Some(true);
        };
    "auxiliary-left-off", "sliders" 1.0 in 0.0 to 1.0, AuxiliarySupply,
        "the slider of the auxiliary supply stays off; only kinds that have one",
        |site| if site.applies() {
            site.parts.hand.slider = Some(false);
        };
    "feed-wires-swapped", "pairs" 1.0 in 0.0 to 1.0, Whole,
        "the feed wires are swapped; shows only on kinds for which polarity matters",
        |site| site.parts.leads.feed_swapped ^= site.applies();
    "switch-bank-reversed", "banks" 1.0 in 0.0 to 1.0, SwitchBank,
        "the address switches are read from the other end: the last one is taken for the first",
        |site| site.parts.hand.reversed ^= site.applies();
    "wrong-variant", "variants" 1.0 in 0.0 to 1.0, Whole,
        "is the other variant: falls back without power where its kind latches, or the other way round",
        |site| site.parts.module.kind.keeps_position ^= site.applies();
}
