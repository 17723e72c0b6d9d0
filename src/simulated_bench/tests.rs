//! The whole bench, driven as the jig's brain drives it but without the brain.

mod faults_show;
pub mod rig;
mod survey;
mod with_brain;

use crate::jig::board::{Board, FeedDrive, Unit};
use crate::jig::hand::Hand;
use crate::signal::target::Position;
use crate::simulated_bench::PersonAct;
use crate::simulated_bench::faults::find;
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;
use rig::{Rig, setup};

#[test]
fn a_command_on_the_feed_moves_the_output() {
    for seed in 0..20 {
        let mut rig = Rig::sound(seed);
        rig.power_up();
        rig.jig_loads();
        for output in 1..=4 {
            for to in [Position::A, Position::B, Position::A] {
                rig.command(output, to);
                rig.pass(0.2);
                assert_eq!(rig.position(output), Some(to), "seed {seed} output {output}");
            }
        }
    }
}

/// Another module is seated once the last one is out; the jig's clock runs on.
#[test]
fn a_person_seats_another_module_when_the_jig_is_empty() {
    let stuck = find("output-stuck").expect("a fault");
    let mut rig = Rig::sound(3);
    rig.board.attend();
    let another = |seed, faults| {
        let loads = [const { LoadModel::OPEN }; 8];
        PersonAct::SeatsAnother(Box::new(setup(Kind::example(), seed, loads, faults)))
    };
    let moves = |rig: &mut Rig| {
        rig.power_up();
        rig.jig_loads();
        let all = (1..=4).flat_map(|output| [Position::A, Position::B].map(|to| (output, to)));
        let moved = all.filter(|&(output, to)| {
            rig.command(output, to);
            rig.pass(0.2);
            rig.position(output) == Some(to)
        });
        let moved = moved.count();
        rig.power_down();
        moved
    };
    assert_eq!(moves(&mut rig), 8);
    rig.board.by_person(another(5, vec![(stuck, stuck.default)]));
    assert_eq!(moves(&mut rig), 8, "the first one stands there still");
    let before_us = rig.board.now_us();
    rig.board.by_person(PersonAct::Seats(false));
    rig.board.by_person(another(5, vec![(stuck, stuck.default)]));
    assert_eq!(rig.board.now_us(), before_us);
    assert!(moves(&mut rig) < 8);
    rig.board.by_person(PersonAct::Seats(false));
    rig.board.by_person(another(6, vec![]));
    assert_eq!(moves(&mut rig), 8);
}

#[test]
fn the_same_seed_gives_the_same_counts() {
    let run = |seed| {
        let mut rig = Rig::sound(seed);
        rig.power_up();
        rig.jig_loads();
        rig.board.start_scans(Unit::Capture, &[101, 102, 2, 3, 401, 402], 200);
        rig.command(1, Position::B);
        rig.pass(0.1);
        let mut all = Vec::new();
        let mut counts = [0; 6];
        while let Some(t) = rig.board.next_scan(Unit::Capture, &mut counts) {
            all.push((t, counts));
        }
        assert!(all.len() > 400);
        all
    };
    assert_eq!(run(7), run(7));
    assert_ne!(run(7), run(8));
}

#[test]
fn how_time_is_cut_up_does_not_matter() {
    let counts = |step_us: u64| {
        let mut rig = Rig::sound(3);
        rig.power_up();
        rig.jig_loads();
        rig.board.start_scans(Unit::Capture, &[101, 102, 2], 200);
        rig.command(1, Position::B);
        let end = rig.board.now_us() + 30_000;
        while rig.board.now_us() < end {
            let t = (rig.board.now_us() + step_us).min(end);
            rig.board.advance_to(t);
        }
        let mut all = Vec::new();
        let mut counts = [0; 3];
        while let Some(t) = rig.board.next_scan(Unit::Capture, &mut counts) {
            all.push((t, counts));
        }
        all
    };
    let (coarse, fine) = (counts(10_000), counts(10_000 / 7));
    assert_eq!(coarse.len(), fine.len());
    for (a, b) in coarse.iter().zip(&fine) {
        assert_eq!(a.0, b.0);
        for (x, y) in a.1.iter().zip(b.1) {
            assert!(x.abs_diff(y) <= 2, "{a:?} {b:?}");
        }
    }
}

