//! Gates and what is owed, in words, with the place where each is resolved.

use std::collections::HashMap;

use faying_joint::examine::Aspect;
use faying_plan::{GateId, HoleId, NeedSort, Role, StepId};
use faying_record::{Act, ActId, Event};
use faying_sequence::{Block, Blocker, Progress, StepState, examined_open};
use serde::Serialize;

use crate::world::World;

/// A gate with everything that stands against it.
#[derive(Clone, Debug, Serialize)]
pub struct GateReport {
    /// Its lasting name.
    pub gate: String,
    /// Its name as shown.
    pub title: String,
    /// The step it stands before, by its lasting name.
    pub before: Option<String>,
    /// Where the authority's rule stands that asks for it.
    pub rule: String,
    /// A remark of the plan.
    pub note: String,
    /// Whether it is passed, and nothing has come up since.
    pub passed: bool,
    /// When it was passed, and by whom.
    pub passed_at: Option<(String, String)>,
    /// What stands against passing it.
    pub blockers: Vec<BlockerReport>,
    /// What was let pass: what, by whom, in which role, why.
    pub let_pass: Vec<(String, String, String, String)>,
}

/// Something that stands against a gate.
#[derive(Clone, Debug, Serialize)]
pub struct BlockerReport {
    /// What, in words.
    pub what: String,
    /// What sort of thing: `unset`, `undone`, `owed`, `held`, `first-article`, `outside`, `fault`, `torque`,
    /// `plan`, `inspection`, `photograph`, `check`.
    pub sort: &'static str,
    /// What to do about it, in words.
    pub next: String,
    /// The page on which it is resolved.
    pub link: String,
    /// Whether only the designer, an inspector or the authority may let it pass.
    pub structure: bool,
    /// What a reason to let it pass names.
    pub keys: Vec<String>,
}

/// Something that was put off and is not done.
#[derive(Clone, Debug, Serialize)]
pub struct OwedReport {
    /// The act that answers must name; its place on the page.
    pub act: String,
    /// The part of the act that is meant, where it has several.
    pub key: String,
    /// What sort of thing: `owed`, `held`, `fault`, `outside`, `plan`.
    pub sort: &'static str,
    /// What is to be done, or decided.
    pub what: String,
    /// Where, by its lasting name; empty for the whole build.
    pub at: String,
    /// Why it was put off.
    pub why: String,
    /// The gate before which it must be done, or the first that hides it, by its lasting name.
    pub gate: String,
    /// The gate as shown.
    pub gate_title: String,
    /// Whether that gate is next: nothing else comes before it.
    pub now: bool,
    /// When it was put off.
    pub since: String,
    /// The page of the place.
    pub link: String,
}

impl World {
    /// Where something was examined, and what was found: `flap-left/web/A/7`, `Edge distance: outside`.
    #[must_use]
    pub fn examined_words(&self, act: ActId) -> (String, String) {
        let act: &Act = self.state.act(act);
        let Event::Examined(it) = &act.event else { return (String::new(), String::new()) };
        let now: Vec<&str> =
            it.holes.iter().map(|name| self.state.name_now(name.as_str(), act.revision)).collect();
        let at = now.first().copied().unwrap_or_default().to_owned();
        let title = Aspect::named(&it.aspect).map_or(it.aspect.as_str(), |it| it.title());
        let more = if now.len() > 1 { format!(" and {} more", now.len() - 1) } else { String::new() };
        let words = if it.words.is_empty() { String::new() } else { format!(", {}", it.words) };
        (at, format!("{title}{words}{more}"))
    }

    /// The first holes of a list in words: `row A, holes 1 to 4`.
    fn holes_words(&self, holes: &[HoleId]) -> String {
        let plan = self.plan();
        let Some(&first) = holes.first() else { return String::new() };
        let row = plan[first].row;
        let same: Vec<HoleId> = holes.iter().copied().filter(|&hole| plan[hole].row == row).collect();
        let more = holes.len() - same.len();
        let more = if more > 0 { format!(" and {more} in other rows") } else { String::new() };
        format!("{}, {}{more}", plan.row_name(row), plan.hole_range(&same))
    }

