//! Every command that there is, to every module that there is: it sets one output of the right
//! module to the right position, and nothing else moves.
//!
//! The packets themselves are checked against the standards beside `signal::dcc`; here they only
//! have to mean the same at both ends, through the switches of a module sheet.

use musterbench::jig::board::{Board, FeedDrive};
use musterbench::procedure::simulated_set_up as simulated;
use musterbench::quantity::source::Source;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::signal::dcc::{self, Accessory, BROADCAST_GROUP, IDLE, Numbering};
use musterbench::signal::pulse::{Level, Pulse, Stretch};
use musterbench::signal::target::{Format, Position};
use musterbench::signal::telegram::{Telegram, command, highest_address};
use musterbench::simulated_bench::kind::Kind;
use musterbench::simulated_bench::loads::LoadModel;
use musterbench::simulated_bench::{LOAD_SUPPLY_V, Receiver, Setup, SimulatedBoard};

const POSITIONS: [Position; 2] = [Position::A, Position::B];

/// What there is to test: a format, counted so.
#[derive(Clone, Copy, Debug)]
struct Convention {
    format: Format,
    numbering: Numbering,
    /// Groups of four addresses.
    groups: u16,
}

const CONVENTIONS: [Convention; 3] = [
    // Group 0 has no address, and the last group is the broadcast.
    Convention { format: Format::Dcc, numbering: Numbering::Rcn213, groups: 510 },
    // All groups but the broadcast.
    Convention { format: Format::Dcc, numbering: Numbering::FromGroupZero, groups: 511 },
    Convention { format: Format::Trinary, numbering: Numbering::Rcn213, groups: 80 },
];

impl Convention {
    /// A kind with four outputs whose switches reach every address.
    fn sheet(self) -> ModuleSheet {
        let text = include_str!("../../fixtures/modules/pier-four.toml");
        let mut sheet = ModuleSheet::parse(&Source::new("pier-four", text)).expect("it is shipped");
        // Its own end at group 465.
        sheet.switches.weights[10] += 46;
        sheet.numbering = self.numbering;
        if self.numbering == Numbering::FromGroupZero {
            // All switches off is group 0.
            sheet.switches.base = 1;
        }
        sheet
    }

    fn first_addresses(self) -> impl Iterator<Item = u16> {
        (0..self.groups).map(|group| 4 * group + 1)
    }

    fn addresses(self) -> impl Iterator<Item = u16> {
        1..=4 * self.groups
    }

    /// A command in pulses. A packet is followed by an idle one, as on the feed of the jig.
    fn pulses(self, sheet: &ModuleSheet, address: u16, to: Position) -> Vec<Pulse> {
        let made = command(self.format, self.numbering, address, to, sheet.direction_of_a);
        match made.expect("there is such an address") {
            Telegram::Packet(packet) => with_idle(&packet),
            Telegram::Pulses(pulses) => pulses.to_vec(),
        }
    }
}

fn with_idle(packet: &[u8]) -> Vec<Pulse> {
    dcc::pulses(packet).chain(dcc::pulses(&IDLE)).collect()
}

/// The command to one pair of every group.
fn broadcast(sheet: &ModuleSheet, pair: u8, to: Position) -> Vec<Pulse> {
    let direction = if to == Position::A { sheet.direction_of_a } else { 1 - sheet.direction_of_a };
    let packet = dcc::accessory(Accessory { group: BROADCAST_GROUP, pair }, direction, true);
    with_idle(&packet)
}

/// The stretches that pulses make on the feed, one after the other.
fn stretches(pulses: &[Pulse]) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = Vec::new();
    let mut end_us = 0;
    for &Pulse { level, duration_us } in pulses {
        end_us += u64::from(duration_us);
        match all.last_mut() {
            Some(last) if last.level == level => {
                last.duration_us += duration_us;
                last.end_us = end_us;
            }
            _ => all.push(Stretch { level, duration_us, end_us }),
        }
    }
    all
}

/// What a module makes of a whole feed: at which stretch, which output, where to.
fn heard(receiver: &mut Receiver, feed: &[Stretch]) -> Vec<(usize, usize, Position)> {
    feed.iter()
        .enumerate()
        .filter_map(|(i, &stretch)| receiver.listen(stretch).map(|(output, to)| (i, output, to)))
        .collect()
}

