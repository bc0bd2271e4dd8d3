//! Edits to `tools.toml`: a tool put in, changed or taken out, a count, a time.
//!
//! What may be asked comes from the key tables of [`keys`]: a key that is added
//! there is a [`Field`] here by itself. Values are texts as the builder types
//! them; whether they can be used is told by the next reading, like that of
//! any other text. Which fields a tool needs is asked of that reader too.
//!
//! Out of scope: another short name for a tool, because the record knows it by
//! the old one.

use std::collections::BTreeSet;

use faying_standards::rivet::Diameter;
use faying_standards::{Length, Unit};
use toml_edit::Item;

use super::{EditError, File, key_text, last_end, line_end, next_free, number, one_line, quoted};
use crate::keys::{self, Key, Kind, Shape};
use crate::tools::STARTER;
use crate::tree::SourceText;

/// A part of `tools.toml` that is edited by itself.
#[derive(Clone, Copy, Debug)]
pub struct Section {
    /// Its key in the file, such as `yokes`; [`OTHER`] for what stands under no heading.
    pub name: &'static str,
    /// What it is, in words.
    pub doc: &'static str,
    /// The tool it holds by short name; none where it holds values: counts or times.
    pub kind: Option<&'static Kind>,
    shape: Shape,
}

/// The section of what stands under no heading.
pub const OTHER: &str = "other";

/// Something a form asks.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Where it stands in the tool: `throat`, `nose.height`, `pressure.1/8`.
    pub key: String,
    /// What it means, in a few words with its unit.
    pub label: String,
    /// What there is to say of it besides.
    pub hint: String,
    /// What it is a part of, in words, where it stands in a table of its own.
    pub group: Option<String>,
    /// How it is answered.
    pub input: Input,
    /// Whether the tool cannot be used without it.
    pub needed: bool,
    /// What the file says, as it is written there.
    pub value: String,
    /// Whether it is a figure that stands in the starter set too: nobody need have measured it.
    pub starter: bool,
    path: Vec<String>,
    shape: Shape1,
}

/// How a field is answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// Words.
    Text,
    /// A length as it would be written, or several.
    Length,
    /// Figures.
    Number,
    /// One of these.
    Word(&'static [&'static str]),
    /// Any of these names.
    Names(Vec<String>),
    /// `true` or `false`.
    Flag,
}

/// How a value is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape1 {
    Quoted,
    Number,
    Flag,
    Texts,
    Lengths,
    Point,
}

/// A tool in the file, or a value of a section of values.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// Its short name.
    pub name: String,
    /// Whether it is word for word that of the starter set: nobody has measured it.
    pub starter: bool,
    /// Whether some figure of it is that of the starter set.
    pub partly: bool,
}

/// Every section that can be edited, in the order of the file.
#[must_use]
pub fn sections() -> Vec<Section> {
    let of = |key: &'static Key| {
        let kind = match key.shape {
            Shape::Named(kind) => Some(kind),
            Shape::Table(_) | Shape::NamedCounts => None,
            _ => return None,
        };
        Some(Section { name: key.name, doc: key.doc, kind, shape: key.shape })
    };
    let other = Section {
        name: OTHER,
        doc: "what else there is to say of the tools",
        kind: None,
        shape: Shape::Table(&keys::TOOLS),
    };
    keys::TOOLS.keys.iter().filter_map(of).chain([other]).collect()
}

impl Section {
    /// The section of this name.
    ///
    /// ```
    /// use faying_plan::edit::tools::Section;
    /// assert_eq!(Section::named("yokes").unwrap().one(), "yoke");
    /// ```
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        sections().into_iter().find(|section| section.name == name)
    }

    /// One of what it holds, without its article: `yoke`.
    #[must_use]
    pub fn one(&self) -> &'static str {
        self.kind.map_or(self.doc, |kind| kind.name.strip_prefix("a ").unwrap_or(kind.name))
    }

    /// Where its entries stand in the file.
    fn path<'a>(&self, tool: Option<&'a str>) -> Vec<&'a str> {
        let section = (self.name != OTHER).then_some(self.name);
        section.into_iter().chain(tool).collect()
    }

    /// Its tool, or itself, for a message.
    fn words(&self, tool: Option<&str>) -> String {
        tool.map_or_else(|| self.name.to_owned(), |tool| format!("{} {tool}", self.one()))
    }
}

