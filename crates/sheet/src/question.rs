//! A question to whoever decides about a fault: one page from which it can be answered.
//!
//! Everything on it is handed in as words and numbers; the page places them.
//! It is one page always. What does not fit is first set smaller, then cut in
//! an order that keeps what an answer needs longest, and every cut says so.
//! There is a blank for the answer and no box to tick: a tick would be an
//! approval, and what is asked for is a sentence with a name under it.
//!
//! The list of marks knows no pictures, so photographs are named and are found
//! by the QR code, on the page of the fault.

mod cut_out;

use std::cell::RefCell;
use std::collections::HashMap;

use crate::document::{Date, Document, Paper};
use crate::marks::{Anchor, Drawing, Mark, Role, Stroke, Text};
use crate::page::{MARGIN, fitted, measure};
use crate::qr::{self, QrError};
use crate::section::{SectionInput, section_drawing};
use crate::text::{width, wrap_tight};

pub use cut_out::{CutHole, CutOut, Dimension, End};

/// Who is asked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Asked {
    /// Whoever designed the kit.
    #[default]
    Designer,
    /// The inspector.
    Inspector,
    /// The authority.
    Authority,
}

impl Asked {
    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Designer => "designer",
            Self::Inspector => "inspector",
            Self::Authority => "authority",
        }
    }
}

/// One thing as it was planned and as it is found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Compared {
    /// What it is: "Edge distance".
    pub what: String,
    /// As planned: ".250 in, 2.0 d"; empty where the plan has nothing.
    pub planned: String,
    /// As found, with instrument and uncertainty: ".172 in ± .005, caliper"; empty where it was not looked at.
    pub there: String,
}

/// What one rule says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RuleLine {
    /// The rule and its place: "MIL-R-47196A, 3.3.2".
    pub rule: String,
    /// What it asks.
    pub asks: String,
    /// What was read.
    pub reading: String,
    /// What it says of the reading.
    pub says: String,
    /// Whether it is the one that rules this build; it is put first and marked.
    pub ruling: bool,
}

/// Strength at one place.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StrengthLine {
    /// Where: "hole A 18", "row A", "group of 6".
    pub place: String,
    /// As planned, with unit and governing mode.
    pub planned: String,
    /// As built, likewise.
    pub built: String,
    /// As built over as planned; none is printed as "no figure".
    pub ratio: Option<String>,
    /// What was left out, or why there is no figure.
    pub left_out: String,
}

/// A way that was considered.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OptionLine {
    /// What would be done: "next size, MS20470AD5".
    pub option: String,
    /// The hole it needs.
    pub hole: String,
    /// Edge distance it leaves, in diameters.
    pub edge: String,
    /// Pitch it leaves, in diameters.
    pub pitch: String,
    /// What else it does.
    pub effect: String,
}

/// What the page says; empty words are left out.
#[derive(Clone)]
pub struct Question<'q> {
    /// Who is asked.
    pub asked: Asked,
    /// Name of the build.
    pub build: String,
    /// Title of the assembly.
    pub assembly: String,
    /// Plane and side in view: "web, seen from aft".
    pub plane: String,
    /// Names of the holes: "A 17 to 19".
    pub holes: String,
    /// Where this stands in the builder's own plans.
    pub sheet: String,
    /// Plan revision.
    pub revision: String,
    /// The day it was made.
    pub date: Date,
    /// Who it is from, for the file's properties.
    pub author: String,
    /// Address of the page of the fault, printed as a QR code; none is printed where it is empty.
    pub address: String,
    /// What is wrong, in a sentence.
    pub fault: String,
    /// What is asked, in the builder's words.
    pub asks: String,
    /// The part of the plane round the fault; left out where none of its holes has a place.
    pub cut_out: Option<CutOut<'q>>,
    /// The section at the hole; its width and its key are set here.
    pub section: Option<SectionInput>,
    /// What of the section is as planned and what as measured.
    pub section_says: String,
    /// As planned beside as found.
    pub compared: Vec<Compared>,
    /// The rules.
    pub rules: Vec<RuleLine>,
    /// What is published otherwise.
    pub published: Vec<String>,
    /// What was not checked.
    pub unchecked: Vec<String>,
    /// The numbers.
    pub strength: Vec<StrengthLine>,
    /// How they come about.
    pub working: Vec<String>,
    /// The options.
    pub options: Vec<OptionLine>,
    /// Count of repairs against their limit, and what was removed from the hole before.
    pub repairs: Vec<String>,
    /// File names of the photographs.
    pub photographs: Vec<String>,
    /// The gate it stands against: "closing the left flap"; empty for none.
    pub gate: String,
}

