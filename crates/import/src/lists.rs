//! Rows from a pasted list: one row a line, as a builder jots them down.
//!
//! `26 × -5, doubler to web`, `26 x AD4-5`, `12 -4.5 rib to skin`, or the cells
//! of a table with tabs, commas or semicolons between them. Signs that look
//! alike are taken alike; a line that cannot be read is a finding with its
//! place, and the others are read all the same.
//!
//! Nothing is looked up here: whether a call-out exists, and which part a word
//! means, the plan says.

use std::sync::Arc;

use faying_standards::{Finding, Place};
use serde::Serialize;

/// More holes than this in one row are a slip: a part number taken for a count. Our own limit.
const MOST_HOLES: u32 = 9999;
/// Lines read from one list. Our own limit.
const MOST_LINES: usize = 10_000;

/// One row of a list.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct RowLine {
    /// How many holes.
    pub count: u32,
    /// The fastener as called out, dashes made plain: `-5`, `AD4-5`, `MS20470AD4-5`; nothing where none is.
    pub called: Option<String>,
    /// Names of what is joined, as written, near side first: `doubler to web` gives both.
    pub layers: Vec<String>,
    /// What else is on the line.
    pub note: String,
    /// Line of the list, from 1.
    pub line: u32,
}

/// Rows and findings of a list.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Rows {
    /// The rows, in order.
    pub rows: Vec<RowLine>,
    /// One for each line that could not be read.
    pub findings: Vec<Finding>,
}

/// Reads a pasted list. Blank lines, and lines that begin with `#`, are passed over.
///
/// ```
/// let list = faying_import::lists::read("26 × –5, doubler to web\n");
/// assert_eq!((list.rows[0].count, list.rows[0].called.as_deref()), (26, Some("-5")));
/// assert_eq!(list.rows[0].layers, ["doubler", "web"]);
/// ```
#[must_use]
pub fn read(text: &str) -> Rows {
    let file: Arc<str> = "pasted list".into();
    let mut out = Rows::default();
    let mut start = 0;
    for (number, line) in text.split_inclusive('\n').enumerate() {
        let range = start..start + line.trim_end().len();
        start += line.len();
        let wrong = |what: String, next: &str| {
            Finding::wrong("unread-line", what, next).at(Place::of(&file, text, range.clone()))
        };
        if number >= MOST_LINES {
            out.findings
                .push(wrong(format!("the list goes on after {MOST_LINES} lines"), "paste it in parts"));
            break;
        }
        // The words at the head of a table.
        let heading = number == 0
            && line.chars().any(char::is_alphabetic)
            && !line.contains(|c: char| c.is_ascii_digit());
        if line.trim().is_empty() || line.trim_start().starts_with('#') || heading {
            continue;
        }
        match read_line(line) {
            Ok(row) => {
                out.rows.push(RowLine { line: u32::try_from(number + 1).unwrap_or(u32::MAX), ..row });
            }
            Err(Unread { what, next }) => out.findings.push(wrong(what, next)),
        }
    }
    out
}

struct Unread {
    what: String,
    next: &'static str,
}

