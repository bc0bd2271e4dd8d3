//! Every hole of a plan: its joint, and what somebody should look at.
//!
//! Holes with the same stack, preparation, rivet, side and call-out share one
//! [`Joint`]; a build of twenty thousand holes has some hundred. Findings are
//! told once for each row and reason, with the holes they hold for.

use std::collections::HashMap;

use faying_plan::{BuildLimits, Depth, HeadSide, HoleId, PieceId, Plan, RowId, Side};
use faying_standards::{
    Cited, Dash, Diameter, Fastener, Finding, HeadStyle, Known, Length, RivetType, SpacingItem, figures,
};

use crate::callout::{CallOut, CalledVerdict, InForce, LimitsError, Stock, call_out, limits_in_force};
use crate::constants::{Constants, Value};
use crate::seats::{HeadOn, Seats, SeatsError, Sheet, seats};
use crate::side::{HeadChoice, head_side};
use crate::spacing::{Near, rules, too_near};
use crate::stack::Stacks;

impl Constants {
    /// The standards' constants with the builder's own values laid over them.
    #[must_use]
    pub fn with(limits: &BuildLimits) -> Self {
        let mut constants = Self::standard();
        let own = |key: &str| Cited::new("limits.toml", key, Known::Own);
        for &(diameter, value) in &limits.dimpled_holes {
            constants.dimpled_holes.retain(|(known, _)| *known != diameter);
            constants.dimpled_holes.push((diameter, Value::new(value, own("dimpled_hole"))));
        }
        constants.lips = limits.lips.iter().map(|&(d, value)| (d, Value::new(value, own("lip")))).collect();
        let lay = |value: Option<Length>, place: &mut Value<Length>, key: &str| {
            if let Some(value) = value {
                *place = Value::new(value, own(key));
            }
        };
        lay(limits.caliper, &mut constants.caliper_u, "caliper");
        lay(limits.set_height, &mut constants.set_height_u, "set_height");
        lay(limits.rivet_length, &mut constants.rivet_length, "rivet_length");
        lay(limits.film, &mut constants.film, "film");
        if let Some(share) = limits.missing_metal {
            constants.missing_metal = Value::new(share, own("missing_metal"));
        }
        constants
    }
}

/// What all holes of one kind have in common.
#[derive(Clone, Debug)]
pub struct Joint {
    /// The rivet.
    pub rivet: RivetType,
    /// What the plan calls, where it gives a length.
    pub called: Option<Dash>,
    /// Layers, near to far.
    pub layers: Vec<PieceId>,
    /// The sheets of those layers, near to far.
    pub sheets: Vec<Sheet>,
    /// Side of the manufactured head.
    pub head: HeadChoice,
    /// The seats, or why they cannot be reckoned.
    pub seats: Result<Seats, SeatsError>,
    /// The limits in force, or why there are none.
    pub in_force: Result<InForce, LimitsError>,
    /// The call-out, where there are seats and limits.
    pub call_out: Option<CallOut>,
}

impl Joint {
    /// The length that goes in: what the plan calls if it gives one, else the best.
    #[must_use]
    pub fn dash(&self) -> Option<Dash> {
        self.called.or_else(|| self.call_out.as_ref().and_then(|call_out| call_out.best))
    }

    /// The side of the shop head.
    #[must_use]
    pub fn shop_side(&self) -> Side {
        self.head.side.other()
    }
}

/// The joint of every hole.
#[derive(Clone, Debug, Default)]
pub struct Joints {
    /// Every different joint.
    pub joints: Vec<Joint>,
    of_hole: Vec<Option<u32>>,
    /// The layers at every hole.
    pub stacks: Stacks,
    /// What they are reckoned with.
    pub constants: Constants,
}

#[derive(Clone, PartialEq, Eq, Hash)]
struct Key {
    stack: u32,
    row_kind: u32,
}

