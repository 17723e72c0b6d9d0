//! Whole lots through a muster, on the jumping clock, with somebody at the bench who makes mistakes: modules with
//! drawn faults, seated askew now and then, out of their order, pulled out in the middle; starts pressed twice, labels
//! scanned that are none of the lot's.

use super::pulled::Pulled;
use musterbench::blame::Blame;
use musterbench::cli::command_result::OrExit;
use musterbench::cli::muster::bench::{self, Bench, Source};
use musterbench::cli::muster::plan::plan;
use musterbench::finds::share::Share;
use musterbench::finds::trial_run::TriedPlan;
use musterbench::link::client::Jig;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::lot::fate::Fate;
use musterbench::lot::order::Order;
use musterbench::lot::standing::Lot;
use musterbench::muster::desk::{Desk, End};
use musterbench::muster::happening::{Happening, Job, Order as Told};
use musterbench::muster::station::{Seating, Stands};
use musterbench::muster::tried::How;
use musterbench::procedure::seat::Seat;
use musterbench::procedure::simulated_set_up::setup;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::script::shipped;
use musterbench::simulated_bench::faults::{Course, Fault, catalogue};
use musterbench::simulated_bench::{Seeds, Setup, SimulatedBoard};
use rand::seq::IndexedRandom;
use rand::{Rng, RngExt, SeedableRng};
use rand_xoshiro::SplitMix64;
use std::cell::RefCell;
use std::collections::{BTreeMap, VecDeque};
use std::path::Path;
use std::rc::Rc;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

pub const KINDS: [&str; 3] = ["pier-four", "quay-four", "jetty-two"];

/// So many modules a lot has.
const MODULES: u32 = 6;
/// With each fault so many other modules are tried, once each.
const TRIED: u32 = 3;

/// What became of lots.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    pub lots: usize,
    pub modules: usize,
    pub sound: usize,
    pub seatings: usize,
    pub askew: usize,
    pub pulled: usize,
    pub scans: usize,
    pub foreign_scans: usize,
    pub idle_starts: usize,
    /// Put on hold by a person, since they came back again and again.
    pub given_up: usize,
    pub sound_rejected: usize,
    pub sound_on_hold: usize,
    /// Faults of modules: how many there were, were accepted, rejected, put on hold.
    pub faults: BTreeMap<String, [usize; 4]>,
    /// Of so many runs of the lot's script with the same faults, on other modules, so many do not find them.
    pub foreseen: Share,
}

impl Tally {
    pub fn add(&mut self, other: Tally) {
        self.lots += other.lots;
        self.modules += other.modules;
        self.sound += other.sound;
        self.seatings += other.seatings;
        self.askew += other.askew;
        self.pulled += other.pulled;
        self.scans += other.scans;
        self.foreign_scans += other.foreign_scans;
        self.idle_starts += other.idle_starts;
        self.given_up += other.given_up;
        self.sound_rejected += other.sound_rejected;
        self.sound_on_hold += other.sound_on_hold;
        for (name, counts) in other.faults {
            let all = self.faults.entry(name).or_default();
            all.iter_mut().zip(counts).for_each(|(sum, count)| *sum += count);
        }
        self.foreseen.of += other.foreseen.of;
        self.foreseen.runs += other.foreseen.runs;
    }

    /// The most faulty modules that may be accepted if one run of the script misses as many as other runs with the
    /// same faults do: their number, and three standard deviations of both counts (99.9 % of a normal distribution).
    pub fn acceptable(&self) -> f64 {
        let foreseen = f64::from(self.foreseen.of) / f64::from(TRIED);
        foreseen + 3.09 * (foreseen * (1.0 + 1.0 / f64::from(TRIED))).sqrt()
    }

    pub fn faulty_accepted(&self) -> usize {
        self.faults.values().map(|counts| counts[1]).sum()
    }

    pub fn text(&self) -> String {
        let mut text = format!(
            "{} lots, {} modules, {} of them sound: {} sound ones rejected, {} put on hold\n\
             {} seatings; {} askew, {} pulled out, {} scans, {} scans of foreign labels, {} starts for nothing; {} given up\n\
             fault                     modules accepted rejected on hold\n",
            self.lots,
            self.modules,
            self.sound,
            self.sound_rejected,
            self.sound_on_hold,
            self.seatings,
            self.askew,
            self.pulled,
            self.scans,
            self.foreign_scans,
            self.idle_starts,
            self.given_up
        );
        for (name, [all, accepted, rejected, on_hold]) in &self.faults {
            text += &format!("{name:<25} {all:>7} {accepted:>8} {rejected:>8} {on_hold:>7}\n");
        }
        text + &format!(
            "{} faulty modules accepted; single runs miss {:.1} of as many, so at most {:.1}\n",
            self.faulty_accepted(),
            f64::from(self.foreseen.of) / f64::from(TRIED),
            self.acceptable()
        )
    }
}

