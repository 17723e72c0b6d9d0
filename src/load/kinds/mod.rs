//! The kinds of load: the one list of them, a file for each.

mod coil;
mod electronics;
mod lamp;
mod led;
mod measured;
mod motor;
mod resistor;
mod strip;

use super::kind::Kind;
use crate::quantity::located::Located;
use crate::quantity::table::Table;

pub use coil::Coil;
pub use electronics::Electronics;
pub use lamp::Lamp;
pub use led::Led;
pub use measured::Measured;
pub use motor::Motor;
pub use resistor::Resistor;
pub use strip::Strip;

/// Reads one kind from its table.
pub type Reader = fn(&mut Table<'_>) -> Result<Part, Located>;

/// Makes the list from each kind's key in a load sheet and its type.
macro_rules! kinds {
    ($($key:literal $kind:ident,)*) => {
        /// One load, of whatever kind.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Part {
            $(#[doc = concat!("`", $key, "`")] $kind($kind),)*
        }

        impl Part {
            /// Each kind's key, and what reads it.
            pub const READERS: &[(&str, Reader)] = &[$((
                $key,
                |table| <$kind as Kind>::read(table).map(Part::$kind),
            )),*];

            /// Each kind's key, and what may stand there.
            pub const EXAMPLES: &[(&str, &str)] = &[$(($key, $kind::EXAMPLE)),*];

            /// What it says of itself.
            pub fn kind(&self) -> &dyn Kind {
                match self {
                    $(Part::$kind(kind) => kind,)*
                }
            }
        }
    };
}

kinds! {
    "resistor" Resistor,
    "led" Led,
    "lamp" Lamp,
    "coil" Coil,
    "motor" Motor,
    "electronics" Electronics,
    "strip" Strip,
    "measured" Measured,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::sheet::LoadSheet;
    use crate::load::{Fed, explained};
    use crate::quantity::source::Source;
    use crate::quantity::unit::Units;
    use uom::si::f64::Time;

    /// What stands in a kind's example is a load of that kind, and its closed form takes as many
    /// inputs as it says.
    #[test]
    fn examples_are_loads() {
        for (key, example) in Part::EXAMPLES {
            let text = format!(
                "title = \"t\"\nsupply = {{ kind = \"dc\", voltage = \"12 V ±5 %\" }}\n\
                 [[load]]\nname = \"n\"\nat = \"1a\"\n{key} = {example}\n"
            );
            let sheet = LoadSheet::parse(&Source::new("example.toml", &text));
            let sheet = sheet.unwrap_or_else(|error| panic!("{key}: {error}"));
            let load = sheet.clamps[0].as_ref().expect(key);
            let part = load.circuit.parts[0].kind();
            assert!(!part.words().is_empty() && part.settle_s(sheet.supply).is_finite(), "{key}");
            for after in [0.0, 1e-3, f64::INFINITY] {
                let fed = Fed::behind(sheet.supply, 0.1);
                let found = explained(&load.circuit, &fed, Time::from_si(after));
                let [nominal, lower, upper] =
                    [found.current.nominal, found.current.lower, found.current.upper]
                        .map(Units::si);
                assert!(lower <= nominal && nominal <= upper && upper.is_finite(), "{key} {after}");
                assert_eq!(found.contributions.len(), 2 + part.inputs().len(), "{key}");
            }
        }
    }
}
