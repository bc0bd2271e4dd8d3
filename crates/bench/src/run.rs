//! Set-ups of a run and the order of holes in each.

use faying_joint::head::Heights;
use faying_joint::{Joint, Joints};
use faying_plan::{HoleId, Plan, Side, StepId};
use faying_sequence::{Openness, Sequence};
use faying_standards::limits::ShopHeadLimits;
use faying_standards::{Dash, HeadStyle, Length, RivetType, figures};

use crate::tools::{Choice, Tool, tool_for};

/// How a setting is found.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Nothing with these dies is proven yet: prove one head on scrap.
    First,
    /// So much more open than a setting that was proven, and still to be proven on scrap.
    From {
        /// ΔS = ΔG + Δh, positive is more open.
        open: Length,
        /// The set-up it is counted from.
        of: String,
    },
    /// Nothing is set on the tool.
    None,
}

/// A head that was proven on scrap with some dies.
#[derive(Clone, Debug, PartialEq)]
pub struct Proven {
    /// Tool and dies.
    pub dies: String,
    /// What it was, in words.
    pub title: String,
    /// Its seat-to-seat length.
    pub seat_to_seat: Length,
    /// Height of the head.
    pub height: Length,
}

/// Holes that are set without touching the tool.
#[derive(Clone, Debug)]
pub struct SetUp {
    /// Steady name within the step: the fastener, the seat-to-seat length, the side.
    pub key: String,
    /// The fastener in short: `1/8 universal -5`.
    pub title: String,
    /// The whole part number, as far as it is known.
    pub fastener: String,
    /// The rivet, where it is a solid one.
    pub rivet: Option<(RivetType, Option<Dash>)>,
    /// The tool and why.
    pub choice: Choice,
    /// Where the manufactured head goes, and which side faces up.
    pub head_on: String,
    /// The joint, for its seats and limits; a number of [`Joints`].
    pub joint: Option<u32>,
    /// G.
    pub seat_to_seat: Option<Length>,
    /// Heights that work.
    pub heights: Option<Heights>,
    /// What the limits in force ask.
    pub limits: Option<(String, ShopHeadLimits)>,
    /// How its setting is found.
    pub change: Change,
    /// Its holes, in order.
    pub holes: Vec<HoleId>,
}

impl SetUp {
    /// Tool and dies, by which a setting carries over.
    #[must_use]
    pub fn dies(&self) -> String {
        format!("{}, {}", self.choice.tool.name(), self.choice.dies)
    }
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
}

/// The run of a step: what of it is not set yet.
///
/// # Units
/// - `is_set`: whether a hole has its fastener already
/// - `proven`: heads proven on scrap so far, oldest first
#[must_use]
pub fn run(
    plan: &Plan,
    joints: &Joints,
    sequence: &Sequence,
    step: StepId,
    is_set: impl Fn(HoleId) -> bool,
    proven: &[Proven],
) -> Run {
    let work = sequence.work(step);
    let holes: Vec<HoleId> = work.fill.iter().copied().filter(|&hole| !is_set(hole)).collect();
    let set_ups = run_of_holes(plan, joints, &holes, proven);
    let bag = bag(&set_ups);
    Run { step, set_ups, open: work.open.clone(), bag }
}

/// Set-ups for any holes.
#[must_use]
pub fn run_of_holes(plan: &Plan, joints: &Joints, holes: &[HoleId], proven: &[Proven]) -> Vec<SetUp> {
    let mut set_ups: Vec<SetUp> = Vec::new();
    // Neighbours nearly always share their set-up, so the last one found is tried first.
    let mut last = 0;
    for &hole in holes {
        let row = plan[hole].row;
        let number = joints.number(hole);
        let same = |set_up: &SetUp| {
            set_up.joint == number && set_up.holes.first().is_some_and(|&first| plan[first].row == row)
        };
        if !set_ups.get(last).is_some_and(same) {
            let fresh = set_up(plan, joints, hole);
            last = match set_ups.iter().position(|known| known.key == fresh.key) {
                Some(known) => known,
                None => {
                    set_ups.push(fresh);
                    set_ups.len() - 1
                }
            };
        }
        set_ups[last].holes.push(hole);
    }
    // Tool first, then dies, then from thin to thick: each change is the smallest there is.
    set_ups.sort_by(|a, b| {
        (a.choice.tool, &a.choice.dies, a.rivet.map(|(kind, _)| kind.diameter), a.seat_to_seat, &a.key).cmp(
            &(b.choice.tool, &b.choice.dies, b.rivet.map(|(kind, _)| kind.diameter), b.seat_to_seat, &b.key),
        )
    });
    changes(&mut set_ups, proven);
    for set_up in &mut set_ups {
        set_up.holes = alternate(plan, &set_up.holes);
    }
    set_ups
}

