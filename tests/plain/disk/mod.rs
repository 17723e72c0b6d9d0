//! Disks that are slow, and computers that lose their power.

mod power_cut;
mod slow;
