//! One file as read, before names are looked up: every value with its place.
//!
//! Unknown keys, wrong sorts of value and unreadable numbers are found here;
//! what a name refers to is the business of [`resolve`](crate::resolve).

use faying_standards::{Finding, Length, Unit};

use crate::geometry::{Corner, Loop, Point};
use crate::keys::{self, Kind, nearest};
use crate::model::{Preparation, Work};
use crate::tree::{Entry, Node, SourceText, Spot, Table, Value};

/// A value and where it stands.
#[derive(Clone, Debug)]
pub struct Put<T> {
    pub value: T,
    pub spot: Spot,
}

pub type PutText = Put<String>;

#[derive(Clone, Debug, Default)]
pub struct UsualDraft {
    pub rivet: Option<PutText>,
    pub head: Option<PutText>,
    pub hole: Option<Length>,
    pub prep: Vec<(PutText, Preparation)>,
}

#[derive(Clone, Debug)]
pub struct PartDraft {
    pub name: PutText,
    pub title: Option<String>,
    pub material: Option<PutText>,
    pub thickness: Option<Put<Length>>,
    pub finish: Option<String>,
    pub copies: Vec<PutText>,
    pub number: Option<String>,
    pub note: Option<String>,
}

#[derive(Clone, Debug)]
pub struct PlaneDraft {
    pub name: PutText,
    pub title: Option<String>,
    pub near: Option<PutText>,
    pub far: Option<PutText>,
    pub layers: Vec<PutText>,
    /// By part: one loop, or one for each copy.
    pub outlines: Vec<(PutText, Vec<Loop>)>,
    pub cuts: Vec<(PutText, Vec<Loop>)>,
    pub bends: Vec<BendDraft>,
    pub stands: Vec<StandDraft>,
    pub rows: Vec<RowDraft>,
    pub note: Option<String>,
}

#[derive(Clone, Debug)]
pub struct BendDraft {
    pub line: [Point; 2],
    pub part: Option<PutText>,
    pub side: Option<PutText>,
    pub height: Option<Length>,
    pub lip: Option<Length>,
}

#[derive(Clone, Debug)]
pub struct StandDraft {
    pub name: PutText,
    pub outline: Loop,
    pub side: PutText,
    pub height: Length,
    pub from: Option<PutText>,
    pub note: Option<String>,
}

#[derive(Clone, Debug)]
pub struct RowDraft {
    pub name: PutText,
    pub from: Option<Put<Point>>,
    pub to: Option<Put<Point>>,
    pub count: Option<Put<u32>>,
    pub pitch: Option<Put<Length>>,
    pub at: Option<Put<Vec<Point>>>,
    pub like: Option<PutText>,
    pub shift: Option<Put<Point>>,
    /// Whether something that says where and how many could not be read, and was found already.
    pub faulty: bool,
    pub same: Option<PutText>,
    pub rivet: Option<PutText>,
    pub called: Option<PutText>,
    pub head: Option<PutText>,
    pub prep: Vec<(PutText, Preparation)>,
    pub through: Option<Put<Vec<PutText>>>,
    pub hole: Option<Length>,
    pub clearance: Option<Length>,
    pub hold: Option<HoldDraft>,
    pub attach: Option<AttachDraft>,
    pub note: Option<String>,
}

#[derive(Clone, Debug)]
pub struct HoldDraft {
    pub until: Option<PutText>,
    pub why: Option<String>,
    pub spot: Spot,
}

#[derive(Clone, Debug)]
pub struct AttachDraft {
    pub rivet: Option<PutText>,
    pub each: Option<u32>,
    pub spot: Spot,
}

#[derive(Clone, Debug)]
pub struct BayDraft {
    pub name: PutText,
    pub sides: Vec<PutText>,
}

#[derive(Clone, Debug)]
pub struct StepDraft {
    pub name: PutText,
    pub title: Option<String>,
    pub sheet: Option<String>,
    pub adds: Vec<PutText>,
    pub sets: Vec<PutText>,
    pub closes: Vec<PutText>,
    pub after: Vec<PutText>,
    pub hours: Option<f64>,
    pub work: Option<Work>,
    pub parts: Vec<PutText>,
    pub rows: Vec<PutText>,
    pub people: Option<u32>,
    pub tools: Vec<PutText>,
    pub cure_hours: Option<f64>,
    pub bench: Option<u32>,
    pub note: Option<String>,
}

