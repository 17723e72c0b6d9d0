//! The simulated jig: a [`Board`] over the simulated world.

use super::beside::{Beside, Neighbour};
use super::channels::{HIGHEST_CLAMP_V, describe_all};
use super::circuits::clamp::Switches;
use super::converter::{Converter, Held, Hum};
use super::draw::{self, Purpose, Seeds, Stream};
use super::faults::Fault;
use super::faults::place::Place;
use super::kind::Kind;
use super::loads::LoadModel;
use super::loose_joints::LooseJoints;
use super::noise::Noise;
use super::non_linearity::{self, NonLinearity};
use super::parts::{HandParts, Parts};
use super::reference_meter::ReferenceMeter;
use super::scans::{Conversion, Scans};
use super::truth::Truth;
use super::world::World;
use crate::jig::board::{Board, FeedDrive, Identity, Supply, Unit};
use crate::jig::hand::{Hand, HandAct, NotFitted};
use crate::signal::pulse::{Level, Pulse};
use crate::wire::channel::{
    BYPASS, CLAMP_CURRENT, CLAMP_VOLTAGE, COMMON_TO_COMMON, CONTACT_CLOSER, Description,
    FEED_CURRENT, FEED_RESISTANCE, FEED_TO_COMMONS, FEED_VOLTAGE, JIG_LOAD, LOAD_SWITCH,
    LOAD_TOTAL, LOAD_VOLTAGE, START_BUTTON,
};
use rand::RngExt;

/// What is put on the bench.
#[derive(Clone, Debug)]
pub struct Setup {
    /// The kind of module.
    pub kind: Kind,
    /// The real loads in clamp order, 1a 1b 2a … 4b.
    pub loads: [LoadModel; 8],
    /// Voltage that the load supply is set to, volts; see [`LOAD_SUPPLY_V`].
    pub load_supply_v: f64,
    /// The faults at places by chance, each with its severity in the fault's own unit.
    pub faults: Vec<(&'static Fault, f64)>,
    /// The faults at places that are known; they come after the others.
    pub placed: Vec<Placed>,
    /// All that is drawn by chance is drawn from these.
    pub seeds: Seeds,
    /// Address switches when the module is put on the bench, bit 0 is switch 1.
    pub switches: u32,
    /// Slider of the auxiliary supply when the module is put on the bench.
    pub auxiliary: bool,
    /// More modules on the same feed.
    pub beside: Vec<Neighbour>,
}

/// What a person does at a bench.
#[derive(Clone, Debug)]
pub enum PersonAct {
    /// Seats the module in the jig again, or takes it out.
    Seats(bool),
    /// Seats another module, that of this bench; not before the last one is out.
    SeatsAnother(Box<Setup>),
    /// Presses the start button and holds it, or lets it go.
    Presses(bool),
}

/// A fault at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// The fault.
    pub fault: &'static Fault,
    /// Where it sits.
    pub place: Place,
    /// How severe it is, in the fault's own unit.
    pub severity: f64,
}

/// What the load supply is set to where no load sheet asks for something else, volts.
pub const LOAD_SUPPLY_V: f64 = 12.0;

/// So much of the offset of a clamp's current may come and go with the voltage there, at 12 V
/// (`docs/jig-analogue.md`).
const WITH_VOLTAGE: f64 = 0.37;

/// What counts as no connection at all, ohms.
const OPEN_OHM: f64 = 1e9;

/// The model that a simulated jig answers to `*IDN?`.
pub const MODEL: &str = "simulated bench";

/// The simulated jig. Its clock moves only by [`SimulatedBoard::advance_to`].
pub struct SimulatedBoard {
    serial: String,
    channels: Vec<Description>,
    converters: Vec<(Probe, Converter)>,
    /// What the conversions of a scan look at, as long as nothing moves.
    held: Vec<Held>,
    hum: Hum,
    noise: Noise,
    world: World,
    beside: Beside,
    hand: HandParts,
    /// So many switches the module has.
    bank: usize,
    closer_dead: [bool; 8],
    meter: ReferenceMeter,
    /// Where the reference meter is connected, if it is.
    meter_at: Option<Probe>,
    scans: [Scans; 2],
    /// Where the sampling timer stands when scans are ordered, if the order does not start it.
    timer: Option<Stream>,
    /// A person seats the module: no order takes it out.
    attended: bool,
}