/// Marks drawn from the origin, and the height they take, px.
type Block = (Vec<Mark>, f64);

/// How large everything is, px.
#[derive(Clone, Copy)]
struct Level {
    /// Running text.
    size: f64,
    /// Lines of a cell before it is cut short.
    lines: usize,
    /// Greatest height of the drawings; none are drawn where it is nothing.
    picture: f64,
    /// Ruled lines for the answer, at least.
    answer: usize,
}

/// From airy to crowded; 9.5 px is 7.1 pt, below which a copy of a copy is not read.
const LEVELS: [Level; 10] = [
    Level { size: 12.5, lines: 9, picture: 320.0, answer: 7 },
    Level { size: 12.0, lines: 8, picture: 290.0, answer: 6 },
    Level { size: 11.0, lines: 7, picture: 260.0, answer: 5 },
    Level { size: 10.5, lines: 6, picture: 240.0, answer: 4 },
    Level { size: 10.0, lines: 5, picture: 225.0, answer: 4 },
    Level { size: 10.0, lines: 5, picture: 205.0, answer: 3 },
    Level { size: 9.5, lines: 5, picture: 190.0, answer: 3 },
    Level { size: 9.5, lines: 4, picture: 170.0, answer: 3 },
    Level { size: 9.5, lines: 2, picture: 140.0, answer: 3 },
    // A section of many sheets can be too high for any of these.
    Level { size: 9.5, lines: 2, picture: 0.0, answer: 3 },
];
/// From this level on words are cut: they cannot be set smaller any more.
const CUT_FROM: usize = 7;

/// A list on the page that can be cut.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Compared,
    Rules,
    Published,
    Unchecked,
    Strength,
    Working,
    Options,
    Repairs,
    Photographs,
}

impl Part {
    /// All, as they stand on the page.
    const ALL: [Self; 9] = [
        Self::Compared,
        Self::Rules,
        Self::Published,
        Self::Unchecked,
        Self::Strength,
        Self::Working,
        Self::Options,
        Self::Repairs,
        Self::Photographs,
    ];
}

/// What is given up first, and down to how many: an answer needs the readings and the ruling rule most.
const CUTS: [(Part, usize); 21] = [
    (Part::Working, 2),
    (Part::Photographs, 2),
    (Part::Published, 1),
    (Part::Working, 0),
    (Part::Repairs, 2),
    (Part::Options, 4),
    (Part::Unchecked, 3),
    (Part::Published, 0),
    (Part::Rules, 3),
    (Part::Strength, 3),
    (Part::Compared, 6),
    (Part::Options, 2),
    (Part::Repairs, 1),
    (Part::Unchecked, 1),
    (Part::Rules, 1),
    (Part::Strength, 1),
    (Part::Compared, 3),
    (Part::Photographs, 0),
    (Part::Options, 1),
    (Part::Compared, 1),
    (Part::Repairs, 0),
];

/// How much of each list is kept.
type Kept = [usize; 9];

