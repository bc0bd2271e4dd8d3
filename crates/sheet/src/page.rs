//! Pages filled from the top: headings, text, tables and pictures over a title block.
//!
//! What is put down is never split, but for a table, which breaks between its
//! rows and repeats its captions. The page's number goes into the title block
//! when the count of pages is known.

use crate::document::{Date, Document, Paper};
use crate::foot::title_block;
use crate::marks::{Anchor, Drawing, Group, Mark, Role, Stroke, Text};
use crate::text::{width, wrap_tight};

/// Blank rim of a page, px: 12 mm, which every desk printer leaves printable.
pub const MARGIN: f64 = 12.0 / 25.4 * 96.0;
/// Size of running text, px.
pub const BODY: f64 = 14.0;
/// Size of a caption, px.
pub const CAPTION: f64 = 11.0;
/// From base line to base line, of its size.
const LEADING: f64 = 1.35;
/// Above the title block, px.
const FOOT_GAP: f64 = 10.0;

/// A column of a table.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its caption.
    pub caption: &'static str,
    /// Its share of the width, against the other columns.
    pub share: f64,
    /// Whether it is flush right, as figures are.
    pub right: bool,
    /// Whether it is heavy.
    pub bold: bool,
}

impl Column {
    /// A column of words.
    #[must_use]
    pub const fn words(caption: &'static str, share: f64) -> Self {
        Self { caption, share, right: false, bold: false }
    }

    /// A column of figures.
    #[must_use]
    pub const fn figures(caption: &'static str, share: f64) -> Self {
        Self { caption, share, right: true, bold: false }
    }

    /// The same column, heavy.
    #[must_use]
    pub const fn heavy(self) -> Self {
        Self { bold: true, ..self }
    }
}

