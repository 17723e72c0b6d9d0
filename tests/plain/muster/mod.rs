//! Musters: a whole day, drawn lots, kills at random instants, and what the screen shows.

mod button;
mod day;
mod drawn_lots;
mod kills;
mod screens;
mod set;
mod two_jigs;