/// Gives up as much as must be, and takes back what there is room for after all; whether it fits then.
///
/// # Units
/// - `height`: px that a list takes when so many of it are kept
/// - `room`: px for all of them
fn cut(kept: &mut Kept, cuts: &[(Part, usize)], height: &dyn Fn(Part, usize) -> f64, room: f64) -> bool {
    let all = *kept;
    let mut total: f64 = Part::ALL.iter().map(|&part| height(part, kept[part as usize])).sum();
    // The most between two counts that fits, if the least does.
    let most = |part: Part, least: usize, most: usize, others: f64| {
        let fits = |count: usize| others + height(part, count) <= room;
        if fits(most) {
            return most;
        }
        let (mut low, mut high) = (least, most);
        while low + 1 < high {
            let middle = usize::midpoint(low, high);
            if fits(middle) { low = middle } else { high = middle }
        }
        low
    };
    for &(part, floor) in cuts {
        let now = kept[part as usize];
        if total > room && now > floor {
            let others = total - height(part, now);
            kept[part as usize] = most(part, floor, now, others);
            total = others + height(part, kept[part as usize]);
        }
    }
    if total > room {
        return false;
    }
    // A list of one short line takes no less room when it is cut.
    for &(part, _) in cuts.iter().rev() {
        let now = kept[part as usize];
        let others = total - height(part, now);
        kept[part as usize] = most(part, now, all[part as usize], others);
        total = others + height(part, kept[part as usize]);
    }
    true
}

fn taken(blocks: &[Block]) -> f64 {
    blocks.iter().map(|block| block.1).sum()
}

/// More rows than this stand on no page at any size.
const MOST_ROWS: usize = 60;
/// Base line to base line, of the size.
const LEADING: f64 = 1.22;
/// Side of the QR code, px.
const CODE: f64 = 88.0;
/// Between two ruled lines of the answer, px: room for handwriting.
const RULED: f64 = 23.0;
/// Between the two drawings, px.
const BETWEEN: f64 = 14.0;
/// Below this the section is too small to read, px of drawing to px of paper.
const LEAST_SECTION: f64 = 0.7;
/// Where the section's scale bar stands, and the words below it, px.
const SECTION_EDGE: f64 = 6.0;
/// What stands in a table without a row.
const NOTHING: &str = "Nothing is written down.";
/// Where a cut leads.
const MORE: &str = "on the page of the fault";

