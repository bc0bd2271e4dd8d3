//! Runs of this build: what they are reckoned with, what is frozen, what is left.

use std::collections::BTreeMap;
use std::sync::Arc;

use faying_bench::settings::Spring;
use faying_bench::{Asked, Bench, Proven, Run, SetUp};
use faying_joint::Constants;
use faying_plan::tools::Times;
use faying_plan::{AssemblyId, HoleId, StepId};
use faying_record::{ActId, CouponProven, Event, RunState, SetUpFrozen};

use faying_standards::Length;

use crate::run_memo::Kept;
use crate::world::{PlanSide, World};

/// Work of a search that a page waits for: about a quarter of a second on the machine it was measured
/// on. Counted in work and not in time, so that a page and the start after it see the same run.
const PATIENCE: u64 = 50_000_000;

/// What runs of this build are reckoned with.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchSide {
    /// What heads are reckoned with.
    pub constants: Constants,
    /// What things take.
    pub times: Times,
    /// Yokes whose spring was learned.
    pub springs: BTreeMap<String, Spring>,
    /// Heads proven on scrap so far, oldest first.
    pub proven: Vec<Proven>,
}

/// The run of the other hand.
#[derive(Clone, Debug)]
pub struct OtherHand {
    /// Its id.
    pub run: String,
    /// The other assembly.
    pub title: String,
    /// What was learned there, in a sentence.
    pub learned: String,
    /// This hand's holes in the order in which that hand's were set.
    pub order: Vec<HoleId>,
}

impl BenchSide {
    /// What a run of this world is reckoned with.
    pub(crate) fn bench<'a>(&'a self, world: &'a World, without: &'a [String]) -> Bench<'a> {
        self.on_plan(&world.side, without)
    }

    /// The same where a search holds the plan by itself.
    pub(crate) fn on_plan<'a>(&'a self, side: &'a PlanSide, without: &'a [String]) -> Bench<'a> {
        Bench {
            plan: &side.plan,
            joints: &side.joints,
            sequence: &side.sequence,
            reaches: side.reaches(),
            constants: &self.constants,
            times: &self.times,
            springs: &self.springs,
            proven: &self.proven,
            without,
        }
    }
}

impl World {
    /// What runs are reckoned with now: the standards', the builder's own, and what was learned and taken over.
    #[must_use]
    pub fn bench_side(&self) -> BenchSide {
        let plan = self.plan();
        let mut side = BenchSide {
            constants: self.side.joints.constants.clone(),
            times: plan.tools.times.clone(),
            springs: BTreeMap::new(),
            proven: Vec::new(),
        };
        crate::learned::lay_over(&self.state, &mut side);
        side.proven = self.proven(&side);
        side
    }

    /// The run of a step as it stands now; with every tool at hand.
    #[must_use]
    pub fn run_of(&self, step: StepId) -> Arc<Run> {
        self.run_without(step, &[])
    }

    /// The run of a step without some of the tools.
    #[must_use]
    pub fn run_without(&self, step: StepId, without: &[String]) -> Arc<Run> {
        self.kept_run(step, without).run
    }

    /// The same, with how long it was looked for.
    pub(crate) fn kept_run(&self, step: StepId, without: &[String]) -> Kept {
        self.runs.get(self.question(step, without), |question| {
            question.search(&mut |progress| progress.work > PATIENCE)
        })
    }

    /// The run of a step, searched for until `stop` says so.
    #[must_use]
    pub fn search_run(
        &self,
        step: StepId,
        without: &[String],
        stop: &mut dyn FnMut(&faying_bench::order::Progress) -> bool,
    ) -> Run {
        self.question(step, without).search(stop)
    }