    /// What stands against a gate, in words.
    #[must_use]
    pub fn block_words(&self, gate: GateId, block: &Block) -> String {
        let (plan, state) = (self.plan(), &self.state);
        match block {
            Block::Unset { holes, late: false, .. } => format!("{}: not set", self.holes_words(holes)),
            Block::Unset { holes, late: true, .. } => {
                let due = holes.iter().find_map(|&hole| self.side.sequence.due(hole));
                let when = due.map_or_else(
                    || "the plan never sets them".to_owned(),
                    |step| format!("the plan sets them at {}, after this", plan.step_name(step)),
                );
                format!("{}: hidden by this and not set; {when}", self.holes_words(holes))
            }
            Block::Undone { step } => format!("{}: {} is not done", plan.step_name(*step), plan[*step].title),
            Block::Owed { act } => match &state.act(*act).event {
                Event::Owed(owed) if owed.at.is_empty() => format!("owed: {}", owed.what),
                Event::Owed(owed) => format!("owed at {}: {}", owed.at, owed.what),
                _ => String::new(),
            },
            Block::Held { act, holes } => match &state.act(*act).event {
                Event::HoldPlaced(hold) => format!("{}: held open, {}", self.holes_words(holes), hold.why),
                _ => String::new(),
            },
            Block::FirstArticle { holes, run, .. } => {
                let set = if holes.len() == 1 { "one is set" } else { "are set" };
                let of = if run.is_empty() { "" } else { " with one set-up" };
                format!("{}: {set}{of} and no head of them is measured", self.holes_words(holes))
            }
            Block::Outside { hole, .. } => {
                format!("{}: its head was measured outside the limits", plan.hole_name(*hole))
            }
            Block::Fault { act } => match &state.act(*act).event {
                Event::FaultFound(fault) => format!(
                    "fault at {}: {}",
                    fault.holes.first().map_or(fault.at.as_str(), String::as_str),
                    fault.what
                ),
                Event::Examined(_) => {
                    let (at, what) = self.examined_words(*act);
                    format!("fault at {at}: {what}")
                }
                _ => String::new(),
            },
            Block::Replaced { holes, .. } => {
                let heads = if holes.len() == 1 {
                    "a rivet took the place of another and its head is"
                } else {
                    "rivets took the place of others and their heads are"
                };
                format!("{}: {heads} not measured", self.holes_words(holes))
            }
            Block::Torque { holes, .. } => {
                let bolts = if holes.len() == 1 { "this bolt is" } else { "these bolts are" };
                format!("{}: {bolts} not torqued", self.holes_words(holes))
            }
            Block::Disagrees { act, index } => match &state.act(*act).event {
                Event::RevisionAdopted(adopted) => {
                    let it = &adopted.disagreements[*index];
                    format!("{}: {} (revision {})", it.at, it.what, adopted.number)
                }
                _ => String::new(),
            },
            Block::Need { index } => {
                let need = &plan[gate].needs[*index];
                match need.sort {
                    NeedSort::Inspection => format!("inspection of {}: not recorded", need.name),
                    NeedSort::Photograph => format!("photograph of {}: not taken", need.name),
                    NeedSort::Check => format!("{}: not looked for", need.name),
                }
            }
        }
    }

