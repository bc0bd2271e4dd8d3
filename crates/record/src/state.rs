//! As built: the fold of the events over the plan.
//!
//! Every event is held once; each hole lists the events that touched it. What
//! a hole is now is read off that list from its end, so an act that is taken
//! back simply no longer counts, and the history is there for the asking.
//!
//! The order of the fold is (Lamport number, writer, seq): a wrong clock
//! changes nothing, and merged records fold the same whichever came first.
//! An act that two copies of a record both took counts once.

use std::collections::{BTreeMap, HashMap};
use std::ops::RangeBounds;

use faying_plan::{HoleId, PieceId, Plan};
use faying_standards::Length;

use crate::envelope::Envelope;
use crate::event::{
    Asked, Event, Examined, HeadMeasured, HoldPlaced, LearnedValue, SetUpFrozen, StepDone, WorkDone,
};

/// A position in [`State::acts`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ActId(pub u32);

/// An event as it is held.
#[derive(Clone, Debug)]
pub struct Act {
    /// The act's own id.
    pub id: String,
    /// When.
    pub at: String,
    /// Who.
    pub person: String,
    /// Under which revision of the plan.
    pub revision: u64,
    /// What happened.
    pub event: Event,
    /// The act that took it back, if one did.
    pub undone_by: Option<ActId>,
}

/// What a hole is now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum HoleStatus {
    /// Nothing is in it.
    Empty,
    /// A fastener is set in it.
    Set,
    /// One was set in it and drilled out again.
    OpenedAgain,
}

/// A measured head, newest first wherever several are listed.
#[derive(Clone, Debug)]
pub struct Measurement<'a> {
    /// The act.
    pub act: ActId,
    /// What was measured.
    pub head: &'a HeadMeasured,
}

/// A run that was started.
#[derive(Clone, Debug)]
pub struct RunState {
    /// Its id.
    pub run: String,
    /// Its step.
    pub step: String,
    /// The act that started it.
    pub started: ActId,
    /// The act that ended it, if one that counts did.
    pub ended: Option<ActId>,
    /// Every act that ended it, taken back or not.
    pub ends: Vec<ActId>,
    /// Its set-ups as frozen, their holes by the names they have now.
    pub set_ups: Vec<SetUpFrozen>,
    /// Coupons that were proven, by set-up.
    pub coupons: Vec<(String, ActId)>,
    /// Bags that were looked at, by set-up.
    pub bags: Vec<(String, ActId)>,
    /// How often its order was changed.
    pub changes: usize,
    /// Tools that are not at hand.
    pub without: Vec<String>,
    /// Holes put off to the end, by the names they have now.
    pub put_off: Vec<String>,
}

/// The as-built state.
#[derive(Clone, Debug, Default)]
pub struct State {
    acts: Vec<Act>,
    by_id: HashMap<String, ActId>,
    by_hole: Vec<Vec<ActId>>,
    by_piece: Vec<Vec<ActId>>,
    /// Acts by kind, oldest first, those taken back included.
    by_kind: HashMap<String, Vec<ActId>>,
    /// Acts that answer another, by what they answer.
    answers: HashMap<String, Vec<ActId>>,
    runs: Vec<RunState>,
    /// Acts that say a step without holes is done, by its name.
    steps_done: HashMap<String, Vec<ActId>>,
    /// Acts that took over learned figures, oldest first.
    constants: Vec<ActId>,
    /// New names by the revision that gave them: they hold for what was recorded before it.
    renamed: BTreeMap<u64, HashMap<String, String>>,
    /// Holes, pieces and steps named in the record that the plan no longer has, with the act that names them.
    pub orphans: Vec<(String, ActId)>,
    /// The revision of the plan that was adopted last; 0 before the first.
    pub revision: u64,
    /// The greatest Lamport number seen.
    pub order: u64,
    /// How many events were written by a newer version.
    pub unknown: u32,
}

impl State {
    /// Folds envelopes over a plan.
    #[must_use]
    pub fn fold(plan: &Plan, envelopes: Vec<Envelope>) -> Self {
        Self::fold_onto(plan, envelopes, &[])
    }

