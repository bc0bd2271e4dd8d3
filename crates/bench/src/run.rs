//! A run: which tool, which settings, in which order, and what that takes.
//!
//! The holes of a step that are filled now are given a tool that reaches them
//! (few tools before the nearest one), share squeezer settings where their
//! heads stay inside, and are put in the order that changes and walks least.
//! What the plan's own order would have taken stands beside it.
//!
//! The room decides nothing about what stays open; `sequence` has said so.

mod first;
mod pick;

use std::collections::{BTreeMap, HashMap};

use faying_joint::callout::Landing;
use faying_joint::head::Heights;
use faying_joint::{Constants, Joint, Joints};
use faying_plan::tools::{Adjust as ToolAdjust, Times, Tools};
use faying_plan::{HoleId, Plan, Point, RowId, Side, StepId};
use faying_sequence::{Openness, Sequence};
use faying_standards::limits::ShopHeadLimits;
use faying_standards::{Cited, Dash, Diameter, Length, RivetType, figures};

use crate::need::{Need, need};
use crate::order;
use crate::reach::{Means, Reach, Reaches, Refused, Way};
use crate::settings::{self, Adjust, Group, Head, Settings, Spring, Stand};

use first::Passes;
use pick::Picked;

/// Parts of a turn that a mark on the ram shows.
const PART_OF_TURN: u32 = 8;

/// What a run is reckoned with.
#[derive(Clone, Copy, Debug)]
pub struct Bench<'a> {
    /// The plan, with its tools.
    pub plan: &'a Plan,
    /// Its joints.
    pub joints: &'a Joints,
    /// What is due at which step.
    pub sequence: &'a Sequence,
    /// Which tools set which hole.
    pub reaches: &'a Reaches,
    /// What heads are reckoned with.
    pub constants: &'a Constants,
    /// What things take: the builder's own seconds.
    pub times: &'a Times,
    /// Yokes whose spring was learned, by [`yoke_key`].
    pub springs: &'a BTreeMap<String, Spring>,
    /// Heads proven on scrap so far, oldest first.
    pub proven: &'a [Proven],
    /// Tools that are not at hand, by name.
    pub without: &'a [String],
}

/// What is put in order.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The step.
    pub step: StepId,
    /// Its holes that are set now.
    pub holes: &'a [HoleId],
    /// Those among them that come last, because somebody put them off.
    pub put_off: &'a [HoleId],
    /// What is set up already, and the hole it was last used at.
    pub standing: Option<(&'a [String], HoleId)>,
    /// An order to keep to where it can be kept, such as that of the other hand.
    pub follow: &'a [HoleId],
}

/// A head that was proven on scrap.
#[derive(Clone, Debug, PartialEq)]
pub struct Proven {
    /// Squeezer, yoke and dies, as [`SetUp::dies_key`] has them.
    pub dies: String,
    /// What it was, in words.
    pub title: String,
    /// The head.
    pub head: Head,
    /// What the squeezer was opened by since the one before it with these dies, where that was written down.
    pub opened: Option<Length>,
}

/// How a setting is found.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Nothing with these dies is proven yet: prove one head on scrap.
    First,
    /// So much more open than a setting that was proven, and still to be proven on scrap.
    From {
        /// ΔS = ΔG + Δh − ΔF/k, positive is more open.
        open: Length,
        /// The same in words, with what is done to the tool: `.012 more open: 1/8 turn out`.
        words: String,
        /// The set-up it is counted from.
        of: String,
    },
    /// Nothing is set on the tool.
    None,
}

/// The tool of a set-up, and why.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Choice {
    /// What sets it; nothing where no tool does, or the fastener brings its own.
    pub means: Option<Means>,
    /// The tool as the builder calls it: squeezer, or gun.
    pub tool: String,
    /// Yoke, bar or plate.
    pub with: String,
    /// Dies or set.
    pub dies: String,
    /// Why, in a sentence.
    pub why: String,
    /// What else is to be known before.
    pub notes: Vec<String>,
    /// Tools that cannot, with the reason.
    pub refused: Vec<Refused>,
    /// How many people.
    pub people: u8,
    /// Whether it is near the end of the squeezer's force.
    pub warn: bool,
    /// Where the figures come from.
    pub cited: Vec<Cited>,
}

impl Choice {
    /// Tool, yoke and dies in one line.
    #[must_use]
    pub fn words(&self) -> String {
        let parts = [&self.tool, &self.with, &self.dies];
        parts.into_iter().filter(|part| !part.is_empty()).cloned().collect::<Vec<_>>().join(", ")
    }
}

/// One stack of a set-up and what its heads are aimed at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StackOf {
    /// The joint; a number of [`Joints`].
    pub joint: Option<u32>,
    /// G.
    pub seat_to_seat: Option<Length>,
    /// Heights that work.
    pub heights: Option<Heights>,
    /// The height that the setting leaves.
    pub aim: Option<Length>,
    /// P(height) there.
    pub p: Option<f64>,
    /// How many holes of the run.
    pub count: usize,
}