    /// All set-ups of a run from now on: what is done, then the rest in its new order.
    ///
    /// The second of the pair says why that cannot be, if it cannot.
    pub(crate) fn rest_of(
        &self,
        run: &RunState,
        without: &[String],
        put_off: &[String],
    ) -> (Vec<SetUpFrozen>, Option<String>) {
        let plan = self.plan();
        let Some(step) = plan.step_named(&run.step) else {
            return (Vec::new(), Some(format!("the plan no longer has step {}", run.step)));
        };
        let hole = |name: &String| plan.hole_named(name);
        let is_set = |name: &String| hole(name).is_some_and(|hole| self.is_set(hole));
        let left: Vec<HoleId> = run
            .set_ups
            .iter()
            .flat_map(|set_up| &set_up.holes)
            .filter(|name| !is_set(name))
            .filter_map(hole)
            .collect();
        let put_off: Vec<HoleId> = put_off.iter().filter_map(hole).collect();
        // What is on the tool: the set-up of the last rivet.
        let standing = self.last_of(run).and_then(|(key, hole)| {
            let set_up = run.set_ups.iter().find(|set_up| set_up.key == key)?;
            (!set_up.on.is_empty()).then_some((set_up.on.as_slice(), hole))
        });
        let side = self.bench_side();
        let bench = side.bench(self, without);
        // In the plan's order, so that the comparison means the same as before the start.
        let mut holes = left;
        holes.sort_unstable();
        let asked = Asked { step, holes: &holes, put_off: &put_off, standing, follow: &[] };
        let fresh = faying_bench::run(&bench, &asked, &mut |progress| progress.work > PATIENCE);
        if let Some(stuck) = fresh.set_ups.iter().find(|it| it.rivet.is_some() && it.choice.means.is_none()) {
            let names: Vec<String> = stuck.holes.iter().take(3).map(|&hole| plan.hole_name(hole)).collect();
            let more = if stuck.holes.len() > 3 { " and others" } else { "" };
            return (
                Vec::new(),
                Some(format!(
                    "without it no tool sets {}{more}; finish them first, or put them off",
                    names.join(", ")
                )),
            );
        }
        let mut set_ups: Vec<SetUpFrozen> = run
            .set_ups
            .iter()
            .map(|set_up| SetUpFrozen {
                holes: set_up.holes.iter().filter(|name| is_set(name)).cloned().collect(),
                measure: set_up.measure.iter().filter(|name| is_set(name)).cloned().collect(),
                ..set_up.clone()
            })
            .filter(|set_up| !set_up.holes.is_empty())
            .collect();
        for (number, set_up) in fresh.set_ups.iter().enumerate() {
            let mut frozen = self.freeze(set_up);
            // What stands on the tool goes on under its own name; anything else is set up anew.
            match set_ups.iter_mut().find(|known| known.key == frozen.key) {
                Some(known) if number == 0 => {
                    known.holes.append(&mut frozen.holes);
                    let some = frozen.measure.len().min(1);
                    known.measure.extend(frozen.measure.drain(..some));
                }
                Some(_) => {
                    frozen.key = unused(&set_ups, &frozen.key);
                    set_ups.push(frozen);
                }
                None => set_ups.push(frozen),
            }
        }
        (set_ups, None)
    }

