//! Gates: what stands against passing one.
//!
//! A gate before a step asks for the work of its assembly, and of every
//! assembly that the step hides a side of, that comes before that step; a gate
//! of the whole build for all the work of the assemblies it covers. What it
//! lists is found, not declared: holes not set, work not done, what was put
//! off, heads nobody measured, faults nobody decided on, bolts nobody torqued,
//! what the changed plan no longer agrees with. The plan adds by name what
//! cannot be found: inspections, photographs, things looked for.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use faying_plan::{AssemblyId, Gate, GateId, HoleId, NeedSort, Plan, RowId, StepId};
use faying_record::{ActId, Event, HoleStatus, State};

use crate::closing::hidden_by;
use crate::open::Sequence;

/// Something that stands against passing a gate.
#[derive(Clone, Debug, PartialEq)]
pub struct Blocker {
    /// What.
    pub what: Block,
    /// What a reason to let it pass names: as many as there are single things in it.
    pub keys: Vec<String>,
    /// Whether only the designer, an inspector or the authority may let it pass.
    pub structure: bool,
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

/// What a gate looks at.
#[derive(Clone, Debug, Default)]
pub struct Scope {
    /// Steps whose work it asks for, in detail.
    pub steps: Vec<StepId>,
    /// Steps of other assemblies that come directly before its step.
    pub elsewhere: Vec<StepId>,
    /// Holes of those steps.
    pub holes: Vec<HoleId>,
    /// Holes on the sides that are hidden and that the plan fills too late or never.
    pub late: Vec<HoleId>,
}

/// What a gate looks at.
#[must_use]
pub fn scope(plan: &Plan, sequence: &Sequence, gate: GateId) -> Scope {
    let order = &sequence.order;
    let it = &plan[gate];
    let mut scope = Scope::default();
    let mut assemblies: HashSet<AssemblyId> = it.covers.iter().copied().collect();
    // A gate before a step of another assembly asks for the work of its own file: the other has its own gate.
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
    scope.holes = scope.steps.iter().flat_map(|&step| sequence.work(step).fill.iter().copied()).collect();
    // Rows that no step sets are still work of the assemblies that a gate covers.
    let unplanned =
        |&hole: &HoleId| it.covers.contains(&plan[plan[hole].row].assembly) && sequence.due(hole).is_none();
    scope.late.extend(
        (0..plan.holes.len()).map(HoleId::from_index).filter(|_| !it.covers.is_empty()).filter(unplanned),
    );
    scope
}

/// Where every gate stands; `done` says which steps are done.
pub(crate) fn standings(
    plan: &Plan,
    sequence: &Sequence,
    state: &State,
    done: &dyn Fn(StepId) -> bool,
) -> Vec<GateStanding> {
    let articles = first_articles(plan, state);
    (0..plan.gates.len())
        .map(GateId::from_index)
        .map(|gate| {
            let listing = Listing { plan, sequence, state, articles: &articles, done, it: &plan[gate] };
            standing(gate, &plan.gate_name(gate), state, listing.all(gate))
        })
        .collect()
}

fn standing(gate: GateId, name: &str, state: &State, found: Vec<Blocker>) -> GateStanding {
    let mut passed = None;
    let mut allowed: HashSet<&str> = HashSet::new();
    for (id, act) in state.of_kind("gate-passed") {
        if let Event::GatePassed(body) = &act.event
            && body.gate == name
        {
            passed = Some(id);
            // Whatever was let pass once stays so; each has its own who and why.
            allowed.extend(body.let_pass.iter().flat_map(|it| it.keys.iter().map(String::as_str)));
        }
    }
    let (let_pass, blockers) =
        found.into_iter().partition(|it: &Blocker| it.keys.iter().all(|key| allowed.contains(key.as_str())));
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
    articles: &'a BTreeMap<Article, Vec<HoleId>>,
    done: &'a dyn Fn(StepId) -> bool,
    it: &'a Gate,
}

impl Listing<'_> {
    fn all(&self, gate: GateId) -> Vec<Blocker> {
        let scope = scope(self.plan, self.sequence, gate);
        let inside: HashSet<HoleId> = scope.holes.iter().chain(&scope.late).copied().collect();
        let mut found = Vec::new();
        self.steps(&scope, &mut found);
        self.unset(&scope, &mut found);
        self.owed(gate, &scope, &inside, &mut found);
        self.held(&inside, &mut found);
        self.heads(&inside, &mut found);
        self.faults(&scope, &inside, &mut found);
        self.torque(&inside, &mut found);
        self.disagreements(&inside, &scope, &mut found);
        self.needs(gate, &mut found);
        found
    }