impl SimulatedBoard {
    /// Puts a module on the bench.
    pub fn new(setup: Setup) -> Self {
        let Setup { kind, loads, load_supply_v, faults, placed, seeds, .. } = setup;
        let Setup { switches, auxiliary, beside, .. } = setup;
        let mut parts = Parts::draw(&kind, &loads, load_supply_v, seeds);
        let mut rng = draw::stream(seeds.module, Purpose::Fault);
        for (fault, severity) in faults {
            fault.put(&mut parts, severity, switches, &mut rng);
        }
        for Placed { fault, place, severity } in &placed {
            fault.put_at(place, &mut parts, *severity, switches);
        }
        let channels = describe_all();
        let mut rng = draw::stream(seeds.bench, Purpose::Converter);
        let converters = channels
            .iter()
            .map(|d| {
                let probe = Probe::of(d.channel);
                (probe, Converter::draw(d, probe.beside(&parts), &mut rng))
            })
            .collect();
        let behaviour = draw::stream(seeds.run, Purpose::Behaviour);
        let hand = parts.hand.clone();
        let bank = kind.switch_weights.len();
        let joints = LooseJoints::new(&parts, draw::stream(seeds.run, Purpose::Joint));
        let slider = hand.slider.unwrap_or(auxiliary);
        let world = World::new(&parts, hand.set(switches, bank), slider, behaviour, joints);
        SimulatedBoard {
            serial: format!("SIM-{}", seeds.bench),
            channels,
            converters,
            held: Vec::new(),
            hum: Hum::new(),
            noise: Noise::new(draw::stream(seeds.run, Purpose::Noise)),
            world,
            beside: Beside::draw(&beside, seeds.module, parts.leads.next_module_ohm),
            hand,
            bank,
            closer_dead: parts.jig.closer_dead,
            meter: ReferenceMeter::draw(&mut draw::stream(seeds.bench, Purpose::Reference)),
            meter_at: None,
            scans: Default::default(),
            timer: None,
            attended: false,
        }
    }

    /// Lets time pass up to `t_us`; the clock never goes back.
    pub fn advance_to(&mut self, t_us: u64) {
        loop {
            let due_us = self.scans[0].next_us().min(self.scans[1].next_us());
            if due_us > t_us {
                break;
            }
            self.advance_worlds(due_us);
            // As long as nothing moves, one look at the world does for many conversions.
            let until_us = t_us.min(self.still_until_us().saturating_sub(1)).max(due_us);
            let still = until_us > due_us;
            let Self { scans, world, beside, converters, held, hum, noise, .. } = self;
            let mut look = |c: &Conversion| {
                let (probe, converter) = &mut converters[c.channel];
                converter.see(probe.look(world, beside));
                converter.held()
            };
            for unit in scans {
                held.clear();
                if still {
                    held.extend(unit.conversions().iter().map(&mut look));
                }
                unit.convert(until_us, |scan_us, which, all, scan| {
                    let into_us = Hum::into_period_us(scan_us);
                    let point = |c: &Conversion| Hum::point(into_us + c.skew_us as u32);
                    if still {
                        for (held, c) in held[which].iter().zip(all) {
                            scan[c.column] = held.convert(hum, point(c), noise);
                        }
                    } else {
                        for c in all {
                            scan[c.column] = look(c).convert(hum, point(c), noise);
                        }
                    }
                });
            }
        }
        if t_us > self.world.now_us() {
            self.advance_worlds(t_us);
        }
    }

    fn advance_worlds(&mut self, t_us: u64) {
        self.world.advance(t_us);
        self.beside.advance(t_us);
    }

    fn still_until_us(&self) -> u64 {
        self.world.still_until_us().min(self.beside.still_until_us())
    }

