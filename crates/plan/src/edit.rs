//! Edits to a plan file, as text: something added, a row copied, called anew or taken out, a part changed.
//! Those to the tools of a build are in [`tools`].
//!
//! The file is the builder's: comments, order and spacing of every other line
//! stay as they are, byte for byte. So the text is not written anew from a
//! tree; `toml_edit` says where things stand, one line is spliced in or out,
//! and the result is read back and compared with what was meant before it is
//! given out. What cannot be edited in this way is refused with the reason.
//!
//! Nothing here judges an edit: the new text goes through [`read`](crate::read)
//! like any other. Out of scope: whether the file has changed on disk meanwhile.

pub mod tools;

use std::fmt::Write as _;
use std::ops::Range;

use faying_standards::{Finding, Unit};
use toml_edit::{Document, InlineTable, Item, Table, TableLike};

use crate::draft::{list, name_fault};
use crate::keys::nearest;
use crate::tree::{SourceText, parse};

/// A row to be written. What is empty is left out of the line.
///
/// Lengths are texts as the builder types them: `1 1/4`, `.032`, `3.2 mm`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RowText {
    /// First hole, x and y.
    pub from: Option<[String; 2]>,
    /// Last hole, x and y.
    pub to: Option<[String; 2]>,
    /// Number of holes.
    pub count: Option<u32>,
    /// Distance from hole to hole.
    pub pitch: String,
    /// Another row of the plane whose positions are taken.
    pub like: String,
    /// How far they are moved, x and y.
    pub shift: Option<[String; 2]>,
    /// Rivet without its length.
    pub rivet: String,
    /// What the plan calls for.
    pub called: String,
    /// Side of the manufactured head.
    pub head: String,
    /// Layers near to far.
    pub through: Vec<String>,
    /// Preparation by part: `("skin", "dimpled")`.
    pub prep: Vec<(String, String)>,
    /// Hole size.
    pub hole: String,
    /// A remark.
    pub note: String,
}

/// A part to be written. What is empty is left out of the line.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PartText {
    /// Name as shown.
    pub title: String,
    /// Material and temper.
    pub material: String,
    /// Sheet thickness, as the builder types it.
    pub thickness: String,
    /// What is done to it before assembly.
    pub finish: String,
    /// Names of its copies.
    pub copies: Vec<String>,
    /// Part number in the builder's own plans.
    pub number: String,
    /// A remark.
    pub note: String,
}

/// A step to be written. What is empty is left out of the line.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StepText {
    /// Name as shown.
    pub title: String,
    /// Where it stands in the builder's own plans.
    pub sheet: String,
    /// Parts that come in.
    pub adds: Vec<String>,
    /// Rows that are set.
    pub sets: Vec<String>,
    /// Plane sides and bays that are hidden.
    pub closes: Vec<String>,
    /// Steps that come before.
    pub after: Vec<String>,
    /// Planned hours, as the builder types them.
    pub hours: String,
    /// A remark.
    pub note: String,
}

/// Why an edit was not made; the text stays as it was.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum EditError {
    /// The file cannot be read, so nothing can be put in its place in it.
    #[error("{0}")]
    Unreadable(Box<Finding>),
    /// The name is taken.
    #[error("there is already a {sort} \"{name}\"{}; write another name, for example {free}", inside(plane))]
    Taken {
        /// `row`, `part` or `step`.
        sort: &'static str,
        /// The name asked for.
        name: String,
        /// The plane, for a row that lies in one.
        plane: Option<String>,
        /// The next free name after it.
        free: String,
    },
    /// The name cannot be used in references.
    #[error("the name \"{name}\" {fault}; use letters, digits, - and _, for example rib-2")]
    Name {
        /// The name asked for.
        name: String,
        /// What is wrong with it.
        fault: &'static str,
    },
    /// There is no plane of this name.
    #[error("there is no plane \"{plane}\" in this file; {next}")]
    NoPlane {
        /// The name asked for.
        plane: String,
        /// What to write instead.
        next: String,
    },
    /// There is no row of this name.
    #[error("there is no row \"{name}\"{}; {next}", inside(plane))]
    NoRow {
        /// The name asked for.
        name: String,
        /// The plane, for a row that lies in one.
        plane: Option<String>,
        /// What to write instead.
        next: String,
    },
    /// There is no part or step of this name.
    #[error("there is no {sort} \"{name}\" in this file; {next}")]
    Missing {
        /// `part` or `step`.
        sort: &'static str,
        /// The name asked for.
        name: String,
        /// What to write instead.
        next: String,
    },
    /// Something else names it.
    #[error("{by} names {what}; change that first, or take it out too")]
    Needed {
        /// What was to be taken out.
        what: String,
        /// What names it.
        by: String,
    },
    /// The file is the other hand of an assembly and has no rows, parts and steps of its own.
    #[error("this file is the other hand of {of}; edit {of}, or write under [differs] what differs here")]
    Mirrored {
        /// The assembly it mirrors.
        of: String,
    },
    /// The place is written in a way in which no line can be put in or taken out.
    #[error(
        "{what} cannot be edited here as the file writes it; write [{heading}] with one line for each, or edit the text"
    )]
    Written {
        /// What was to be edited.
        what: String,
        /// The heading under which it could.
        heading: String,
    },
}

