//! An act as a page sends it, checked against the world, as an event.
//!
//! A refusal says why; nothing is taken in part without saying so.

use std::collections::BTreeMap;

use faying_joint::in_force;
use faying_joint::judge::{Measured, OverAll, Verdict, judge};
use faying_joint::seats::ShopSeat;
use faying_plan::{HoleId, StepId};
use faying_record::{
    BagChecked, BenchTemperature, ConstantsAdopted, CouponProven, Event, HeadMeasured, HoleOpened,
    HoleStatus, HolesSet, LearnedValue, NoteMade, RunChanged, RunEnded, RunStarted, RunState, SetBefore,
    SetUpFrozen, StepDone, Undone,
};
use faying_sequence::{Openness, StepState};
use faying_standards::{Length, Unit};
use serde::{Deserialize, Serialize};

use crate::world::World;

pub(crate) mod fault;
mod gate;
mod mark;

/// An act with its own id, made where it was done.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct ActRequest {
    /// The act's id; a second sending is known by it.
    pub id: String,
    /// Who; the build's builder where nothing is said.
    #[serde(default)]
    pub person: String,
    /// When it was done, by the clock of the device; the server's where nothing is said.
    #[serde(default)]
    pub at: String,
    /// The revision of the plan that the names in it belong to; today's where nothing is said.
    #[serde(default)]
    pub revision: Option<u64>,
    /// The build that the page showed; a phone may have kept acts of another one.
    #[serde(default)]
    pub build: Option<String>,
    /// What was done.
    #[serde(flatten)]
    pub act: ActKind,
}