/// Pages while they are filled.
pub struct Flow {
    paper: Paper,
    key: String,
    title: String,
    cells: Vec<(&'static str, String)>,
    foot: f64,
    pages: Vec<Vec<Mark>>,
    top: f64,
}

impl Flow {
    /// A first empty page; `cells` are captions and values of the title block, empty values left out.
    #[must_use]
    pub fn new(paper: Paper, key: &str, title: &str, cells: &[(&'static str, String)]) -> Self {
        let cells: Vec<_> = cells.iter().filter(|(_, value)| !value.is_empty()).cloned().collect();
        let mut flow = Self {
            paper,
            key: key.to_owned(),
            title: title.to_owned(),
            cells,
            foot: 0.0,
            pages: vec![Vec::new()],
            top: MARGIN,
        };
        flow.foot = title_block(&mut Vec::new(), &flow.cells_of("99 of 99"), [0.0, 0.0], flow.measure());
        flow
    }

    fn cells_of(&self, page: &str) -> Vec<(&'static str, String)> {
        let mut cells = self.cells.clone();
        cells.push(("Page", page.to_owned()));
        cells
    }

    /// Width between the margins, px.
    #[must_use]
    pub fn measure(&self) -> f64 {
        measure(self.paper)
    }

    fn bottom(&self) -> f64 {
        self.paper.px()[1] - MARGIN - self.foot - FOOT_GAP
    }

    /// Height that is left on the page, px.
    #[must_use]
    pub fn room(&self) -> f64 {
        self.bottom() - self.top
    }

    /// Height of an empty page, px.
    #[must_use]
    pub fn full_room(&self) -> f64 {
        self.bottom() - MARGIN
    }

    /// Whether nothing stands on the page yet.
    #[must_use]
    pub fn fresh(&self) -> bool {
        self.top <= MARGIN
    }

    /// Goes on with the next page, unless this one is empty.
    pub fn turn(&mut self) {
        if !self.fresh() {
            self.pages.push(Vec::new());
            self.top = MARGIN;
        }
    }

    /// Turns the page if less than this height is left, px.
    pub fn need(&mut self, height: f64) {
        if height > self.room() {
            self.turn();
        }
    }

    /// Leaves a height blank, px; not at the head of a page.
    pub fn gap(&mut self, height: f64) {
        if !self.fresh() {
            self.top += height;
        }
    }

    /// Puts down marks drawn from the origin, with their height, px.
    pub fn block(&mut self, marks: Vec<Mark>, height: f64) {
        self.need(height);
        let at = [MARGIN, self.top];
        if let Some(page) = self.pages.last_mut() {
            page.extend(marks.into_iter().map(|mark| mark.placed(at, 1.0)));
        }
        self.top += height;
    }

    /// A heading with a rule below; stays with the height that follows, px.
    pub fn heading(&mut self, words: &str, follows: f64) {
        self.gap(14.0);
        self.need(30.0 + follows);
        let text = Text::new([0.0, 16.0], 16.0, words).heavy();
        let rule = Mark::straight([0.0, 23.0], [self.measure(), 23.0], Stroke::solid(Role::Ink, 1.5));
        self.block(vec![Mark::Text(text), rule], 30.0);
    }

    /// Running text in lines.
    pub fn text(&mut self, words: &str) {
        for line in wrap_tight(words, BODY, self.measure()) {
            let text = Text::new([0.0, BODY], BODY, line);
            self.block(vec![Mark::Text(text)], BODY * LEADING);
        }
    }

    /// A table; a row is never split, but for one that is higher than a page.
    pub fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        let table = Table::new(columns, self.measure());
        let head = table.head();
        let rows: Vec<(Vec<Mark>, f64)> =
            rows.iter().flat_map(|row| table.row(row, self.full_room() - head.1)).collect();
        // The captions are not left behind alone.
        self.need(head.1 + rows.first().map_or(0.0, |row| row.1));
        self.block(head.0.clone(), head.1);
        for (marks, height) in rows {
            if height > self.room() {
                self.turn();
                self.block(head.0.clone(), head.1);
            }
            self.block(marks, height);
        }
    }

    /// A drawing, made smaller if it does not fit the page.
    pub fn picture(&mut self, drawing: &Drawing) {
        let scale = (self.measure() / drawing.width).min(self.full_room() / drawing.height).min(1.0);
        self.need(drawing.height * scale);
        let at = [((self.measure() - drawing.width * scale) / 2.0).max(0.0), 0.0];
        let marks = named(&drawing.marks, &drawing.key);
        let marks = marks.into_iter().map(|mark| mark.placed(at, scale)).collect();
        self.block(marks, drawing.height * scale);
    }

    /// The pages with their title blocks.
    #[must_use]
    pub fn finish(self, author: &str, date: Date) -> Document {
        let [wide, high] = self.paper.px();
        let count = self.pages.len();
        let pages = self.pages.iter().enumerate().map(|(index, marks)| {
            let number = index + 1;
            let mut marks = marks.clone();
            let cells = self.cells_of(&format!("{number} of {count}"));
            title_block(&mut marks, &cells, [MARGIN, high - MARGIN - self.foot], self.measure());
            Drawing {
                key: format!("{}-{number}", self.key),
                width: wide,
                height: high,
                title: format!("{}, page {number} of {count}", self.title),
                description: format!("A printed page, {}.", self.paper.name()),
                marks,
            }
        });
        Document { title: self.title.clone(), author: author.to_owned(), date, pages: pages.collect() }
    }
}

/// Width between the margins of a paper, px.
#[must_use]
pub fn measure(paper: Paper) -> f64 {
    paper.px()[0] - 2.0 * MARGIN
}

/// Ids with the drawing's key before them, so that two drawings share a page.
fn named(marks: &[Mark], key: &str) -> Vec<Mark> {
    marks
        .iter()
        .map(|mark| match mark {
            Mark::Group(group) => Mark::Group(Group {
                id: group.id.as_ref().map(|id| format!("{key}-{id}")),
                marks: named(&group.marks, key),
                ..group.clone()
            }),
            other => other.clone(),
        })
        .collect()
}

struct Table<'t> {
    columns: &'t [Column],
    /// Left and right of each column, px.
    edges: Vec<[f64; 2]>,
    measure: f64,
}

/// Between two columns, px.
const GUTTER: f64 = 12.0;

impl<'t> Table<'t> {
    fn new(columns: &'t [Column], measure: f64) -> Self {
        let shares: f64 = columns.iter().map(|column| column.share).sum();
        let each = measure - GUTTER * columns.len().saturating_sub(1) as f64;
        let mut left = 0.0;
        let edges = columns
            .iter()
            .map(|column| {
                let right = left + each * column.share / shares;
                let edge = [left, right];
                left = right + GUTTER;
                edge
            })
            .collect();
        Self { columns, edges, measure }
    }

