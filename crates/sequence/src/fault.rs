//! Faults that wait for a decision: found in words, examined, or a head outside its limits.
//!
//! A fault ends when somebody decides on it. Some end by what is done: what
//! goes with its rivet is gone once that is drilled out, and what was read
//! again and does not stand any more is not a fault any more.

use faying_joint::examine::Aspect;
use faying_plan::{HoleId, Plan};
use faying_record::{ActId, Event, Examined, State};

/// A fault that waits for a decision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenFault {
    /// The act that found it.
    pub act: ActId,
    /// The holes at which it stands still, by the plan as it is now.
    pub holes: Vec<HoleId>,
}

/// Everything examined that is a fault and waits for a decision, oldest first.
#[must_use]
pub fn examined_open(plan: &Plan, state: &State) -> Vec<OpenFault> {
    let open = |(id, act): (ActId, &faying_record::Act)| {
        let Event::Examined(examined) = &act.event else { return None };
        if !examined.stands || state.answer(&act.id, "").is_some() {
            return None;
        }
        let now = examined.holes.iter().map(|name| state.name_now(name, act.revision));
        let known: Vec<Option<HoleId>> = now.map(|name| plan.hole_named(name)).collect();
        let holes: Vec<HoleId> =
            known.iter().flatten().copied().filter(|&hole| stands(state, id, examined, hole)).collect();
        // A hole that the plan has no more cannot be read again: it waits for a decision.
        (!holes.is_empty() || known.iter().any(Option::is_none)).then_some(OpenFault { act: id, holes })
    };
    state.of_kind("examined").filter_map(open).collect()
}

/// Whether what was examined at a hole is still so, for all that was done there since.
#[must_use]
pub fn stands(state: &State, act: ActId, examined: &Examined, hole: HoleId) -> bool {
    let goes = Aspect::named(&examined.aspect).is_some_and(Aspect::goes_with_rivet);
    let later = state.history(hole).iter().copied().filter(|&id| id > act && state.counts(id));
    !later.map(|id| &state.act(id).event).any(|event| match event {
        Event::HoleOpened(_) => goes,
        Event::Examined(again) => again.aspect == examined.aspect,
        _ => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_plan::{SourceText, read};
    use faying_record::{Decided, Envelope, HoleOpened, HolesSet, Undone};

    fn plan() -> Plan {
        let text = "format = 1\nid = \"tab\"\n[rows]\nA = { count = 5, called = \"MS20470AD4-4\" }\n";
        read(vec![SourceText { name: "plan/tab.toml".into(), text: text.into() }]).plan
    }

    fn envelope(order: u64, event: impl Into<Event>) -> Envelope {
        let mut it =
            Envelope::around(&event.into(), format!("act-{order}"), String::new(), "builder".into(), 1);
        (it.order, it.seq, it.writer) = (order, order, "bench".into());
        it
    }

    fn seen(aspect: &str, numbers: &[u32], stands: bool) -> Examined {
        Examined {
            holes: numbers.iter().map(|n| format!("tab/A/{n}")).collect(),
            aspect: aspect.into(),
            readings: Vec::new(),
            instrument: String::new(),
            rule: String::new(),
            verdict: if stands { "outside" } else { "inside" }.into(),
            words: String::new(),
            stands,
        }
    }

    fn set(numbers: &[u32]) -> HolesSet {
        let holes = numbers.iter().map(|n| format!("tab/A/{n}")).collect();
        HolesSet { holes, run: String::new(), set_up: String::new(), fastener: String::new() }
    }

    fn open(number: u32) -> HoleOpened {
        HoleOpened { hole: format!("tab/A/{number}"), why: String::new() }
    }

    fn holes(events: Vec<Envelope>) -> Vec<Vec<u32>> {
        let plan = plan();
        let state = State::fold(&plan, events);
        let number = |hole: &HoleId| plan[*hole].number;
        examined_open(&plan, &state).iter().map(|it| it.holes.iter().map(number).collect()).collect()
    }

    const NONE: Vec<Vec<u32>> = Vec::new();

    #[test]
    fn a_crack_goes_with_its_rivet_and_an_edge_does_not() {
        let both = |then: Vec<Envelope>| {
            let begun = vec![
                envelope(1, set(&[1, 2])),
                envelope(2, seen("cracks", &[1, 2], true)),
                envelope(3, seen("edge", &[1], true)),
            ];
            holes([begun, then].concat())
        };
        assert_eq!(both(vec![]), [vec![1, 2], vec![1]]);
        assert_eq!(both(vec![envelope(4, open(1))]), [vec![2], vec![1]]);
        assert_eq!(both(vec![envelope(4, open(1)), envelope(5, open(2))]), [vec![1]]);
        let back = Undone { act: "act-4".into(), why: String::new() };
        assert_eq!(both(vec![envelope(4, open(1)), envelope(5, back)]), [vec![1, 2], vec![1]]);
    }

    #[test]
    fn what_was_read_again_is_what_counts() {
        let begun = || vec![envelope(1, seen("hole", &[3], true))];
        assert_eq!(holes([begun(), vec![envelope(2, seen("hole", &[3], false))]].concat()), NONE);
        // Read again and outside again: one fault, the newer one.
        assert_eq!(holes([begun(), vec![envelope(2, seen("hole", &[3], true))]].concat()), [[3]]);
        // Another thing read at the same hole says nothing of this one.
        assert_eq!(holes([begun(), vec![envelope(2, seen("gap", &[3], false))]].concat()), [[3]]);
    }

    #[test]
    fn a_decision_ends_it_and_what_is_no_fault_never_stood() {
        let decided = Decided {
            about: "act-1".into(),
            what: "leave it".into(),
            who: "N".into(),
            role: "designer".into(),
        };
        let events = vec![envelope(1, seen("figure-eight", &[2], true)), envelope(2, decided)];
        assert_eq!(holes(events), NONE);
        assert_eq!(holes(vec![envelope(1, seen("hole", &[2], false))]), NONE);
    }
}
