//! Which tools can set a hole, and why not.
//!
//! A hole is seen where it is drawn, with what is there at its step: the
//! outlines of the layers, the flanges along bends and what stands on either
//! side. A squeezer needs its force, dies that sit clear, and a yoke that comes
//! in over a free edge: within its throat, with a nose that clears what stands
//! beside the hole, and a gap that passes what stands on the way. A cut-out is
//! no way in, for no squeezer is put together through it. Gun and bar need
//! their set and their bar clear; back-riveting needs a flush head, a side that
//! lies flat on the plate, and its set clear on the other.
//!
//! The judgement is on the safe side where a shape is not known: what stands
//! beside a hole counts whatever its height, dies and jaws are round, and a
//! wall has no thickness beyond its bend line. Figures of the tools come from
//! `tools.toml`, the room left round them (`reach-margin`) and the length of
//! an arm (`reach-arm`) from `standards/constants.csv`. Theory chapter, "Reach".
//!
//! Holes with the same answer share it, so a build of twenty thousand holes is
//! answered at once. Nothing here says that a part is fit: a tool that reaches
//! is a tool to try on scrap.

mod decide;
mod ground;

use std::collections::HashMap;
use std::rc::Rc;

use faying_joint::Joints;
use faying_plan::{HeadSide, HoleId, Plan, PlaneId, PlaneSide, Side, StepId};
use faying_sequence::{Sequence, StepOrder};
use faying_standards::Cited;

use decide::{Drawn, Facts, Standing};
use ground::Ground;

/// What sets a rivet. Numbers are positions in the lists of [`faying_plan::Tools`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Means {
    /// A squeezer with a yoke.
    Squeezer {
        /// Which squeezer.
        squeezer: usize,
        /// Which yoke.
        yoke: usize,
    },
    /// Gun on the manufactured head, bar on the tail.
    GunAndBar {
        /// Which gun.
        gun: usize,
        /// Which bar.
        bar: usize,
    },
    /// Manufactured head down on a plate, gun on the tail.
    BackRiveting {
        /// Which gun.
        gun: usize,
        /// Which plate.
        plate: usize,
    },
}

/// A way to set a hole.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// The tool.
    pub means: Means,
    /// The die pair or set, a position in [`faying_plan::Tools::dies`].
    pub dies: usize,
    /// Force needed over force available, for a squeezer.
    pub force_share: Option<f64>,
    /// Whether the force is near enough to the rating to be warned of.
    pub warn: bool,
    /// How many people it takes: 1 or 2.
    pub people: u8,
    /// Why it can, in a sentence with its figures.
    pub why: String,
    /// What else is to be known before: the plate under every rivet, full air pressure.
    pub notes: Vec<String>,
    /// Where the figures come from.
    pub cited: Vec<Cited>,
}

/// A tool that cannot set a hole.
#[derive(Clone, Debug, PartialEq)]
pub struct Refused {
    /// The tool as the builder calls it: `squeezer with the deep yoke`.
    pub tool: String,
    /// Why not, in a sentence with its figures.
    pub reason: String,
}

/// How much of a hole's reach is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Basis {
    /// From the drawn plane and the parts present.
    Drawn,
    /// Not drawn: decided by force and dies only.
    ForceOnly,
}

/// Which tools set a hole, and why the others do not.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// How much of it is known.
    pub basis: Basis,
    /// Ways that can, the best first; empty where nothing among the tools can.
    pub choices: Vec<Way>,
    /// Tools that cannot, with the reason.
    pub refused: Vec<Refused>,
    /// What holds for every way: that nothing is drawn, that a side is not known.
    pub notes: Vec<String>,
}

impl Reach {
    /// Whether the best way there is takes a second person.
    #[must_use]
    pub fn wants_two(&self) -> bool {
        self.choices.first().is_some_and(|way| way.people > 1)
    }
}

/// The reach of every hole, at the step at which the plan fills it.
#[derive(Clone, Debug, Default)]
pub struct Reaches {
    reaches: Vec<Reach>,
    of_hole: Vec<Option<u32>>,
}

impl Reaches {
    /// Works out the reach of every hole that takes a solid rivet.
    #[must_use]
    pub fn of(plan: &Plan, joints: &Joints, sequence: &Sequence) -> Self {
        let mut seen = Seen::new(plan, joints, &sequence.order);
        let of_hole = (0..plan.holes.len())
            .map(HoleId::from_index)
            .map(|hole| seen.number(hole, sequence.due(hole)))
            .collect();
        Self { reaches: seen.reaches, of_hole }
    }

    /// The reach of a hole; none where no solid rivet goes in.
    #[must_use]
    pub fn at(&self, hole: HoleId) -> Option<&Reach> {
        self.number(hole).map(|number| &self.reaches[number as usize])
    }

    /// A number that is the same for holes with the same answer.
    #[must_use]
    pub fn number(&self, hole: HoleId) -> Option<u32> {
        self.of_hole.get(hole.index()).copied().flatten()
    }

    /// Every different answer; [`Reaches::number`] is a position here.
    #[must_use]
    pub fn all(&self) -> &[Reach] {
        &self.reaches
    }
}

