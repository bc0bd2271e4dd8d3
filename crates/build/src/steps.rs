//! A step in words: what it is, what it waits for, what of it is done, and the clock.

use faying_plan::{HoleId, PieceId, PlaneSide, RowId, StepId, Work};
use faying_record::{ActId, Event, seconds_of};
use faying_sequence::{Openness, Progress, StepState};
use faying_standards::{HeadStyle, HoleRole, RivetType, figures};
use serde::Serialize;

use crate::clock;
use crate::gates::waiting;
use crate::report::{OpenReport, RowHoles, cited, open_by_row, row_holes};
use crate::world::World;

/// A step with everything that its page shows.
#[derive(Debug, Serialize)]
pub struct StepReport {
    /// Its lasting name.
    pub step: String,
    /// Short name of its assembly.
    pub assembly: String,
    /// Name of its assembly as shown.
    pub assembly_title: String,
    /// Its name as shown.
    pub title: String,
    /// The kind of work, in words; empty where the plan names none.
    pub work: String,
    /// Where it stands in the builder's own plans.
    pub sheet: String,
    /// A remark of the plan.
    pub note: String,
    /// Planned hours.
    pub hours: Option<f64>,
    /// Minutes written down for it so far.
    pub worked_minutes: f64,
    /// How many people it takes.
    pub people: u32,
    /// What to fetch.
    pub tools: Vec<String>,
    /// Hours that must pass before what comes after it.
    pub cure_hours: Option<f64>,
    /// What is to be careful about, where the work can hurt.
    pub caution: &'static str,
    /// What to know before the first hole: which part, what size; a sentence each.
    pub before_first: Vec<String>,
    /// Where it stands: `done`, `begun`, `ready`, `waits`, `cures`, `at a gate`.
    pub state: &'static str,
    /// What it waits for; empty where it can be begun.
    pub waits: Vec<WaitReport>,
    /// Pieces that come in.
    pub adds: Vec<String>,
    /// Plane sides that are hidden afterwards.
    pub closes: Vec<String>,
    /// Pieces and rows that are worked on, one by one.
    pub items: Vec<ItemReport>,
    /// Whether it is done as a whole.
    pub whole: bool,
    /// Holes it fills, by row, with the number of those that are set.
    pub sets: Vec<(RowHoles, usize)>,
    /// Holes that stay open, by row and reason.
    pub open: Vec<OpenReport>,
    /// Acts that did some of it, oldest first, those taken back included.
    #[serde(skip)]
    pub acts: Vec<ActId>,
}

/// Something that a step waits for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WaitReport {
    /// What.
    pub what: String,
    /// How far it is, or until when.
    pub how_far: String,
    /// Its page.
    pub link: String,
}

/// A piece or a row that a step works on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ItemReport {
    /// Its lasting name.
    pub name: String,
    /// Whether it is a row.
    pub is_row: bool,
    /// In words: `Rib 1`, or `web/A, holes 1 to 12`.
    pub title: String,
    /// How many things of it are done.
    pub done: usize,
    /// Of how many: holes of a row, or 1.
    pub all: usize,
    /// When the last of it was done.
    pub at: Option<String>,
}

/// The clock that runs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClockReport {
    /// The step it runs on; empty for the build as a whole.
    pub step: String,
    /// The step by its assembly's and its own title.
    pub title: String,
    /// When it was started, by the clock of the device.
    pub since: String,
    /// How long it has run, minutes.
    pub minutes: f64,
}

