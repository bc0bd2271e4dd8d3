//! What stays open at every step, what every closing hides, and what nobody ever fills.

use std::collections::HashSet;

use faying_plan::{HoleId, RowId, StepId};
use faying_sequence::{Progress, StepState, hidden_by};
use serde::Serialize;

use crate::gates::anchor;
use crate::report::OpenReport;
use crate::world::World;

/// What stays open and what is hidden, in the whole build.
#[derive(Debug, Serialize)]
pub struct WholeOpenReport {
    /// Steps that are not done and leave holes open, in an order that the plan allows.
    pub steps: Vec<OpenStep>,
    /// Steps that hide something, likewise.
    pub closings: Vec<ClosingReport>,
    /// Holes that no step fills, by row.
    pub never: Vec<UnfilledRow>,
    /// How many holes are hidden before the plan fills them, all closings together.
    pub late: usize,
}

/// A step that leaves holes open.
#[derive(Debug, Serialize)]
pub struct OpenStep {
    /// Its lasting name.
    pub step: String,
    /// As shown, with its assembly's.
    pub title: String,
    /// How many holes stay open.
    pub count: usize,
    /// By row and reason.
    pub open: Vec<OpenReport>,
}

/// A step that hides sides of planes.
#[derive(Clone, Debug, Serialize)]
pub struct ClosingReport {
    /// Its lasting name.
    pub step: String,
    /// As shown, with its assembly's.
    pub title: String,
    /// Whether it is done: what it hides is hidden.
    pub done: bool,
    /// The sides that it hides, in words.
    pub sides: Vec<String>,
    /// Holes on those sides.
    pub holes: usize,
    /// How many of them are set.
    pub set: usize,
    /// How many the plan fills too late or never.
    pub late: usize,
    /// The holes that are not set, by row and by what becomes of them; the ones that come too late first.
    pub rows: Vec<ClosedRow>,
}

/// Holes of a row that a step hides and that are not set.
#[derive(Clone, Debug, Serialize)]
pub struct ClosedRow {
    /// The row.
    pub row: String,
    /// Which holes, in words.
    pub holes: String,
    /// How many.
    pub count: usize,
    /// What becomes of them: `late`, `held` or `before`.
    pub sort: &'static str,
    /// The same in words, with the step or the reason.
    pub words: String,
    /// Where one does something about it.
    pub link: String,
}

/// Holes of a row that no step fills.
#[derive(Clone, Debug, Serialize)]
pub struct UnfilledRow {
    /// The row.
    pub row: String,
    /// Which holes, in words.
    pub holes: String,
    /// How many.
    pub count: usize,
    /// Why not, as far as the plan says it.
    pub words: String,
    /// The page of the row's first hole.
    pub link: String,
}

/// Holes of a row with the same fate.
struct Fate {
    sort: &'static str,
    words: String,
    link: String,
    holes: Vec<HoleId>,
}

impl World {
    /// What stays open and what is hidden, in the whole build.
    #[must_use]
    pub fn whole_open_report(&self, progress: &Progress) -> WholeOpenReport {
        let plan = self.plan();
        let sorted = self.side.sequence.order.sorted();
        let steps = sorted
            .iter()
            .filter(|&&step| progress.of(step).state != StepState::Done)
            .map(|&step| {
                let open = self.stays_open(step);
                OpenStep {
                    step: plan.step_name(step),
                    title: self.step_title(step),
                    count: open.iter().map(|it| it.names.len()).sum(),
                    open,
                }
            })
            .filter(|it| !it.open.is_empty())
            .collect();
        let closes = |step: &&StepId| !plan[**step].closes.is_empty();
        let closings: Vec<ClosingReport> =
            sorted.iter().filter(closes).map(|&step| self.closing(progress, step)).collect();
        WholeOpenReport {
            steps,
            never: self.unfilled(),
            late: closings.iter().map(|it| it.late).sum(),
            closings,
        }
    }

    fn closing(&self, progress: &Progress, step: StepId) -> ClosingReport {
        let plan = self.plan();
        let mut seen = HashSet::new();
        let mut report = ClosingReport {
            step: plan.step_name(step),
            title: self.step_title(step),
            done: progress.of(step).state == StepState::Done,
            sides: plan[step].closes.iter().map(|&side| self.side_words(side)).collect(),
            holes: 0,
            set: 0,
            late: 0,
            rows: Vec::new(),
        };
        // A step that hides both sides of a plane hides each row once.
        for hidden in hidden_by(plan, &self.side.sequence, step).filter(|it| seen.insert(it.row)) {
            report.holes += plan[hidden.row].hole_ids().count();
            report.set += plan[hidden.row].hole_ids().filter(|&hole| self.is_set(hole)).count();
            for fate in self.fates(step, hidden.row) {
                if fate.sort == "late" {
                    report.late += fate.holes.len();
                }
                report.rows.push(ClosedRow {
                    row: plan.row_name(hidden.row),
                    holes: plan.hole_range(&fate.holes),
                    count: fate.holes.len(),
                    sort: fate.sort,
                    words: fate.words,
                    link: fate.link,
                });
            }
        }
        let rank = |it: &ClosedRow| ["late", "held", "before"].iter().position(|sort| *sort == it.sort);
        report.rows.sort_by_key(rank);
        report
    }