/// Holes that are set without touching the tool.
#[derive(Clone, Debug)]
pub struct SetUp {
    /// Its name within the run.
    pub key: String,
    /// What is set up: tool, yoke, dies, setting, bag, face.
    pub on: Vec<String>,
    /// The fastener in short: `1/8 universal -5`.
    pub title: String,
    /// The whole part number, as far as it is known.
    pub fastener: String,
    /// The rivet, where it is a solid one.
    pub rivet: Option<(RivetType, Option<Dash>)>,
    /// The tool and why.
    pub choice: Choice,
    /// Where the manufactured head goes.
    pub head_on: String,
    /// Which side faces up.
    pub face_up: String,
    /// Its stacks, the most holes first.
    pub stacks: Vec<StackOf>,
    /// The setting as x = G + h − F/k, for reckoning; it is not shown.
    pub opening: Option<Length>,
    /// Heights that work at all of its holes.
    pub heights: Option<Heights>,
    /// What the limits in force ask.
    pub limits: Option<(String, ShopHeadLimits)>,
    /// How its setting is found.
    pub change: Change,
    /// Its holes, in order.
    pub holes: Vec<HoleId>,
    /// Those whose heads are measured, in order.
    pub measure: Vec<HoleId>,
    /// What it takes, changes before it included, seconds.
    pub seconds: f64,
}

impl SetUp {
    /// Squeezer, yoke and dies, by which a setting carries over.
    #[must_use]
    pub fn dies_key(&self) -> String {
        dies_key(&self.on)
    }
}

/// Squeezer, yoke and dies of what is set up.
#[must_use]
pub fn dies_key(on: &[String]) -> String {
    on.get(..3).map_or_else(String::new, |on| on.join(" / "))
}

/// A squeezer with a yoke, by which a spring is learned.
#[must_use]
pub fn yoke_key(on: &[String]) -> String {
    on.get(..2).map_or_else(String::new, |on| on.join(" / "))
}

/// What to put in the tray.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BagLine {
    /// The fastener.
    pub fastener: String,
    /// For the holes of the run.
    pub need: usize,
    /// For spoiled ones.
    pub spare: usize,
}

/// Clecoes that hold the holes in between.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clecoes {
    /// Of this size.
    pub diameter: Diameter,
    /// So many for every other hole.
    pub need: usize,
    /// So many are there; nothing where it is not written.
    pub have: Option<usize>,
}

/// What a run takes, and what it is compared with. Times are seconds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reckoning {
    /// All of it.
    pub seconds: f64,
    /// No order of these set-ups takes less.
    pub bound: f64,
    /// Whether that bound is reached.
    pub proven: bool,
    /// The same holes in the order the plan lists them, with these settings.
    pub plan_order: f64,
    /// Settings of squeezers.
    pub settings: usize,
    /// No choice of settings that keeps the odds has fewer.
    pub least_settings: usize,
    /// One setting for each length: how many, and the seconds of set-ups and rivets that come out again.
    pub per_length: (usize, f64),
    /// One setting for each grip, likewise.
    pub per_grip: (usize, f64),
    /// These settings, likewise.
    pub chosen: (usize, f64),
    /// Changes of tool, yoke, dies, setting, bag and face.
    pub changes: [u32; 6],
    /// The same in the plan's order.
    pub plan_changes: [u32; 6],
    /// Way along the parts, inches.
    pub travel_in: f64,
}

impl Reckoning {
    /// Times the part is turned over.
    #[must_use]
    pub const fn flips(&self) -> u32 {
        self.changes[FACE]
    }
}

/// One run.
#[derive(Clone, Debug)]
pub struct Run {
    /// The step.
    pub step: StepId,
    /// Its set-ups, in order.
    pub set_ups: Vec<SetUp>,
    /// Holes to leave open, with the reason.
    pub open: Vec<(HoleId, Openness)>,
    /// What to put in the tray.
    pub bag: Vec<BagLine>,
    /// What holds the sheets meanwhile.
    pub clecoes: Vec<Clecoes>,
    /// Holes that want a second person.
    pub helper: Vec<HoleId>,
    /// What it takes.
    pub takes: Reckoning,
}

const TOOL: usize = 0;
const YOKE: usize = 1;
const DIES: usize = 2;
const SETTING: usize = 3;
const BAG: usize = 4;
const FACE: usize = 5;
const PARTS: usize = 6;

