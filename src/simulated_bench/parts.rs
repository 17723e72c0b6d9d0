//! Everything that stands on the bench, as built: nominal values with their spread, before any
//! fault changes them.

use super::draw::{self, Purpose, Seeds, Stream, happens, spread, within};
use super::insulation::Insulation;
use super::kind::Kind;
use super::loads::LoadModel;
use crate::signal::target::Position;
use rand::RngExt;

/// Drop of the module's rectifier (two diodes in series), volts.
const RECTIFIER_V: f64 = 1.4;
/// What discharges the reservoir when the feed is off, ohms.
const BLEEDER_OHM: f64 = 10_000.0;

/// Two lamps of a module differ by no more than this share.
const LAMP_DIFFERENCE: f64 = 0.2;

/// One output of the module.
#[derive(Clone, Debug)]
pub struct OutputParts {
    /// From the end of the last packet needed to the first closure, seconds.
    pub response_s: f64,
    /// The same from the closure of a contact input, seconds.
    pub contact_response_s: f64,
    /// Both contacts open for so long, seconds; negative: both closed.
    pub gap_s: f64,
    /// Bounce after the first closure, seconds.
    pub bounce_s: f64,
    /// Resistance of each contact when closed, ohms.
    pub contact_ohm: [f64; 2],
    /// Resistance of the coil towards each position, ohms.
    pub coil_ohm: [f64; 2],
    /// Time constant of the coils, seconds.
    pub coil_tau_s: f64,
    /// Coil current at which the armature moves, amperes.
    pub pull_in_a: f64,
    /// Where it stands when the module is unpacked.
    pub initial: Position,
    /// Whose commands move it: an index among the outputs.
    pub obeys: usize,
    /// Whether its commands are swapped: it goes to `a` when told `b`.
    pub swapped: bool,
    /// Share of operations in which the armature does not move.
    pub stuck: f64,
    /// Share of pulses in which the driver of each coil does nothing.
    pub driver_open: [f64; 2],
    /// Share of closures that each contact misses.
    pub contact_misses: [f64; 2],
    /// Share of operations in which it moves along with the output before it.
    pub follows: f64,
    /// Share of power-ups at which it moves.
    pub moves_at_boot: f64,
    /// Share of closures that each contact input does not see.
    pub input_dead: [f64; 2],
    /// Share of power-ups at which each contact input is stuck to ground.
    pub input_grounded: [f64; 2],
    /// Leakage from each contact input to ground, ohms.
    pub input_leak_ohm: [f64; 2],
    /// Share of operations in which each contact does not let go.
    pub welded: [f64; 2],
    /// What flows through each coil with its driver off, as a share of what flows with it on.
    pub driver_leak: [f64; 2],
    /// Share of the time in which each closed contact is open all the same.
    pub contact_loose: [f64; 2],
    /// It operates so much later once the module is warm, seconds.
    pub later_when_warm_s: f64,
}

/// One half of the module's bridge rectifier: the two diodes that conduct with one polarity.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RectifierHalf {
    /// One of its diodes is open.
    pub open: bool,
    /// One of its diodes is a resistance, siemens; 0: none.
    pub shorted_s: f64,
}

/// The module.
#[derive(Clone, Debug)]
pub struct ModuleParts {
    /// Its kind, with the values of this very module in place of the nominal ones.
    pub kind: Kind,
    /// Its outputs.
    pub outputs: [OutputParts; 4],
    /// What the second lamp draws while the first is dark, amperes.
    pub second_lamp_a: f64,
    /// Drop of the rectifier, volts.
    pub rectifier_v: f64,
    /// Resistance of the rectifier, ohms.
    pub rectifier_ohm: f64,
    /// What is wrong with its halves: that for a feed that is high, that for one that is low.
    pub rectifier: [RectifierHalf; 2],
    /// Series resistance of the reservoir, ohms.
    pub reservoir_esr_ohm: f64,
    /// What bleeds the reservoir, siemens.
    pub bleeder_s: f64,
    /// Conductance across the feed terminals, siemens.
    pub short_s: f64,
    /// Added to every address.
    pub address_shift: i32,
    /// Packets that it wants beyond what its kind needs.
    pub extra_packets: u8,
    /// Share of packets that it does not hear.
    pub deaf: f64,
    /// A switch (from 0) that always reads so.
    pub switch_stuck: Option<(u8, bool)>,
    /// Share of commands that get through against a held contact.
    pub ignores_held: f64,
    /// Share of power-ups at which its controller does not start.
    pub stays_dead: f64,
    /// Share of operations in which its controller starts anew as the coil draws its current.
    pub restarts: f64,
}

