//! Makes all that both ends need of a header out of one line of the `table`.
//!
//! ```text
//! /// What it is for.
//! Node "PATTern#" [suffix: Type] set { field: Type } get { field: Type } -> Answer;
//! ```
//!
//! `set` is its command, `get` its query; either may be left out. `set<'a>` and `get<'a>` are for
//! parameters that are borrowed from a line or a slice.

/// The type of one command or query.
macro_rules! unit {
    (@suffix) => { 1 };
    (@suffix $it:expr) => { $crate::wire::suffix::Suffix::number($it) };
    (
        $pattern:literal $query:literal $node:ident [$($suffix:ident: $Suffix:ty)?]
        [$($life:lifetime)?] { $($field:ident: $type:ty),* $(,)? }
    ) => {
        #[doc = concat!("`", $pattern, "`, see [`Node::", stringify!($node), "`].")]
        #[derive(Clone, Debug, PartialEq)]
        pub struct $node $(<$life>)? {
            $(pub $suffix: $Suffix,)?
            $(pub $field: $type,)*
        }

        impl<'a> $crate::wire::unit::Unit<'a> for $node $(<$life>)? {
            const PATTERN: &'static str = $pattern;
            const QUERY: bool = $query;

            fn suffix(&self) -> u8 {
                unit!(@suffix $(self.$suffix)?)
            }

            #[allow(unused_variables)]
            fn write_parameters(
                &self,
                writer: &mut $crate::wire::writer::Writer<'_, impl $crate::wire::writer::Sink>,
            ) -> core::fmt::Result {
                $($crate::wire::data::Data::write(&self.$field, writer)?;)*
                Ok(())
            }

            #[allow(unused_variables, unused_mut)]
            fn read(
                suffix: u8,
                mut parameters: $crate::wire::parameters::Parameters<'a>,
            ) -> Result<Self, $crate::wire::error::Error> {
                let unit = $node {
                    $($suffix: <$Suffix as $crate::wire::suffix::Suffix>::from_number(suffix),)?
                    $($field: $crate::wire::data::Data::read(&mut parameters)?,)*
                };
                parameters.finish()?;
                Ok(unit)
            }
        }

        #[cfg(test)]
        impl $(<$life>)? $crate::wire::sample::Sample for $node $(<$life>)? {
            #[allow(unused_variables)]
            fn sample(source: &mut $crate::wire::sample::Source) -> Self {
                $node {
                    $($suffix: $crate::wire::sample::Sample::sample(source),)?
                    $($field: $crate::wire::sample::Sample::sample(source),)*
                }
            }
        }
    };
}
pub(super) use unit;

/// The whole language.
macro_rules! language {
    ($(
        $(#[$doc:meta])*
        $node:ident $pattern:literal $suffix:tt
        $(set $(<$set_life:lifetime>)? { $($set:tt)* })?
        $(get $(<$get_life:lifetime>)? { $($get:tt)* } -> $answer:ty)?;
    )*) => {
        /// Every node of the tree.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Node { $($(#[$doc])* $node,)* }

        /// The whole tree, common commands first.
        pub static TREE: &[Entry] = &[$(
            Entry {
                pattern: $pattern,
                node: Node::$node,
                suffix_max: language!(@suffix_max $suffix),
                command: language!(@reader Command $node $({ $($set)* })?),
                query: language!(@reader Query $node $({ $($get)* })?),
            },
        )*];

        /// The commands, a type each.
        #[allow(missing_docs)]
        pub mod command {
            #[allow(unused_imports)]
            use super::*;
            $($(
                unit!($pattern false $node $suffix [$($set_life)?] { $($set)* });

                impl<'a> From<$node $(<$set_life>)?> for Command<'a> {
                    fn from(command: $node $(<$set_life>)?) -> Self {
                        Command::$node(command)
                    }
                }
            )?)*
        }

        /// The queries, a type each.
        #[allow(missing_docs)]
        pub mod query {
            #[allow(unused_imports)]
            use super::*;
            $($(
                unit!($pattern true $node $suffix [$($get_life)?] { $($get)* });

                impl<'a> Ask<'a> for $node $(<$get_life>)? {
                    type Answer = $answer;
                }
            )?)*
        }

        /// Any command.
        #[derive(Clone, Debug, PartialEq)]
        #[allow(missing_docs)]
        pub enum Command<'a> { $($($node(command::$node $(<$set_life>)?),)?)* }

        /// Any query.
        #[derive(Clone, Debug, PartialEq)]
        #[allow(missing_docs)]
        pub enum Query<'a> { $($($node(query::$node $(<$get_life>)?),)?)* }

        /// What the tests try of every line of the table.
        #[cfg(test)]
        pub(super) mod tried {
            use super::*;
            use crate::wire::sample::{Sample, Source};

            /// Makes some command or query of one kind.
            pub type Make<T> = fn(&mut Source) -> T;

            /// Every command.
            pub fn commands() -> Vec<Make<Command<'static>>> {
                vec![$($({
                    language!(@takes { $($set)* });
                    |source| Command::$node(Sample::sample(source))
                },)?)*]
            }

            /// Every query, written, read back, and with an answer to it written and read back.
            pub fn queries() -> Vec<fn(&mut Source)> {
                vec![$($({
                    language!(@takes { $($get)* });
                    |source| {
                        let query: query::$node = Sample::sample(source);
                        let answer: $answer = Sample::sample(source);
                        super::tests::there_and_back(&query, &answer, |read| match read {
                            Query::$node(query) => query,
                            other => panic!("{other:?}"),
                        });
                    }
                },)?)*]
            }
        }
    };
    (@takes $any:tt) => {};
    (@reader $all:ident $node:ident) => { None };
    (@reader $all:ident $node:ident $fields:tt) => {
        Some(|suffix, parameters| Unit::read(suffix, parameters).map($all::$node))
    };
    (@suffix_max []) => { 1 };
    (@suffix_max [$name:ident: $type:ty]) => { <$type as Suffix>::MAX };
}
pub(super) use language;
