//! Gates: what stands against passing one.
//!
//! A gate before a step asks for the work of its assembly, and of every
//! assembly that the step hides a side of, that comes before that step; a gate
//! of the whole build for all the work of the assemblies it covers. What it
//! lists is found, not declared: holes not set, work not done, what was put
//! off, heads nobody measured, faults nobody decided on, bolts nobody torqued,
//! what the changed plan no longer agrees with. The plan adds by name what
//! cannot be found: inspections, photographs, things looked for.

use std::collections::{BTreeMap, HashSet};

use faying_plan::{AssemblyId, Gate, GateId, HoleId, NeedSort, Plan, RowId, StepId};
use faying_record::{ActId, Event, HoleStatus, State};

use crate::closing::hidden_by;
use crate::fault::{OpenFault, examined_open};
use crate::open::Sequence;

/// Something that stands against passing a gate.
#[derive(Clone, Debug, PartialEq)]
pub struct Blocker {
    /// What.
    pub what: Block,
    /// Whether only the designer, an inspector or the authority may let it pass.
    pub structure: bool,
}

impl Blocker {
    /// What a reason to let it pass names: as many keys as there are single things in it.
    ///
    /// A hole is named with the act that made it what it is: what was let pass of one fastener says
    /// nothing of the next one in the same hole.
    #[must_use]
    pub fn keys(&self, plan: &Plan, state: &State, gate: GateId) -> Vec<String> {
        let of_holes = |sort: &str, holes: &[HoleId], by: &dyn Fn(HoleId) -> Option<ActId>| -> Vec<String> {
            let key = |&hole: &HoleId| {
                let by = by(hole).map_or("", |act| &state.act(act).id);
                format!("{sort}:{} {by}", plan.hole_name(hole))
            };
            holes.iter().map(key).collect()
        };
        let of_act = |sort: &str, act: ActId| vec![format!("{sort}:{}", state.act(act).id)];
        match &self.what {
            Block::Unset { holes, .. } | Block::Held { holes, .. } => {
                of_holes("hole", holes, &|hole| state.opened_by(hole))
            }
            Block::Undone { step } => vec![format!("step:{}", plan.step_name(*step))],
            Block::Owed { act } => of_act("owed", *act),
            Block::FirstArticle { holes, .. } => of_holes("first", holes, &|hole| state.set_by(hole)),
            Block::Replaced { holes, .. } => of_holes("replaced", holes, &|hole| state.set_by(hole)),
            Block::Outside { act, .. } => of_act("outside", *act),
            Block::Fault { act } => of_act("fault", *act),
            Block::Torque { holes, .. } => of_holes("torque", holes, &|hole| state.set_by(hole)),
            Block::Disagrees { act, index } => match &state.act(*act).event {
                Event::RevisionAdopted(adopted) => {
                    vec![format!("plan:{} {}", state.act(*act).id, adopted.disagreements[*index].key)]
                }
                _ => Vec::new(),
            },
            Block::Need { index } => vec![format!("need:{}", plan[gate].needs[*index])],
        }
    }
}

impl Blocker {
    /// What is left of it of those single things for which `is` says `wanted`; none where that is nothing.
    fn part(&self, is: &[bool], wanted: bool) -> Option<Self> {
        let mut part = self.clone();
        match &mut part.what {
            Block::Unset { holes, .. }
            | Block::Held { holes, .. }
            | Block::FirstArticle { holes, .. }
            | Block::Replaced { holes, .. }
            | Block::Torque { holes, .. } => {
                let mut is = is.iter();
                holes.retain(|_| is.next() == Some(&wanted));
                (!holes.is_empty()).then_some(part)
            }
            _ => (is.iter().all(|&it| it == wanted)).then_some(part),
        }
    }
}