fn inside(plane: &Option<String>) -> String {
    plane.as_ref().map_or_else(String::new, |plane| format!(" in plane {plane}"))
}

/// The first text of a new assembly.
///
/// ```
/// use faying_plan::{SourceText, edit, read};
/// let text = edit::new_assembly("flap-left", "Left flap", faying_standards::Unit::Inch);
/// let reading = read(vec![SourceText { name: "plan/flap-left.toml".into(), text: text.into() }]);
/// assert!(reading.findings.is_empty());
/// ```
#[must_use]
pub fn new_assembly(id: &str, title: &str, units: Unit) -> String {
    let mut text = format!("format = 1\nid = {}\n", quoted(id));
    if !title.trim().is_empty() {
        let _ = writeln!(text, "title = {}", quoted(title));
    }
    let _ = writeln!(text, "units = {}", quoted(units.symbol()));
    text
}

/// Adds a row behind the last one, to a plane or, without one, to `[rows]`.
///
/// # Errors
/// [`EditError`] where the name is taken or cannot be one, the plane is
/// missing, or the file cannot be read or edited.
///
/// ```
/// use faying_plan::edit::{RowText, add_row};
/// let text = "format = 1\nid = \"tab\"\n[rows]\nA = { count = 12, called = \"MS20470AD4-4\" }\n";
/// let row = RowText { count: Some(6), called: "MS20470AD4-5".into(), ..RowText::default() };
/// assert_eq!(add_row(text, None, "B", &row)?, format!("{text}B = {{ count = 6, called = \"MS20470AD4-5\" }}\n"));
/// # Ok::<(), faying_plan::edit::EditError>(())
/// ```
pub fn add_row(text: &str, plane: Option<&str>, name: &str, row: &RowText) -> Result<String, EditError> {
    let file = File::read(text)?;
    file.need_plane(plane)?;
    file.add(&rows_path(plane), "row", name, &row.line().inline(), None)
}

/// Copies a row under a new name, to the line below it.
///
/// What the row says is copied as it is written; a remark behind the line is not.
///
/// # Errors
/// [`EditError`] as for [`add_row`], and where there is no such row.
pub fn copy_row(text: &str, plane: Option<&str>, name: &str, copy: &str) -> Result<String, EditError> {
    let file = File::read(text)?;
    let path = rows_path(plane);
    let line = match file.row(plane, name)? {
        Item::Value(value) => text[value.span().expect("a parsed value has its place")].to_owned(),
        Item::Table(table) => {
            let mut line = Line::default();
            for (keys, value) in table.get_values() {
                let key: Vec<String> = keys.iter().map(|key| key_text(key.get())).collect();
                let span = value.span().expect("a parsed value has its place");
                line.put(&key.join("."), text[span].trim());
            }
            line.inline()
        }
        _ => return Err(file.written(&path, format!("row {name}"))),
    };
    file.add(&path, "row", copy, &line, Some(name))
}

/// Takes a row out. Comments above it stay.
///
/// What refers to the row elsewhere is left, and is a finding of the next reading.
///
/// # Errors
/// [`EditError`] where there is no such row, or the file cannot be read or edited.
pub fn remove_row(text: &str, plane: Option<&str>, name: &str) -> Result<String, EditError> {
    let file = File::read(text)?;
    file.row(plane, name)?;
    file.without(&rows_path(plane), &format!("row {name}"), name)
}

/// Writes what the plan calls for at a row, in the place of what was called there.
///
/// # Errors
/// [`EditError`] where there is no such row, or the file cannot be read or edited.
pub fn set_called(text: &str, plane: Option<&str>, name: &str, called: &str) -> Result<String, EditError> {
    let file = File::read(text)?;
    file.row(plane, name)?;
    file.with_value(&rows_path(plane), &format!("row {name}"), name, "called", &quoted(called.trim()))
}