impl Joints {
    /// Works out every joint of a plan, with the defaults and the builder's own figures over them.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        Self::with(plan, Constants::with(&plan.limits))
    }

    /// The same with other constants, such as those learned at the bench.
    #[must_use]
    pub fn with(plan: &Plan, constants: Constants) -> Self {
        let stacks = Stacks::of(plan);
        let mut joints = Vec::new();
        let mut of_hole = vec![None; plan.holes.len()];
        let mut known: HashMap<Key, Option<u32>> = HashMap::new();
        let row_kinds = row_kinds(plan);
        for (index, hole) in plan.holes.iter().enumerate() {
            let id = HoleId::from_index(index);
            let key = Key { stack: stacks.number(id), row_kind: row_kinds[hole.row.index()] };
            of_hole[index] = *known.entry(key).or_insert_with(|| {
                let joint = joint(plan, hole.row, stacks.at(id), &constants)?;
                joints.push(joint);
                u32::try_from(joints.len() - 1).ok()
            });
        }
        Self { joints, of_hole, stacks, constants }
    }

    /// The joint of a hole; none where the plan gives no stack or no solid rivet.
    #[must_use]
    pub fn at(&self, hole: HoleId) -> Option<&Joint> {
        self.of_hole[hole.index()].map(|id| &self.joints[id as usize])
    }

    /// A number that is the same for holes with the same joint.
    #[must_use]
    pub fn number(&self, hole: HoleId) -> Option<u32> {
        self.of_hole[hole.index()]
    }
}

/// A number for each row that is the same for rows that make the same joint of the same stack.
fn row_kinds(plan: &Plan) -> Vec<u32> {
    let mut known = HashMap::new();
    plan.rows
        .iter()
        .map(|row| {
            let head = row.head.clone().map(|head| match head {
                HeadSide::Side(side) => (Some(side), String::new()),
                HeadSide::Words(words) => (None, words),
            });
            // The trade names of the sides stand in the reasons, so the plane belongs to the key.
            let key = (
                row.rivet,
                called_dash(row.called.as_ref()),
                row.prep.clone(),
                row.hole_size,
                head,
                row.plane,
            );
            let next = u32::try_from(known.len()).expect("fewer kinds than rows");
            *known.entry(key).or_insert(next)
        })
        .collect()
}

fn called_dash(called: Option<&Fastener>) -> Option<Dash> {
    match called {
        Some(Fastener::Solid { dash, .. }) => *dash,
        _ => None,
    }
}

fn joint(plan: &Plan, row_id: RowId, layers: &[PieceId], constants: &Constants) -> Option<Joint> {
    let row = &plan[row_id];
    let rivet = row.rivet?;
    if layers.len() < 2 {
        return None;
    }
    let sheets: Option<Vec<Sheet>> = layers
        .iter()
        .map(|&piece| {
            let part = plan[piece].part;
            Some(Sheet { thickness: plan[part].thickness?, preparation: plan.preparation(row_id, part) })
        })
        .collect();
    let sheets = sheets?;
    let names =
        row.plane.map_or(["near", "far"], |plane| [plan[plane].near.as_str(), plan[plane].far.as_str()]);
    let head = head_side(rivet.head, &sheets, row.head.as_ref(), names);
    let head_on = if head.side == Side::Near { HeadOn::First } else { HeadOn::Last };
    let called = called_dash(row.called.as_ref());
    let seats = seats(
        rivet,
        &sheets,
        head_on,
        row.hole_size.filter(|_| rivet.head == HeadStyle::Universal),
        constants,
    );
    let in_force = in_force(rivet, &plan.limits);
    let call_out = match (&seats, &in_force) {
        (Ok(seats), Ok(in_force)) => {
            let stock = Stock { half: plan.limits.half_sizes, in_run: &[] };
            Some(call_out(seats, in_force, called, stock, constants))
        }
        _ => None,
    };
    Some(Joint { rivet, called, layers: layers.to_vec(), sheets, head, seats, in_force, call_out })
}

