//! Acts around a gate: what is put off, held, looked at, decided and let pass.

use std::collections::HashSet;

use faying_plan::{HoleId, NeedSort, Plan, Role};
use faying_record::{
    Act, Decided, Event, FaultFound, GatePassed, HoldLifted, HoldPlaced, HoleStatus, LetPass, Looked, Owed,
    OwedDone,
};

use super::{Checked, ReasonGiven};
use crate::world::World;

/// What `hands` are: left and right told apart before anything is permanent.
pub(super) const HANDS: &str = "hands";

pub(super) fn owe(world: &World, what: &str, at: &str, holes: &[String], why: &str, gate: &str) -> Checked {
    let what = filled(what, "what is put off: torque the pivot bolt")?;
    let (at, gate) = (at.trim(), gate.trim());
    known_place(world.plan(), at)?;
    for name in holes {
        super::find(world, name)?;
    }
    if !gate.is_empty() {
        known_gate(world.plan(), gate)?;
    }
    let says = if gate.is_empty() {
        "No gate is named: it is owed now, and stands against every gate that hides its place.".to_owned()
    } else {
        String::new()
    };
    let holes = holes.to_vec();
    let owed = Owed { what, at: at.to_owned(), holes, why: why.trim().to_owned(), gate: gate.to_owned() };
    Ok((owed.into(), says))
}

pub(super) fn owed_done(world: &World, owed: &str, how: &str) -> Checked {
    let state = &world.state;
    let id =
        state.act_with_id(owed).ok_or("there is nothing of this kind that is owed; load the page again")?;
    let act = state.act(id);
    if !matches!(act.event, Event::Owed(_)) {
        return Err("that act put nothing off; load the page again".to_owned());
    }
    if !state.counts(id) {
        return Err("that it is owed was taken back".to_owned());
    }
    if state.answer(owed, "").is_some() {
        return Err("it is done already".to_owned());
    }
    // What was recorded at the same place since then shows it better than words.
    let evidence: Vec<String> = world.evidence(owed).into_iter().map(|later| later.id.clone()).collect();
    let how = how.trim().to_owned();
    if evidence.is_empty() && how.is_empty() {
        return Err("nothing shows that it is done: measure, torque or photograph it, or say how".to_owned());
    }
    let left = world.owed_left(owed);
    if let (Some(first), true) = (left.first(), how.is_empty()) {
        return Err(match left.len() {
            1 => format!("nothing was recorded at {first} since; look at it too, or say how it was done"),
            more => format!(
                "nothing was recorded at {more} of them since, such as {first}; look at them too, or say how it was done"
            ),
        });
    }
    Ok((OwedDone { owed: owed.to_owned(), how, evidence }.into(), String::new()))
}

/// Whether an act shows that something at this place was done.
fn shows(event: &Event, at: &str, owed: &str) -> bool {
    // A whole row is shown by any of its holes.
    let here = |name: &String| {
        name == at
            || name == owed
            || (!at.is_empty() && name.strip_prefix(at).is_some_and(|rest| rest.starts_with('/')))
    };
    match event {
        Event::HeadMeasured(it) => here(&it.hole),
        Event::Examined(it) => it.holes.iter().any(here),
        Event::Torqued(it) => it.holes.iter().any(here),
        Event::Photographed(it) => it.about.iter().any(here),
        Event::HolesSet(it) => it.holes.iter().any(here),
        Event::WorkDone(it) => here(&it.step) || it.parts.iter().any(here) || it.holes.iter().any(here),
        Event::StepDone(it) => here(&it.step),
        _ => false,
    }
}

pub(super) fn hold(world: &World, names: &[String], why: &str, until: &str) -> Checked {
    let plan = world.plan();
    let why = filled(why, "why the holes stay open: a rib comes later")?;
    let until = until.trim();
    if !until.is_empty() && plan.step_named(until).is_none() && plan.gate_named(until).is_none() {
        return Err(format!("the plan has no step or gate {until}; choose one of the list"));
    }
    let mut holes: Vec<HoleId> = Vec::new();
    for name in names {
        match plan.row_named(name) {
            Some(row) => holes.extend(plan[row].hole_ids()),
            None => holes.push(super::find(world, name)?),
        }
    }
    holes.retain(|&hole| !world.is_set(hole) && world.state.held(hole).is_none());
    if holes.is_empty() {
        return Err("these holes are set or held already".to_owned());
    }
    let holes = holes.into_iter().map(|hole| plan.hole_name(hole)).collect();
    Ok((HoldPlaced { holes, why, until: until.to_owned() }.into(), String::new()))
}

