//! What the whole-program tests share.
#![allow(dead_code)]

pub mod bad_line;
pub mod bench;
pub mod whole_run;