    fn put(&self, column: usize, text: Text) -> Mark {
        let [left, right] = self.edges[column];
        let y = text.at[1];
        Mark::Text(if self.columns[column].right {
            Text { at: [right, y], ..text }.anchored(Anchor::End)
        } else {
            Text { at: [left, y], ..text }
        })
    }

    fn head(&self) -> (Vec<Mark>, f64) {
        let height = CAPTION + 8.0;
        let mut marks: Vec<Mark> = self
            .columns
            .iter()
            .enumerate()
            .map(|(index, column)| {
                let text = Text::new([0.0, CAPTION], CAPTION, column.caption).coloured(Role::Faint);
                self.put(index, text)
            })
            .collect();
        let rule = Stroke::solid(Role::Ink, 1.0);
        marks.push(Mark::straight([0.0, height - 3.0], [self.measure, height - 3.0], rule));
        (marks, height)
    }

    /// One row, or several if it is higher than a page.
    fn row(&self, cells: &[String], most: f64) -> Vec<(Vec<Mark>, f64)> {
        let (above, below, step) = (4.0, 6.0, BODY * LEADING);
        let lines: Vec<Vec<String>> = cells
            .iter()
            .zip(&self.edges)
            .map(|(cell, [left, right])| wrap_tight(cell, BODY, right - left))
            .collect();
        let count = lines.iter().map(Vec::len).max().unwrap_or(0).max(1);
        let fits = (((most - above - below) / step).floor() as usize).max(1);
        (0..count)
            .step_by(fits)
            .map(|from| {
                let taken = fits.min(count - from);
                let height = above + taken as f64 * step + below;
                let mut marks = Vec::new();
                for (index, lines) in lines.iter().enumerate().take(self.columns.len()) {
                    for (row, line) in lines.iter().skip(from).take(taken).enumerate() {
                        let base = above + row as f64 * step + BODY;
                        let mut text = Text::new([0.0, base], BODY, line.clone());
                        text.bold = self.columns[index].bold;
                        marks.push(self.put(index, text));
                    }
                }
                let rule = Stroke::solid(Role::Faint, 0.5);
                marks.push(Mark::straight([0.0, height], [self.measure, height], rule));
                (marks, height)
            })
            .collect()
    }
}

/// Caption and value in a cell; returns the height taken, px.
///
/// # Units
/// - `x`, `y`: upper left corner, px
/// - `size` (of the value), `measure`: px
pub(crate) fn cell(
    marks: &mut Vec<Mark>,
    [x, y]: [f64; 2],
    caption: &str,
    value: &str,
    (size, bold): (f64, bool),
    measure: f64,
) -> f64 {
    let caption = Text::new([x, y + CAPTION], CAPTION, caption).coloured(Role::Faint);
    marks.push(Mark::Text(caption));
    let lines = wrap_tight(value, size, measure);
    for (row, line) in lines.iter().enumerate() {
        let base = y + CAPTION + 4.0 + size + row as f64 * size * 1.25;
        let mut text = Text::new([x, base], size, line.clone());
        text.bold = bold;
        marks.push(Mark::Text(text));
    }
    CAPTION + 4.0 + lines.len().max(1) as f64 * size * 1.25
}

/// Size that a text may have to be no wider than a measure, between two sizes, px.
pub(crate) fn fitted(text: &str, [least, most]: [f64; 2], measure: f64) -> f64 {
    (measure / width(text, 1.0).max(1e-9)).clamp(least, most)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day() -> Date {
        Date { year: 2026, month: 5, day: 12 }
    }

    fn texts(page: &Drawing) -> Vec<String> {
        let mut texts = Vec::new();
        page.walk(&mut |mark| {
            if let Mark::Text(text) = mark {
                texts.push(text.text.clone());
            }
        });
        texts
    }

    #[test]
    fn a_table_breaks_between_rows_and_repeats_its_captions() {
        let columns = [Column::words("Hole", 1.0), Column::words("Note", 3.0)];
        let note = "a note that is long enough to take several lines in its column, because it goes on and on \
                    about what there is to be done at this hole, before it is filled and after it is filled";
        let rows: Vec<Vec<String>> = (1..=60).map(|n| vec![format!("A {n}"), note.to_owned()]).collect();
        let mut flow = Flow::new(Paper::A4, "t", "Trial", &[("Assembly", "Flap".to_owned())]);
        flow.table(&columns, &rows);
        let document = flow.finish("", day());
        assert!(document.pages.len() > 2);
        let lines = wrap_tight(note, BODY, 400.0).len();
        assert!(lines > 1, "the note must need lines");
        let mut seen = 0;
        for page in &document.pages {
            let texts = texts(page);
            assert_eq!(texts.iter().filter(|text| *text == "Note").count(), 1);
            let starts = texts.iter().filter(|text| text.starts_with("A ")).count();
            let first = texts.iter().filter(|text| text.starts_with("a note that")).count();
            let last = texts.iter().filter(|text| text.ends_with("after it is filled")).count();
            assert_eq!((first, last), (starts, starts), "a row is split");
            seen += starts;
            assert!(texts.contains(&format!(
                "{} of {}",
                page.key.trim_start_matches("t-"),
                document.pages.len()
            )));
        }
        assert_eq!(seen, 60);
    }

    #[test]
    fn a_row_higher_than_a_page_goes_on_and_loses_nothing() {
        let words: Vec<String> = (0..4000).map(|n| format!("w{n}")).collect();
        let mut flow = Flow::new(Paper::Letter, "t", "Trial", &[]);
        flow.table(&[Column::words("Note", 1.0)], &[vec![words.join(" ")]]);
        let document = flow.finish("", day());
        let all: Vec<String> = document.pages.iter().flat_map(texts).collect();
        let read: Vec<&str> =
            all.iter().flat_map(|line| line.split(' ')).filter(|word| word.starts_with('w')).collect();
        assert_eq!(read, words);
        for page in &document.pages {
            page.walk(&mut |mark| {
                if let Mark::Text(text) = mark {
                    assert!(text.at[1] < page.height - MARGIN, "{} falls off the page", text.text);
                }
            });
        }
    }

    #[test]
    fn a_picture_too_large_is_made_smaller() {
        let picture = Drawing {
            key: "p".into(),
            width: 4000.0,
            height: 1000.0,
            title: String::new(),
            description: String::new(),
            marks: vec![Mark::Circle { centre: [4000.0, 500.0], radius: 8.0, fill: None, stroke: None }],
        };
        let mut flow = Flow::new(Paper::A4, "t", "Trial", &[]);
        flow.picture(&picture);
        let document = flow.finish("", day());
        let Some(Mark::Circle { centre, .. }) = document.pages[0].marks.first() else { panic!("a circle") };
        assert!((centre[0] - (Paper::A4.px()[0] - MARGIN)).abs() < 1e-9);
    }
}
