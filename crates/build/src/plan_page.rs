//! The plan as a whole in words: how far it is, step by step and gate by gate, and what leads to a gate.

mod finish;
mod open;

use std::collections::{BTreeSet, HashMap};

use faying_plan::{GateId, Plan, StepId};
use faying_record::Event;
use faying_sequence::{Effort, Progress, StepState, planned_hours};
use serde::Serialize;

use crate::clock;
use crate::world::World;

pub use finish::{CurveReport, FinishReport, OrderReport, TurnReport};
pub use open::{ClosedRow, ClosingReport, OpenStep, UnfilledRow, WholeOpenReport};

/// The lane of gates that belong to no assembly.
const WHOLE: &str = "The whole build";

/// How far the build is, with every step and gate.
#[derive(Clone, Debug, Serialize)]
pub struct PlanReport {
    /// Holes with a fastener in them.
    pub set: usize,
    /// All holes.
    pub holes: usize,
    /// Steps that are done.
    pub steps_done: usize,
    /// All steps.
    pub steps: usize,
    /// Gates that are passed, with nothing come up since.
    pub gates_passed: usize,
    /// All gates.
    pub gates: usize,
    /// Hours written down so far.
    pub hours_worked: f64,
    /// Planned hours of all steps.
    pub hours_planned: f64,
    /// Planned hours of what is left.
    pub hours_left: f64,
    /// Assemblies, and the whole build where it has gates.
    pub lanes: Vec<LaneReport>,
    /// Steps and gates, lane by lane, in an order that the plan allows.
    pub lines: Vec<LineReport>,
    /// What follows what.
    pub arcs: Vec<ArcReport>,
}

/// An assembly on the plan's page.
#[derive(Clone, Debug, Serialize)]
pub struct LaneReport {
    /// Short name of the assembly; empty for the whole build.
    pub assembly: String,
    /// Its name as shown.
    pub title: String,
    /// Steps that are done.
    pub done: usize,
    /// All steps.
    pub steps: usize,
    /// Planned hours of what is left.
    pub hours_left: f64,
}

/// A step or a gate on the plan's page.
#[derive(Clone, Debug, Serialize)]
pub struct LineReport {
    /// Its lasting name.
    pub name: String,
    /// Its name as shown.
    pub title: String,
    /// Its assembly, as a place in [`PlanReport::lanes`].
    pub lane: usize,
    /// What its mark shows.
    pub stands: Stands,
    /// How it stands, in words.
    pub state: String,
    /// What is left of it in a few words: `58 to set · 2 h`; may be empty.
    pub note: String,
    /// Where it stands in the builder's own plans.
    pub sheet: String,
    /// Planned hours of what is left; 0 for a gate.
    pub hours_left: f64,
    /// Hours that it cures before what comes after it; 0 where it does not, and once it is done.
    pub cure_hours: f64,
    /// Its page.
    pub link: String,
}

/// How a step or a gate stands, as its mark shows it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stands {
    /// A step of which nothing is left to do.
    Done,
    /// A step that is begun and can be gone on with; its share that is done, 0 to 1.
    Begun(f64),
    /// A step that nothing keeps from being begun.
    Ready,
    /// A step that waits for something.
    Blocked,
    /// A gate that is passed.
    Passed,
    /// A gate that is not passed, with nothing on its list.
    Clear,
    /// A gate that is not passed, with something on its list.
    Shut,
}

impl Stands {
    /// Whether it is that of a gate.
    #[must_use]
    pub const fn is_gate(self) -> bool {
        matches!(self, Self::Passed | Self::Clear | Self::Shut)
    }

    /// Whether nothing is left of it.
    #[must_use]
    pub const fn is_behind(self) -> bool {
        matches!(self, Self::Done | Self::Passed)
    }
}

/// That one step or gate follows another.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct ArcReport {
    /// What comes first, as a place in [`PlanReport::lines`].
    pub from: usize,
    /// What follows it, likewise.
    pub to: usize,
    /// The wait between them, such as `cures 24 h`; empty where there is none.
    pub wait: String,
}

