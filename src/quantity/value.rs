//! One value of a TOML table.

use super::located::{Located, quoted};
use super::nearest::nearest;
use super::parse::{self, Slip};
use super::range::{Limits, Toleranced};
use super::source::Source;
use super::unit::Units;
use std::ops::{Range, RangeInclusive};
use toml::de::DeValue;

/// A value with its key and its place.
#[derive(Debug)]
pub struct Value<'s> {
    pub(super) source: &'s Source,
    pub(super) key: String,
    key_span: Range<usize>,
    pub(super) span: Range<usize>,
    pub(super) value: DeValue<'s>,
}

impl<'s> Value<'s> {
    pub(super) fn new(
        source: &'s Source,
        key: String,
        key_span: Range<usize>,
        span: Range<usize>,
        value: DeValue<'s>,
    ) -> Self {
        Value { source, key, key_span, span, value }
    }

    /// Its key, with the tables that it stands in (`lamp.rate`).
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Where the key stands.
    pub fn key_span(&self) -> Range<usize> {
        self.key_span.clone()
    }

    /// Where the value stands.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// The line (from 1) in which it stands.
    pub fn line(&self) -> usize {
        self.source.line_of(self.span.start)
    }

    /// An error at the value.
    pub fn error(&self, message: impl Into<String>) -> Located {
        self.source.error(self.span.clone(), message)
    }

    /// `key` as a message names it.
    fn name(&self) -> String {
        let harmless = quoted(&self.key);
        format!("`{}`", harmless.trim_matches('"'))
    }

    pub(super) fn wrong_type(&self, what: &str) -> Located {
        let found = match &self.value {
            DeValue::String(text) => format!("the text {}", quoted(text)),
            DeValue::Integer(n) => format!("the number {n}"),
            DeValue::Float(n) => format!("the number {n}"),
            DeValue::Boolean(yes) => format!("{yes}"),
            DeValue::Datetime(_) => "a date or time of day".to_owned(),
            DeValue::Array(_) => "a list".to_owned(),
            DeValue::Table(_) => "a table".to_owned(),
        };
        self.error(format!("{} is {what}, not {found}", self.name()))
    }

    /// Whether it is a list.
    pub fn is_list(&self) -> bool {
        self.value.is_array()
    }

    /// Whether it is a table.
    pub fn is_table(&self) -> bool {
        self.value.is_table()
    }

    /// Whether it is a text.
    pub fn is_text(&self) -> bool {
        self.value.is_str()
    }

    /// Whether it is a whole number.
    pub fn is_integer(&self) -> bool {
        self.value.is_integer()
    }

    /// A text; `what` says which (`a name`).
    ///
    /// # Errors
    /// When it is something else.
    pub fn text(&self, what: &str) -> Result<&str, Located> {
        self.value.as_str().ok_or_else(|| self.wrong_type(what))
    }

    /// A text of one line that people read: not empty, at most 120 characters.
    ///
    /// # Errors
    /// When it is something else.
    pub fn line_of_text(&self) -> Result<String, Located> {
        let what = "one line of text in quotes, 1 to 120 characters";
        let text = self.text(what)?.trim();
        let fits = !text.is_empty() && text.chars().count() <= 120;
        if fits && !text.chars().any(char::is_control) {
            Ok(text.to_owned())
        } else {
            Err(self.error(format!("{} is {what}", self.name())))
        }
    }

    /// A whole number in a range.
    ///
    /// # Errors
    /// When it is something else or out of range.
    pub fn integer(&self, range: RangeInclusive<i64>) -> Result<i64, Located> {
        let what = format!("a whole number from {} to {}", range.start(), range.end());
        let n = self.value.as_integer().ok_or_else(|| self.wrong_type(&what))?;
        i64::from_str_radix(n.as_str(), n.radix())
            .ok()
            .filter(|n| range.contains(n))
            .ok_or_else(|| self.wrong_type(&what))
    }

    /// A plain number in a range, with or without decimal point.
    ///
    /// # Errors
    /// When it is something else or out of range.
    pub fn number(&self, range: RangeInclusive<f64>) -> Result<f64, Located> {
        let what = format!("a number from {} to {}", range.start(), range.end());
        let n = match &self.value {
            DeValue::Integer(n) if n.radix() == 10 => n.as_str().parse::<f64>().ok(),
            DeValue::Float(n) => n.as_str().parse::<f64>().ok(),
            _ => None,
        };
        n.filter(|n| range.contains(n)).ok_or_else(|| self.wrong_type(&what))
    }