/// What was done.
#[derive(Clone, Debug, Deserialize, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum ActKind {
    /// A run was started.
    Start {
        /// Its id.
        run: String,
        /// Its step: `flap-left/doubler`.
        step: String,
        /// Tools that are not at hand.
        #[serde(default)]
        without: Vec<String>,
    },
    /// A run was ended.
    End {
        /// Its id.
        run: String,
        /// Why, if before its end.
        #[serde(default)]
        why: String,
    },
    /// What is left of a run is put in order anew.
    Change {
        /// The run.
        run: String,
        /// Holes to put off to its end.
        #[serde(default)]
        put_off: Vec<String>,
        /// Tools that are not at hand.
        #[serde(default)]
        without: Vec<String>,
        /// Tools that are at hand again.
        #[serde(default)]
        again: Vec<String>,
    },
    /// A bag of rivets was looked at.
    Bag {
        /// The run.
        run: String,
        /// The set-up's key.
        set_up: String,
        /// Whether the head mark is right.
        head_mark: bool,
        /// Lengths of some of them, as typed.
        #[serde(default)]
        lengths: Vec<String>,
    },
    /// How warm it is at the bench.
    Temperature {
        /// The run; empty outside of one.
        #[serde(default)]
        run: String,
        /// As typed: `20 C`, `68 F`.
        temperature: String,
    },
    /// What was learned is used from now on.
    Adopt {
        /// Names of the figures, with the values that the page showed.
        values: Vec<(String, f64)>,
    },
    /// A set-up was proven on scrap.
    Coupon {
        /// The run.
        run: String,
        /// The set-up's key.
        set_up: String,
        /// Width of the head, as typed.
        #[serde(default)]
        width: String,
        /// Height of the head, as typed.
        #[serde(default)]
        height: String,
        /// `flat` or `lip`.
        #[serde(default)]
        seat: String,
        /// What the squeezer was opened by since the last proven head with these dies, as typed.
        #[serde(default)]
        opened: String,
    },
    /// Rivets were set.
    Set {
        /// Which holes.
        holes: Vec<String>,
        /// The run.
        #[serde(default)]
        run: String,
        /// The set-up's key.
        #[serde(default)]
        set_up: String,
    },
    /// Rivets were set before the record began.
    SetBefore {
        /// Which holes.
        holes: Vec<String>,
        /// What is known about it.
        #[serde(default)]
        note: String,
    },
    /// A rivet was drilled out.
    Open {
        /// Which hole.
        hole: String,
        /// Why.
        #[serde(default)]
        why: String,
    },
    /// A shop head was measured.
    Measure {
        /// Which hole.
        hole: String,
        /// Width, as typed.
        #[serde(default)]
        width: String,
        /// Width across, as typed.
        #[serde(default)]
        width_across: String,
        /// Height, as typed.
        #[serde(default)]
        height: String,
        /// `flat` or `lip`.
        #[serde(default)]
        seat: String,
        /// With what.
        #[serde(default)]
        instrument: String,
    },
    /// A remark.
    Note {
        /// What it is about.
        #[serde(default)]
        about: String,
        /// The remark.
        text: String,
    },
    /// A step without holes was done.
    StepDone {
        /// Which step.
        step: String,
    },
    /// A step's work was done at some pieces, or at the holes of some rows.
    WorkDone {
        /// Which step.
        step: String,
        /// Pieces, by their lasting names; all that are left where nothing is named.
        #[serde(default)]
        parts: Vec<String>,
        /// Rows, by their lasting names.
        #[serde(default)]
        rows: Vec<String>,
        /// What is known about it.
        #[serde(default)]
        note: String,
    },
    /// Something is put off.
    Owe {
        /// What is to be done.
        what: String,
        /// Where: a hole, row, piece or step by its lasting name; nothing for the whole build.
        // `at` is when, beside it in the same object.
        #[serde(default, rename = "place", alias = "at")]
        at: String,
        /// The holes, where it is about several.
        #[serde(default)]
        holes: Vec<String>,
        /// Why.
        #[serde(default)]
        why: String,
        /// The gate before which it must be done.
        #[serde(default)]
        gate: String,
    },
    /// What was put off is done.
    OwedDone {
        /// The id of the act that put it off.
        owed: String,
        /// What shows it, in words.
        #[serde(default)]
        how: String,
    },
    /// Holes are to stay open.
    Hold {
        /// Which: holes, or a whole row by its lasting name.
        holes: Vec<String>,
        /// Why.
        why: String,
        /// The step or gate until which.
        #[serde(default)]
        until: String,
    },
    /// Holes need not stay open any more.
    LiftHold {
        /// The id of the act that placed the hold.
        hold: String,
        /// Why.
        #[serde(default)]
        why: String,
    },
    /// A gate is passed.
    PassGate {
        /// Which.
        gate: String,
        /// What is let pass, item by item.
        #[serde(default)]
        reasons: Vec<ReasonGiven>,
        /// A remark.
        #[serde(default)]
        note: String,
    },
    /// Somebody looked at what a gate asks for.
    Looked {
        /// What for: `inspection:spar`, `check:conduit`, `hands`.
        need: String,
        /// Of which gate, or which assembly.
        #[serde(rename = "place", alias = "at")]
        at: String,
        /// Who.
        #[serde(default)]
        who: String,
        /// What they are to the build.
        #[serde(default)]
        role: String,
        /// What they found.
        #[serde(default)]
        found: String,
    },
    /// Bolts were torqued.
    Torque {
        /// Which.
        holes: Vec<String>,
        /// As typed: `25 in-lb`, `2.8 N·m`; a bare number is in-lb.
        torque: String,
        /// The running drag, as typed.
        #[serde(default)]
        drag: String,
        /// With which wrench.
        #[serde(default)]
        wrench: String,
        /// A remark.
        #[serde(default)]
        note: String,
    },
    /// A photograph was taken; its original is kept already.
    Photograph {
        /// Its file's name.
        file: String,
        /// What it shows, by lasting names.
        #[serde(default)]
        about: Vec<String>,
        /// A remark.
        #[serde(default)]
        words: String,
    },
    /// Somebody begins to work.
    Clock {
        /// On which step; nothing for the build as a whole.
        #[serde(default)]
        step: String,
    },
    /// Hours were worked, or the clock is stopped.
    Worked {
        /// On which step.
        #[serde(default)]
        step: String,
        /// How long, as typed: `1.5`, `1:30`, `90 min`; read off the clock where nothing is said.
        #[serde(default)]
        time: String,
        /// How many people; one where nothing is said.
        #[serde(default)]
        people: String,
        /// A remark.
        #[serde(default)]
        note: String,
    },
    /// Something is wrong.
    Fault {
        /// At which holes.
        #[serde(default)]
        holes: Vec<String>,
        /// At what else.
        #[serde(default, rename = "place", alias = "at")]
        at: String,
        /// What.
        what: String,
    },
    /// Something of holes or their rivets was measured or seen, beside the size of a shop head.
    Examine {
        /// At which holes.
        holes: Vec<String>,
        /// What: the word of an [`faying_joint::examine::Aspect`].
        aspect: String,
        /// With what it was measured.
        #[serde(default)]
        instrument: String,
        /// What was seen, in words.
        #[serde(default)]
        words: String,
        /// Its fields by their names, as typed.
        #[serde(flatten)]
        typed: BTreeMap<String, String>,
    },
    /// A question about a fault went out.
    Ask {
        /// The id of the act that found the fault.
        about: String,
        /// Who was asked.
        who: String,
        /// What they are to the build.
        role: String,
        /// What was asked beside the printed question.
        #[serde(default)]
        words: String,
    },
    /// Something is decided.
    Decide {
        /// The id of the act it is about.
        about: String,
        /// Which part of it, where there are several.
        #[serde(default)]
        key: String,
        /// What.
        what: String,
        /// By whom.
        who: String,
        /// What they are to the build.
        role: String,
    },
    /// The plan's text as it is now is adopted, and nothing else.
    AdoptPlan,
    /// An earlier act is taken back.
    Undo {
        /// Its id.
        act: String,
        /// Why.
        #[serde(default)]
        why: String,
    },
}