    /// From now on a person seats the module and takes it out, not an order.
    pub fn attend(&mut self) {
        self.attended = true;
    }

    /// What a person does at the bench.
    pub fn by_person(&mut self, act: PersonAct) {
        match act {
            PersonAct::Seats(seated) => self.world.set_seated(seated),
            PersonAct::SeatsAnother(setup) => {
                if self.world.is_out() {
                    self.seat_another(*setup);
                }
            }
            PersonAct::Presses(down) => self.world.set_button(down),
        }
    }

    /// The jig and its clock stay; the module, its leads and what hangs on it are those of the other bench. With the
    /// module out, the jig holds nothing on.
    fn seat_another(&mut self, setup: Setup) {
        let other = SimulatedBoard::new(setup);
        let (now_us, button) = (self.world.now_us(), self.world.button_is_down());
        self.world = other.world;
        self.world.advance(now_us);
        self.world.set_button(button);
        (self.beside, self.hand, self.bank) = (other.beside, other.hand, other.bank);
        self.held.clear();
    }

    /// Makes the jig as bad as its class allows: the non-linearity of each channel is no smooth bow any more
    /// but anywhere within its limit, wherever the value lies (see [`SimulatedBoard::bend_anew`]); so is what comes
    /// and goes with the voltage at a clamp; and the sampling timer runs on by itself, so that an order falls
    /// anywhere between two scans. `most_a` is the most that the load at each clamp draws, amperes.
    pub fn use_up_class(&mut self, seed: u64, most_a: &[f64; 8]) {
        let mut rng = draw::stream(seed, Purpose::NonLinearity);
        self.bend(most_a, &mut rng);
        for (description, (probe, converter)) in self.channels.iter().zip(&mut self.converters) {
            if let Probe::ClampCurrent(clamp) = *probe {
                let beside = converter.shift(description, WITH_VOLTAGE, &mut rng);
                self.world.loads.set_seen_with_voltage(clamp, beside / LOAD_SUPPLY_V);
            }
        }
        self.timer = Some(rng);
    }

    /// Draws anew where within its limit the non-linearity of each channel lies, and nothing else.
    pub fn bend_anew(&mut self, seed: u64, most_a: &[f64; 8]) {
        self.bend(most_a, &mut draw::stream(seed, Purpose::NonLinearityLater));
    }

    fn bend(&mut self, most_a: &[f64; 8], rng: &mut Stream) {
        let together = non_linearity::at_rest(&self.world);
        for (description, (_, converter)) in self.channels.iter().zip(&mut self.converters) {
            converter.bend(NonLinearity::draw(description, &together, most_a, rng));
        }
    }

    /// Keeps note from now on of what truly happens; see [`SimulatedBoard::truth`].
    pub fn keep_truth(&mut self) {
        self.world.keep_truth();
    }

    /// What truly happened: what readings should have been. `None` where nobody asked for it. More
    /// modules on the same feed are not in it.
    pub fn truth(&self) -> Option<&Truth> {
        self.world.truth()
    }

    /// The world behind the jig, for whoever wants to look past its readings.
    pub fn world(&self) -> &World {
        &self.world
    }

    /// The modules beside the one that is tested, each in a world of its own.
    pub fn neighbours(&self) -> impl Iterator<Item = &World> {
        self.beside.worlds()
    }

    fn index(&self, channel: u16) -> Option<usize> {
        self.channels.binary_search_by_key(&channel, |d| d.channel).ok()
    }

    fn change_switches(&mut self, clamp: u16, change: impl FnOnce(&mut Switches)) {
        let clamp = usize::from(clamp);
        let mut switches = self.world.loads.switches(clamp);
        change(&mut switches);
        self.world.loads.set_switches(clamp, switches);
        self.world.loads.refresh();
    }
}

/// What a channel looks at.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Probe {
    FeedVoltage,
    FeedCurrent,
    LoadVoltage,
    LoadTotal,
    ClampCurrent(usize),
    ClampVoltage(usize),
    FeedResistance,
    FeedToCommons,
    CommonToCommon,
    Button,
    /// A switch.
    Nothing,
}