impl Question<'_> {
    /// A question of a day, with nothing on it yet.
    #[must_use]
    pub const fn of(date: Date) -> Self {
        Self {
            asked: Asked::Designer,
            build: String::new(),
            assembly: String::new(),
            plane: String::new(),
            holes: String::new(),
            sheet: String::new(),
            revision: String::new(),
            date,
            author: String::new(),
            address: String::new(),
            fault: String::new(),
            asks: String::new(),
            cut_out: None,
            section: None,
            section_says: String::new(),
            compared: Vec::new(),
            rules: Vec::new(),
            published: Vec::new(),
            unchecked: Vec::new(),
            strength: Vec::new(),
            working: Vec::new(),
            options: Vec::new(),
            repairs: Vec::new(),
            photographs: Vec::new(),
            gate: String::new(),
        }
    }

    /// The page.
    ///
    /// # Errors
    /// [`QrError`] if the address is too long for a code that a phone reads.
    pub fn page(&self, paper: Paper) -> Result<Document, QrError> {
        let [wide, high] = paper.px();
        let room = high - 2.0 * MARGIN;
        let mut composed = Vec::new();
        for (index, level) in LEVELS.iter().enumerate() {
            let mut above = vec![self.head(level, measure(paper))?];
            above.extend(self.pictures(level, measure(paper)));
            let fixed = taken(&above) + self.least_answer(level, measure(paper));
            let known = RefCell::new(HashMap::new());
            let height = |part: Part, count: usize| {
                let look_up = known.borrow().get(&(part as usize, count)).copied();
                look_up.unwrap_or_else(|| {
                    let height = taken(&self.list(part, count, level, measure(paper)));
                    known.borrow_mut().insert((part as usize, count), height);
                    height
                })
            };
            let mut kept = self.all();
            let cuts: &[(Part, usize)] = if index < CUT_FROM { &[] } else { &CUTS };
            let fit = cut(&mut kept, cuts, &height, room - fixed);
            composed = above;
            for part in Part::ALL {
                composed.extend(self.list(part, kept[part as usize], level, measure(paper)));
            }
            composed.push(self.answer(room - taken(&composed), measure(paper)));
            if fit {
                break;
            }
        }
        let mut marks = Vec::new();
        let mut top = MARGIN;
        for (block, height) in composed {
            marks.extend(block.into_iter().map(|mark| mark.placed([MARGIN, top], 1.0)));
            top += height;
        }
        let title = format!("{}: {}, {}", self.title(), self.assembly, self.holes);
        let page = Drawing {
            key: "question".to_owned(),
            width: wide,
            height: high,
            title: title.clone(),
            description: format!("A printed page, {}.", paper.name()),
            marks,
        };
        Ok(Document { title, author: self.author.clone(), date: self.date, pages: vec![page] })
    }

    fn title(&self) -> String {
        format!("Question to the {}", self.asked.word())
    }

    fn count(&self, part: Part) -> usize {
        match part {
            Part::Compared => self.compared.len(),
            Part::Rules => self.rules.len(),
            Part::Published => self.published.len(),
            Part::Unchecked => self.unchecked.len(),
            Part::Strength => self.strength.len(),
            Part::Working => self.working.len(),
            Part::Options => self.options.len(),
            Part::Repairs => self.repairs.len(),
            Part::Photographs => self.photographs.len(),
        }
    }

    fn all(&self) -> Kept {
        Part::ALL.map(|part| self.count(part).min(MOST_ROWS))
    }

    fn head(&self, level: &Level, full: f64) -> Result<Block, QrError> {
        let mut marks = Vec::new();
        let mut words = full;
        if !self.address.is_empty() {
            words -= CODE + 12.0;
            // The quiet zone may stand in the margin.
            marks.push(qr::code(&self.address, [full - CODE + 8.0, -8.0], CODE)?);
        }
        marks.push(Mark::Text(Text::new([0.0, 19.0], 23.0, self.title()).heavy()));
        let date = Text::new([words, 19.0], 12.0, self.date.to_string()).anchored(Anchor::End);
        marks.push(Mark::Text(date));
        let mut y = 27.0;
        let most = level.lines.min(3);
        for (text, size, bold) in [(&self.fault, 14.0, true), (&self.asks, 12.5, false)] {
            for line in clipped(text, size, words, most, true).0 {
                y += size * LEADING;
                let line = Text::new([0.0, y], size, line);
                marks.push(Mark::Text(if bold { line.heavy() } else { line }));
            }
            y += 3.0;
        }
        if !self.address.is_empty() {
            y = y.max(CODE - 12.0);
            let with = if self.photographs.is_empty() { "" } else { ", with the photographs" };
            let words = format!("Page of the fault{with}: {}", self.address);
            let size = fitted(&words, [7.5, 9.0], full);
            y += size + 1.0;
            let line = one_line(&words, size, full);
            marks.push(Mark::Text(
                Text::new([full, y], size, line).anchored(Anchor::End).coloured(Role::Faint),
            ));
        }
        y += 5.0;
        let cells = [
            ("Holes", &self.holes),
            ("Build", &self.build),
            ("Assembly", &self.assembly),
            ("Plane", &self.plane),
            ("Sheet", &self.sheet),
            ("Plan revision", &self.revision),
        ];
        y += self::cells(&mut marks, &cells, y, full) + 8.0;
        Ok((marks, y))
    }

    /// The cut-out and the section, beside each other where there are both.
    fn pictures(&self, level: &Level, full: f64) -> Option<Block> {
        let shown = self.cut_out.as_ref().filter(|cut_out| cut_out.is_drawn());
        if level.picture <= 0.0 {
            let any = shown.is_some() || self.section.is_some();
            return any.then(|| small(&format!("The drawings are {MORE}."), level));
        }
        let room = [full, level.picture];
        let section = self.section.as_ref().map(|input| {
            let most = if shown.is_some() { 0.5 * (full - BETWEEN) } else { full };
            placed_section(input, &self.section_says, level, [most, level.picture])
        });
        let beside = section.as_ref().map_or(0.0, |section| section.width);
        let cut_out = shown.map(|cut_out| {
            let wide = if section.is_some() { full - beside - BETWEEN } else { full };
            cut_out.drawing([wide, room[1]])
        });
        let mut marks = Vec::new();
        let mut height: f64 = 0.0;
        let mut left = 0.0;
        for drawing in [cut_out, section].into_iter().flatten() {
            height = height.max(drawing.height);
            marks.extend(drawing.marks.iter().map(|mark| mark.clone().placed([left, 0.0], 1.0)));
            left += drawing.width + BETWEEN;
        }
        (!marks.is_empty()).then_some((marks, height + 2.0))
    }

    /// A list with its heading, cut to what is kept of it.
    fn list(&self, part: Part, kept: usize, level: &Level, full: f64) -> Vec<Block> {
        let note = |name: &str, items: &[String]| note(name, items, kept, level, full).into_iter().collect();
        let table = |title: &str, columns: &[(&str, f64)], rows: &[Row], nothing: &str| {
            let mut blocks = vec![heading(title, level, full)];
            if rows.is_empty() {
                blocks.push(small(nothing, level));
            } else {
                blocks.extend(table(columns, rows, kept, level, full));
            }
            blocks
        };
        match part {
            Part::Compared => {
                let dash = |words: &str| if words.is_empty() { "–".to_owned() } else { words.to_owned() };
                let row =
                    |it: &Compared| Row::plain(vec![it.what.clone(), dash(&it.planned), dash(&it.there)]);
                let rows: Vec<Row> = self.compared.iter().map(row).collect();
                let columns = [("", 1.5), ("Planned", 2.7), ("There", 3.4)];
                table("What was planned, and what is there", &columns, &rows, NOTHING)
            }
            Part::Rules => {
                let mut rules: Vec<&RuleLine> = self.rules.iter().collect();
                rules.sort_by_key(|rule| !rule.ruling);
                let row = |it: &RuleLine| {
                    let end = if it.ruling { " – rules this build" } else { "" };
                    let cells = vec![
                        format!("{}{end}", it.rule),
                        it.asks.clone(),
                        it.reading.clone(),
                        it.says.clone(),
                    ];
                    Row { cells, marked: it.ruling }
                };
                let rows: Vec<Row> = rules.into_iter().map(row).collect();
                let columns = [("Rule", 2.2), ("Asks", 2.2), ("Reading", 1.7), ("Says", 2.4)];
                table("What the rules say", &columns, &rows, NOTHING)
            }
            Part::Published => note("Published otherwise", &self.published),
            Part::Unchecked => note("Not checked", &self.unchecked),
            Part::Strength => {
                let row = |it: &StrengthLine| {
                    let ratio = it.ratio.clone().unwrap_or_else(|| "no figure".to_owned());
                    let [place, planned, built, out] =
                        [&it.place, &it.planned, &it.built, &it.left_out].map(Clone::clone);
                    Row::plain(vec![place, planned, built, ratio, out])
                };
                let rows: Vec<Row> = self.strength.iter().map(row).collect();
                let columns = [
                    ("Where", 1.5),
                    ("As planned", 1.9),
                    ("As built", 1.9),
                    ("Built / planned", 1.2),
                    ("Left out", 3.0),
                ];
                table("Strength, as built over as planned", &columns, &rows, "No figure.")
            }
            Part::Working => note("Working", &self.working),
            Part::Options => {
                let row = |it: &OptionLine| {
                    let cells = [&it.option, &it.hole, &it.edge, &it.pitch, &it.effect];
                    Row::plain(cells.map(Clone::clone).to_vec())
                };
                let rows: Vec<Row> = self.options.iter().map(row).collect();
                let columns =
                    [("Option", 2.3), ("Hole", 1.1), ("Edge distance", 1.2), ("Pitch", 1.0), ("Effect", 3.4)];
                table("Options considered", &columns, &rows, NOTHING)
            }
            Part::Repairs => note("Repairs so far", &self.repairs),
            Part::Photographs => note("Photographs", &self.photographs),
        }
    }

    fn recorded(&self) -> String {
        let until = if self.gate.is_empty() {
            "the fault stays open".to_owned()
        } else {
            format!("it stands against the gate {}", self.gate)
        };
        format!(
            "To be written down at this fault, with the name and the role of whoever answers; until then {until}."
        )
    }

    /// Below the ruled lines: who answers, how it is recorded, what the sheet is.
    fn answer_foot(&self, full: f64) -> Block {
        let mut marks = Vec::new();
        let mut y = 26.0;
        let line = Stroke::solid(Role::Ink, 0.9);
        let shares = [("Name", 0.30), ("Role", 0.22), ("Date", 0.16), ("Signature", 0.32)];
        let gap = 14.0;
        let each = full - gap * 3.0;
        let mut left = 0.0;
        for (caption, share) in shares {
            let right = left + each * share;
            marks.push(Mark::straight([left, y], [right, y], line));
            marks.push(Mark::Text(Text::new([left, y + 11.0], 9.5, caption).coloured(Role::Faint)));
            left = right + gap;
        }
        y += 15.0;
        for line in clipped(&self.recorded(), 10.5, full, 2, true).0 {
            y += 10.5 * LEADING;
            marks.push(Mark::Text(Text::new([0.0, y], 10.5, line).heavy()));
        }
        y += 5.0;
        marks.push(Mark::straight([0.0, y], [full, y], Stroke::solid(Role::Ink, 1.0)));
        let sheet = format!(
            "What was planned, measured and reckoned. Nothing here says that the part may stay as it is: that is for the {} to say.",
            self.asked.word()
        );
        for line in wrap_tight(&sheet, 9.0, full) {
            y += 9.0 * LEADING;
            marks.push(Mark::Text(Text::new([0.0, y], 9.0, line).coloured(Role::Faint)));
        }
        (marks, y + 1.0)
    }

    fn least_answer(&self, level: &Level, full: f64) -> f64 {
        ANSWER_HEAD + level.answer as f64 * RULED + self.answer_foot(full).1
    }

    /// The blank for the answer, down to the foot of the page.
    fn answer(&self, height: f64, full: f64) -> Block {
        let mut marks = heading("Answer", &LEVELS[0], full).0;
        let (foot, foot_height) = self.answer_foot(full);
        let lines = ((height - ANSWER_HEAD - foot_height) / RULED + 1e-6).floor().max(0.0) as usize;
        let step = (height - ANSWER_HEAD - foot_height) / lines.max(1) as f64;
        for line in 1..=lines {
            let y = ANSWER_HEAD + line as f64 * step;
            marks.push(Mark::straight([0.0, y], [full, y], Stroke::solid(Role::Faint, 0.6)));
        }
        marks.extend(foot.into_iter().map(|mark| mark.placed([0.0, height - foot_height], 1.0)));
        (marks, height)
    }
}

