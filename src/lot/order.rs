//! What was ordered, and how it is tested: `lot.toml`.

use super::serials::Serials;
use jiff::civil::Date;

/// The file's name, in the folder of the lot.
pub const FILE: &str = "lot.toml";

/// The script that takes a module off hold, where nobody names another one.
pub const SETTLING: &str = "settle";

/// The most modules of a lot.
pub const MOST: u32 = 100_000;

/// What was ordered.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// The kind: a shipped module sheet, or a file.
    pub kind: String,
    /// How many modules were ordered.
    pub count: u32,
    /// Who sells them.
    pub seller: Option<String>,
    /// The number or name of the order.
    pub order: Option<String>,
    /// When it was ordered.
    pub ordered: Option<Date>,
    /// The last day on which modules can be sent back.
    pub return_by: Option<Date>,
    /// What came when: a lot may come in several parcels.
    pub parcels: Vec<Parcel>,
    /// What stands on the modules of this batch.
    pub marks: Option<String>,
    /// The script that each module goes through.
    pub script: String,
    /// The load sheet, where the modules are tested on real loads.
    pub loads: Option<String>,
    /// What the modules are called.
    pub serials: Serials,
    /// Which of them go through the long script too.
    pub sample: Option<Sample>,
    /// The script that takes a module off hold.
    pub settling_script: String,
    /// A module that is known to be good, by which the bench is tried.
    pub reference: Option<String>,
}

/// A parcel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parcel {
    /// When it came.
    pub came: Date,
    /// How many modules were in it.
    pub count: u32,
}

/// A part of the lot that is tested longer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sample {
    /// Which modules.
    pub which: Which,
    /// By which script.
    pub script: String,
}

/// Which modules are of the sample.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Which {
    /// So many, drawn from a number.
    Drawn {
        /// How many.
        count: u32,
        /// The number.
        seed: u32,
    },
    /// These.
    Named(Vec<String>),
}

impl Order {
    /// An order of so many modules of a kind, of which nothing more is known.
    pub fn of(lot: &str, kind: &str, count: u32, script: &str, settling_script: &str) -> Self {
        Order {
            kind: kind.into(),
            count,
            seller: None,
            order: None,
            ordered: None,
            return_by: None,
            parcels: Vec::new(),
            marks: None,
            script: script.into(),
            loads: None,
            serials: Serials::Pattern(format!("{lot}-{{}}")),
            sample: None,
            settling_script: settling_script.into(),
            reference: None,
        }
    }

    /// How many modules have come; all of them where no parcel is told.
    pub fn came(&self) -> u32 {
        if self.parcels.is_empty() {
            self.count
        } else {
            self.parcels.iter().fold(0, |sum, parcel| sum.saturating_add(parcel.count))
        }
    }
}
