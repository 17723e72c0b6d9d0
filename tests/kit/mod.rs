//! What the tests share: benches to test on, lines to reach them by, and the built program. Each
//! binary takes of it what it needs.
#![allow(dead_code)]

#[macro_use]
mod pass_on;

pub mod all_cores;
pub mod bad_line;
pub mod bad_line_runs;
pub mod bench;
pub mod disks;
pub mod drawn_lots;
pub mod faults;
pub mod honesty;
#[cfg(unix)]
pub mod killed_musters;
pub mod noting;
#[cfg(unix)]
pub mod pretender;
pub mod printed;
pub mod program;
pub mod pulled;
pub mod recorded;
pub mod restarting;
pub mod roll_call;
pub mod shared_line;
pub mod sound_modules;
#[cfg(unix)]
pub mod terminal;
pub mod unattended;
pub mod whole_run;