/// Heading of the answer, px.
const ANSWER_HEAD: f64 = 28.0;

/// Captions over values between two rules; the height taken, px. Only the names of the holes may fill a line.
fn cells(marks: &mut Vec<Mark>, cells: &[(&str, &String)], y: f64, full: f64) -> f64 {
    let (caption_size, size, step, gap) = (9.0, 12.0, 27.0, 24.0);
    let rule = Stroke::solid(Role::Ink, 1.3);
    marks.push(Mark::straight([0.0, y], [full, y], rule));
    if cells.iter().all(|(_, value)| value.is_empty()) {
        return 0.0;
    }
    let (mut left, mut top) = (0.0, y);
    for (caption, value) in cells.iter().filter(|(_, value)| !value.is_empty()) {
        let most = if *caption == "Holes" { full } else { 0.47 * full };
        let value = one_line(value, size, most);
        let wide = width(&value, size).max(width(caption, caption_size));
        if left > 0.0 && left + wide > full {
            left = 0.0;
            top += step;
        }
        let caption = Text::new([left, top + 11.0], caption_size, *caption).coloured(Role::Faint);
        marks.push(Mark::Text(caption));
        marks.push(Mark::Text(Text::new([left, top + 23.5], size, value)));
        left += wide + gap;
    }
    let bottom = top + step + 1.0;
    marks.push(Mark::straight([0.0, bottom], [full, bottom], rule));
    bottom - y
}