/// Writes what is not empty in `row` into a row that is there; its other keys stay.
///
/// # Errors
/// [`EditError`] where there is no such row, or the file cannot be read or edited.
///
/// ```
/// use faying_plan::edit::{RowText, change_row};
/// let text = "format = 1\nid = \"tab\"\n[rows]\nA = { count = 12 } # hinge\n";
/// let row = RowText { rivet: "MS20470AD4".into(), ..RowText::default() };
/// let new = change_row(text, None, "A", &row)?;
/// assert!(new.ends_with("A = { count = 12, rivet = \"MS20470AD4\" } # hinge\n"));
/// # Ok::<(), faying_plan::edit::EditError>(())
/// ```
pub fn change_row(text: &str, plane: Option<&str>, name: &str, row: &RowText) -> Result<String, EditError> {
    File::read(text)?.row(plane, name)?;
    with_line(text, &rows_path(plane), &format!("row {name}"), name, &row.line())
}

/// Writes what is not empty in `part` into a part that is there; its other keys stay.
///
/// # Errors
/// [`EditError`] where there is no such part, or the file cannot be read or edited.
pub fn change_part(text: &str, name: &str, part: &PartText) -> Result<String, EditError> {
    File::read(text)?.need(&["parts"], "part", name)?;
    with_line(text, &["parts"], &format!("part {name}"), name, &part.line())
}

/// Writes each pair of a line into something that is there.
fn with_line(text: &str, path: &[&str], what: &str, name: &str, line: &Line) -> Result<String, EditError> {
    let mut new = text.to_owned();
    for (key, written) in &line.0 {
        new = File::read(&new)?.with_value(path, what, name, key, written)?;
    }
    Ok(new)
}

/// Adds parts and rows to what a step adds and sets, behind those it names already.
///
/// # Errors
/// [`EditError`] where there is no such step, or the file cannot be read or edited.
pub fn extend_step(text: &str, name: &str, adds: &[String], sets: &[String]) -> Result<String, EditError> {
    File::read(text)?.need(&["steps"], "step", name)?;
    let mut new = text.to_owned();
    for (key, more) in [("adds", adds), ("sets", sets)] {
        if !more.is_empty() {
            new = File::read(&new)?.with_more(name, key, more)?;
        }
    }
    Ok(new)
}

/// Takes a row, and stretches of it (`web/A/1-20`), out of what the steps set.
///
/// - `row`: as the steps name it: `web/A`, or `K` for a row without a plane
///
/// # Errors
/// [`EditError`] where the file cannot be read, or a comment stands among the rows of a step.
pub fn unset_row(text: &str, row: &str) -> Result<String, EditError> {
    let stretch = format!("{row}/");
    let is_it = |name: &str| name == row || name.starts_with(&stretch);
    let file = File::read(text)?;
    let steps: Vec<String> = file.names(&["steps"]).into_iter().map(str::to_owned).collect();
    let mut new = text.to_owned();
    for step in steps {
        loop {
            let file = File::read(&new)?;
            let Some(sets) = file.at(&["steps", &step, "sets"]).and_then(Item::as_array) else { break };
            let Some(at) = sets.iter().position(|value| value.as_str().is_some_and(is_it)) else { break };
            let next = file.without_element(&step, sets, at)?;
            new = next;
        }
    }
    Ok(new)
}

/// Adds a plane with all that is written in `block`, behind the last one.
///
/// - `block`: lines under `[planes.NAME]` and its subheadings, as a sketch of a drawing gives them
///
/// # Errors
/// [`EditError`] where the name is taken or cannot be one, or the file cannot be read or edited.
pub fn add_plane(text: &str, name: &str, block: &str) -> Result<String, EditError> {
    let file = File::read(text)?;
    file.check_name(&["planes"], "plane", name)?;
    let refused = || file.written(&["planes"], format!("plane {name}"));
    let added: toml::Table = block.parse().map_err(|_| refused())?;
    let planes =
        added.get("planes").and_then(toml::Value::as_table).filter(|planes| planes.contains_key(name));
    let planes = planes.filter(|planes| planes.len() == 1 && added.len() == 1).ok_or_else(refused)?;
    let block: Vec<&str> = block.trim_end().lines().collect();
    let block = block.join(file.newline);
    let last = file.at(&["planes"]).and_then(last_end).or_else(|| file.end_before("planes"));
    [last.map(|end| line_end(text, end)), Some(text.len())]
        .into_iter()
        .flatten()
        .find_map(|at| {
            file.checked(file.with_line(at, &block), |tree| {
                if let Some(there) = reach(tree, &["planes"]) {
                    there.extend(planes.clone());
                }
            })
        })
        .ok_or_else(refused)
}

/// Adds a part behind the last one.
///
/// # Errors
/// [`EditError`] where the name is taken or cannot be one, or the file cannot be read or edited.
pub fn add_part(text: &str, name: &str, part: &PartText) -> Result<String, EditError> {
    File::read(text)?.add(&["parts"], "part", name, &part.line().inline(), None)
}

