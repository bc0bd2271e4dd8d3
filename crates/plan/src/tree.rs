//! TOML text as a tree in which every key and value knows where it stands.
//!
//! The recoverable parser reports every syntax error of a file in one pass and
//! hands over what could be read. Numbers keep their digits, so that `0.063`
//! becomes a [`Length`](faying_standards::Length) without passing through a float.

use std::collections::HashSet;
use std::ops::Range;
use std::sync::Arc;

use faying_standards::{Finding, Place};
use toml::de::{DeTable, DeValue};

/// A file's name and text, kept for places and excerpts.
#[derive(Clone, Debug)]
pub struct SourceText {
    /// As the builder knows it, for example `plan/flap-left.toml`.
    pub name: Arc<str>,
    /// The whole text.
    pub text: Arc<str>,
}

/// Where a key or value stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Spot {
    pub file: u16,
    pub start: u32,
    pub end: u32,
}

impl Spot {
    fn new(file: u16, span: &Range<usize>) -> Self {
        let clip = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self { file, start: clip(span.start), end: clip(span.end) }
    }

    /// The place to show, with its line.
    pub fn place(self, files: &[SourceText]) -> Place {
        let file = &files[usize::from(self.file)];
        Place::of(&file.name, &file.text, self.start as usize..self.end as usize)
    }
}

#[derive(Clone, Debug)]
pub struct Node {
    pub spot: Spot,
    pub value: Value,
}

#[derive(Clone, Debug)]
pub enum Value {
    Text(String),
    /// An integer or a float, its digits as written.
    Number(String),
    Bool(bool),
    Date,
    List(Vec<Node>),
    Table(Table),
}

impl Value {
    /// What it is, for a message.
    pub const fn sort(&self) -> &'static str {
        match self {
            Self::Text(_) => "a text",
            Self::Number(_) => "a number",
            Self::Bool(_) => "true or false",
            Self::Date => "a date",
            Self::List(_) => "a list",
            Self::Table(_) => "a table",
        }
    }

    /// The value itself where it is short, for a message; else what it is.
    pub fn shown(&self) -> String {
        match self {
            Self::Text(text) if text.chars().count() <= 40 => format!("the text \"{text}\""),
            Self::Number(digits) => digits.clone(),
            Self::Bool(value) => value.to_string(),
            other => other.sort().to_owned(),
        }
    }
}

/// Keys in the order in which they were written.
#[derive(Clone, Debug, Default)]
pub struct Table(pub Vec<Entry>);

#[derive(Clone, Debug)]
pub struct Entry {
    pub key: String,
    pub key_spot: Spot,
    pub node: Node,
}

impl Table {
    pub fn get(&self, key: &str) -> Option<&Node> {
        self.0.iter().find(|entry| entry.key == key).map(|entry| &entry.node)
    }

    /// Lays `over` upon this table: tables are merged key by key, all else is replaced.
    pub fn overlay(&mut self, over: &Self) {
        for entry in &over.0 {
            match self.0.iter_mut().find(|own| own.key == entry.key) {
                Some(own) => match (&mut own.node.value, &entry.node.value) {
                    (Value::Table(own), Value::Table(over)) => own.overlay(over),
                    _ => *own = entry.clone(),
                },
                None => self.0.push(entry.clone()),
            }
        }
    }
}

/// Reads one file.
///
/// Returns what could be read, with a finding for every syntax error.
pub fn parse(file: u16, source: &SourceText) -> (Table, Vec<Finding>) {
    let (table, errors) = DeTable::parse_recoverable(&source.text);
    let mut told = HashSet::new();
    let findings = errors
        .iter()
        // An open bracket leaves those around it open as well: the innermost is the one to close.
        .filter(|error| error.span().is_none_or(|span| told.insert(span.start)))
        .map(|error| {
            let span = error.span().unwrap_or(0..0);
            syntax_finding(error.message(), &source.text, &span).at(Place::of(
                &source.name,
                &source.text,
                span,
            ))
        })
        .collect();
    (convert_table(file, table.get_ref()), findings)
}

fn convert_table(file: u16, table: &DeTable<'_>) -> Table {
    Table(
        table
            .iter()
            .map(|(key, value)| Entry {
                key: key.get_ref().to_string(),
                key_spot: Spot::new(file, &key.span()),
                node: convert(file, value.get_ref(), &value.span()),
            })
            .collect(),
    )
}

fn convert(file: u16, value: &DeValue<'_>, span: &Range<usize>) -> Node {
    let value = match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(number) => match number.radix() {
            10 => Value::Number(number.as_str().to_owned()),
            _ => Value::Number(number.to_string()),
        },
        DeValue::Float(number) => Value::Number(number.as_str().to_owned()),
        DeValue::Boolean(value) => Value::Bool(*value),
        DeValue::Datetime(_) => Value::Date,
        DeValue::Array(list) => {
            Value::List(list.iter().map(|item| convert(file, item.get_ref(), &item.span())).collect())
        }
        DeValue::Table(table) => Value::Table(convert_table(file, table)),
    };
    Node { spot: Spot::new(file, span), value }
}

