//! The session's work, batches and the working order, on small plans whose answer is known: by hand, or
//! by trying everything.

#![allow(clippy::unwrap_used, reason = "a test ends where its plan is not as written")]

use std::fmt::Write;

use faying_joint::Stacks;
use faying_plan::{Plan, SourceText, StepId, read};
use faying_record::{Envelope, State, StepDone};
use faying_sequence::{
    Asked, Calendar, Day, Effort, Moment, Pick, Progress, Reason, Sequence, Session, Week, Weekday, With,
    WorkingOrder, batches, progress, today, working_order,
};
use proptest::prelude::*;

struct Build {
    plan: Plan,
    sequence: Sequence,
    progress: Progress,
    effort: Effort,
}

/// A plan of one assembly from the lines of its steps, some of them done.
fn build(steps: &str, done: &[&str]) -> Build {
    let text = format!(
        "format = 1\nid = \"tab\"\n[parts]\nweb = {{ finish = \"prime\" }}\nrib = {{ finish = \"prime inside\" }}\n\
         skin = {{ finish = \"alodine\" }}\n[steps]\n{steps}"
    );
    let plan = read(vec![SourceText { name: "plan/tab.toml".into(), text: text.into() }]).plan;
    let sequence = Sequence::of(&plan, &Stacks::of(&plan));
    let envelopes: Vec<Envelope> = (1..)
        .zip(done)
        .map(|(order, step)| {
            let event = StepDone { step: format!("tab/{step}"), note: String::new() }.into();
            let at = "2026-05-12T19:30:12Z".to_owned();
            let mut envelope = Envelope::around(&event, format!("act-{order}"), at, "builder".into(), 1);
            envelope.order = order;
            envelope.seq = order;
            envelope.writer = "bench".into();
            envelope
        })
        .collect();
    let state = State::fold(&plan, envelopes);
    // Long after everything has cured.
    let progress = progress(&plan, &sequence, &state, 4_000_000_000);
    let effort = Effort::of(&plan, &sequence, &progress);
    Build { plan, sequence, progress, effort }
}

impl Build {
    fn today(&self, hours: f64, helper: bool) -> Vec<Pick> {
        let asked = Asked { hours, helper, pace: 1.0 };
        today(&self.plan, &self.sequence, &self.progress, &self.effort, asked)
    }

    fn names(&self, picks: &[Pick]) -> Vec<String> {
        picks.iter().map(|pick| self.plan[pick.step].name.clone()).collect()
    }

    fn step(&self, name: &str) -> StepId {
        self.plan.step_named(&format!("tab/{name}")).unwrap()
    }

    fn order(&self) -> WorkingOrder {
        let evening = |weekday| Session { weekday, start_hour: 19.0, hours: 2.0 };
        let week = Week::new(Weekday::ALL.into_iter().map(evening).collect()).unwrap();
        let start = Moment { day: Day::of(2026, 11, 23).unwrap(), hour: 0.0 };
        let calendar = Calendar::new(start, week);
        let with = With { calendar: &calendar, pace: 1.0, work: 3_000_000 };
        working_order(&self.plan, &self.sequence, &self.progress, &self.effort, &with).unwrap()
    }
}

#[test]
fn the_longest_way_goes_first_and_what_it_makes_ready_follows() {
    // a and b are ready; behind a lie nine hours, behind b nothing.
    let kit = build(
        "a = { hours = 1 }\nb = { hours = 1 }\nc = { hours = 1, after = [\"a\"] }\nd = { hours = 8, after = [\"c\"] }\n",
        &[],
    );
    let picks = kit.today(2.0, false);
    assert_eq!(kit.names(&picks), ["a", "c"]);
    assert_eq!(picks[0].reasons, [Reason::LongestWay { hours: 10.0 }, Reason::MakesReady { steps: 1 }]);
    // Three hours: d is only begun, or b is finished. Something that is done is worth more.
    assert_eq!(kit.names(&kit.today(3.0, false)), ["a", "c", "d"]);
    let picks = kit.today(1.0, false);
    assert_eq!(kit.names(&picks), ["a"]);
}