#[derive(Clone, Debug)]
pub struct GateDraft {
    pub name: PutText,
    pub title: Option<String>,
    pub before: Option<PutText>,
    pub after: Vec<PutText>,
    pub covers: Vec<PutText>,
    pub needs: Vec<PutText>,
    pub structure: Option<bool>,
    pub rule: Option<String>,
    pub note: Option<String>,
}

#[derive(Clone, Debug)]
pub struct AssemblyDraft {
    pub id: PutText,
    pub title: Option<String>,
    pub unit: Unit,
    pub mirror: Option<PutText>,
    pub file: u16,
    pub note: Option<String>,
    pub usual: UsualDraft,
    pub parts: Vec<PartDraft>,
    pub planes: Vec<PlaneDraft>,
    pub rows: Vec<RowDraft>,
    pub bays: Vec<BayDraft>,
    pub steps: Vec<StepDraft>,
    pub gates: Vec<GateDraft>,
}

/// Reads tables, and gathers what is wrong with them.
pub struct Reader<'a> {
    pub files: &'a [SourceText],
    pub findings: Vec<Finding>,
    pub unit: Unit,
}

impl<'a> Reader<'a> {
    pub const fn new(files: &'a [SourceText]) -> Self {
        Self { files, findings: Vec::new(), unit: Unit::Inch }
    }

    pub fn wrong(
        &mut self,
        spot: Spot,
        kind: &'static str,
        what: impl Into<String>,
        next: impl Into<String>,
    ) {
        self.findings.push(Finding::wrong(kind, what, next).at(spot.place(self.files)));
    }

    pub fn look(&mut self, spot: Spot, kind: &'static str, what: impl Into<String>, next: impl Into<String>) {
        self.findings.push(Finding::look(kind, what, next).at(spot.place(self.files)));
    }

