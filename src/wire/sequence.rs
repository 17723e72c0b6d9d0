//! Several data elements of one type, to the end of a unit.

use super::data::Data;
use super::error::{Error, ErrorCode};
use super::parameters::Parameters;
use super::writer::{Sink, Writer};
use core::fmt;

/// Parameters of one type, at least one: the host gives a slice, the jig takes them from the line.
#[derive(Clone, Debug)]
pub struct Sequence<'a, T>(Source<'a, T>);

#[derive(Clone, Debug)]
enum Source<'a, T> {
    Slice(&'a [T]),
    /// Every element has been read once.
    Line(Parameters<'a>),
}

impl<'a, T: Data<'a> + Copy> Sequence<'a, T> {
    /// Those of a slice.
    pub fn of(elements: &'a [T]) -> Self {
        Sequence(Source::Slice(elements))
    }

    /// One after the other.
    pub fn iter(&self) -> impl Iterator<Item = T> + '_ {
        let mut source = self.0.clone();
        core::iter::from_fn(move || match &mut source {
            Source::Slice(elements) => {
                let (&first, rest) = elements.split_first()?;
                *elements = rest;
                Some(first)
            }
            Source::Line(parameters) if parameters.more() => T::read(parameters).ok(),
            Source::Line(_) => None,
        })
    }
}

impl<'a, T: Data<'a> + Copy + PartialEq> PartialEq for Sequence<'a, T> {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

impl<'a, T: Data<'a> + Copy> Data<'a> for Sequence<'a, T> {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        self.iter().try_for_each(|element| element.write(writer))
    }

    fn read(from: &mut Parameters<'a>) -> Result<Self, Error> {
        let all = from.clone();
        T::read(from)?;
        while from.more() {
            T::read(from)?;
        }
        Ok(Sequence(Source::Line(all)))
    }
}

/// The most values of one answer.
pub const VALUES_MAX: usize = 64;

/// An answer with one value for each channel that was asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Values<T>(pub heapless::Vec<T, VALUES_MAX>);

impl<T> FromIterator<T> for Values<T> {
    /// Those beyond [`VALUES_MAX`] are lost: count first.
    fn from_iter<I: IntoIterator<Item = T>>(values: I) -> Self {
        Values(values.into_iter().take(VALUES_MAX).collect())
    }
}

impl<'a, T: Data<'a>> Data<'a> for Values<T> {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        self.0.iter().try_for_each(|value| value.write(writer))
    }

    fn read(from: &mut Parameters<'a>) -> Result<Self, Error> {
        let mut values = heapless::Vec::new();
        while from.more() {
            values.push(T::read(from)?).map_err(|_| ErrorCode::TooMuchData)?;
        }
        Ok(Values(values))
    }
}