impl World {
    /// A step with everything that its page shows.
    #[must_use]
    pub fn step_report(&self, progress: &Progress, id: StepId) -> StepReport {
        let plan = self.plan();
        let step = &plan[id];
        let work = self.side.sequence.work(id);
        let standing = progress.of(id);
        let name = plan.step_name(id);
        let state = match standing.state {
            StepState::Done => "done",
            StepState::Blocked { .. } => "waits",
            StepState::Curing { .. } => "cures",
            StepState::AtGate { .. } => "at a gate",
            StepState::Ready if standing.is_begun() => "begun",
            StepState::Ready => "ready",
        };
        let is_set = |hole: &HoleId| self.is_set(*hole);
        let by_name = |rows: Vec<RowHoles>| -> Vec<(RowHoles, usize)> {
            rows.into_iter()
                .map(|it| {
                    let row = plan.row_named(&it.row);
                    let set = work.fill.iter().filter(|&&hole| Some(plan[hole].row) == row);
                    let set = set.filter(|hole| is_set(hole)).count();
                    (it, set)
                })
                .collect()
        };
        StepReport {
            assembly: plan[step.assembly].id.clone(),
            assembly_title: plan[step.assembly].title.clone(),
            title: step.title.clone(),
            work: if step.work == Work::Other { String::new() } else { step.work.word().replace('-', " ") },
            sheet: step.sheet.clone(),
            note: step.note.clone(),
            hours: step.hours,
            worked_minutes: self.worked_minutes(&name),
            people: step.people,
            tools: step.tools.iter().map(|it| plan.tools.title_of(it).unwrap_or(it).to_owned()).collect(),
            cure_hours: step.cure_hours,
            caution: caution(step.work),
            before_first: self.before_first(id),
            state,
            waits: if standing.state == StepState::Done { Vec::new() } else { self.waits(progress, id) },
            adds: step.adds.iter().map(|&piece| self.piece_words(piece)).collect(),
            closes: step.closes.iter().map(|&side| self.side_words(side)).collect(),
            items: self.items(id, &name),
            whole: work.is_whole(),
            sets: by_name(row_holes(plan, &work.fill)),
            open: self.stays_open(id),
            acts: self.acts_of(&name),
            step: name,
        }
    }

    /// What to know before the first hole of a step that drills, dimples or countersinks.
    fn before_first(&self, id: StepId) -> Vec<String> {
        let plan = self.plan();
        let work = plan[id].work;
        let holes = &self.side.sequence.work(id).worked;
        let mut rivets: Vec<RivetType> =
            holes.iter().filter_map(|&hole| plan[plan[hole].row].rivet).collect();
        rivets.sort_unstable();
        rivets.dedup();
        let says: fn(RivetType) -> String = match work {
            Work::FinalDrill => drill_words,
            Work::Dimple => dimple_words,
            Work::Countersink => countersink_words,
            _ => return Vec::new(),
        };
        let mut words: Vec<String> = Vec::new();
        if !holes.is_empty() {
            words.push("Read the mark on the part against the plan before the first hole: parts that look alike have been taken for each other.".to_owned());
        }
        words.extend(rivets.into_iter().map(says).filter(|it| !it.is_empty()));
        if work == Work::Countersink && !holes.is_empty() {
            words.push(
                "The first one on scrap of the same sheet, with its rivet in it. Slow: a cutter that chatters runs too \
                 fast. Clamp the part square under it: a part that tilts breaks the pilot."
                    .to_owned(),
            );
        }
        words
    }

    /// Minutes that were written down for a step.
    #[must_use]
    pub fn worked_minutes(&self, step: &str) -> f64 {
        let all = self.state.of_kind("worked");
        all.filter_map(|(_, act)| match &act.event {
            Event::Worked(body) if body.step == step => Some(body.minutes),
            _ => None,
        })
        .sum()
    }

    /// The clock that runs now, if one does.
    #[must_use]
    pub fn clock_report(&self) -> Option<ClockReport> {
        let (id, started) = self.clock_running()?;
        let plan = self.plan();
        let since = &self.state.act(id).at;
        let seconds = seconds_of(since).map_or(0, |begun| (clock::seconds() - begun).max(0));
        #[expect(clippy::cast_precision_loss, reason = "seconds of an evening")]
        let minutes = seconds as f64 / 60.0;
        let title = plan.step_named(&started.step).map_or_else(
            || started.step.clone(),
            |step| format!("{}: {}", plan[plan[step].assembly].title, plan[step].title),
        );
        Some(ClockReport { step: started.step.clone(), title, since: since.clone(), minutes })
    }

