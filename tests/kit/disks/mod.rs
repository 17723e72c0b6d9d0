//! Disks that one would rather not have, in the place of the system's: behind the trait that the records
//! write through.

pub mod forgetful;
pub mod jumping_clock;
pub mod slow;