pub(super) fn lift(world: &World, hold: &str, why: &str) -> Checked {
    let state = &world.state;
    let id = state.act_with_id(hold).ok_or("there is no such hold; load the page again")?;
    if !matches!(state.act(id).event, Event::HoldPlaced(_)) || !state.counts(id) {
        return Err("there is no such hold; load the page again".to_owned());
    }
    if state.answer(hold, "").is_some() {
        return Err("the hold is lifted already".to_owned());
    }
    Ok((HoldLifted { hold: hold.to_owned(), why: why.trim().to_owned() }.into(), String::new()))
}

pub(super) fn pass(world: &World, gate: &str, reasons: &[ReasonGiven], note: &str) -> Checked {
    let plan = world.plan();
    let id = known_gate(plan, gate)?;
    let progress = world.progress();
    let standing = progress.gate(id);
    let keys_of = |it: &faying_sequence::Blocker| it.keys(plan, &world.state, id);
    if standing.is_passed() {
        return Err(format!("gate {gate} is passed already"));
    }
    let mut let_pass = Vec::with_capacity(reasons.len());
    let mut allowed: HashSet<&str> = HashSet::new();
    for reason in reasons {
        let keys: HashSet<&str> = reason.keys.iter().map(String::as_str).collect();
        let Some(blocker) =
            standing.blockers.iter().find(|it| keys_of(it).iter().all(|key| keys.contains(key.as_str())))
        else {
            return Err("what stands against the gate has changed since the page was loaded; load it again"
                .to_owned());
        };
        let what = world.block_words(id, &blocker.what);
        let who = filled(&reason.who, "the name of whoever lets it pass")?;
        let why = filled(&reason.why, "why it may pass")?;
        let role = role(&reason.role)?;
        if blocker.structure && !role.decides_on_structure() {
            return Err(format!(
                "{what}: this is structure; the {}'s word does not let it pass. Name the designer, the inspector or the authority who does, or mend it",
                role.word()
            ));
        }
        let_pass.push(LetPass { keys: keys_of(blocker), what, who, role: role.word().to_owned(), why });
        allowed.extend(keys);
    }
    let left: Vec<String> = standing
        .blockers
        .iter()
        .filter(|it| !keys_of(it).iter().all(|key| allowed.contains(key.as_str())))
        .map(|it| world.block_words(id, &it.what))
        .collect();
    match left.as_slice() {
        [] => {}
        [one] => return Err(format!("one thing stands against gate {gate}: {one}")),
        [first, ..] => {
            return Err(format!("{} things stand against gate {gate}; the first: {first}", left.len()));
        }
    }
    Ok((GatePassed { gate: gate.to_owned(), let_pass, note: note.trim().to_owned() }.into(), String::new()))
}

pub(super) fn looked(
    world: &World,
    need: &str,
    at: &str,
    who: &str,
    role_word: &str,
    found: &str,
) -> Checked {
    let plan = world.plan();
    let found = found.trim().to_owned();
    if need == HANDS {
        if plan.assembly_named(at).is_none() {
            return Err(format!("the plan has no assembly {at}"));
        }
    } else {
        let gate = known_gate(plan, at)?;
        let asked = plan[gate].needs.iter().find(|it| it.to_string() == need);
        let asked = asked.ok_or_else(|| format!("gate {at} does not ask for {need}; load the page again"))?;
        if asked.sort == NeedSort::Inspection {
            filled(who, "the name of whoever inspected it")?;
            if !role(role_word)?.decides_on_structure() {
                return Err(
                    "an inspection is another's look: name the inspector, the designer or the authority"
                        .to_owned(),
                );
            }
        }
    }
    let role = if role_word.is_empty() { Role::Builder } else { role(role_word)? };
    let event = Looked {
        need: need.to_owned(),
        at: at.to_owned(),
        who: who.trim().to_owned(),
        role: role.word().to_owned(),
        found,
    };
    Ok((event.into(), String::new()))
}

pub(super) fn fault(world: &World, holes: &[String], at: &str, what: &str) -> Checked {
    let what = filled(what, "what is wrong")?;
    for name in holes {
        super::find(world, name)?;
    }
    known_place(world.plan(), at.trim())?;
    if holes.is_empty() && at.trim().is_empty() {
        return Err("the fault has no place: name the hole, the part or the step".to_owned());
    }
    let says = "It stands against every gate that hides it until somebody decides.".to_owned();
    Ok((FaultFound { holes: holes.to_vec(), at: at.trim().to_owned(), what }.into(), says))
}