impl Probe {
    fn of(channel: u16) -> Self {
        let clamp = |first: u16| usize::from(channel - first);
        match channel {
            FEED_VOLTAGE => Probe::FeedVoltage,
            FEED_CURRENT => Probe::FeedCurrent,
            LOAD_VOLTAGE => Probe::LoadVoltage,
            LOAD_TOTAL => Probe::LoadTotal,
            101..=108 => Probe::ClampCurrent(clamp(CLAMP_CURRENT)),
            401..=408 => Probe::ClampVoltage(clamp(CLAMP_VOLTAGE)),
            FEED_RESISTANCE => Probe::FeedResistance,
            FEED_TO_COMMONS => Probe::FeedToCommons,
            COMMON_TO_COMMON => Probe::CommonToCommon,
            START_BUTTON => Probe::Button,
            _ => Probe::Nothing,
        }
    }

    /// What is seen at most besides the value itself: what flows into the amplifier of a clamp's shunt, at
    /// the highest voltage that a clamp is for.
    fn beside(self, parts: &Parts) -> f64 {
        match self {
            Probe::ClampCurrent(clamp) => parts.jig.input_s[clamp] * HIGHEST_CLAMP_V,
            _ => 0.0,
        }
    }

    /// What a perfect converter would read, behind the filter at its input.
    fn look(self, world: &World, beside: &Beside) -> f64 {
        match self {
            Probe::FeedVoltage => world.feed.seen_v(),
            Probe::FeedCurrent => world.feed.seen_a() + beside.seen_feed_a(),
            Probe::LoadVoltage => world.loads.seen_bus_v(),
            Probe::LoadTotal => world.loads.seen_total_a(),
            Probe::ClampCurrent(clamp) => world.loads.seen_clamp_a(clamp),
            Probe::ClampVoltage(clamp) => world.loads.seen_clamp_v(clamp),
            Probe::FeedResistance => world.feed.resistance_ohm().min(OPEN_OHM),
            Probe::FeedToCommons => world.feed_to_commons_ohm().min(OPEN_OHM),
            Probe::CommonToCommon => world.common_to_common_ohm().min(OPEN_OHM),
            Probe::Button => f64::from(u8::from(world.button_is_down())),
            Probe::Nothing => 0.0,
        }
    }
}

