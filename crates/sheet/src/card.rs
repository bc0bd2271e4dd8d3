//! The run card: one step's holes in the order of their set-ups, to be propped up at the bench.
//!
//! Everything on it is handed in as words and numbers; the card places them.

use std::collections::HashMap;

use faying_plan::{HoleId, PieceId, Plan, PlaneId, Side};

use crate::document::{Date, Document, Paper};
use crate::marks::{Anchor, Drawing, Fill, Mark, Role, Shape, Stroke, Text};
use crate::page::{CAPTION, Column, Flow, cell, fitted, measure};
use crate::plane::{PlaneOptions, plane_drawing};
use crate::qr::{self, QrError};
use crate::symbol::{HoleLook, HoleState};
use crate::text::{width, wrap, wrap_tight};

/// What a run card says.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// The assembly's title.
    pub assembly: String,
    /// The step: its name, or name and title.
    pub step: String,
    /// Where the step stands in the builder's own plans; may be empty.
    pub sheet: String,
    /// Plan revision.
    pub revision: String,
    /// The day the card was made.
    pub date: Date,
    /// Who it is from, for the file's properties; may be empty.
    pub author: String,
    /// Address that opens the run; printed as a QR code with the address below.
    pub address: String,
    /// Cautions, each one short sentence.
    pub cautions: Vec<String>,
    /// The set-ups in order.
    pub set_ups: Vec<SetUp>,
    /// What to fetch, one line a bag.
    pub picks: Vec<Pick>,
    /// What stays open, and why.
    pub open: Vec<OpenHoles>,
    /// The planes with the run's holes, as [`map`] draws them.
    pub maps: Vec<Drawing>,
    /// What the whole takes.
    pub totals: Totals,
}

/// A line of a set-up: what it says, and whether it differs from the set-up before.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Line {
    /// What it says; an empty line is left out.
    pub words: String,
    /// Whether the builder has something to do about it now; printed heavy.
    pub changed: bool,
}

/// What a measured size is aimed at; empty words are left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Aim {
    /// The size itself, with its unit: ".094 in"; printed large.
    pub aim: String,
    /// The limits in words: ".080 to .103".
    pub limits: String,
}

/// One set-up of a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SetUp {
    /// Its number in the run, from 1.
    pub number: u32,
    /// The fastener, such as `MS20470AD4-5`.
    pub fastener: String,
    /// Squeezer, or gun and bar.
    pub tool: Line,
    /// The yoke.
    pub yoke: Line,
    /// The dies, or rivet set.
    pub dies: Line,
    /// The setting, as a change: "shorter by 0.012 in: 1/4 turn in".
    pub setting: Line,
    /// Which face is up.
    pub face_up: Line,
    /// Side of the manufactured head.
    pub head_side: String,
    /// How many holes.
    pub holes: u32,
    /// Which holes: "web A 5 to 28".
    pub rows: String,
    /// Height of the shop head.
    pub height: Aim,
    /// Width of the shop head.
    pub width: Aim,
    /// The scrap coupon, in words: ".040 + .063, two rivets"; empty for none.
    pub coupon: String,
    /// The bag check, in words: "dimple on the head; three lengths 5/16 in"; empty for none.
    pub bag_check: String,
    /// Short names of the holes measured first, usually three.
    pub first: Vec<String>,
    /// After those one in so many is measured; none for no more.
    pub one_in: Option<u32>,
    /// Short names of the holes measured after the first, where they are known.
    pub then: Vec<String>,
    /// Anything else for this set-up, each a short sentence.
    pub notes: Vec<String>,
}

/// A bag to fetch.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pick {
    /// The fastener.
    pub fastener: String,
    /// Set-ups it is for.
    pub set_ups: Vec<u32>,
    /// So many holes.
    pub need: u32,
    /// So many on top.
    pub spare: u32,
    /// So many in the bag; none where it is not known.
    pub have: Option<u32>,
    /// So many missing; none where it is not known.
    pub short: Option<u32>,
}

/// Holes that are not filled in this run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OpenHoles {
    /// Which: "web A 5 to 7".
    pub rows: String,
    /// How many.
    pub count: u32,
    /// Why: "rib comes with step ribs".
    pub reason: String,
}