#[test]
fn a_cure_and_a_gate_are_not_leapt_over() {
    let kit =
        build("a = { hours = 1, cure = 24 }\nb = { hours = 1, after = [\"a\"] }\nc = { hours = 0.5 }\n", &[]);
    assert_eq!(kit.names(&kit.today(3.0, false)), ["a", "c"], "b must wait for the cure");
    let gated = build(
        "a = { hours = 1 }\nb = { hours = 1, after = [\"a\"] }\n[gates.shut]\nbefore = \"b\"\nneeds = [\"check:wires\"]\n",
        &[],
    );
    assert_eq!(gated.names(&gated.today(3.0, false)), ["a"], "the gate before b is not passed");
}

#[test]
fn two_people_and_batches() {
    let kit = build("a = { hours = 1, people = 2 }\nb = { hours = 1 }\n", &[]);
    assert_eq!(kit.names(&kit.today(2.0, false)), ["b"]);
    assert_eq!(kit.names(&kit.today(2.0, true)).len(), 2);
    // An hour of getting ready, once for both batches; a batch is not left half sprayed.
    let kit = build(
        "p = { work = \"prime\", parts = [\"web\"], hours = 1 }\nq = { work = \"prime\", parts = [\"rib\"], hours = 1 }\n",
        &[],
    );
    let picks = kit.today(3.0, false);
    assert_eq!(kit.names(&picks), ["p", "q"]);
    assert!(picks[1].reasons.contains(&Reason::SameBatch));
    assert_eq!(picks.iter().map(|pick| pick.hours).sum::<f64>(), 3.0);
    assert!(kit.today(1.5, false).is_empty(), "an hour to get ready and an hour to spray do not fit");
}

#[test]
fn a_batch_says_what_can_join_and_what_waiting_costs() {
    let kit = build(
        "prep = { hours = 2 }\np = { work = \"prime\", parts = [\"web\"] }\n\
         q = { work = \"prime\", parts = [\"rib\"], after = [\"prep\"] }\n\
         z = { work = \"prime\", parts = [\"skin\"], after = [\"p\"] }\n\
         set = { hours = 5, after = [\"p\"] }\nboth = { hours = 3, after = [\"p\", \"q\"] }\n",
        &[],
    );
    let found = batches(&kit.plan, &kit.sequence, &kit.progress, &kit.effort);
    let prime = found.iter().find(|it| it.finish == "prime").unwrap();
    assert_eq!(prime.ready, [kit.step("p")]);
    assert_eq!(prime.forward.len(), 1);
    assert_eq!((prime.forward[0].step, prime.forward[0].hours), (kit.step("q"), 2.0));
    assert_eq!(prime.forward[0].first, [kit.step("prep")]);
    assert_eq!(
        (prime.set_up_hours, prime.waiting_hours),
        (1.0, 5.0 + 1.0),
        "set, and z with the hour of a step"
    );
    // Alodine is another bath, and its part is not primed yet: nothing can join.
    let bath = found.iter().find(|it| it.finish == "alodine").unwrap();
    assert!(bath.ready.is_empty() && bath.forward.is_empty());
}

#[test]
fn two_batches_become_one_and_a_cure_is_worked_over() {
    // Each batch takes an hour to get ready for; both can be sprayed together.
    let kit = build(
        "p = { work = \"prime\", parts = [\"web\"], hours = 1, cure = 24 }\n\
         q = { work = \"prime\", parts = [\"rib\"], hours = 1, cure = 24 }\n\
         a = { hours = 1, after = [\"p\"] }\nb = { hours = 1, after = [\"q\"] }\n",
        &[],
    );
    let order = kit.order();
    assert_eq!(order.shared_batches, 1);
    assert_eq!(order.turns.len(), 3);
    assert_eq!(order.turns[0].hours, 3.0, "one getting ready and two sprayed");
    // Two evenings for the three hours of spraying; it dries until the third day's evening at 20:00.
    assert_eq!(order.turns[1].begins, Moment { day: Day::of(2026, 11, 25).unwrap(), hour: 20.0 });
    assert_eq!(order.finish, order.bound, "nothing is sooner");
    // What does not dry is done meanwhile.
    let kit =
        build("p = { hours = 1, cure = 20 }\na = { hours = 1, after = [\"p\"] }\nc = { hours = 1 }\n", &[]);
    let order = kit.order();
    let names: Vec<&str> = order.turns.iter().map(|turn| kit.plan[turn.steps[0]].name.as_str()).collect();
    assert_eq!(names, ["p", "c", "a"]);
}