/// The section within a width and a height; both views side by side where there are two.
fn placed_section(
    input: &SectionInput,
    says: &str,
    level: &Level,
    [most_wide, most_high]: [f64; 2],
) -> Drawing {
    let at = |wide: f64| {
        section_drawing(&SectionInput { key: "question-section".to_owned(), width: wide, ..input.clone() })
    };
    // Two views need this to stand side by side; below it they would stand under each other.
    let wide = if input.shop_head.is_some() { most_wide.clamp(480.0, 560.0) } else { most_wide.min(400.0) };
    let drawing = at(wide);
    let size = 10.0;
    // However small the section becomes, its words are no wider.
    let measure = LEAST_SECTION.min(most_wide / drawing.width) * drawing.width - SECTION_EDGE;
    let lines = clipped(says, size, measure, level.lines.min(3), true).0;
    let below = lines.len() as f64 * size * LEADING;
    let scale = (most_wide / drawing.width)
        .min((most_high - below) / drawing.height)
        .clamp(LEAST_SECTION, 1.0)
        .min(most_wide / drawing.width);
    let mut marks: Vec<Mark> =
        drawing.marks.iter().map(|mark| mark.clone().placed([0.0, 0.0], scale)).collect();
    let mut y = drawing.height * scale;
    for line in lines {
        y += size * LEADING;
        marks.push(Mark::Text(Text::new([SECTION_EDGE, y - 3.0], size, line)));
    }
    Drawing { width: drawing.width * scale, height: y, marks, ..drawing }
}