/// What the run takes, and what it was compared with; minutes are words because they are estimates.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// Holes of the run.
    pub holes: u32,
    /// Settings of the squeezer.
    pub settings: u32,
    /// Changes of dies.
    pub die_changes: u32,
    /// Times the part is turned over.
    pub flips: u32,
    /// What it takes: "48 min".
    pub minutes: String,
    /// How good that is, in words: "no order takes less than 46 min".
    pub bound: String,
    /// What the order of the plan would take: "1 h 12 min".
    pub plan_order: String,
}

/// How a hole stands on a card's map.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MapHole {
    /// Filled in this set-up of the run.
    SetUp(u32),
    /// Stays open.
    Open,
    /// Filled before.
    Set,
    /// Belongs to another step.
    Other,
}

/// A plane with the holes of a run numbered by set-up and the open ones hatched, as wide as a card.
///
/// The number stands in the hole; an outline breaks into strips until there is room for it.
#[must_use]
pub fn map(
    plan: &Plan,
    (plane, side): (PlaneId, Side),
    hole: &dyn Fn(HoleId) -> MapHole,
    later: &[PieceId],
    paper: Paper,
) -> Drawing {
    let look = |id: HoleId| {
        HoleLook::plain(match hole(id) {
            MapHole::SetUp(_) => HoleState::ToDo,
            MapHole::Open => HoleState::Open,
            MapHole::Set => HoleState::Set,
            MapHole::Other => HoleState::Other,
        })
    };
    let options = PlaneOptions {
        key: format!("map-{}-{}", plan[plane].name, plan[plane].side_name(side)),
        width: measure(paper),
        max_height: 720.0,
        least_pitch: 22.0,
        later: later.to_vec(),
        title_block: false,
        ..PlaneOptions::default()
    };
    let mut drawing = plane_drawing(plan, plane, side, &look, &options);
    let numbers: HashMap<String, u32> = plan[plane]
        .rows
        .iter()
        .flat_map(|&row| plan[row].hole_ids())
        .filter_map(|id| match hole(id) {
            MapHole::SetUp(number) => Some((plan.hole_name(id), number)),
            MapHole::Open | MapHole::Set | MapHole::Other => None,
        })
        .collect();
    for mark in &mut drawing.marks {
        let Mark::Group(group) = mark else { continue };
        let name = group.data.iter().find(|(key, _)| *key == "hole").map(|(_, name)| name);
        let Some(number) = name.and_then(|name| numbers.get(name)) else { continue };
        let circle = group.marks.iter().find_map(|mark| match mark {
            Mark::Circle { centre, radius, .. } => Some((*centre, *radius)),
            _ => None,
        });
        let Some(([x, y], radius)) = circle else { continue };
        let number = number.to_string();
        // As large as the circle lets it be; on a crowded plane it covers the circle.
        let size = fitted(&number, [6.0, 10.5], 1.35 * radius).min(1.6 * radius.max(4.0));
        let text = Text::new([x, y + size * 0.37], size, number).anchored(Anchor::Middle).heavy();
        group.marks.push(Mark::Text(text));
    }
    drawing
}

/// Side of the QR code, px.
const CODE: f64 = 112.0;
/// A box to write a measured value in, px.
const BOX: [f64; 2] = [78.0, 36.0];
/// Side of a box to tick, px.
const TICK: f64 = 15.0;

impl Card {
    /// The card's pages: what is needed at the bench first, the maps last.
    ///
    /// # Errors
    /// [`QrError`] if the address is too long for a code that a phone reads.
    pub fn pages(&self, paper: Paper) -> Result<Document, QrError> {
        let title = format!("Run card: {}, {}", self.assembly, self.step);
        let cells = [
            ("Assembly", self.assembly.clone()),
            ("Step", self.step.clone()),
            ("Sheet", self.sheet.clone()),
            ("Plan revision", self.revision.clone()),
            ("Date", self.date.to_string()),
        ];
        let mut flow = Flow::new(paper, "card", &title, &cells);
        self.head(&mut flow)?;
        self.fetch(&mut flow);
        for set_up in &self.set_ups {
            let blocks = set_up.blocks(flow.measure());
            flow.gap(14.0);
            // Together if that can be: one does not turn the card in the middle of a set-up.
            flow.need(blocks.iter().map(|block| block.1).sum::<f64>().min(flow.full_room()));
            for (marks, height) in blocks {
                flow.block(marks, height);
            }
        }
        self.leave_open(&mut flow);
        for map in &self.maps {
            let scale = (flow.measure() / map.width).min(1.0);
            let words = "The number in a hole is its set-up.";
            let most = flow.full_room() - 72.0;
            flow.heading(&map.title, 24.0 + (map.height * scale).min(most));
            flow.text(words);
            let shrunk = (most / map.height).min(scale);
            let placed = Drawing {
                width: map.width * shrunk,
                height: map.height * shrunk,
                marks: map.marks.iter().map(|mark| mark.clone().placed([0.0, 0.0], shrunk)).collect(),
                ..map.clone()
            };
            flow.picture(&placed);
        }
        Ok(flow.finish(&self.author, self.date))
    }