/// The run of a step: what of it is not set yet.
///
/// # Units
/// - `holes`: the holes of the step that are set now; [`Sequence::work`] less what is set
/// - `stop`: asked again and again while the order is searched; `true` ends the search with the best so far
#[must_use]
pub fn run(bench: &Bench<'_>, asked: &Asked<'_>, stop: &mut dyn FnMut(&order::Progress) -> bool) -> Run {
    let open = bench.sequence.work(asked.step).open.clone();
    let later: Vec<HoleId> =
        asked.holes.iter().copied().filter(|hole| asked.put_off.contains(hole)).collect();
    let now: Vec<HoleId> = asked.holes.iter().copied().filter(|hole| !asked.put_off.contains(hole)).collect();
    let mut laid = Laid::default();
    let standing = asked.standing.map(|(on, at)| (on.to_vec(), at));
    laid.lay(bench, asked, &now, standing, stop);
    if !later.is_empty() {
        let standing = laid
            .set_ups
            .last()
            .and_then(|last| Some((last.on.clone(), *last.holes.last()?)))
            .or(asked.standing.map(|(on, at)| (on.to_vec(), at)));
        laid.lay(bench, asked, &later, standing, stop);
    }
    let mut set_ups = laid.set_ups;
    name_visits(&mut set_ups);
    changes(bench, &mut set_ups);
    let helper =
        set_ups.iter().filter(|it| it.choice.people > 1).flat_map(|it| it.holes.iter().copied()).collect();
    let bag = bag(&set_ups);
    Run { step: asked.step, open, bag, clecoes: laid.clecoes, helper, takes: laid.takes, set_ups }
}

/// A family that comes again has a name of its own each time.
fn name_visits(set_ups: &mut [SetUp]) {
    let mut seen: HashMap<String, u32> = HashMap::new();
    for set_up in set_ups {
        let times = seen.entry(set_up.key.clone()).or_default();
        *times += 1;
        if *times > 1 {
            set_up.key = format!("{} ({times})", set_up.key);
        }
    }
}

/// What has been put in order so far.
#[derive(Default)]
struct Laid {
    set_ups: Vec<SetUp>,
    clecoes: Vec<Clecoes>,
    takes: Reckoning,
}

/// A hole with everything that is decided about it before the order.
struct Decided {
    hole: HoleId,
    need: Need,
    choice: usize,
    /// The setting's x, where one was chosen.
    opening: Option<Length>,
    aim: Option<(Length, f64)>,
    on: Vec<String>,
}

impl Laid {
    fn lay(
        &mut self,
        bench: &Bench<'_>,
        asked: &Asked<'_>,
        holes: &[HoleId],
        standing: Option<(Vec<String>, HoleId)>,
        stop: &mut dyn FnMut(&order::Progress) -> bool,
    ) {
        if holes.is_empty() {
            return;
        }
        let ways = ways(bench, holes);
        let picked = pick::tools(&ways, bench, &mut |picked| {
            tried(bench, asked.step, holes, picked, standing.as_ref())
        });
        let (mut decided, choices) = decide(bench, holes, &picked);
        self.settle(bench, &mut decided, &choices);
        let (problem, passes) = problem(bench, asked.step, &decided, &choices, standing.as_ref());
        let mut answer = order::solve(&problem, 1, stop)
            .expect("families, jobs and passes are made here and wait for each other in no circle");
        if let Some((order, cost)) = followed(&problem, &decided, asked.follow) {
            answer.proven &= cost.seconds <= answer.cost.seconds;
            (answer.order, answer.cost) = (order, cost);
        }
        self.reckon(&problem, &passes.listed, &answer);
        self.visits(&decided, &choices, &problem, &answer.order, standing.is_some());
        self.hold(bench, &decided);
    }

    /// Chooses the settings of every squeezer, yoke and pair of dies.
    fn settle(&mut self, bench: &Bench<'_>, decided: &mut [Decided], choices: &[Choice]) {
        let mut sets: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (at, one) in decided.iter().enumerate() {
            if matches!(choices[one.choice].means, Some(Means::Squeezer { .. })) {
                sets.entry(dies_key(&one.on)).or_default().push(at);
            }
        }
        for (key, members) in sets {
            let Some(Means::Squeezer { squeezer, .. }) = choices[decided[members[0]].choice].means else {
                continue;
            };
            let first = &decided[members[0]];
            let spring = bench.spring(&first.on, choices[first.choice].means);
            let mut groups: Vec<Group> = Vec::new();
            let mut holes_of: Vec<Vec<usize>> = Vec::new();
            let mut number: HashMap<(Option<u32>, Option<Dash>), Option<usize>> = HashMap::new();
            for &at in &members {
                let one = &decided[at];
                let dash = one.need.rivet.and_then(|(_, dash)| dash);
                let group = *number.entry((one.need.joint, dash)).or_insert_with(|| {
                    let group = group(bench, &one.need, spring)?;
                    groups.push(group);
                    holes_of.push(Vec::new());
                    Some(groups.len() - 1)
                });
                if let Some(group) = group {
                    groups[group].count += 1;
                    holes_of[group].push(at);
                }
            }
            let alone = number.values().filter(|group| group.is_none()).count();
            self.takes.settings += alone;
            self.takes.least_settings += alone;
            if groups.is_empty() {
                continue;
            }
            let adjust = adjust(&bench.plan.tools, squeezer);
            let stand = Stand { x: stands_at(bench, &key, spring, &groups), fitted: Vec::new() };
            let costs = settings::Costs {
                set_up: bench.times.setting.value + bench.times.coupon.value,
                removal: bench.times.removal.value,
            };
            let chosen = settings::choose(&groups, &adjust, &stand, costs);
            self.compare(&chosen);
            for setting in &chosen.settings {
                for placed in &setting.groups {
                    for &at in &holes_of[placed.group] {
                        let one = &mut decided[at];
                        one.opening = Some(setting.x);
                        one.aim = Some((placed.height, placed.p));
                        one.on[SETTING] = setting.x.decimal();
                    }
                }
            }
        }
    }

