//! The brain over a board that does nothing, without `std` and without an allocator.
#![no_std]

use musterbench::jig::board::{Board, FeedDrive, Identity, Supply, Unit};
use musterbench::jig::engine::Engine;
use musterbench::jig::memory::Memory;
use musterbench::signal::pulse::{Level, Pulse};
use musterbench::wire::channel::Description;

struct Nothing;

impl Board for Nothing {
    fn identity(&self) -> Identity<'_> {
        Identity { model: "jig", serial: "0", firmware: "0" }
    }
    fn now_us(&mut self) -> u64 {
        0
    }
    fn channels(&self) -> &[Description] {
        &[]
    }
    fn set_feed(&mut self, _: FeedDrive) {}
    fn set_inverted(&mut self, _: bool) {}
    fn set_soft_start_limit(&mut self, _: u32) {}
    fn set_load_supply(&mut self, _: bool) {}
    fn cut_off(&mut self, _: Supply) -> bool {
        false
    }
    fn clear_cut_off(&mut self) {}
    fn drive(&mut self, _: &[Pulse]) -> u64 {
        0
    }
    fn drive_end_us(&self) -> u64 {
        0
    }
    fn drive_clear(&mut self) {}
    fn rest(&mut self, _: Level) {}
    fn set_switch(&mut self, _: u16, _: bool) {}
    fn sample(&mut self, _: u16) -> i16 {
        0
    }
    fn start_scans(&mut self, _: Unit, _: &[u16], _: u32) {}
    fn next_scan(&mut self, _: Unit, _: &mut [i16]) -> Option<u64> {
        None
    }
    fn stop_scans(&mut self, _: Unit) {}
    fn self_test(&mut self) -> u16 {
        0
    }
}

/// Carries out one line, so that the whole brain is compiled.
pub fn identify(memory: &'static mut Memory, answer: &mut [u8]) -> usize {
    let mut brain = Engine::new(Nothing, memory);
    brain.receive(b"*IDN?\n");
    brain.poll();
    brain.transmit(answer)
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    loop {}
}
