//! Modules and benches around the limits of the sheet, so that it is close to a limit that readings
//! accept or refuse.

use musterbench::load::sheet::LoadSheet;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::unit::Units;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::simulated_bench::Setup;
use musterbench::simulated_bench::faults::{Fault, find};
use musterbench::simulated_bench::kind::Kind;
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

/// A value is drawn near a limit in this share of modules, else where it stands in a sound module.
const AT_LIMIT: f64 = 0.4;
/// A fault that would spoil many other readings is drawn in this share of modules.
const SELDOM: f64 = 0.1;

/// What the reservoir is filled through, ohms.
pub const RESERVOIR_OHM: f64 = 15.0;

struct Draw(Xoshiro256PlusPlus);

impl Draw {
    fn happens(&mut self, share: f64) -> bool {
        self.0.random::<f64>() < share
    }

    /// Within a share of `middle` on either side.
    fn about(&mut self, middle: f64, share: f64) -> f64 {
        middle * (1.0 + self.0.random_range(-share..=share))
    }

    /// Now and then moves a value near one of two limits.
    fn near(&mut self, value: &mut f64, limits: [Option<f64>; 2], share: f64) {
        let limit = limits[usize::from(self.happens(0.5))];
        if let Some(limit) = limit.filter(|_| self.happens(AT_LIMIT)) {
            *value = self.about(limit, share);
        }
    }
}

fn fault(name: &str) -> &'static Fault {
    find(name).expect("a fault of the catalogue")
}

fn both<Q: Units + Copy>(limits: musterbench::quantity::range::Limits<Q>) -> [Option<f64>; 2] {
    [limits.lower.map(Units::si), limits.upper.map(Units::si)]
}

/// A module of the sheet's kind, and a bench for it. `shares` are a little wider than what a reading
/// leaves open, so that every distance from a limit that matters is there.
pub fn around(sheet: &ModuleSheet, loads: Option<&LoadSheet>, seed: u64) -> Setup {
    let mut draw = Draw(Xoshiro256PlusPlus::seed_from_u64(seed ^ 0x5EED_0F11_4175));
    let mut setup = simulated::setup(sheet, loads, Vec::new(), seed);
    let kind = &mut setup.kind;
    // The lamp's edges are not rounded by a reservoir that stands behind a resistor.
    kind.reservoir_ohm = RESERVOIR_OHM;
    // Of two in turn one is always lit.
    let lit = |kind: &Kind| if kind.lamps > 1 { 1.0 } else { kind.lamp_duty };
    let mut idle_a = kind.logic_a + kind.lamp_a * lit(kind);
    let mut charge = 1.0;
    draw.near(&mut idle_a, both(sheet.idle_current), 0.05);
    draw.near(&mut kind.lamp_hz, both(sheet.lamp.rate), 0.01);
    draw.near(&mut kind.lamp_duty, both(sheet.lamp.duty), 0.01);
    draw.near(&mut kind.lamp_a, both(sheet.lamp_current), 0.04);
    kind.logic_a = (idle_a - kind.lamp_a * lit(kind)).max(0.0);
    if let Some(auxiliary) = sheet.auxiliary_current {
        draw.near(&mut kind.auxiliary_a, both(auxiliary), 0.04);
    }
    // The charge of the sheet's middle goes with the reservoir that stands on the bench now.
    let middle = both(sheet.charge).map(|c| c.unwrap_or(0.0)).iter().sum::<f64>() / 2.0;
    if middle > 0.0 {
        draw.near(&mut charge, both(sheet.charge).map(|c| c.map(|c| c / middle)), 0.1);
    }
    kind.reservoir_f *= charge;
    draw.near(&mut kind.response_s, both(sheet.response), 0.03);
    draw.near(&mut kind.contact_response_s, both(sheet.contact_response), 0.03);
    draw.near(&mut kind.gap_s, both(sheet.gap), 0.1);
    draw.near(&mut kind.bounce_s, both(sheet.bounce), 0.03);
    draw.near(&mut kind.coil_a, both(sheet.coil_current), 0.04);
    let leads = 0.04;
    let contact = both(sheet.contact_resistance).map(|ohm| ohm.map(|ohm| ohm - leads));
    draw.near(&mut kind.contact_ohm, contact, 0.2);
    let feed = [sheet.feed.lower, sheet.feed.upper].map(|v| Some(v.si() + 0.02));
    draw.near(&mut kind.feed_v, feed, 0.003);
    let supply = [0.95, 1.05].map(|share| Some(share * setup.load_supply_v));
    draw.near(&mut setup.load_supply_v, supply, 0.003);

    let faults = &mut setup.faults;
    let mut seldom = |name: &str, middle: f64, share: f64| {
        if draw.happens(SELDOM) {
            faults.push((fault(name), draw.about(middle, share)));
        }
    };
    seldom("feed-touches-common", 10_000.0, 0.08);
    seldom("commons-touch", 10_000.0, 0.08);
    seldom("rectifier-shorted", 200.0, 0.08);
    match loads {
        // Loads about the ends of what their limits allow.
        None => {
            for end in [-0.034, 0.034, 0.044] {
                seldom("jig-load-drifted", end, 0.3);
            }
        }
        Some(_) => {
            for end in [-0.09, 0.09, 0.1] {
                seldom("load-wrong-value", end, 0.3);
            }
        }
    }
    setup
}