    fn compare(&mut self, chosen: &Settings) {
        let takes = &mut self.takes;
        takes.settings += chosen.settings.len() + chosen.unreached.len();
        takes.least_settings += chosen.least_settings + chosen.unreached.len();
        for (sum, one) in [
            (&mut takes.chosen, &chosen.total),
            (&mut takes.per_length, &chosen.per_length),
            (&mut takes.per_grip, &chosen.per_grip),
        ] {
            sum.0 += one.settings;
            sum.1 += one.seconds;
        }
    }

    fn reckon(&mut self, problem: &order::Problem, listed: &[u32], answer: &order::Answer) {
        let takes = &mut self.takes;
        let first = takes.seconds == 0.0;
        takes.seconds += answer.cost.seconds;
        takes.bound += answer.bound;
        takes.proven = answer.proven && (first || takes.proven);
        takes.travel_in += answer.cost.travel_in;
        // Whoever follows the list does not look at which head is in whose way.
        let free = order::Problem { before: Vec::new(), ..problem.clone() };
        let plan = order::cost_of(&free, listed).expect("every job stands in the list once");
        takes.plan_order += plan.seconds;
        for part in 0..PARTS {
            takes.changes[part] += answer.cost.changes[part];
            takes.plan_changes[part] += plan.changes[part];
        }
    }

    /// Cuts the order into set-ups.
    fn visits(
        &mut self,
        decided: &[Decided],
        choices: &[Choice],
        problem: &order::Problem,
        order: &[u32],
        stands: bool,
    ) {
        let mut start = 0;
        while start < order.len() {
            let family = problem.jobs[order[start] as usize].family;
            let length =
                order[start..].iter().take_while(|&&job| problem.jobs[job as usize].family == family).count();
            let visit = &order[start..start + length];
            let mut set_up = set_up(decided, choices, visit);
            // What it takes: its own jobs, and the change from the one before.
            set_up.seconds = visit.iter().map(|&job| problem.jobs[job as usize].seconds).sum();
            let from = match start {
                0 => problem.start.as_ref().map(|it| it.family.clone()).filter(|_| stands),
                _ => Some(problem.families[problem.jobs[order[start - 1] as usize].family as usize].clone()),
            };
            let to = &problem.families[family as usize];
            set_up.seconds += match &from {
                Some(from) => change_seconds(&problem.costs, from, to),
                // The first set-up is put on and proven as well.
                None => problem.costs.proofs.iter().map(|proof| proof.seconds).sum(),
            };
            self.set_ups.push(set_up);
            start += length;
        }
    }

    /// Clecoes in every other hole of a row, whichever tool sets it.
    fn hold(&mut self, bench: &Bench<'_>, decided: &[Decided]) {
        let mut rows: BTreeMap<(RowId, Diameter), usize> = BTreeMap::new();
        for one in decided {
            let Some((rivet, _)) = one.need.rivet else { continue };
            *rows.entry((bench.plan[one.hole].row, rivet.diameter)).or_default() += 1;
        }
        for ((_, diameter), holes) in rows.into_iter().filter(|(_, holes)| *holes > 1) {
            let need = holes / 2;
            match self.clecoes.iter_mut().find(|it| it.diameter == diameter) {
                Some(line) => line.need += need,
                None => {
                    let mut own = bench.plan.tools.clecoes.iter().filter(|it| it.diameter == diameter);
                    let have = own.next().map(|it| it.count as usize);
                    self.clecoes.push(Clecoes { diameter, need, have });
                }
            }
        }
    }
}