    /// The run of the other hand that a step of this one follows, if one was made.
    #[must_use]
    pub fn other_hand(&self, step: StepId) -> Option<OtherHand> {
        let plan = self.plan();
        let assembly = plan[step].assembly;
        let other = plan[assembly].mirror_of.or_else(|| {
            (0..plan.assemblies.len())
                .map(AssemblyId::from_index)
                .find(|&other| plan[other].mirror_of == Some(assembly))
        })?;
        let name = format!("{}/{}", plan[other].id, plan[step].name);
        let run = self.state.runs().iter().rev().find(|run| run.step == name)?;
        let set = |name: &&String| plan.hole_named(name).is_some_and(|hole| self.is_set(hole));
        if !run.set_ups.iter().flat_map(|it| &it.holes).any(|name| set(&name)) {
            return None;
        }
        // Its holes under the names they have on this hand; their order is what is followed.
        let order = run
            .set_ups
            .iter()
            .flat_map(|set_up| &set_up.holes)
            .filter_map(|name| {
                let rest = name.strip_prefix(plan[other].id.as_str())?;
                plan.hole_named(&format!("{}{rest}", plan[assembly].id))
            })
            .collect();
        let opened: Vec<String> = self.state.acts()[run.started.0 as usize..]
            .iter()
            .filter_map(|act| match &act.event {
                Event::HoleOpened(opened)
                    if act.undone_by.is_none() && opened.hole.starts_with(&plan[other].id) =>
                {
                    let why =
                        if opened.why.is_empty() { String::new() } else { format!(" ({})", opened.why) };
                    Some(format!("{}{why}", crate::bench_report::short(&opened.hole)))
                }
                _ => None,
            })
            .collect();
        let learned = match opened.len() {
            0 => "Nothing was drilled out there.".to_owned(),
            1..4 => format!("Drilled out there: {}.", opened.join(", ")),
            many => format!("Drilled out there: {many}, among them {}.", opened[..3].join(", ")),
        };
        let title = plan[other].title.clone();
        Some(OtherHand { run: run.run.clone(), title, learned, order })
    }

    /// What a measured head says of its setting: nothing, or that it drifts and what to do.
    pub(crate) fn drift_words(&self, hole: HoleId, height: Length) -> Option<String> {
        let set = self.state.set_by(hole)?;
        let Event::HolesSet(set) = &self.state.act(set).event else { return None };
        let run = self.state.run(&set.run)?;
        let frozen = run.set_ups.iter().find(|it| it.key == set.set_up)?;
        let opening = frozen.opening?;
        let side = self.bench_side();
        let bench = side.bench(self, &run.without);
        let aim = |hole: HoleId| faying_bench::aim_at(&bench, hole, &frozen.on, opening);
        // Since the setting was proven last; before that it was another one.
        let proven = run.coupons.iter().filter(|(key, act)| *key == frozen.key && self.state.counts(*act));
        let since = proven.map(|(_, act)| *act).max().unwrap_or(run.started);
        let mut heads: Vec<(ActId, Length)> = frozen
            .holes
            .iter()
            .filter_map(|name| self.plan().hole_named(name))
            .filter(|&other| other != hole)
            .filter_map(|other| {
                let measured = self.state.measured(other).filter(|it| it.act > since)?;
                Some((measured.act, measured.head.height? - aim(other)?.0))
            })
            .collect();
        heads.sort_unstable_by_key(|(act, _)| *act);
        let (aimed, x_per_height) = aim(hole)?;
        let mut deviations: Vec<Length> = heads.into_iter().map(|(_, deviation)| deviation).collect();
        deviations.push(height - aimed);
        let squeezer =
            self.plan().tools.squeezers.iter().position(|it| Some(&it.name) == frozen.on.first())?;
        let drift = faying_bench::learn::drift(
            &deviations,
            side.constants.set_height_u.value,
            side.constants.caliper_u.value,
            &faying_bench::adjust(&self.plan().tools, squeezer),
            &[],
            x_per_height,
        );
        drift.adjustment.is_some().then(|| drift.sentence())
    }

    /// The set-up and the hole of the last rivet that was set in a run.
    fn last_of(&self, run: &RunState) -> Option<(String, HoleId)> {
        self.state.acts()[run.started.0 as usize..].iter().rev().find_map(|act| match &act.event {
            Event::HolesSet(set) if set.run == run.run && act.undone_by.is_none() => {
                Some((set.set_up.clone(), self.plan().hole_named(set.holes.last()?)?))
            }
            _ => None,
        })
    }