/// What leads to a gate and is not done.
#[derive(Clone, Debug, Serialize)]
pub struct PathReport {
    /// The gate's lasting name.
    pub gate: String,
    /// The gate as shown.
    pub title: String,
    /// Its place in [`PlanReport::lines`].
    pub at: usize,
    /// What is not done on the way and the gate itself, as places in [`PlanReport::lines`].
    pub lines: Vec<usize>,
    /// What follows what among these, also where only done work lies between.
    pub arcs: Vec<ArcReport>,
    /// Steps on the way.
    pub steps: usize,
    /// Other gates on the way.
    pub gates: usize,
    /// Planned hours on the way.
    pub hours: f64,
    /// Hours of the longest way, cures included: no number of hands makes it shorter.
    pub longest: f64,
    /// What comes first on the way, as places in [`PlanReport::lines`]: nothing undone lies before it.
    pub first: Vec<usize>,
    /// What stands against the gate beside the work on the way: what, what to do, the page.
    pub beside: Vec<(String, String, String)>,
}

impl PlanReport {
    /// What follows what among some lines, also where lines between them are left out.
    #[must_use]
    pub fn arcs_among(&self, keeps: &[usize]) -> Vec<ArcReport> {
        let mut kept = vec![false; self.lines.len()];
        keeps.iter().for_each(|&at| kept[at] = true);
        let before = self.before();
        let mut arcs = BTreeSet::new();
        for &to in keeps {
            let mut seen = vec![false; self.lines.len()];
            // The first arc of a way says what the wait is; what lies behind done work has no wait left.
            let mut open: Vec<(usize, &str)> =
                before[to].iter().map(|&arc| (self.arcs[arc].from, self.arcs[arc].wait.as_str())).collect();
            while let Some((from, wait)) = open.pop() {
                if std::mem::replace(&mut seen[from], true) {
                    continue;
                }
                if kept[from] {
                    arcs.insert(ArcReport { from, to, wait: wait.to_owned() });
                } else {
                    open.extend(before[from].iter().map(|&arc| (self.arcs[arc].from, "")));
                }
            }
        }
        arcs.into_iter().collect()
    }

    /// For every line the arcs that lead to it, as places in [`PlanReport::arcs`].
    fn before(&self) -> Vec<Vec<usize>> {
        let mut before = vec![Vec::new(); self.lines.len()];
        for (place, arc) in self.arcs.iter().enumerate() {
            before[arc.to].push(place);
        }
        before
    }

    /// Places of everything that is not done or passed.
    #[must_use]
    pub fn ahead(&self) -> Vec<usize> {
        (0..self.lines.len()).filter(|&at| !self.lines[at].stands.is_behind()).collect()
    }
}

/// The lines while they are put together, and where each step and gate came to stand.
struct Lines<'a> {
    world: &'a World,
    progress: &'a Progress,
    effort: &'a Effort,
    lines: Vec<LineReport>,
    of_step: Vec<usize>,
    of_gate: Vec<usize>,
}

impl Lines<'_> {
    fn put_step(&mut self, step: StepId, lane: usize) {
        self.of_step[step.index()] = self.lines.len();
        let line = self.world.step_line(self.progress, self.effort, step, lane);
        self.lines.push(line);
    }

    fn put_gate(&mut self, gate: GateId, lane: usize) {
        self.of_gate[gate.index()] = self.lines.len();
        let line = self.world.gate_line(self.progress, gate, lane);
        self.lines.push(line);
    }
}

impl World {
    /// How far the build is, with every step and gate.
    #[must_use]
    pub fn plan_report(&self, progress: &Progress) -> PlanReport {
        let plan = self.plan();
        let effort = self.effort(progress);
        let mut put = Lines {
            world: self,
            progress,
            effort: &effort,
            lines: Vec::new(),
            of_step: vec![0; plan.steps.len()],
            of_gate: vec![0; plan.gates.len()],
        };
        let lanes = self.lanes(&mut put);
        let Lines { lines, of_step, of_gate, .. } = put;
        let steps = || (0..plan.steps.len()).map(StepId::from_index);
        let worked = self.state.of_kind("worked").filter_map(|(_, act)| match &act.event {
            Event::Worked(body) => Some(body.minutes),
            _ => None,
        });
        PlanReport {
            set: progress.set,
            holes: progress.holes,
            steps_done: lanes.iter().map(|it| it.done).sum(),
            steps: plan.steps.len(),
            gates_passed: progress.gates.iter().filter(|it| it.is_passed()).count(),
            gates: plan.gates.len(),
            hours_worked: worked.sum::<f64>() / 60.0,
            hours_planned: steps().map(|step| planned_hours(plan, &self.side.sequence, step)).sum(),
            hours_left: effort.total(),
            arcs: self.arcs(progress, &of_step, &of_gate),
            lanes,
            lines,
        }
    }

