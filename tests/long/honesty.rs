//! Are the readings honest? The proof of `docs/honesty.md` at its full size.

use crate::kit::all_cores::each;
use crate::kit::honesty::cells::{self, Cell};
use crate::kit::honesty::sound::Sound;
use crate::kit::honesty::{Table, table};
use std::sync::Mutex;
use std::time::Instant;

/// How many modules are drawn.
const MODULES: u64 = 10_000;
/// After so many it tells how it goes.
const AT_ONCE: u64 = 500;

#[test]
#[ignore = "half an hour"]
fn readings_of_ten_thousand_modules_are_honest() {
    let mut sum = Table::default();
    for first in (1..MODULES).step_by(AT_ONCE as usize) {
        sum.merge(table(first..first + AT_ONCE));
        println!("{} simulated modules:\n{sum}", first + AT_ONCE - 1);
    }
    // So many leave chance no room.
    sum.assert_honest(0.0);
}

/// For whoever looks for the cause of a wrong reading: `HONESTY_SEEDS=1..20` tells all that miss.
#[test]
#[ignore = "tells, asserts nothing"]
fn misses() {
    let said = std::env::var("HONESTY_SEEDS").unwrap_or_else(|_| "1..21".into());
    let (from, to) = said.split_once("..").expect("a range like 1..20");
    let table = table(from.parse().expect("a seed")..to.parse().expect("a seed"));
    println!("{table}");
    table.misses().for_each(|miss| println!("{miss}"));
}

/// Every cell: `HONESTY_MODULES` modules around their limits and as many sound ones (2,000 of each unless
/// told; `HONESTY_SOUND` for another number of these), `HONESTY_CELLS` for those whose name holds a text,
/// `HONESTY_SEED` for others than the last time,
/// `HONESTY_MISSES` to be told all readings of a quantity of that name that do not hold the truth. Each
/// cell's lines are printed as it ends, so that a run that is cut short says what it has found.
#[test]
#[ignore = "hours"]
fn every_cell_is_honest() {
    let modules = number("HONESTY_MODULES", 2_000);
    let sound_ones = number("HONESTY_SOUND", modules);
    let first = number("HONESTY_SEED", FRESH);
    println!(
        "Simulated. {modules} drawn and {sound_ones} sound modules a cell, seeds from {first} on."
    );
    println!("| cell | quantity | readings | held % | predicted % | error/u |");
    println!("| cell | sound | open, foreseen | failed, foreseen | blamed | ended early | s |");
    let begun = Instant::now();
    let part = std::env::var("HONESTY_CELLS").unwrap_or_default();
    let is_chosen = |(_, cell): &(u64, Cell)| cell.to_string().contains(&part);
    let all: Vec<_> = (0..).zip(cells::all()).filter(is_chosen).collect();
    let sums: Mutex<(Table, Sound, Vec<String>)> = Mutex::default();
    each(&all, |(at, cell)| {
        let (began, from) = (Instant::now(), first + at * APART);
        let mut table = cell.table(from..from + modules);
        let sound = cell.sound(from + modules..from + modules + sound_ones, &mut table);
        let mut lines = table.lines(cell);
        lines.push(format!("| {cell} {sound} {:.0} |", began.elapsed().as_secs_f64()));
        let mut bad: Vec<_> = table.too_seldom().iter().map(|s| format!("{cell}: {s}")).collect();
        let asked = std::env::var("HONESTY_MISSES").ok();
        let is_asked = |miss: &&String| asked.as_ref().is_some_and(|name| miss.contains(name));
        lines.extend(table.misses().filter(is_asked).map(|miss| format!("    {miss}")));
        if !bad.is_empty() {
            lines.extend(table.misses().take(6).map(|miss| format!("    {miss}")));
        }
        bad.extend(sound.wrong().map(|wrong| format!("{cell}: {wrong}")));
        lines.extend(bad.iter().map(|bad| format!("BAD {bad}")));
        println!("{}", lines.join("\n"));
        let mut sums = sums.lock().expect("no other worker has panicked");
        sums.0.merge(table);
        sums.1.merge(&sound);
        sums.2.extend(bad);
    });
    let (table, sound, bad) = sums.into_inner().expect("no worker has panicked");
    println!("{}", table.lines(&"all cells").join("\n"));
    println!("| all cells {sound} {:.0} |", begun.elapsed().as_secs_f64());
    let bad: Vec<_> = bad.into_iter().chain(table.apart()).chain(sound.wrong()).collect();
    assert!(bad.is_empty(), "{bad:#?}");
}

/// Seeds that no other test draws from, and how far apart those of two cells are.
const FRESH: u64 = 7_000_000;
const APART: u64 = 100_000;

fn number(name: &str, unless_told: u64) -> u64 {
    let said = std::env::var(name).ok();
    said.map_or(unless_told, |said| said.parse().expect("a number"))
}
