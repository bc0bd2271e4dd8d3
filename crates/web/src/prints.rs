//! What is printed for a step: the run card, bag labels, and maps at full size.
//!
//! The words and numbers are those of the run's report; the sheet places them.
//! The pages and the command line print through here.

use faying_build::World;
use faying_build::report::{RowHoles, RunReport, SetUpReport};
use faying_build::room::{HoleId, Length, PlaneId, Run, Side, StepId, figures, head_side, now};
use faying_sheet::card::{Aim, Card, Line, MapHole, OpenHoles, Pick, SetUp, Totals, map};
use faying_sheet::full_size::{self, FullSize, FullSizeHole};
use faying_sheet::label::{Label, Labels};
use faying_sheet::marks::Group;
use faying_sheet::{Date, Document, Drawing, Mark, Paper, pdf};

use crate::layout::first_upper;
use crate::pages::run::duration;

/// What can be printed for a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Print {
    /// The card to be propped up.
    Card,
    /// Labels for the bags.
    Labels,
    /// Its planes at full size.
    Map,
}

impl Print {
    /// By its name in an address or on the command line.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        match name {
            "card" => Some(Self::Card),
            "labels" => Some(Self::Labels),
            "map" => Some(Self::Map),
            _ => None,
        }
    }
}

/// A step's print as PDF.
///
/// # Units
/// - `address`: where the step's page is served; it goes into the QR code
///
/// # Errors
/// In words, where there is nothing to print or the sheet cannot be written.
pub fn print(
    world: &World,
    step: StepId,
    what: Print,
    paper: Paper,
    address: &str,
) -> Result<Vec<u8>, String> {
    let run = world.run_of(step);
    if run.set_ups.is_empty() {
        return Err("every hole that can be set at this step is set: there is nothing to print".to_owned());
    }
    let job = Job { world, step, run: &run, report: RunReport::of(world, &run), address };
    let mut document = match what {
        Print::Card => job.card(paper).pages(paper).map_err(|error| error.to_string())?,
        Print::Labels => job.labels().pages(paper).map_err(|error| error.to_string())?,
        Print::Map => job.full_size(paper)?,
    };
    // A builder's own word in another script is no reason to print nothing; the box shows where it was.
    pdf::substitute(&mut document);
    pdf::write(&document).map_err(|error| error.to_string())
}

/// The drawing of the whole plan as PDF: on paper on its side where it can be read there, else on a sheet of its own size.
///
/// # Errors
/// In words, where the sheet cannot be written.
pub(crate) fn plan_sheet(drawing: Drawing, paper: Paper) -> Result<Vec<u8>, String> {
    let [tall, wide] = paper.px();
    let room = |whole: f64| whole - 2.0 * PLAN_MARGIN;
    let fits = (room(wide) / drawing.width).min(room(tall) / drawing.height).min(1.0);
    let [scale, width, height] = if fits >= LEAST_SCALE {
        [fits, wide, tall]
    } else {
        [1.0, drawing.width + 2.0 * PLAN_MARGIN, drawing.height + 2.0 * PLAN_MARGIN]
    };
    // On paper nothing can be followed.
    let marks =
        drawing.marks.into_iter().map(|mark| unlinked(mark).placed([PLAN_MARGIN; 2], scale)).collect();
    let page = Drawing { marks, width, height, ..drawing };
    let mut document =
        Document { title: page.title.clone(), author: String::new(), date: Job::date(), pages: vec![page] };
    pdf::substitute(&mut document);
    pdf::write(&document).map_err(|error| error.to_string())
}

/// Around the drawing of a plan, px.
const PLAN_MARGIN: f64 = 38.0;
/// Smallest scale at which the drawing's least type, 11 px, can be read on paper.
const LEAST_SCALE: f64 = 0.6;

fn unlinked(mark: Mark) -> Mark {
    match mark {
        Mark::Group(group) => {
            let marks = group.marks.into_iter().map(unlinked).collect();
            Mark::Group(Group { link: None, marks, ..group })
        }
        other => other,
    }
}

struct Job<'a> {
    world: &'a World,
    step: StepId,
    run: &'a Run,
    report: RunReport,
    address: &'a str,
}

