//! Faults of the real loads.

use super::fault::{Fault, faults};
use crate::simulated_bench::loads::LoadModel;

faults! {
    Load
    "load-open", "share" 1.0 in 0.0 to 1.0, RealLoad,
        "one real load is off; shows only with real loads",
        |site| site.parts.loads[site.one()].scale(1.0 - site.severity);
    "load-shorted", "ohm" 0.2 in 0.05 to 1000.0, RealLoad,
        "a resistance across one real load; shows only with real loads",
        |site| {
            let load = &mut site.parts.loads[site.one()];
            *load = LoadModel::parallel([load.clone(), LoadModel::resistor(site.severity)]);
        };
    "load-wrong-value", "share" 0.4 in -0.9 to 10.0, RealLoad,
        "one real load takes so much more; shows only with real loads",
        |site| site.parts.loads[site.one()].scale(1.0 + site.severity);
}