    fn blocker(&self, what: Block, keys: Vec<String>) -> Blocker {
        Blocker { what, keys, structure: self.it.structure }
    }

    fn steps(&self, scope: &Scope, found: &mut Vec<Blocker>) {
        // Holes that are not set are named one by one below.
        let by_hand = |step: &&StepId| self.sequence.work(**step).fill.is_empty();
        let open =
            scope.steps.iter().filter(by_hand).chain(&scope.elsewhere).filter(|&&step| !(self.done)(step));
        for &step in open {
            let key = format!("step:{}", self.plan.step_name(step));
            found.push(self.blocker(Block::Undone { step }, vec![key]));
        }
    }

    fn unset(&self, scope: &Scope, found: &mut Vec<Blocker>) {
        for (list, late) in [(&scope.holes, false), (&scope.late, true)] {
            let open = list.iter().copied().filter(|&hole| self.state.status(hole) != HoleStatus::Set);
            // What the builder holds is told with its reason.
            let open = open.filter(|&hole| self.state.held(hole).is_none());
            for (row, holes) in self.by_row(open) {
                let keys = self.keys("hole", &holes);
                found.push(self.blocker(Block::Unset { row, holes, late }, keys));
            }
        }
    }

    fn by_row(&self, holes: impl Iterator<Item = HoleId>) -> BTreeMap<RowId, Vec<HoleId>> {
        let mut rows: BTreeMap<RowId, BTreeSet<HoleId>> = BTreeMap::new();
        for hole in holes {
            rows.entry(self.plan[hole].row).or_default().insert(hole);
        }
        rows.into_iter().map(|(row, holes)| (row, holes.into_iter().collect())).collect()
    }

    fn keys(&self, sort: &str, holes: &[HoleId]) -> Vec<String> {
        holes.iter().map(|&hole| format!("{sort}:{}", self.plan.hole_name(hole))).collect()
    }

