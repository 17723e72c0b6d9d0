//! Are the readings honest? The proof of `docs/honesty.md` at its full size.

use crate::kit::honesty::{Table, cells, table};

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

/// Every cell: `HONESTY_MODULES` modules each (2,000 unless told), `HONESTY_CELLS` for those whose name
/// holds a text.
#[test]
#[ignore = "hours"]
fn every_cell_is_honest() {
    let mut bad = Vec::new();
    println!(
        "| cell | quantity | readings | held % | predicted % |\n| --- | --- | --- | --- | --- |"
    );
    for cell in chosen() {
        let table = cell.table(FRESH..FRESH + modules(2_000));
        for (name, readings, held, predicted) in table.shares() {
            println!("| {cell} | {name} | {readings} | {held:.2} | {predicted:.2} |");
        }
        for line in table.too_seldom() {
            println!("TOO SELDOM: {cell}: {line}");
            table.misses().take(6).for_each(|miss| println!("    {miss}"));
            bad.push(format!("{cell}: {line}"));
        }
    }
    assert!(bad.is_empty(), "{bad:#?}");
}

/// Sound modules in every cell: none fails, and none is blamed.
#[test]
#[ignore = "hours"]
fn sound_modules_of_every_cell_pass() {
    let mut bad = Vec::new();
    println!(
        "| cell | tried | open | failed | module blamed | ended early |\n| --- | --- | --- | --- | --- | --- |"
    );
    for cell in chosen() {
        let s = cell.sound(FRESH..FRESH + modules(110));
        println!(
            "| {cell} | {} | {} | {} | {} | {} |",
            s.tried, s.open, s.failed, s.module_blamed, s.trouble
        );
        if s.failed + s.module_blamed + s.trouble > 0 {
            bad.push(cell.to_string());
        }
    }
    assert!(bad.is_empty(), "{bad:#?}");
}

/// Seeds that no other test draws from.
const FRESH: u64 = 7_000_000;

fn modules(unless_told: u64) -> u64 {
    let said = std::env::var("HONESTY_MODULES").ok();
    said.map_or(unless_told, |said| said.parse().expect("a number of modules"))
}

fn chosen() -> Vec<cells::Cell> {
    let part = std::env::var("HONESTY_CELLS").unwrap_or_default();
    let mut all = cells::all();
    all.retain(|cell| cell.to_string().contains(&part));
    all
}