/// The jobs in the order of a list of holes, if it has them all and no job comes too early in it.
fn followed(
    problem: &order::Problem,
    decided: &[Decided],
    follow: &[HoleId],
) -> Option<(Vec<u32>, order::Cost)> {
    let job: HashMap<HoleId, u32> = decided.iter().zip(0..).map(|(one, job)| (one.hole, job)).collect();
    let order: Vec<u32> = follow.iter().filter_map(|hole| job.get(hole).copied()).collect();
    let cost = order::cost_of(problem, &order).ok()?;
    Some((order, cost))
}

fn change_seconds(costs: &order::Costs, from: &order::Family, to: &order::Family) -> f64 {
    let differs = |part: usize| from.parts[part] != to.parts[part];
    let changes: f64 = (0..PARTS).filter(|&part| differs(part)).map(|part| costs.change[part]).sum();
    let proofs: f64 = costs
        .proofs
        .iter()
        .filter(|proof| proof.parts.iter().any(|&part| differs(part as usize)))
        .map(|proof| proof.seconds)
        .sum();
    changes + proofs
}

/// What sets each hole with the tools at hand, best first.
fn ways<'b>(bench: &Bench<'b>, holes: &[HoleId]) -> Vec<Vec<&'b Way>> {
    let at_hand =
        |way: &&Way| !tool_names(&bench.plan.tools, way).iter().any(|name| bench.without.contains(name));
    let of = |&hole: &HoleId| match bench.reaches.at(hole) {
        Some(reach) => reach.choices.iter().filter(at_hand).collect(),
        None => Vec::new(),
    };
    holes.iter().map(of).collect()
}

/// What a run with these tools takes, roughly: the first order that is found.
///
/// Rivets that come out again are not in it: nobody knows the odds of gun and bar.
fn tried(
    bench: &Bench<'_>,
    step: StepId,
    holes: &[HoleId],
    picked: &[Picked<'_>],
    standing: Option<&(Vec<String>, HoleId)>,
) -> f64 {
    let (mut decided, choices) = decide(bench, holes, picked);
    let mut laid = Laid::default();
    laid.settle(bench, &mut decided, &choices);
    let (problem, _) = problem(bench, step, &decided, &choices, standing);
    order::solve(&problem, 1, &mut |_| true).map_or(f64::INFINITY, |answer| answer.cost.seconds)
}

/// Need, tool and face of every hole.
fn decide(bench: &Bench<'_>, holes: &[HoleId], picked: &[Picked<'_>]) -> (Vec<Decided>, Vec<Choice>) {
    let needs = holes.iter().map(|&hole| need(bench.plan, bench.joints, hole));
    let mut choices: Vec<Choice> = Vec::new();
    let mut decided = Vec::with_capacity(holes.len());
    for (at, (&hole, need)) in holes.iter().zip(needs).enumerate() {
        let choice = choice(bench, picked[at].way, bench.reaches.at(hole));
        // Reasons differ from hole to hole; the tool is what makes a set-up.
        let known = choices.iter().position(|known| {
            (known.means, &known.tool, &known.with, &known.dies, known.people)
                == (choice.means, &choice.tool, &choice.with, &choice.dies, choice.people)
        });
        let number = known.unwrap_or_else(|| {
            choices.push(choice.clone());
            choices.len() - 1
        });
        if known.is_some() {
            merge_reasons(&mut choices[number], choice);
        }
        if let Some(note) = picked[at].instead.as_ref().filter(|note| !choices[number].notes.contains(note)) {
            choices[number].notes.push(note.clone());
        }
        let on = on(bench, hole, &need, &choices[number], picked[at].way);
        decided.push(Decided { hole, need, choice: number, opening: None, aim: None, on });
    }
    (decided, choices)
}

/// Reasons why other tools do not reach, from several holes: a handful is enough.
fn merge_reasons(known: &mut Choice, other: Choice) {
    const ENOUGH: usize = 6;
    for refused in other.refused {
        if known.refused.len() < ENOUGH && !known.refused.iter().any(|it| it.tool == refused.tool) {
            known.refused.push(refused);
        }
    }
    known.warn |= other.warn;
}

/// Names of everything that a way uses, as `tools.toml` has them.
fn tool_names(tools: &Tools, way: &Way) -> Vec<String> {
    let mut names = match way.means {
        Means::Squeezer { squeezer, yoke } => {
            vec![tools.squeezers[squeezer].name.clone(), tools.yokes[yoke].name.clone()]
        }
        Means::GunAndBar { gun, bar } => vec![tools.guns[gun].name.clone(), tools.bars[bar].name.clone()],
        Means::BackRiveting { gun, plate } => {
            vec![tools.guns[gun].name.clone(), tools.plates[plate].name.clone()]
        }
    };
    names.push(tools.dies[way.dies].name.clone());
    names
}