/// A module as it is.
#[derive(Clone, Debug)]
struct Module {
    serial: String,
    fault: Option<(&'static Fault, f64)>,
    seed: u64,
}

/// How bad a fault is: anything that `script finds` looks at, evenly by its logarithm; as it comes where no part of
/// this kind can have it so badly.
fn severity(fault: &Fault, bench: &Setup, random: &mut SplitMix64) -> f64 {
    let drawn = match fault.courses().choose(random).expect("some") {
        Course::Counts(counts) => *counts.choose(random).expect("some"),
        Course::Values { mild, worst } => {
            mild * (worst / mild).powf(random.random_range(0.0..=1.0))
        }
    };
    let sits = !fault.places(&bench.kind, &bench.loads, drawn).is_empty();
    if sits { drawn } else { fault.default }
}

/// What stands in a jig.
#[derive(Clone, Debug)]
struct InJig {
    serial: String,
    faults: Vec<(&'static Fault, f64)>,
    seeds: Seeds,
    pulled_at_us: Option<u64>,
}

/// Whoever is at the bench, and what happens there.
struct Hands<'r> {
    random: &'r mut SplitMix64,
    modules: Vec<Module>,
    askew: Vec<&'static Fault>,
    /// How often each module was seated, and which one last at each jig.
    seated: BTreeMap<String, u32>,
    last: Vec<Option<String>>,
    tally: Tally,
}

/// A module that was seated so often and still is to be repeated is put on hold: a fault that reads like one of the
/// leads is none of the module's to the program, however often it comes.
const PATIENCE: u32 = 5;

impl Hands<'_> {
    fn one_in(&mut self, count: u32) -> bool {
        self.random.random_range(0..count) == 0
    }

    /// Seats a module, well or askew.
    fn seat(&mut self, serial: &str) -> InJig {
        let of = |module: &&Module| module.serial == serial;
        let module = self.modules.iter().find(of).expect("a module of the lot").clone();
        let mut faults: Vec<_> = module.fault.into_iter().collect();
        if self.one_in(12) {
            let lead = *self.askew.choose(self.random).expect("some");
            faults.push((lead, lead.default));
            self.tally.askew += 1;
        }
        let pulled_at_us = if self.one_in(25) {
            Some(self.random.random_range(200_000..28_000_000))
        } else {
            None
        };
        let seeds = Seeds { bench: 11, module: module.seed, run: self.random.next_u64() >> 1 };
        InJig { serial: serial.into(), faults, seeds, pulled_at_us }
    }
}

/// One lot, drawn from a number. Its records lie in this folder.
pub fn lot(seed: u64, folder: &Path) -> Tally {
    let mut random = SplitMix64::seed_from_u64(seed);
    let kind = KINDS[(seed % 3) as usize];
    let sheet = shipped::module_sheet(kind).expect("shipped");
    let order = Order::of("spring", kind, MODULES, "muster", "thorough");
    let lot = open(folder, &order);
    let bench = setup(&sheet, None, Vec::new(), 1);
    let may_be = |class: Blame| {
        let found = catalogue().filter(|fault| {
            fault.class == class
                && !fault.places(&bench.kind, &bench.loads, fault.default).is_empty()
        });
        found.collect::<Vec<_>>()
    };
    let (own, askew) = (may_be(Blame::Module), may_be(Blame::Lead));
    let modules: Vec<Module> = lot
        .modules
        .iter()
        .map(|module| Module {
            serial: module.serial.clone(),
            fault: (random.random_range(0..4) == 0).then(|| {
                let fault = *own.choose(&mut random).expect("some");
                (fault, severity(fault, &bench, &mut random))
            }),
            seed: random.next_u64() >> 1,
        })
        .collect();
    let foreseen = foreseen(&order, &sheet, &modules);
    let names: Vec<String> = (1..=random.random_range(1..=2)).map(|n| format!("jig {n}")).collect();
    let desk = Desk::new(lot, "Ines", &names, true).expect("a desk");
    let (seated, last) = (BTreeMap::new(), vec![None; names.len()]);
    let tally = Tally { foreseen, ..Tally::default() };
    let hands = Hands { random: &mut random, modules, askew, seated, last, tally };
    let stop = AtomicBool::new(false);
    let in_jig = Rc::new(RefCell::new(vec![None; names.len()]));
    let benches = (0..names.len())
        .map(|at| Bench::new(common(folder, &order), source(at, &sheet, in_jig.clone()), &stop))
        .collect();
    let meant = vec![false; names.len()];
    let queue = VecDeque::new();
    Muster { desk, hands, benches, in_jig, meant, queue, now: Duration::ZERO }.all()
}

