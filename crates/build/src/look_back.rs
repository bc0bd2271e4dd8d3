//! Looking back: which other rivets or holes share what went wrong with one of them.
//!
//! On a reject the trade stops and looks back to the last good one. What a
//! fault may share is found in the record: the set-up, the same setting in
//! other runs, the length and the person; for a hole, the step that drilled
//! it and who drilled. Of each group those are named that were made since the
//! last one that was measured inside, and before the next one that was.

use std::collections::HashMap;

use faying_joint::examine::Aspect;
use faying_plan::{HoleId, Work};
use faying_record::{ActId, Event, HoleStatus};

use crate::world::World;

/// Others that share something with a fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shared {
    /// What they share, in words: `the set-up: C yoke, setting 3`.
    pub what: String,
    /// Which, in the order in which they were made; what is measured inside already is not among them.
    pub holes: Vec<HoleId>,
    /// The last one before the fault that was measured inside; none where there is none.
    pub since: Option<HoleId>,
}

/// One rivet or hole that was made: when, with what, by whom.
#[derive(Clone, Copy)]
struct Made<'w> {
    hole: HoleId,
    by: ActId,
    /// Its place within that act.
    place: usize,
    run: &'w str,
    set_up: &'w str,
    /// The step of other work; empty for a rivet.
    step: &'w str,
    fastener: &'w str,
    person: &'w str,
}

impl World {
    /// Which others share something with the fault that an act found, the narrowest group first.
    #[must_use]
    pub fn look_back(&self, fault: ActId) -> Vec<Shared> {
        let act = self.state.act(fault);
        let (holes, aspect) = match &act.event {
            Event::HeadMeasured(head) => (std::slice::from_ref(&head.hole), None),
            Event::Examined(examined) => (&examined.holes[..], Aspect::named(&examined.aspect)),
            _ => return Vec::new(),
        };
        let of_rivet = aspect.is_none_or(Aspect::goes_with_rivet);
        let faulty: Vec<HoleId> = holes
            .iter()
            .filter_map(|name| self.plan().hole_named(self.state.name_now(name, act.revision)))
            .collect();
        let made = if of_rivet { self.rivets_made() } else { self.holes_worked(aspect) };
        let Some(first) = made.iter().find(|it| faulty.contains(&it.hole)) else { return Vec::new() };

        type Same<'a> = (&'a dyn Fn(&Made<'_>) -> bool, String);
        let setting = self.setting_of(first);
        let by = |what: &str, detail: &str| {
            if detail.is_empty() { what.to_owned() } else { format!("{what}: {detail}") }
        };
        let same_set_up = |it: &Made<'_>| it.run == first.run && it.set_up == first.set_up;
        let same_setting = |it: &Made<'_>| self.setting_of(it) == setting;
        let same_length = |it: &Made<'_>| it.fastener == first.fastener;
        let same_step = |it: &Made<'_>| it.step == first.step;
        let same_person = |it: &Made<'_>| it.person == first.person;
        let mut ways: Vec<Same<'_>> = Vec::new();
        if of_rivet {
            if !first.run.is_empty() {
                ways.push((&same_set_up, "the set-up".to_owned()));
            }
            if !setting.is_empty() {
                ways.push((&same_setting, by("the setting", &setting)));
            }
            if !first.fastener.is_empty() {
                ways.push((&same_length, by("the length, and so the bag", first.fastener)));
            }
        } else {
            ways.push((&same_step, by("the step", first.step)));
        }
        if !first.person.is_empty() {
            ways.push((&same_person, by("who did it", first.person)));
        }
        let mut found: Vec<Shared> = Vec::new();
        for (same, what) in ways {
            let group: Vec<&Made<'_>> = made.iter().filter(|it| same(it)).collect();
            let (since, holes) = self.between_good(&group, &faulty, aspect, fault);
            // A wider group with the same holes says nothing new.
            if !holes.is_empty() && found.iter().all(|known| known.holes != holes) {
                found.push(Shared { what, holes, since });
            }
        }
        found
    }

    /// Rivets that are in now, in the order in which they were set.
    fn rivets_made(&self) -> Vec<Made<'_>> {
        let plan = self.plan();
        let mut made = Vec::new();
        for hole in (0..plan.holes.len()).map(HoleId::from_index) {
            if plan[plan[hole].row].rivet.is_none() || self.state.status(hole) != HoleStatus::Set {
                continue;
            }
            let Some(by) = self.state.set_by(hole) else { continue };
            let act = self.state.act(by);
            let Event::HolesSet(set) = &act.event else { continue };
            let person = act.person.as_str();
            let (run, set_up, fastener) = (set.run.as_str(), set.set_up.as_str(), set.fastener.as_str());
            made.push(Made { hole, by, place: 0, run, set_up, step: "", fastener, person });
        }
        self.in_order(made)
    }

