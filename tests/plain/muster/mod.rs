//! Musters: a whole day, drawn lots, kills at random instants, and what the screen shows.

mod drawn_lots;
mod screens;