/// How many runs of the lot's script, each on another module with the same fault, do not find it.
fn foreseen(order: &Order, sheet: &ModuleSheet, modules: &[Module]) -> Share {
    let plan = plan(order, sheet, None).expect("a plan");
    let tried = TriedPlan::new(&plan);
    let mut missed = Share::default();
    for module in modules.iter().filter(|module| module.fault.is_some()) {
        (0..u64::from(TRIED)).for_each(|more| {
            missed.count(!tried.run(module.fault, module.seed + 1 + more).is_found())
        });
    }
    missed
}

fn common(folder: &Path, order: &Order) -> bench::Lot {
    bench::Lot {
        records: folder.join("records"),
        name: "spring".into(),
        order: order.clone(),
        operator: "Ines".into(),
        calibration: Default::default(),
        quiet: true,
    }
}

/// A jig in which stands what somebody has put there.
fn source(
    at: usize,
    sheet: &ModuleSheet,
    in_jig: Rc<RefCell<Vec<Option<InJig>>>>,
) -> Source<'static> {
    let (sheet, own) = (sheet.clone(), 11 + at as u64);
    let open = move |job: Option<&Job>| {
        let stands = in_jig.borrow()[at].clone();
        let nothing = || (Vec::new(), Seeds { bench: own, module: 1, run: 1 }, None);
        let (faults, seeds, pulled) = match (job, stands) {
            (None, _) => nothing(),
            (Some(job), stands) => {
                let stands: InJig = stands.expect("a module is seated");
                assert_eq!(job.serial, stands.serial, "a reading under a wrong serial");
                (stands.faults, Seeds { bench: own, ..stands.seeds }, stands.pulled_at_us)
            }
        };
        let board = SimulatedBoard::new(setup(&sheet, None, faults, seeds));
        let board = Pulled { board, at_us: pulled.unwrap_or(u64::MAX) };
        Jig::open(Box::new(SimulatedTransport::over(board))).or_bench()
    };
    Source { open: Box::new(open), is_new_each_time: true }
}

fn open(folder: &Path, order: &Order) -> Lot {
    let records = folder.join("records");
    let lot = musterbench::record::folder::LotFolder::open(&records, "spring").expect("a folder");
    let text = order.to_toml();
    std::fs::write(lot.path().join("lot.toml"), text).expect("written");
    Lot::read(&records, "spring").expect("read")
}

/// A muster in one thread: what happens goes to the desk, what the desk orders is done at once.
struct Muster<'r> {
    desk: Desk,
    hands: Hands<'r>,
    benches: Vec<Bench<'r>>,
    in_jig: Rc<RefCell<Vec<Option<InJig>>>>,
    /// Whether somebody has seated a module and wants to start.
    meant: Vec<bool>,
    queue: VecDeque<(usize, Told)>,
    now: Duration,
}