    /// Folds envelopes over a plan that is not adopted yet: `renamed` says what its adoption will.
    #[must_use]
    pub fn fold_onto(plan: &Plan, mut envelopes: Vec<Envelope>, renamed: &[(String, String)]) -> Self {
        envelopes.sort_by(|a, b| (a.order, &a.writer, a.seq).cmp(&(b.order, &b.writer, b.seq)));
        let mut state = Self {
            by_hole: vec![Vec::new(); plan.holes.len()],
            by_piece: vec![Vec::new(); plan.pieces.len()],
            ..Self::default()
        };
        let pieces = pieces_by_name(plan);
        // A hole may have got another name after it was first written down.
        for envelope in envelopes.iter().filter(|envelope| envelope.kind == "revision-adopted") {
            if let Event::RevisionAdopted(adopted) = envelope.event() {
                state.renamed.insert(adopted.number, adopted.renamed.into_iter().collect());
            }
        }
        if !renamed.is_empty() {
            let next = state.renamed.last_key_value().map_or(0, |(&number, _)| number) + 1;
            state.renamed.insert(next, renamed.iter().cloned().collect());
        }
        for envelope in &envelopes {
            if state.by_id.contains_key(&envelope.id) {
                continue;
            }
            state.take(plan, &pieces, envelope);
        }
        state
    }

    /// Folds one more envelope: the same as folding all anew, if it is the last in order.
    pub fn add(&mut self, plan: &Plan, envelope: &Envelope) -> ActId {
        let names_pieces = envelope.kind == "work-done";
        let pieces = if names_pieces { pieces_by_name(plan) } else { HashMap::new() };
        self.take(plan, &pieces, envelope)
    }

    /// What a hole that was named under `revision` is called now; nothing where the plan has it no more.
    #[must_use]
    pub fn name_now<'n>(&'n self, name: &'n str, revision: u64) -> &'n str {
        self.name_through(name, revision + 1..)
    }

    /// What a hole that was named under `revision` was called in the revision adopted last: without the
    /// names that a change of the plan is about to give; nothing where it was gone by then.
    #[must_use]
    pub fn name_adopted<'n>(&'n self, name: &'n str, revision: u64) -> &'n str {
        // A range must not end before it begins.
        if revision >= self.revision {
            name
        } else {
            self.name_through(name, revision + 1..self.revision + 1)
        }
    }

    fn name_through<'n>(&'n self, name: &'n str, revisions: impl RangeBounds<u64>) -> &'n str {
        self.renamed
            .range(revisions)
            .fold(name, |name, (_, renamed)| renamed.get(name).map_or(name, String::as_str))
    }

