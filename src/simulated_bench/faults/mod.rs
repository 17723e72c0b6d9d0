//! The catalogue of faults. Each changes the electrics or the logic of the bench, never a reading.

mod course;
mod fault;
mod jig;
mod lead;
mod load;
mod module;
pub mod place;
mod setting;

pub use course::Course;
pub use fault::Fault;

/// Every fault, class by class.
pub fn catalogue() -> impl Iterator<Item = &'static Fault> + Clone {
    [module::ALL, setting::ALL, lead::ALL, load::ALL, jig::ALL].into_iter().flatten()
}

/// The fault of that name.
pub fn find(name: &str) -> Option<&'static Fault> {
    catalogue().find(|fault| fault.name == name)
}