    fn head(&self, flow: &mut Flow) -> Result<(), QrError> {
        let full = flow.measure();
        let words = full - CODE - 20.0;
        let mut marks = vec![qr::code(&self.address, [full - CODE, -6.0], CODE)?];
        let mut y = 0.0;
        for (text, most, bold) in [(&self.assembly, 28.0, true), (&self.step, 19.0, false)] {
            let size = fitted(text, [15.0, most], words);
            for line in wrap_tight(text, size, words) {
                let mut text = Text::new([0.0, y + size], size, line);
                text.bold = bold;
                marks.push(Mark::Text(text));
                y += size * 1.3;
            }
        }
        y += 10.0;
        let totals = &self.totals;
        let counts = [
            ("Holes", totals.holes.to_string()),
            ("Set-ups", self.set_ups.len().to_string()),
            ("Settings", totals.settings.to_string()),
            ("Die changes", totals.die_changes.to_string()),
            ("Turn over", totals.flips.to_string()),
        ];
        let mut x = 0.0;
        let mut lowest = y;
        for (caption, value) in counts {
            let wide = width(caption, CAPTION).max(width(&value, 20.0));
            lowest = lowest.max(y + cell(&mut marks, [x, y], caption, &value, (20.0, true), wide + 1.0));
            x += wide + 18.0;
        }
        if !totals.minutes.is_empty() {
            let mut lines = vec![];
            if !totals.bound.is_empty() {
                lines.push(totals.bound.clone());
            }
            if !totals.plan_order.is_empty() {
                lines.push(format!("in plan order {}", totals.plan_order));
            }
            let size = fitted(&totals.minutes, [12.0, 20.0], words - x);
            cell(&mut marks, [x, y], "Time, about", &totals.minutes, (size, true), words - x);
            let beside = x + width(&totals.minutes, size).max(width("Time, about", CAPTION)) + 16.0;
            let room = words - beside;
            if lines.iter().all(|line| width(line, CAPTION) <= room) {
                for (row, line) in lines.iter().enumerate() {
                    let at = [beside, y + 20.0 + row as f64 * 15.0];
                    marks.push(Mark::Text(Text::new(at, CAPTION, line.clone())));
                }
            } else {
                let line = lines.join("; ");
                let size = fitted(&line, [9.0, 13.0], words);
                marks.push(Mark::Text(Text::new([0.0, lowest + 14.0], size, line)));
                lowest += 20.0;
            }
        }
        let mut code = CODE - 6.0;
        for line in wrap_tight(&self.address, 9.0, CODE) {
            let at = [full - CODE / 2.0, code + 9.0];
            marks.push(Mark::Text(Text::new(at, 9.0, line).anchored(Anchor::Middle)));
            code += 11.5;
        }
        let mut height = lowest.max(code) + 8.0;
        if !self.cautions.is_empty() {
            height += cautions(&mut marks, &self.cautions, height, full) + 4.0;
        }
        flow.block(marks, height);
        Ok(())
    }