/// Why something does not stop a gate.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct ReasonGiven {
    /// The keys of what is let pass, as the gate's list gives them.
    pub keys: Vec<String>,
    /// By whom.
    pub who: String,
    /// What they are to the build.
    pub role: String,
    /// Why.
    pub why: String,
}

/// What became of an act.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "answer", rename_all = "kebab-case")]
pub enum Answer {
    /// It is on the disk.
    Taken {
        /// What to tell whoever did it, if anything.
        #[serde(skip_serializing_if = "String::is_empty")]
        says: String,
    },
    /// It was there already.
    HadIt,
    /// It was not taken.
    Refused {
        /// Why, and what to do.
        why: String,
    },
}

/// An event to be written, and what to say about it; or why not.
pub(crate) type Checked = Result<(Event, String), String>;

impl ActKind {
    /// The same act with every hole's name as it is today, where `now` says what became of a name.
    pub(crate) fn renamed(&self, now: impl Fn(&str) -> String) -> Self {
        let mut act = self.clone();
        match &mut act {
            Self::Set { holes, .. }
            | Self::SetBefore { holes, .. }
            | Self::Hold { holes, .. }
            | Self::Torque { holes, .. }
            | Self::Fault { holes, .. }
            | Self::Examine { holes, .. }
            | Self::Photograph { about: holes, .. } => {
                for hole in holes {
                    *hole = now(hole);
                }
            }
            Self::Change { put_off, .. } => {
                for hole in put_off {
                    *hole = now(hole);
                }
            }
            Self::Open { hole, .. } | Self::Measure { hole, .. } => *hole = now(hole),
            Self::Note { about, .. } if about.contains('/') => *about = now(about),
            Self::Owe { at, holes, .. } => {
                if at.contains('/') {
                    *at = now(at);
                }
                for hole in holes {
                    *hole = now(hole);
                }
            }
            _ => {}
        }
        act
    }
}

/// The plan's text as it is now, as the next revision.
fn adopt_plan(world: &World) -> Checked {
    if world.is_adopted() {
        return Err(format!(
            "the plan has not changed since revision {}: there is nothing to adopt",
            world.state.revision
        ));
    }
    let adoption = world.adoption();
    let owed = match adoption.disagreements.len() {
        0 => String::new(),
        1 => " One thing that was done does not agree with it and is owed a decision.".to_owned(),
        count => format!(" {count} things that were done do not agree with it and are owed decisions."),
    };
    let says = format!("Revision {} is adopted.{owed}", adoption.number);
    Ok((adoption.into(), says))
}