fn read_line(line: &str) -> Result<RowLine, Unread> {
    let line = plain(line);
    let line = line.trim().trim_start_matches(['•', ',', ';']).trim_start();
    let digits = line.len() - line.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let (number, rest) = line.split_at(digits);
    const COUNT_FIRST: &str = "begin with the number of holes, for example: 26 x -5, doubler to web";
    if number.is_empty() {
        return Err(Unread {
            what: "the line does not begin with a number of holes".to_owned(),
            next: COUNT_FIRST,
        });
    }
    if rest.starts_with(['/', '.']) {
        return Err(Unread {
            what: "the line begins with a size, not with a number of holes".to_owned(),
            next: COUNT_FIRST,
        });
    }
    let count: u32 = number.parse().unwrap_or(u32::MAX);
    if count == 0 || count > MOST_HOLES {
        return Err(Unread {
            what: format!("{number} is not a number of holes"),
            next: "a row has 1 to 9999 holes",
        });
    }
    let rest = without_times(rest.trim_start_matches([' ', ',', ';', ':']));
    // The call-out is the first word with a dash number or a part number in it.
    let mut row = RowLine { count, ..RowLine::default() };
    let mut words = rest.split([' ', ',', ';']).filter(|word| !word.is_empty());
    let first = words.next().unwrap_or_default();
    let mut after = rest;
    if is_called(first) {
        after = rest[first.len()..].trim_start_matches([' ', ',', ';', ':']);
        row.called = Some(first.trim_matches(['(', ')', ':']).to_owned());
        // `AD4 -5`: the length stands apart.
        let next = after.split([' ', ',', ';']).next().unwrap_or_default();
        if !first.contains('-') && is_dash(next) {
            row.called = Some(format!("{first}{next}"));
            after = after[next.len()..].trim_start_matches([' ', ',', ';', ':']);
        }
    }
    let (joined, note) = after.split_once([',', ';']).unwrap_or((after, ""));
    row.layers = layers(joined);
    row.note = if row.layers.is_empty() { after.trim() } else { note.trim() }.to_owned();
    Ok(row)
}

/// Signs that look alike, made one: dashes, quotes, blanks; tabs become commas, so that cells stay apart.
fn plain(line: &str) -> String {
    let mut out = String::with_capacity(line.len());
    for letter in line.chars() {
        out.push(match letter {
            '–' | '—' | '−' | '‐' | '‑' | '‒' => '-',
            '×' | '✕' | '✖' | '∗' => 'x',
            '\t' => ',',
            '"' | '“' | '”' | '„' | '\'' | '’' | '‘' => continue,
            letter if letter.is_whitespace() || letter.is_control() => ' ',
            letter => letter,
        });
    }
    out
}

/// Takes off an `x`, `*`, `off`, `pcs` between count and call-out.
fn without_times(rest: &str) -> &str {
    let rest = rest.trim_start();
    for mark in ["x", "X", "*", "off", "pcs", "ea", "no.", "of"] {
        if let Some(after) = rest.strip_prefix(mark)
            && (after.is_empty()
                || after.starts_with([' ', ',', ';', '-'])
                || mark == "*"
                || is_called_at(after, mark))
        {
            return after.trim_start_matches([' ', ',', ';']);
        }
    }
    rest
}

/// `xAD4-5`: the sign stands against the call-out.
fn is_called_at(after: &str, mark: &str) -> bool {
    let word = after.split([' ', ',', ';']).next().unwrap_or_default();
    mark.eq_ignore_ascii_case("x") && is_called(word)
}

/// `-5`, `-3.5`.
fn is_dash(word: &str) -> bool {
    word.strip_prefix('-').is_some_and(|rest| {
        rest.starts_with(|c: char| c.is_ascii_digit())
            && rest.chars().all(|c| c.is_ascii_digit() || c == '.' || c.is_ascii_uppercase())
    })
}

/// A dash number, or a part number: capitals and digits together.
fn is_called(word: &str) -> bool {
    let word = word.trim_matches(['(', ')', ':']);
    let part = word.starts_with(|c: char| c.is_ascii_uppercase())
        && word.contains(|c: char| c.is_ascii_digit())
        && word.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit() || "-./".contains(c));
    is_dash(word) || part
}

/// `doubler to web`, `rib + web / cap`: names with a joint between them. One word alone is a note.
fn layers(text: &str) -> Vec<String> {
    let text = text.trim();
    for joint in [" to ", " + ", " / ", " - ", " on ", "+", "/"] {
        if text.contains(joint) {
            let names: Vec<String> = text
                .split(joint)
                .map(|name| name.trim().to_owned())
                .filter(|name| !name.is_empty())
                .collect();
            if names.len() > 1 {
                return names.iter().flat_map(|name| split_more(name)).collect();
            }
        }
    }
    Vec::new()
}