    /// Holes that were worked at by the kind of step that made a fault, in order.
    fn holes_worked(&self, aspect: Option<Aspect>) -> Vec<Made<'_>> {
        let plan = self.plan();
        let work = if aspect == Some(Aspect::Countersink) { Work::Countersink } else { Work::FinalDrill };
        let mut made = Vec::new();
        for (by, act) in self.state.of_kind("work-done") {
            let Event::WorkDone(done) = &act.event else { continue };
            if done.work != work.word() {
                continue;
            }
            for (place, name) in done.holes.iter().enumerate() {
                let Some(hole) = plan.hole_named(self.state.name_now(name, act.revision)) else { continue };
                let (step, person) = (done.step.as_str(), act.person.as_str());
                made.push(Made { hole, by, place, run: "", set_up: "", step, fastener: "", person });
            }
        }
        made
    }

    /// Sorted by act, and within one by the order in which it names them.
    fn in_order<'w>(&'w self, mut made: Vec<Made<'w>>) -> Vec<Made<'w>> {
        let mut places: HashMap<(ActId, HoleId), usize> = HashMap::new();
        let mut acts: Vec<ActId> = made.iter().map(|it| it.by).collect();
        acts.sort_unstable();
        acts.dedup();
        for by in acts {
            let act = self.state.act(by);
            if let Event::HolesSet(set) = &act.event {
                for (place, name) in set.holes.iter().enumerate() {
                    if let Some(hole) = self.plan().hole_named(self.state.name_now(name, act.revision)) {
                        places.insert((by, hole), place);
                    }
                }
            }
        }
        for it in &mut made {
            it.place = places.get(&(it.by, it.hole)).copied().unwrap_or(0);
        }
        made.sort_by_key(|it| (it.by, it.place));
        made
    }

    /// The setting with which a rivet was set, in words; nothing where none is known.
    fn setting_of(&self, made: &Made<'_>) -> String {
        let run = self.state.run(made.run);
        let set_up = run.and_then(|run| run.set_ups.iter().find(|it| it.key == made.set_up));
        let Some(set_up) = set_up.filter(|it| !it.dies.is_empty() || !it.setting.is_empty()) else {
            return String::new();
        };
        [set_up.dies.as_str(), set_up.setting.as_str()]
            .into_iter()
            .filter(|it| !it.is_empty())
            .collect::<Vec<_>>()
            .join(", ")
    }

    /// What of a group was made about the faulty ones and is not known to be good, with the last good one.
    fn between_good(
        &self,
        group: &[&Made<'_>],
        faulty: &[HoleId],
        aspect: Option<Aspect>,
        fault: ActId,
    ) -> (Option<HoleId>, Vec<HoleId>) {
        let is_faulty = |it: &&&Made<'_>| faulty.contains(&it.hole);
        let first = group.iter().position(|it| is_faulty(&it));
        let last = group.iter().rposition(|it| is_faulty(&it));
        let (Some(first), Some(last)) = (first, last) else { return (None, Vec::new()) };
        let good = |it: &&Made<'_>| self.is_good(it.hole, aspect, fault);
        let from = group[..first].iter().rposition(good);
        let to = group[last + 1..].iter().position(good).map_or(group.len(), |at| last + 1 + at);
        let among = &group[from.map_or(0, |at| at + 1)..to];
        let unknown = |it: &&&Made<'_>| !faulty.contains(&it.hole) && !good(it);
        (from.map(|at| group[at].hole), among.iter().filter(unknown).map(|it| it.hole).collect())
    }

    /// Whether the same thing was measured at a hole and found inside.
    fn is_good(&self, hole: HoleId, aspect: Option<Aspect>, fault: ActId) -> bool {
        match aspect {
            // Whatever is wrong with a rivet, a head that was measured inside was looked at.
            None => {
                self.state.measured(hole).is_some_and(|it| it.act != fault && it.head.verdict == "inside")
            }
            Some(aspect) => self
                .state
                .examined(hole)
                .find(|(_, it)| it.aspect == aspect.word())
                .is_some_and(|(id, it)| id != fault && !it.stands && it.verdict != "not judged"),
        }
    }
}