/// Adds a step behind the last one, under a heading of its own unless the others stand one to a line.
///
/// # Errors
/// [`EditError`] where the name is taken or cannot be one, or the file cannot be read or edited.
pub fn add_step(text: &str, name: &str, step: &StepText) -> Result<String, EditError> {
    let file = File::read(text)?;
    let line = step.line();
    if file.has_lines(&["steps"]) {
        return file.add(&["steps"], "step", name, &line.inline(), None);
    }
    file.check_name(&["steps"], "step", name)?;
    let block: Vec<String> =
        std::iter::once(format!("[steps.{}]", key_text(name))).chain(line.pairs()).collect();
    let block = block.join(file.newline);
    let added: toml::Table = block.parse().map_err(|_| file.written(&["steps"], format!("step {name}")))?;
    let before = || file.end_before("steps").map(|end| line_end(text, end));
    // What stands behind everything else as a remark on the steps stays above them.
    let remarks =
        |at: usize| text[at..].lines().all(|line| line.trim().is_empty() || line.trim().starts_with('#'));
    let end = || before().map(|at| if remarks(at) { text.len() } else { at });
    let last = file.at(&["steps"]).and_then(last_end).map(|end| line_end(text, end)).or_else(end);
    [last, Some(text.len())]
        .into_iter()
        .flatten()
        .find_map(|at| {
            file.checked(file.with_line(at, &block), |tree| {
                if let (Some(steps), Some(toml::Value::Table(added))) =
                    (reach(tree, &["steps"]), added.get("steps"))
                {
                    steps.extend(added.clone());
                }
            })
        })
        .ok_or_else(|| file.written(&["steps"], "the steps".to_owned()))
}

/// The next name after `name` that is not among `taken`: B after A, AA after Z, rib-2 after rib-1.
///
/// ```
/// use faying_plan::edit::next_free;
/// assert_eq!(next_free("A", &["A", "B"]), "C");
/// assert_eq!(next_free("rib-1", &["rib-1"]), "rib-2");
/// ```
#[must_use]
pub fn next_free(name: &str, taken: &[&str]) -> String {
    let mut free = name.to_owned();
    while taken.contains(&free.as_str()) {
        free = next_name(&free);
    }
    free
}

fn next_name(name: &str) -> String {
    if !name.is_empty() && name.len() <= 3 && name.bytes().all(|b| b.is_ascii_uppercase()) {
        // Letters count as in a column of a table: Z is followed by AA.
        let mut letters = name.as_bytes().to_vec();
        for at in (0..letters.len()).rev() {
            if letters[at] < b'Z' {
                letters[at] += 1;
                return String::from_utf8_lossy(&letters).into_owned();
            }
            letters[at] = b'A';
        }
        return format!("A{}", String::from_utf8_lossy(&letters));
    }
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    match name[stem.len()..].parse::<u32>() {
        Ok(number) if number < u32::MAX => format!("{stem}{}", number + 1),
        _ => format!("{name}-2"),
    }
}

/// A line as it grows: `{ count = 12, note = "…" }`.
#[derive(Default)]
struct Line(Vec<(String, String)>);

impl Line {
    fn put(&mut self, key: &str, value: &str) {
        self.0.push((key.to_owned(), value.to_owned()));
    }

    fn text(&mut self, key: &str, value: &str) {
        if !value.trim().is_empty() {
            self.put(key, &quoted(value.trim()));
        }
    }

    fn number(&mut self, key: &str, value: &str) {
        if !value.trim().is_empty() {
            self.put(key, &number(value.trim()));
        }
    }

    fn point(&mut self, key: &str, point: Option<&[String; 2]>) {
        if let Some([x, y]) = point {
            self.put(key, &format!("[{}, {}]", number(x.trim()), number(y.trim())));
        }
    }

    fn texts(&mut self, key: &str, values: &[String]) {
        if !values.is_empty() {
            let values: Vec<String> = values.iter().map(|value| quoted(value.trim())).collect();
            self.put(key, &format!("[{}]", values.join(", ")));
        }
    }

    /// `{ count = 12, note = "…" }`
    fn inline(&self) -> String {
        let pairs: Vec<String> = self.pairs().collect();
        if pairs.is_empty() { "{}".to_owned() } else { format!("{{ {} }}", pairs.join(", ")) }
    }

    fn pairs(&self) -> impl Iterator<Item = String> + '_ {
        self.0.iter().map(|(key, value)| format!("{key} = {value}"))
    }
}