/// A row of a table.
struct Row {
    cells: Vec<String>,
    /// Printed heavy, with a bar beside it.
    marked: bool,
}

impl Row {
    const fn plain(cells: Vec<String>) -> Self {
        Self { cells, marked: false }
    }
}

fn heading(words: &str, level: &Level, full: f64) -> Block {
    let size = level.size + 1.0;
    let base = 0.45 * level.size + size;
    let rule = Mark::straight([0.0, base + 4.0], [full, base + 4.0], Stroke::solid(Role::Ink, 1.3));
    (vec![Mark::Text(Text::new([0.0, base], size, words).heavy()), rule], base + 5.0)
}

fn small(words: &str, level: &Level) -> Block {
    let size = small_size(level);
    (vec![Mark::Text(Text::new([0.0, size + 2.0], size, words))], size * LEADING + 3.0)
}

fn small_size(level: &Level) -> f64 {
    (level.size - 1.0).max(9.0)
}

/// What a cut says of itself.
fn cut_mark(more: usize, short: usize) -> Option<String> {
    match (more, short) {
        (0, 0) => None,
        (more, 0) => Some(format!("… {more} more {MORE}")),
        (0, short) => Some(format!("… {short} cut short; more {MORE}")),
        (more, short) => Some(format!("… {more} more and {short} cut short; more {MORE}")),
    }
}

/// Lines of a text, at most so many; whether something is missing, which its last line says.
fn clipped(text: &str, size: f64, measure: f64, most: usize, says_where: bool) -> (Vec<String>, bool) {
    let mut lines = wrap_tight(text, size, measure);
    if lines.len() <= most {
        return (lines, false);
    }
    lines.truncate(most);
    let end = if says_where { format!(" … more {MORE}") } else { " …".to_owned() };
    if let Some(last) = lines.last_mut() {
        while !last.is_empty() && width(last, size) + width(&end, size) > measure {
            // Whole words, unless one fills the line.
            let words = last.rfind(' ').unwrap_or(0);
            if words > 0 {
                last.truncate(words);
            } else {
                last.pop();
            }
        }
        *last = format!("{}{end}", last.trim_end());
    }
    (lines, true)
}

/// A text in one line, ended by an ellipsis where it is longer.
fn one_line(text: &str, size: f64, measure: f64) -> String {
    clipped(text, size, measure, 1, false).0.into_iter().next().unwrap_or_default()
}