fn choice(bench: &Bench<'_>, way: Option<&Way>, reach: Option<&Reach>) -> Choice {
    let tools = &bench.plan.tools;
    let refused = reach.map_or_else(Vec::new, |reach| reach.refused.clone());
    let Some(way) = way else {
        return match reach {
            None => Choice {
                tool: "what the fastener asks".to_owned(),
                why: "not a solid rivet: carried as written".to_owned(),
                people: 1,
                ..Choice::default()
            },
            Some(_) => Choice {
                tool: "no tool of yours".to_owned(),
                why: "none of the tools in tools.toml sets it; look at the reasons".to_owned(),
                people: 1,
                refused,
                ..Choice::default()
            },
        };
    };
    let (tool, with) = match way.means {
        Means::Squeezer { squeezer, yoke } => (&tools.squeezers[squeezer].title, &tools.yokes[yoke].title),
        Means::GunAndBar { gun, bar } => (&tools.guns[gun].title, &tools.bars[bar].title),
        Means::BackRiveting { gun, plate } => (&tools.guns[gun].title, &tools.plates[plate].title),
    };
    Choice {
        means: Some(way.means),
        tool: tool.clone(),
        with: with.clone(),
        dies: tools.dies[way.dies].title.clone(),
        why: way.why.clone(),
        notes: way.notes.clone(),
        refused,
        people: way.people,
        warn: way.warn,
        cited: way.cited.clone(),
    }
}

/// What is set up for a hole; its setting comes later.
fn on(bench: &Bench<'_>, hole: HoleId, need: &Need, choice: &Choice, way: Option<&Way>) -> Vec<String> {
    let mut on = vec![String::new(); PARTS];
    match way {
        Some(way) => {
            let names = tool_names(&bench.plan.tools, way);
            on[TOOL..=DIES].clone_from_slice(&names);
            if let (Means::GunAndBar { gun, .. } | Means::BackRiveting { gun, .. }, Some((rivet, _))) =
                (way.means, need.rivet)
            {
                on[SETTING] = bench.plan.tools.guns[gun]
                    .pressure(rivet.diameter)
                    .map_or_else(String::new, |psi| format!("{psi} psi"));
            } else {
                // Without known heights a stack has a setting of its own.
                on[SETTING] = need.seat_to_seat.map_or_else(|| "?".to_owned(), Length::decimal);
            }
        }
        None => on[TOOL].clone_from(&choice.tool),
    }
    on[BAG].clone_from(&need.fastener);
    on[FACE] = face(bench.plan, hole, need, choice.means);
    on
}

/// The side that faces up: that of the manufactured head, or the tail's over a plate.
fn face(plan: &Plan, hole: HoleId, need: &Need, means: Option<Means>) -> String {
    let (Some(plane), Some(head)) = (plan[plan[hole].row].plane, need.head) else { return String::new() };
    let side = match means {
        Some(Means::BackRiveting { .. }) => head.other(),
        _ => head,
    };
    plan[plane].side_name(side).to_owned()
}

impl Bench<'_> {
    fn spring(&self, on: &[String], means: Option<Means>) -> Spring {
        match means {
            Some(Means::Squeezer { yoke, .. }) => self.spring_of(on, yoke),
            _ => Spring::STIFF,
        }
    }

    /// How far a yoke springs open: as learned, else as written, else as practice has it.
    ///
    /// # Units
    /// - `on`: what is set up
    /// - `yoke`: its number in the tools
    #[must_use]
    pub fn spring_of(&self, on: &[String], yoke: usize) -> Spring {
        let written = self.plan.tools.yokes[yoke]
            .stiffness_lbf_in
            .map(|stiffness| Spring { per_lbf: 1.0 / stiffness, u: 0.0 });
        self.springs.get(&yoke_key(on)).copied().or(written).unwrap_or_else(Spring::practice)
    }
}

/// How a squeezer is adjusted, as the settings reckon it.
#[must_use]
pub fn adjust(tools: &Tools, squeezer: usize) -> Adjust {
    match &tools.squeezers[squeezer].adjust {
        ToolAdjust::Screw { turns_per_inch } => {
            Adjust::Turns { per_inch: *turns_per_inch, part_of_turn: PART_OF_TURN }
        }
        ToolAdjust::Shims(shims) => Adjust::Shims(shims.clone()),
        ToolAdjust::SetLengths(lengths) => Adjust::SetLengths(lengths.clone()),
        ToolAdjust::Unknown => Adjust::Free,
    }
}

/// The landing of the heads of a need; nothing without heights that work.
fn landing(bench: &Bench<'_>, need: &Need) -> Option<(Dash, Length, Landing)> {
    let (_, dash) = need.rivet?;
    let joint: &Joint = &bench.joints.joints[need.joint? as usize];
    let seats = joint.seats.as_ref().ok()?;
    let limits = &joint.in_force.as_ref().ok()?.limits;
    let landing = Landing::of(seats, limits, dash?, bench.constants)?;
    Some((dash?, seats.seat_to_seat, landing))
}