    fn take(&mut self, plan: &Plan, pieces: &HashMap<String, PieceId>, envelope: &Envelope) -> ActId {
        let id = ActId(
            u32::try_from(self.acts.len()).expect("a record has fewer than four thousand million acts"),
        );
        let event = envelope.event();
        self.order = self.order.max(envelope.order);
        for name in event.holes() {
            match plan.hole_named(self.name_now(name, envelope.revision)) {
                Some(hole) => self.by_hole[hole.index()].push(id),
                None if event.is_about_anything() => {}
                None => self.orphans.push((name.clone(), id)),
            }
        }
        for name in event.pieces() {
            match pieces.get(name) {
                Some(piece) => self.by_piece[piece.index()].push(id),
                None => self.orphans.push((name.clone(), id)),
            }
        }
        if let Event::StepDone(StepDone { step, .. }) | Event::WorkDone(WorkDone { step, .. }) = &event
            && plan.step_named(step).is_none()
        {
            self.orphans.push((step.clone(), id));
        }
        if let Some(answered) = event.answers() {
            self.answers.entry(answered.to_owned()).or_default().push(id);
        }
        match self.by_kind.get_mut(event.kind()) {
            Some(acts) => acts.push(id),
            None => {
                self.by_kind.insert(event.kind().to_owned(), vec![id]);
            }
        }
        match &event {
            Event::RevisionAdopted(adopted) => self.revision = self.revision.max(adopted.number),
            Event::RunStarted(started) => {
                let set_ups = self.set_ups_now(&started.set_ups, envelope.revision);
                self.runs.push(RunState {
                    run: started.run.clone(),
                    step: started.step.clone(),
                    started: id,
                    ended: None,
                    ends: Vec::new(),
                    set_ups,
                    coupons: Vec::new(),
                    bags: Vec::new(),
                    changes: 0,
                    without: started.without.clone(),
                    put_off: Vec::new(),
                });
            }
            Event::RunChanged(changed) => {
                let set_ups = self.set_ups_now(&changed.set_ups, envelope.revision);
                let put_off: Vec<String> = changed
                    .put_off
                    .iter()
                    .map(|name| self.name_now(name, envelope.revision).to_owned())
                    .collect();
                if let Some(run) = self.run_mut(&changed.run) {
                    run.set_ups = set_ups;
                    run.without.clone_from(&changed.without);
                    run.put_off = put_off;
                    run.changes += 1;
                }
            }
            Event::BagChecked(checked) => {
                let set_up = checked.set_up.clone();
                if let Some(run) = self.run_mut(&checked.run) {
                    run.bags.push((set_up, id));
                }
            }
            Event::ConstantsAdopted(_) => self.constants.push(id),
            Event::RunEnded(ended) => {
                if let Some(run) = self.run_mut(&ended.run) {
                    run.ended = Some(id);
                    run.ends.push(id);
                }
            }
            Event::CouponProven(coupon) => {
                let set_up = coupon.set_up.clone();
                if let Some(run) = self.run_mut(&coupon.run) {
                    run.coupons.push((set_up, id));
                }
            }
            Event::Undone(undone) => {
                if let Some(&other) = self.by_id.get(&undone.act) {
                    self.acts[other.0 as usize].undone_by = Some(id);
                }
            }
            Event::StepDone(done) => self.steps_done.entry(done.step.clone()).or_default().push(id),
            Event::Unknown { .. } => self.unknown += 1,
            _ => {}
        }
        self.by_id.insert(envelope.id.clone(), id);
        self.acts.push(Act {
            id: envelope.id.clone(),
            at: envelope.at.clone(),
            person: envelope.person.clone(),
            revision: envelope.revision,
            event,
            undone_by: None,
        });
        if matches!(self.act(id).event, Event::Undone(_)) {
            self.ends_anew();
        }
        id
    }

    /// Set-ups with the names that their holes have now.
    fn set_ups_now(&self, set_ups: &[SetUpFrozen], revision: u64) -> Vec<SetUpFrozen> {
        let mut set_ups = set_ups.to_vec();
        for name in set_ups.iter_mut().flat_map(|it| it.holes.iter_mut().chain(&mut it.measure)) {
            *name = self.name_now(name, revision).to_owned();
        }
        set_ups
    }

    /// Which runs are ended, after an act was taken back or restored.
    fn ends_anew(&mut self) {
        let mut runs = std::mem::take(&mut self.runs);
        for run in &mut runs {
            run.ended = run.ends.iter().rev().copied().find(|&id| self.counts(id));
        }
        self.runs = runs;
    }

    fn run_mut(&mut self, run: &str) -> Option<&mut RunState> {
        self.runs.iter_mut().rev().find(|state| state.run == run)
    }

    /// Every act, oldest first.
    #[must_use]
    pub fn acts(&self) -> &[Act] {
        &self.acts
    }

    /// One act.
    #[must_use]
    pub fn act(&self, id: ActId) -> &Act {
        &self.acts[id.0 as usize]
    }

    /// The act with this id.
    #[must_use]
    pub fn act_with_id(&self, id: &str) -> Option<ActId> {
        self.by_id.get(id).copied()
    }

    /// Runs, oldest first.
    #[must_use]
    pub fn runs(&self) -> &[RunState] {
        &self.runs
    }

    /// The run with this id.
    #[must_use]
    pub fn run(&self, run: &str) -> Option<&RunState> {
        self.runs.iter().rev().find(|state| state.run == run)
    }

    /// The act that says a step without holes is done.
    #[must_use]
    pub fn step_done(&self, step: &str) -> Option<ActId> {
        self.steps_done.get(step)?.iter().rev().copied().find(|&id| self.counts(id))
    }