    /// Assembly by assembly: its steps in an order that the plan allows, each gate before its step.
    fn lanes(&self, put: &mut Lines<'_>) -> Vec<LaneReport> {
        let plan = self.plan();
        let gates = || (0..plan.gates.len()).map(GateId::from_index);
        let lane_of =
            |gate: GateId| plan[gate].assembly.or_else(|| plan[gate].before.map(|step| plan[step].assembly));
        let mut before: HashMap<StepId, Vec<GateId>> = HashMap::new();
        for gate in gates() {
            if let Some(step) = plan[gate].before.filter(|&step| lane_of(gate) == Some(plan[step].assembly)) {
                before.entry(step).or_default().push(gate);
            }
        }
        let mut lanes: Vec<LaneReport> = Vec::new();
        for (assembly, id) in plan.assemblies.iter().zip((0..).map(faying_plan::AssemblyId::from_index)) {
            let lane = lanes.len();
            let first = put.lines.len();
            let mut report = LaneReport {
                assembly: assembly.id.clone(),
                title: assembly.title.clone(),
                done: 0,
                steps: 0,
                hours_left: 0.0,
            };
            let sorted = self.side.sequence.order.sorted().iter().copied();
            for step in sorted.filter(|&step| plan[step].assembly == id) {
                before.get(&step).into_iter().flatten().for_each(|&gate| put.put_gate(gate, lane));
                put.put_step(step, lane);
                report.steps += 1;
                report.done += usize::from(put.progress.of(step).state == StepState::Done);
                report.hours_left += put.effort.left[step.index()];
            }
            for gate in gates().filter(|&gate| lane_of(gate) == Some(id)) {
                if plan[gate].before.is_none_or(|step| plan[step].assembly != id) {
                    put.put_gate(gate, lane);
                }
            }
            if put.lines.len() > first {
                lanes.push(report);
            }
        }
        let whole: Vec<GateId> = gates().filter(|&gate| lane_of(gate).is_none()).collect();
        if !whole.is_empty() {
            whole.iter().for_each(|&gate| put.put_gate(gate, lanes.len()));
            lanes.push(LaneReport {
                assembly: String::new(),
                title: WHOLE.to_owned(),
                done: 0,
                steps: 0,
                hours_left: 0.0,
            });
        }
        lanes
    }

    fn step_line(&self, progress: &Progress, effort: &Effort, step: StepId, lane: usize) -> LineReport {
        let plan = self.plan();
        let (it, of) = (&plan[step], progress.of(step));
        let name = plan.step_name(step);
        let begun = || format!("{} of {}", of.done, of.all);
        let (stands, state) = match of.state {
            StepState::Done => (Stands::Done, "done".to_owned()),
            StepState::Ready if of.is_begun() => (Stands::Begun(of.share()), format!("begun, {}", begun())),
            StepState::Ready => (Stands::Ready, "ready".to_owned()),
            StepState::Blocked { by } => {
                (Stands::Blocked, format!("waits for {}", self.title_from(by, step)))
            }
            StepState::Curing { after, until } => (
                Stands::Blocked,
                format!("waits: {} cures until {}", self.title_from(after, step), clock::local(until)),
            ),
            StepState::AtGate { gate } => (Stands::Blocked, format!("at gate: {}", plan[gate].title)),
        };
        let left = effort.left[step.index()];
        let mut note = Vec::new();
        if of.state != StepState::Done {
            if of.is_begun() && stands == Stands::Blocked {
                note.push(format!("{} done", begun()));
            }
            match of.left() {
                0 => {}
                count => note.push(format!("{count} to set")),
            }
            note.push(hours_words(left));
            if it.people > 1 {
                note.push(format!("{} people", it.people));
            }
        }
        let cures = it.cure_hours.filter(|_| of.state != StepState::Done);
        LineReport {
            title: it.title.clone(),
            lane,
            stands,
            state,
            note: note.join(" · "),
            sheet: it.sheet.clone(),
            hours_left: left,
            cure_hours: cures.unwrap_or(0.0),
            link: format!("/step/{name}"),
            name,
        }
    }