/// A key as it was written under a revision, with the name that its hole has now.
fn key_now(state: &State, key: &str, revision: u64) -> String {
    let hole = ["hole:", "first:", "replaced:", "torque:"]
        .iter()
        .find_map(|sort| Some((sort, key.strip_prefix(sort)?)));
    match hole.and_then(|(sort, rest)| Some((sort, rest.split_once(' ')?))) {
        Some((sort, (name, by))) => format!("{sort}{} {by}", state.name_now(name, revision)),
        None => key.to_owned(),
    }
}

/// What stands against passing a gate.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// Holes without a fastener.
    Unset {
        /// Their row.
        row: RowId,
        /// Which.
        holes: Vec<HoleId>,
        /// Whether the plan itself comes too late: it fills them after this gate, or never.
        late: bool,
    },
    /// A step that is not done.
    Undone {
        /// Which.
        step: StepId,
    },
    /// Something was put off until this gate, or lies where it will be hidden.
    Owed {
        /// The act that put it off.
        act: ActId,
    },
    /// The builder holds holes open.
    Held {
        /// The act that placed the hold.
        act: ActId,
        /// Those of its holes that this gate asks for.
        holes: Vec<HoleId>,
    },
    /// No head of a set-up was measured.
    FirstArticle {
        /// The run; empty for holes that were set outside of one.
        run: String,
        /// The set-up's key; the row where there is no run.
        set_up: String,
        /// The holes that were set with it.
        holes: Vec<HoleId>,
    },
    /// A head that was measured outside its limits and is still in.
    Outside {
        /// The measurement.
        act: ActId,
        /// The hole.
        hole: HoleId,
    },
    /// A fault without a decision.
    Fault {
        /// The act that found it.
        act: ActId,
    },
    /// Rivets that took the place of others, and whose heads nobody has measured.
    Replaced {
        /// Their row.
        row: RowId,
        /// Which.
        holes: Vec<HoleId>,
    },
    /// Bolts without a torque.
    Torque {
        /// Their row.
        row: RowId,
        /// Which.
        holes: Vec<HoleId>,
    },
    /// What was done by an earlier revision of the plan and does not agree with this one.
    Disagrees {
        /// The act that adopted the revision.
        act: ActId,
        /// Position in its list.
        index: usize,
    },
    /// Something that the gate asks for by name; a position in [`Gate::needs`].
    Need {
        /// Which.
        index: usize,
    },
}

/// Where a gate stands.
#[derive(Clone, Debug, PartialEq)]
pub struct GateStanding {
    /// Which gate.
    pub gate: GateId,
    /// What stands against passing it and was not let pass.
    pub blockers: Vec<Blocker>,
    /// What stands against it and was let pass by somebody.
    pub let_pass: Vec<Blocker>,
    /// The newest act that passed it.
    pub passed: Option<ActId>,
}

impl GateStanding {
    /// Whether it is passed, and nothing has come up since.
    #[must_use]
    pub const fn is_passed(&self) -> bool {
        self.passed.is_some() && self.blockers.is_empty()
    }
}

/// What a gate looks at; computed once for a plan.
#[derive(Clone, Debug, Default)]
pub struct Scope {
    /// Steps whose work it asks for, in detail.
    pub steps: Vec<StepId>,
    /// Steps of other assemblies that come directly before its step.
    pub elsewhere: Vec<StepId>,
    /// Holes on the sides that are hidden and that the plan fills too late or never.
    pub late: Vec<HoleId>,
    /// For each step whether it is one of [`Scope::steps`].
    asked: Vec<bool>,
}