    fn fetch(&self, flow: &mut Flow) {
        if self.picks.is_empty() {
            return;
        }
        flow.heading("Fetch", 50.0);
        let columns = [
            Column::words("Bag", 4.2).heavy(),
            Column::words("For set-up", 2.6),
            Column::figures("Need", 1.1),
            Column::figures("Spare", 1.1),
            Column::figures("Have", 1.1),
            Column::figures("Short", 1.1).heavy(),
        ];
        let count = |value: Option<u32>| value.map_or("….".repeat(3), |value| value.to_string());
        let rows: Vec<Vec<String>> = self
            .picks
            .iter()
            .map(|pick| {
                vec![
                    pick.fastener.clone(),
                    listed(&pick.set_ups),
                    pick.need.to_string(),
                    pick.spare.to_string(),
                    count(pick.have),
                    match pick.short {
                        Some(0) => "–".to_owned(),
                        short => count(short),
                    },
                ]
            })
            .collect();
        flow.table(&columns, &rows);
    }

    fn leave_open(&self, flow: &mut Flow) {
        if self.open.is_empty() {
            return;
        }
        flow.heading("Leave open: tape these", 50.0);
        let columns =
            [Column::words("Holes", 3.0).heavy(), Column::figures("Count", 0.9), Column::words("Why", 6.0)];
        let rows: Vec<Vec<String>> = self
            .open
            .iter()
            .map(|open| vec![open.rows.clone(), open.count.to_string(), open.reason.clone()])
            .collect();
        flow.table(&columns, &rows);
    }
}

/// Numbers as a builder reads them: runs of three and more as "3 to 7".
pub(crate) fn listed(numbers: &[u32]) -> String {
    let mut words: Vec<String> = Vec::new();
    let mut rest = numbers;
    while let Some(&first) = rest.first() {
        let run = rest.iter().zip(first..).take_while(|(a, b)| **a == *b).count();
        let last = rest[run - 1];
        match run {
            1 => words.push(first.to_string()),
            2 => words.extend([first.to_string(), last.to_string()]),
            _ => words.push(format!("{first} to {last}")),
        }
        rest = &rest[run..];
    }
    words.join(", ")
}

/// Cautions in lines, each behind a triangle; returns the height taken, px.
fn cautions(marks: &mut Vec<Mark>, cautions: &[String], y: f64, measure: f64) -> f64 {
    let size = 13.0;
    let lead = 24.0;
    let (mut x, mut base) = (0.0, y + 14.0);
    for caution in cautions {
        let wide = lead + width(caution, size);
        if x > 0.0 && x + wide > measure {
            x = 0.0;
            base += 21.0;
        }
        marks.extend(triangle([x, base]));
        let lines = wrap(caution, size, measure - lead);
        for (row, line) in lines.iter().enumerate() {
            base += if row > 0 { 17.0 } else { 0.0 };
            marks.push(Mark::Text(Text::new([x + lead, base], size, line.clone()).heavy()));
        }
        x = if lines.len() > 1 { measure } else { x + wide + 22.0 };
    }
    base + 8.0 - y
}

/// A triangle with a stroke and a dot, standing on a base line.
fn triangle([x, y]: [f64; 2]) -> Vec<Mark> {
    let edge = Shape::closed(&[[x + 1.0, y + 1.5], [x + 9.0, y - 13.0], [x + 17.0, y + 1.5]]);
    vec![
        Mark::line(edge, Stroke::solid(Role::Warn, 1.6)),
        Mark::straight([x + 9.0, y - 7.5], [x + 9.0, y - 3.0], Stroke::solid(Role::Warn, 1.8)),
        Mark::Circle {
            centre: [x + 9.0, y - 0.8],
            radius: 1.0,
            fill: Some(Fill::Flat(Role::Warn)),
            stroke: None,
        },
    ]
}

