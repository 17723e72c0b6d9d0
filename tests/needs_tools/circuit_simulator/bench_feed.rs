//! The feed of the simulated bench, from the jig's supply to the module's rail, as its boards step
//! through it.

use super::deviations::Deviations;
use super::ngspice;
use super::trace::Trace;
use musterbench::jig::board::FeedDrive;
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::script::shipped;
use musterbench::simulated_bench::circuits::feed::FeedCircuit;
use musterbench::simulated_bench::loads::LoadModel;
use musterbench::simulated_bench::parts::Parts;
use std::collections::HashMap;

/// How often the feed is looked at, in microseconds: less often than the channels of a scan are
/// converted (4 µs apart), but often enough for straight lines between the looks.
const LOOK_US: u64 = 20;

const SUPPLY_V: f64 = 16.0;
const SOURCE_OHM: f64 = 0.25;
const BRIDGE_OHM: f64 = 0.2;
const LEADS_OHM: f64 = 0.05;
const LIMIT_A: f64 = 0.25;
const DROP_V: f64 = 1.4;
const RECTIFIER_OHM: f64 = 0.1;
const ESR_OHM: f64 = 0.1;
const RESERVOIR_F: f64 = 500e-6;
const BLEEDER_OHM: f64 = 10e3;
const COIL_OHM: f64 = 150.0;
const COIL_TAU_S: f64 = 1e-3;
const LOGIC_A: f64 = 10e-3;
const LAMP_A: f64 = 8e-3;

/// The simulator's switches take a nanosecond, in seconds.
const JUMP_S: f64 = 2e-9;

// When what happens, in seconds.
const LIVE: f64 = 0.15;
const FULL: f64 = 0.2;
const LAMP: f64 = 0.25;
const DARK: f64 = 0.30;
const COIL: f64 = 0.35;
const LET_GO: f64 = 0.41;
const OFF: f64 = 0.5;
const END: f64 = 6.5;

fn parts() -> Parts {
    let sheet = shipped::module_sheet("pier-four").expect("shipped");
    let nothing = [const { LoadModel::OPEN }; 8];
    let mut parts = Parts::draw(&simulated::kind(&sheet), &nothing, 12.0, 1.into());
    parts.jig.feed_v = SUPPLY_V;
    parts.jig.feed_source_ohm = SOURCE_OHM;
    parts.jig.bridge_ohm = BRIDGE_OHM;
    parts.leads.feed_ohm = LEADS_OHM;
    let module = &mut parts.module;
    module.rectifier_v = DROP_V;
    module.rectifier_ohm = RECTIFIER_OHM;
    module.reservoir_esr_ohm = ESR_OHM;
    module.bleeder_s = 1.0 / BLEEDER_OHM;
    module.kind.reservoir_f = RESERVOIR_F;
    module.outputs[0].coil_ohm = [COIL_OHM; 2];
    module.outputs[0].coil_tau_s = COIL_TAU_S;
    parts
}

/// Lets time pass; the feed ends its steps early where its logic comes to life or dies.
fn advance(feed: &mut FeedCircuit, mut us: u64) {
    while us > 0 {
        us -= feed.advance(us);
    }
}

#[derive(Default)]
struct Seen {
    feed_a: Trace,
    feed_v: Trace,
    rail_v: Trace,
    coil_a: Trace,
    /// Behind the filters of the converters.
    seen_a: Trace,
    seen_v: Trace,
}

impl Seen {
    fn look(&mut self, feed: &FeedCircuit, now_us: u64) {
        let t = now_us as f64 * 1e-6;
        self.feed_a.push(t, feed.feed_a());
        self.feed_v.push(t, feed.feed_v());
        self.rail_v.push(t, feed.rail_v());
        self.coil_a.push(t, feed.coil_a(0));
        self.seen_a.push(t, feed.seen_a());
        self.seen_v.push(t, feed.seen_v());
    }
}

/// The bench through power-up, a blink, a coil's pulse and the loss of power.
fn ours() -> Seen {
    let mut feed = FeedCircuit::new(&parts());
    feed.set_limit(LIMIT_A);
    feed.set_drive(FeedDrive::Limited);
    let mut seen = Seen::default();
    let us = |s: f64| (s * 1e6).round() as u64;
    let mut now_us = 0;
    while now_us <= us(END) {
        seen.look(&feed, now_us);
        let mut happens = true;
        match now_us {
            t if t == us(LIVE) => feed.set_load(LOGIC_A),
            t if t == us(FULL) => feed.set_drive(FeedDrive::Full),
            t if t == us(LAMP) => feed.set_load(LOGIC_A + LAMP_A),
            t if t == us(DARK) => feed.set_load(LOGIC_A),
            t if t == us(COIL) => feed.set_coil(0, true),
            t if t == us(LET_GO) => feed.set_coil(0, false),
            t if t == us(OFF) => {
                feed.set_load(0.0);
                feed.set_drive(FeedDrive::Off);
            }
            _ => happens = false,
        }
        if happens {
            seen.look(&feed, now_us);
        }
        advance(&mut feed, LOOK_US);
        now_us += LOOK_US;
    }
    seen
}