/// Holds an act against the world.
///
/// `at` is when it was done, as the record will have it.
pub(crate) fn check(world: &World, act: &ActKind, at: &str) -> Checked {
    match act {
        ActKind::Start { run, step, without } => start(world, run, step, without),
        ActKind::End { run, why } => {
            let state = world.state.run(run).ok_or_else(|| format!("there is no run {run}"))?;
            if state.ended.is_some() {
                return Err("this run is ended already".to_owned());
            }
            Ok((RunEnded { run: run.clone(), why: why.clone() }.into(), String::new()))
        }
        ActKind::Change { run, put_off, without, again } => change(world, run, put_off, without, again),
        ActKind::Bag { run, set_up, head_mark, lengths } => bag(world, run, set_up, *head_mark, lengths),
        ActKind::Temperature { run, temperature } => {
            let celsius = read_temperature(temperature)?;
            Ok((BenchTemperature { run: run.clone(), celsius }.into(), String::new()))
        }
        ActKind::Adopt { values } => adopt(world, values),
        ActKind::AdoptPlan => adopt_plan(world),
        ActKind::Coupon { run, set_up, width, height, seat, opened } => {
            coupon(world, run, set_up, &Typed { width, width_across: "", height, seat }, opened)
        }
        ActKind::Set { holes, run, set_up } => set(world, holes, run, set_up),
        ActKind::SetBefore { holes, note } => {
            let holes = empty_holes(world, holes)?;
            Ok((SetBefore { holes, note: note.clone() }.into(), String::new()))
        }
        ActKind::Open { hole, why } => {
            let id = find(world, hole)?;
            if world.state.status(id) != HoleStatus::Set {
                return Err(format!("{hole} has no fastener in it"));
            }
            let says = "Look at the hole before the next rivet: its size, its edge, the sheets around it."
                .to_owned();
            Ok((HoleOpened { hole: hole.clone(), why: why.clone() }.into(), says))
        }
        ActKind::Measure { hole, width, width_across, height, seat, instrument } => {
            let typed = Typed { width, width_across, height, seat };
            measure(world, hole, &typed, instrument)
        }
        ActKind::Note { about, text } if text.trim().is_empty() => Err(format!(
            "the note{} is empty",
            if about.is_empty() { String::new() } else { format!(" on {about}") }
        )),
        ActKind::Note { about, text } => {
            Ok((NoteMade { about: about.clone(), text: text.trim().to_owned() }.into(), String::new()))
        }
        ActKind::StepDone { step } => {
            let id = world.plan().step_named(step).ok_or_else(|| format!("the plan has no step {step}"))?;
            let holes = world.side.sequence.work(id).fill.len();
            if holes > 0 {
                return Err(format!("step {step} is done when its {holes} holes are set"));
            }
            may_begin(world, id)?;
            if world.progress().of(id).state == StepState::Done {
                return Err(format!("step {step} is done already"));
            }
            Ok((StepDone { step: step.clone(), note: String::new() }.into(), String::new()))
        }
        ActKind::WorkDone { step, parts, rows, note } => mark::work_done(world, step, parts, rows, note),
        ActKind::Owe { what, at, holes, why, gate } => gate::owe(world, what, at, holes, why, gate),
        ActKind::OwedDone { owed, how } => gate::owed_done(world, owed, how),
        ActKind::Hold { holes, why, until } => gate::hold(world, holes, why, until),
        ActKind::LiftHold { hold, why } => gate::lift(world, hold, why),
        ActKind::PassGate { gate, reasons, note } => gate::pass(world, gate, reasons, note),
        ActKind::Looked { need, at, who, role, found } => gate::looked(world, need, at, who, role, found),
        ActKind::Torque { holes, torque, drag, wrench, note } => {
            mark::torque(world, holes, torque, drag, wrench, note)
        }
        ActKind::Photograph { file, about, words } => mark::photograph(file, about, words),
        ActKind::Clock { step } => mark::clock(world, step),
        ActKind::Worked { step, time, people, note } => mark::worked(world, step, time, people, note, at),
        ActKind::Fault { holes, at, what } => gate::fault(world, holes, at, what),
        ActKind::Examine { holes, aspect, instrument, words, typed } => {
            fault::examine(world, holes, aspect, instrument, words, typed)
        }
        ActKind::Ask { about, who, role, words } => fault::ask(world, about, who, role, words),
        ActKind::Decide { about, key, what, who, role } => gate::decide(world, about, key, what, who, role),
        ActKind::Undo { act, why } => {
            let id = world.state.act_with_id(act).ok_or("there is no such act to take back")?;
            let earlier = world.state.act(id);
            // An act that was taken back and restored counts, and may be taken back once more.
            if !world.state.counts(id) {
                return Err("this act is taken back already".to_owned());
            }
            match earlier.event {
                Event::RevisionAdopted(_) => {
                    return Err("a revision cannot be taken back; adopt the one before it again".to_owned());
                }
                // Its set-ups and coupons hang on it; ending it does what is wanted.
                Event::RunStarted(_) => return Err("a run is not taken back; end it".to_owned()),
                _ => {}
            }
            Ok((Undone { act: act.clone(), why: why.clone() }.into(), String::new()))
        }
    }
}

