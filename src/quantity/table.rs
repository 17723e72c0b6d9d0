//! Walking a TOML table, be it a whole file or a value in it: every key is asked for once, and what
//! nobody asked for is an error.

use super::located::{Located, quoted};
use super::nearest::nearest;
use super::source::Source;
use super::value::Value;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue};

type Key<'s> = Spanned<DeString<'s>>;

/// A table of a file. Take the keys that may stand in it, then [`Table::finish`].
#[derive(Debug)]
pub struct Table<'s> {
    source: &'s Source,
    path: String,
    span: Range<usize>,
    entries: DeTable<'s>,
    asked: Vec<&'static str>,
}

impl Source {
    /// Parses the text as TOML.
    ///
    /// # Errors
    /// When it is no TOML (a key given twice included), or holds nothing at all.
    pub fn table(&self) -> Result<Table<'_>, Located> {
        let table = DeTable::parse(self.text()).map_err(|e| {
            let what = e.message().split('\n').map(str::trim).collect::<Vec<_>>().join("; ");
            let span = e.span().unwrap_or(0..0);
            self.error(span, format!("this is not proper TOML: {what}"))
        })?;
        if table.get_ref().is_empty() {
            let message = "holds no keys at all; see docs/file-formats.md for what belongs in it";
            return Err(Located {
                file: self.name().to_owned(),
                place: None,
                message: message.into(),
            });
        }
        Ok(Table::new(self, String::new(), table.span(), table.into_inner()))
    }
}

impl<'s> Value<'s> {
    /// A table.
    ///
    /// # Errors
    /// When it is something else.
    pub fn table(self) -> Result<Table<'s>, Located> {
        match self.value {
            DeValue::Table(entries) => Ok(Table::new(self.source, self.key, self.span, entries)),
            _ => Err(self.wrong_type("a table")),
        }
    }
}

impl<'s> Table<'s> {
    fn new(source: &'s Source, path: String, span: Range<usize>, entries: DeTable<'s>) -> Self {
        Table { source, path, span, entries, asked: Vec::new() }
    }

    /// The file that it stands in.
    pub fn source(&self) -> &'s Source {
        self.source
    }

    /// Where it stands.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Takes a key that may be missing.
    pub fn take(&mut self, key: &'static str) -> Option<Value<'s>> {
        self.asked.push(key);
        let (found, value) = self.entries.remove_entry(key)?;
        let path =
            if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) };
        Some(Value::new(self.source, path, found.span(), value.span(), value.into_inner()))
    }

    /// Takes a key that must be there.
    ///
    /// # Errors
    /// When it is missing; `what` says what belongs there (`a time such as "120 ms"`).
    pub fn need(&mut self, key: &'static str, what: &str) -> Result<Value<'s>, Located> {
        self.take(key).ok_or_else(|| {
            let here = if self.path.is_empty() {
                "the file".to_owned()
            } else {
                format!("`{}`", self.path)
            };
            let message = format!("{here} lacks the key `{key}`: {what}");
            // A key that looks like it is most likely it, mistyped.
            let like = |k: &&Key<'_>| nearest(k.get_ref(), &[key]).is_some();
            match self.entries.keys().find(like) {
                Some(k) => {
                    let typed = quoted(k.get_ref());
                    self.source.error(k.span(), format!("{message}; is {typed} meant to be it?"))
                }
                None => self.error(message),
            }
        })
    }

    /// Takes a table that must be there.
    ///
    /// # Errors
    /// When it is missing or is no table.
    pub fn need_table(&mut self, key: &'static str, what: &str) -> Result<Table<'s>, Located> {
        self.need(key, what)?.table()
    }

    /// Those keys that nobody asked for yet, in the order in which they stand.
    pub fn rest(&mut self) -> Vec<Value<'s>> {
        let entries = std::mem::take(&mut self.entries);
        let mut rest: Vec<Value<'s>> = entries
            .into_iter()
            .map(|(key, value)| {
                let (at, span) = (key.span(), value.span());
                Value::new(self.source, key.into_inner().into_owned(), at, span, value.into_inner())
            })
            .collect();
        rest.sort_by_key(|v| v.key_span().start);
        rest
    }

    /// Whether a key stands in it and was not taken yet.
    pub fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    /// An error that means the table as a whole.
    pub fn error(&self, message: impl Into<String>) -> Located {
        if self.path.is_empty() {
            let file = self.source.name().to_owned();
            return Located { file, place: None, message: message.into() };
        }
        self.source.error(self.span.clone(), message)
    }

    /// The key of the table that is nearest to one of the words, where it is near at all.
    pub fn nearest_to(&self, words: &[&'static str]) -> Option<(Range<usize>, &'static str)> {
        let near = |k: &Key<'_>| nearest(k.get_ref(), words).map(|word| (k.span(), word));
        self.entries.keys().find_map(near)
    }

    /// Done with the table.
    ///
    /// # Errors
    /// When a key is left that nobody asked for; names the nearest known one.
    pub fn finish(mut self) -> Result<(), Located> {
        let asked = std::mem::take(&mut self.asked);
        let Some(unknown) = self.rest().into_iter().next() else { return Ok(()) };
        let place =
            if self.path.is_empty() { "here".to_owned() } else { format!("in `{}`", self.path) };
        let name = quoted(unknown.key());
        let mut message = format!("unknown key {name} {place}");
        match nearest(unknown.key(), &asked) {
            Some(near) => message.push_str(&format!("; did you mean `{near}`?")),
            None => {
                let known: Vec<String> = asked.iter().map(|k| format!("`{k}`")).collect();
                message.push_str(&format!("; known are {}", known.join(", ")));
            }
        }
        Err(self.source.error(unknown.key_span(), message))
    }
}