impl Scope {
    /// What a gate looks at.
    pub(crate) fn of(plan: &Plan, sequence: &Sequence, gate: GateId) -> Self {
        let order = &sequence.order;
        let it = &plan[gate];
        let mut scope = Self { asked: vec![false; plan.steps.len()], ..Self::default() };
        let mut assemblies: HashSet<AssemblyId> = it.covers.iter().copied().collect();
        // A gate before a step of another assembly asks for the work of its own file: the other has its
        // own gate.
        let of_another = it.assembly.filter(|&own| it.before.is_some_and(|step| plan[step].assembly != own));
        assemblies.extend(of_another);
        if let Some(before) = it.before.filter(|_| of_another.is_none()) {
            assemblies.insert(plan[before].assembly);
            assemblies.extend(plan[before].closes.iter().map(|&(plane, _)| plan[plane].assembly));
            scope.elsewhere = plan[before]
                .after
                .iter()
                .copied()
                .filter(|&step| !assemblies.contains(&plan[step].assembly))
                .collect();
            scope.late = hidden_by(plan, sequence, before).flat_map(|hidden| hidden.late).collect();
        }
        let asks = |step: StepId| match it.before {
            Some(before) => assemblies.contains(&plan[step].assembly) && order.is_before(step, before),
            None => {
                assemblies.contains(&plan[step].assembly)
                    || it.after.iter().any(|&after| order.is_by(step, after))
            }
        };
        scope.steps = order.sorted().iter().copied().filter(|&step| asks(step)).collect();
        for &step in &scope.steps {
            scope.asked[step.index()] = true;
        }
        // Rows that no step sets are still work of the assemblies that a gate covers.
        if !it.covers.is_empty() {
            let unplanned = |&hole: &HoleId| {
                it.covers.contains(&plan[plan[hole].row].assembly) && sequence.due(hole).is_none()
            };
            scope.late.extend((0..plan.holes.len()).map(HoleId::from_index).filter(unplanned));
        }
        // Two hidden sides may show the same row.
        scope.late.sort_unstable();
        scope.late.dedup();
        scope
    }

    /// Whether the gate asks for a hole: a step that it asks for fills it, or it is hidden too early.
    #[must_use]
    pub fn has(&self, sequence: &Sequence, hole: HoleId) -> bool {
        sequence.due(hole).is_some_and(|step| self.asked[step.index()])
            || self.late.binary_search(&hole).is_ok()
    }
}

impl Scope {
    /// Whether the gate asks for a place by its lasting name: a hole, any of a row, a step, a piece that a step
    /// brings.
    #[must_use]
    pub fn has_place(&self, plan: &Plan, sequence: &Sequence, at: &str) -> bool {
        if let Some(hole) = plan.hole_named(at) {
            return self.has(sequence, hole);
        }
        if let Some(row) = plan.row_named(at) {
            return plan[row].hole_ids().any(|hole| self.has(sequence, hole));
        }
        if let Some(step) = plan.step_named(at) {
            return self.asked[step.index()];
        }
        let mut pieces = self.steps.iter().flat_map(|&step| plan[step].adds.iter());
        !at.is_empty() && pieces.any(|&piece| plan.piece_full_name(piece) == at)
    }
}

/// What is wrong with holes, found once for all gates.
struct Facts {
    /// Without a fastener, and not held on the builder's word; in the order of the plan.
    unset: Vec<HoleId>,
    /// Bolts that are in and not torqued since.
    torque: Vec<HoleId>,
    /// Heads that were measured outside, with the measurement.
    outside: Vec<(HoleId, ActId)>,
    /// Rivets that took the place of others and are not measured.
    replaced: Vec<HoleId>,
    /// Faults that were examined and are not decided, with the holes at which they stand.
    examined: Vec<OpenFault>,
    /// Set-ups of which no head is measured.
    articles: BTreeMap<Article, Vec<HoleId>>,
}

impl Facts {
    fn of(plan: &Plan, state: &State) -> Self {
        let mut facts = Self {
            unset: Vec::new(),
            torque: Vec::new(),
            outside: Vec::new(),
            replaced: Vec::new(),
            examined: examined_open(plan, state),
            articles: first_articles(plan, state),
        };
        let any_held = state.of_kind("hold-placed").next().is_some();
        for hole in (0..plan.holes.len()).map(HoleId::from_index) {
            if state.status(hole) != HoleStatus::Set {
                if !(any_held && state.held(hole).is_some()) {
                    facts.unset.push(hole);
                }
                continue;
            }
            if plan.is_bolt(hole) && state.torqued(hole).is_none() {
                facts.torque.push(hole);
            }
            let measured = state.measured(hole);
            if measured.is_none() && plan[plan[hole].row].rivet.is_some() && state.opened_by(hole).is_some() {
                facts.replaced.push(hole);
            }
            if let Some(measured) = measured
                && measured.head.verdict == "outside"
                && state.answer(&state.act(measured.act).id, "").is_none()
            {
                facts.outside.push((hole, measured.act));
            }
        }
        facts
    }
}