    fn blocker_report(&self, gate: GateId, blocker: &Blocker) -> BlockerReport {
        let plan = self.plan();
        let name = plan.gate_name(gate);
        let hole_page = |hole: HoleId| format!("/hole/{}", plan.hole_name(hole));
        let owed_page = |act: ActId| format!("/owed#{}", anchor(&self.state.act(act).id, ""));
        let (sort, next, link) = match &blocker.what {
            Block::Unset { holes, late, .. } => {
                let due = holes.first().and_then(|&hole| self.side.sequence.due(hole));
                let next = match (due, late) {
                    (Some(step), false) => format!("set them at {}", plan[step].title),
                    (Some(step), true) => {
                        format!(
                            "let this come after {} in the plan, or hold the row with its reason",
                            plan.step_name(step)
                        )
                    }
                    (None, _) => "add the row to `sets` of a step".to_owned(),
                };
                let link = match due.filter(|_| !late) {
                    Some(step) => format!("/run/{}", plan.step_name(step)),
                    None => holes.first().map_or_else(String::new, |&hole| hole_page(hole)),
                };
                ("unset", next, link)
            }
            Block::Undone { step } => {
                ("undone", "do it, and mark it".to_owned(), format!("/step/{}", plan.step_name(*step)))
            }
            Block::Owed { act } => ("owed", "do it, and say what shows it".to_owned(), owed_page(*act)),
            Block::Held { act, .. } => ("held", "lift the hold and set them".to_owned(), owed_page(*act)),
            Block::FirstArticle { holes, .. } => (
                "first-article",
                "measure a head of them".to_owned(),
                holes.first().map_or_else(String::new, |&hole| hole_page(hole)),
            ),
            Block::Outside { act, .. } => (
                "outside",
                "squeeze it again, drill it out, or let the designer decide".to_owned(),
                format!("/fault/{}", self.state.act(*act).id),
            ),
            Block::Fault { act } => {
                let link = format!("/fault/{}", self.state.act(*act).id);
                ("fault", "let whoever has the authority decide".to_owned(), link)
            }
            Block::Replaced { holes, .. } => (
                "first-article",
                "measure their heads".to_owned(),
                holes.first().map_or_else(String::new, |&hole| hole_page(hole)),
            ),
            Block::Torque { holes, .. } => (
                "torque",
                "torque them, and mark it".to_owned(),
                holes.first().map_or_else(String::new, |&hole| hole_page(hole)),
            ),
            Block::Disagrees { act, index } => {
                let key = match &self.state.act(*act).event {
                    Event::RevisionAdopted(adopted) => adopted.disagreements[*index].key.as_str(),
                    _ => "",
                };
                let link = format!("/owed#{}", anchor(&self.state.act(*act).id, key));
                ("plan", "let whoever has the authority decide, or do it anew".to_owned(), link)
            }
            Block::Need { index } => {
                let need = &plan[gate].needs[*index];
                let next = match need.sort {
                    NeedSort::Inspection => "write down who inspected it and what they found",
                    NeedSort::Photograph => "take it",
                    NeedSort::Check => "look for it, and say so",
                };
                (need.sort.word(), next.to_owned(), format!("/gate/{name}#need-{index}"))
            }
        };
        BlockerReport {
            what: self.block_words(gate, &blocker.what),
            sort,
            next,
            link,
            structure: blocker.structure,
            keys: blocker.keys(plan, &self.state, gate),
        }
    }

    /// A gate with everything that stands against it.
    #[must_use]
    pub fn gate_report(&self, progress: &Progress, gate: GateId) -> GateReport {
        let plan = self.plan();
        let (it, standing) = (&plan[gate], progress.gate(gate));
        let mut let_pass = Vec::new();
        for (_, act) in self.state.of_kind("gate-passed") {
            if let Event::GatePassed(body) = &act.event
                && body.gate == plan.gate_name(gate)
            {
                let each = body.let_pass.iter();
                let_pass.extend(
                    each.map(|it| (it.what.clone(), it.who.clone(), it.role.clone(), it.why.clone())),
                );
            }
        }
        GateReport {
            gate: plan.gate_name(gate),
            title: it.title.clone(),
            before: it.before.map(|step| plan.step_name(step)),
            rule: it.rule.clone(),
            note: it.note.clone(),
            passed: standing.is_passed(),
            passed_at: standing.passed.map(|id| {
                let act = self.state.act(id);
                (act.at.clone(), act.person.clone())
            }),
            blockers: standing.blockers.iter().map(|it| self.blocker_report(gate, it)).collect(),
            let_pass,
        }
    }