/// Leads between jig and module.
#[derive(Clone, Debug)]
pub struct Leads {
    /// Both feed leads together, ohms.
    pub feed_ohm: f64,
    /// What joins feed wires and commons that must be apart.
    pub insulation: Insulation,
    /// Whether the two feed wires are swapped.
    pub feed_swapped: bool,
    /// Lead to each common, ohms.
    pub common_ohm: [f64; 4],
    /// Lead of each of the module's contacts, ohms.
    pub clamp_ohm: [f64; 8],
    /// The jig's clamp that each contact of the module is wired to.
    pub clamp_of: [usize; 8],
    /// Share of the time in which the joint of each of these leads is open.
    pub clamp_loose: [f64; 8],
    /// Share of the time in which a joint of the feed is open.
    pub feed_loose: f64,
    /// What joins each clamp of the module to the next one, siemens.
    pub to_next_clamp_s: [f64; 7],
    /// Added resistance of the feed from this module to the next ones on it, ohms.
    pub next_module_ohm: f64,
}

/// The jig's supplies and loads.
#[derive(Clone, Debug)]
pub struct JigParts {
    /// Open-circuit voltage of the feed supply, volts.
    pub feed_v: f64,
    /// Source resistance of the feed supply with its shunt, ohms.
    pub feed_source_ohm: f64,
    /// Resistance of the feed bridge, ohms.
    pub bridge_ohm: f64,
    /// Open-circuit voltage of the load supply, volts.
    pub load_v: f64,
    /// Source resistance of the load supply with its shunt, ohms.
    pub load_source_ohm: f64,
    /// Shunt of each clamp, ohms.
    pub shunt_ohm: f64,
    /// What each input of a clamp's shunt amplifier takes, siemens.
    pub input_s: [f64; 8],
    /// A closed load switch, ohms.
    pub switch_ohm: f64,
    /// A closed bypass, ohms.
    pub bypass_ohm: [f64; 8],
    /// The jig's own loads, ohms.
    pub jig_load_ohm: [f64; 8],
    /// Contact closers that do not close.
    pub closer_dead: [bool; 8],
}

/// What the operator's hand does wrong.
#[derive(Clone, Debug, Default)]
pub struct HandParts {
    /// Switches that end the other way than asked for, a bit each.
    pub flip: u32,
    /// The bank is set from its last switch to its first.
    pub reversed: bool,
    /// Where the slider ends, whatever is asked for.
    pub slider: Option<bool>,
}

impl HandParts {
    /// How the switches of a bank of so many end that are asked for (bit 0 is switch 1).
    pub fn set(&self, asked: u32, bank: usize) -> u32 {
        let mirrored = |bits: u32| (0..bank).fold(0, |m, i| m | (bits >> i & 1) << (bank - 1 - i));
        (if self.reversed { mirrored(asked) } else { asked }) ^ self.flip
    }
}

/// All of it.
#[derive(Clone, Debug)]
pub struct Parts {
    /// The module.
    pub module: ModuleParts,
    /// The leads.
    pub leads: Leads,
    /// The jig.
    pub jig: JigParts,
    /// The real loads.
    pub loads: [LoadModel; 8],
    /// The operator.
    pub hand: HandParts,
}

/// What an input of a shunt amplifier takes, siemens: 90 µA at 12 V (INA240, data sheet SBOS808E: typical;
/// that others take from 60 to 110 µA is from memory).
const AMPLIFIER_S: core::ops::Range<f64> = 5.0e-6..9.2e-6;

/// Nominal resistance of the jig's own loads, ohms: 0.55 A at 12 V.
pub const JIG_LOAD_OHM: f64 = 22.0;
/// Tolerance of the jig's own loads (relative).
pub const JIG_LOAD_TOLERANCE: f64 = 0.01;

