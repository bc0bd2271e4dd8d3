//! Labels for the bags of a run, to be cut apart.

use crate::card::listed;
use crate::document::{Date, Document, Paper};
use crate::marks::{Drawing, Mark, Role, Stroke, Text};
use crate::page::{MARGIN, fitted};
use crate::qr::{self, QrError};
use crate::text::wrap_tight;

/// Columns and rows of labels on a sheet.
const GRID: [usize; 2] = [2, 5];
/// Inside a label, px.
const PAD: f64 = 12.0;
/// Side of the QR code, px.
const CODE: f64 = 122.0;

/// One bag's label.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Label {
    /// The fastener, such as `MS20470AD4-5`.
    pub fastener: String,
    /// Set-ups it is for.
    pub set_ups: Vec<u32>,
    /// So many holes.
    pub count: u32,
    /// So many on top.
    pub spare: u32,
    /// The assembly's title.
    pub assembly: String,
    /// The step.
    pub step: String,
    /// Address that opens the run; printed as a QR code with the address below.
    pub address: String,
}

/// A sheet of labels.
#[derive(Clone, Debug, PartialEq)]
pub struct Labels {
    /// What they are for, for the file's properties.
    pub title: String,
    /// Who they are from, for the file's properties; may be empty.
    pub author: String,
    /// The day they were made.
    pub date: Date,
    /// The labels in order.
    pub labels: Vec<Label>,
}

/// Width and height of one label on a paper, px: two beside each other, five below.
#[must_use]
pub fn size(paper: Paper) -> [f64; 2] {
    let [wide, high] = paper.px();
    [(wide - 2.0 * MARGIN) / GRID[0] as f64, (high - 2.0 * MARGIN - NOTE) / GRID[1] as f64]
}

/// Room for the size of the labels below them, px.
const NOTE: f64 = 14.0;

impl Labels {
    /// The sheets, with lines to cut along.
    ///
    /// # Errors
    /// [`QrError`] if an address is too long for a code that a phone reads.
    pub fn pages(&self, paper: Paper) -> Result<Document, QrError> {
        let [wide, high] = size(paper);
        let [page_wide, page_high] = paper.px();
        let a_sheet = GRID[0] * GRID[1];
        let count = self.labels.len().div_ceil(a_sheet).max(1);
        let mut pages = Vec::new();
        for number in 1..=count {
            let mut marks = cuts(paper);
            let labels = self.labels.iter().skip((number - 1) * a_sheet).take(a_sheet);
            for (index, label) in labels.enumerate() {
                let at = [MARGIN + (index % GRID[0]) as f64 * wide, MARGIN + (index / GRID[0]) as f64 * high];
                marks.extend(label.marks([wide, high])?.into_iter().map(|mark| mark.placed(at, 1.0)));
            }
            let mm = |px: f64| px / 96.0 * 25.4;
            let note = format!(
                "Each label is {:.0} × {:.0} mm. {}, {}, page {number} of {count}.",
                mm(wide),
                mm(high),
                self.title,
                self.date
            );
            let note_size = fitted(&note, [6.0, 10.0], page_wide - 2.0 * MARGIN);
            let at = [MARGIN, page_high - MARGIN];
            marks.push(Mark::Text(Text::new(at, note_size, note).coloured(Role::Faint)));
            pages.push(Drawing {
                key: format!("labels-{number}"),
                width: page_wide,
                height: page_high,
                title: format!("{}, page {number} of {count}", self.title),
                description: format!("Labels to cut apart, {}.", paper.name()),
                marks,
            });
        }
        Ok(Document { title: self.title.clone(), author: self.author.clone(), date: self.date, pages })
    }
}

/// The lines to cut along.
fn cuts(paper: Paper) -> Vec<Mark> {
    let [wide, high] = size(paper);
    let (right, bottom) = (MARGIN + wide * GRID[0] as f64, MARGIN + high * GRID[1] as f64);
    let stroke = Stroke::solid(Role::Faint, 0.6);
    let upright = (0..=GRID[0]).map(|n| MARGIN + n as f64 * wide);
    let level = (0..=GRID[1]).map(|n| MARGIN + n as f64 * high);
    upright
        .map(|x| Mark::straight([x, MARGIN], [x, bottom], stroke))
        .chain(level.map(|y| Mark::straight([MARGIN, y], [right, y], stroke)))
        .collect()
}

impl Label {
    /// Drawn from the origin.
    fn marks(&self, [wide, high]: [f64; 2]) -> Result<Vec<Mark>, QrError> {
        let words = wide - CODE - 3.0 * PAD;
        let mut marks = vec![qr::code(&self.address, [wide - CODE - PAD + 6.0, PAD - 6.0], CODE)?];
        let size = fitted(&self.fastener, [15.0, 28.0], words);
        let mut y = PAD + 6.0;
        for line in wrap_tight(&self.fastener, size, words).into_iter().take(3) {
            y += size * 1.1;
            marks.push(Mark::Text(Text::new([PAD, y], size, line).heavy()));
        }
        y = (y + 32.0).max(PAD + 70.0);
        let count = self.count.to_string();
        marks.push(Mark::Text(Text::new([PAD, y], 24.0, count.clone()).heavy()));
        if self.spare > 0 {
            let after = PAD + crate::text::width(&count, 24.0) + 8.0;
            let spare = format!("+ {} spare", self.spare);
            marks.push(Mark::Text(Text::new([after, y], 15.0, spare)));
        }
        y += 25.0;
        let set_ups = match self.set_ups.as_slice() {
            [] => String::new(),
            [one] => format!("Set-up {one}"),
            many => format!("Set-ups {}", listed(many)),
        };
        let size = fitted(&set_ups, [11.0, 17.0], words);
        marks.push(Mark::Text(Text::new([PAD, y], size, set_ups).heavy()));
        let across = wide - 2.0 * PAD;
        let rule = PAD + CODE;
        marks.push(Mark::straight([PAD, rule], [PAD + across, rule], Stroke::solid(Role::Ink, 1.0)));
        // The address is whole, because it is what is typed where a phone reads no code.
        let address = wrap_tight(&self.address, 10.0, across);
        let mut base = high - PAD + 2.0 - 12.0 * address.len().saturating_sub(1) as f64;
        let above = base - 12.0;
        for line in address {
            marks.push(Mark::Text(Text::new([PAD, base], 10.0, line)));
            base += 12.0;
        }
        let mut base = rule + 17.0;
        for line in [&self.assembly, &self.step].into_iter().flat_map(|text| wrap_tight(text, 13.0, across)) {
            if base > above {
                break;
            }
            marks.push(Mark::Text(Text::new([PAD, base], 13.0, line)));
            base += 17.0;
        }
        Ok(marks)
    }
}