/// Where every gate stands; `done` says which steps are done.
pub(crate) fn standings(
    plan: &Plan,
    sequence: &Sequence,
    state: &State,
    done: &dyn Fn(StepId) -> bool,
) -> Vec<GateStanding> {
    let facts = Facts::of(plan, state);
    (0..plan.gates.len())
        .map(GateId::from_index)
        .map(|gate| {
            let (it, scope) = (&plan[gate], sequence.scope(gate));
            let listing = Listing { plan, sequence, state, facts: &facts, done, gate, it, scope };
            standing(plan, state, gate, listing.all())
        })
        .collect()
}

fn standing(plan: &Plan, state: &State, gate: GateId, found: Vec<Blocker>) -> GateStanding {
    let name = plan.gate_name(gate);
    let mut passed = None;
    let mut allowed: HashSet<String> = HashSet::new();
    for (id, act) in state.of_kind("gate-passed") {
        if let Event::GatePassed(body) = &act.event
            && body.gate == name
        {
            passed = Some(id);
            // Whatever was let pass once stays so; each has its own who and why.
            let keys = body.let_pass.iter().flat_map(|it| &it.keys);
            allowed.extend(keys.map(|key| key_now(state, key, act.revision)));
        }
    }
    if allowed.is_empty() {
        return GateStanding { gate, blockers: found, let_pass: Vec::new(), passed };
    }
    let (mut blockers, mut let_pass) = (Vec::new(), Vec::new());
    for blocker in found {
        let is_allowed: Vec<bool> =
            blocker.keys(plan, state, gate).iter().map(|key| allowed.contains(key)).collect();
        let_pass.extend(blocker.part(&is_allowed, true));
        blockers.extend(blocker.part(&is_allowed, false));
    }
    GateStanding { gate, blockers, let_pass, passed }
}

/// Holes that were set together and whose first heads are measured together.
type Article = (String, String);

/// Solid rivets that are set now, by the set-up that set them; by row outside of a run.
///
/// What was set before the record began is not asked for: nobody can measure the first of it any more.
fn first_articles(plan: &Plan, state: &State) -> BTreeMap<Article, Vec<HoleId>> {
    let mut articles: BTreeMap<Article, Vec<HoleId>> = BTreeMap::new();
    for hole in (0..plan.holes.len()).map(HoleId::from_index) {
        let row = plan[hole].row;
        if plan[row].rivet.is_none() {
            continue;
        }
        let Some(by) = state.set_by(hole) else { continue };
        let Event::HolesSet(set) = &state.act(by).event else { continue };
        // A single rivet in the place of another is asked for by itself.
        if set.run.is_empty() && state.opened_by(hole).is_some() {
            continue;
        }
        let set_up = if set.run.is_empty() { plan.row_name(row) } else { set.set_up.clone() };
        articles.entry((set.run.clone(), set_up)).or_default().push(hole);
    }
    articles.retain(|_, holes| holes.iter().all(|&hole| state.measured(hole).is_none()));
    articles
}

/// Makes the list of one gate.
struct Listing<'a> {
    plan: &'a Plan,
    sequence: &'a Sequence,
    state: &'a State,
    facts: &'a Facts,
    done: &'a dyn Fn(StepId) -> bool,
    gate: GateId,
    it: &'a Gate,
    scope: &'a Scope,
}

