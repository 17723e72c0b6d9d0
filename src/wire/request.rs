//! What a host says in one line, and what it gets for it.

use super::answers::Answers;
use super::error::Error;
#[cfg(feature = "host")]
use super::error::ErrorCode;
use super::table::table;
use super::tree::{Command, command, query};
#[cfg(feature = "host")]
use super::tree::{Order, Query};
use super::unit::{Ask, Unit};
#[cfg(feature = "host")]
use super::values::AnswerValues;
use super::writer::{Sink, Writer};
use core::fmt;

/// A program message, or some units of one: a command or a query of [`super::tree`], or several in
/// a tuple, a slice, or an `Option` that may be left out.
pub trait Request {
    /// What it is answered with; `()` for a command.
    type Answer;

    /// Writes its units.
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result;

    /// Reads what its units are answered with.
    ///
    /// # Errors
    /// See [`Answers::take`].
    fn read(&self, answers: &mut Answers<'_>) -> Result<Self::Answer, Error>;

    /// Its units as values, for a jig in the same process; false where they are known in words alone.
    #[cfg(feature = "host")]
    fn orders<'o>(&'o self, orders: &mut Vec<Order<'o>>) -> bool;

    /// Takes what these are answered with.
    ///
    /// # Errors
    /// See [`AnswerValues::take`].
    #[cfg(feature = "host")]
    fn take(&self, answers: &mut AnswerValues) -> Result<Self::Answer, Error>;
}

impl<R: Request + ?Sized> Request for &R {
    type Answer = R::Answer;

    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        (*self).write(writer)
    }

    fn read(&self, answers: &mut Answers<'_>) -> Result<Self::Answer, Error> {
        (*self).read(answers)
    }

    #[cfg(feature = "host")]
    fn orders<'o>(&'o self, orders: &mut Vec<Order<'o>>) -> bool {
        (*self).orders(orders)
    }

    #[cfg(feature = "host")]
    fn take(&self, answers: &mut AnswerValues) -> Result<Self::Answer, Error> {
        (*self).take(answers)
    }
}

impl<R: Request> Request for Option<R> {
    type Answer = Option<R::Answer>;

    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        self.as_ref().map_or(Ok(()), |request| request.write(writer))
    }

    fn read(&self, answers: &mut Answers<'_>) -> Result<Self::Answer, Error> {
        self.as_ref().map(|request| request.read(answers)).transpose()
    }

    #[cfg(feature = "host")]
    fn orders<'o>(&'o self, orders: &mut Vec<Order<'o>>) -> bool {
        self.as_ref().is_none_or(|request| request.orders(orders))
    }

    #[cfg(feature = "host")]
    fn take(&self, answers: &mut AnswerValues) -> Result<Self::Answer, Error> {
        self.as_ref().map(|request| request.take(answers)).transpose()
    }
}

/// Every command and every query of the table may be said.
macro_rules! requests {
    ($(
        $(#[$doc:meta])*
        $node:ident $pattern:literal $suffix:tt
        $(set $(<$set_life:lifetime>)? { $($set:tt)* })?
        $(get $(<$get_life:lifetime>)? { $($get:tt)* } -> $answer:ty)?;
    )*) => {
        $($(requests!(@command $node [$($set_life)?] { $($set)* });)?)*
        $($(requests!(@query $node [$($get_life)?] { $($get)* });)?)*

        impl Request for Command<'_> {
            type Answer = ();

            fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
                match self {
                    $($(Command::$node(unit) => {
                        requests!(@takes { $($set)* });
                        Unit::write(unit, writer)
                    })?)*
                }
            }

            fn read(&self, _: &mut Answers<'_>) -> Result<(), Error> {
                Ok(())
            }

            #[cfg(feature = "host")]
            fn orders<'o>(&'o self, orders: &mut Vec<Order<'o>>) -> bool {
                orders.push(Order::Command(self.clone()));
                true
            }

            #[cfg(feature = "host")]
            fn take(&self, _: &mut AnswerValues) -> Result<(), Error> {
                Ok(())
            }
        }
    };
    (@takes $any:tt) => {};
    (@command $node:ident [$($life:lifetime)?] $fields:tt) => {
        impl $(<$life>)? Request for command::$node $(<$life>)? {
            type Answer = ();

            fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
                Unit::write(self, writer)
            }

            fn read(&self, _: &mut Answers<'_>) -> Result<(), Error> {
                Ok(())
            }

            #[cfg(feature = "host")]
            fn orders<'o>(&'o self, orders: &mut Vec<Order<'o>>) -> bool {
                orders.push(Order::Command(Command::$node(self.clone())));
                true
            }

            #[cfg(feature = "host")]
            fn take(&self, _: &mut AnswerValues) -> Result<(), Error> {
                Ok(())
            }
        }
    };
    (@query $node:ident [] $fields:tt) => {
        requests!(@asked $node [] ['static]);
    };
    (@query $node:ident [$life:lifetime] $fields:tt) => {
        requests!(@asked $node [<$life>] [$life]);
    };
    (@asked $node:ident [$($generics:tt)*] [$life:lifetime]) => {
        impl $($generics)* Request for query::$node $($generics)* {
            type Answer = <query::$node $($generics)* as Ask<$life>>::Answer;

            fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
                Unit::write(self, writer)
            }

            fn read(&self, answers: &mut Answers<'_>) -> Result<Self::Answer, Error> {
                answers.take()
            }

            #[cfg(feature = "host")]
            fn orders<'o>(&'o self, orders: &mut Vec<Order<'o>>) -> bool {
                orders.push(Order::Query(Query::$node(self.clone())));
                true
            }

            #[cfg(feature = "host")]
            fn take(&self, answers: &mut AnswerValues) -> Result<Self::Answer, Error> {
                answers.take()
            }
        }
    };
}