    /// Everything that is owed, what presses first.
    #[must_use]
    pub fn owed(&self, progress: &Progress) -> Vec<OwedReport> {
        let mut list = Vec::new();
        for (_, act) in self.state.of_kind("owed") {
            if let Event::Owed(owed) = &act.event
                && self.state.answer(&act.id, "").is_none()
            {
                let at = self.state.name_now(&owed.at, act.revision).to_owned();
                list.push(self.owed_report(
                    progress,
                    act,
                    "",
                    "owed",
                    (&owed.what, &at, &owed.why, &owed.gate),
                ));
            }
        }
        for (_, act) in self.state.of_kind("hold-placed") {
            if let Event::HoldPlaced(hold) = &act.event
                && self.state.answer(&act.id, "").is_none()
            {
                let holes: Vec<HoleId> = hold
                    .holes
                    .iter()
                    .filter_map(|name| self.plan().hole_named(self.state.name_now(name, act.revision)))
                    .collect();
                let at = holes.first().map_or_else(String::new, |&hole| self.plan().hole_name(hole));
                let what = format!("{}: held open", self.holes_words(&holes));
                list.push(self.owed_report(progress, act, "", "held", (&what, &at, &hold.why, &hold.until)));
            }
        }
        for (_, act) in self.state.of_kind("fault-found") {
            if let Event::FaultFound(fault) = &act.event
                && self.state.answer(&act.id, "").is_none()
            {
                let at = fault.holes.first().unwrap_or(&fault.at);
                let at = self.state.name_now(at, act.revision).to_owned();
                let why = self.asked_words(&act.id);
                list.push(self.owed_report(progress, act, "", "fault", (&fault.what, &at, &why, "")));
            }
        }
        for (act, hole) in self.outside_open() {
            let at = self.plan().hole_name(hole);
            let why = self.asked_words(&act.id);
            let what = "its head was measured outside the limits";
            list.push(self.owed_report(progress, act, "", "outside", (what, &at, &why, "")));
        }
        for fault in examined_open(self.plan(), &self.state) {
            let act = self.state.act(fault.act);
            let (at, what) = self.examined_words(fault.act);
            let why = self.asked_words(&act.id);
            list.push(self.owed_report(progress, act, "", "fault", (&what, &at, &why, "")));
        }
        for (_, act) in self.state.of_kind("revision-adopted") {
            let Event::RevisionAdopted(adopted) = &act.event else { continue };
            for it in adopted.disagreements.iter().filter(|it| self.state.answer(&act.id, &it.key).is_none())
            {
                let at = it.holes.first().unwrap_or(&it.at);
                let at = self.state.name_now(at, adopted.number).to_owned();
                let what = format!("{}: {}", it.at, it.what);
                let why = format!("revision {} of the plan", adopted.number);
                list.push(self.owed_report(progress, act, &it.key, "plan", (&what, &at, &why, "")));
            }
        }
        list.sort_by(|a, b| {
            (!a.now, a.gate.is_empty(), &a.gate, &a.since).cmp(&(
                !b.now,
                b.gate.is_empty(),
                &b.gate,
                &b.since,
            ))
        });
        list
    }

    /// Heads that were measured outside their limits, are still in, and on which nobody has decided.
    fn outside_open(&self) -> Vec<(&Act, HoleId)> {
        let open = |(id, act): (ActId, _)| {
            let act: &Act = act;
            let Event::HeadMeasured(head) = &act.event else { return None };
            if head.verdict != "outside" || self.state.answer(&act.id, "").is_some() {
                return None;
            }
            let hole = self.plan().hole_named(self.state.name_now(&head.hole, act.revision))?;
            let newest = self.state.measured(hole).is_some_and(|it| it.act == id);
            (self.is_set(hole) && newest).then_some((act, hole))
        };
        self.state.of_kind("head-measured").filter_map(open).collect()
    }

    /// Who was asked about a fault, and when; nothing where nobody was.
    #[must_use]
    pub fn asked_words(&self, fault: &str) -> String {
        self.state.asked(fault).map_or_else(String::new, |(id, asked)| {
            format!("{} was asked on {}", asked.who, self.state.act(id).at.get(..10).unwrap_or(""))
        })
    }