fn find(world: &World, name: &str) -> Result<HoleId, String> {
    if name.is_empty() {
        return Err(
            "the plan no longer has this hole: it was changed after the page was loaded; load it again"
                .to_owned(),
        );
    }
    world.plan().hole_named(name).ok_or_else(|| format!("the plan has no hole {name}; load the page again"))
}

/// Those of the holes that are still empty; refused where none is.
fn empty_holes(world: &World, names: &[String]) -> Result<Vec<String>, String> {
    let mut empty = Vec::with_capacity(names.len());
    for name in names {
        if !world.is_set(find(world, name)?) {
            empty.push(name.clone());
        }
    }
    match (names, empty.is_empty()) {
        ([], _) => Err("no hole is named".to_owned()),
        ([one], true) => Err(format!("{one} is set already")),
        (_, true) => Err(format!("these {} holes are set already", names.len())),
        (_, false) => Ok(empty),
    }
}

fn set(world: &World, names: &[String], run: &str, set_up: &str) -> Checked {
    let plan = world.plan();
    let holes = empty_holes(world, names)?;
    let state = world.state.run(run);
    if !run.is_empty() && state.is_none_or(|run| run.ended.is_some()) {
        return Err("this run is ended; start it again to go on".to_owned());
    }
    // What the plan leaves open is refused, whoever's tap it was: at the run's step, else at the hole's own.
    let step_of_run = state.and_then(|run| plan.step_named(&run.step));
    for name in &holes {
        let hole = find(world, name)?;
        let due = world.side.sequence.due(hole);
        if step_of_run.is_none()
            && let Some(due) = due
        {
            may_begin(world, due)
                .map_err(|why| format!("{name} is set at {}: {why}", plan.step_name(due)))?;
        }
        if let Some(step) = step_of_run.or(due) {
            let order = &world.side.sequence.order;
            if let Some((_, hold)) = world.state.held(hole) {
                let until =
                    if hold.until.is_empty() { String::new() } else { format!(" until {}", hold.until) };
                return Err(format!("{name} is held{until} on your word: {}; lift the hold first", hold.why));
            }
            match faying_sequence::hole_at(plan, &world.side.joints.stacks, order, hole, step) {
                Openness::Fill => {}
                Openness::SharedWith { piece, arrives } => {
                    return Err(format!(
                        "{name} stays open: {} shares it and comes at {}",
                        plan.piece_name(piece),
                        plan[arrives].name
                    ));
                }
                Openness::Held { until } => {
                    let why = plan[plan[hole].row].hold.as_ref().map_or("", |hold| &hold.why);
                    let until =
                        until.map_or_else(String::new, |until| format!(" until {}", plan[until].name));
                    return Err(format!("{name} is held{until}: {why}"));
                }
            }
        }
    }
    if let Some(run) = state {
        let of_run = |name: &String| run.set_ups.iter().any(|set_up| set_up.holes.contains(name));
        if let Some(stranger) = holes.iter().find(|name| !of_run(name)) {
            return Err(format!("{stranger} is no hole of this run"));
        }
    }
    let fastener = plan
        .hole_named(&holes[0])
        .map_or_else(String::new, |hole| faying_bench::need(plan, &world.side.joints, hole).fastener);
    let skipped = names.len() - holes.len();
    let says = if skipped == 0 { String::new() } else { format!("{skipped} of them were set already") };
    Ok((HolesSet { holes, run: run.to_owned(), set_up: set_up.to_owned(), fastener }.into(), says))
}