/// What stands in a section, in the order of the file.
///
/// # Errors
/// [`EditError::Unreadable`] where the text cannot be read.
pub fn listed(text: &str, section: &Section) -> Result<Vec<Listed>, EditError> {
    let file = File::read(text)?;
    let path = section.path(None);
    let started = Started::of(text);
    let names = file.names(&path).into_iter();
    Ok(names
        .map(|name| {
            let starter = started.has(&section.path(Some(name)));
            let figures = || asked(&file, &started, section, Some(name));
            let partly = starter || (section.kind.is_some() && figures().iter().any(|field| field.starter));
            Listed { name: name.to_owned(), starter, partly }
        })
        .collect())
}

/// A file beside the starter set.
struct Started {
    own: toml::Table,
    starter: toml::Table,
}

impl Started {
    fn of(text: &str) -> Self {
        let starter: toml::Table = STARTER.parse().unwrap_or_default();
        let own: toml::Table = text.parse().unwrap_or_default();
        // The same digits mean something else in another unit.
        let same_unit = own.get("units").is_none_or(|unit| Some(unit) == starter.get("units"));
        Self { own: if same_unit { own } else { toml::Table::new() }, starter }
    }

    /// Whether the starter set says the same at this path.
    fn has(&self, path: &[&str]) -> bool {
        let Some((name, above)) = path.split_last() else { return false };
        let at = |tree: &toml::Table| -> Option<toml::Value> {
            above.iter().try_fold(tree, |tree, key| tree.get(*key)?.as_table())?.get(*name).cloned()
        };
        at(&self.own).is_some_and(|own| Some(own) == at(&self.starter))
    }
}

/// The unit of bare numbers in this text.
#[must_use]
pub fn unit(text: &str) -> Unit {
    let units =
        text.parse::<toml::Table>().ok().and_then(|tree| tree.get("units")?.as_str().map(str::to_owned));
    if units.as_deref() == Some(Unit::Millimetre.symbol()) { Unit::Millimetre } else { Unit::Inch }
}

/// What a form asks of a tool, or of a section of values.
///
/// - `tool`: its short name; none for a tool that is not there yet, and for a section of values
///
/// # Errors
/// [`EditError`] where the text cannot be read, or has no such tool.
///
/// ```
/// use faying_plan::edit::tools::{Section, fields};
/// let yokes = Section::named("yokes").unwrap();
/// let fields = fields("format = 1\n[yokes]\nc = { throat = 3 }\n", &yokes, Some("c"))?;
/// let throat = fields.iter().find(|field| field.key == "throat").unwrap();
/// assert_eq!((throat.label.as_str(), throat.value.as_str()), ("throat depth, in", "3"));
/// assert!(throat.needed);
/// # Ok::<(), faying_plan::edit::EditError>(())
/// ```
pub fn fields(text: &str, section: &Section, tool: Option<&str>) -> Result<Vec<Field>, EditError> {
    let file = File::read(text)?;
    if let (Some(tool), Some(_)) = (tool, section.kind) {
        file.need(&section.path(None), section.one(), tool)?;
    }
    let mut fields = asked(&file, &Started::of(text), section, tool);
    let needed = section.kind.map_or_else(BTreeSet::new, |kind| needed(section.name, kind));
    for field in &mut fields {
        field.needed = (1..=field.path.len()).all(|depth| needed.contains(&field.path[..depth].join(".")));
    }
    Ok(fields)
}

/// The same, without what is needed.
fn asked(file: &File<'_>, started: &Started, section: &Section, tool: Option<&str>) -> Vec<Field> {
    let path = section.path(tool);
    let mut asker = Asker { file, unit: unit(file.text), fields: Vec::new() };
    let item = match (section.kind, tool) {
        (Some(_), None) => None,
        _ => file.at(&path),
    };
    match (section.kind, section.shape) {
        (Some(kind), _) => asker.table(kind, item, &[], None),
        // What has a section of its own, and what the numbers mean, is not asked among the rest.
        (None, Shape::Table(kind)) if section.name == OTHER => {
            let asked = |key: &&Key| {
                key.name != "format" && matches!(key.shape, Shape::Flag | Shape::Text | Shape::Count)
            };
            for key in kind.keys.iter().filter(asked) {
                asker.key(key, item, &[], None);
            }
        }
        (None, Shape::Table(kind)) => asker.table(kind, item, &[], None),
        (None, _) => asker.by_diameter(section.doc, item, &[], Shape1::Number, None),
    }
    for field in &mut asker.fields {
        let at: Vec<&str> = path.iter().copied().chain(field.path.iter().map(String::as_str)).collect();
        let figure = matches!(field.input, Input::Length | Input::Number);
        field.starter = figure && item.is_some() && started.has(&at);
    }
    asker.fields
}