fn group(bench: &Bench<'_>, need: &Need, spring: Spring) -> Option<Group> {
    let (dash, seat_to_seat, landing) = landing(bench, need)?;
    Some(Group::new(need.title.clone(), 0, dash, seat_to_seat, landing, spring))
}

impl Proven {
    /// A head of this height on scrap of a hole's stack.
    #[must_use]
    pub fn of(bench: &Bench<'_>, hole: HoleId, dies: String, title: String, height: Length) -> Option<Self> {
        let need = need(bench.plan, bench.joints, hole);
        let head = match landing(bench, &need) {
            Some((_, seat_to_seat, landing)) => {
                Head { seat_to_seat, height, force: landing.force_at(height) }
            }
            None => Head { seat_to_seat: need.seat_to_seat?, height, force: None },
        };
        Some(Self { dies, title, head, opened: None })
    }

    /// x = G + h − F/k of the head.
    #[must_use]
    pub fn opening(&self, spring: Spring) -> Length {
        let springs = self.head.force.map_or(0.0, |force| force.lbf() * spring.per_lbf);
        self.head.seat_to_seat + self.head.height - Length::from_inches(springs)
    }
}

/// Where a squeezer stands: at its last proven head, else where the first group would have it.
fn stands_at(bench: &Bench<'_>, dies: &str, spring: Spring, groups: &[Group]) -> Length {
    match bench.proven.iter().rev().find(|proven| proven.dies == dies) {
        Some(proven) => proven.opening(spring),
        None => groups[0].best().0,
    }
}

/// Jobs for the order, and their passes.
fn problem(
    bench: &Bench<'_>,
    step: StepId,
    decided: &[Decided],
    choices: &[Choice],
    standing: Option<&(Vec<String>, HoleId)>,
) -> (order::Problem, Passes) {
    let plan = bench.plan;
    let times = bench.times;
    let mut names: Vec<HashMap<String, u16>> = vec![HashMap::new(); PARTS];
    let mut number = |on: &[String]| order::Family {
        parts: on
            .iter()
            .enumerate()
            .map(|(part, name)| {
                let next = u16::try_from(names[part].len()).unwrap_or(u16::MAX);
                *names[part].entry(name.clone()).or_insert(next)
            })
            .collect(),
    };
    let start = standing.map(|(on, at)| order::Start {
        family: number(on),
        at: place_of(plan, *at).0,
        place: place_of(plan, *at).1,
    });
    let mut families: Vec<order::Family> = Vec::new();
    let mut known: HashMap<order::Family, u16> = HashMap::new();
    let family_of: Vec<u16> = decided
        .iter()
        .map(|one| {
            let family = number(&one.on);
            *known.entry(family.clone()).or_insert_with(|| {
                families.push(family);
                u16::try_from(families.len() - 1).expect("fewer set-ups than holes")
            })
        })
        .collect();

    let passes = Passes::of(plan, decided, &family_of);
    let jobs = decided
        .iter()
        .enumerate()
        .map(|(at, one)| {
            let (point, place) = place_of(plan, one.hole);
            let set = match choices[one.choice].means {
                Some(Means::GunAndBar { .. }) => times.gun.value,
                Some(Means::BackRiveting { .. }) => times.back.value,
                _ => times.squeeze.value,
            };
            let cleco = if passes.second[at] { times.cleco.value } else { 0.0 };
            order::Job { family: family_of[at], at: point, place, seconds: set + cleco }
        })
        .collect();
    let costs = order::Costs {
        change: [&times.tool, &times.yoke, &times.dies, &times.setting, &times.bag, &times.flip]
            .map(|time| time.value)
            .to_vec(),
        proofs: vec![order::Proof {
            parts: [TOOL, YOKE, DIES, SETTING].map(|part| part as u16).to_vec(),
            seconds: times.coupon.value,
        }],
        seconds_per_inch: times.foot.value / 12.0,
        between_places: times.plane.value,
    };
    let mut problem = order::Problem { families, jobs, before: Vec::new(), costs, start };
    problem.before = first::before(bench, step, decided, choices, &passes, &problem);
    (problem, passes)
}

/// Where a hole lies, in inches, and in which place: its plane, or its row where it is not drawn.
fn place_of(plan: &Plan, hole: HoleId) -> ([f64; 2], u16) {
    let row = plan[hole].row;
    let place = match plan[row].plane {
        Some(plane) => plane.0,
        None => plan.planes.len() as u32 + row.0,
    };
    let at = plan[hole].at.map_or([f64::from(plan[hole].number), 0.0], Point::inches);
    (at, (place % u32::from(u16::MAX)) as u16)
}

