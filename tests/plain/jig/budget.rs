//! The sums of the error budget come to what the firmware states.

use super::channels::CHANNELS;
use super::pages::{read, rows};
use musterbench::wire::channel::Description;

fn channel(number: u16) -> &'static Description {
    CHANNELS.iter().find(|d| d.channel == number).expect("a channel")
}

/// The columns of the table under a heading, added up, and its last row.
fn sums(heading: &str) -> (Vec<f64>, Vec<f64>) {
    let text = read("jig-analogue.md");
    let (_, from) = text.split_once(&format!("### {heading}\n")).expect("the heading");
    let part = from.split("\n#").next().expect("a part");
    let mut table: Vec<Vec<f64>> = rows(part)
        .skip(1)
        .map(|row| row[2..].iter().map(|cell| cell.parse().unwrap_or(0.0)).collect())
        .collect();
    let last = table.pop().expect("a last row");
    let total = |column| table.iter().map(|row: &Vec<f64>| row[column]).sum();
    ((0..last.len()).map(total).collect(), last)
}

/// The rounding of the cells allows a difference of this share.
const ROUNDING: f64 = 4e-3;

fn check(heading: &str, stated: &[f64]) {
    let (sums, last) = sums(heading);
    assert_eq!(sums.len(), stated.len(), "{heading}");
    for ((sum, last), stated) in sums.iter().zip(&last).zip(stated) {
        assert!((sum / stated - 1.0).abs() < ROUNDING, "{heading}: {sum} is not {stated}");
        assert!((last / stated - 1.0).abs() < ROUNDING, "{heading}: {last} is not {stated}");
    }
}

#[test]
fn gains() {
    check("Gain, in per cent", &[101, 1].map(|c| channel(c).gain_limit * 100.0));
    assert_eq!(channel(101).gain_limit, channel(2).gain_limit);
    assert_eq!(channel(101).gain_limit, channel(4).gain_limit);
    assert_eq!(channel(1).gain_limit, channel(401).gain_limit);
}

#[test]
fn offsets() {
    let stated = [101, 2, 4].map(|c| channel(c).offset_limit * 1e3);
    check("Offset of the currents, in milliamperes", &stated);
    let stated = [1, 401].map(|c| channel(c).offset_limit * 1e3);
    check("Offset of the voltages, in millivolts", &stated);
}

#[test]
fn non_linearities() {
    let stated = [101, 2, 4, 1].map(|c| channel(c).linearity_limit * 1e3);
    check("Non-linearity, in milliamperes and millivolts", &stated);
}