/// Whether a step may be begun: what comes before it is done and cured, and its gates are passed.
fn may_begin(world: &World, step: StepId) -> Result<(), String> {
    let plan = world.plan();
    let progress = world.progress();
    match progress.of(step).state {
        StepState::Done | StepState::Ready => Ok(()),
        StepState::Blocked { by } => {
            let what = match progress.of(by).left() {
                0 => "is not marked as done; mark it on the Plan page".to_owned(),
                1 => "has a hole to set; set it first".to_owned(),
                count => format!("has {count} holes to set; set them first"),
            };
            Err(format!("{} comes before, and {what}", plan.step_name(by)))
        }
        StepState::Curing { after, until } => Err(format!(
            "{} must be left alone for another {}",
            plan.step_name(after),
            crate::gates::waiting(until - crate::clock::seconds())
        )),
        StepState::AtGate { gate } => {
            let standing = progress.gate(gate);
            let what = match standing.blockers.len() {
                0 => "nothing stands against it".to_owned(),
                1 => "one thing stands against it".to_owned(),
                count => format!("{count} things stand against it"),
            };
            Err(format!("gate {} comes before, and is not passed: {what}", plan.gate_name(gate)))
        }
    }
}

fn start(world: &World, run: &str, step: &str, without: &[String]) -> Checked {
    let plan = world.plan();
    let id = plan.step_named(step).ok_or_else(|| format!("the plan has no step {step}"))?;
    if run.is_empty() || world.state.run(run).is_some() {
        return Err(format!("there is a run {run} already; load the page again"));
    }
    may_begin(world, id)?;
    if world.hands_open(plan[id].assembly) {
        let title = &plan[plan[id].assembly].title;
        return Err(format!(
            "left and right first: lay out {title} as it will be, read the marks on its parts, and say so"
        ));
    }
    let drawn = world.run_without(id, without);
    if drawn.set_ups.is_empty() {
        return Err(format!("step {step} has no hole that can be set now"));
    }
    let event = RunStarted {
        run: run.to_owned(),
        step: step.to_owned(),
        set_ups: drawn.set_ups.iter().map(|set_up| world.freeze(set_up)).collect(),
        limits: plan.limits.shop_head.clone().unwrap_or_default(),
        constants: crate::learned::in_use(world),
        seconds: drawn.takes.seconds.round(),
        bound: drawn.takes.bound.floor(),
        follows: world.other_hand(id).map_or_else(String::new, |other| other.run),
        without: without.to_vec(),
    };
    Ok((event.into(), String::new()))
}

/// A run that is going on.
fn open_run<'w>(world: &'w World, run: &str) -> Result<&'w RunState, String> {
    let state = world.state.run(run).ok_or_else(|| format!("there is no run {run}"))?;
    if state.ended.is_some() {
        return Err("this run is ended; start it again to go on".to_owned());
    }
    Ok(state)
}

fn set_up_of<'r>(run: &'r RunState, key: &str) -> Result<&'r SetUpFrozen, String> {
    run.set_ups.iter().find(|frozen| frozen.key == key).ok_or_else(|| {
        format!("the run has no set-up \"{key}\" any more: its order was changed; load the page again")
    })
}

/// Puts what is left of a run in order anew.
fn change(world: &World, run: &str, put_off: &[String], without: &[String], again: &[String]) -> Checked {
    let state = open_run(world, run)?;
    let tools = &world.plan().tools;
    for name in without.iter().chain(again) {
        if tools.title_of(name).is_none() {
            return Err(format!("tools.toml has no tool {name}; load the page again"));
        }
    }
    for name in put_off {
        find(world, name)?;
    }
    let mut missing = state.without.clone();
    missing.retain(|name| !again.contains(name));
    missing.extend(without.iter().filter(|name| !state.without.contains(name)).cloned());
    let mut late = state.put_off.clone();
    late.extend(put_off.iter().filter(|name| !state.put_off.contains(name)).cloned());
    let (set_ups, cannot) = world.rest_of(state, &missing, &late);
    if let Some(why) = cannot {
        return Err(why);
    }
    let titles = |names: &[String]| -> String {
        let titles: Vec<&str> = names.iter().filter_map(|name| tools.title_of(name)).collect();
        titles.join(", ")
    };
    let mut why = Vec::new();
    if !without.is_empty() {
        why.push(format!("not at hand: {}", titles(without)));
    }
    if !again.is_empty() {
        why.push(format!("here again: {}", titles(again)));
    }
    match put_off {
        [] => {}
        [one] => why.push(format!("put off: {one}")),
        many => why.push(format!("put off: {} holes", many.len())),
    }
    let event =
        RunChanged { run: run.to_owned(), why: why.join("; "), without: missing, put_off: late, set_ups };
    Ok((event.into(), String::new()))
}