pub(super) fn decide(
    world: &World,
    about: &str,
    key: &str,
    what: &str,
    who: &str,
    role_word: &str,
) -> Checked {
    let state = &world.state;
    let id =
        state.act_with_id(about).ok_or("there is nothing of this kind to decide on; load the page again")?;
    let open = match &state.act(id).event {
        _ if key.is_empty() && state.answer(about, "").is_none() => world.is_open_fault(about),
        Event::FaultFound(_) | Event::HeadMeasured(_) | Event::Examined(_) => key.is_empty(),
        Event::RevisionAdopted(adopted) => adopted.disagreements.iter().any(|it| it.key == key),
        _ => false,
    };
    if !open || !state.counts(id) {
        return Err("there is nothing to decide on there; load the page again".to_owned());
    }
    if state.answer(about, key).is_some() {
        return Err("it is decided already".to_owned());
    }
    let what = filled(what, "what was decided")?;
    let who = filled(who, "who decided it")?;
    let role = role(role_word)?;
    if !role.decides_on_structure() {
        return Err(format!(
            "this is structure; the {} does not decide on it alone. Name the designer, the inspector or the authority",
            role.word()
        ));
    }
    let about = if key.is_empty() { about.to_owned() } else { format!("{about} {key}") };
    Ok((Decided { about, what, who, role: role.word().to_owned() }.into(), String::new()))
}

fn known_gate(plan: &Plan, name: &str) -> Result<faying_plan::GateId, String> {
    plan.gate_named(name).ok_or_else(|| format!("the plan has no gate {name}; choose one of the list"))
}

/// A place by its lasting name; nothing means the whole build.
fn known_place(plan: &Plan, at: &str) -> Result<(), String> {
    let known = at.is_empty()
        || plan.hole_named(at).is_some()
        || plan.row_named(at).is_some()
        || plan.step_named(at).is_some()
        || plan.assembly_named(at).is_some()
        || (0..plan.pieces.len()).any(|it| plan.piece_full_name(faying_plan::PieceId::from_index(it)) == at);
    if known {
        return Ok(());
    }
    Err(format!(
        "the plan has no hole, row, part or step {at}; write it as flap-left/web/A/7, flap-left/web/A, flap-left/rib/1 or flap-left/ribs"
    ))
}

/// A text that must say something.
pub(super) fn filled(text: &str, what: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() { Err(format!("write {what}")) } else { Ok(text.to_owned()) }
}

pub(super) fn role(word: &str) -> Result<Role, String> {
    Role::read(word).ok_or_else(|| {
        let words: Vec<&str> = Role::ALL.iter().map(|role| role.word()).collect();
        format!("\"{word}\" is nobody's role; choose one of {}", words.join(", "))
    })
}

impl World {
    /// What the record has that shows that something put off is done, recorded at its place since then.
    #[must_use]
    pub fn evidence(&self, owed: &str) -> Vec<&Act> {
        let Some(id) = self.state.act_with_id(owed) else { return Vec::new() };
        let Event::Owed(body) = &self.state.act(id).event else { return Vec::new() };
        let since = self.state.acts().iter().skip(id.0 as usize + 1);
        since
            .filter(|later| later.undone_by.is_none())
            .filter(|later| {
                (!body.at.is_empty() || body.holes.is_empty()) && shows(&later.event, &body.at, owed)
                    || body.holes.iter().any(|hole| shows(&later.event, hole, owed))
            })
            .collect()
    }

    /// Those holes of something owed at which nothing was recorded since, by the names they have now.
    #[must_use]
    pub fn owed_left(&self, owed: &str) -> Vec<String> {
        let Some(id) = self.state.act_with_id(owed) else { return Vec::new() };
        let act = self.state.act(id);
        let Event::Owed(body) = &act.event else { return Vec::new() };
        let now = body.holes.iter().map(|name| self.state.name_now(name, act.revision));
        // What was drilled out is not looked at any more.
        let dealt = |name: &&str| {
            let Some(hole) = self.plan().hole_named(name) else { return true };
            let later = self.state.history(hole).iter().filter(|&&it| it > id && self.state.counts(it));
            later.map(|&it| &self.state.act(it).event).any(|event| {
                matches!(event, Event::HeadMeasured(_) | Event::Examined(_) | Event::HoleOpened(_))
            })
        };
        now.filter(|name| !dealt(name)).map(str::to_owned).collect()
    }

    /// Whether left and right must be told apart before the first permanent rivet of an assembly, and are not.
    #[must_use]
    pub fn hands_open(&self, assembly: faying_plan::AssemblyId) -> bool {
        let plan = self.plan();
        let id = &plan[assembly].id;
        faying_sequence::has_hands(plan, assembly)
            && !self
                .state
                .of_kind("looked")
                .any(|(_, act)| matches!(&act.event, Event::Looked(it) if it.need == HANDS && it.at == *id))
            && !plan[assembly]
                .rows
                .iter()
                .flat_map(|&row| plan[row].hole_ids())
                .any(|hole| self.state.status(hole) != HoleStatus::Empty)
    }
}