/// The build's choice where it speaks of the rivet, else what the standards use; the key says which.
///
/// # Errors
/// [`LimitsError`] where no set at all speaks of it.
pub fn in_force(rivet: RivetType, limits: &BuildLimits) -> Result<InForce, LimitsError> {
    match limits_in_force(rivet, limits.shop_head.as_deref(), &limits.own_sets) {
        Err(LimitsError::Silent { .. }) => limits_in_force(rivet, None, &limits.own_sets),
        other => other,
    }
}

/// Everything about the joints of a plan that somebody should look at.
#[must_use]
pub fn check(plan: &Plan, joints: &Joints) -> Vec<Finding> {
    let mut findings = Vec::new();
    for row in (0..plan.rows.len()).map(RowId::from_index) {
        check_row(plan, joints, row, &mut findings);
    }
    unmeasured_lips(plan, joints, &mut findings);
    differing_stacks(plan, joints, &mut findings);
    spacing(plan, joints, &mut findings);
    findings
}

/// Holes of a row for which the same thing is found, told once.
struct Gather<'p> {
    plan: &'p Plan,
    row: RowId,
    found: Vec<(Finding, Vec<HoleId>)>,
}

impl Gather<'_> {
    fn add(&mut self, hole: HoleId, finding: Finding) {
        match self
            .found
            .iter_mut()
            .find(|(known, _)| known.kind == finding.kind && known.what == finding.what)
        {
            Some((_, holes)) => holes.push(hole),
            None => self.found.push((finding, vec![hole])),
        }
    }

    fn tell(self, findings: &mut Vec<Finding>) {
        for (finding, holes) in self.found {
            let holes = self.plan.hole_range(&holes);
            let what = format!("row {}, {holes}: {}", self.plan[self.row].name, finding.what);
            findings.push(Finding { what, ..finding }.at(self.plan.row_place(self.row)));
        }
    }
}

fn check_row(plan: &Plan, joints: &Joints, row_id: RowId, findings: &mut Vec<Finding>) {
    let row = &plan[row_id];
    if row.depth == Depth::Counted {
        return;
    }
    let mut gather = Gather { plan, row: row_id, found: Vec::new() };
    // A row has few different joints; each is gone into once.
    let mut seen: HashMap<(u32, Option<u32>), Vec<Finding>> = HashMap::new();
    for hole in row.hole_ids() {
        let key = (joints.stacks.number(hole), joints.number(hole));
        let told = seen.entry(key).or_insert_with(|| {
            let layers = joints.stacks.at(hole);
            let mut told: Vec<Finding> = layer_finding(plan, row_id, layers).into_iter().collect();
            if let Some(joint) = joints.at(hole) {
                told.extend(joint_findings(plan, row_id, joint));
            }
            told
        });
        for finding in told.iter() {
            gather.add(hole, finding.clone());
        }
    }
    gather.tell(findings);
}

/// The kind of note that a lip was reckoned and not measured.
const LIP: &str = "lip-not-measured";

/// One finding for each diameter: most rows of an aeroplane are dimpled, and one measurement mends them all.
fn unmeasured_lips(plan: &Plan, joints: &Joints, findings: &mut Vec<Finding>) {
    let mut told: Vec<(Diameter, RowId, usize)> = Vec::new();
    for row in (0..plan.rows.len()).map(RowId::from_index) {
        let seats = plan[row].hole_ids().find_map(|hole| joints.at(hole)?.seats.as_ref().ok());
        let Some(seats) = seats.filter(|seats| seats.notes.iter().any(|note| note.kind == LIP)) else {
            continue;
        };
        let diameter = seats.kind.diameter;
        match told.iter_mut().find(|(known, ..)| *known == diameter) {
            Some((.., count)) => *count += 1,
            None => told.push((diameter, row, 1)),
        }
    }
    for (diameter, row, count) in told {
        let lip = plan[row]
            .hole_ids()
            .find_map(|hole| joints.at(hole)?.seats.as_ref().ok()?.lip)
            .map_or_else(String::new, Length::decimal);
        let rows = if count == 1 { "one row".to_owned() } else { format!("{count} rows") };
        findings.push(
            Finding::look(
                LIP,
                format!("{rows} of {diameter} in rivets in dimples, from row {} on, rest on a reckoned lip of {lip} in", plan[row].name),
                format!("measure the lip of your own dies once and write lip.\"{diameter}\" = in limits.toml"),
            )
            .at(plan.row_place(row)),
        );
    }
}