impl SetUp {
    /// What is kept together and what may follow on the next page, each from the origin with its height, px.
    fn blocks(&self, measure: f64) -> Vec<(Vec<Mark>, f64)> {
        let mut marks = vec![Mark::straight([0.0, 0.0], [measure, 0.0], Stroke::solid(Role::Ink, 2.0))];
        let mut y = self.band(&mut marks, measure).max(52.0) + 6.0;
        let lines =
            [("Tool", &self.tool), ("Yoke", &self.yoke), ("Dies", &self.dies), ("Setting", &self.setting)];
        let lines: Vec<_> = lines.into_iter().filter(|(_, line)| !line.words.is_empty()).collect();
        if !lines.is_empty() {
            let share = |words: &str| width(words, 14.0).clamp(70.0, 250.0);
            let shares: f64 = lines.iter().map(|(_, line)| share(&line.words)).sum();
            let each = measure - 16.0 * (lines.len() - 1) as f64;
            let (mut x, mut tall) = (0.0, 0.0_f64);
            for (caption, line) in lines {
                let wide = each * share(&line.words) / shares;
                let style = (14.0, line.changed);
                tall = tall.max(cell(&mut marks, [x, y], caption, &line.words, style, wide));
                if line.changed {
                    let rule = Stroke::solid(Role::Accent, 3.0);
                    marks.push(Mark::straight([x - 6.0, y + 1.0], [x - 6.0, y + tall], rule));
                }
                x += wide + 16.0;
            }
            y += tall + 7.0;
        }
        y += self.aims(&mut marks, y, measure);
        let mut blocks = vec![(marks, y)];
        blocks.extend(self.boxes(measure).into_iter().map(|marks| (marks, BOX[1] + 7.0)));
        for note in &self.notes {
            for line in wrap(note, 13.0, measure) {
                blocks.push((vec![Mark::Text(Text::new([0.0, 13.0], 13.0, line))], 17.5));
            }
        }
        blocks
    }

    /// Number, fastener, count, rows; at the right the face and the head. Returns its lower edge, px.
    fn band(&self, marks: &mut Vec<Mark>, measure: f64) -> f64 {
        let number = self.number.to_string();
        let square = Shape::rectangle(0.0, 0.0, 42.0, 44.0);
        marks.push(Mark::area(square, Fill::Flat(Role::Ink), None));
        let size = fitted(&number, [14.0, 28.0], 36.0);
        let text = Text::new([21.0, 22.0 + 0.38 * size], size, number.clone());
        marks.push(Mark::Text(text.anchored(Anchor::Middle).heavy().coloured(Role::Paper)));

        let (mut right, mut lowest) = (measure, 0.0_f64);
        let face = &self.face_up;
        for (caption, words, changed) in [
            ("Manufactured head", &self.head_side, false),
            (
                if face.changed && self.number > 1 { "Turn over: face up" } else { "Face up" },
                &face.words,
                face.changed,
            ),
        ] {
            if words.is_empty() {
                continue;
            }
            let size = fitted(words, [13.0, 20.0], 150.0);
            let wide = width(words, size).min(150.0).max(width(caption, CAPTION));
            right -= wide + 8.0;
            let tall = cell(marks, [right, 7.0], caption, words, (size, true), wide + 1.0);
            lowest = lowest.max(7.0 + tall + 4.0);
            if changed {
                let frame = Shape::rectangle(right - 8.0, 4.0, wide + 16.0, tall + 5.0);
                marks.push(Mark::line(frame, Stroke::solid(Role::Accent, 2.2)));
            }
            right -= 20.0;
        }
        let left = 54.0;
        let holes = match self.holes {
            1 => "1 hole".to_owned(),
            count => format!("{count} holes"),
        };
        let room = right - left - width(&holes, 18.0) - 14.0;
        let size = fitted(&self.fastener, [15.0, 24.0], room);
        let mut base = 27.0;
        if width(&self.fastener, size) <= room {
            marks.push(Mark::Text(Text::new([left, base], size, self.fastener.clone()).heavy()));
            let after = left + width(&self.fastener, size) + 14.0;
            marks.push(Mark::Text(Text::new([after, base], 18.0, holes)));
        } else {
            for line in wrap_tight(&self.fastener, size, right - left) {
                marks.push(Mark::Text(Text::new([left, base], size, line).heavy()));
                base += 21.0;
            }
            marks.push(Mark::Text(Text::new([left, base], 18.0, holes)));
        }
        base += 20.0;
        for line in wrap_tight(&self.rows, 14.0, right - left) {
            marks.push(Mark::Text(Text::new([left, base], 14.0, line)));
            base += 18.0;
        }
        lowest.max(base - 12.0)
    }