    fn owed_report(
        &self,
        progress: &Progress,
        act: &Act,
        key: &str,
        sort: &'static str,
        (what, at, why, gate): (&str, &str, &str, &str),
    ) -> OwedReport {
        let plan = self.plan();
        // Where nobody said until when, the first gate that lists it is meant.
        let own = self.state.act_with_id(&act.id);
        let is_key = |index: usize| matches!(&act.event, Event::RevisionAdopted(body) if body.disagreements[index].key == key);
        let lists = |id: GateId| {
            progress.gate(id).blockers.iter().any(|it| match it.what {
                Block::Owed { act }
                | Block::Held { act, .. }
                | Block::Fault { act }
                | Block::Outside { act, .. } => own == Some(act),
                Block::Disagrees { act, index } => own == Some(act) && is_key(index),
                _ => false,
            })
        };
        let all = || (0..plan.gates.len()).map(GateId::from_index);
        let before_step =
            plan.step_named(gate).and_then(|step| all().find(|&it| plan[it].before == Some(step)));
        let listing = plan.gate_named(gate).or(before_step).or_else(|| all().find(|&it| lists(it)));
        let now = match listing {
            Some(id) => self.is_next(progress, id),
            // No gate, or one that the plan has no more: nothing else would bring it back.
            None => true,
        };
        OwedReport {
            act: act.id.clone(),
            key: key.to_owned(),
            sort,
            what: what.to_owned(),
            at: at.to_owned(),
            why: why.to_owned(),
            gate: listing.map_or_else(|| gate.to_owned(), |id| plan.gate_name(id)),
            gate_title: listing.map_or_else(String::new, |id| self.gate_title(id)),
            now,
            since: act.at.clone(),
            link: match sort {
                "fault" | "outside" => format!("/fault/{}", act.id),
                _ => self.page_of(at),
            },
        }
    }

    /// A gate by its assembly's and its own title.
    #[must_use]
    pub fn gate_title(&self, gate: GateId) -> String {
        let plan = self.plan();
        match plan[gate].assembly {
            Some(assembly) => format!("{}: {}", plan[assembly].title, plan[gate].title),
            None => plan[gate].title.clone(),
        }
    }

    /// Gates that are not passed, in the order in which the plan comes to them; those of the whole build last.
    #[must_use]
    pub fn gates_ahead(&self, progress: &Progress) -> Vec<GateId> {
        let plan = self.plan();
        let sorted = self.side.sequence.order.sorted();
        let place: HashMap<StepId, usize> = sorted.iter().enumerate().map(|(n, &step)| (step, n)).collect();
        let all = (0..plan.gates.len()).map(GateId::from_index);
        let mut ahead: Vec<GateId> = all.filter(|&it| !progress.gate(it).is_passed()).collect();
        ahead.sort_by_key(|&it| plan[it].before.and_then(|step| place.get(&step)).unwrap_or(&usize::MAX));
        ahead
    }

    /// The first gate ahead that hides a place, or asks for its work; `at` is its lasting name.
    #[must_use]
    pub fn gate_hiding(&self, progress: &Progress, at: &str) -> Option<GateId> {
        if at.is_empty() {
            return None;
        }
        self.gates_ahead(progress).into_iter().find(|&gate| self.asks_for(gate, at))
    }

    /// Whether a place lies in what a gate looks at.
    fn asks_for(&self, gate: GateId, at: &str) -> bool {
        let plan = self.plan();
        let scope = self.side.sequence.scope(gate);
        let assembly = plan.assembly_named(at);
        scope.has_place(plan, &self.side.sequence, at)
            || assembly.is_some_and(|it| scope.steps.iter().any(|&step| plan[step].assembly == it))
    }

    /// What is owed at the places that `here` knows by their lasting names, what presses first.
    #[must_use]
    pub fn owed_at(&self, progress: &Progress, here: impl Fn(&str) -> bool) -> Vec<OwedReport> {
        let mut list = self.owed(progress);
        list.retain(|it| self.places(it).iter().any(|place| here(place)));
        list
    }

    /// Every place that something owed is about, by the names they have now.
    fn places(&self, owed: &OwedReport) -> Vec<String> {
        let mut places = vec![owed.at.clone()];
        let Some(act) = self.state.act_with_id(&owed.act).map(|id| self.state.act(id)) else { return places };
        let holes = match &act.event {
            Event::HoldPlaced(hold) => &hold.holes[..],
            Event::Examined(examined) => &examined.holes[..],
            Event::Owed(owed) => &owed.holes[..],
            Event::FaultFound(fault) => {
                places.push(fault.at.clone());
                &fault.holes[..]
            }
            Event::RevisionAdopted(adopted) => {
                adopted.disagreements.iter().find(|it| it.key == owed.key).map_or(&[][..], |it| &it.holes)
            }
            _ => &[],
        };
        places.extend(holes.iter().map(|name| self.state.name_now(name, act.revision).to_owned()));
        places
    }