/// The keys without which a tool of this kind cannot be used: the reader says so of one that has none.
fn needed(section: &str, kind: &'static Kind) -> BTreeSet<String> {
    let lacks = |body: &str| -> Vec<String> {
        let text = format!("format = 1\n[{section}]\nx = {body}\n");
        let reading = crate::read(vec![SourceText { name: "tools.toml".into(), text: text.into() }]);
        let of = |next: &str| Some(next.strip_prefix("write ")?.split_once(" = ")?.0.to_owned());
        reading
            .findings
            .iter()
            .filter(|finding| finding.kind == "no-figure")
            .filter_map(|finding| of(&finding.next))
            .collect()
    };
    let mut needed: BTreeSet<String> = lacks("{}").into_iter().collect();
    for key in kind.keys.iter().filter(|key| matches!(key.shape, Shape::Table(_))) {
        if needed.contains(key.name) {
            let inner = lacks(&format!("{{ {} = {{}} }}", key.name));
            let inner: Vec<String> = inner.iter().map(|it| format!("{}.{it}", key.name)).collect();
            needed.extend(inner);
        }
    }
    needed
}

/// Fields as they are made from a kind.
struct Asker<'a> {
    file: &'a File<'a>,
    unit: Unit,
    fields: Vec<Field>,
}

impl Asker<'_> {
    fn table(&mut self, kind: &'static Kind, item: Option<&Item>, path: &[String], group: Option<&str>) {
        for key in kind.keys {
            self.key(key, item, path, group);
        }
    }

    fn key(&mut self, key: &'static Key, item: Option<&Item>, path: &[String], group: Option<&str>) {
        let item = item.and_then(|item| item.get(key.name));
        let path: Vec<String> = path.iter().cloned().chain([key.name.to_owned()]).collect();
        let (words, hint) = split(key.doc);
        let in_unit = format!("{words}, {}", self.unit.symbol());
        let (label, hint, input, shape) = match key.shape {
            Shape::Table(kind) => return self.table(kind, item, &path, Some(words)),
            Shape::NamedNumbers | Shape::NamedCounts => {
                return self.by_diameter(words, item, &path, Shape1::Number, Some(words));
            }
            Shape::NamedLengths => {
                return self.by_diameter(&in_unit, item, &path, Shape1::Number, Some(&in_unit));
            }
            Shape::Text => (words.to_owned(), hint, Input::Text, Shape1::Quoted),
            // The words are there to choose from.
            Shape::Word(words_of) => (words.to_owned(), "", Input::Word(words_of), Shape1::Quoted),
            Shape::Length => (in_unit, hint, Input::Length, Shape1::Number),
            Shape::Lengths => (in_unit, hint, Input::Length, Shape1::Lengths),
            Shape::Point => (in_unit, hint, Input::Length, Shape1::Point),
            Shape::Count | Shape::Number => (words.to_owned(), hint, Input::Number, Shape1::Number),
            Shape::Flag => (words.to_owned(), hint, Input::Flag, Shape1::Flag),
            Shape::Texts => (words.to_owned(), hint, Input::Text, Shape1::Texts),
            Shape::NamesOf(section) => {
                let mut names: Vec<String> =
                    self.file.names(&[section]).into_iter().map(str::to_owned).collect();
                // A name that leads nowhere is shown, so that it can be taken out.
                let there = item.map(|item| shown(item, self.file.text, ", ")).unwrap_or_default();
                names.extend(
                    parts(&there)
                        .filter(|name| !names.iter().any(|own| own == name))
                        .map(str::to_owned)
                        .collect::<Vec<_>>(),
                );
                (words.to_owned(), hint, Input::Names(names), Shape1::Texts)
            }
            // No tool has any of these; one that gets one is found by a test of this module.
            Shape::Points
            | Shape::Line
            | Shape::Named(_)
            | Shape::NamedTexts
            | Shape::NamedLists
            | Shape::Shapes
            | Shape::Lines(_)
            | Shape::Outlines(_)
            | Shape::NamedTwice(_)
            | Shape::Anything => return,
        };
        self.ask(path, label, hint, group, input, shape, item);
    }

    /// One field for each rivet diameter, those of the file as it spells them.
    fn by_diameter(
        &mut self,
        words: &str,
        item: Option<&Item>,
        path: &[String],
        shape: Shape1,
        group: Option<&str>,
    ) {
        let there = item.and_then(Item::as_table_like);
        let mut named: Vec<(Option<Diameter>, String)> = there
            .map(|table| table.iter().map(|(key, _)| (diameter(key), key.to_owned())).collect())
            .unwrap_or_default();
        for size in Diameter::ALL {
            if !named.iter().any(|(own, _)| *own == Some(size)) {
                named.push((Some(size), size.to_string()));
            }
        }
        // What is no diameter comes first: it is to be mended.
        named.sort_by_key(|(size, _)| *size);
        for (_, name) in named {
            let item = item.and_then(|item| item.get(&name));
            let path: Vec<String> = path.iter().cloned().chain([name.clone()]).collect();
            self.ask(path, name, "", Some(group.unwrap_or(words)), Input::Number, shape, item);
        }
    }

    #[expect(clippy::too_many_arguments, reason = "a field as it is put together")]
    fn ask(
        &mut self,
        path: Vec<String>,
        label: String,
        hint: &str,
        group: Option<&str>,
        input: Input,
        shape: Shape1,
        item: Option<&Item>,
    ) {
        let between = if shape == Shape1::Point { " × " } else { ", " };
        let value = item.map(|item| shown(item, self.file.text, between)).unwrap_or_default();
        let (group, hint) = (group.map(str::to_owned), hint.to_owned());
        self.fields.push(Field {
            key: path.join("."),
            label,
            hint,
            group,
            input,
            needed: false,
            value,
            starter: false,
            path,
            shape,
        });
    }
}