fn layer_finding(plan: &Plan, row: RowId, layers: &[PieceId]) -> Option<Finding> {
    let drawn = plan[row].plane.is_some();
    match layers {
        [] if drawn => Some(Finding::wrong(
            "outside",
            "outside every outline of its plane",
            "move the row or the outline, or add the missing part to the layers",
        )),
        [only] => {
            let name = plan.piece_name(*only);
            Some(Finding::wrong(
                "single-layer",
                format!("through one sheet only, {name}"),
                "move the row or an outline, or add the part that lies with it",
            ))
        }
        _ => None,
    }
}

fn joint_findings(plan: &Plan, row: RowId, joint: &Joint) -> Vec<Finding> {
    let mut found = Vec::new();
    if joint.head.contradicted {
        found.push(Finding::look(
            "head-side",
            "the plan puts the manufactured head where the flush hole does not open",
            "turn `head` round, or the preparation of the sheets",
        ));
    }
    match &joint.seats {
        Ok(seats) => found.extend(seats.notes.iter().filter(|note| note.kind != LIP).cloned()),
        Err(error) => found.push(split(Finding::look, "seats", &error.to_string())),
    }
    if let Err(error) = &joint.in_force {
        found.push(split(Finding::look, "limits", &error.to_string()));
    }
    if let (Some(call_out), Some(called)) = (&joint.call_out, joint.called) {
        found.extend(called_finding(joint, call_out, called));
    }
    if let (Some(room), Ok(in_force)) = (plan[row].clearance, &joint.in_force)
        && let Some(tallest) = in_force.limits.max_height
        && tallest > room
    {
        found.push(Finding::look(
            "clearance",
            format!(
                "a shop head may be {} in high, and there is {} in of room",
                tallest.decimal(),
                room.decimal()
            ),
            "put the manufactured head on this side, or ask the kit's designer",
        ));
    }
    found
}