    fn owed(&self, gate: GateId, scope: &Scope, inside: &HashSet<HoleId>, found: &mut Vec<Blocker>) {
        for (id, act) in self.state.of_kind("owed") {
            let Event::Owed(owed) = &act.event else { continue };
            if self.state.answer(&act.id, "").is_some() {
                continue;
            }
            let of_this = owed.gate == self.plan.gate_name(gate);
            let of_earlier = || self.stands_earlier(&owed.gate);
            if of_this
                || of_earlier()
                || self.lies_within(self.state.name_now(&owed.at, act.revision), scope, inside)
            {
                found.push(self.blocker(Block::Owed { act: id }, vec![format!("owed:{}", act.id)]));
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

    /// Whether this gate hides a place: a hole or row of a closed side, or work that comes before it.
    fn lies_within(&self, at: &str, scope: &Scope, inside: &HashSet<HoleId>) -> bool {
        if at.is_empty() {
            return false;
        }
        if let Some(hole) = self.plan.hole_named(at) {
            return inside.contains(&hole);
        }
        if let Some(row) = self.plan.row_named(at) {
            return self.plan[row].hole_ids().any(|hole| inside.contains(&hole));
        }
        if let Some(step) = self.plan.step_named(at) {
            return scope.steps.contains(&step);
        }
        scope
            .steps
            .iter()
            .any(|&step| self.plan[step].adds.iter().any(|&piece| self.plan.piece_full_name(piece) == at))
    }

    fn held(&self, inside: &HashSet<HoleId>, found: &mut Vec<Blocker>) {
        for (id, act) in self.state.of_kind("hold-placed") {
            let Event::HoldPlaced(hold) = &act.event else { continue };
            if self.state.answer(&act.id, "").is_some() {
                continue;
            }
            let holes: Vec<HoleId> = hold
                .holes
                .iter()
                .filter_map(|name| self.plan.hole_named(self.state.name_now(name, act.revision)))
                .filter(|hole| inside.contains(hole))
                .collect();
            if !holes.is_empty() {
                let keys = self.keys("hole", &holes);
                found.push(self.blocker(Block::Held { act: id, holes }, keys));
            }
        }
    }

    fn heads(&self, inside: &HashSet<HoleId>, found: &mut Vec<Blocker>) {
        for ((run, set_up), holes) in self.articles {
            let holes: Vec<HoleId> = holes.iter().copied().filter(|hole| inside.contains(hole)).collect();
            if !holes.is_empty() {
                let key = format!("first:{run} {set_up}");
                let what = Block::FirstArticle { run: run.clone(), set_up: set_up.clone(), holes };
                found.push(self.blocker(what, vec![key]));
            }
        }
        let mut holes: Vec<HoleId> = inside.iter().copied().collect();
        holes.sort_unstable();
        for hole in holes {
            if let Some(measured) = self.state.measured(hole)
                && measured.head.verdict == "outside"
                && self.state.answer(&self.state.act(measured.act).id, "").is_none()
            {
                let keys = vec![format!("outside:{}", self.state.act(measured.act).id)];
                found.push(self.blocker(Block::Outside { act: measured.act, hole }, keys));
            }
        }
    }

    fn faults(&self, scope: &Scope, inside: &HashSet<HoleId>, found: &mut Vec<Blocker>) {
        for (id, act) in self.state.of_kind("fault-found") {
            let Event::FaultFound(fault) = &act.event else { continue };
            let now = |name: &String| self.state.name_now(name, act.revision).to_owned();
            let here =
                fault.holes.iter().chain([&fault.at]).any(|name| self.lies_within(&now(name), scope, inside));
            if here && self.state.answer(&act.id, "").is_none() {
                found.push(self.blocker(Block::Fault { act: id }, vec![format!("fault:{}", act.id)]));
            }
        }
    }

    fn torque(&self, inside: &HashSet<HoleId>, found: &mut Vec<Blocker>) {
        let open = inside.iter().copied().filter(|&hole| {
            self.plan.is_bolt(hole)
                && self.state.status(hole) == HoleStatus::Set
                && self.state.torqued(hole).is_none()
        });
        for (row, holes) in self.by_row(open) {
            let keys = self.keys("torque", &holes);
            found.push(self.blocker(Block::Torque { row, holes }, keys));
        }
    }

    fn disagreements(&self, inside: &HashSet<HoleId>, scope: &Scope, found: &mut Vec<Blocker>) {
        for (id, act) in self.state.of_kind("revision-adopted") {
            let Event::RevisionAdopted(adopted) = &act.event else { continue };
            for (index, it) in adopted.disagreements.iter().enumerate() {
                let now = |name: &String| self.state.name_now(name, adopted.number).to_owned();
                let here =
                    it.holes.iter().chain([&it.at]).any(|name| self.lies_within(&now(name), scope, inside));
                if here && self.state.answer(&act.id, &it.key).is_none() {
                    let keys = vec![format!("plan:{} {}", act.id, it.key)];
                    found.push(self.blocker(Block::Disagrees { act: id, index }, keys));
                }
            }
        }
    }

    fn needs(&self, gate: GateId, found: &mut Vec<Blocker>) {
        let name = self.plan.gate_name(gate);
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
                let what = Block::Need { index };
                found.push(Blocker { what, keys: vec![format!("need:{word}")], structure });
            }
        }
    }
}