impl RowText {
    fn line(&self) -> Line {
        let mut line = Line::default();
        line.point("from", self.from.as_ref());
        line.point("to", self.to.as_ref());
        if let Some(count) = self.count {
            line.put("count", &count.to_string());
        }
        line.number("pitch", &self.pitch);
        line.text("like", &self.like);
        line.point("shift", self.shift.as_ref());
        line.text("rivet", &self.rivet);
        line.text("called", &self.called);
        line.text("head", &self.head);
        line.texts("through", &self.through);
        if !self.prep.is_empty() {
            let prep = self.prep.iter().map(|(part, how)| format!("{} = {}", key_text(part), quoted(how)));
            line.put("prep", &format!("{{ {} }}", prep.collect::<Vec<_>>().join(", ")));
        }
        line.number("hole", &self.hole);
        line.text("note", &self.note);
        line
    }
}

impl PartText {
    fn line(&self) -> Line {
        let mut line = Line::default();
        line.text("title", &self.title);
        line.text("material", &self.material);
        line.number("thickness", &self.thickness);
        line.text("finish", &self.finish);
        line.texts("copies", &self.copies);
        line.text("number", &self.number);
        line.text("note", &self.note);
        line
    }
}

impl StepText {
    fn line(&self) -> Line {
        let mut line = Line::default();
        line.text("title", &self.title);
        line.text("sheet", &self.sheet);
        line.texts("adds", &self.adds);
        line.texts("sets", &self.sets);
        line.texts("closes", &self.closes);
        line.texts("after", &self.after);
        line.number("hours", &self.hours);
        line.text("note", &self.note);
        line
    }
}

/// A number bare where the file's language has it so (`.5` becomes `0.5`), else in quotes.
fn number(value: &str) -> String {
    let (sign, digits) = value.strip_prefix('-').map_or(("", value), |digits| ("-", digits));
    let (whole, part) = digits.split_once('.').map_or((digits, None), |(whole, part)| (whole, Some(part)));
    let plain = |digits: &str| digits.len() <= 12 && digits.bytes().all(|b| b.is_ascii_digit());
    let whole = if whole.is_empty() && part.is_some() { "0" } else { whole };
    let bare = plain(whole)
        && (whole == "0" || (!whole.is_empty() && !whole.starts_with('0')))
        && part.is_none_or(|part| !part.is_empty() && plain(part));
    match part {
        _ if !bare => quoted(value),
        Some(part) => format!("{sign}{whole}.{part}"),
        None => format!("{sign}{whole}"),
    }
}

/// What a row may hold stands on one line.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", one_line(text).replace('\\', "\\\\").replace('"', "\\\""))
}

fn key_text(name: &str) -> String {
    let bare = !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_');
    if bare { name.to_owned() } else { quoted(name) }
}

fn rows_path(plane: Option<&str>) -> Vec<&str> {
    plane.map_or_else(|| vec!["rows"], |plane| vec!["planes", plane, "rows"])
}

/// A file that can be read, with the places of everything in it.
struct File<'a> {
    text: &'a str,
    document: Document<&'a str>,
    newline: &'static str,
}

impl<'a> File<'a> {
    fn read(text: &'a str) -> Result<Self, EditError> {
        let source = SourceText { name: "this file".into(), text: text.into() };
        if let Some(finding) = parse(0, &source).1.into_iter().next() {
            return Err(EditError::Unreadable(Box::new(finding)));
        }
        let document = Document::parse(text).map_err(|error| {
            let next = "mend the text first; nothing was changed";
            EditError::Unreadable(Box::new(Finding::wrong("syntax", error.message(), next)))
        })?;
        if let Some(of) = document.get("mirror").and_then(Item::as_str) {
            return Err(EditError::Mirrored { of: of.to_owned() });
        }
        Ok(Self { text, document, newline: if text.contains("\r\n") { "\r\n" } else { "\n" } })
    }

    fn at(&self, path: &[&str]) -> Option<&Item> {
        path.iter().try_fold(self.document.as_item(), |item, key| item.get(key))
    }

    fn names(&self, path: &[&str]) -> Vec<&str> {
        let table = self.at(path).and_then(Item::as_table_like);
        table.map_or_else(Vec::new, |table| table.iter().map(|(key, _)| key).collect())
    }

    fn need_plane(&self, plane: Option<&str>) -> Result<(), EditError> {
        let Some(plane) = plane else { return Ok(()) };
        let planes = self.names(&["planes"]);
        if planes.contains(&plane) {
            return Ok(());
        }
        Err(EditError::NoPlane { plane: plane.to_owned(), next: instead(plane, &planes, "plane") })
    }

