//! Other modules hang on the same feed: where the one that is tested does not answer, they must not move
//! unless somebody says so.

use crate::kit::bench::{ARRIVAL, PIER, QUAY, plan, run_with, setup, sheet};
use musterbench::judge::reading::Verdict;
use musterbench::link::simulated::JumpingBoard;
use musterbench::run::Options;
use musterbench::run::event::{Ending, Hand, MaySearch};
use musterbench::run::options::Leave;
use musterbench::script::plan::HandTask;
use musterbench::signal::target::Position;
use musterbench::simulated_bench::{Neighbour, Setup, SimulatedBoard};
use std::cell::RefCell;
use std::rc::Rc;

/// How often an output of a neighbour has gone from one position to the other.
#[derive(Debug, Default)]
struct Seen {
    stands: [Option<Position>; 4],
    moves: usize,
}

/// A bench on which somebody watches the neighbour.
struct Watched {
    board: SimulatedBoard,
    seen: Rc<RefCell<Seen>>,
}

impl JumpingBoard for Watched {
    fn advance_to(&mut self, t_us: u64) {
        self.board.advance_to(t_us);
        let mut seen = self.seen.borrow_mut();
        for world in self.board.neighbours() {
            for output in 0..4 {
                let now = world.module.position(output);
                let before = seen.stands[output].replace(now);
                seen.moves += usize::from(before.is_some_and(|before| before != now));
            }
        }
    }
}

impl musterbench::jig::board::Board for Watched {
    pass_on! { board: identity, now_us, channels, set_feed, set_inverted, set_soft_start_limit, set_load_supply, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch, sample, start_scans, next_scan, stop_scans, self_test, hand }
}

/// Somebody at the bench.
struct Person {
    says: Option<bool>,
    asked: Vec<MaySearch>,
}

impl Hand for Person {
    fn act(&mut self, _: &HandTask, _: &mut dyn FnMut() -> bool) -> bool {
        true
    }

    fn may_search(&mut self, question: &MaySearch, _: &mut dyn FnMut() -> bool) -> Option<bool> {
        self.asked.push(*question);
        self.says
    }
}

/// A module with one switch set wrongly, and a neighbour a long way off.
fn shared(text: &str, seed: u64) -> Setup {
    let sheet = sheet(text);
    let alone = setup(&sheet, &[("switch-set-wrong", Some(1.0))], seed);
    let far = sheet.switches.switches_for(sheet.try_address + 120, sheet.switches.usual_format);
    let kind = musterbench::procedure::simulated_set_up::kind(&sheet);
    Setup { beside: vec![Neighbour { kind, switches: far.expect("an address") }], ..alone }
}

fn tried(text: &str, search: Leave, says: Option<bool>) -> (Ending, Verdict, usize, usize) {
    let seen = Rc::new(RefCell::new(Seen::default()));
    let board = Watched { board: SimulatedBoard::new(shared(text, 4700)), seen: seen.clone() };
    let options = Options { unattended: true, neighbours: true, search, ..Options::default() };
    let mut person = Person { says, asked: Vec::new() };
    let run = run_with(&plan(text, ARRIVAL, None), board, &options, &mut person);
    for asked in &person.asked {
        assert!(asked.neighbours && asked.address == sheet(text).try_address, "{asked:?}");
    }
    let moves = seen.borrow().moves;
    (run.outcome.ending, run.outcome.verdict, person.asked.len(), moves)
}

#[test]
fn no_neighbour_moves_without_a_yes() {
    for text in [PIER, QUAY] {
        for (search, says, asked) in [(Leave::Refused, None, 0), (Leave::Ask, Some(false), 1)] {
            let (ending, verdict, questions, moves) = tried(text, search, says);
            assert_eq!((questions, moves), (asked, 0), "{search:?} {ending:?}");
            assert_eq!(verdict, Verdict::Fail);
            let Ending::EndedEarly(why) = &ending else { panic!("{ending:?}") };
            assert!(why.contains("does not answer at"), "{why}");
        }
        // Whoever wants to stop is no yes either.
        let (ending, _, questions, moves) = tried(text, Leave::Ask, None);
        assert_eq!((ending, questions, moves), (Ending::Stopped, 1, 0));
    }
}

#[test]
fn after_a_yes_all_are_asked_and_this_one_is_told_from_its_neighbour() {
    for (search, says) in [(Leave::Ask, Some(true)), (Leave::Given, None)] {
        let (ending, verdict, questions, moves) = tried(QUAY, search, says);
        assert_eq!(ending, Ending::Complete);
        assert_eq!(verdict, Verdict::Fail);
        assert_eq!(questions, usize::from(search == Leave::Ask));
        assert!(moves > 0, "every address was asked");
    }
}