fn bag(world: &World, run: &str, set_up: &str, head_mark: bool, lengths: &[String]) -> Checked {
    let frozen = set_up_of(open_run(world, run)?, set_up)?;
    let mut read = Vec::with_capacity(lengths.len());
    for text in lengths {
        read.extend(typed(text, "length")?.map(Length::nanometres));
    }
    let says = if head_mark { crate::bag::length_words(world, frozen, &read) } else { String::new() };
    let event = BagChecked {
        run: run.to_owned(),
        set_up: set_up.to_owned(),
        fastener: frozen.fastener.clone(),
        head_mark,
        lengths: read,
    };
    Ok((event.into(), says))
}

/// A temperature with its unit; a bare number could be either.
fn read_temperature(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let number = text.trim_end_matches(|c: char| c.is_alphabetic() || c.is_whitespace() || c == '°');
    let unit = text[number.len()..].trim_matches(|c: char| !c.is_alphabetic()).to_ascii_uppercase();
    let value: f64 = number
        .replace(',', ".")
        .parse()
        .map_err(|_| format!("\"{text}\" is no temperature; write 20 C or 68 F"))?;
    let celsius = match unit.as_str() {
        "C" => value,
        "F" => (value - 32.0) / 1.8,
        _ => return Err(format!("\"{text}\" does not say in what; write 20 C or 68 F")),
    };
    if (-40.0..=60.0).contains(&celsius) {
        Ok(celsius)
    } else {
        Err(format!("nobody rivets at {text}; write for example 20 C or 68 F"))
    }
}

/// Takes over figures that were learned, if they are still what the page showed.
fn adopt(world: &World, wanted: &[(String, f64)]) -> Checked {
    let learned = world.learned();
    let mut values = Vec::with_capacity(wanted.len());
    for (name, shown) in wanted {
        let now = learned
            .iter()
            .find(|it| it.name == *name)
            .ok_or_else(|| format!("nothing is learned about {name}; load the page again"))?;
        if (now.value - shown).abs() > 1e-6 * now.value.abs().max(1e-3) {
            return Err(format!("{} has changed since the page was loaded; load it again", now.title));
        }
        values.push(LearnedValue {
            name: name.clone(),
            value: now.value,
            was: now.used,
            from: now.from.clone(),
        });
    }
    if values.is_empty() {
        return Err("no figure is named".to_owned());
    }
    Ok((ConstantsAdopted { values }.into(), String::new()))
}

fn coupon(world: &World, run: &str, set_up: &str, raw: &Typed<'_>, opened: &str) -> Checked {
    let frozen = set_up_of(open_run(world, run)?, set_up)?;
    let opened = match opened.trim() {
        "" => None,
        text => Some(Length::read(text, Unit::Inch).map_err(|error| format!("opened by: {error}"))?),
    };
    let measured = raw.read()?;
    let verdict = frozen
        .holes
        .first()
        .and_then(|name| world.plan().hole_named(name))
        .and_then(|hole| world.judge(hole, &measured));
    let event = CouponProven {
        run: run.to_owned(),
        set_up: set_up.to_owned(),
        width: measured.diameter,
        height: measured.height,
        verdict: word(verdict.as_ref()),
        opened,
    };
    Ok((event.into(), verdict.map_or_else(String::new, |verdict| verdict.reasons.join(" "))))
}

struct Typed<'a> {
    width: &'a str,
    width_across: &'a str,
    height: &'a str,
    seat: &'a str,
}

/// Where a height was not measured but the over-all thickness, from head to head.
pub(crate) const OVER_ALL: &str = "over-all";

impl Typed<'_> {
    /// The widths alone.
    fn read_width(&self) -> Result<Measured, String> {
        let diameter = typed(self.width, "width")?;
        let second_diameter = typed(self.width_across, "width across")?;
        Ok(Measured { diameter, second_diameter, ..Measured::default() })
    }

    /// The dimensions as lengths.
    fn read(&self) -> Result<Measured, String> {
        let diameter = typed(self.width, "width")?;
        let second_diameter = typed(self.width_across, "width across")?;
        let height = typed(self.height, "height")?;
        if diameter.is_none() && height.is_none() {
            return Err("nothing was measured: type the width and the height".to_owned());
        }
        let seat = match self.seat {
            "" => None,
            "flat" => Some(ShopSeat::Flat),
            "lip" => Some(ShopSeat::Lip),
            other => {
                return Err(format!("a height is measured from the flat or the lip, not from \"{other}\""));
            }
        };
        Ok(Measured { diameter, second_diameter, height, seat, ..Measured::default() })
    }
}

