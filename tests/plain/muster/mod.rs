//! Musters: a whole day, drawn lots, kills at random instants, and what the screen shows.

#[cfg(unix)]
mod button;
#[cfg(unix)]
mod day;
mod drawn_lots;
#[cfg(unix)]
mod kills;
#[cfg(unix)]
mod reader_leaves;
mod screens;
#[cfg(unix)]
mod set;
#[cfg(unix)]
mod two_jigs;
