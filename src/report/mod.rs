//! What people read.