    fn row(&self, plane: Option<&str>, name: &str) -> Result<&Item, EditError> {
        self.need_plane(plane)?;
        let rows = self.at(&rows_path(plane)).and_then(Item::as_table_like);
        rows.and_then(|rows| rows.get(name)).ok_or_else(|| {
            let next = instead(name, &self.names(&rows_path(plane)), "row");
            EditError::NoRow { name: name.to_owned(), plane: plane.map(str::to_owned), next }
        })
    }

    fn need(&self, path: &[&str], sort: &'static str, name: &str) -> Result<(), EditError> {
        let names = self.names(path);
        if names.contains(&name) {
            return Ok(());
        }
        Err(EditError::Missing { sort, name: name.to_owned(), next: instead(name, &names, sort) })
    }

    /// The text with a value put in the place of the one that stands under `key`, or behind the last.
    fn with_value(
        &self,
        path: &[&str],
        what: &str,
        name: &str,
        key: &str,
        written: &str,
    ) -> Result<String, EditError> {
        let refused = || self.written(path, what.to_owned());
        let entry = self.at(path).and_then(|section| section.get(name)).ok_or_else(refused)?;
        let read: toml::Table = format!("value = {written}").parse().map_err(|_| refused())?;
        let pair = format!("{} = {written}", key_text(key));
        let splice =
            |at: Range<usize>, put: &str| format!("{}{put}{}", &self.text[..at.start], &self.text[at.end..]);
        let new = match (entry.get(key).and_then(Item::span), entry) {
            (Some(at), _) => splice(at, written),
            (None, Item::Value(value)) => {
                let table = value.as_inline_table().ok_or_else(refused)?;
                match last_value(table) {
                    Some(at) => splice(at..at, &format!(", {pair}")),
                    None => splice(value.span().ok_or_else(refused)?, &format!("{{ {pair} }}")),
                }
            }
            (None, Item::Table(table)) if !table.is_dotted() => {
                // Behind the table's own values; a table below it has its own heading.
                let last = table
                    .get_values()
                    .iter()
                    .filter_map(|(_, value)| value.span())
                    .map(|span| span.end)
                    .max();
                let end = last.or_else(|| table.span().map(|span| span.end)).ok_or_else(refused)?;
                self.with_line(line_end(self.text, end), &pair)
            }
            _ => return Err(refused()),
        };
        self.checked(new, |tree| {
            let table = reach(tree, path).and_then(|section| section.get_mut(name)?.as_table_mut());
            if let (Some(table), Some(value)) = (table, read.get("value")) {
                table.insert(key.to_owned(), value.clone());
            }
        })
        .ok_or_else(refused)
    }

    /// The text without an entry of a section. Comments above it stay.
    fn without(&self, path: &[&str], what: &str, name: &str) -> Result<String, EditError> {
        let refused = || self.written(path, what.to_owned());
        let section = self.at(path).and_then(Item::as_table_like).ok_or_else(refused)?;
        let (key, item) = section.get_key_value(name).ok_or_else(refused)?;
        let key = key.span().unwrap_or(0..0);
        let range = match item {
            Item::Value(value) if self.own_line(key.start) => {
                line_start(self.text, key.start)..line_end(self.text, end_of(value.span(), key.end))
            }
            Item::Value(value) => {
                let own = key.start..end_of(value.span(), key.end);
                let range = between_neighbours(section, name).ok_or_else(refused)?;
                if [range.start..own.start, own.end..range.end]
                    .into_iter()
                    .any(|gap| self.text[gap].contains('#'))
                {
                    return Err(refused());
                }
                range
            }
            Item::Table(table) if !table.is_dotted() && !table.is_implicit() => {
                let header = table.span().unwrap_or(key);
                let end = last_end(item).unwrap_or(header.end);
                line_start(self.text, header.start)..line_end(self.text, end)
            }
            _ => return Err(refused()),
        };
        let new = format!("{}{}", &self.text[..range.start], &self.text[range.end..]);
        // A section without a heading is not there without its entries.
        let headless = self.at(path).and_then(Item::as_table).is_some_and(Table::is_implicit);
        self.checked(new, |tree| {
            let Some(section) = reach(tree, path) else { return };
            section.remove(name);
            if let (true, true, Some((last, above))) = (headless, section.is_empty(), path.split_last()) {
                reach(tree, above).map(|above| above.remove(*last));
            }
        })
        .ok_or_else(refused)
    }