/// A random plan: each step after some of those before it.
fn random(hours: &[f64], after: &[u8]) -> Build {
    let mut text = String::new();
    for (step, (hours, mask)) in hours.iter().zip(after).enumerate() {
        let before: Vec<String> =
            (0..step).filter(|it| mask >> (it % 8) & 1 == 1).map(|it| format!("\"s{it}\"")).collect();
        let _ = writeln!(text, "s{step} = {{ hours = {hours}, after = [{}] }}", before.join(", "));
    }
    build(&text, &[])
}

/// The most that an evening can be worth, by trying every order of every set.
fn best(kit: &Build, hours: f64) -> f64 {
    fn go(kit: &Build, left: f64, done: &mut Vec<usize>, longest: f64, best: &mut f64, worth: f64) {
        *best = best.max(worth);
        for step in 0..kit.plan.steps.len() {
            let ready = !done.contains(&step)
                && kit.plan.steps[step].after.iter().all(|before| done.contains(&before.index()));
            if !ready {
                continue;
            }
            let an_hour = 1.0 + kit.effort.way[step] / longest;
            let own = kit.effort.left[step];
            if own <= left + 1e-9 {
                done.push(step);
                go(kit, left - own, done, longest, best, worth + own * an_hour);
                done.pop();
            } else if left >= 0.25 {
                // Something is begun last, and is worth less than what is finished.
                *best = best.max(worth + left * an_hour * 0.7);
            }
        }
    }
    let longest = kit.effort.way.iter().copied().fold(1e-9, f64::max);
    let mut most = 0.0;
    go(kit, hours, &mut Vec::new(), longest, &mut most, 0.0);
    most
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]
    #[test]
    fn no_set_of_ready_work_is_worth_more(
        hours in prop::collection::vec(1_u8..8, 1..7),
        after in prop::collection::vec(any::<u8>(), 7),
        session in 1_u8..12,
    ) {
        let hours: Vec<f64> = hours.iter().map(|it| f64::from(*it) / 4.0).collect();
        let session = f64::from(session) / 2.0;
        let kit = random(&hours, &after);
        let picks = kit.today(session, false);
        let longest = kit.effort.way.iter().copied().fold(1e-9, f64::max);
        let worth: f64 = picks
            .iter()
            .map(|pick| {
                let share = if pick.finishes { 1.0 } else { 0.7 };
                pick.hours * share * (1.0 + kit.effort.way[pick.step.index()] / longest)
            })
            .sum();
        prop_assert!((worth - best(&kit, session)).abs() < 1e-6, "{worth} is not {}", best(&kit, session));
        // And it can be done: everything before each pick is done, or picked before it.
        for (place, pick) in picks.iter().enumerate() {
            for before in &kit.plan[pick.step].after {
                prop_assert!(picks[..place].iter().any(|it| it.step == *before && it.finishes));
            }
        }
        prop_assert!(picks.iter().map(|pick| pick.hours).sum::<f64>() <= session + 1e-6);
    }

    #[test]
    fn a_working_order_keeps_what_comes_before(
        hours in prop::collection::vec(1_u8..8, 1..10),
        after in prop::collection::vec(any::<u8>(), 10),
    ) {
        let hours: Vec<f64> = hours.iter().map(|it| f64::from(*it) / 4.0).collect();
        let kit = random(&hours, &after);
        let order = kit.order();
        prop_assert_eq!(order.turns.iter().map(|turn| turn.steps.len()).sum::<usize>(), hours.len());
        for (place, turn) in order.turns.iter().enumerate() {
            for before in turn.steps.iter().flat_map(|&step| &kit.plan[step].after) {
                prop_assert!(order.turns[..place].iter().any(|it| it.steps.contains(before)));
            }
        }
        // One builder and nothing that cures: the order ends when the hours are worked, to the slot.
        prop_assert_eq!(order.finish, order.bound);
    }
}
