//! How many edges a second the decoders read: the speed of the simulated bench rests on it.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use musterbench::signal::dcc::{self, IDLE, Numbering, accessory};
use musterbench::signal::dcc_decoder::DccDecoder;
use musterbench::signal::edges::Edge;
use musterbench::signal::listener::Listener;
use musterbench::signal::pulse::{Level, Pulse};
use musterbench::signal::trinary;
use musterbench::signal::trinary_decoder::TrinaryDecoder;
use std::hint::black_box;

/// Commands to so many addresses.
const ADDRESSES: u16 = 300;

/// Pulses with neighbours of one level made one.
fn joined(pulses: impl Iterator<Item = Pulse>) -> Vec<Pulse> {
    let mut all: Vec<Pulse> = Vec::new();
    for pulse in pulses {
        match all.last_mut() {
            Some(last) if last.level == pulse.level => last.duration_us += pulse.duration_us,
            _ => all.push(pulse),
        }
    }
    all
}

/// Commands with an idle packet after each.
fn packets() -> Vec<Pulse> {
    let sent = (1..=ADDRESSES).flat_map(|address| {
        let to = Numbering::Rcn213.accessory(address).expect("there is such an address");
        [accessory(to, (address & 1) as u8, true), IDLE]
    });
    joined(sent.flat_map(|packet| dcc::pulses(&packet).collect::<Vec<_>>()))
}

fn telegrams() -> Vec<Pulse> {
    let sent = (1..=ADDRESSES).flat_map(|address| {
        let word = trinary::word(address, (address & 1) as u8, true).expect("there is one");
        trinary::pulses(&word).collect::<Vec<_>>()
    });
    joined(sent)
}

fn edges(pulses: &[Pulse]) -> Vec<Edge> {
    let mut at_us = 0;
    let edge = |pulse: &Pulse| {
        let edge = Edge { at_us, to: pulse.level };
        at_us += u64::from(pulse.duration_us);
        edge
    };
    let mut edges: Vec<Edge> = pulses.iter().map(edge).collect();
    edges.push(Edge { at_us, to: pulses.last().map_or(Level::Low, |p| p.level.inverted()) });
    edges
}

/// All messages that are heard, so that nothing can be left out.
fn listen(edges: &[Edge]) -> usize {
    let mut listener = Listener::new();
    edges.iter().filter(|&&edge| black_box(listener.edge(edge)).is_some()).count()
}

fn decoders(criterion: &mut Criterion) {
    let (packets, telegrams) = (packets(), telegrams());
    let mut group = criterion.benchmark_group("decoder");

    group.throughput(Throughput::Elements(packets.len() as u64));
    group.bench_function("dcc, stretches", |b| {
        b.iter(|| {
            let mut decoder = DccDecoder::new();
            let whole = packets.iter().filter(|p| decoder.stretch(p.level, p.duration_us)).count();
            assert!(whole >= usize::from(2 * ADDRESSES - 1));
        });
    });
    let all = edges(&packets);
    group.bench_function("dcc, edges into both decoders", |b| {
        b.iter(|| assert!(listen(&all) >= usize::from(2 * ADDRESSES - 1)));
    });

    group.throughput(Throughput::Elements(telegrams.len() as u64));
    group.bench_function("trinary, stretches", |b| {
        b.iter(|| {
            let mut decoder = TrinaryDecoder::new();
            let commands = telegrams
                .iter()
                .filter(|p| black_box(decoder.stretch(p.level, p.duration_us)).is_some())
                .count();
            assert_eq!(commands, usize::from(ADDRESSES));
        });
    });
    let all = edges(&telegrams);
    group.bench_function("trinary, edges into both decoders", |b| {
        b.iter(|| assert!(listen(&all) >= usize::from(ADDRESSES - 1)));
    });
    group.finish();
}

criterion_group!(benches, decoders);
criterion_main!(benches);