    /// Steps and gates before a step that are not behind it yet, and what has not cured.
    fn waits(&self, progress: &Progress, id: StepId) -> Vec<WaitReport> {
        let plan = self.plan();
        let mut waits = Vec::new();
        let titled = |step: StepId| {
            let title = &plan[step].title;
            if plan[step].assembly == plan[id].assembly {
                title.clone()
            } else {
                format!("{}: {title}", plan[plan[step].assembly].title)
            }
        };
        for &step in &plan[id].after {
            let of = progress.of(step);
            let how_far = match (of.state, of.cures_until.map(|until| (until, until - clock::seconds()))) {
                (StepState::Done, Some((until, left))) if left > 0 => {
                    format!("cures until {}, another {}", clock::local(until), waiting(left))
                }
                (StepState::Done, _) => continue,
                _ if of.all == 1 => "not done".to_owned(),
                _ => format!("{} of {} done", of.done, of.all),
            };
            let link = format!("/step/{}", plan.step_name(step));
            waits.push(WaitReport { what: titled(step), how_far, link });
        }
        for gate in &progress.gates {
            if plan[gate.gate].before != Some(id) || gate.is_passed() {
                continue;
            }
            let how_far = match gate.blockers.len() {
                0 => "nothing stands against it; it is to be passed".to_owned(),
                1 => "1 thing stands against it".to_owned(),
                count => format!("{count} things stand against it"),
            };
            let name = plan.gate_name(gate.gate);
            waits.push(WaitReport {
                what: format!("Gate: {}", plan[gate.gate].title),
                how_far,
                link: format!("/gate/{name}"),
            });
        }
        waits
    }

    /// A piece as it is said: `Rib 1`.
    fn piece_words(&self, id: PieceId) -> String {
        let plan = self.plan();
        let (piece, part) = (&plan[id], &plan[plan[id].part]);
        let title = if part.title.is_empty() { &part.name } else { &part.title };
        if piece.copy.is_empty() { title.clone() } else { format!("{title} {}", piece.copy) }
    }

    /// A side of a plane as it is said: `Spar web, aft side`.
    pub(crate) fn side_words(&self, (plane, side): PlaneSide) -> String {
        let plan = self.plan();
        format!("{}, {} side", plan[plane].title, plan[plane].side_name(side))
    }

    /// Pieces and rows that a step works on.
    fn items(&self, id: StepId, name: &str) -> Vec<ItemReport> {
        let plan = self.plan();
        let work = self.side.sequence.work(id);
        let newest = |acts: Vec<ActId>| acts.into_iter().max().map(|act| self.state.act(act).at.clone());
        let mut items: Vec<ItemReport> = Vec::new();
        for &piece in &work.pieces {
            let act = self.state.worked(name, piece);
            items.push(ItemReport {
                name: plan.piece_full_name(piece),
                is_row: false,
                title: self.piece_words(piece),
                done: usize::from(act.is_some()),
                all: 1,
                at: newest(act.into_iter().collect()),
            });
        }
        let mut rows: Vec<RowId> = work.worked.iter().map(|&hole| plan[hole].row).collect();
        rows.dedup();
        for row in rows {
            let holes: Vec<HoleId> =
                work.worked.iter().copied().filter(|&hole| plan[hole].row == row).collect();
            let acts: Vec<ActId> =
                holes.iter().filter_map(|&hole| self.state.worked_hole(name, hole)).collect();
            let full = plan.row_name(row);
            let short = full.strip_prefix(&format!("{}/", plan[plan[id].assembly].id)).unwrap_or(&full);
            items.push(ItemReport {
                title: format!("{short}, {}", plan.hole_range(&holes)),
                name: full.clone(),
                is_row: true,
                done: acts.len(),
                all: holes.len(),
                at: newest(acts),
            });
        }
        items
    }