    /// Reports the keys of `table` that its kind does not have.
    pub fn check_keys(&mut self, table: &Table, kind: &'static Kind) {
        for entry in &table.0 {
            if kind.keys.iter().any(|key| key.name == entry.key) {
                continue;
            }
            let next = match kind.nearest(&entry.key) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("{} has {}", kind.name, list(kind.keys.iter().map(|key| key.name))),
            };
            self.wrong(
                entry.key_spot,
                "unknown-key",
                format!("{} has no \"{}\"", kind.name, entry.key),
                next,
            );
        }
    }

    fn wrong_sort(&mut self, entry: &Entry, wanted: &str, example: &str) {
        let what = format!("\"{}\" is {}, and must be {wanted}", entry.key, entry.node.value.shown());
        self.wrong(entry.node.spot, "wrong-sort", what, format!("write {} = {example}", entry.key));
    }

    pub fn entry<'t>(table: &'t Table, key: &str) -> Option<&'t Entry> {
        table.0.iter().find(|entry| entry.key == key)
    }

    pub fn put_text(&mut self, table: &Table, key: &str) -> Option<PutText> {
        let entry = Self::entry(table, key)?;
        if let Value::Text(text) = &entry.node.value {
            return Some(Put { value: text.trim().to_owned(), spot: entry.node.spot });
        }
        self.wrong_sort(entry, "a text", "\"…\"");
        None
    }

    pub fn text(&mut self, table: &Table, key: &str) -> Option<String> {
        self.put_text(table, key).map(|put| put.value)
    }

    pub fn texts(&mut self, table: &Table, key: &str) -> Vec<PutText> {
        self.put_texts(table, key).map_or_else(Vec::new, |put| put.value)
    }

    pub fn put_texts(&mut self, table: &Table, key: &str) -> Option<Put<Vec<PutText>>> {
        let entry = Self::entry(table, key)?;
        let value = match &entry.node.value {
            // One name where a list may stand is what a builder writes first.
            Value::Text(text) => vec![Put { value: text.trim().to_owned(), spot: entry.node.spot }],
            Value::List(list) => self.texts_of(entry, list),
            _ => {
                self.wrong_sort(entry, "a list of texts", "[\"…\", \"…\"]");
                return None;
            }
        };
        Some(Put { value, spot: entry.node.spot })
    }

    fn texts_of(&mut self, entry: &Entry, list: &[Node]) -> Vec<PutText> {
        let mut texts = Vec::with_capacity(list.len());
        for node in list {
            match &node.value {
                Value::Text(text) => texts.push(Put { value: text.trim().to_owned(), spot: node.spot }),
                Value::Number(digits) => texts.push(Put { value: digits.clone(), spot: node.spot }),
                other => {
                    let what = format!("\"{}\" holds {}, and must hold texts", entry.key, other.shown());
                    self.wrong(
                        node.spot,
                        "wrong-sort",
                        what,
                        format!("write {} = [\"…\", \"…\"]", entry.key),
                    );
                }
            }
        }
        texts
    }

    pub fn flag(&mut self, table: &Table, key: &str) -> Option<bool> {
        let entry = Self::entry(table, key)?;
        if let Value::Bool(value) = entry.node.value {
            return Some(value);
        }
        self.wrong_sort(entry, "true or false", "true");
        None
    }

    pub fn number(&mut self, table: &Table, key: &str) -> Option<f64> {
        let entry = Self::entry(table, key)?;
        if let Value::Number(digits) = &entry.node.value
            && let Ok(number) = digits.replace('_', "").parse::<f64>()
            && number.is_finite()
            && number >= 0.0
        {
            return Some(number);
        }
        self.wrong_sort(entry, "a number, 0 or more", "1.5");
        None
    }

    /// A list of lengths, each above nothing.
    pub fn lengths(&mut self, table: &Table, key: &str) -> Option<Put<Vec<Length>>> {
        let entry = Self::entry(table, key)?;
        let Value::List(list) = &entry.node.value else {
            self.wrong_sort(entry, "a list of lengths", "[0.010, \"1/32\"]");
            return None;
        };
        let mut lengths = Vec::with_capacity(list.len());
        for node in list {
            let length = self.length_of(node)?;
            if length <= Length::ZERO {
                let what = format!("\"{key}\" holds a length that is not more than nothing");
                self.wrong(node.spot, "wrong-number", what, "write lengths above 0");
                return None;
            }
            lengths.push(length);
        }
        Some(Put { value: lengths, spot: entry.node.spot })
    }

    /// One of these words.
    pub fn word<'w>(&mut self, table: &Table, key: &str, words: &[&'w str]) -> Option<&'w str> {
        let put = self.put_text(table, key)?;
        let found = words.iter().copied().find(|word| *word == put.value);
        if found.is_none() {
            let next = nearest(&put.value, words.iter().copied()).map_or_else(
                || format!("write one of {}", list(words.iter().copied())),
                |near| format!("did you mean \"{near}\"?"),
            );
            self.wrong(put.spot, "wrong-word", format!("\"{key}\" cannot be \"{}\"", put.value), next);
        }
        found
    }

    pub fn count(&mut self, table: &Table, key: &str) -> Option<Put<u32>> {
        /// A row of more holes than this is a slip: the longest spar has some hundreds.
        const MOST: u32 = 100_000;
        let entry = Self::entry(table, key)?;
        if let Value::Number(digits) = &entry.node.value
            && let Ok(count) = digits.replace('_', "").parse::<u32>()
            && (1..=MOST).contains(&count)
        {
            return Some(Put { value: count, spot: entry.node.spot });
        }
        self.wrong_sort(entry, &format!("a whole number from 1 to {MOST}"), "12");
        None
    }

    /// A length: a number in the file's unit, or a text.
    pub fn length_of(&mut self, node: &Node) -> Option<Length> {
        let read = match &node.value {
            Value::Number(digits) => Length::read(&digits.replace('_', ""), self.unit),
            Value::Text(text) => Length::read(text, self.unit),
            other => {
                let what = format!("{} stands where a length must", other.shown());
                self.wrong(node.spot, "wrong-sort", what, "write 0.040, \"1/8\" or \"3.2 mm\"");
                return None;
            }
        };
        match read {
            Ok(length) if length.abs() < MOST => Some(length),
            Ok(length) => {
                let what = format!("{} is longer than any aeroplane part", length.show(self.unit));
                self.wrong(
                    node.spot,
                    "wrong-unit",
                    what,
                    format!("is the unit right? bare numbers are {} in this file", spelt(self.unit)),
                );
                None
            }
            Err(error) => {
                let text = error.to_string();
                let (what, next) =
                    text.rsplit_once(": ").unwrap_or((&text, "write 0.040, \"1/8\" or \"3.2 mm\""));
                self.wrong(node.spot, "wrong-number", what, next);
                None
            }
        }
    }

    pub fn length(&mut self, table: &Table, key: &str) -> Option<Put<Length>> {
        let node = &Self::entry(table, key)?.node;
        Some(Put { value: self.length_of(node)?, spot: node.spot })
    }

    /// A length that cannot be nothing or less.
    pub fn size(&mut self, table: &Table, key: &str) -> Option<Put<Length>> {
        let put = self.length(table, key)?;
        if put.value > Length::ZERO {
            return Some(put);
        }
        self.wrong(
            put.spot,
            "wrong-number",
            format!("\"{key}\" is not more than nothing"),
            "write a length above 0",
        );
        None
    }

    fn point_of(&mut self, node: &Node) -> Option<Point> {
        if let Value::List(list) = &node.value
            && let [x, y] = list.as_slice()
        {
            return Some(Point::new(self.length_of(x)?, self.length_of(y)?));
        }
        self.wrong(node.spot, "wrong-sort", "a point is two lengths, x and y", "write [1.5, \"1/2\"]");
        None
    }

    pub fn point(&mut self, table: &Table, key: &str) -> Option<Put<Point>> {
        let node = &Self::entry(table, key)?.node;
        Some(Put { value: self.point_of(node)?, spot: node.spot })
    }

    fn points(&mut self, table: &Table, key: &str) -> Option<Put<Vec<Point>>> {
        let entry = Self::entry(table, key)?;
        let Value::List(list) = &entry.node.value else {
            self.wrong_sort(entry, "a list of points", "[[1, 2], [3, 4]]");
            return None;
        };
        let points = list.iter().filter_map(|node| self.point_of(node)).collect();
        Some(Put { value: points, spot: entry.node.spot })
    }

    fn bends(&mut self, table: &Table) -> Vec<BendDraft> {
        let Some(entry) = Self::entry(table, "bends") else { return Vec::new() };
        let Value::List(list) = &entry.node.value else {
            self.wrong_sort(entry, "a list of lines", "[[[0, 1], [40, 1]]]");
            return Vec::new();
        };
        list.iter().filter_map(|node| self.bend(node)).collect()
    }

    /// A bend line, or a table that says the line and its flange.
    fn bend(&mut self, node: &Node) -> Option<BendDraft> {
        let Value::Table(table) = &node.value else {
            let line = self.line_of(node)?;
            return Some(BendDraft { line, part: None, side: None, height: None, lip: None });
        };
        self.check_keys(table, &keys::BEND);
        let bend = BendDraft {
            line: match table.get("line") {
                Some(line) => self.line_of(line)?,
                None => {
                    let next = "write line = [[0, 1], [40, 1]]";
                    self.wrong(node.spot, "no-figure", "this bend does not say its line", next);
                    return None;
                }
            },
            part: self.put_text(table, "part"),
            side: self.put_text(table, "side"),
            height: self.size(table, "height").map(|put| put.value),
            lip: self.size(table, "lip").map(|put| put.value),
        };
        let told = (table.get("side").is_some(), table.get("height").is_some());
        if matches!(told, (true, false) | (false, true))
            || (table.get("lip").is_some() && told != (true, true))
        {
            let next = "write side = the side it stands on, and height = how high, or neither";
            self.wrong(node.spot, "no-figure", "a flange has both a side and a height", next);
        }
        Some(bend)
    }

    fn line_of(&mut self, node: &Node) -> Option<[Point; 2]> {
        if let Value::List(ends) = &node.value
            && let [from, to] = ends.as_slice()
        {
            let (from, to) = (self.point_of(from), self.point_of(to));
            return Some([from?, to?]);
        }
        self.wrong(node.spot, "wrong-sort", "a line is two points", "write [[0, 1], [40, 1]]");
        None
    }

    /// Outlines that stand on a side of the plane.
    fn stands(&mut self, table: &Table) -> Vec<StandDraft> {
        const SHAPES: [&str; 3] = ["rect", "circle", "path"];
        let mut stands = Vec::new();
        for (name, table) in self.named(table, "stands", "what stands on a plane") {
            let mut rest = table.clone();
            let mut shapes = rest.clone();
            rest.0.retain(|entry| !SHAPES.contains(&entry.key.as_str()));
            shapes.0.retain(|entry| SHAPES.contains(&entry.key.as_str()));
            self.check_keys(&rest, &keys::STAND);
            let outline = if let [entry] = shapes.0.as_slice() {
                self.outline(entry)
            } else {
                let what = format!("{} has not one outline of rect, circle and path", name.value);
                let next = "write rect = [x, y, width, height], beside side and height";
                self.wrong(name.spot, "wrong-shape", what, next);
                None
            };
            let side = self.put_text(table, "side");
            let height = self.size(table, "height").map(|put| put.value);
            for key in ["side", "height"] {
                if table.get(key).is_none() {
                    let what = format!("{} does not say its {key}", name.value);
                    let next = "write side = the side it stands on, and height = how high";
                    self.wrong(name.spot, "no-figure", what, next);
                }
            }
            let from = self.put_text(table, "from");
            let note = self.text(table, "note");
            if let (Some(outline), Some(side), Some(height)) = (outline, side, height) {
                stands.push(StandDraft { name, outline, side, height, from, note });
            }
        }
        stands
    }

    /// Shapes by part: one, or a list of them.
    fn shapes(&mut self, table: &Table, key: &str) -> Vec<(PutText, Vec<Loop>)> {
        let Some(named) = self.table(table, key) else { return Vec::new() };
        let mut shapes = Vec::new();
        for entry in &named.0 {
            let nodes: &[Node] = match &entry.node.value {
                Value::List(list) => list,
                _ => std::slice::from_ref(&entry.node),
            };
            let loops: Vec<Loop> = nodes.iter().filter_map(|node| self.shape(node)).collect();
            shapes.push((Put { value: entry.key.clone(), spot: entry.key_spot }, loops));
        }
        shapes
    }

    fn shape(&mut self, node: &Node) -> Option<Loop> {
        let Value::Table(table) = &node.value else {
            self.wrong(
                node.spot,
                "wrong-sort",
                format!("{} stands where a shape must", node.value.shown()),
                HOW,
            );
            return None;
        };
        let [entry] = table.0.as_slice() else {
            self.wrong(node.spot, "wrong-sort", "a shape is one of rect, circle and path", HOW);
            return None;
        };
        self.outline(entry)
    }

    /// One of `rect`, `circle` and `path`.
    fn outline(&mut self, entry: &Entry) -> Option<Loop> {
        let Value::List(list) = &entry.node.value else {
            self.wrong(entry.node.spot, "wrong-sort", format!("\"{}\" must be a list", entry.key), HOW);
            return None;
        };
        match entry.key.as_str() {
            "rect" | "circle" => {
                let numbers: Vec<Length> = list.iter().filter_map(|node| self.length_of(node)).collect();
                if numbers.len() < list.len() {
                    return None; // What is wrong with a number has been said.
                }
                let wanted = if entry.key == "rect" { 4 } else { 3 };
                if numbers.len() != wanted {
                    let what = format!("a {} is {wanted} lengths, and here are {}", entry.key, numbers.len());
                    self.wrong(entry.node.spot, "wrong-shape", what, HOW);
                    return None;
                }
                match (entry.key.as_str(), numbers.as_slice()) {
                    ("rect", &[x, y, width, height]) if width > Length::ZERO && height > Length::ZERO => {
                        Some(Loop::rectangle(x, y, width, height))
                    }
                    ("circle", &[x, y, diameter]) if diameter > Length::ZERO => {
                        Some(Loop::circle(Point::new(x, y), diameter))
                    }
                    _ => {
                        let what = format!("this {} does not enclose anything", entry.key);
                        self.wrong(entry.node.spot, "wrong-shape", what, HOW);
                        None
                    }
                }
            }
            "path" => {
                let corners: Vec<Corner> = list.iter().filter_map(|node| self.corner(node)).collect();
                if corners.len() < list.len() {
                    return None;
                }
                match Loop::new(corners) {
                    Ok(shape) => Some(shape),
                    Err(error) => {
                        self.wrong(entry.node.spot, "wrong-shape", error.to_string(), HOW);
                        None
                    }
                }
            }
            _ => {
                let next = nearest(&entry.key, ["rect", "circle", "path"])
                    .map_or_else(|| HOW.to_owned(), |near| format!("did you mean \"{near}\"?"));
                self.wrong(entry.key_spot, "unknown-key", format!("a shape has no \"{}\"", entry.key), next);
                None
            }
        }
    }

    fn corner(&mut self, node: &Node) -> Option<Corner> {
        if let Value::List(list) = &node.value {
            match list.as_slice() {
                [x, y] => {
                    return Some(Corner {
                        at: Point::new(self.length_of(x)?, self.length_of(y)?),
                        bulge: 0.0,
                    });
                }
                [x, y, bulge] => {
                    let at = Point::new(self.length_of(x)?, self.length_of(y)?);
                    if let Value::Number(digits) = &bulge.value
                        && let Ok(bulge) = digits.parse::<f64>()
                        && bulge.abs() < 1000.0
                    {
                        return Some(Corner { at, bulge });
                    }
                }
                _ => {}
            }
        }
        let next = "write [x, y], or [x, y, bulge] where an arc goes to the next corner";
        self.wrong(node.spot, "wrong-sort", "a corner is two lengths and, for an arc, its bulge", next);
        None
    }

    pub fn table<'t>(&mut self, table: &'t Table, key: &str) -> Option<&'t Table> {
        let entry = Self::entry(table, key)?;
        if let Value::Table(inner) = &entry.node.value {
            return Some(inner);
        }
        self.wrong_sort(entry, "a table", "{ … }");
        None
    }

    /// The named tables behind a key, those that are tables.
    pub fn named<'t>(&mut self, table: &'t Table, key: &str, what: &str) -> Vec<(PutText, &'t Table)> {
        let Some(named) = self.table(table, key) else { return Vec::new() };
        let mut tables = Vec::with_capacity(named.0.len());
        for entry in &named.0 {
            let Value::Table(inner) = &entry.node.value else {
                let message =
                    format!("\"{}\" is {}, and must be {what}", entry.key, entry.node.value.shown());
                self.wrong(entry.node.spot, "wrong-sort", message, format!("write {} = {{ … }}", entry.key));
                continue;
            };
            let name = Put { value: entry.key.clone(), spot: entry.key_spot };
            if self.check_name(&name) {
                tables.push((name, inner));
            }
        }
        tables
    }

    /// Whether a name can be used in references; says so where it cannot.
    fn check_name(&mut self, name: &PutText) -> bool {
        let Some(fault) = name_fault(&name.value) else { return true };
        let what = format!("the name \"{}\" {fault}", name.value);
        self.wrong(name.spot, "wrong-name", what, "use letters, digits, - and _, for example rib-2");
        false
    }

    fn prep(&mut self, table: &Table) -> Vec<(PutText, Preparation)> {
        let Some(named) = self.table(table, "prep") else { return Vec::new() };
        let mut prep = Vec::new();
        for entry in &named.0 {
            let Value::Text(word) = &entry.node.value else {
                self.wrong_sort(entry, "plain, dimpled or countersunk", "\"dimpled\"");
                continue;
            };
            match Preparation::read(word) {
                Some(how) => prep.push((Put { value: entry.key.clone(), spot: entry.key_spot }, how)),
                None => {
                    let next = nearest(word, Preparation::WORDS).map_or_else(
                        || format!("write one of {}", list(Preparation::WORDS)),
                        |near| format!("did you mean \"{near}\"?"),
                    );
                    self.wrong(
                        entry.node.spot,
                        "wrong-word",
                        format!("\"{word}\" is not a preparation"),
                        next,
                    );
                }
            }
        }
        prep
    }

    /// Checks `format` and takes the unit of bare numbers.
    pub fn head_of_file(&mut self, file: u16, table: &Table, kind: &'static Kind) {
        match self.count(table, "format") {
            Some(put) if put.value != 1 => {
                let what = format!("format {} is not known", put.value);
                self.wrong(
                    put.spot,
                    "format",
                    what,
                    "this faying reads format 1: write format = 1, or read the file with a newer faying",
                );
            }
            None if table.get("format").is_none() => {
                let spot = table.0.first().map_or(Spot { file, start: 0, end: 0 }, |entry| entry.key_spot);
                self.look(
                    spot,
                    "format",
                    format!("{} does not say its format", kind.name),
                    "write format = 1 in the first line",
                );
            }
            _ => {}
        }
        self.unit = Unit::Inch;
        if let Some(put) = self.put_text(table, "units") {
            match put.value.as_str() {
                "in" => {}
                "mm" => self.unit = Unit::Millimetre,
                other => self.wrong(
                    put.spot,
                    "wrong-unit",
                    format!("\"{other}\" is not a unit of a plan"),
                    "write units = \"in\" or units = \"mm\"",
                ),
            }
        }
    }

    /// Reads one assembly, or gives none where the file has no `id` to call it by.
    pub fn assembly(&mut self, file: u16, table: &Table) -> Option<AssemblyDraft> {
        self.check_keys(table, &keys::ASSEMBLY);
        self.head_of_file(file, table, &keys::ASSEMBLY);
        if let Some(differs) = Self::entry(table, "differs")
            && table.get("mirror").is_none()
        {
            self.wrong(
                differs.key_spot,
                "mirror",
                "\"differs\" stands without `mirror`, and is not read",
                "write mirror = the assembly this is the other hand of, or move the keys out of [differs]",
            );
        }
        let Some(id) = self.put_text(table, "id") else {
            if table.get("id").is_none() {
                let spot = table.0.first().map_or(Spot { file, start: 0, end: 0 }, |entry| entry.key_spot);
                self.wrong(
                    spot,
                    "no-id",
                    "this file does not say which assembly it is",
                    "write id = \"flap-left\", its short name",
                );
            }
            return None;
        };
        if let Some(fault) = name_fault(&id.value) {
            let what = format!("the id \"{}\" {fault}", id.value);
            self.wrong(id.spot, "wrong-name", what, "use letters, digits, - and _, for example flap-left");
            return None;
        }
        let usual = self.table(table, "usual").map(|usual| self.usual(usual)).unwrap_or_default();
        Some(AssemblyDraft {
            id,
            title: self.text(table, "title"),
            unit: self.unit,
            mirror: self.put_text(table, "mirror"),
            file,
            note: self.text(table, "note"),
            usual,
            parts: self
                .named(table, "parts", "a part")
                .into_iter()
                .map(|(name, t)| self.part(name, t))
                .collect(),
            planes: self
                .named(table, "planes", "a plane")
                .into_iter()
                .map(|(name, t)| self.plane(name, t))
                .collect(),
            rows: self.named(table, "rows", "a row").into_iter().map(|(name, t)| self.row(name, t)).collect(),
            bays: self.bays(table),
            steps: self
                .named(table, "steps", "a step")
                .into_iter()
                .map(|(name, t)| self.step(name, t))
                .collect(),
            gates: self
                .named(table, "gates", "a gate")
                .into_iter()
                .map(|(name, t)| self.gate(name, t))
                .collect(),
        })
    }

    fn usual(&mut self, table: &Table) -> UsualDraft {
        self.check_keys(table, &keys::USUAL);
        UsualDraft {
            rivet: self.put_text(table, "rivet"),
            head: self.put_text(table, "head"),
            hole: self.size(table, "hole").map(|put| put.value),
            prep: self.prep(table),
        }
    }

    fn part(&mut self, name: PutText, table: &Table) -> PartDraft {
        self.check_keys(table, &keys::PART);
        let thickness = self.size(table, "thickness");
        if let Some(put) = &thickness {
            self.check_thickness(put);
        }
        PartDraft {
            title: self.text(table, "title"),
            material: self.put_text(table, "material"),
            thickness,
            finish: self.text(table, "finish"),
            copies: {
                let mut copies = self.texts(table, "copies");
                copies.retain(|copy| self.check_name(copy));
                copies
            },
            number: self.text(table, "number"),
            note: self.text(table, "note"),
            name,
        }
    }

    /// A sheet outside .008 to .5 in is nearly always written in the wrong unit.
    fn check_thickness(&mut self, put: &Put<Length>) {
        let inches = put.value.inches();
        if (0.008..=0.5).contains(&inches) {
            return;
        }
        let other = match self.unit {
            Unit::Inch => Unit::Millimetre,
            Unit::Millimetre => Unit::Inch,
        };
        let number = match self.unit {
            Unit::Inch => put.value.decimal(),
            Unit::Millimetre => put.value.metric(),
        };
        self.look(
            put.spot,
            "wrong-unit",
            format!("a sheet {} thick", put.value.show(self.unit)),
            format!("if {} were meant, write \"{number} {}\"", spelt(other), other.symbol()),
        );
    }

    fn plane(&mut self, name: PutText, table: &Table) -> PlaneDraft {
        self.check_keys(table, &keys::PLANE);
        PlaneDraft {
            title: self.text(table, "title"),
            near: self.put_text(table, "near"),
            far: self.put_text(table, "far"),
            layers: self.texts(table, "layers"),
            outlines: self.shapes(table, "outline"),
            cuts: self.shapes(table, "cut"),
            bends: self.bends(table),
            stands: self.stands(table),
            rows: self.named(table, "rows", "a row").into_iter().map(|(name, t)| self.row(name, t)).collect(),
            note: self.text(table, "note"),
            name,
        }
    }

    fn row(&mut self, name: PutText, table: &Table) -> RowDraft {
        self.check_keys(table, &keys::ROW);
        let found = self.findings.len();
        let from = self.point(table, "from");
        let to = self.point(table, "to");
        let count = self.count(table, "count");
        let pitch = self.size(table, "pitch");
        let at = self.points(table, "at");
        let like = self.put_text(table, "like");
        let shift = self.point(table, "shift");
        let same = self.put_text(table, "same");
        RowDraft {
            from,
            to,
            count,
            pitch,
            at,
            like,
            shift,
            same,
            faulty: self.findings.len() > found,
            rivet: self.put_text(table, "rivet"),
            called: self.put_text(table, "called"),
            head: self.put_text(table, "head"),
            prep: self.prep(table),
            through: self.put_texts(table, "through"),
            hole: self.size(table, "hole").map(|put| put.value),
            clearance: self.size(table, "clearance").map(|put| put.value),
            hold: self.hold(table),
            attach: self.attach(table),
            note: self.text(table, "note"),
            name,
        }
    }

    fn hold(&mut self, table: &Table) -> Option<HoldDraft> {
        let spot = table.get("hold")?.spot;
        let hold = self.table(table, "hold")?;
        self.check_keys(hold, &keys::HOLD);
        Some(HoldDraft { until: self.put_text(hold, "until"), why: self.text(hold, "why"), spot })
    }

    fn attach(&mut self, table: &Table) -> Option<AttachDraft> {
        let spot = table.get("attach")?.spot;
        let attach = self.table(table, "attach")?;
        self.check_keys(attach, &keys::ATTACH);
        Some(AttachDraft {
            rivet: self.put_text(attach, "rivet"),
            each: self.count(attach, "each").map(|put| put.value),
            spot,
        })
    }

    fn bays(&mut self, table: &Table) -> Vec<BayDraft> {
        let Some(named) = self.table(table, "bays") else { return Vec::new() };
        named
            .0
            .iter()
            .map(|entry| BayDraft {
                name: Put { value: entry.key.clone(), spot: entry.key_spot },
                sides: self.texts(named, &entry.key),
            })
            .collect::<Vec<_>>()
            .into_iter()
            .filter(|bay| self.check_name(&bay.name))
            .collect()
    }

    fn step(&mut self, name: PutText, table: &Table) -> StepDraft {
        self.check_keys(table, &keys::STEP);
        StepDraft {
            title: self.text(table, "title"),
            sheet: self.text(table, "sheet"),
            adds: self.texts(table, "adds"),
            sets: self.texts(table, "sets"),
            closes: self.texts(table, "closes"),
            after: self.texts(table, "after"),
            hours: self.number(table, "hours"),
            work: self.word(table, "work", keys::WORKS).and_then(Work::read),
            parts: self.texts(table, "parts"),
            rows: self.texts(table, "rows"),
            people: self.count(table, "people").map(|put| put.value),
            tools: self.texts(table, "tools"),
            cure_hours: self.number(table, "cure"),
            bench: self.count(table, "bench").map(|put| put.value),
            note: self.text(table, "note"),
            name,
        }
    }

    pub fn gate(&mut self, name: PutText, table: &Table) -> GateDraft {
        self.check_keys(table, &keys::GATE);
        GateDraft {
            title: self.text(table, "title"),
            before: self.put_text(table, "before"),
            after: self.texts(table, "after"),
            covers: self.texts(table, "covers"),
            needs: self.texts(table, "needs"),
            structure: self.flag(table, "structure"),
            rule: self.text(table, "rule"),
            note: self.text(table, "note"),
            name,
        }
    }
}

const HOW: &str =
    "write { rect = [x, y, width, height] }, { circle = [x, y, diameter] } or { path = [[x, y], …] }";

/// Lengths beyond this are slips; it also keeps sums of lengths far inside an `i64`.
const MOST: Length = Length::from_nanometres(100_000_000_000);

/// What is wrong with a name that is used in references, if anything.
pub fn name_fault(name: &str) -> Option<&'static str> {
    if name.is_empty() {
        return Some("is empty");
    }
    if name.chars().count() > 60 {
        return Some("is longer than 60 characters");
    }
    if name.chars().any(|c| matches!(c, '/' | ':' | '"' | '\\') || c.is_control() || c.is_whitespace()) {
        return Some("has a blank or one of / : \" \\ in it");
    }
    None
}

/// The unit in words, for a sentence.
const fn spelt(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "inches",
        Unit::Millimetre => "millimetres",
    }
}

/// `a, b and c`.
pub fn list<'t>(words: impl IntoIterator<Item = &'t str>) -> String {
    let words: Vec<&str> = words.into_iter().collect();
    match words.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

/// A short name as it is spoken: `flap-left` is "Flap left".
pub fn spoken(name: &str) -> String {
    let text = name.replace(['-', '_'], " ");
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => text,
    }
}
