//! What was done by one revision of the plan and does not agree with the next.
//!
//! A rivet that is set does not change because a line of the plan does. Where
//! the plan now has another place, another stack, another fastener or another
//! head side for a hole that is filled, or another finish on a piece that is
//! primed, somebody has to decide; until then it is owed.

use std::collections::{BTreeMap, HashMap};

use faying_joint::Stacks;
use faying_plan::{HeadSide, HoleId, PieceId, Plan, Work};
use faying_record::{Disagreement, Event, HoleStatus, State};
use faying_standards::Length;

/// A plan with the layers at its holes.
#[derive(Clone, Copy, Debug)]
pub struct Revision<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Its stacks.
    pub stacks: &'a Stacks,
}

/// What was done and does not agree with the new plan.
///
/// `state` is the record folded over the new plan; `renamed` says what holes of the old one are
/// called now, nothing where they are gone.
#[must_use]
pub fn disagreements(
    old: Revision<'_>,
    new: Revision<'_>,
    state: &State,
    renamed: &[(String, String)],
) -> Vec<Disagreement> {
    let new_names: HashMap<&str, &str> =
        renamed.iter().map(|(from, to)| (from.as_str(), to.as_str())).collect();
    let mut found: BTreeMap<(String, String), Vec<HoleId>> = BTreeMap::new();
    for hole in (0..old.plan.holes.len()).map(HoleId::from_index) {
        let name = old.plan.hole_name(hole);
        let now = new_names.get(name.as_str()).copied().unwrap_or(&name);
        // What is gone is told below, from the record.
        let Some(there) = new.plan.hole_named(now) else { continue };
        if state.status(there) != HoleStatus::Set {
            continue;
        }
        let row = new.plan.row_name(new.plan[there].row);
        for what in differences(old, hole, new, there, state) {
            found.entry((row.clone(), what)).or_default().push(there);
        }
    }
    let mut list: Vec<Disagreement> = found
        .into_iter()
        .map(|((row, what), holes)| Disagreement {
            key: format!("{row}:{}", key(&what)),
            at: format!("{row}, {}", new.plan.hole_range(&holes)),
            holes: holes.iter().map(|&hole| new.plan.hole_name(hole)).collect(),
            what,
        })
        .collect();
    list.extend(gone(old.plan, state));
    list.extend(pieces(old.plan, new.plan, state));
    list
}

/// Fasteners in holes that the new plan has no more: a rivet is still there when its line is not.
fn gone(old: &Plan, state: &State) -> Vec<Disagreement> {
    let mut is_set: BTreeMap<HoleId, bool> = BTreeMap::new();
    for (name, id) in state.orphans.iter().filter(|(_, id)| state.counts(*id)) {
        let act = state.act(*id);
        // What was gone before is told already.
        let Some(hole) = old.hole_named(state.name_adopted(name, act.revision)) else { continue };
        match act.event {
            Event::HolesSet(_) | Event::SetBefore(_) => is_set.insert(hole, true),
            Event::HoleOpened(_) => is_set.insert(hole, false),
            _ => None,
        };
    }
    let mut rows: BTreeMap<String, Vec<HoleId>> = BTreeMap::new();
    for (hole, _) in is_set.into_iter().filter(|(_, set)| *set) {
        rows.entry(old.row_name(old[hole].row)).or_default().push(hole);
    }
    rows.into_iter()
        .map(|(row, holes)| Disagreement {
            key: format!("{row}:gone"),
            at: format!("{row}, {}", old.hole_range(&holes)),
            holes: Vec::new(),
            what: "gone: set, and not in the plan any more".to_owned(),
        })
        .collect()
}

/// A short word for what is otherwise: a decision names it.
fn key(what: &str) -> &str {
    what.split(':').next().unwrap_or(what)
}