    /// Everybody whose name the build knows, with what they are to it: `people.toml` first, then the record.
    #[must_use]
    pub fn known_people(&self) -> Vec<(String, Option<Role>)> {
        let mut known: Vec<(String, Option<Role>)> =
            self.plan().people.people.iter().map(|it| (it.name.clone(), Some(it.role))).collect();
        let mut add = |name: &str, role: &str| {
            if !name.is_empty() && known.iter().all(|(other, _)| other != name) {
                known.push((name.to_owned(), Role::read(role)));
            }
        };
        for act in self.state.acts() {
            match &act.event {
                Event::GatePassed(body) => body.let_pass.iter().for_each(|it| add(&it.who, &it.role)),
                Event::Looked(body) => add(&body.who, &body.role),
                Event::Decided(body) => add(&body.who, &body.role),
                _ => {}
            }
        }
        known
    }

    /// Whether nothing but a gate stands between now and what comes behind it.
    fn is_next(&self, progress: &Progress, gate: GateId) -> bool {
        let plan = self.plan();
        match plan[gate].before {
            Some(step) => {
                let undone = |step: &StepId| progress.of(*step).state != StepState::Done;
                !plan[step].after.iter().any(undone) && progress.of(step).state != StepState::Done
            }
            None => progress
                .gate(gate)
                .blockers
                .iter()
                .all(|it| !matches!(it.what, Block::Unset { .. } | Block::Undone { .. })),
        }
    }

    /// The page of a place by its lasting name; of the whole build where it is nothing.
    #[must_use]
    pub fn page_of(&self, at: &str) -> String {
        let plan = self.plan();
        if plan.hole_named(at).is_some() {
            return format!("/hole/{at}");
        }
        if let Some(row) = plan.row_named(at) {
            return plan[row]
                .hole_ids()
                .next()
                .map_or_else(String::new, |hole| format!("/hole/{}", plan.hole_name(hole)));
        }
        if plan.step_named(at).is_some() {
            return format!("/step/{at}");
        }
        match at.split('/').next() {
            Some(assembly) if plan.assembly_named(assembly).is_some() => format!("/assembly/{assembly}"),
            _ => "/plan".to_owned(),
        }
    }
}

/// The place of something on a page.
#[must_use]
pub fn anchor(act: &str, key: &str) -> String {
    let text = if key.is_empty() { act.to_owned() } else { format!("{act}-{key}") };
    text.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect()
}

/// A wait in words: `3 h 20 min`, `2 d 4 h`.
#[must_use]
pub fn waiting(seconds: i64) -> String {
    let minutes = (seconds.max(0) + 59) / 60;
    match (minutes / 1440, minutes % 1440 / 60, minutes % 60) {
        (0, 0, minutes) => format!("{minutes} min"),
        (0, hours, 0) => format!("{hours} h"),
        (0, hours, minutes) => format!("{hours} h {minutes} min"),
        (days, 0, _) => format!("{days} d"),
        (days, hours, _) => format!("{days} d {hours} h"),
    }
}

/// How long it still is until a moment, in words.
///
/// # Units
/// - `until`: seconds from 1970-01-01 00:00 UTC
#[must_use]
pub fn waiting_until(until: i64) -> String {
    waiting(until - crate::clock::seconds())
}

/// Minutes in words: `1 h 30 min`.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "minutes of a build, in whole seconds")]
pub fn waiting_words(minutes: f64) -> String {
    waiting((minutes * 60.0) as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wait_in_words() {
        let words: Vec<String> = [0, 59, 60, 3600, 12_000, 90_000, 172_800].map(waiting).to_vec();
        assert_eq!(words, ["0 min", "1 min", "1 min", "1 h", "3 h 20 min", "1 d 1 h", "2 d"]);
    }

    #[test]
    fn an_anchor_has_nothing_that_an_address_minds() {
        assert_eq!(anchor("act1", "flap-left/web/A:stack"), "act1-flap-left-web-A-stack");
    }
}