/// A second sort of joint inside a name: `rib + web to cap`.
fn split_more(name: &str) -> Vec<String> {
    match layers(name) {
        more if more.is_empty() => vec![name.to_owned()],
        more => more,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn row(text: &str) -> (u32, String, String, String) {
        let list = read(text);
        assert!(list.findings.is_empty(), "{text:?}: {:?}", list.findings);
        let row = &list.rows[0];
        (row.count, row.called.clone().unwrap_or_default(), row.layers.join("|"), row.note.clone())
    }

    #[test]
    fn reads_what_a_builder_jots_down() {
        for (text, count, called, layers, note) in [
            ("26 × -5, doubler to web", 26, "-5", "doubler|web", ""),
            ("26 x AD4-5", 26, "AD4-5", "", ""),
            ("12 -4.5 rib to skin", 12, "-4.5", "rib|skin", ""),
            ("12x–4.5 rib to skin", 12, "-4.5", "rib|skin", ""),
            (
                "8*MS20470AD4−6; rib + web to cap; by the hinge",
                8,
                "MS20470AD4-6",
                "rib|web|cap",
                "by the hinge",
            ),
            ("4\tAN3-5A\thinge bracket", 4, "AN3-5A", "", "hinge bracket"),
            ("\"26\",\"AD4-5\",\"doubler to web\"", 26, "AD4-5", "doubler|web", ""),
            ("30 AD3 -4 skin/rib", 30, "AD3-4", "skin|rib", ""),
            ("6 xAD4-5", 6, "AD4-5", "", ""),
            ("10 hinge bracket", 10, "", "", "hinge bracket"),
            ("7", 7, "", "", ""),
        ] {
            let want = (count, called.to_owned(), layers.to_owned(), note.to_owned());
            assert_eq!(row(text), want, "{text:?}");
        }
    }

    #[test]
    fn a_line_that_cannot_be_read_is_a_finding_and_the_rest_is_read() {
        let list =
            read("count,called,where\n# by hand\n\ndoubler to web 26 x -5\n3/32 x 26\n0 x -5\n26 x -5\n");
        assert_eq!(list.rows.len(), 1);
        assert_eq!(list.rows[0].line, 7);
        let shown: Vec<String> = list.findings.iter().map(ToString::to_string).collect();
        insta::assert_snapshot!(shown.join("\n"), @r"
        pasted list:4:1  the line does not begin with a number of holes
          4 │ doubler to web 26 x -5
            │ ^^^^^^^^^^^^^^^^^^^^^^
          begin with the number of holes, for example: 26 x -5, doubler to web
        pasted list:5:1  the line begins with a size, not with a number of holes
          5 │ 3/32 x 26
            │ ^^^^^^^^^
          begin with the number of holes, for example: 26 x -5, doubler to web
        pasted list:6:1  0 is not a number of holes
          6 │ 0 x -5
            │ ^^^^^^
          a row has 1 to 9999 holes
        ");
    }

    proptest! {
        /// Every line that is not passed over is a row or a finding.
        #[test]
        fn every_line_is_accounted_for(text in "([0-9]{0,5}[ x×*–,;\t+/\"]{0,3}[A-Za-zé#-]{0,6}\n?){0,6}", noise in ".{0,40}") {
            let _ = read(&noise);
            let list = read(&text);
            let lines = text.lines().enumerate().filter(|(number, line)| {
                let heading = *number == 0
                    && line.chars().any(char::is_alphabetic)
                    && !line.contains(|c: char| c.is_ascii_digit());
                !(line.trim().is_empty() || line.trim_start().starts_with('#') || heading)
            });
            prop_assert_eq!(list.rows.len() + list.findings.len(), lines.count());
        }
    }
}