impl Parts {
    /// Draws a sound bench with a sound module of this kind.
    pub fn draw(kind: &Kind, loads: &[LoadModel; 8], load_v: f64, seeds: Seeds) -> Self {
        let mut rng = draw::stream(seeds.module, Purpose::Module);
        let module = draw_module(kind, &mut rng);
        let mut rng = draw::stream(seeds.bench, Purpose::Bench);
        let leads = Leads {
            feed_ohm: spread(&mut rng, 0.06, 0.1),
            insulation: Insulation::default(),
            feed_swapped: false,
            common_ohm: core::array::from_fn(|_| spread(&mut rng, 0.02, 0.1)),
            clamp_ohm: core::array::from_fn(|_| spread(&mut rng, 0.02, 0.1)),
            clamp_of: core::array::from_fn(|i| i),
            clamp_loose: [0.0; 8],
            feed_loose: 0.0,
            to_next_clamp_s: [0.0; 7],
            next_module_ohm: 0.0,
        };
        let mut jig = JigParts {
            feed_v: spread(&mut rng, kind.feed_v, 0.004),
            feed_source_ohm: spread(&mut rng, 0.25, 0.05),
            bridge_ohm: spread(&mut rng, 0.2, 0.05),
            load_v: spread(&mut rng, load_v, 0.004),
            load_source_ohm: spread(&mut rng, 0.05, 0.05),
            shunt_ohm: 0.05,
            input_s: [0.0; 8],
            switch_ohm: 0.03,
            bypass_ohm: core::array::from_fn(|_| spread(&mut rng, 0.05, 0.05)),
            jig_load_ohm: core::array::from_fn(|_| {
                JIG_LOAD_OHM + draw::within(&mut rng, JIG_LOAD_OHM * JIG_LOAD_TOLERANCE)
            }),
            closer_dead: [false; 8],
        };
        let loads = loads.clone().map(|mut load| {
            load.scale(spread(&mut rng, 1.0, 0.01));
            load
        });
        jig.input_s = jig.input_s.map(|_| rng.random_range(AMPLIFIER_S));
        Parts { module, leads, jig, loads, hand: HandParts::default() }
    }
}

fn draw_module(kind: &Kind, rng: &mut Stream) -> ModuleParts {
    let rail_v = kind.feed_v - RECTIFIER_V;
    let mut own = kind.clone();
    // What the bleeder takes is part of the current at rest.
    own.logic_a = (own.logic_a - rail_v / BLEEDER_OHM).max(0.0);
    for (value, relative) in [
        (&mut own.boot_s, 0.03),
        (&mut own.reservoir_f, 0.04),
        (&mut own.logic_a, 0.03),
        (&mut own.lamp_a, 0.03),
        (&mut own.lamp_hz, 0.01),
        (&mut own.lamp_duty, 0.01),
        (&mut own.lamp_inverted_hz, 0.01),
        (&mut own.auxiliary_a, 0.03),
    ] {
        *value = spread(rng, *value, relative);
    }
    let mut parts = ModuleParts {
        outputs: core::array::from_fn(|k| draw_output(kind, k, rail_v, rng)),
        kind: own,
        rectifier_v: spread(rng, RECTIFIER_V, 0.02),
        rectifier_ohm: spread(rng, 0.1, 0.05),
        rectifier: Default::default(),
        reservoir_esr_ohm: spread(rng, kind.reservoir_ohm, 0.1),
        bleeder_s: 1.0 / spread(rng, BLEEDER_OHM, 0.03),
        short_s: 0.0,
        address_shift: 0,
        extra_packets: 0,
        deaf: 0.0,
        switch_stuck: None,
        second_lamp_a: 0.0,
        ignores_held: 0.0,
        stays_dead: 0.0,
        restarts: 0.0,
    };
    if kind.lamps > 1 {
        let difference = kind.lamp_difference.unwrap_or_else(|| within(rng, LAMP_DIFFERENCE));
        parts.second_lamp_a = parts.kind.lamp_a * (1.0 + difference);
    }
    parts
}

fn draw_output(kind: &Kind, index: usize, rail_v: f64, rng: &mut Stream) -> OutputParts {
    let response_s = spread(rng, kind.response_s, 0.03);
    let coil_ohm = rail_v / kind.coil_a;
    OutputParts {
        response_s,
        contact_response_s: spread(rng, kind.contact_response_s, 0.03),
        gap_s: spread(rng, kind.gap_s, 0.04),
        bounce_s: spread(rng, kind.bounce_s, 0.06),
        contact_ohm: [spread(rng, kind.contact_ohm, 0.04), spread(rng, kind.contact_ohm, 0.04)],
        coil_ohm: [spread(rng, coil_ohm, 0.02), spread(rng, coil_ohm, 0.02)],
        // The current must be there well before the armature leaves.
        coil_tau_s: ((kind.response_s - kind.gap_s) / 8.0).clamp(0.000_2, 0.002),
        pull_in_a: 0.6 * kind.coil_a,
        initial: if happens(rng, 0.5) { Position::B } else { Position::A },
        obeys: index,
        swapped: false,
        stuck: 0.0,
        driver_open: [0.0; 2],
        contact_misses: [0.0; 2],
        follows: 0.0,
        moves_at_boot: 0.0,
        input_dead: [0.0; 2],
        input_grounded: [0.0; 2],
        input_leak_ohm: [f64::INFINITY; 2],
        welded: [0.0; 2],
        driver_leak: [0.0; 2],
        contact_loose: [0.0; 2],
        later_when_warm_s: 0.0,
    }
}
