//! What becomes of a reading: what stands behind it, and what forbids to trust it.

pub mod traceability;
pub mod untrusted;
