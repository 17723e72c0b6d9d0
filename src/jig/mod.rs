//! The jig's own brain: an instrument engine over a [`board::Board`].
//!
//! The firmware and the simulated bench run this very code. `no_std`, no allocator.
//!
//! | file | holds |
//! | --- | --- |
//! | [`board`] | what the brain needs from the electronics |
//! | [`hand`] | what a simulated bench can be told to do |
//! | [`engine`] | lines in, answers out; sealed lines at most once |
//! | `phase`, `progress` | where it stands with a line; the line in progress |
//! | `session`, `output` | which lines are taken, and which is new; answers on their way |
//! | `commands` | what each header does, a file a subtree |
//! | `instrument` | the works behind the commands, and what makes them safe |
//! | `power`, `overload`, `clamps` | supplies: soft start and trips |
//! | `drive` | commands and idle packets on the feed |
//! | `capture`, `captures`, `sweep`, `mean`, `block` | samples around a trigger |
//! | [`memory`] | where they are kept |
//! | `switches`, `duty`, `contacts` | everything that opens and closes |
//! | `measure`, `sensor` | single values |

pub mod board;
pub mod engine;
pub mod hand;
pub mod memory;

mod block;
mod button;
mod capture;
mod captures;
mod clamps;
mod commands;
mod contacts;
mod drive;
mod duty;
mod instrument;
mod mean;
mod measure;
mod output;
mod overload;
mod phase;
mod power;
mod progress;
mod sensor;
mod session;
mod sweep;
mod switches;

#[cfg(test)]
mod tests;