    /// What becomes of the holes of a row that a step hides, without those that are set.
    fn fates(&self, closing: StepId, row: RowId) -> Vec<Fate> {
        let mut fates: Vec<Fate> = Vec::new();
        for hole in self.plan()[row].hole_ids().filter(|&hole| !self.is_set(hole)) {
            let (sort, words, link) = self.fate(closing, row, hole);
            match fates.iter_mut().find(|it| it.sort == sort && it.words == words) {
                Some(fate) => fate.holes.push(hole),
                None => fates.push(Fate { sort, words, link, holes: vec![hole] }),
            }
        }
        fates
    }

    fn fate(&self, closing: StepId, row: RowId, hole: HoleId) -> (&'static str, String, String) {
        let plan = self.plan();
        let order = &self.side.sequence.order;
        let due = self.side.sequence.due(hole);
        let step_page = |step: StepId| format!("/step/{}", plan.step_name(step));
        if let Some((act, hold)) = self.state.held(hole) {
            let until = if hold.until.is_empty() { String::new() } else { format!(" until {}", hold.until) };
            let link = format!("/owed#{}", anchor(&self.state.act(act).id, ""));
            return ("held", format!("you hold them{until}: {}", hold.why), link);
        }
        if let Some(step) = due.filter(|&step| order.is_by(step, closing)) {
            let when = if step == closing {
                "due at this step".to_owned()
            } else {
                format!("due before, at {}", self.step_title(step))
            };
            return ("before", when, step_page(step));
        }
        if let Some(hold) = &plan[row].hold {
            let until =
                hold.until.map_or_else(String::new, |step| format!(" until {}", self.step_title(step)));
            let link =
                hold.until.or(due).map_or_else(|| format!("/hole/{}", plan.hole_name(hole)), step_page);
            return ("held", format!("the plan holds them{until}: {}", hold.why), link);
        }
        match due {
            Some(step) => {
                ("late", format!("the plan sets them later, at {}", self.step_title(step)), step_page(step))
            }
            None => ("late", "no step sets them".to_owned(), format!("/hole/{}", plan.hole_name(hole))),
        }
    }

    /// Holes that are not set and that no step fills, by row.
    fn unfilled(&self) -> Vec<UnfilledRow> {
        let plan = self.plan();
        let mut list = Vec::new();
        for row in (0..plan.rows.len()).map(RowId::from_index).filter(|&row| plan[row].same.is_none()) {
            let open = |hole: &HoleId| self.side.sequence.due(*hole).is_none() && !self.is_set(*hole);
            let holes: Vec<HoleId> = plan[row].hole_ids().filter(open).collect();
            let Some(&first) = holes.first() else { continue };
            list.push(UnfilledRow {
                row: plan.row_name(row),
                holes: plan.hole_range(&holes),
                count: holes.len(),
                words: self.unfilled_words(row, &holes),
                link: format!("/hole/{}", plan.hole_name(first)),
            });
        }
        list
    }

    fn unfilled_words(&self, row: RowId, holes: &[HoleId]) -> String {
        let plan = self.plan();
        let named_by = plan.steps.iter().find(|step| {
            step.sets.iter().any(|part| part.row == row && holes.iter().any(|&it| part.has(plan[it].number)))
        });
        let held = plan[row].hold.as_ref();
        match (held, named_by) {
            (Some(hold), None) => {
                format!("the plan holds them, {}, and no step sets them afterwards", hold.why)
            }
            (Some(hold), Some(step)) => {
                format!("the plan holds them, {}, also at {}, which names them", hold.why, step.title)
            }
            (None, Some(step)) => format!("{} names them, and a layer of them comes later", step.title),
            (None, None) => "no step names them".to_owned(),
        }
    }
}

impl ClosingReport {
    /// What it hides in words: `58 holes, 40 set`.
    #[must_use]
    pub fn counted(&self) -> String {
        let holes = if self.holes == 1 { "1 hole" } else { &format!("{} holes", self.holes) };
        format!("{holes}, {} set", self.set)
    }
}

impl WholeOpenReport {
    /// Whether something is hidden before it is filled, or never filled.
    #[must_use]
    pub fn has_findings(&self) -> bool {
        self.late > 0 || !self.never.is_empty()
    }
}