impl Job<'_> {
    fn date() -> Date {
        // The clock gives `2026-05-12T…`; whatever else it gave would be no date.
        let now = now();
        let part = |range: std::ops::Range<usize>| now.get(range).and_then(|text| text.parse::<u16>().ok());
        let (year, month, day) = (part(0..4), part(5..7), part(8..10));
        Date {
            year: year.unwrap_or(1970),
            month: month.map_or(1, |month| month as u8),
            day: day.map_or(1, |day| day as u8),
        }
    }

    fn assembly(&self) -> String {
        let plan = self.world.plan();
        plan[plan[self.step].assembly].title.clone()
    }

    fn title(&self) -> String {
        self.world.plan()[self.step].title.clone()
    }

    fn revision(&self) -> String {
        crate::layout::revision(self.world)
    }

    /// Within its own assembly a row needs no more than `web/A`.
    fn row<'r>(&self, row: &'r str) -> &'r str {
        let assembly = self.report.step.rsplit_once('/').map_or("", |(assembly, _)| assembly);
        row.strip_prefix(assembly).and_then(|row| row.strip_prefix('/')).unwrap_or(row)
    }

    fn rows(&self, rows: &[RowHoles]) -> String {
        let rows: Vec<String> = rows
            .iter()
            .map(|row| {
                let holes = row.holes.trim_start_matches("holes ").trim_start_matches("hole ");
                format!("{} {holes}", self.row(&row.row).replace('/', " "))
            })
            .collect();
        rows.join("; ")
    }

    fn card(&self, paper: Paper) -> Card {
        let report = &self.report;
        let takes = &report.takes;
        Card {
            assembly: self.assembly(),
            step: self.title(),
            sheet: report.sheet.clone(),
            revision: self.revision(),
            date: Self::date(),
            author: String::new(),
            address: self.address.to_owned(),
            cautions: vec![
                "Glasses and ear protection before the first rivet.".to_owned(),
                "Fingers out of the yoke.".to_owned(),
            ],
            set_ups: report.set_ups.iter().enumerate().map(|(at, it)| self.set_up(at, it)).collect(),
            picks: report
                .bag
                .iter()
                .map(|line| Pick {
                    fastener: line.fastener.clone(),
                    set_ups: self.set_ups_of(&line.fastener),
                    need: line.need as u32,
                    spare: line.spare as u32,
                    have: None,
                    short: None,
                })
                .collect(),
            open: report
                .open
                .iter()
                .map(|open| OpenHoles {
                    rows: format!(
                        "{} {}",
                        self.row(&open.row).replace('/', " "),
                        open.holes.trim_start_matches("holes ").trim_start_matches("hole ")
                    ),
                    count: open.names.len() as u32,
                    reason: open.why.clone(),
                })
                .collect(),
            maps: self.planes().into_iter().map(|face| self.map(face, paper)).collect(),
            totals: Totals {
                holes: report.set_ups.iter().map(|it| it.holes.len() as u32).sum(),
                settings: takes.settings as u32,
                die_changes: takes.changes[2],
                flips: takes.changes[5],
                minutes: duration(takes.minutes),
                bound: if takes.proven {
                    "no order is quicker".to_owned()
                } else {
                    format!("no order takes less than {}", duration(takes.bound_minutes))
                },
                plan_order: duration(takes.plan_order_minutes),
            },
        }
    }

    fn set_up(&self, at: usize, it: &SetUpReport) -> SetUp {
        let before = at.checked_sub(1).map(|before| &self.report.set_ups[before]);
        let line = |words: &str, of: fn(&SetUpReport) -> &str| Line {
            words: words.to_owned(),
            changed: before.is_none_or(|before| of(before) != of(it)),
        };
        let first = figures().constant("first-article").value as usize;
        let limits = it.limits.as_ref();
        let range = |least: f64, most: Option<f64>| match most {
            Some(most) => format!("{} to {}", size(least), size(most)),
            None => format!("at least {}", size(least)),
        };
        let inch = |aim: Option<f64>| aim.map_or_else(String::new, |aim| format!("{} in", size(aim)));
        let height = Aim {
            aim: inch(it.stacks.first().and_then(|stack| stack.aim_in)),
            limits: match it.heights_in {
                Some([least, most]) => range(least, Some(most)),
                None => limits.map_or_else(String::new, |it| range(it.min_height_in, it.max_height_in)),
            },
        };
        let width = Aim {
            aim: String::new(),
            limits: limits.map_or_else(String::new, |it| range(it.min_width_in, it.max_width_in)),
        };
        let solid = !it.measure.is_empty();
        let sheets: Vec<&str> =
            it.stacks.iter().map(|stack| stack.sheets.as_str()).filter(|it| !it.is_empty()).collect();
        let mut notes = it.notes.clone();
        if it.people > 1 {
            notes.insert(
                0,
                "Two people. Look at the helper's first rivets from outside before going on.".to_owned(),
            );
        }
        SetUp {
            number: at as u32 + 1,
            fastener: it.fastener.clone(),
            tool: line(&it.tool, |it| &it.tool),
            yoke: line(&it.with, |it| &it.with),
            dies: line(&it.dies, |it| &it.dies),
            setting: Line { words: it.setting.clone(), changed: true },
            face_up: line(&it.face_up, |it| &it.face_up),
            head_side: it.head_on.clone(),
            holes: it.holes.len() as u32,
            rows: self.rows(&it.rows),
            height,
            width,
            coupon: if solid {
                sheets.first().map_or_else(String::new, |it| (*it).to_owned())
            } else {
                String::new()
            },
            bag_check: self.run.set_ups[at].rivet.map_or_else(String::new, |(rivet, dash)| {
                let mark = &figures().alloy(rivet.alloy).head_mark;
                let length = dash.map_or_else(String::new, |dash| {
                    format!("; three about {} in long", size(dash.length().inches()))
                });
                format!("head: {mark}{length}")
            }),
            first: it.measure.iter().take(first).cloned().collect(),
            one_in: None,
            then: it.measure.iter().skip(first).cloned().collect(),
            notes: notes.iter().map(|note| first_upper(note)).collect(),
        }
    }

    fn set_ups_of(&self, fastener: &str) -> Vec<u32> {
        (1..).zip(&self.report.set_ups).filter(|(_, it)| it.fastener == fastener).map(|(at, _)| at).collect()
    }

    fn labels(&self) -> Labels {
        Labels {
            title: format!("Bag labels: {}, {}", self.assembly(), self.title()),
            author: String::new(),
            date: Self::date(),
            labels: self
                .report
                .bag
                .iter()
                .map(|line| Label {
                    fastener: line.fastener.clone(),
                    set_ups: self.set_ups_of(&line.fastener),
                    count: line.need as u32,
                    spare: line.spare as u32,
                    assembly: self.assembly(),
                    step: self.title(),
                    address: self.address.to_owned(),
                })
                .collect(),
        }
    }

    /// The planes of the run, each from the side of its first manufactured head.
    fn planes(&self) -> Vec<(PlaneId, Side)> {
        let plan = self.world.plan();
        let mut planes: Vec<(PlaneId, Side)> = Vec::new();
        for &hole in self.run.set_ups.iter().flat_map(|it| &it.holes) {
            if let Some(plane) = plan[plan[hole].row].plane
                && !planes.iter().any(|(known, _)| *known == plane)
            {
                planes.push((plane, head_side(&self.world.side.joints, hole)));
            }
        }
        planes
    }

    fn map(&self, face: (PlaneId, Side), paper: Paper) -> Drawing {
        let holes = self.numbered();
        let later = self.later(face.0);
        map(self.world.plan(), face, &|hole| self.map_hole(&holes, hole), &later, paper)
    }

    /// Every hole of the run with the number of its set-up, sorted.
    fn numbered(&self) -> Vec<(HoleId, u32)> {
        let mut holes: Vec<(HoleId, u32)> = (1..)
            .zip(&self.run.set_ups)
            .flat_map(|(number, it)| it.holes.iter().map(move |&hole| (hole, number)))
            .collect();
        holes.sort_unstable();
        holes
    }

    fn map_hole(&self, numbered: &[(HoleId, u32)], hole: HoleId) -> MapHole {
        if let Ok(at) = numbered.binary_search_by_key(&hole, |(hole, _)| *hole) {
            return MapHole::SetUp(numbered[at].1);
        }
        if self.run.open.iter().any(|(open, _)| *open == hole) {
            MapHole::Open
        } else if self.world.is_set(hole) {
            MapHole::Set
        } else {
            MapHole::Other
        }
    }

    /// Pieces of a plane that are not there yet at this step.
    fn later(&self, plane: PlaneId) -> Vec<faying_build::room::PieceId> {
        let plan = self.world.plan();
        let order = &self.world.side.sequence.order;
        plan[plane]
            .layers
            .iter()
            .map(|layer| layer.piece)
            .filter(|&piece| !order.is_there(piece, self.step))
            .collect()
    }

    fn full_size(&self, paper: Paper) -> Result<Document, String> {
        let plan = self.world.plan();
        let open: Vec<HoleId> = self.run.open.iter().map(|(hole, _)| *hole).collect();
        let joints = &self.world.side.joints;
        let look = |hole: HoleId| FullSizeHole {
            diameter_in: joints
                .at(hole)
                .and_then(|joint| joint.seats.as_ref().ok())
                .map(|seats| seats.hole.inches())
                .or(plan[plan[hole].row].hole_size.map(Length::inches)),
            open: open.contains(&hole),
        };
        let mut pages: Option<Document> = None;
        for (plane, side) in self.planes() {
            let input = FullSize {
                plan,
                plane,
                side,
                hole: &look,
                revision: self.revision(),
                date: Self::date(),
                sheet: self.report.sheet.clone(),
                author: String::new(),
            };
            let more = full_size::pages(&input, paper);
            match &mut pages {
                Some(document) => document.pages.extend(more.pages),
                None => pages = Some(more),
            }
        }
        pages.ok_or_else(|| "no row of this step is drawn in a plane: there is no map of it".to_owned())
    }
}

/// Inches as the trade writes them: `.063`.
fn size(inches: f64) -> String {
    format!("{inches:.3}").trim_start_matches('0').to_owned()
}