table!(requests);

macro_rules! tuples {
    ($(($($part:ident)+))*) => {$(
        #[allow(non_snake_case)]
        impl<$($part: Request),+> Request for ($($part,)+) {
            type Answer = ($($part::Answer,)+);

            fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
                let ($($part,)+) = self;
                $($part.write(writer)?;)+
                Ok(())
            }

            fn read(&self, answers: &mut Answers<'_>) -> Result<Self::Answer, Error> {
                let ($($part,)+) = self;
                Ok(($($part.read(answers)?,)+))
            }

            #[cfg(feature = "host")]
            fn orders<'o>(&'o self, orders: &mut Vec<Order<'o>>) -> bool {
                let ($($part,)+) = self;
                $($part.orders(orders))&&+
            }

            #[cfg(feature = "host")]
            fn take(&self, answers: &mut AnswerValues) -> Result<Self::Answer, Error> {
                let ($($part,)+) = self;
                Ok(($($part.take(answers)?,)+))
            }
        }
    )*};
}

tuples! {
    (A B) (A B C) (A B C D) (A B C D E) (A B C D E F) (A B C D E F G) (A B C D E F G H)
    (A B C D E F G H I) (A B C D E F G H I J)
}

/// The text of a program message.
///
/// # Errors
/// None that a growing text would make.
#[cfg(feature = "host")]
pub fn text<R: Request + ?Sized>(request: &R) -> Result<String, fmt::Error> {
    let mut text = String::new();
    request.write(&mut Writer::new(&mut text))?;
    Ok(text)
}

/// Units in words of one's own, as a person would type them, and the text of their answers: for
/// terminals and tests. The program itself says nothing in this way.
#[cfg(feature = "host")]
impl Request for str {
    type Answer = String;

    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.units(self)
    }

    fn read(&self, answers: &mut Answers<'_>) -> Result<String, Error> {
        answers.rest()
    }

    fn orders<'o>(&'o self, _: &mut Vec<Order<'o>>) -> bool {
        false
    }

    fn take(&self, _: &mut AnswerValues) -> Result<String, Error> {
        Err(ErrorCode::DataType.into())
    }
}

#[cfg(feature = "host")]
impl<R: Request> Request for [R] {
    type Answer = Vec<R::Answer>;

    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        self.iter().try_for_each(|request| request.write(writer))
    }

    fn read(&self, answers: &mut Answers<'_>) -> Result<Self::Answer, Error> {
        self.iter().map(|request| request.read(answers)).collect()
    }

    fn orders<'o>(&'o self, orders: &mut Vec<Order<'o>>) -> bool {
        self.iter().all(|request| request.orders(orders))
    }

    fn take(&self, answers: &mut AnswerValues) -> Result<Self::Answer, Error> {
        self.iter().map(|request| request.take(answers)).collect()
    }
}

#[cfg(feature = "host")]
impl<R: Request> Request for Vec<R> {
    type Answer = Vec<R::Answer>;

    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        self.as_slice().write(writer)
    }

    fn read(&self, answers: &mut Answers<'_>) -> Result<Self::Answer, Error> {
        self.as_slice().read(answers)
    }

    fn orders<'o>(&'o self, orders: &mut Vec<Order<'o>>) -> bool {
        self.as_slice().orders(orders)
    }

    fn take(&self, answers: &mut AnswerValues) -> Result<Self::Answer, Error> {
        self.as_slice().take(answers)
    }
}