/// A doc of a key as its first words and the rest.
fn split(doc: &'static str) -> (&'static str, &'static str) {
    // The last of these is itself a word of the rest.
    let marks = [(": ", 2), ("; ", 2), (", where ", 2)];
    let at = marks.iter().filter_map(|(mark, skip)| Some((doc.find(mark)?, skip))).min();
    at.map_or((doc, ""), |(at, skip)| (&doc[..at], &doc[at + skip..]))
}

fn diameter(name: &str) -> Option<Diameter> {
    Length::read(name, Unit::Inch).ok().and_then(Diameter::from_length)
}

/// A value as the file writes it, texts without their quotes.
fn shown(item: &Item, text: &str, between: &str) -> String {
    if let Some(array) = item.as_array() {
        let parts = array.iter().map(|value| one(value.as_str(), value.span(), text));
        return parts.collect::<Vec<_>>().join(between);
    }
    one(item.as_str(), item.span(), text)
}

fn one(words: Option<&str>, span: Option<std::ops::Range<usize>>, text: &str) -> String {
    words.map_or_else(|| span.map_or_else(String::new, |span| text[span].trim().to_owned()), str::to_owned)
}

/// The parts of a typed list.
fn parts(typed: &str) -> impl Iterator<Item = &str> {
    typed.split([',', ';']).map(str::trim).filter(|part| !part.is_empty())
}

impl Field {
    /// What was typed as the file writes it; none where it says nothing.
    fn written(&self, typed: &str) -> Option<String> {
        let typed = typed.trim();
        let list = |parts: Vec<String>| (!parts.is_empty()).then(|| format!("[{}]", parts.join(", ")));
        match self.shape {
            _ if typed.is_empty() => None,
            Shape1::Quoted => Some(quoted(typed)),
            Shape1::Number => Some(number(&one_line(typed))),
            Shape1::Flag => Some((typed == "true").to_string()),
            Shape1::Texts => list(parts(typed).map(quoted).collect()),
            Shape1::Lengths => list(parts(typed).map(number).collect()),
            Shape1::Point => {
                list(typed.split([',', ';', '×', 'x', 'X', '*']).map(|it| number(it.trim())).collect())
            }
        }
    }
}