    /// Holes that stay open at a step: for a later part, by the plan's hold, or by the builder's own.
    pub(crate) fn stays_open(&self, id: StepId) -> Vec<OpenReport> {
        let plan = self.plan();
        let work = self.side.sequence.work(id);
        let mut open = open_by_row(plan, &work.open);
        let mut holds: Vec<(ActId, Vec<HoleId>)> = Vec::new();
        for &hole in work.fill.iter().filter(|&&hole| !self.is_set(hole)) {
            let Some((act, _)) = self.state.held(hole) else { continue };
            match holds.iter_mut().find(|(known, _)| *known == act) {
                Some((_, holes)) => holes.push(hole),
                None => holds.push((act, vec![hole])),
            }
        }
        for (act, holes) in holds {
            let Event::HoldPlaced(hold) = &self.state.act(act).event else { continue };
            let filled: Vec<(HoleId, Openness)> = holes.iter().map(|&hole| (hole, Openness::Fill)).collect();
            let until = if hold.until.is_empty() { "" } else { " until " };
            let why = format!("held{until}{}: {}", hold.until, hold.why);
            open.extend(
                open_by_row(plan, &filled).into_iter().map(|it| OpenReport { why: why.clone(), ..it }),
            );
        }
        open
    }

    /// Acts of a step that are no rivets: those are told by their run and their hole.
    fn acts_of(&self, step: &str) -> Vec<ActId> {
        let acts = (0..).map(ActId).zip(self.state.acts());
        acts.filter(|(_, act)| match &act.event {
            Event::WorkDone(body) => body.step == step,
            Event::StepDone(body) => body.step == step,
            Event::Worked(body) => body.step == step,
            Event::ClockStarted(body) => body.step == step,
            Event::NoteMade(body) => body.about == step,
            _ => false,
        })
        .map(|(id, _)| id)
        .collect()
    }
}

/// The drill of a rivet, and the band of its hole where that was seen.
fn drill_words(rivet: RivetType) -> String {
    let Some((hole, size)) = figures().usual_hole(rivet.diameter).and_then(|it| Some((it, it.nominal?)))
    else {
        return String::new();
    };
    let band = figures().holes_for(rivet.diameter).find(|hole| hole.role == HoleRole::Band);
    let band = band.and_then(|band| {
        let (least, most) = (band.min?.decimal(), band.max?.decimal());
        Some(format!("; {least} to {most} in as drilled, {}", cited(&band.cited)))
    });
    format!("{rivet}: {} ({} in){}.", hole.drill, size.decimal(), band.unwrap_or_default())
}

fn dimple_words(rivet: RivetType) -> String {
    let hole = drill_words(rivet);
    if hole.is_empty() {
        hole
    } else {
        format!("{hole} Read it before it is dimpled: dimpling makes it larger.")
    }
}

/// How wide a countersink is, and the least sheet for one.
fn countersink_words(rivet: RivetType) -> String {
    if rivet.head != HeadStyle::Flush {
        return String::new();
    }
    let width = figures().countersink_diameter(rivet.diameter).map_or_else(
        || "no width was seen for it; take it from the rivet itself".to_owned(),
        |band| format!("{} to {} in wide, {}", band.min.decimal(), band.max.decimal(), cited(&band.cited)),
    );
    let least = figures()
        .countersink_minimum(rivet.diameter)
        .and_then(|it| Some((it.least_sheet?, cited(&it.cited))));
    let least = least.map_or_else(String::new, |(least, from)| {
        format!("; the sheet at least {} in, {from}", least.decimal())
    });
    format!("{rivet}: {width}{least}.")
}

/// What can hurt at a kind of work; setting rivets says its own at the run.
const fn caution(work: Work) -> &'static str {
    match work {
        Work::FinalDrill | Work::Deburr | Work::Countersink => "Eyes: glasses on before the drill turns.",
        Work::Dimple => "Fingers out of the dies.",
        Work::Prime | Work::Seal => {
            "Solvent and primer: the mask that their sheet asks for, gloves, air through the room, nothing that sparks."
        }
        _ => "",
    }
}