    /// The text with names put behind those of a step's list.
    fn with_more(&self, step: &str, key: &str, more: &[String]) -> Result<String, EditError> {
        let what = format!("step {step}");
        let quoted: Vec<String> = more.iter().map(|name| quoted(name)).collect();
        let list = quoted.join(", ");
        let put = |list: String| self.with_value(&["steps"], &what, step, key, &format!("[{list}]"));
        let Some(there) = self.at(&["steps", step, key]) else { return put(list) };
        if let Some(one) = there.as_str() {
            return put(format!("{}, {list}", self::quoted(one)));
        }
        let refused = || self.written(&["steps"], what.clone());
        let array = there.as_array().ok_or_else(refused)?;
        let Some(last) = array.iter().last() else { return put(list) };
        let end = last.span().ok_or_else(refused)?.end;
        let new = format!("{}, {list}{}", &self.text[..end], &self.text[end..]);
        self.checked(new, |tree| {
            let names = reach(tree, &["steps", step]).and_then(|step| step.get_mut(key)?.as_array_mut());
            if let Some(names) = names {
                names.extend(more.iter().map(|name| toml::Value::String(one_line(name))));
            }
        })
        .ok_or_else(refused)
    }

    /// The text without one element of what a step sets.
    fn without_element(&self, step: &str, sets: &toml_edit::Array, at: usize) -> Result<String, EditError> {
        let refused = || self.written(&["steps"], format!("step {step}"));
        let span = |index: usize| sets.get(index).and_then(toml_edit::Value::span).ok_or_else(refused);
        let range = match (at, sets.len()) {
            (0, 1) => span(0)?,
            // Up to the next one, or from the one before.
            (at, len) if at + 1 < len => span(at)?.start..span(at + 1)?.start,
            (at, _) => span(at - 1)?.end..span(at)?.end,
        };
        if self.text[range.clone()].contains('#') {
            return Err(refused());
        }
        let new = format!("{}{}", &self.text[..range.start], &self.text[range.end..]);
        self.checked(new, |tree| {
            let names = reach(tree, &["steps", step]).and_then(|step| step.get_mut("sets")?.as_array_mut());
            if let Some(names) = names {
                names.remove(at);
            }
        })
        .ok_or_else(refused)
    }

    fn written(&self, path: &[&str], what: String) -> EditError {
        EditError::Written { what, heading: path.join(".") }
    }

    /// Whether nothing but names and dots stands before this place in its line.
    fn own_line(&self, at: usize) -> bool {
        let before = &self.text[line_start(self.text, at)..at];
        !before.contains(['{', '[', ',', '=', '#'])
    }

    /// The text with one line more, `at` being the start of a line or the end of the file.
    fn with_line(&self, at: usize, line: &str) -> String {
        let end = self.newline;
        let open = at > 0 && !self.text[..at].ends_with('\n');
        let (before, after) = if open { (end, "") } else { ("", end) };
        // A file whose last line has no end keeps it so.
        format!("{}{before}{line}{after}{}", &self.text[..at], &self.text[at..])
    }

    fn check_name(&self, path: &[&str], sort: &'static str, name: &str) -> Result<(), EditError> {
        if let Some(fault) = name_fault(name) {
            return Err(EditError::Name { name: name.to_owned(), fault });
        }
        let names = self.names(path);
        if names.contains(&name) {
            let plane = (path.len() == 3).then(|| path[1].to_owned());
            let free = next_free(name, &names);
            return Err(EditError::Taken { sort, name: name.to_owned(), plane, free });
        }
        Ok(())
    }

    /// Whether a section has entries that stand one to a line.
    fn has_lines(&self, path: &[&str]) -> bool {
        let section = self.at(path).and_then(Item::as_table_like);
        section.is_some_and(|section| section.iter().any(|(_, item)| item.is_value()))
    }

    /// Adds a named line to a section, behind `behind` or the last that is there.
    fn add(
        &self,
        path: &[&str],
        sort: &'static str,
        name: &str,
        value: &str,
        behind: Option<&str>,
    ) -> Result<String, EditError> {
        self.check_name(path, sort, name)?;
        let line = format!("{} = {value}", key_text(name));
        let refused = || self.written(path, format!("the {sort}s"));
        let added: toml::Table = line.parse().map_err(|_| refused())?;
        let places = [
            self.in_section(path, &line, behind),
            self.new_section(path, &line),
            self.at_the_end(path, &line),
        ];
        self.first_that_adds(places, path, &added).ok_or_else(refused)
    }

    /// The first of several texts that holds what was meant: the entries more in a section, and nothing else.
    fn first_that_adds(
        &self,
        places: [Option<String>; 3],
        path: &[&str],
        added: &toml::Table,
    ) -> Option<String> {
        places.into_iter().flatten().find_map(|new| {
            self.checked(new, |tree| {
                if let Some(section) = reach(tree, path) {
                    section.extend(added.clone());
                }
            })
        })
    }