fn differences(old: Revision<'_>, was: HoleId, new: Revision<'_>, is: HoleId, state: &State) -> Vec<String> {
    let mut found = Vec::new();
    let (before, after) = (&old.plan[old.plan[was].row], &new.plan[new.plan[is].row]);
    let done = |text: String, now: String| (text != now).then(|| format!("set by {text}, now {now}"));
    let stack = |it: Revision<'_>, hole: HoleId| {
        let layers: Vec<String> =
            it.stacks.at(hole).iter().map(|&piece| layer(it.plan, hole, piece)).collect();
        if layers.is_empty() { "no known stack".to_owned() } else { layers.join(" + ") }
    };
    if let Some(moved) = moved(old.plan, was, new.plan, is) {
        found.push(format!("place: set, and the plan has it {} in from there now", moved.decimal()));
    }
    if let Some(text) = done(stack(old, was), stack(new, is)) {
        found.push(format!("stack: {text}"));
    }
    let called = |row: &faying_plan::Row| {
        row.called.as_ref().map_or_else(
            || row.rivet.map_or_else(|| "nothing".to_owned(), |it| it.to_string()),
            ToString::to_string,
        )
    };
    if let Some(text) = done(called(before), called(after)) {
        let torqued = state.torqued(is).is_some();
        found.push(format!("fastener: {text}{}", if torqued { "; it is torqued" } else { "" }));
    }
    let head = |plan: &Plan, row: &faying_plan::Row| match (&row.head, row.plane) {
        (Some(HeadSide::Side(side)), Some(plane)) => plan[plane].side_name(*side).to_owned(),
        (Some(HeadSide::Side(side)), None) => format!("{side:?}").to_lowercase(),
        (Some(HeadSide::Words(words)), _) => words.clone(),
        (None, _) => "not said".to_owned(),
    };
    if let Some(text) = done(head(old.plan, before), head(new.plan, after)) {
        found.push(format!("head: {text}"));
    }
    found
}

/// How far the plan moved a hole within its plane; none where it stays as near as two drawings of it agree.
fn moved(old: &Plan, was: HoleId, new: &Plan, is: HoleId) -> Option<Length> {
    /// A plan is drawn to a hundredth; what is drilled moves by none of it.
    const SAME_PLACE_IN: f64 = 0.010;
    let plane = |plan: &Plan, hole: HoleId| plan[plan[hole].row].plane.map(|it| plan.plane_name(it));
    if plane(old, was) != plane(new, is) {
        return None;
    }
    let ([x, y], [now_x, now_y]) = (old[was].at?.inches(), new[is].at?.inches());
    let distance = (now_x - x).hypot(now_y - y);
    (distance > SAME_PLACE_IN).then(|| Length::from_inches((distance * 1e3).round() / 1e3))
}

/// A layer as it lies at a hole: its name, what it is made of, how it is prepared.
fn layer(plan: &Plan, hole: HoleId, piece: PieceId) -> String {
    let part = &plan[plan[piece].part];
    let prepared = match plan.preparation(plan[hole].row, plan[piece].part) {
        faying_plan::Preparation::Plain => String::new(),
        other => format!(" {other}"),
    };
    let thick = part.thickness.map_or_else(String::new, |it| format!(" {}", it.decimal()));
    format!("{}{thick}{prepared}", plan.piece_name(piece))
}

/// Pieces that are primed and whose finish or material is another now.
fn pieces(old: &Plan, new: &Plan, state: &State) -> Vec<Disagreement> {
    let named: HashMap<String, PieceId> =
        (0..new.pieces.len()).map(PieceId::from_index).map(|it| (new.piece_full_name(it), it)).collect();
    let mut found = Vec::new();
    for piece in (0..old.pieces.len()).map(PieceId::from_index) {
        let name = old.piece_full_name(piece);
        let Some(&there) = named.get(&name) else { continue };
        let primed = state.piece_history(there).iter().any(|&id| {
            state.counts(id)
                && matches!(&state.act(id).event, Event::WorkDone(done) if done.work == Work::Prime.word())
        });
        if !primed {
            continue;
        }
        let made = |plan: &Plan, piece: PieceId| {
            let part = &plan[plan[piece].part];
            let thick = part.thickness.map_or_else(String::new, |it| format!(" {}", it.decimal()));
            (part.finish.clone(), format!("{}{thick}", part.material))
        };
        let ((finish, material), (finish_now, material_now)) = (made(old, piece), made(new, there));
        let or_none = |text: &str| if text.is_empty() { "none".to_owned() } else { text.to_owned() };
        for (sort, was, is) in [("finish", finish, finish_now), ("material", material, material_now)] {
            if was != is {
                found.push(Disagreement {
                    key: format!("{name}:{sort}"),
                    at: name.clone(),
                    holes: Vec::new(),
                    what: format!("{sort}: primed as {}, now {}", or_none(&was), or_none(&is)),
                });
            }
        }
    }
    found
}