impl Muster<'_> {
    fn all(mut self) -> Tally {
        let first = self.desk.begin();
        self.queue.extend(first);
        for _ in 0..20_000 {
            if let Some((at, order)) = self.queue.pop_front() {
                self.obey(at, order);
                continue;
            }
            match self.desk.end() {
                None => self.act(),
                Some(End::Done) => return self.tally(),
                Some(end) => panic!("{end:?}"),
            }
        }
        panic!("it does not end: {:?}", self.desk.stations);
    }

    fn happens(&mut self, happening: Happening) {
        let orders = self.desk.take(happening, self.now).expect("records");
        self.queue.extend(orders);
    }

    fn types(&mut self, keys: &str) {
        self.happens(Happening::Typed(keys.as_bytes().to_vec()));
    }

    /// Somebody presses start where none counts, now and then.
    fn presses_for_nothing(&mut self, at: usize) {
        while self.hands.one_in(3) {
            self.hands.tally.idle_starts += 1;
            let waiting = self.queue.len();
            if self.desk.focus == at && self.hands.one_in(2) {
                self.types("\r\n");
            } else {
                self.happens(Happening::Pressed(at));
            }
            assert_eq!(self.queue.len(), waiting, "it started: {:?}", self.queue);
        }
    }

    fn obey(&mut self, at: usize, order: Told) {
        match order {
            Told::Check => {
                let look = self.benches[at].check().expect("a bench");
                self.happens(Happening::Looked(at, look));
            }
            Told::Run(job) => {
                assert!(core::mem::take(&mut self.meant[at]), "nobody has started {}", job.serial);
                self.presses_for_nothing(at);
                let tried = self.benches[at].run(&job, &mut |_| ()).expect("a run");
                self.hands.tally.seatings += 1;
                self.now += tried.took;
                if tried.how == How::PulledOut {
                    self.hands.tally.pulled += 1;
                    self.in_jig.borrow_mut()[at] = None;
                }
                assert!(tried.how != How::Stopped, "{tried:?}");
                self.happens(Happening::Ended(at, tried));
            }
            Told::WatchSeat => {
                self.presses_for_nothing(at);
                let mut seat = self.benches[at].seat().expect("a bench");
                if seat == Seat::Taken {
                    seat = self.benches[at].seat().expect("a bench");
                    assert_eq!(seat, Seat::Empty, "the hand has taken it out");
                }
                self.in_jig.borrow_mut()[at] = None;
                self.happens(Happening::Seat(at, seat));
            }
            Told::WatchButton | Told::Rest => {}
        }
    }

    /// Somebody does the next thing.
    fn act(&mut self) {
        self.now += Duration::from_secs(self.hands.random.random_range(12..40));
        let waits = |stands: &Stands| {
            matches!(stands, Stands::Ready(_) | Stands::Leaving { is_asked: true, .. })
        };
        let waiting: Vec<usize> =
            (0..self.benches.len()).filter(|&at| waits(&self.desk.stations[at].stands)).collect();
        let at = *waiting.choose(self.hands.random).expect("somebody is waited for");
        if self.desk.focus != at {
            self.types(&(at + 1).to_string());
        }
        if self.gives_up(at) {
            return;
        }
        if let Stands::Leaving { .. } = self.desk.stations[at].stands {
            self.in_jig.borrow_mut()[at] = None;
            self.types("\n");
            return;
        }
        if self.hands.one_in(15) {
            self.hands.tally.foreign_scans += 1;
            let label = *["crane-9\n", "autumn/spring-1\n", "4006381\r\n"]
                .choose(self.hands.random)
                .expect("some");
            let before = self.desk.stations[at].stands.clone();
            self.types(label);
            assert_eq!(self.desk.stations[at].stands, before, "{label:?}");
        }
        if self.hands.one_in(6) {
            let label = self.hands.modules.choose(self.hands.random).expect("some").serial.clone();
            self.hands.tally.scans += 1;
            self.types(&format!("spring/{label}\r\n"));
            if self.desk.asking.is_some() {
                // A scan is no answer.
                self.types("spring/x\n");
                let answer = if self.hands.one_in(2) { "y" } else { "n" };
                self.types(answer);
                assert!(self.desk.asking.is_none());
            }
        }
        // The module is the one that the screen names.
        let Stands::Ready(Seating::Module(serial)) = self.desk.stations[at].stands.clone() else {
            return;
        };
        *self.hands.seated.entry(serial.clone()).or_default() += 1;
        self.hands.last[at] = Some(serial.clone());
        let seated = self.hands.seat(&serial);
        self.in_jig.borrow_mut()[at] = Some(seated);
        self.meant[at] = true;
        if self.hands.one_in(2) {
            self.types("\n\n");
        } else {
            self.happens(Happening::Pressed(at));
        }
    }

    /// Whether the module that was tested last comes back too often, and is put on hold.
    fn gives_up(&mut self, at: usize) -> bool {
        let Some(serial) = self.hands.last[at].take() else { return false };
        let fate = self.desk.lot.module_of(&serial).expect("of the lot").ruling.fate;
        if fate.is_settled() || self.hands.seated[&serial] < PATIENCE {
            return false;
        }
        self.types("h");
        self.types("it comes back again and again\r");
        self.types("y");
        self.hands.tally.given_up += 1;
        true
    }

    fn tally(self) -> Tally {
        let Muster { desk, hands, .. } = self;
        let mut tally = hands.tally;
        tally.lots = 1;
        let mut told = BTreeMap::new();
        for module in &desk.lot.modules {
            assert!(told.insert(module.serial.clone(), module.ruling.fate).is_none());
        }
        assert_eq!(told.len(), hands.modules.len(), "a fate each: {told:?}");
        for module in hands.modules {
            let fate = told[&module.serial];
            assert!(fate.is_settled(), "{}: {fate}", module.serial);
            tally.modules += 1;
            let Some(fault) = module.fault else {
                tally.sound += 1;
                tally.sound_rejected += usize::from(fate == Fate::Rejected);
                tally.sound_on_hold += usize::from(fate == Fate::OnHold);
                continue;
            };
            let counts = tally.faults.entry(fault.0.name.into()).or_default();
            counts[0] += 1;
            counts[1] += usize::from(fate == Fate::Accepted);
            counts[2] += usize::from(fate == Fate::Rejected);
            counts[3] += usize::from(fate == Fate::OnHold);
        }
        tally
    }
}
