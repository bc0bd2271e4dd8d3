//! What a check found: what, where, what is allowed, what to do next.
//!
//! Findings are values. Every room that checks something returns them; none
//! prints them. The text follows one pattern, so that a page, the command line
//! and a test show the same words.

use std::fmt;
use std::sync::Arc;

use serde::Serialize;

/// How far a finding stands in the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// The file cannot be used as it is written.
    Wrong,
    /// It can be used, and somebody should look.
    Look,
}

/// A place in a file the builder wrote.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Place {
    /// File as the builder knows it, for example `plan/flap-left.toml`.
    pub file: Arc<str>,
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
    /// The line as written.
    pub excerpt: String,
    /// How many characters from `column` on are meant.
    pub width: u32,
}

impl Place {
    /// The place of a byte range in `text`.
    ///
    /// A range past the end, or inside a character, is moved to the nearest
    /// whole character before it, so that a place can always be shown.
    #[must_use]
    pub fn of(file: &Arc<str>, text: &str, range: std::ops::Range<usize>) -> Self {
        let start = floor_char(text, range.start);
        let line_start = text[..start].rfind('\n').map_or(0, |at| at + 1);
        let line_end = text[start..].find('\n').map_or(text.len(), |at| start + at);
        let end = floor_char(text, range.end).clamp(start, line_end);
        let count = |part: &str| u32::try_from(part.chars().count()).unwrap_or(u32::MAX);
        Self {
            file: Arc::clone(file),
            line: u32::try_from(text[..line_start].matches('\n').count() + 1).unwrap_or(u32::MAX),
            column: count(&text[line_start..start]).saturating_add(1),
            excerpt: text[line_start..line_end].trim_end_matches('\r').to_owned(),
            width: count(&text[start..end]).max(1),
        }
    }
}

fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// One thing a check found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// A steady name for the kind of finding, such as `unknown-key`.
    pub kind: &'static str,
    /// How far it stands in the way.
    pub severity: Severity,
    /// Where it is written, where it is written at all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// The hole, row, part or step it is about, as the builder names it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub about: Option<String>,
    /// What was found, in the builder's units.
    pub what: String,
    /// What is allowed and what to do next.
    pub next: String,
}

impl Finding {
    /// A finding that keeps the file from being used.
    #[must_use]
    pub fn wrong(kind: &'static str, what: impl Into<String>, next: impl Into<String>) -> Self {
        Self {
            kind,
            severity: Severity::Wrong,
            place: None,
            about: None,
            what: what.into(),
            next: next.into(),
        }
    }

    /// A finding that somebody should look at.
    #[must_use]
    pub fn look(kind: &'static str, what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { severity: Severity::Look, ..Self::wrong(kind, what, next) }
    }

    /// The same finding with its place in a file.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// The same finding with the thing it is about.
    #[must_use]
    pub fn about(mut self, about: impl Into<String>) -> Self {
        self.about = Some(about.into());
        self
    }
}

impl fmt::Display for Finding {
    /// As the command line shows it: place, what, the line with the spot marked, what next.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "{}:{}:{}  ", place.file, place.line, place.column)?;
        }
        if let Some(about) = &self.about {
            write!(f, "{about}: ")?;
        }
        writeln!(f, "{}", self.what)?;
        if let Some(place) = &self.place {
            let number = place.line.to_string();
            let before: String = place
                .excerpt
                .chars()
                .take(place.column as usize - 1)
                .map(|c| if c == '\t' { '\t' } else { ' ' })
                .collect();
            writeln!(f, "  {number} │ {}", place.excerpt)?;
            writeln!(f, "  {:>1$} │ {before}{2}", "", number.len(), "^".repeat(place.width as usize))?;
        }
        write!(f, "  {}", self.next)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_place_excerpt_and_next_move() {
        let file: Arc<str> = "plan/flap.toml".into();
        let text = "format = 1\n[parts]\nweb = { thicknes = 0.040 }\n";
        let start = text.find("thicknes").unwrap();
        let finding =
            Finding::wrong("unknown-key", "a part has no \"thicknes\"", "did you mean \"thickness\"?")
                .at(Place::of(&file, text, start..start + 8));
        insta::assert_snapshot!(finding, @r#"
        plan/flap.toml:3:9  a part has no "thicknes"
          3 │ web = { thicknes = 0.040 }
            │         ^^^^^^^^
          did you mean "thickness"?
        "#);
    }

    #[test]
    fn a_place_never_panics() {
        let file: Arc<str> = "x".into();
        for text in ["", "é\n", "a\r\nb", "日本"] {
            for start in 0..8 {
                for end in 0..8 {
                    let _ = Place::of(&file, text, start..end);
                }
            }
        }
    }
}