impl Board for SimulatedBoard {
    fn identity(&self) -> Identity<'_> {
        Identity { model: MODEL, serial: &self.serial, firmware: env!("CARGO_PKG_VERSION") }
    }

    fn now_us(&mut self) -> u64 {
        self.world.now_us()
    }

    fn channels(&self) -> &[Description] {
        &self.channels
    }

    fn set_feed(&mut self, drive: FeedDrive) {
        self.world.set_drive(drive);
        self.beside.set_drive(drive);
    }

    fn set_inverted(&mut self, inverted: bool) {
        self.world.set_inverted(inverted);
        self.beside.set_inverted(inverted);
    }

    fn set_soft_start_limit(&mut self, limit_ua: u32) {
        // The limit is for all that hang on the feed: their reservoirs fill side by side.
        let limit_a = f64::from(limit_ua) * 1e-6 / (1 + self.beside.count()) as f64;
        self.world.feed.set_limit(limit_a);
        self.beside.set_limit(limit_a);
    }

    fn set_load_supply(&mut self, on: bool) {
        self.world.loads.set_supply(on);
        self.world.loads.refresh();
    }

    fn cut_off(&mut self, supply: Supply) -> bool {
        match supply {
            Supply::Feed => self.world.feed.is_tripped() || self.beside.is_tripped(),
            Supply::Loads => self.world.loads.is_tripped(),
        }
    }

    fn clear_cut_off(&mut self) {
        self.world.feed.clear_trip();
        self.beside.clear_trip();
        self.world.loads.clear_trip();
    }

    fn drive(&mut self, pulses: &[Pulse]) -> u64 {
        let now_us = self.world.now_us();
        self.beside.append(pulses, now_us);
        self.world.line_mut().append(pulses, now_us)
    }

    fn drive_end_us(&self) -> u64 {
        self.world.line().end_us()
    }

    fn drive_clear(&mut self) {
        let now_us = self.world.now_us();
        self.world.line_mut().clear(now_us);
        self.beside.clear(now_us);
    }

    fn rest(&mut self, level: Level) {
        let now_us = self.world.now_us();
        self.world.line_mut().set_rest(level, now_us);
        self.beside.rest(level, now_us);
    }

    fn set_switch(&mut self, channel: u16, closed: bool) {
        match channel {
            201..=208 => {
                let input = usize::from(channel - CONTACT_CLOSER);
                if !self.closer_dead[input] {
                    self.world.set_closure(input, closed);
                }
            }
            301..=308 => self.change_switches(channel - LOAD_SWITCH, |s| s.load = closed),
            311..=318 => self.change_switches(channel - BYPASS, |s| s.bypass = closed),
            321..=328 => self.change_switches(channel - JIG_LOAD, |s| s.jig_load = closed),
            // Signal light and sounder: nobody sees or hears them here.
            _ => {}
        }
    }

    fn sample(&mut self, channel: u16) -> i16 {
        let Some(index) = self.index(channel) else { return 0 };
        let (probe, converter) = &mut self.converters[index];
        let now_us = self.world.now_us();
        converter.see(probe.look(&self.world, &self.beside));
        converter.held().convert(
            &self.hum,
            Hum::point(Hum::into_period_us(now_us)),
            &mut self.noise,
        )
    }

    fn start_scans(&mut self, unit: Unit, channels: &[u16], interval_us: u32) {
        let columns: Vec<(usize, u64)> = channels
            .iter()
            .filter_map(|&channel| self.index(channel))
            .map(|index| (index, self.channels[index].skew_us as u64))
            .collect();
        // The next tick of the sampling timer.
        let interval_us = interval_us.max(1);
        let late_us = self.timer.as_mut().map_or(0, |timer| timer.random_range(0..interval_us));
        let first_us = self.world.now_us() + 1 + u64::from(late_us);
        self.scans[unit as usize].start(&columns, interval_us, first_us);
    }

    fn next_scan(&mut self, unit: Unit, counts: &mut [i16]) -> Option<u64> {
        self.scans[unit as usize].take(counts)
    }

    fn stop_scans(&mut self, unit: Unit) {
        self.scans[unit as usize].stop();
    }

    fn self_test(&mut self) -> u16 {
        0
    }

    fn hand(&mut self) -> Option<&mut dyn Hand> {
        Some(self)
    }
}

impl Hand for SimulatedBoard {
    fn act(&mut self, act: HandAct) -> Result<(), NotFitted> {
        match act {
            HandAct::Switches(switches) => {
                self.world.module.set_switches(self.hand.set(switches, self.bank));
            }
            HandAct::Auxiliary(on) => self.world.set_slider(self.hand.slider.unwrap_or(on)),
            HandAct::Module(_) if self.attended => return Err(NotFitted),
            HandAct::Module(seated) => self.world.set_seated(seated),
            HandAct::Button(down) => self.world.set_button(down),
            HandAct::Reference { channel, milliohm } => {
                let probe = Probe::of(channel);
                let clamp = match probe {
                    Probe::ClampCurrent(clamp) => Some(clamp),
                    Probe::FeedCurrent => None,
                    _ => return Err(NotFitted),
                };
                let ohm = (milliohm > 0).then(|| f64::from(milliohm) / 1e3);
                self.meter_at = ohm.map(|_| probe);
                self.world.fit_reference(clamp, ohm);
            }
        }
        Ok(())
    }

    fn reference_meter(&mut self) -> f64 {
        let ampere = match self.meter_at {
            Some(Probe::ClampCurrent(clamp)) => self.world.loads.clamp_a(clamp),
            // Of the feed the meter sees the resistor alone, whatever else hangs there.
            Some(_) => self.world.feed.feed_a(),
            None => 0.0,
        };
        self.meter.show(ampere)
    }
}
