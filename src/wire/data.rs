//! Data elements by their type: what a parameter or a field of an answer is, written and read.

use super::error::Error;
use super::number::{self, Unit};
use super::parameters::Parameters;
use super::setting::{Bound, Setting};
use super::writer::{Sink, Writer};
use core::fmt;

/// One data element, or several in a row, that both ends write and read alike.
pub trait Data<'a>: Sized {
    /// Writes it.
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result;

    /// Reads it, no more than what was written.
    ///
    /// # Errors
    /// What stands there is something else, or out of the range of the type.
    fn read(from: &mut Parameters<'a>) -> Result<Self, Error>;
}

impl Data<'_> for bool {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.boolean(*self)
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        from.boolean()
    }
}

macro_rules! whole_numbers {
    ($($type:ty: $highest:expr,)*) => {$(
        impl Data<'_> for $type {
            fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
                writer.integer(*self)
            }

            fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
                from.integer(<$type>::MIN as i64..=$highest).map(|value| value as $type)
            }
        }
    )*};
}

whole_numbers! {
    u8: u8::MAX.into(),
    u16: u16::MAX.into(),
    i16: i16::MAX.into(),
    u32: u32::MAX.into(),
    i64: i64::MAX,
    // More than any clock or counter shows.
    u64: i64::MAX,
}

impl Data<'_> for f64 {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.number(*self)
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        from.number(Unit::None)
    }
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident $unit:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(pub f64);

        impl Data<'_> for $name {
            fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
                writer.number(self.0)
            }

            fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
                from.number(Unit::$unit).map($name)
            }
        }
    )*};
}

quantities! {
    /// A time in seconds; may be given with a unit, such as `200 US`.
    Seconds Second;
    /// A current in amperes; may be given with a unit, such as `250 MA`.
    Amperes Ampere;
    /// A resistance in ohms; may be given with a unit, such as `2.2 KOHM`.
    Ohms Ohm;
}

impl Seconds {
    /// A time that is given in whole microseconds.
    pub fn from_us(time_us: u64) -> Self {
        Seconds(time_us as f64 / 1e6)
    }

    /// In microseconds, rounded to whole ones; 0 for what is negative.
    pub fn in_us(self) -> u64 {
        number::round(self.0 * 1e6).max(0) as u64
    }
}

/// What was measured, as an answer gives it: infinite where a range ends, and not a number where
/// there is no value (SCPI-1999, volume 1, 7.2.1.4 and 7.2.1.5).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured(pub f64);

/// Stands for a value that is not a number.
const NOT_A_NUMBER: f64 = 9.91e37;

/// How near a number must come to one of these two: they may have passed through a float of a
/// client's own.
const ALIKE: f64 = 1e-6;

impl Data<'_> for Measured {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.number(self.0)
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        let value = from.number(Unit::None)?;
        let size = value.abs();
        Ok(Measured(if (size / NOT_A_NUMBER - 1.0).abs() < ALIKE {
            f64::NAN
        } else if size > number::INFINITY * (1.0 - ALIKE) {
            f64::INFINITY.copysign(value)
        } else {
            value
        }))
    }
}

impl Data<'_> for Bound {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.keyword(self.word())
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        from.keyword(&Bound::WORDS)
    }
}

impl<'a, T: Data<'a>> Data<'a> for Setting<T> {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        match self {
            Setting::Value(value) => value.write(writer),
            Setting::Bound(bound) => bound.write(writer),
        }
    }

    fn read(from: &mut Parameters<'a>) -> Result<Self, Error> {
        match from.word_for_number()? {
            Some(bound) => Ok(Setting::Bound(bound)),
            None => T::read(from).map(Setting::Value),
        }
    }
}

/// Something that may be left out at the end of a unit.
impl<'a, T: Data<'a>> Data<'a> for Option<T> {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        self.as_ref().map_or(Ok(()), |data| data.write(writer))
    }

    fn read(from: &mut Parameters<'a>) -> Result<Self, Error> {
        if from.more() { T::read(from).map(Some) } else { Ok(None) }
    }
}

/// Structures whose fields stand in a row.
macro_rules! records {
    ($(
        $(#[$doc:meta])*
        $name:ident { $($(#[$field_doc:meta])* $field:ident: $type:ty,)* }
    )*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct $name { $($(#[$field_doc])* pub $field: $type,)* }

        impl<'a> $crate::wire::data::Data<'a> for $name {
            fn write(
                &self,
                writer: &mut $crate::wire::writer::Writer<'_, impl $crate::wire::writer::Sink>,
            ) -> core::fmt::Result {
                $($crate::wire::data::Data::write(&self.$field, writer)?;)*
                Ok(())
            }

            fn read(
                from: &mut $crate::wire::parameters::Parameters<'a>,
            ) -> Result<Self, $crate::wire::error::Error> {
                Ok($name { $($field: $crate::wire::data::Data::read(from)?,)* })
            }
        }
    )*};
}
pub(super) use records;

#[cfg(test)]
mod tests;
