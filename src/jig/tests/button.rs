//! The start button: presses that count, and those that do not.

use super::rig::{Rig, TestBoard};
use crate::wire::channel::START_BUTTON;
use proptest::prelude::*;

/// A rig whose button is down in these spans, in milliseconds.
fn pressed(spans: &[(u64, u64)]) -> Rig {
    let spans = spans.to_vec();
    let mut board = TestBoard::new();
    board.script = Box::new(move |channel, now_us| {
        let is_down = spans.iter().any(|&(from, to)| (from..to).contains(&(now_us / 1000)));
        i16::from(channel == START_BUTTON && is_down)
    });
    Rig::on(board)
}

/// The presses after so many milliseconds in which it was asked every half second from the first on.
fn presses(spans: &[(u64, u64)], first_ms: u64, for_ms: u64) -> String {
    let mut rig = pressed(spans);
    rig.run_us(first_ms * 1000);
    for _ in 0..for_ms / 500 {
        rig.ask("BUTT?");
        rig.run_us(500_000);
    }
    let answer = rig.ask("BUTTon:STATe?");
    answer.split(',').next().unwrap_or_default().to_owned()
}

#[test]
fn a_press_counts_once_and_only_after_a_release() {
    assert_eq!(presses(&[(1000, 1200)], 0, 3000), "1");
    // Bounces on the way down and up.
    let bounces = [(1000, 1003), (1006, 1008), (1011, 1200), (1203, 1206), (1209, 1211)];
    assert_eq!(presses(&bounces, 0, 3000), "1");
    // A foot that stands on it since before anybody asked, until it lets go and presses anew.
    assert_eq!(presses(&[(0, 9000)], 100, 3000), "0");
    assert_eq!(presses(&[(0, 1000), (1200, 1400)], 100, 3000), "1");
    // Held down it is still one; a spark is none.
    assert_eq!(presses(&[(1000, 9000)], 0, 5000), "1");
    assert_eq!(presses(&[(1000, 1010)], 0, 3000), "0");
    assert_eq!(presses(&[(1000, 1100), (1200, 1300)], 0, 3000), "2");
}

#[test]
fn what_nobody_asks_for_does_not_count_and_costs_nothing() {
    let mut rig = pressed(&[(4000, 4200)]);
    assert_eq!(rig.ask("BUTT?"), "0,0,0");
    rig.run_us(6_000_000);
    assert_eq!(rig.ask("BUTT?"), "0,0,0");
    let mut rig = pressed(&[(4000, 9000)]);
    rig.run_us(1_000_000);
    assert_eq!(rig.engine.next_wake_us(), u64::MAX, "it is not looked at before anybody asks");
    rig.ask("BUTT?");
    assert!(rig.engine.next_wake_us() < u64::MAX);
    rig.run_us(3_500_000);
    assert_eq!(rig.ask("BUTT?"), "0,1,0", "down since who knows when");
    rig.board().channels.retain(|d| d.channel != START_BUTTON);
    assert_eq!(rig.wrong("BUTT?"), -241);
}

proptest! {
    /// However a contact bounces for 10 ms after each change, presses are what fingers did.
    #[test]
    fn bounces_are_no_presses(
        times in prop::collection::vec((80u64..400, 80u64..400), 1..6),
        bounce in prop::collection::vec(any::<bool>(), 200),
    ) {
        let mut spans = Vec::new();
        let mut edges = Vec::new();
        let mut at = 200;
        for (up, down) in &times {
            at += up;
            spans.push((at, at + down));
            edges.push(at);
            at += down;
            edges.push(at);
        }
        let count = spans.len();
        let mut board = TestBoard::new();
        board.script = Box::new(move |channel, now_us| {
            let ms = now_us / 1000;
            let near = edges.iter().any(|&edge| (edge..edge + 10).contains(&ms));
            let is_down = spans.iter().any(|&(from, to)| (from..to).contains(&ms));
            let shown = if near { bounce[(now_us / 500 % 200) as usize] } else { is_down };
            i16::from(channel == START_BUTTON && shown)
        });
        let mut rig = Rig::on(board);
        for _ in 0..=(at / 1000 + 1) {
            rig.ask("BUTT?");
            rig.run_us(1_000_000);
        }
        let answer = rig.ask("BUTT?");
        let wanted = format!("{count},0,");
        prop_assert!(answer.starts_with(&wanted), "{} is not {}", answer, wanted);
    }
}