    fn gate_line(&self, progress: &Progress, gate: GateId, lane: usize) -> LineReport {
        let plan = self.plan();
        let name = plan.gate_name(gate);
        let standing = progress.gate(gate);
        let against = match standing.blockers.len() {
            1 => "1 thing stands against it".to_owned(),
            count => format!("{count} things stand against it"),
        };
        let (stands, state, note) = match standing.passed {
            Some(act) if standing.is_passed() => {
                let day = self.state.act(act).at.get(..10).unwrap_or_default();
                (Stands::Passed, format!("passed on {day}"), String::new())
            }
            Some(_) => (Stands::Shut, "something has come up since it was passed".to_owned(), against),
            None if standing.blockers.is_empty() => {
                (Stands::Clear, "not passed".to_owned(), "its list is empty".to_owned())
            }
            None => (Stands::Shut, "not passed".to_owned(), against),
        };
        LineReport {
            title: plan[gate].title.clone(),
            lane,
            stands,
            state,
            note,
            sheet: String::new(),
            hours_left: 0.0,
            cure_hours: 0.0,
            link: format!("/gate/{name}"),
            name,
        }
    }

    /// A step by its title, with its assembly's where that is another one.
    fn title_from(&self, step: StepId, seen_from: StepId) -> String {
        let plan = self.plan();
        if plan[step].assembly == plan[seen_from].assembly {
            plan[step].title.clone()
        } else {
            self.step_title(step)
        }
    }

    /// What follows what: steps their `after`, gates the work that they ask for, a step its gates.
    fn arcs(&self, progress: &Progress, of_step: &[usize], of_gate: &[usize]) -> Vec<ArcReport> {
        let plan = self.plan();
        let mut arcs = BTreeSet::new();
        for step in (0..plan.steps.len()).map(StepId::from_index) {
            for &before in &plan[step].after {
                // What has cured is no wait any more.
                let cures = match progress.of(step).state {
                    StepState::Curing { after, .. } => after == before,
                    _ => progress.of(before).state != StepState::Done,
                };
                let cure = plan[before].cure_hours.filter(|_| cures);
                let wait = cure.map_or_else(String::new, |it| format!("cures {}", hours_words(it)));
                arcs.insert(ArcReport { from: of_step[before.index()], to: of_step[step.index()], wait });
            }
        }
        for gate in (0..plan.gates.len()).map(GateId::from_index) {
            let at = of_gate[gate.index()];
            for step in asked_last(plan, &self.asked_for(gate)) {
                arcs.insert(ArcReport { from: of_step[step.index()], to: at, wait: String::new() });
            }
            if let Some(before) = plan[gate].before {
                arcs.insert(ArcReport { from: at, to: of_step[before.index()], wait: String::new() });
            }
        }
        arcs.into_iter().collect()
    }

    /// Steps whose work a gate waits for.
    fn asked_for(&self, gate: GateId) -> Vec<StepId> {
        let plan = self.plan();
        let it = &plan[gate];
        let scope = self.side.sequence.scope(gate);
        let mut asked = scope.steps.clone();
        asked.extend(&scope.elsewhere);
        asked.extend(&it.after);
        // A gate in another assembly's file leaves what comes before the step to the step's own.
        if let Some(before) =
            it.before.filter(|&step| it.assembly.is_none_or(|own| own == plan[step].assembly))
        {
            asked.extend(&plan[before].after);
        }
        asked.sort_unstable();
        asked.dedup();
        asked
    }