    /// Height and width to aim at, coupon and bag check with boxes to tick; returns the height taken, px.
    fn aims(&self, marks: &mut Vec<Mark>, y: f64, measure: f64) -> f64 {
        let sizes = [("Shop head, height", &self.height), ("Shop head, width", &self.width)];
        let ticks = [("Coupon first", &self.coupon), ("Bag", &self.bag_check)];
        let (mut x, mut tall) = (0.0, 0.0_f64);
        for (caption, Aim { aim, limits }) in sizes {
            if aim.is_empty() && limits.is_empty() {
                continue;
            }
            let wide = width(caption, CAPTION).max(width(aim, 17.0)).max(width(limits, 12.0)).min(170.0);
            let mut taken = cell(marks, [x, y], caption, aim, (17.0, true), wide + 1.0);
            for line in wrap_tight(limits, 12.0, wide + 1.0) {
                taken += 15.0;
                marks.push(Mark::Text(Text::new([x, y + taken - 5.0], 12.0, line)));
            }
            tall = tall.max(taken);
            x += wide + 20.0;
        }
        let count = ticks.iter().filter(|(_, words)| !words.is_empty()).count();
        let wide = (measure - x - 18.0 * count.saturating_sub(1) as f64) / count.max(1) as f64;
        for (caption, words) in ticks {
            if words.is_empty() {
                continue;
            }
            let lead = TICK + 8.0;
            let square = Shape::rectangle(x, y + CAPTION + 6.0, TICK, TICK);
            marks.push(Mark::line(square, Stroke::solid(Role::Ink, 1.4)));
            tall = tall.max(cell(marks, [x + lead, y], caption, words, (14.0, false), wide - lead));
            x += wide + 18.0;
        }
        if tall == 0.0 {
            return 0.0;
        }
        tall + 8.0
    }

    /// Lines of boxes for measured heads with the names of their holes.
    fn boxes(&self, measure: f64) -> Vec<Vec<Mark>> {
        let mut boxes = Boxes { lines: Vec::new(), x: measure, measure };
        if !self.first.is_empty() {
            boxes.words(&["Measure", "first"]);
            for name in &self.first {
                boxes.put(name);
            }
        }
        if let Some(every) = self.one_in {
            boxes.words(&["then", &format!("1 in {every}")]);
            for name in &self.then {
                boxes.put(name);
            }
            // Which they are is not known: what is left of the line is theirs.
            while self.then.is_empty() && boxes.x + BOX[0] <= measure {
                boxes.put("");
            }
        }
        boxes.lines
    }
}

/// Boxes beside each other, in lines.
struct Boxes {
    lines: Vec<Vec<Mark>>,
    /// Where the next one begins, px.
    x: f64,
    measure: f64,
}

impl Boxes {
    /// The line that has room for a width, px.
    fn line(&mut self, wide: f64) -> &mut Vec<Mark> {
        if self.x + wide > self.measure || self.lines.is_empty() {
            self.lines.push(Vec::new());
            self.x = 0.0;
        }
        self.lines.last_mut().expect("a line was pushed if there was none")
    }

    /// Two short lines before the first of their boxes.
    fn words(&mut self, words: &[&str]) {
        let room = words.iter().map(|line| width(line, 12.0)).fold(0.0, f64::max);
        self.line(room + 16.0 + BOX[0]);
        self.x += if self.x > 0.0 { 8.0 } else { 0.0 };
        let x = self.x;
        let line = self.line(0.0);
        for (row, words) in words.iter().enumerate() {
            line.push(Mark::Text(Text::new([x, 15.0 + row as f64 * 15.0], 12.0, *words)));
        }
        self.x += room + 8.0;
    }

    fn put(&mut self, name: &str) {
        let [wide, high] = BOX;
        self.line(wide);
        let x = self.x;
        let line = self.line(0.0);
        line.push(Mark::line(Shape::rectangle(x, 0.0, wide, high), Stroke::solid(Role::Ink, 1.2)));
        if !name.is_empty() {
            let size = fitted(name, [7.0, CAPTION], wide - 8.0);
            line.push(Mark::Text(Text::new([x + 4.0, 12.0], size, name).coloured(Role::Faint)));
        }
        self.x += wide + 6.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_listed_as_one_reads_them() {
        assert_eq!(listed(&[1]), "1");
        assert_eq!(listed(&[1, 2]), "1, 2");
        assert_eq!(listed(&[1, 3, 4, 5, 9]), "1, 3 to 5, 9");
        assert_eq!(listed(&[]), "");
    }
}