#[test]
fn nothing_is_answered_before_the_boot_is_over() {
    let mut rig = Rig::sound(1);
    let before = rig.board.world().module.position(0);
    rig.board.set_feed(FeedDrive::Limited);
    rig.pass(0.1);
    rig.command(1, before.other());
    rig.pass(0.1);
    assert_eq!(rig.board.world().module.position(0), before);
}

#[test]
fn contact_inputs_move_outputs_and_win_over_commands() {
    let mut rig = Rig::sound(5);
    rig.power_up();
    rig.jig_loads();
    for to in [Position::B, Position::A, Position::B] {
        rig.board.set_switch(203 + to.index() as u16, true);
        rig.pass(0.2);
        assert_eq!(rig.position(2), Some(to));
        rig.command(2, to.other());
        rig.pass(0.2);
        assert_eq!(rig.position(2), Some(to), "a held contact wins");
        rig.board.set_switch(203 + to.index() as u16, false);
        rig.command(2, to.other());
        rig.pass(0.2);
        assert_eq!(rig.position(2), Some(to.other()));
    }
}

/// Charge of a capacitor, `Q = C U` (any textbook): the soft start's charge is the reservoir's, plus
/// what the logic took meanwhile.
#[test]
fn soft_start_fills_the_reservoir() {
    let mut rig = Rig::sound(2);
    rig.board.set_feed(FeedDrive::Limited);
    let mut charge_c = 0.0;
    for _ in 0..2_000 {
        rig.board.advance_to(rig.board.world().now_us() + 50);
        charge_c += rig.board.world().feed.feed_a() * 50e-6;
        assert!(rig.board.world().feed.feed_a() <= 0.250_001);
    }
    let kind = Kind::example();
    let rail_v = rig.board.world().feed.rail_v();
    let own_c = kind.reservoir_f * rail_v;
    let logic_c = 0.1 * kind.logic_a;
    assert!((charge_c / (own_c + logic_c) - 1.0).abs() < 0.15, "{charge_c} {own_c} {logic_c}");
}

/// Ohm's law: a jig load behind a closed contact.
#[test]
fn jig_load_takes_what_ohm_says() {
    let mut rig = Rig::sound(4);
    rig.power_up();
    rig.jig_loads();
    rig.command(3, Position::A);
    rig.pass(0.2);
    let loads = &rig.board.world().loads;
    let expected = 12.0 / 22.0;
    assert!((loads.clamp_a(4) / expected - 1.0).abs() < 0.04, "{}", loads.clamp_a(4));
    let drop_ohm = (loads.bus_v() - loads.clamp_v(4)) / loads.clamp_a(4);
    assert!((0.05..0.2).contains(&drop_ohm), "{drop_ohm}");
    assert!(loads.clamp_a(5).abs() < 1e-6);
}

#[test]
fn lamp_blinks_in_the_feed_current() {
    let mut rig = Rig::sound(6);
    rig.power_up();
    let kind = Kind::example();
    let threshold = kind.logic_a + kind.lamp_a / 2.0;
    let (mut rises, mut lit, mut was) = (0, 0, true);
    for _ in 0..5_000 {
        rig.pass(0.001);
        let is = rig.board.world().feed.feed_a() > threshold;
        rises += i32::from(is && !was);
        lit += i32::from(is);
        was = is;
    }
    assert!((f64::from(rises) / 5.0 - kind.lamp_hz).abs() < 0.25, "{rises}");
    assert!((f64::from(lit) / 5_000.0 - kind.lamp_duty).abs() < 0.06, "{lit}");
}

#[test]
fn switches_are_read_at_boot() {
    let mut rig = Rig::sound(1);
    rig.power_up();
    let (first, _) = rig.board.world().module.address_and_format();
    assert_eq!(first, i32::from(rig.first_address()));
    let act = crate::jig::hand::HandAct::Switches(0b1010);
    rig.board.act(act).unwrap();
    assert_eq!(rig.board.world().module.address_and_format().0, first);
    rig.power_down();
    rig.power_up();
    assert_eq!(rig.board.world().module.address_and_format().0, (2 + 8 - 1) * 4 + 1);
}