/// The parser's message in the builder's terms, with the next move.
fn syntax_finding(message: &str, text: &str, span: &Range<usize>) -> Finding {
    let from = (0..=span.start.min(text.len())).rev().find(|&at| text.is_char_boundary(at)).unwrap_or(0);
    let rest = &text[from..];
    if let Some(digits) = bare_decimal(rest) {
        return Finding::wrong(
            "syntax",
            format!("\".{digits}\" without a leading zero is not a number in this file"),
            format!("write 0.{digits}, or \".{digits}\" in quotes"),
        );
    }
    if message.contains("duplicate key") {
        return Finding::wrong(
            "duplicate",
            "this name is already taken above",
            "give one of the two another name, or remove one",
        );
    }
    if let Some(fraction) = bare_fraction(text, from) {
        return Finding::wrong(
            "syntax",
            format!("{fraction} without quotes is not a number in this file"),
            format!("write \"{fraction}\" in quotes"),
        );
    }
    // What the parser would rather have seen is not what it found.
    let found = message.split(", expected").next().unwrap_or(message);
    let found = match found {
        "string values must be quoted" if rest.lines().next().unwrap_or_default().trim().is_empty() => {
            "missing value"
        }
        other => other,
    };
    match PLAIN.iter().find(|(fragment, ..)| found.contains(fragment)) {
        Some((_, what, next)) => Finding::wrong("syntax", *what, *next),
        None => Finding::wrong("syntax", format!("this line cannot be read: {message}"), PAIR),
    }
}

const PAIR: &str = "write name = value, one to a line; texts in quotes";
const TABLE: &str = "write { name = value, name = value }, with a comma between";
const LIST: &str = "write [value, value], with a comma between";

/// What the parser says, what it means to a builder, and what to do; the first that fits.
const PLAIN: [(&str, &str, &str); 16] = [
    (
        "basic string",
        "this text has no closing quotation mark",
        "texts stand in quotes, and the closing one is on the same line",
    ),
    (
        "literal string",
        "this text has no closing quotation mark",
        "texts stand in quotes, and the closing one is on the same line",
    ),
    ("missing opening quote", "this text has no opening quotation mark", "texts stand in quotes: \"…\""),
    ("must be quoted", "this text has no quotation marks", "texts stand in quotes: \"…\""),
    (
        "missing escaped value",
        "a \\ stands before something it cannot mean",
        "write \\\\ where a \\ is meant, or the text in single quotes",
    ),
    ("unclosed inline table", "this { is not closed", TABLE),
    ("unclosed array table", "this heading is not closed", "write [name], the bracket closed"),
    ("unclosed table", "this heading is not closed", "write [name], the bracket closed"),
    ("unclosed array", "this [ is not closed", LIST),
    ("comma between array elements", "there is no comma between two values of this list", LIST),
    ("comma between key-value pairs", "there is no comma between two names of this table", TABLE),
    ("extra comma", "there is a comma too many here", "take it out"),
    ("key with no value", "there is a name here, and no = with a value behind it", PAIR),
    ("missing assignment", "there is a name here, and no = with a value behind it", PAIR),
    ("missing value", "there is no value here", PAIR),
    (
        "leading zero",
        "a number cannot start with a nought",
        "write it without, or in quotes where it is a name",
    ),
];

/// The digits behind a point that has none before it.
fn bare_decimal(rest: &str) -> Option<&str> {
    let rest = rest.trim_start_matches([' ', '\t']).strip_prefix('.')?;
    let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    (end > 0).then(|| &rest[..end])
}

/// `3/32`, where the error stands anywhere in it.
fn bare_fraction(text: &str, at: usize) -> Option<&str> {
    let inside = |c: char| c.is_ascii_digit() || c == '/';
    let start = text[..at]
        .rfind(|c| !inside(c))
        .map_or(0, |p| p + text[p..].chars().next().map_or(1, char::len_utf8));
    let end = text[at..].find(|c| !inside(c)).map_or(text.len(), |p| at + p);
    let token = text.get(start..end)?;
    let (top, bottom) = token.split_once('/')?;
    let whole = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    (whole(top) && whole(bottom)).then_some(token)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn findings(text: &str) -> String {
        let source = SourceText { name: "plan/flap.toml".into(), text: text.into() };
        parse(0, &source).1.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn a_bare_decimal_says_how_to_write_it() {
        insta::assert_snapshot!(findings("[parts]\nweb = { thickness = .032 }\n"), @r#"
        plan/flap.toml:2:21  ".032" without a leading zero is not a number in this file
          2 │ web = { thickness = .032 }
            │                     ^
          write 0.032, or ".032" in quotes
        "#);
    }

    #[test]
    fn a_bare_fraction_says_how_to_write_it() {
        insta::assert_snapshot!(findings("pitch = 3/32\n"), @r#"
        plan/flap.toml:1:9  3/32 without quotes is not a number in this file
          1 │ pitch = 3/32
            │         ^^^^
          write "3/32" in quotes
        "#);
    }

    #[test]
    fn a_name_used_twice_and_an_open_quote() {
        insta::assert_snapshot!(findings("a = 1\na = 2\nb = \"x\nc = 3\n"), @r#"
        plan/flap.toml:2:1  this name is already taken above
          2 │ a = 2
            │ ^
          give one of the two another name, or remove one
        plan/flap.toml:3:7  this text has no closing quotation mark
          3 │ b = "x
            │       ^
          texts stand in quotes, and the closing one is on the same line
        "#);
    }

    #[test]
    fn keeps_digits_and_the_rest_of_a_broken_file() {
        let source =
            SourceText { name: "x".into(), text: "a = 0.0630\nb = .1\nc = 0x10\nd = [1, 2]\n".into() };
        let (table, findings) = parse(0, &source);
        assert!(matches!(&table.get("a").unwrap().value, Value::Number(digits) if digits == "0.0630"));
        assert!(matches!(&table.get("c").unwrap().value, Value::Number(digits) if digits == "0x10"));
        assert!(table.get("d").is_some(), "what follows the error is still read");
        assert_eq!(findings.len(), 1);
    }
}