/// Adds a tool behind the last of its kind.
///
/// - `name`: its short name; empty makes one of the title
/// - `values`: by the keys of its [`fields`], as typed; what is empty is left out
///
/// Gives the new text and the short name.
///
/// # Errors
/// [`EditError`] where the name is taken or cannot be one, or the file cannot be read or edited.
///
/// ```
/// use faying_plan::edit::tools::{Section, add};
/// let clamps = Section::named("clamps").unwrap();
/// let values = [("title".into(), "Wing nut clamp".into()), ("count".into(), "6".into())];
/// let (new, name) = add("format = 1\n[clamps]\n", &clamps, "", &values)?;
/// assert_eq!(new, "format = 1\n[clamps]\nwing-nut-clamp = { title = \"Wing nut clamp\", count = 6 }\n");
/// assert_eq!(name, "wing-nut-clamp");
/// # Ok::<(), faying_plan::edit::EditError>(())
/// ```
pub fn add(
    text: &str,
    section: &Section,
    name: &str,
    values: &[(String, String)],
) -> Result<(String, String), EditError> {
    let file = File::read(text)?;
    let path = section.path(None);
    let title = values.iter().find(|(key, _)| key == "title").map_or("", |(_, title)| title.as_str());
    let name = match name.trim() {
        "" => free_name(&file, title),
        name => name.to_owned(),
    };
    file.check_name(&path, section.one(), &name)?;
    let asked = fields(text, section, None)?;
    let line = format!("{} = {}", key_text(&name), inline(&asked, values, 0));
    let what = section.words(Some(&name));
    Ok((file.with_entry(&path, &what, &line)?, name))
}