fn measure(world: &World, name: &str, raw: &Typed<'_>, instrument: &str) -> Checked {
    let hole = find(world, name)?;
    if !world.is_set(hole) {
        return Err(format!("{name} has no fastener in it yet; set it first"));
    }
    let over_all =
        (raw.seat == OVER_ALL).then(|| typed(raw.height, "over-all thickness")).transpose()?.flatten();
    let mut measured =
        if over_all.is_some() { Typed { height: "", seat: "", ..*raw }.read_width()? } else { raw.read()? };
    measured.over_all = over_all.map(|read| world.over_all(hole, read));
    let verdict = world.judge(hole, &measured);
    let follows = measured.over_all.and_then(|it| it.height());
    let event = HeadMeasured {
        hole: name.to_owned(),
        width: measured.diameter,
        width_across: measured.second_diameter,
        height: measured.height.or(follows),
        over_all,
        seat: if over_all.is_some() { String::new() } else { raw.seat.to_owned() },
        instrument: instrument.to_owned(),
        limits: verdict.as_ref().map_or_else(String::new, |verdict| verdict.limits.clone()),
        verdict: word(verdict.as_ref()),
    };
    let outside = verdict.as_ref().is_some_and(|verdict| verdict.inside == Some(false));
    let mut says = verdict.map_or_else(String::new, |verdict| verdict.reasons.join(" "));
    // A head that is outside stops the run; that the setting drifts is no news then.
    if let (false, Some(drift)) =
        (outside, measured.height.or(follows).and_then(|height| world.drift_words(hole, height)))
    {
        says = format!("{says} {drift}").trim().to_owned();
    }
    Ok((event.into(), says))
}

/// A dimension as typed; nothing typed is nothing measured.
fn typed(text: &str, what: &str) -> Result<Option<Length>, String> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let length = Length::read(text, Unit::Inch).map_err(|error| format!("{what}: {error}"))?;
    if length <= Length::ZERO || length > Length::from_inches(2.0) {
        return Err(format!(
            "{what}: {} in is not the size of a shop head; write for example .175",
            length.decimal()
        ));
    }
    Ok(Some(length))
}

/// What a verdict comes to, in a word that is kept.
fn word(verdict: Option<&Verdict>) -> String {
    match verdict.and_then(|verdict| verdict.inside) {
        Some(true) => "inside",
        Some(false) => "outside",
        None => "not judged",
    }
    .to_owned()
}

impl World {
    /// Why a step may not be begun yet, if it may not.
    #[must_use]
    pub fn not_yet(&self, step: StepId) -> Option<String> {
        may_begin(self, step).err()
    }

    /// An over-all thickness over the joint of a hole.
    #[must_use]
    pub fn over_all(&self, hole: HoleId, read: Length) -> OverAll {
        let joints = &self.side.joints;
        let seats = joints.at(hole).and_then(|joint| joint.seats.as_ref().ok());
        OverAll::of(read, seats, &joints.constants)
    }

    /// The verdict on a measured head of a hole; none where it is no solid rivet.
    #[must_use]
    pub fn judge(&self, hole: HoleId, measured: &Measured) -> Option<Verdict> {
        let plan = self.plan();
        let rivet = plan[plan[hole].row].rivet?;
        let constants = &self.side.joints.constants;
        let limits = in_force(rivet, &plan.limits);
        // A head on a flat joint is measured from the flat; nobody needs to say so.
        let flat = self
            .side
            .joints
            .at(hole)
            .and_then(|joint| joint.seats.as_ref().ok())
            .is_some_and(|seats| seats.shop_seat == ShopSeat::Flat);
        let seat = measured.seat.or(flat.then_some(ShopSeat::Flat));
        Some(judge(rivet, &Measured { seat, ..*measured }, limits.as_ref(), constants))
    }
}