    /// How a frozen setting is found: counted from the head that was proven last with the same dies.
    ///
    /// The opening is as it was frozen; where it is counted from was measured since.
    ///
    /// The second of the pair is what the tool is opened by for that, to the nearest that it does;
    /// nothing where no head with these dies is proven yet.
    pub(crate) fn setting_now(&self, side: &BenchSide, frozen: &SetUpFrozen) -> (String, Option<Length>) {
        let now = || {
            let dies = faying_bench::dies_key(&frozen.on);
            let proven = side.proven.iter().rev().find(|proven| proven.dies == dies)?;
            let tools = &self.plan().tools;
            let [squeezer, yoke] = [frozen.on.first()?, frozen.on.get(1)?];
            let squeezer = tools.squeezers.iter().position(|it| it.name == *squeezer)?;
            let yoke = tools.yokes.iter().position(|it| it.name == *yoke)?;
            let spring = side.bench(self, &[]).spring_of(&frozen.on, yoke);
            let open = frozen.opening? - proven.opening(spring);
            let done = faying_bench::adjust(tools, squeezer).nearest(&[], open);
            Some((crate::report::from_words(open, &done.to_string(), &proven.title), Some(done.by)))
        };
        now().unwrap_or_else(|| (frozen.setting.clone(), None))
    }

    /// A set-up as the record keeps it.
    pub(crate) fn freeze(&self, set_up: &SetUp) -> SetUpFrozen {
        let plan = self.plan();
        SetUpFrozen {
            key: set_up.key.clone(),
            on: set_up.on.clone(),
            title: set_up.title.clone(),
            fastener: set_up.fastener.clone(),
            dies: set_up.choice.words(),
            head_on: set_up.head_on.clone(),
            face_up: set_up.face_up.clone(),
            setting: crate::report::setting_words(&set_up.change).0,
            seat_to_seat: set_up.stacks.first().and_then(|stack| stack.seat_to_seat),
            opening: set_up.opening,
            least_height: set_up.heights.map(|it| it.least),
            most_height: set_up.heights.map(|it| it.most),
            two_people: set_up.choice.people > 1,
            seconds: set_up.seconds.round(),
            holes: set_up.holes.iter().map(|&hole| plan.hole_name(hole)).collect(),
            measure: set_up.measure.iter().map(|&hole| plan.hole_name(hole)).collect(),
        }
    }

    /// Heads proven on scrap so far, oldest first.
    fn proven(&self, side: &BenchSide) -> Vec<Proven> {
        let bench = side.bench(self, &[]);
        self.coupons()
            .filter_map(|(frozen, coupon)| {
                let hole = frozen.holes.first().and_then(|name| self.plan().hole_named(name))?;
                let dies = faying_bench::dies_key(&frozen.on);
                let proven = Proven::of(&bench, hole, dies, frozen.title.clone(), coupon.height?)?;
                Some(Proven { opened: coupon.opened, ..proven })
            })
            .collect()
    }

    /// Coupons that count and were inside, oldest first, with the set-up they are of.
    fn coupons(&self) -> impl Iterator<Item = (&SetUpFrozen, &CouponProven)> {
        let mut coupons: Vec<(ActId, &SetUpFrozen, &CouponProven)> = self
            .state
            .runs()
            .iter()
            .flat_map(|run| run.coupons.iter().map(move |(key, act)| (run, key, *act)))
            .filter(|&(_, _, act)| self.state.counts(act))
            .filter_map(|(run, key, act)| {
                let frozen = run.set_ups.iter().find(|frozen| frozen.key == *key)?;
                match &self.state.act(act).event {
                    Event::CouponProven(coupon) if coupon.verdict == "inside" => Some((act, frozen, coupon)),
                    _ => None,
                }
            })
            .collect();
        coupons.sort_by_key(|(act, ..)| *act);
        coupons.into_iter().map(|(_, frozen, coupon)| (frozen, coupon))
    }
}

fn unused(set_ups: &[SetUpFrozen], key: &str) -> String {
    (2_u32..)
        .map(|number| format!("{key} ({number})"))
        .find(|name| !set_ups.iter().any(|it| it.key == *name))
        .expect("there are more numbers than set-ups")
}