/// The short name that a title makes, free among all tools.
fn free_name(file: &File<'_>, title: &str) -> String {
    let mut name = String::new();
    for c in title.trim().chars() {
        if c.is_alphanumeric() {
            name.extend(c.to_lowercase());
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
    }
    let name: String = name.trim_end_matches('-').chars().take(40).collect();
    // A name that is empty stays so, and is refused as such.
    if name.is_empty() {
        return name;
    }
    let all = sections();
    let taken: Vec<&str> =
        all.iter().filter(|it| it.kind.is_some()).flat_map(|it| file.names(&[it.name])).collect();
    next_free(&name, &taken)
}

/// The typed fields as one inline table; those deeper than `depth` in tables of their own.
fn inline(fields: &[Field], values: &[(String, String)], depth: usize) -> String {
    let mut pairs: Vec<String> = Vec::new();
    let mut done: Vec<&str> = Vec::new();
    for field in fields {
        let key = field.path[depth].as_str();
        if field.path.len() == depth + 1 {
            let typed = values.iter().find(|(key, _)| *key == field.key).map_or("", |(_, typed)| typed);
            pairs.extend(field.written(typed).map(|written| format!("{} = {written}", key_text(key))));
        } else if !done.contains(&key) {
            done.push(key);
            let inner: Vec<Field> =
                fields.iter().filter(|it| it.path.get(depth).is_some_and(|it| it == key)).cloned().collect();
            let inner = inline(&inner, values, depth + 1);
            if inner != "{}" {
                pairs.push(format!("{} = {inner}", key_text(key)));
            }
        }
    }
    if pairs.is_empty() { "{}".to_owned() } else { format!("{{ {} }}", pairs.join(", ")) }
}

/// Writes values into a tool that is there, or into a section of values; what is not named stays.
///
/// - `tool`: its short name; none for a section of values
/// - `values`: by the keys of the [`fields`], as typed; what is empty is taken out of the file
///
/// # Errors
/// [`EditError`] where there is no such tool, or the file cannot be read or edited.
///
/// ```
/// use faying_plan::edit::tools::{Section, change};
/// let clecoes = Section::named("clecoes").unwrap();
/// let new = change("format = 1\n[clecoes]\n\"1/8\" = 150 # copper\n", &clecoes, None,
///     &[("1/8".into(), "140".into()), ("5/32".into(), "40".into())])?;
/// assert_eq!(new, "format = 1\n[clecoes]\n\"1/8\" = 140 # copper\n\"5/32\" = 40\n");
/// # Ok::<(), faying_plan::edit::EditError>(())
/// ```
pub fn change(
    text: &str,
    section: &Section,
    tool: Option<&str>,
    values: &[(String, String)],
) -> Result<String, EditError> {
    let base = section.path(tool);
    let what = section.words(tool);
    let mut new = text.to_owned();
    for field in fields(text, section, tool)? {
        let Some((_, typed)) = values.iter().find(|(key, _)| *key == field.key) else { continue };
        let path: Vec<&str> = base.iter().copied().chain(field.path.iter().map(String::as_str)).collect();
        new = match field.written(typed) {
            Some(written) => set(&new, &path, &what, &written)?,
            None => cleared(&new, &path, &what)?,
        };
    }
    Ok(new)
}

/// The text with a value at a path, and the tables that it needs on the way.
fn set(text: &str, path: &[&str], what: &str, written: &str) -> Result<String, EditError> {
    let file = File::read(text)?;
    match path {
        [] => Ok(text.to_owned()),
        [key] => file.with_own_value(what, key, written),
        [above @ .., section, key] => {
            let there: Vec<&str> = above.iter().chain([section]).copied().collect();
            if file.at(&there).is_some() {
                return file.with_value(above, what, section, key, written);
            }
            let pair = format!("{} = {written}", key_text(key));
            if above.is_empty() {
                return file.with_entry(&[section], what, &pair);
            }
            set(text, &there, what, &format!("{{ {pair} }}"))
        }
    }
}

/// The text without a value; a table of a tool that has nothing else goes too.
fn cleared(text: &str, path: &[&str], what: &str) -> Result<String, EditError> {
    let file = File::read(text)?;
    let Some((key, above)) = path.split_last() else { return Ok(text.to_owned()) };
    let Some(_) = file.at(path) else { return Ok(text.to_owned()) };
    if above.len() > 2 && file.names(above) == [*key] {
        return cleared(text, above, what);
    }
    file.without(above, what, key)
}

/// Takes a tool out. Comments above it stay.
///
/// # Errors
/// [`EditError::Needed`] where another tool names it, and as for [`change`].
pub fn take_out(text: &str, section: &Section, name: &str) -> Result<String, EditError> {
    let file = File::read(text)?;
    file.need(&section.path(None), section.one(), name)?;
    for other in sections() {
        let Some(kind) = other.kind else { continue };
        let naming =
            kind.keys.iter().filter(|key| matches!(key.shape, Shape::NamesOf(of) if of == section.name));
        for key in naming {
            for tool in file.names(&[other.name]) {
                let Some(item) = file.at(&[other.name, tool, key.name]) else { continue };
                if parts(&shown(item, text, ", ")).any(|it| it == name) {
                    let by = format!("the {} {tool}, under {},", other.one(), key.name);
                    return Err(EditError::Needed { what: format!("{} {name}", section.one()), by });
                }
            }
        }
    }
    file.without(&section.path(None), &section.words(Some(name)), name)
}

impl File<'_> {
    /// The text with a line in a section, which is made where it is missing.
    fn with_entry(&self, path: &[&str], what: &str, line: &str) -> Result<String, EditError> {
        let refused = || self.written(path, what.to_owned());
        let added: toml::Table = line.parse().map_err(|_| refused())?;
        let order: Vec<&str> = keys::TOOLS.keys.iter().map(|key| key.name).collect();
        let until = order.iter().position(|key| path.first() == Some(key)).unwrap_or(order.len());
        // Behind the sections that come before it; a remark above the next one stays there.
        let before = order[..until].iter().filter_map(|key| last_end(self.at(&[key])?)).max();
        let behind =
            before.filter(|_| until > 0).map(|end| self.with_heading(line_end(self.text, end), path, line));
        let places = [self.in_section(path, line, None), behind, self.at_the_end(path, line)];
        self.first_that_adds(places, path, &added).ok_or_else(refused)
    }

    /// The text with a value that stands under no heading.
    fn with_own_value(&self, what: &str, key: &str, written: &str) -> Result<String, EditError> {
        let refused = || self.written(&[], what.to_owned());
        let read: toml::Table = format!("value = {written}").parse().map_err(|_| refused())?;
        let new = match self.at(&[key]) {
            Some(item) => {
                let at = item.span().ok_or_else(refused)?;
                format!("{}{written}{}", &self.text[..at.start], &self.text[at.end..])
            }
            None => {
                let own = self.document.iter().filter(|(_, item)| item.is_value());
                let last = own.filter_map(|(_, item)| item.span()).map(|span| span.end).max();
                let at = last.map_or(0, |end| line_end(self.text, end));
                self.with_line(at, &format!("{} = {written}", key_text(key)))
            }
        };
        self.checked(new, |tree| {
            if let Some(value) = read.get("value") {
                tree.insert(key.to_owned(), value.clone());
            }
        })
        .ok_or_else(refused)
    }
}