impl Listing<'_> {
    fn all(&self) -> Vec<Blocker> {
        let mut found = Vec::new();
        self.steps(&mut found);
        self.unset(&mut found);
        self.owed(&mut found);
        self.held(&mut found);
        self.heads(&mut found);
        self.faults(&mut found);
        self.torque(&mut found);
        self.disagreements(&mut found);
        self.needs(&mut found);
        found
    }

    fn blocker(&self, what: Block) -> Blocker {
        Blocker { what, structure: self.it.structure }
    }

    fn has(&self, hole: HoleId) -> bool {
        self.scope.has(self.sequence, hole)
    }

    fn has_place(&self, at: &str) -> bool {
        self.scope.has_place(self.plan, self.sequence, at)
    }

    fn steps(&self, found: &mut Vec<Blocker>) {
        // Holes that are not set are named one by one below.
        let by_hand = |step: &&StepId| self.sequence.work(**step).fill.is_empty();
        let asked = self.scope.steps.iter().filter(by_hand).chain(&self.scope.elsewhere);
        found.extend(
            asked.filter(|&&step| !(self.done)(step)).map(|&step| self.blocker(Block::Undone { step })),
        );
    }

    fn unset(&self, found: &mut Vec<Blocker>) {
        let due = |hole: HoleId| self.sequence.due(hole).is_some_and(|step| self.scope.asked[step.index()]);
        let in_time = self.facts.unset.iter().copied().filter(|&hole| due(hole));
        found.extend(self.by_row(in_time, |row, holes| Block::Unset { row, holes, late: false }));
        let late = self.scope.late.iter().copied().filter(|&hole| !due(hole));
        let open = late.filter(|hole| self.facts.unset.binary_search(hole).is_ok());
        found.extend(self.by_row(open, |row, holes| Block::Unset { row, holes, late: true }));
    }

    /// Holes in the order of the plan, one blocker for each row: a row's holes lie together.
    fn by_row(
        &self,
        holes: impl Iterator<Item = HoleId>,
        block: impl Fn(RowId, Vec<HoleId>) -> Block,
    ) -> Vec<Blocker> {
        let mut rows: Vec<(RowId, Vec<HoleId>)> = Vec::new();
        for hole in holes {
            let row = self.plan[hole].row;
            match rows.last_mut() {
                Some((last, list)) if *last == row => list.push(hole),
                _ => rows.push((row, vec![hole])),
            }
        }
        rows.into_iter().map(|(row, holes)| self.blocker(block(row, holes))).collect()
    }

    fn owed(&self, found: &mut Vec<Blocker>) {
        for (id, act) in self.state.of_kind("owed") {
            let Event::Owed(owed) = &act.event else { continue };
            if self.state.answer(&act.id, "").is_some() {
                continue;
            }
            let of_this = owed.gate == self.plan.gate_name(self.gate);
            let here = |at: &String| self.has_place(self.state.name_now(at, act.revision));
            if of_this || self.stands_earlier(&owed.gate) || owed.holes.iter().chain([&owed.at]).any(here) {
                found.push(self.blocker(Block::Owed { act: id }));
            }
        }
    }

    /// Whether a gate of this name stands before a step that this gate asks for.
    fn stands_earlier(&self, gate: &str) -> bool {
        let (Some(other), Some(before)) =
            (self.plan.gate_named(gate).and_then(|id| self.plan[id].before), self.it.before)
        else {
            return false;
        };
        self.sequence.order.is_before(other, before)
    }

    fn held(&self, found: &mut Vec<Blocker>) {
        for (id, act) in self.state.of_kind("hold-placed") {
            let Event::HoldPlaced(hold) = &act.event else { continue };
            if self.state.answer(&act.id, "").is_some() {
                continue;
            }
            let holes: Vec<HoleId> = hold
                .holes
                .iter()
                .filter_map(|name| self.plan.hole_named(self.state.name_now(name, act.revision)))
                .filter(|&hole| self.has(hole))
                .collect();
            if !holes.is_empty() {
                found.push(self.blocker(Block::Held { act: id, holes }));
            }
        }
    }

    fn heads(&self, found: &mut Vec<Blocker>) {
        for ((run, set_up), holes) in &self.facts.articles {
            let holes: Vec<HoleId> = holes.iter().copied().filter(|&hole| self.has(hole)).collect();
            if !holes.is_empty() {
                let what = Block::FirstArticle { run: run.clone(), set_up: set_up.clone(), holes };
                found.push(self.blocker(what));
            }
        }
        let replaced = self.facts.replaced.iter().copied().filter(|&hole| self.has(hole));
        found.extend(self.by_row(replaced, |row, holes| Block::Replaced { row, holes }));
        for &(hole, act) in self.facts.outside.iter().filter(|(hole, _)| self.has(*hole)) {
            found.push(self.blocker(Block::Outside { act, hole }));
        }
    }

    fn faults(&self, found: &mut Vec<Blocker>) {
        for (id, act) in self.state.of_kind("fault-found") {
            let Event::FaultFound(fault) = &act.event else { continue };
            let here = |name: &String| self.has_place(self.state.name_now(name, act.revision));
            if fault.holes.iter().chain([&fault.at]).any(here) && self.state.answer(&act.id, "").is_none() {
                found.push(self.blocker(Block::Fault { act: id }));
            }
        }
        for fault in &self.facts.examined {
            let here = |&hole: &HoleId| self.has(hole);
            // Of a hole that the plan has no more nobody knows where it lay: every gate of its assembly asks.
            let gone = fault.holes.is_empty()
                && matches!(&self.state.act(fault.act).event, Event::Examined(it)
                    if it.holes.iter().any(|name| self.asks_of_assembly(name)));
            if gone || fault.holes.iter().any(here) {
                found.push(self.blocker(Block::Fault { act: fault.act }));
            }
        }
    }

    fn torque(&self, found: &mut Vec<Blocker>) {
        let open = self.facts.torque.iter().copied().filter(|&hole| self.has(hole));
        found.extend(self.by_row(open, |row, holes| Block::Torque { row, holes }));
    }

    fn disagreements(&self, found: &mut Vec<Blocker>) {
        for (id, act) in self.state.of_kind("revision-adopted") {
            let Event::RevisionAdopted(adopted) = &act.event else { continue };
            for (index, it) in adopted.disagreements.iter().enumerate() {
                let here = |name: &String| self.has_place(self.state.name_now(name, adopted.number));
                // What is gone, and what was primed, has no hole: every gate of its assembly asks for it.
                let without_hole = it.holes.is_empty() && self.asks_of_assembly(&it.at);
                if (without_hole || it.holes.iter().chain([&it.at]).any(here))
                    && self.state.answer(&act.id, &it.key).is_none()
                {
                    found.push(self.blocker(Block::Disagrees { act: id, index }));
                }
            }
        }
    }

    /// Whether the gate asks for work of the assembly that a place begins with.
    fn asks_of_assembly(&self, at: &str) -> bool {
        let assembly = at.split('/').next().and_then(|id| self.plan.assembly_named(id));
        assembly.is_some_and(|id| self.scope.steps.iter().any(|&step| self.plan[step].assembly == id))
    }

    fn needs(&self, found: &mut Vec<Blocker>) {
        let name = self.plan.gate_name(self.gate);
        for (index, need) in self.it.needs.iter().enumerate() {
            let word = need.to_string();
            let there = match need.sort {
                NeedSort::Photograph => self.state.of_kind("photographed").any(|(_, act)| {
                    matches!(&act.event, Event::Photographed(it) if it.about.contains(&name) && it.about.contains(&word))
                }),
                NeedSort::Inspection | NeedSort::Check => self.state.of_kind("looked").any(
                    |(_, act)| matches!(&act.event, Event::Looked(it) if it.at == name && it.need == word),
                ),
            };
            if !there {
                // A picture or a look that is missing is nobody's strength; an inspection is the inspector's.
                let structure = need.sort == NeedSort::Inspection;
                found.push(Blocker { what: Block::Need { index }, structure });
            }
        }
    }
}