    /// Behind a line of the section, written as that line is; or under its heading.
    fn in_section(&self, path: &[&str], line: &str, behind: Option<&str>) -> Option<String> {
        let section = self.at(path)?.as_table_like()?;
        let lines = || {
            section.iter().filter_map(|(name, item)| {
                let key = section.get_key_value(name)?.0.span()?;
                let end = item.as_value()?.span()?.end;
                self.own_line(key.start).then_some((name, key, end))
            })
        };
        let found = behind
            .and_then(|behind| lines().find(|(name, ..)| *name == behind))
            .or_else(|| lines().max_by_key(|(.., end)| *end));
        if let Some((_, key, end)) = found {
            let before = &self.text[line_start(self.text, key.start)..key.start];
            return Some(self.with_line(line_end(self.text, end), &format!("{before}{line}")));
        }
        let table = self.at(path)?.as_table().filter(|table| !table.is_dotted() && !table.is_implicit())?;
        Some(self.with_line(line_end(self.text, table.span()?.end), line))
    }

    /// Under a heading of its own, behind what comes before it in a plan.
    fn new_section(&self, path: &[&str], line: &str) -> Option<String> {
        let before = match path {
            ["planes", plane, _] => last_end(self.at(&["planes", plane])?),
            [section, ..] => self.end_before(section),
            [] => None,
        };
        Some(self.with_heading(line_end(self.text, before?), path, line))
    }

    /// Where all that stands before a section in a plan ends.
    fn end_before(&self, section: &str) -> Option<usize> {
        const ORDER: [&str; 10] =
            ["format", "id", "title", "units", "note", "usual", "parts", "planes", "rows", "bays"];
        let until = ORDER.iter().position(|key| *key == section).unwrap_or(ORDER.len());
        ORDER[..until].iter().filter_map(|key| last_end(self.at(&[key])?)).max()
    }

    fn at_the_end(&self, path: &[&str], line: &str) -> Option<String> {
        Some(self.with_heading(self.text.len(), path, line))
    }

    fn with_heading(&self, at: usize, path: &[&str], line: &str) -> String {
        let keys: Vec<String> = path.iter().map(|key| key_text(key)).collect();
        self.with_line(at, &format!("[{}]{}{line}", keys.join("."), self.newline))
    }

    /// The new text, if it says what the old one said with the change and nothing else.
    fn checked(&self, new: String, change: impl FnOnce(&mut toml::Table)) -> Option<String> {
        let mut meant: toml::Table = self.text.parse().ok()?;
        change(&mut meant);
        let read: toml::Table = new.parse().ok()?;
        (read == meant).then_some(new)
    }
}

/// The table behind a path, made where it is missing.
fn reach<'t>(tree: &'t mut toml::Table, path: &[&str]) -> Option<&'t mut toml::Table> {
    path.iter().try_fold(tree, |table, key| {
        table.entry(*key).or_insert_with(|| toml::Value::Table(toml::Table::new())).as_table_mut()
    })
}

fn instead(name: &str, known: &[&str], sort: &str) -> String {
    match nearest(name, known.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if known.is_empty() => format!("it has no {sort} yet"),
        None => format!("it has {}", list(known.iter().copied())),
    }
}

fn end_of(span: Option<Range<usize>>, otherwise: usize) -> usize {
    span.map_or(otherwise, |span| span.end)
}

/// Where the last thing in an item ends.
fn last_end(item: &Item) -> Option<usize> {
    let inside = |table: &Table| table.iter().filter_map(|(_, item)| last_end(item)).max();
    match item {
        Item::None => None,
        Item::Value(value) => value.span().map(|span| span.end),
        Item::Table(table) => table.span().map(|span| span.end).max(inside(table)),
        Item::ArrayOfTables(tables) => tables.iter().filter_map(inside).max(),
    }
}

/// Where the last value of an inline table ends.
fn last_value(table: &InlineTable) -> Option<usize> {
    table.get_values().iter().filter_map(|(_, value)| value.span()).map(|span| span.end).max()
}

/// The place of an entry of an inline table, with the comma that goes with it.
fn between_neighbours(table: &dyn TableLike, name: &str) -> Option<Range<usize>> {
    let mut spans = Vec::new();
    for (key, item) in table.iter() {
        let start = table.get_key_value(key)?.0.span()?.start;
        spans.push((key == name, start..item.span()?.end));
    }
    spans.sort_by_key(|(_, span)| span.start);
    let at = spans.iter().position(|(is_it, _)| *is_it)?;
    let own = &spans[at].1;
    // Up to the next one, or from the one before.
    Some(match (spans.get(at + 1), at.checked_sub(1)) {
        (Some((_, next)), _) => own.start..next.start,
        (None, Some(before)) => spans[before].1.end..own.end,
        (None, None) => own.clone(),
    })
}

fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |newline| newline + 1)
}

/// Behind the end of the line, newline included.
fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |newline| at + newline + 1)
}
