//! The address plan of a layout.

use super::error::LayoutError;
use super::on_feed::{OnFeed, on_feed};
use crate::quantity::located::{Located, quoted};
use crate::quantity::source::Source;
use crate::record::names::is_same_name;
use crate::script::module_sheet::ModuleSheet;
use crate::script::setting::{Setting, called};
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;
use std::ops::{Range, RangeInclusive};
use std::path::Path;

/// Which module of the layout answers to what.
#[derive(Clone, Debug, PartialEq)]
pub struct AddressPlan {
    /// The file that it was read from.
    pub source: Source,
    /// Its modules that can be understood, in the order of the file.
    pub modules: Vec<PlannedModule>,
    /// What is wrong in the file itself, each at its place.
    pub wrong: Vec<Located>,
}

/// One module of the layout.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedModule {
    /// Its name; records go by it.
    pub name: String,
    /// Its module sheet as the plan names it.
    pub sheet_name: String,
    /// Its module sheet.
    pub sheet: ModuleSheet,
    /// How its addresses are counted here, which may be another way than that of its sheet.
    pub counted: Numbering,
    /// The format that it is set to.
    pub format: Format,
    /// Its first address.
    pub address: u16,
    /// Names of its outputs, output 1 first, where they have one.
    pub outputs: Vec<Option<String>>,
    /// A note for people.
    pub note: Option<String>,
    /// Which module sits there; nothing where nobody said.
    pub link: Option<Link>,
    /// Where its name, its address and its serial stand in the file.
    pub place: Place,
}

/// The module that sits in a place of the layout: its own name, and the lot that it came in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// The module's own name, as it came.
    pub serial: String,
    /// The lot.
    pub lot: String,
}

impl Link {
    /// Whether it is that module.
    pub fn is(&self, lot: &str, serial: &str) -> bool {
        is_same_name(&self.lot, lot) && is_same_name(&self.serial, serial)
    }
}

/// Where a module stands in the file.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Place {
    /// Its name.
    pub name: Range<usize>,
    /// Its first address.
    pub address: Range<usize>,
    /// Its serial.
    pub serial: Range<usize>,
}

impl AddressPlan {
    /// Reads a plan from a file.
    ///
    /// # Errors
    /// When the file cannot be read or is no TOML. What is wrong with a module stands in
    /// [`AddressPlan::wrong`].
    pub fn read(path: &Path) -> Result<AddressPlan, Located> {
        let source = Source::read(path).map_err(|mut error| {
            if error.place.is_none() && !path.exists() {
                error.message =
                    "there is no such file: `musterbench layout add` makes it, or give \
                                 the address plan with --layout"
                        .into();
            }
            error
        })?;
        AddressPlan::parse(source, folder_of(path))
    }

    /// The plan, or all that is wrong in the file.
    ///
    /// # Errors
    /// [`LayoutError::Wrong`].
    pub fn sound(self) -> Result<AddressPlan, LayoutError> {
        if self.wrong.is_empty() { Ok(self) } else { Err(LayoutError::Wrong(self.wrong)) }
    }

    /// The module of a name.
    ///
    /// # Errors
    /// When there is none; names those that there are.
    pub fn module(&self, name: &str) -> Result<&PlannedModule, LayoutError> {
        self.modules.iter().find(|m| is_same_name(&m.name, name)).ok_or_else(|| {
            let names: Vec<&str> = self.modules.iter().map(|m| m.name.as_str()).collect();
            let there = if names.is_empty() { "none".to_owned() } else { names.join(", ") };
            LayoutError::Refused(format!(
                "{} has no module {}; it has {there}",
                self.source.name(),
                quoted(name)
            ))
        })
    }
}

impl AddressPlan {
    /// The place in which a module sits.
    pub fn place_of(&self, lot: &str, serial: &str) -> Option<&PlannedModule> {
        let sits = |link: &Link| link.is(lot, serial);
        self.modules.iter().find(|module| module.link.as_ref().is_some_and(sits))
    }

    /// The line on which a module's name stands.
    pub fn line_of(&self, module: &PlannedModule) -> usize {
        self.source.line_of(module.place.name.start)
    }
}

impl PlannedModule {
    /// Whether two say the same, wherever they stand.
    pub fn says_the_same_as(&self, other: &PlannedModule) -> bool {
        PlannedModule { place: other.place.clone(), ..self.clone() } == *other
    }

    /// Its addresses, one an output.
    pub fn addresses(&self) -> RangeInclusive<u16> {
        let more = u16::from(self.sheet.outputs) - 1;
        self.address..=self.address.saturating_add(more)
    }

    /// What each of its outputs listens to.
    pub fn listens_to(&self) -> impl Iterator<Item = (u16, OnFeed)> + '_ {
        self.addresses().filter_map(|a| Some((a, on_feed(self.format, self.counted, a)?)))
    }

    /// Its first address as its sheet counts; `None` when that has no figure for it.
    pub fn address_by_sheet(&self) -> Option<u16> {
        called(self.format, self.counted, self.address, self.sheet.numbering)
    }

    /// How it is set.
    ///
    /// # Errors
    /// A sentence: why it cannot be set to its address.
    pub fn setting(&self) -> Result<Setting, String> {
        Setting::for_address(&self.sheet, self.address.into(), self.format, self.counted)
    }
}

/// The folder that a path lies in; module sheets are looked for from there.
pub(super) fn folder_of(path: &Path) -> &Path {
    path.parent().unwrap_or(Path::new(""))
}

/// `181 to 184`, `49 and 50` or `9`.
pub fn span_in_words(addresses: &RangeInclusive<u16>) -> String {
    let (first, last) = (addresses.start(), addresses.end());
    match last - first {
        0 => first.to_string(),
        1 => format!("{first} and {last}"),
        _ => format!("{first} to {last}"),
    }
}