/// A message of the form "what: what next" as a finding.
fn split(make: fn(&'static str, String, String) -> Finding, kind: &'static str, text: &str) -> Finding {
    let (what, next) = text.split_once(": ").unwrap_or((text, "compare with your plans"));
    make(kind, what.to_owned(), next.to_owned())
}

fn called_finding(joint: &Joint, call_out: &CallOut, called: Dash) -> Option<Finding> {
    let verdict = call_out.called?;
    let tail =
        call_out.candidate(called).map_or(String::new(), |it| format!(", a tail of {:.2} d", it.tail_d));
    let rivet = joint.rivet.with(called);
    let grip = joint.seats.as_ref().map_or(Length::ZERO, |seats| seats.seat_to_seat).decimal();
    let best = match call_out.best {
        Some(best) if best != called => format!("{best} is in the band; "),
        _ => String::new(),
    };
    let who =
        "another length inside the tail rule is your decision to record, anything else the kit designer's";
    let (kind, what, next) = match verdict {
        CalledVerdict::Stands => return None,
        CalledVerdict::Coupon => (
            "call-out-coupon",
            format!("{rivet} on {grip} in seat to seat is at the limit{tail}"),
            format!("prove it on a coupon of the same stack before the row; {best}{who}"),
        ),
        CalledVerdict::Short => (
            "call-out-short",
            format!("{rivet} is too short for {grip} in seat to seat{tail}"),
            format!("{best}ask the kit's designer; {who}"),
        ),
        CalledVerdict::Fold => (
            "call-out-long",
            format!("{rivet} is too long for {grip} in seat to seat{tail}: it folds"),
            format!("{best}ask the kit's designer; {who}"),
        ),
    };
    Some(Finding::look(kind, what, next))
}

fn differing_stacks(plan: &Plan, joints: &Joints, findings: &mut Vec<Finding>) {
    for (row, hole, outlines) in &joints.stacks.differ {
        let names = |pieces: &[PieceId]| {
            let names: Vec<String> = pieces.iter().map(|&piece| plan.piece_name(piece)).collect();
            if names.is_empty() { "nothing".to_owned() } else { names.join(", ") }
        };
        let listed = plan[*row].through.as_deref().unwrap_or(&[]);
        findings.push(
            Finding::look(
                "stack-differs",
                format!(
                    "row {} lists {}, and at hole {} the outlines say {}",
                    plan[*row].name,
                    names(listed),
                    plan[*hole].number,
                    names(outlines)
                ),
                "the list is used; mend it or the outlines so that both agree",
            )
            .at(plan.row_place(*row)),
        );
    }
}

fn spacing(plan: &Plan, joints: &Joints, findings: &mut Vec<Finding>) {
    type Group = (RowId, &'static str, String);
    let mut groups: Vec<(Group, Vec<HoleId>, Length, Length, RivetType)> = Vec::new();
    for near in too_near(plan, &joints.stacks) {
        let row = plan[near.hole].row;
        let Some(rivet) = plan[row].rivet else { continue };
        let (kind, what) = match near.near {
            Near::Edge(piece) => ("edge-distance", format!("from the edge of {}", plan.piece_name(piece))),
            Near::Bend => ("edge-distance", "from a bend line".to_owned()),
            Near::Hole(other) if near.distance < Length::from_inches(0.010) => {
                ("same-place", format!("at the place of {}", plan.hole_name(other)))
            }
            Near::Hole(other) => ("pitch", format!("from row {}", plan[plan[other].row].name)),
        };
        match groups.iter_mut().find(|(key, ..)| *key == (row, kind, what.clone())) {
            Some((_, holes, least_found, ..)) => {
                holes.push(near.hole);
                *least_found = (*least_found).min(near.distance);
            }
            None => groups.push(((row, kind, what), vec![near.hole], near.distance, near.least, rivet)),
        }
    }
    for ((row, kind, what), holes, distance, least, rivet) in groups {
        let name = &plan[row].name;
        let holes = plan.hole_range(&holes);
        let finding = if kind == "same-place" {
            Finding::wrong(
                kind,
                format!("row {name}, {holes}: {what}"),
                "take one of the two out, or write same = for a hole seen in two planes",
            )
        } else {
            let item = if kind == "pitch" { SpacingItem::Pitch } else { SpacingItem::EdgeDistance };
            let used = rules(item, rivet);
            let first = used
                .first()
                .map_or_else(String::new, |rule| format!("{} ({})", rule.rule, source_title(&rule.cited)));
            let others: Vec<String> = used
                .iter()
                .skip(1)
                .filter(|rule| rule.least != least)
                .map(|rule| format!("{} in by {}", rule.least.decimal(), source_title(&rule.cited)))
                .collect();
            let others =
                if others.is_empty() { String::new() } else { format!("; beside it: {}", others.join(", ")) };
            Finding::look(
                kind,
                format!(
                    "row {name}, {holes}: {} in {what}, the least {} in",
                    distance.decimal(),
                    least.decimal()
                ),
                format!("{first}{others}; compare with your plans, and ask the kit's designer"),
            )
        };
        findings.push(finding.at(plan.row_place(row)));
    }
}

/// The title of a citation's document, with how it is known.
fn source_title(cited: &Cited) -> String {
    let title = figures().source(&cited.source).map_or(cited.source.as_str(), |source| source.title.as_str());
    match cited.known {
        Known::Seen => title.to_owned(),
        known => format!("{title}, {known}"),
    }
}
