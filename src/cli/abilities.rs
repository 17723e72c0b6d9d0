//! What a jig can do, from how it describes its channels.

use crate::link::client::Jig;
use crate::script::check::JigAbilities;
use crate::signal::target::Clamp;
use crate::wire::channel::{
    CLAMP_CURRENT, CONTACT_CLOSER, FEED_CURRENT, FEED_RESISTANCE, FEED_VOLTAGE, JIG_LOAD,
    LOAD_SWITCH, LOAD_TOTAL, LOAD_VOLTAGE,
};

/// What a jig can do.
pub fn abilities(jig: &Jig) -> JigAbilities {
    let has = |channel: u16| jig.channel(channel).is_some();
    let each = |first: u16| Clamp::ALL.map(|clamp| has(clamp.channel(first)));
    JigAbilities {
        feed_voltage: has(FEED_VOLTAGE),
        feed_current: has(FEED_CURRENT),
        feed_resistance: has(FEED_RESISTANCE),
        load_voltage: has(LOAD_VOLTAGE),
        load_total: has(LOAD_TOTAL),
        clamp_current_a: Clamp::ALL
            .map(|clamp| jig.channel(clamp.channel(CLAMP_CURRENT)).map(|c| c.maximum)),
        contact_closers: each(CONTACT_CLOSER),
        load_switches: each(LOAD_SWITCH),
        jig_loads: each(JIG_LOAD),
    }
}