    /// `true` or `false`.
    ///
    /// # Errors
    /// When it is something else.
    pub fn truth(&self) -> Result<bool, Located> {
        self.value.as_bool().ok_or_else(|| self.wrong_type("true or false"))
    }

    /// One of several words.
    ///
    /// # Errors
    /// When it is something else; names the words.
    pub fn choice<T: Copy>(&self, words: &[(&str, T)]) -> Result<T, Located> {
        let known: Vec<&str> = words.iter().map(|w| w.0).collect();
        let list = alternatives(&known);
        let text = self.text(&list)?;
        match words.iter().find(|w| w.0 == text) {
            Some((_, meaning)) => Ok(*meaning),
            None => Err(match nearest(text, &known) {
                Some(near) => {
                    let text = quoted(text);
                    self.error(format!("{} is not {text}; did you mean \"{near}\"?", self.name()))
                }
                None => self.wrong_type(&list),
            }),
        }
    }

    /// A list, possibly empty.
    ///
    /// # Errors
    /// When it is something else; `what` says of what.
    pub fn list(self, what: &str) -> Result<Vec<Value<'s>>, Located> {
        if !self.is_list() {
            return Err(self.wrong_type(what));
        }
        Ok(self.one_or_more())
    }

    /// The members of a list, or the value alone.
    pub fn one_or_more(self) -> Vec<Value<'s>> {
        let Value { source, key, key_span, span, value } = self;
        match value {
            DeValue::Array(members) => members
                .into_iter()
                .map(|m| {
                    let span = m.span();
                    Value::new(source, key.clone(), key_span.clone(), span, m.into_inner())
                })
                .collect(),
            value => vec![Value { source, key, key_span, span, value }],
        }
    }

    /// A quantity (`"250 mA"`).
    ///
    /// # Errors
    /// When it is something else.
    pub fn quantity<Q: Units>(&self) -> Result<Q, Located> {
        self.parsed(&format!("{} such as \"{}\"", Q::KIND, Q::EXAMPLE), parse::quantity)
    }

    /// A quantity between two bounds.
    ///
    /// # Errors
    /// When it is something else or out of bounds.
    pub fn quantity_within<Q: Units>(&self, from: &str, to: &str) -> Result<Q, Located> {
        let q: Q = self.quantity()?;
        let bound = |text| parse::quantity::<Q>(text).ok();
        let low = bound(from).is_none_or(|b| q >= b);
        let high = bound(to).is_none_or(|b| q <= b);
        if low && high {
            Ok(q)
        } else {
            Err(self.wrong_type(&format!("{} from {from} to {to}", Q::KIND)))
        }
    }

    /// A nominal value with its tolerance (`"16 V ±5 %"`).
    ///
    /// # Errors
    /// When it is something else.
    pub fn toleranced<Q: Units>(&self) -> Result<Toleranced<Q>, Located> {
        let what = format!("{} such as \"{} ±5 %\"", Q::KIND, Q::EXAMPLE);
        self.parsed(&what, parse::toleranced)
    }

    /// Limits (`"20 to 80 ms"`, `"at most 40 mA"`).
    ///
    /// # Errors
    /// When it is something else.
    pub fn limits<Q: Units>(&self) -> Result<Limits<Q>, Located> {
        let what = format!("a range of {} such as \"{}\"", Q::PLURAL, Q::RANGE_EXAMPLE);
        self.parsed(&what, parse::limits)
    }

    /// A text that something else parses; what is wrong in it is told at its very place. `what`
    /// says what it should be.
    ///
    /// # Errors
    /// When it is no text or cannot be parsed.
    pub fn parsed<T>(
        &self,
        what: &str,
        parse: impl Fn(&str) -> Result<T, Slip>,
    ) -> Result<T, Located> {
        let text = self.text(what)?;
        parse(text).map_err(|slip| {
            let message = format!("{} is {what}: {}", self.name(), slip.message);
            self.source.error(self.within(text, slip.span), message)
        })
    }

    /// Where a part of the text stands in the file. With escapes in it, the whole value.
    fn within(&self, text: &str, part: Range<usize>) -> Range<usize> {
        let raw = self.source.text().get(self.span.clone()).unwrap_or("");
        let start = self.span.start + 1;
        if raw.len() == text.len() + 2 && &raw[1..raw.len() - 1] == text {
            start + part.start..start + part.end
        } else {
            self.span.clone()
        }
    }
}

/// `"a", "b" or "c"`.
pub fn alternatives(words: &[&str]) -> String {
    let words: Vec<String> = words.iter().map(|w| format!("\"{w}\"")).collect();
    match words.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}