fn theirs() -> HashMap<String, Trace> {
    ngspice::run(
        "feed.cir",
        &[
            ("supply_v", SUPPLY_V),
            ("source_ohm", SOURCE_OHM),
            ("line_ohm", BRIDGE_OHM + LEADS_OHM),
            ("limit_a", LIMIT_A),
            ("drop_v", DROP_V),
            ("rectifier_ohm", RECTIFIER_OHM),
            ("esr_ohm", ESR_OHM),
            ("reservoir_f", RESERVOIR_F),
            ("bleeder_ohm", BLEEDER_OHM),
            ("logic_a", LOGIC_A),
            ("lamp_a", LAMP_A),
            ("coil_ohm", COIL_OHM),
            ("coil_henry", COIL_OHM * COIL_TAU_S),
            ("live_s", LIVE),
            ("full_s", FULL),
            ("lamp_s", LAMP),
            ("blink_s", DARK - LAMP),
            ("coil_s", COIL),
            ("pulse_s", LET_GO - COIL),
            ("off_s", OFF),
            ("end_s", END),
        ],
    )
}

#[test]
#[ignore = "needs ngspice"]
fn the_feed_through_a_run() {
    let (ours, theirs) = (ours(), theirs());
    let [feed_a, feed_v, rail_v, coil_a] =
        ["i(vfeed)", "v(jig)", "v(rail)", "i(vcoil)"].map(|name| &theirs[name]);
    let before = |t: f64| t - 1e-4;

    let mut found = Deviations::of("bench: soft start at its limit, reservoir");
    found.steady(ours.feed_a.at(0.01), feed_a.at(0.01));
    for t in [before(LIVE), before(FULL), before(LAMP)] {
        found.steady(ours.feed_a.at(t), feed_a.at(t));
        found.steady(ours.feed_v.at(t), feed_v.at(t));
        found.steady(ours.rail_v.at(t), rail_v.at(t));
    }
    found.change(&ours.rail_v, rail_v, 0.0, before(LIVE), 0.0);
    // The current leaves its limit when the reservoir is nearly full, and dies away.
    for share in [0.9, 0.5, 0.1] {
        found.instant(&ours.feed_a, feed_a, 0.0, share * LIMIT_A);
    }
    found.tell();

    let mut found = Deviations::of("bench: status lamp in the feed current");
    for (since, until) in [(LAMP, DARK), (DARK, COIL)] {
        let t = before(until);
        found.steady(ours.feed_a.at(t), feed_a.at(t));
        found.steady(ours.rail_v.at(t), rail_v.at(t));
        // A part of the step passes the reservoir's series resistance at once.
        found.steady(ours.feed_a.at(since), feed_a.at(since + JUMP_S));
        found.change(&ours.feed_a, feed_a, since, t, feed_a.at(since + JUMP_S));
    }
    found.tell();

    let mut found = Deviations::of("bench: relay coil on the rail");
    let t = before(LET_GO);
    found.steady(ours.coil_a.at(t), coil_a.at(t));
    found.steady(ours.feed_a.at(t), feed_a.at(t));
    found.change(&ours.coil_a, coil_a, COIL, t, 0.0);
    found.change(&ours.feed_a, feed_a, COIL, t, feed_a.at(before(COIL)));
    found.change(&ours.coil_a, coil_a, LET_GO, before(OFF), coil_a.at(t));
    found.steady(ours.feed_a.at(LET_GO), feed_a.at(LET_GO + JUMP_S));
    found.change(&ours.feed_a, feed_a, LET_GO, before(OFF), feed_a.at(LET_GO + JUMP_S));
    found.tell();

    let mut found = Deviations::of("bench: filters before the feed's converters");
    // The soft start's step, and the end of the coil's pulse: one, two, three and five looks later.
    for (since, looks) in [0.0, LET_GO].into_iter().flat_map(|t| [1, 2, 3, 5].map(|n| (t, n))) {
        let t = since + 1e-6 * (looks * LOOK_US) as f64;
        let amperes = LIMIT_A * 5e-3;
        assert!((ours.seen_a.at(t) - theirs["v(seen_a)"].at(t)).abs() < amperes, "{t} s");
        found.steady(1.0 + ours.seen_v.at(t), 1.0 + theirs["v(seen_v)"].at(t));
    }
    found.tell();

    let mut found = Deviations::of("bench: reservoir runs down through the bleeder");
    for volt in [12.0, 8.0, 5.0] {
        found.instant(&ours.rail_v, rail_v, OFF, volt);
    }
    found.tell();
}

/// The bench computes on the direct-current side of the jig's bridge. The simulator has the bridge,
/// its pulses, and the four diodes that turn them back.
#[test]
#[ignore = "needs ngspice"]
fn pulses_on_the_feed_make_no_difference() {
    let mut found = Deviations::of("bench: bridge, pulses and four diodes");
    for drawn_a in [0.02, 0.2] {
        let mut feed = FeedCircuit::new(&parts());
        feed.set_limit(1e3);
        feed.set_drive(FeedDrive::Limited);
        feed.set_load(drawn_a);
        advance(&mut feed, 200_000);
        let numbers = [
            ("supply_v", SUPPLY_V),
            ("source_ohm", SOURCE_OHM),
            ("line_ohm", BRIDGE_OHM + LEADS_OHM),
            ("drop_v", DROP_V),
            ("rectifier_ohm", RECTIFIER_OHM),
            ("esr_ohm", ESR_OHM),
            ("reservoir_f", RESERVOIR_F),
            ("bleeder_ohm", BLEEDER_OHM),
            ("drawn_a", drawn_a),
        ];
        let theirs = ngspice::run("feed_pulses.cir", &numbers);
        // Between two edges, when everything has settled.
        let t = 0.03 - 29e-6;
        found.steady(feed.feed_a(), theirs["i(vfeed)"].at(t));
        found.steady(feed.feed_v(), theirs["v(jig)"].at(t));
        found.steady(feed.rail_v(), theirs["v(rail)"].at(t) - theirs["v(ground)"].at(t));
    }
    found.tell();
}