#[test]
fn every_command_is_for_one_output_of_one_module() {
    for convention in CONVENTIONS {
        let sheet = convention.sheet();
        let kind = simulated::kind(&sheet);
        assert_eq!(
            highest_address(convention.format, convention.numbering),
            4 * convention.groups,
            "{convention:?}"
        );
        // The whole feed, and where in it each command begins.
        let (mut pulses, mut feed_us, mut sent) = (Vec::new(), 0, Vec::new());
        for address in convention.addresses() {
            for to in POSITIONS {
                sent.push((feed_us, address, to));
                let all = convention.pulses(&sheet, address, to);
                feed_us += all.iter().map(|pulse| u64::from(pulse.duration_us)).sum::<u64>();
                pulses.extend(all);
            }
        }
        let feed = stretches(&pulses);
        let mut acted = vec![0; sent.len()];
        for first in convention.first_addresses() {
            let switches = sheet.switches.switches_for(first, convention.format);
            let mut module = Receiver::new(&kind, switches.expect("the bank reaches it"));
            assert_eq!(module.format(), convention.format);
            assert_eq!(module.first_address(), i32::from(first));
            for (at, output, to) in heard(&mut module, &feed) {
                let end_us = feed[at].end_us;
                let which = sent.partition_point(|&(begin_us, ..)| begin_us < end_us) - 1;
                let (_, address, wanted) = sent[which];
                assert_eq!(usize::from(address - first), output, "{convention:?} {address}");
                assert_eq!(wanted, to, "{convention:?} {address}");
                acted[which] += 1;
            }
        }
        let commands = usize::from(convention.groups) * 4 * 2;
        println!(
            "{convention:?}: {commands} commands, each heard by {} modules",
            convention.groups
        );
        assert_eq!(acted, vec![1; commands], "{convention:?}");
    }
}

/// S-9.2.1: every module acts on the broadcast, each with the output of that pair.
#[test]
fn the_broadcast_is_for_every_module() {
    for convention in CONVENTIONS.into_iter().filter(|c| c.format == Format::Dcc) {
        let sheet = convention.sheet();
        let kind = simulated::kind(&sheet);
        let (mut pulses, mut want) = (Vec::new(), Vec::new());
        for pair in 0..4 {
            for to in POSITIONS {
                pulses.extend(broadcast(&sheet, pair, to));
                want.push((usize::from(pair), to));
            }
        }
        let feed = stretches(&pulses);
        for first in convention.first_addresses() {
            let switches = sheet.switches.switches_for(first, convention.format);
            let mut module = Receiver::new(&kind, switches.expect("the bank reaches it"));
            let got = heard(&mut module, &feed);
            let got: Vec<_> = got.into_iter().map(|(_, output, to)| (output, to)).collect();
            assert_eq!(got, want, "{convention:?} {first}");
        }
    }
}

/// A whole module on its feed: power, boot, switches, decoder, coils, contacts.
struct Bench {
    board: SimulatedBoard,
}

impl Bench {
    fn new(kind: Kind, switches: u32) -> Self {
        let mut board = SimulatedBoard::new(Setup {
            kind,
            loads: [const { LoadModel::OPEN }; 8],
            load_supply_v: LOAD_SUPPLY_V,
            faults: Vec::new(),
            placed: Vec::new(),
            seeds: u64::from(switches).into(),
            switches,
            auxiliary: false,
            beside: Vec::new(),
        });
        board.rest(Level::Low);
        board.set_feed(FeedDrive::Limited);
        board.advance_to(200_000);
        board.set_feed(FeedDrive::Full);
        board.advance_to(400_000);
        Bench { board }
    }

    fn positions(&self) -> [Position; 4] {
        [0, 1, 2, 3].map(|output| self.board.world().module.position(output))
    }

    /// Sends pulses and waits until whatever they move has moved.
    fn send(&mut self, pulses: &[Pulse]) {
        let end_us = self.board.drive(pulses);
        self.board.advance_to(end_us + 80_000);
    }
}

/// Its kind, ready a little sooner.
fn quick(sheet: &ModuleSheet) -> Kind {
    Kind { boot_s: 0.05, ..simulated::kind(sheet) }
}

#[test]
fn every_command_moves_one_output_of_the_module_and_no_other() {
    for convention in CONVENTIONS {
        let sheet = convention.sheet();
        let last = 4 * convention.groups;
        for first in convention.first_addresses() {
            let switches = sheet.switches.switches_for(first, convention.format);
            let mut bench = Bench::new(quick(&sheet), switches.expect("the bank reaches it"));
            for output in 0..4 {
                let stood = bench.positions()[output];
                for to in [stood.other(), stood] {
                    let mut want = bench.positions();
                    want[output] = to;
                    bench.send(&convention.pulses(&sheet, first + output as u16, to));
                    assert_eq!(bench.positions(), want, "{convention:?} {first} {output} {to}");
                }
                // The same output of the modules on either side.
                let beside = [i32::from(first) - 4, i32::from(first) + 4];
                for address in beside.map(|group| group + output as i32) {
                    if (1..=i32::from(last)).contains(&address) {
                        let pulses = convention.pulses(&sheet, address as u16, stood.other());
                        bench.send(&pulses);
                    }
                }
                assert_eq!(bench.positions()[output], stood, "{convention:?} {first} {output}");
            }
        }
    }
}

#[test]
fn the_broadcast_moves_every_module() {
    for convention in CONVENTIONS.into_iter().filter(|c| c.format == Format::Dcc) {
        let sheet = convention.sheet();
        for first in convention.first_addresses() {
            let switches = sheet.switches.switches_for(first, convention.format);
            let mut bench = Bench::new(quick(&sheet), switches.expect("the bank reaches it"));
            for to in POSITIONS {
                for pair in 0..4 {
                    bench.send(&broadcast(&sheet, pair, to));
                }
                assert_eq!(bench.positions(), [to; 4], "{convention:?} {first}");
            }
        }
    }
}
