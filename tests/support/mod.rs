//! What the whole-program tests share.
#![allow(dead_code)]

#[macro_use]
mod pass_on;

pub mod bad_line;
pub mod bench;
pub mod shared;
pub mod whole_run;