/// One set-up from the jobs of a visit.
fn set_up(decided: &[Decided], choices: &[Choice], visit: &[u32]) -> SetUp {
    let of = |job: u32| &decided[job as usize];
    let first = of(visit[0]);
    let mut stacks: Vec<StackOf> = Vec::new();
    for &job in visit {
        let one = of(job);
        match stacks.iter_mut().find(|known| known.joint == one.need.joint) {
            Some(known) => known.count += 1,
            None => stacks.push(StackOf {
                joint: one.need.joint,
                seat_to_seat: one.need.seat_to_seat,
                heights: one.need.heights,
                aim: one.aim.map(|(height, _)| height).or(one.need.heights.map(Heights::middle)),
                p: one.aim.map(|(_, p)| p),
                count: 1,
            }),
        }
    }
    stacks.sort_by_key(|stack| std::cmp::Reverse(stack.count));
    let heights = stacks
        .iter()
        .map(|stack| stack.heights)
        .reduce(|a, b| {
            let (a, b) = (a?, b?);
            let both = Heights { least: a.least.max(b.least), most: a.most.min(b.most) };
            (both.least <= both.most).then_some(both)
        })
        .flatten();
    let choice = choices[first.choice].clone();
    let holes: Vec<HoleId> = visit.iter().map(|&job| of(job).hole).collect();
    let measure = match first.need.rivet {
        Some(_) => crate::learn::heads_to_measure(holes.len()).into_iter().map(|at| holes[at]).collect(),
        None => Vec::new(),
    };
    SetUp {
        key: first.on.iter().filter(|part| !part.is_empty()).cloned().collect::<Vec<_>>().join(" · "),
        on: first.on.clone(),
        title: first.need.title.clone(),
        fastener: first.need.fastener.clone(),
        rivet: first.need.rivet,
        choice,
        head_on: first.need.head_on.clone(),
        face_up: first.on[FACE].clone(),
        stacks,
        opening: first.opening,
        heights,
        limits: first.need.limits.clone(),
        change: Change::First,
        holes,
        measure,
        seconds: 0.0,
    }
}

/// Says how each setting is found: from the set-up before with the same dies, else from a proven head.
fn changes(bench: &Bench<'_>, set_ups: &mut [SetUp]) {
    // What stands on the tool by then: dies, set-up, x.
    let mut known: Vec<(String, String, Length)> = Vec::new();
    for set_up in set_ups {
        let Some(Means::Squeezer { squeezer, .. }) = set_up.choice.means else {
            set_up.change = Change::None;
            continue;
        };
        let dies = set_up.dies_key();
        let Some(opening) = set_up.opening else { continue };
        let before = known.iter().rev().find(|(own, ..)| *own == dies);
        let from = match before {
            Some((_, title, x)) => Some((title.clone(), *x)),
            None => bench.proven.iter().rev().find(|proven| proven.dies == dies).map(|proven| {
                (proven.title.clone(), proven.opening(bench.spring(&set_up.on, set_up.choice.means)))
            }),
        };
        if let Some((of, x)) = from {
            let open = opening - x;
            set_up.change =
                Change::From { open, words: opening_words(&bench.plan.tools, squeezer, open), of };
        }
        known.push((dies, set_up.title.clone(), opening));
    }
}

/// The height that an opening leaves at a hole, and how far the gap changes for a change of that height.
///
/// Nothing where the joint has no heights that work.
#[must_use]
pub fn aim_at(bench: &Bench<'_>, hole: HoleId, on: &[String], opening: Length) -> Option<(Length, f64)> {
    let yoke = bench.plan.tools.yokes.iter().position(|yoke| Some(&yoke.name) == on.get(YOKE))?;
    let need = need(bench.plan, bench.joints, hole);
    let group = group(bench, &need, bench.spring_of(on, yoke))?;
    let height = group.height_at(opening)?;
    Some((height, group.x_per_height(height)))
}

/// A change of the opening in words, with what is done to the tool.
#[must_use]
pub fn opening_words(tools: &Tools, squeezer: usize, open: Length) -> String {
    adjust(tools, squeezer).nearest(&[], open).to_string()
}

fn bag(set_ups: &[SetUp]) -> Vec<BagLine> {
    let spoilage = figures().constant("spoilage").value;
    let mut bag: Vec<BagLine> = Vec::new();
    for set_up in set_ups {
        match bag.iter_mut().find(|line| line.fastener == set_up.fastener) {
            Some(line) => line.need += set_up.holes.len(),
            None => {
                bag.push(BagLine { fastener: set_up.fastener.clone(), need: set_up.holes.len(), spare: 0 });
            }
        }
    }
    for line in &mut bag {
        line.spare = (line.need as f64 * spoilage).ceil() as usize;
    }
    bag
}

/// The side a hole's manufactured head is on, for whoever draws the run.
#[must_use]
pub fn head_side(joints: &Joints, hole: HoleId) -> Side {
    joints.at(hole).map_or(Side::Near, |joint| joint.head.side)
}