    /// A learned figure that was taken over, if one was: the newest that counts.
    #[must_use]
    pub fn learned(&self, name: &str) -> Option<&LearnedValue> {
        self.constants.iter().rev().filter(|&&id| self.counts(id)).find_map(|&id| match &self.act(id).event {
            Event::ConstantsAdopted(adopted) => adopted.values.iter().find(|value| value.name == name),
            _ => None,
        })
    }

    /// Every learned figure that is in use, by name.
    #[must_use]
    pub fn all_learned(&self) -> BTreeMap<&str, &LearnedValue> {
        let mut values = BTreeMap::new();
        for &id in self.constants.iter().filter(|&&id| self.counts(id)) {
            if let Event::ConstantsAdopted(adopted) = &self.act(id).event {
                values.extend(adopted.values.iter().map(|value| (value.name.as_str(), value)));
            }
        }
        values
    }

    /// Acts of a kind that count, oldest first.
    pub fn of_kind<'s>(&'s self, kind: &str) -> impl DoubleEndedIterator<Item = (ActId, &'s Act)> {
        let acts = self.by_kind.get(kind).map_or(&[][..], Vec::as_slice);
        acts.iter().copied().filter(|&id| self.counts(id)).map(|id| (id, self.act(id)))
    }

    /// The newest act that counts and answers this one; `key` where the act has several parts.
    #[must_use]
    pub fn answer(&self, act: &str, key: &str) -> Option<ActId> {
        let answers = match key {
            "" => self.answers.get(act),
            key => self.answers.get(&format!("{act} {key}")),
        };
        answers?.iter().rev().copied().find(|&id| self.counts(id))
    }

    /// The newest act that counts and says that a step's work was done at a piece.
    #[must_use]
    pub fn worked(&self, step: &str, piece: PieceId) -> Option<ActId> {
        let of_step = |&id: &ActId| match &self.act(id).event {
            Event::WorkDone(done) => done.step == step && self.counts(id),
            _ => false,
        };
        self.by_piece.get(piece.index())?.iter().rev().copied().find(of_step)
    }

    /// The newest act that counts and says that a step's work was done at a hole.
    #[must_use]
    pub fn worked_hole(&self, step: &str, hole: HoleId) -> Option<ActId> {
        self.counting(hole).find_map(|(id, act)| match &act.event {
            Event::WorkDone(done) if done.step == step => Some(id),
            _ => None,
        })
    }

    /// Everything that was done at a piece, oldest first, acts taken back included.
    #[must_use]
    pub fn piece_history(&self, piece: PieceId) -> &[ActId] {
        self.by_piece.get(piece.index()).map_or(&[], Vec::as_slice)
    }

    /// The newest torque of what is in a hole now.
    #[must_use]
    pub fn torqued(&self, hole: HoleId) -> Option<ActId> {
        // Newest first: what was torqued before this fastener went in was another one.
        self.counting(hole)
            .take_while(|(_, act)| {
                !matches!(act.event, Event::HoleOpened(_) | Event::HolesSet(_) | Event::SetBefore(_))
            })
            .find(|(_, act)| matches!(act.event, Event::Torqued(_)))
            .map(|(id, _)| id)
    }

    /// The hold that the builder has placed on a hole, if one stands.
    #[must_use]
    pub fn held(&self, hole: HoleId) -> Option<(ActId, &HoldPlaced)> {
        self.counting(hole).find_map(|(id, act)| match &act.event {
            Event::HoldPlaced(hold) if self.answer(&act.id, "").is_none() => Some((id, hold)),
            _ => None,
        })
    }

    /// Everything that was done at a hole, oldest first, acts taken back included.
    #[must_use]
    pub fn history(&self, hole: HoleId) -> &[ActId] {
        self.by_hole.get(hole.index()).map_or(&[], Vec::as_slice)
    }

    /// Acts at a hole that count, newest first.
    fn counting(&self, hole: HoleId) -> impl Iterator<Item = (ActId, &Act)> {
        self.history(hole).iter().rev().map(|&id| (id, self.act(id))).filter(|&(id, _)| self.counts(id))
    }

    /// Whether an act counts: not taken back, or the taking back was itself taken back.
    #[must_use]
    pub fn counts(&self, id: ActId) -> bool {
        let mut counts = true;
        let mut act = self.act(id);
        // Each taking back names an earlier act, so the chain ends.
        while let Some(by) = act.undone_by {
            counts = !counts;
            act = self.act(by);
        }
        counts
    }

    /// What a hole is now.
    #[must_use]
    pub fn status(&self, hole: HoleId) -> HoleStatus {
        self.counting(hole)
            .find_map(|(_, act)| match act.event {
                Event::HolesSet(_) | Event::SetBefore(_) => Some(HoleStatus::Set),
                Event::HoleOpened(_) => Some(HoleStatus::OpenedAgain),
                _ => None,
            })
            .unwrap_or(HoleStatus::Empty)
    }

    /// The act that set what is in a hole now.
    #[must_use]
    pub fn set_by(&self, hole: HoleId) -> Option<ActId> {
        self.counting(hole)
            .take_while(|(_, act)| !matches!(act.event, Event::HoleOpened(_)))
            .find(|(_, act)| matches!(act.event, Event::HolesSet(_) | Event::SetBefore(_)))
            .map(|(id, _)| id)
    }

    /// The newest act that took a fastener out of a hole.
    #[must_use]
    pub fn opened_by(&self, hole: HoleId) -> Option<ActId> {
        self.counting(hole).find(|(_, act)| matches!(act.event, Event::HoleOpened(_))).map(|(id, _)| id)
    }

    /// The newest measurement of the head that is in a hole now.
    #[must_use]
    pub fn measured(&self, hole: HoleId) -> Option<Measurement<'_>> {
        // Newest first: what was measured before the head that is in it now was another head.
        self.counting(hole)
            .take_while(|(_, act)| {
                !matches!(act.event, Event::HoleOpened(_) | Event::HolesSet(_) | Event::SetBefore(_))
            })
            .find_map(|(id, act)| match &act.event {
                Event::HeadMeasured(head) => Some(Measurement { act: id, head }),
                _ => None,
            })
    }

    /// How many fasteners were taken out of a hole so far.
    #[must_use]
    pub fn removals(&self, hole: HoleId) -> usize {
        self.counting(hole).filter(|(_, act)| matches!(act.event, Event::HoleOpened(_))).count()
    }

    /// What was measured or seen of a hole beside the size of its head, newest first: acts that count.
    pub fn examined(&self, hole: HoleId) -> impl Iterator<Item = (ActId, &Examined)> {
        self.counting(hole).filter_map(|(id, act)| match &act.event {
            Event::Examined(examined) => Some((id, examined)),
            _ => None,
        })
    }

    /// The newest question that went out about a fault.
    #[must_use]
    pub fn asked(&self, about: &str) -> Option<(ActId, &Asked)> {
        self.of_kind("asked").rev().find_map(|(id, act)| match &act.event {
            Event::Asked(asked) if asked.about == about => Some((id, asked)),
            _ => None,
        })
    }

    /// How many heads in these holes were found outside their limits after an act.
    #[must_use]
    pub fn rejected_since(&self, since: ActId, holes: &[HoleId]) -> usize {
        let outside = |&hole: &HoleId| {
            self.history(hole).iter().filter(move |&&id| id > since && self.counts(id)).filter(
                |&&id| matches!(&self.act(id).event, Event::HeadMeasured(head) if head.verdict == "outside"),
            )
        };
        holes.iter().flat_map(outside).count()
    }

    /// Width and height of the newest measurement of a hole, for short.
    #[must_use]
    pub fn head(&self, hole: HoleId) -> Option<(Option<Length>, Option<Length>)> {
        self.measured(hole).map(|measured| (measured.head.width, measured.head.height))
    }
}