fn set_up(plan: &Plan, joints: &Joints, hole: HoleId) -> SetUp {
    let row = &plan[plan[hole].row];
    let Some(rivet) = row.rivet else {
        let fastener =
            row.called.as_ref().map_or_else(|| "no fastener named".to_owned(), ToString::to_string);
        let choice = Choice {
            tool: Tool::OfFastener,
            dies: String::new(),
            why: "not a solid rivet: carried as written".to_owned(),
            cited: faying_standards::Cited::theory("call-out"),
        };
        return SetUp {
            key: fastener.clone(),
            title: fastener.clone(),
            fastener,
            rivet: None,
            choice,
            head_on: String::new(),
            joint: None,
            seat_to_seat: None,
            heights: None,
            limits: None,
            change: Change::None,
            holes: Vec::new(),
        };
    };
    let joint = joints.at(hole);
    let dash = joint.and_then(Joint::dash).or(match row.called {
        Some(faying_standards::Fastener::Solid { dash, .. }) => dash,
        _ => None,
    });
    let fastener = dash.map_or_else(|| rivet.to_string(), |dash| rivet.with(dash).to_string());
    let style = match rivet.head {
        HeadStyle::Universal => "universal",
        HeadStyle::Flush => "flush",
    };
    let title =
        format!("{} {style}{}", rivet.diameter, dash.map_or_else(String::new, |dash| format!(" {dash}")));
    let heights = dash.and_then(|dash| joint?.call_out.as_ref()?.candidate(dash)?.heights);
    // What a head must be follows from the rivet; a row without a stack has limits all the same.
    let in_force = match joint {
        Some(joint) => joint.in_force.clone(),
        None => faying_joint::in_force(rivet, &plan.limits),
    };
    let limits = in_force.ok().map(|it| (it.key, it.limits));
    let seat_to_seat = joint.and_then(|joint| joint.seats.as_ref().ok()).map(|seats| seats.seat_to_seat);
    let width = joint
        .and_then(|joint| joint.call_out.as_ref()?.candidate(dash?)?.head_at_mid)
        .unwrap_or_else(|| Length::from_inches(rivet.diameter.length().inches() * 1.5));
    let (side, head_on) = head_on(plan, hole, joint);
    let key = format!("{fastener} {} {side}", seat_to_seat.map_or_else(|| "?".to_owned(), Length::decimal));
    SetUp {
        key,
        title,
        fastener,
        rivet: Some((rivet, dash)),
        choice: tool_for(rivet, width),
        head_on,
        joint: joints.number(hole),
        seat_to_seat,
        heights,
        limits,
        change: Change::First,
        holes: Vec::new(),
    }
}

/// The side of the manufactured head: its short name, and a sentence for the card.
fn head_on(plan: &Plan, hole: HoleId, joint: Option<&Joint>) -> (String, String) {
    let Some(joint) = joint else { return (String::new(), String::new()) };
    match plan[plan[hole].row].plane {
        Some(plane) => {
            let name = plan[plane].side_name(joint.head.side);
            let shop = plan[plane].side_name(joint.shop_side());
            (format!("{} {name}", plan[plane].name), format!("{name} side, shop heads {shop}"))
        }
        None => {
            let piece = match joint.head.side {
                Side::Near => joint.layers.first(),
                Side::Far => joint.layers.last(),
            };
            let name = piece.map_or_else(String::new, |&piece| plan.piece_name(piece));
            (name.clone(), format!("on {name}"))
        }
    }
}

/// Says how each setting is found: from a proven head with the same dies, else from the set-up before.
fn changes(set_ups: &mut [SetUp], proven: &[Proven]) {
    let mut known: Vec<Proven> = proven.to_vec();
    for set_up in set_ups {
        let (Some(_), Some(seat_to_seat)) = (set_up.rivet, set_up.seat_to_seat) else { continue };
        if set_up.choice.tool != Tool::Squeezer {
            set_up.change = Change::None;
            continue;
        }
        let dies = set_up.dies();
        let aim = set_up.heights.map(Heights::middle);
        if let Some(from) = known.iter().rev().find(|from| from.dies == dies)
            && let Some(aim) = aim
        {
            let open = (seat_to_seat - from.seat_to_seat) + (aim - from.height);
            set_up.change = Change::From { open, of: from.title.clone() };
        }
        if let Some(height) = aim {
            known.push(Proven { dies, title: set_up.title.clone(), seat_to_seat, height });
        }
    }
}

/// Every other hole of each row, there and back, then the ones between.
fn alternate(plan: &Plan, holes: &[HoleId]) -> Vec<HoleId> {
    let mut rows: Vec<Vec<HoleId>> = Vec::new();
    for &hole in holes {
        match rows.iter_mut().find(|row| plan[row[0]].row == plan[hole].row) {
            Some(row) => row.push(hole),
            None => rows.push(vec![hole]),
        }
    }
    let mut order = Vec::with_capacity(holes.len());
    for pass in 0..2 {
        for (index, row) in rows.iter().enumerate() {
            let own = row.iter().copied().skip(pass).step_by(2);
            // There along one row and back along the next: no walk between.
            if index % 2 == 0 {
                order.extend(own);
            } else {
                order.extend(own.collect::<Vec<_>>().into_iter().rev());
            }
        }
    }
    order
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