#[test]
fn positions_survive_a_loss_of_power() {
    let mut rig = Rig::sound(9);
    rig.power_up();
    rig.jig_loads();
    for output in 1..=4 {
        rig.command(output, Position::B);
        rig.pass(0.15);
    }
    rig.power_down();
    rig.power_up();
    for output in 1..=4 {
        assert_eq!(rig.position(output), Some(Position::B));
    }
}

/// A module beside the one that is tested shows in the feed current alone: its coil pulls when its
/// own address is called, and nothing of the other module moves.
#[test]
fn a_neighbour_shows_in_the_feed_current_alone() {
    use super::board::Setup;
    use super::{Neighbour, loads::LoadModel};
    let setup = |beside| {
        let open = [const { LoadModel::OPEN }; 8];
        Setup { beside, ..rig::setup(Kind::example(), 3, open, Vec::new()) }
    };
    let mut alone = Rig::of(setup(Vec::new()));
    let mut both =
        Rig::of(setup(vec![Neighbour { kind: Kind::example(), switches: rig::SWITCHES + 1 }]));
    let count_a = 0.000_05;
    let mut currents = Vec::new();
    for rig in [&mut alone, &mut both] {
        rig.power_up();
        rig.pass(1.0);
        let idle = f64::from(rig.board.sample(2)) * count_a;
        let stood = [1, 2, 3, 4].map(|output| rig.position(output));
        // The neighbour's first output is the address after this module's last one.
        rig.command(5, Position::B);
        let mut highest = 0.0_f64;
        for _ in 0..40 {
            rig.pass(0.002);
            highest = highest.max(f64::from(rig.board.sample(2)) * count_a);
        }
        assert_eq!(stood, [1, 2, 3, 4].map(|output| rig.position(output)));
        currents.push((idle, highest - idle));
    }
    let [(idle_alone, pulse_alone), (idle_both, pulse_both)] = currents[..] else { panic!() };
    assert!((idle_both / idle_alone - 2.0).abs() < 0.4, "{currents:?}");
    assert!(pulse_alone < 0.02 && pulse_both > 0.07, "{currents:?}");
}

/// A poor link to the next module: that one gets less, and what the jig sees of its coil falls; the module
/// that is tested lives as before. Without a next module there is nothing to see.
#[test]
fn a_poor_link_starves_the_next_module_alone() {
    use super::board::Setup;
    use super::{Neighbour, faults::find, loads::LoadModel};
    let looked = |ohm: f64| {
        let open = [const { LoadModel::OPEN }; 8];
        let fault = find("next-module-link-poor").map(|fault| (fault, ohm));
        let beside = vec![Neighbour { kind: Kind::example(), switches: rig::SWITCHES + 1 }];
        let setup = rig::setup(Kind::example(), 3, open, fault.into_iter().collect());
        let mut rig = Rig::of(Setup { beside, ..setup });
        rig.power_up();
        rig.pass(1.0);
        let own_v = rig.board.world().feed.rail_v();
        let next_v: Vec<f64> = rig.board.neighbours().map(|world| world.feed.rail_v()).collect();
        let count_a = 0.000_05;
        let idle = f64::from(rig.board.sample(2)) * count_a;
        // To the position where it does not stand.
        let mut highest = 0.0_f64;
        for to in [Position::A, Position::B] {
            rig.command(5, to);
            for _ in 0..50 {
                rig.pass(0.002);
                highest = highest.max(f64::from(rig.board.sample(2)) * count_a);
            }
        }
        (own_v, next_v[0], highest - idle)
    };
    let (sound, poor) = (looked(0.0), looked(100.0));
    assert!((sound.0 - poor.0).abs() < 1e-6, "{sound:?} {poor:?}");
    // Ohm's law with what its logic draws, and with its coil of 160 ohms behind 100.
    let drop_v = 100.0 * Kind::example().logic_a;
    assert!((sound.1 - poor.1 - drop_v).abs() < 1.2, "{sound:?} {poor:?}");
    assert!(poor.2 < 0.8 * sound.2, "{sound:?} {poor:?}");
}