/// Pieces by their lasting names.
fn pieces_by_name(plan: &Plan) -> HashMap<String, PieceId> {
    (0..plan.pieces.len())
        .map(PieceId::from_index)
        .map(|piece| (plan.piece_full_name(piece), piece))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::{
        ConstantsAdopted, HoleOpened, HolesSet, NoteMade, RevisionAdopted, RunChanged, RunStarted, Undone,
    };
    use faying_plan::{SourceText, read};
    use faying_standards::inches;
    use proptest::prelude::*;

    fn plan() -> Plan {
        let text = "format = 1\nid = \"tab\"\n[rows]\nA = { count = 5, called = \"MS20470AD4-4\" }\n";
        read(vec![SourceText { name: "plan/tab.toml".into(), text: text.into() }]).plan
    }

    fn envelope(order: u64, event: impl Into<Event>) -> Envelope {
        let mut envelope =
            Envelope::around(&event.into(), format!("act-{order}"), String::new(), "builder".into(), 1);
        envelope.order = order;
        envelope.seq = order;
        envelope.writer = "bench".into();
        envelope
    }

    fn set(numbers: &[u32]) -> HolesSet {
        let holes = numbers.iter().map(|n| format!("tab/A/{n}")).collect();
        HolesSet { holes, run: String::new(), set_up: String::new(), fastener: String::new() }
    }

    fn undo(order: u64) -> Undone {
        Undone { act: format!("act-{order}"), why: String::new() }
    }

    #[test]
    fn set_measured_undone_and_drilled_out() {
        let plan = plan();
        let hole = plan.hole_named("tab/A/2").unwrap();
        let measured = HeadMeasured {
            hole: "tab/A/2".into(),
            width: Some(inches(0.175)),
            width_across: None,
            height: Some(inches(0.058)),
            over_all: None,
            seat: String::new(),
            instrument: String::new(),
            limits: String::new(),
            verdict: String::new(),
        };
        let mut events = vec![envelope(1, set(&[1, 2])), envelope(2, measured)];
        let state = State::fold(&plan, events.clone());
        assert_eq!(state.status(hole), HoleStatus::Set);
        assert_eq!(state.head(hole).unwrap().0, Some(inches(0.175)));

        // Taken back and set again: another head, which nobody has measured.
        let again = [events.clone(), vec![envelope(3, undo(1)), envelope(4, set(&[2]))]].concat();
        let again = State::fold(&plan, again);
        assert_eq!(again.status(hole), HoleStatus::Set);
        assert!(again.measured(hole).is_none(), "an old measurement is not of this head");

        events.push(envelope(3, HoleOpened { hole: "tab/A/2".into(), why: "folded".into() }));
        let state = State::fold(&plan, events.clone());
        assert_eq!(state.status(hole), HoleStatus::OpenedAgain);
        assert!(state.measured(hole).is_none(), "the head that was measured is gone");

        events.push(envelope(4, undo(3)));
        assert_eq!(State::fold(&plan, events.clone()).status(hole), HoleStatus::Set);
        events.push(envelope(5, undo(4)));
        assert_eq!(
            State::fold(&plan, events).status(hole),
            HoleStatus::OpenedAgain,
            "taking back the taking back"
        );
    }

    #[test]
    fn a_hole_keeps_what_was_done_under_its_earlier_name() {
        let plan = plan();
        // Revision 2 put a hole before the row's first: A/1 is now A/2, A/2 is A/3 and so on.
        let renamed = (1..5).map(|n| (format!("tab/A/{n}"), format!("tab/A/{}", n + 1))).collect();
        let adopted = RevisionAdopted {
            number: 2,
            files: Vec::new(),
            standards: String::new(),
            renamed,
            disagreements: Vec::new(),
        };
        let mut before = set(&[1, 2]);
        before.holes.push("tab/Z/1".into());
        let mut after = envelope(3, set(&[1]));
        after.revision = 2;
        let state = State::fold(&plan, vec![envelope(1, before), envelope(2, adopted), after]);
        let set: Vec<bool> = (1..=5)
            .map(|n| state.status(plan.hole_named(&format!("tab/A/{n}")).unwrap()) == HoleStatus::Set)
            .collect();
        assert_eq!(set, [true, true, true, false, false], "1 and 2 became 2 and 3; the new 1 was set later");
        assert_eq!(state.orphans, [("tab/Z/1".to_owned(), ActId(0))], "nothing is orphaned in silence");
    }

    #[test]
    fn a_newer_kind_is_kept_and_counted() {
        let mut newer = envelope(1, NoteMade { about: String::new(), text: "x".into() });
        newer.kind = "pressure-tested".into();
        let bytes = newer.to_bytes();
        let back = Envelope::from_bytes(&bytes).unwrap();
        assert_eq!(back.to_bytes(), bytes, "what is kept is kept to the letter");
        assert_eq!(State::fold(&plan(), vec![back]).unknown, 1);
    }

    fn set_up(holes: &[&str]) -> SetUpFrozen {
        SetUpFrozen {
            key: holes.join(" "),
            on: Vec::new(),
            title: String::new(),
            fastener: String::new(),
            dies: String::new(),
            head_on: String::new(),
            setting: String::new(),
            seat_to_seat: None,
            opening: None,
            least_height: None,
            most_height: None,
            face_up: String::new(),
            two_people: false,
            seconds: 0.0,
            holes: holes.iter().map(|&hole| hole.to_owned()).collect(),
            measure: Vec::new(),
        }
    }

    #[test]
    fn a_changed_run_goes_on_with_its_new_order() {
        let started = RunStarted {
            run: "one".into(),
            step: "tab/all".into(),
            set_ups: vec![set_up(&["tab/A/1", "tab/A/2", "tab/A/3"])],
            limits: String::new(),
            constants: Vec::new(),
            seconds: 60.0,
            bound: 60.0,
            follows: String::new(),
            without: Vec::new(),
        };
        let changed = RunChanged {
            run: "one".into(),
            why: "tool not at hand".into(),
            without: vec!["deep".into()],
            put_off: vec!["tab/A/2".into()],
            set_ups: vec![set_up(&["tab/A/1", "tab/A/3"]), set_up(&["tab/A/2"])],
        };
        let state = State::fold(&plan(), vec![envelope(1, started), envelope(2, changed)]);
        let run = state.run("one").unwrap();
        let holes: Vec<&str> = run.set_ups.iter().flat_map(|it| &it.holes).map(String::as_str).collect();
        assert_eq!(holes, ["tab/A/1", "tab/A/3", "tab/A/2"]);
        assert_eq!((run.without.as_slice(), run.put_off.len()), (["deep".to_owned()].as_slice(), 1));
    }

    #[test]
    fn what_was_learned_holds_until_it_is_taken_back() {
        let learned = |value| {
            let value =
                LearnedValue { name: "missing-metal".into(), value, was: 0.15, from: "12 heads".into() };
            ConstantsAdopted { values: vec![value] }
        };
        let mut events = vec![envelope(1, learned(0.11)), envelope(2, learned(0.09))];
        let value = |state: &State| state.learned("missing-metal").map(|it| it.value);
        assert_eq!(value(&State::fold(&plan(), events.clone())), Some(0.09));
        events.push(envelope(3, undo(2)));
        assert_eq!(value(&State::fold(&plan(), events.clone())), Some(0.11));
        events.push(envelope(4, undo(1)));
        let state = State::fold(&plan(), events);
        assert_eq!(value(&state), None);
        assert!(state.all_learned().is_empty());
    }

    proptest! {
        /// Whatever the order in which envelopes arrive, the state is the same; and adding one by one is folding.
        #[test]
        fn the_fold_does_not_mind_the_order_of_arrival(
            acts in prop::collection::vec((0_u8..4, 1_u32..6, 1_u64..20), 1..30),
            seed in any::<u64>(),
        ) {
            let plan = plan();
            let envelopes: Vec<Envelope> = (1..).zip(&acts).map(|(order, &(kind, number, other))| match kind {
                0 | 1 => envelope(order, set(&[number])),
                2 => envelope(order, HoleOpened { hole: format!("tab/A/{number}"), why: String::new() }),
                _ => envelope(order, undo(other)),
            }).collect();
            let mut shuffled = envelopes.clone();
            let mut x = seed | 1;
            for i in (1..shuffled.len()).rev() {
                x = x.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                shuffled.swap(i, (x >> 33) as usize % (i + 1));
            }
            let one = State::fold(&plan, envelopes.clone());
            let other = State::fold(&plan, shuffled);
            let mut step_by_step = State::fold(&plan, Vec::new());
            for envelope in &envelopes {
                step_by_step.add(&plan, envelope);
            }
            for hole in (0..plan.holes.len()).map(HoleId::from_index) {
                prop_assert_eq!(one.status(hole), other.status(hole));
                prop_assert_eq!(one.status(hole), step_by_step.status(hole));
            }
        }
    }
}