/// A table, of which so many rows are kept; a column with nothing in it is left out.
fn table(columns: &[(&str, f64)], rows: &[Row], kept: usize, level: &Level, full: f64) -> Vec<Block> {
    let used: Vec<usize> =
        (0..columns.len()).filter(|&at| rows.iter().any(|row| !row.cells[at].is_empty())).collect();
    let gutter = 10.0;
    let shares: f64 = used.iter().map(|&at| columns[at].1).sum();
    let each = full - gutter * used.len().saturating_sub(1) as f64;
    let mut left = 0.0;
    let mut edges = Vec::new();
    for &at in &used {
        let wide = each * columns[at].1 / shares;
        edges.push((at, left, wide));
        left += wide + gutter;
    }
    let caption = small_size(level);
    let mut marks: Vec<Mark> = edges
        .iter()
        .filter(|(at, ..)| !columns[*at].0.is_empty())
        .map(|&(at, left, _)| {
            Mark::Text(Text::new([left, caption + 1.0], caption, columns[at].0).coloured(Role::Faint))
        })
        .collect();
    let rule = caption + 4.5;
    marks.push(Mark::straight([0.0, rule], [full, rule], Stroke::solid(Role::Ink, 0.6)));
    let mut blocks = vec![(marks, rule)];
    let mut short = 0;
    let step = level.size * LEADING;
    for row in rows.iter().take(kept) {
        let mut marks = Vec::new();
        let mut count = 1;
        let mut cut = false;
        for &(at, left, wide) in &edges {
            let (lines, missing) = clipped(&row.cells[at], level.size, wide, level.lines, false);
            cut |= missing;
            count = count.max(lines.len());
            for (number, line) in lines.into_iter().enumerate() {
                let base = 2.0 + level.size + number as f64 * step;
                let text = Text::new([left, base], level.size, line);
                marks.push(Mark::Text(if row.marked { text.heavy() } else { text }));
            }
        }
        short += usize::from(cut);
        let height = 2.0 + count as f64 * step + 2.5;
        if row.marked {
            let bar = Stroke::solid(Role::Ink, 3.0);
            marks.push(Mark::straight([-6.0, 2.0], [-6.0, height - 2.0], bar));
        }
        marks.push(Mark::straight([0.0, height], [full, height], Stroke::solid(Role::Faint, 0.4)));
        blocks.push((marks, height));
    }
    blocks.extend(cut_mark(rows.len().saturating_sub(kept), short).map(|words| small(&words, level)));
    blocks
}

/// Small print behind its name, of which so many items are kept; nothing where there is none.
fn note(name: &str, items: &[String], kept: usize, level: &Level, full: f64) -> Option<Block> {
    if items.is_empty() {
        return None;
    }
    let size = small_size(level);
    let indent = 118.0;
    let mut lines: Vec<String> = Vec::new();
    let mut short = 0;
    for item in items.iter().take(kept) {
        let (some, missing) = clipped(item, size, full - indent, level.lines, false);
        short += usize::from(missing);
        let mut some = some.into_iter();
        // Short items share a line.
        if let Some(first) = some.next() {
            join(&mut lines, &first, size, full - indent);
        }
        lines.extend(some);
    }
    if let Some(mark) = cut_mark(items.len().saturating_sub(kept), short) {
        join(&mut lines, &mark, size, full - indent);
    }
    let mut marks = vec![Mark::Text(Text::new([0.0, size + 3.0], size, name).heavy())];
    let mut y = 3.0;
    for line in lines {
        marks.push(Mark::Text(Text::new([indent, y + size], size, line)));
        y += size * LEADING;
    }
    Some((marks, y + 1.0))
}

/// Puts words behind the last line if there is room, else on one of their own.
fn join(lines: &mut Vec<String>, words: &str, size: f64, measure: f64) {
    match lines.last_mut() {
        Some(last) if width(last, size) + width(APART, size) + width(words, size) <= measure => {
            last.push_str(APART);
            last.push_str(words);
        }
        _ => lines.push(words.to_owned()),
    }
}

/// Between two items of small print on one line.
const APART: &str = "  ·  ";