    /// What leads to a gate and is not done.
    #[must_use]
    pub fn path_to(&self, progress: &Progress, report: &PlanReport, gate: GateId) -> PathReport {
        let name = self.plan().gate_name(gate);
        let at = report.lines.iter().position(|it| it.stands.is_gate() && it.name == name).unwrap_or(0);
        let before = report.before();
        let mut on = vec![false; report.lines.len()];
        let mut open = vec![at];
        while let Some(line) = open.pop() {
            if !std::mem::replace(&mut on[line], true) {
                open.extend(before[line].iter().map(|&arc| report.arcs[arc].from));
            }
        }
        let lines: Vec<usize> = (0..report.lines.len())
            .filter(|&line| on[line] && (line == at || !report.lines[line].stands.is_behind()))
            .collect();
        let arcs = report.arcs_among(&lines);
        let first: Vec<usize> = lines
            .iter()
            .copied()
            .filter(|&line| line != at && arcs.iter().all(|arc| arc.to != line))
            .collect();
        let steps = lines.iter().filter(|&&line| !report.lines[line].stands.is_gate()).count();
        let listed = self.gate_report(progress, gate).blockers;
        PathReport {
            title: self.gate_title(gate),
            gate: name,
            at,
            steps,
            gates: lines.len() - steps - 1,
            hours: lines.iter().map(|&line| report.lines[line].hours_left).sum(),
            longest: longest(report, &lines, &arcs),
            first,
            beside: listed
                .into_iter()
                .filter(|it| !["unset", "undone"].contains(&it.sort))
                .map(|it| (it.what, it.next, it.link))
                .collect(),
            lines,
            arcs,
        }
    }

    /// The countries by whose practice gates of the whole build can be written; none once there is a file of them.
    #[must_use]
    pub fn practices_to_start(&self) -> Vec<&'static str> {
        let has = self.plan().files.iter().any(|file| *file.name == *crate::folder::GATES_FILE);
        if has { Vec::new() } else { crate::gate_practices().collect() }
    }
}

/// Those of some steps that no other of them follows directly.
fn asked_last(plan: &Plan, asked: &[StepId]) -> Vec<StepId> {
    let followed: BTreeSet<StepId> =
        asked.iter().flat_map(|&step| plan[step].after.iter().copied()).collect();
    asked.iter().copied().filter(|step| !followed.contains(step)).collect()
}

/// Hours of the longest way among some lines, cures included.
fn longest(report: &PlanReport, lines: &[usize], arcs: &[ArcReport]) -> f64 {
    let mut ways: HashMap<usize, f64> = HashMap::new();
    // As often as there are lines at most: a plan that goes round in a circle is a finding elsewhere.
    for _ in 0..=lines.len() {
        let mut changed = false;
        for &line in lines {
            let behind = arcs.iter().filter(|arc| arc.to == line);
            let before = behind
                .map(|arc| {
                    let way = ways.get(&arc.from).copied().unwrap_or(0.0);
                    if arc.wait.is_empty() { way } else { way + report.lines[arc.from].cure_hours }
                })
                .fold(0.0, f64::max);
            let way = before + report.lines[line].hours_left;
            changed |= ways.insert(line, way).is_none_or(|known| (known - way).abs() > 1e-9);
        }
        if !changed {
            break;
        }
    }
    ways.into_values().fold(0.0, f64::max)
}

/// Hours in words: `2.5 h`, `40 h`.
#[must_use]
pub fn hours_words(hours: f64) -> String {
    // Nothing added up is a nought below nought.
    let hours = hours + 0.0;
    // Above a working week nobody plans by half hours.
    let text = if hours >= 40.0 { format!("{hours:.0}") } else { format!("{hours:.1}") };
    format!("{} h", text.strip_suffix(".0").unwrap_or(&text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_in_words() {
        let words: Vec<String> = [0.0, -0.0, 0.25, 2.0, 2.5, 39.96, 40.4, 312.5].map(hours_words).to_vec();
        assert_eq!(words, ["0 h", "0 h", "0.2 h", "2 h", "2.5 h", "40 h", "40 h", "312 h"]);
    }
}