/// The reach of one hole at any step; with none, when everything is there.
#[must_use]
pub fn reach_at(
    plan: &Plan,
    joints: &Joints,
    order: &StepOrder,
    hole: HoleId,
    step: Option<StepId>,
) -> Option<Reach> {
    let mut seen = Seen::new(plan, joints, order);
    seen.number(hole, step)?;
    seen.reaches.pop()
}

/// Holes of one step that want a second person.
#[derive(Clone, Debug, PartialEq)]
pub struct HelpersEvening {
    /// The step.
    pub step: StepId,
    /// Its holes that the best tool sets with two people.
    pub holes: Vec<HoleId>,
    /// What to do before going on, in a sentence.
    pub note: String,
}

/// The holes that want a second person, by step, in the order of the steps.
///
/// # Units
/// - `is_set`: whether a hole has its fastener already
#[must_use]
pub fn helpers_evenings(
    plan: &Plan,
    sequence: &Sequence,
    reaches: &Reaches,
    is_set: impl Fn(HoleId) -> bool,
) -> Vec<HelpersEvening> {
    let mut by_step: HashMap<StepId, Vec<HoleId>> = HashMap::new();
    for hole in (0..plan.holes.len()).map(HoleId::from_index) {
        if let Some(step) = sequence.due(hole)
            && reaches.at(hole).is_some_and(Reach::wants_two)
            && !is_set(hole)
        {
            by_step.entry(step).or_default().push(hole);
        }
    }
    let in_order = sequence.order.sorted().iter();
    in_order
        .filter_map(|step| {
            let holes = by_step.remove(step)?;
            let note = "the helper's first rivets are looked at from outside, head and skin, before going on";
            Some(HelpersEvening { step: *step, holes, note: note.to_owned() })
        })
        .collect()
}

/// The planes of a plan as they are at the steps that were asked for, and the answers so far.
struct Seen<'p> {
    plan: &'p Plan,
    joints: &'p Joints,
    order: &'p StepOrder,
    closings: HashMap<PlaneSide, Vec<StepId>>,
    grounds: HashMap<(PlaneId, Option<StepId>), Rc<Ground>>,
    known: HashMap<Facts, u32>,
    reaches: Vec<Reach>,
}

impl<'p> Seen<'p> {
    fn new(plan: &'p Plan, joints: &'p Joints, order: &'p StepOrder) -> Self {
        let mut closings: HashMap<PlaneSide, Vec<StepId>> = HashMap::new();
        for step in (0..plan.steps.len()).map(StepId::from_index) {
            for &side in &plan[step].closes {
                closings.entry(side).or_default().push(step);
            }
        }
        Self {
            plan,
            joints,
            order,
            closings,
            grounds: HashMap::new(),
            known: HashMap::new(),
            reaches: Vec::new(),
        }
    }

    fn number(&mut self, hole: HoleId, step: Option<StepId>) -> Option<u32> {
        let facts = self.facts(hole, step)?;
        if let Some(&number) = self.known.get(&facts) {
            return Some(number);
        }
        let number = u32::try_from(self.reaches.len()).expect("there are fewer answers than holes");
        self.reaches.push(facts.reach(self.plan));
        self.known.insert(facts, number);
        Some(number)
    }

    fn facts(&mut self, hole: HoleId, step: Option<StepId>) -> Option<Facts> {
        let row = &self.plan[self.plan[hole].row];
        let rivet = row.rivet?;
        let joint = self.joints.at(hole);
        let head = joint.map(|joint| joint.head.side).or(match row.head {
            Some(HeadSide::Side(side)) => Some(side),
            _ => None,
        });
        let standing = Standing::of(self.plan, hole, joint);
        let mut facts = Facts {
            rivet,
            standing,
            head,
            plane: row.plane,
            clearance: row.clearance,
            closed: [None; 2],
            drawn: Drawn::No,
        };
        let (Some(plane), Some(at)) = (row.plane, self.plan[hole].at) else { return Some(facts) };
        if let Some(step) = step {
            for side in [Side::Near, Side::Far] {
                let closed = self.closings.get(&(plane, side)).and_then(|steps| {
                    steps.iter().copied().find(|&closing| self.order.is_before(closing, step))
                });
                facts.closed[ground::at(side)] = closed;
            }
        }
        let ground = self.ground(plane, step);
        facts.drawn = match ground.undrawn {
            Some(piece) => Drawn::Open(self.plan[piece].part),
            None => Drawn::seen(self.plan, &ground, at.inches(), &facts),
        };
        Some(facts)
    }

    fn ground(&mut self, plane: PlaneId, step: Option<StepId>) -> Rc<Ground> {
        let (plan, order) = (self.plan, self.order);
        let ground = self.grounds.entry((plane, step)).or_insert_with(|| {
            let is_there = |piece| step.is_none_or(|step| order.is_there(piece, step));
            let stands = |index: usize| {
                let from = plan[plane].stands[index].from;
                from.is_none_or(|from| step.is_none_or(|step| order.is_by(from, step)))
            };
            Rc::new(Ground::of(plan, plane, is_there, stands))
        });
        Rc::clone(ground)
    }
}
