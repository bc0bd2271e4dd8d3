//! What stays open, what is hidden, how far every step is: on a flap spar as a plan would write it.
//!
//! The expected numbers are counted by hand from the positions in the text:
//! row A has 37 holes from 1 to 46 in, so hole n lies at 1 + 1.25·(n − 1).

#![allow(clippy::unwrap_used, reason = "a test ends where its plan is not as written")]

use faying_joint::Stacks;
use faying_plan::{HoleId, Plan, SourceText, StepId, read};
use faying_record::{Envelope, Event, HolesSet, State, StepDone};
use faying_sequence::{Openness, Sequence, StepState, check, progress};

const FLAP: &str = r#"
format = 1
id = "flap-left"
[usual]
rivet = "MS20470AD4"
[parts]
web = { thickness = 0.040 }
cap = { thickness = 0.040, copies = ["lower", "upper"] }
rib = { thickness = 0.025, copies = ["1", "2"] }
skin = { thickness = 0.025 }
[planes.web]
near = "aft"
far = "forward"
layers = ["rib", "web", "cap"]
outline.web = { rect = [0, 0, 47, 4.5] }
outline.cap = [{ rect = [0, 0, 47, 1.0] }, { rect = [0, 3.5, 47, 1.0] }]
outline.rib = [{ rect = [5.5, 0.1, 3.5, 4.3] }, { rect = [36.75, 0.1, 3.5, 4.3] }]
[planes.web.rows]
A = { from = [1, 0.5], to = [46, 0.5], count = 37 }
B = { like = "A", shift = [0, 3.5], hold = { until = "skin", why = "fits the skin" } }
[steps.prime]
[steps.caps]
adds = ["web", "cap"]
sets = ["web/A"]
after = ["prime"]
[steps.ribs]
adds = ["rib"]
sets = ["web/A"]
after = ["caps"]
[steps.skin]
adds = ["skin"]
sets = ["web/B"]
closes = ["web: aft"]
after = ["ribs"]
"#;

fn build(text: &str) -> (Plan, Stacks, Sequence) {
    let plan = read(vec![SourceText { name: "plan/flap-left.toml".into(), text: text.into() }]).plan;
    let stacks = Stacks::of(&plan);
    let sequence = Sequence::of(&plan, &stacks);
    (plan, stacks, sequence)
}

fn step(plan: &Plan, name: &str) -> StepId {
    plan.step_named(&format!("flap-left/{name}")).unwrap()
}

fn hole(plan: &Plan, name: &str) -> HoleId {
    plan.hole_named(&format!("flap-left/web/{name}")).unwrap()
}

#[test]
fn holes_under_a_later_rib_stay_open_until_it_comes() {
    let (plan, _, sequence) = build(FLAP);
    // Rib 1 covers 5.5 to 9 in: holes at 6, 7.25, 8.5; rib 2 covers 36.75 to 40.25: 37.25, 38.5, 39.75.
    let under = ["A/5", "A/6", "A/7", "A/30", "A/31", "A/32"].map(|name| hole(&plan, name));
    let caps = sequence.work(step(&plan, "caps"));
    assert_eq!(caps.fill.len(), 37 - under.len());
    let shared: Vec<HoleId> = caps
        .open
        .iter()
        .filter(
            |(_, why)| matches!(why, Openness::SharedWith { arrives, .. } if *arrives == step(&plan, "ribs")),
        )
        .map(|(hole, _)| *hole)
        .collect();
    assert_eq!(shared, under);
    assert_eq!(sequence.work(step(&plan, "ribs")).fill, under, "and only those are left for the ribs");
}

#[test]
fn a_held_row_of_the_same_plane_is_taped_off_too() {
    let (plan, _, sequence) = build(FLAP);
    let held = |name: &str| {
        let open = &sequence.work(step(&plan, name)).open;
        open.iter().filter(|(_, why)| matches!(why, Openness::Held { until: Some(until) } if *until == step(&plan, "skin"))).count()
    };
    assert_eq!(held("caps"), 37);
    assert_eq!(held("ribs"), 37);
    assert_eq!(sequence.work(step(&plan, "skin")).fill.len(), 37, "row B, at its own step");
    assert!(sequence.work(step(&plan, "skin")).open.is_empty());
}

fn findings(text: &str) -> String {
    let (plan, stacks, sequence) = build(text);
    check(&plan, &stacks, &sequence).iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

#[test]
fn this_plan_has_nothing_to_look_at() {
    assert_eq!(findings(FLAP), "");
}

/// Pains of the trade: an item forgotten behind a closed skin (P85), work wanted before a closing (P86).
#[test]
fn p85_p86_a_closing_that_comes_before_what_it_hides() {
    let early = FLAP
        .replace("sets = [\"web/A\"]\nafter = [\"caps\"]", "sets = [\"web/A\"]\nafter = [\"caps\", \"skin\"]")
        .replace(
            "closes = [\"web: aft\"]\nafter = [\"ribs\"]",
            "closes = [\"web: aft\"]\nafter = [\"caps\"]",
        );
    insta::assert_snapshot!(findings(&early), @r#"
    plan/flap-left.toml:20:1  row B, holes 5 to 7 and 30 to 32: stay open at every step that sets them; they wait for rib/1, which comes at ribs
      20 │ B = { like = "A", shift = [0, 3.5], hold = { until = "skin", why = "fits the skin" } }
         │ ^
      add the row to `sets` of ribs, or of a step after it
    plan/flap-left.toml:30:8  step skin hides flap-left/web: aft, and row A, holes 5 to 7 and 30 to 32, is set at flap-left/ribs
      30 │ [steps.skin]
         │        ^^^^
      let the closing come `after` that step, or hold the row with its reason
    "#);
}

/// A blind rivet is pulled from the side of its head: hiding the other one does not make it late.
#[test]
fn what_is_pulled_from_the_open_side_is_still_reached() {
    let pulled = |head: &str| {
        FLAP.replace(
            "B = { like = \"A\", shift = [0, 3.5], hold = { until = \"skin\", why = \"fits the skin\" } }",
            &format!(
                "B = {{ like = \"A\", shift = [0, 3.5], called = \"MS20600AD4W2\", head = \"{head}\" }}"
            ),
        )
        .replace("sets = [\"web/B\"]\n", "")
            + "[steps.last]\nsets = [\"web/B\"]\nafter = [\"skin\"]\n"
    };
    let hidden = |head: &str| findings(&pulled(head)).matches("hides flap-left/web: aft, and row B").count();
    assert_eq!((hidden("forward"), hidden("aft")), (0, 1));
}

#[test]
fn a_row_that_waits_for_a_part_and_is_never_set_again() {
    let forgotten = FLAP.replace("adds = [\"rib\"]\nsets = [\"web/A\"]", "adds = [\"rib\"]");
    insta::assert_snapshot!(findings(&forgotten), @r#"
    plan/flap-left.toml:19:1  row A, holes 5 to 7 and 30 to 32: stay open at every step that sets them; they wait for rib/1, which comes at ribs
      19 │ A = { from = [1, 0.5], to = [46, 0.5], count = 37 }
         │ ^
      add the row to `sets` of ribs, or of a step after it
    plan/flap-left.toml:29:8  step skin hides flap-left/web: aft, and row A, holes 5 to 7 and 30 to 32, is set at no step
      29 │ [steps.skin]
         │        ^^^^
      let the closing come `after` that step, or hold the row with its reason
    "#);
}

#[test]
fn a_hold_without_an_end_is_told() {
    let endless = FLAP.replace("until = \"skin\", ", "");
    let told = findings(&endless);
    assert!(told.contains("held without an end"), "{told}");
}

fn done(order: u64, event: impl Into<Event>) -> Envelope {
    let mut envelope =
        Envelope::around(&event.into(), format!("act-{order}"), String::new(), String::new(), 1);
    envelope.order = order;
    envelope
}

#[test]
fn a_step_is_ready_when_those_before_it_are_done() {
    let (plan, _, sequence) = build(FLAP);
    let state_of = |state: &State, name: &str| {
        let id = step(&plan, name);
        progress(&plan, &sequence, state, 0).steps.into_iter().find(|it| it.step == id).unwrap()
    };
    let empty = State::fold(&plan, Vec::new());
    assert_eq!(state_of(&empty, "prime").state, StepState::Ready);
    assert_eq!(state_of(&empty, "caps").state, StepState::Blocked { by: step(&plan, "prime") });

    let mut acts = vec![done(1, StepDone { step: "flap-left/prime".into(), note: String::new() })];
    let primed = State::fold(&plan, acts.clone());
    assert_eq!(state_of(&primed, "prime").state, StepState::Done);
    assert_eq!(state_of(&primed, "caps").state, StepState::Ready);
    assert_eq!(state_of(&primed, "caps").left(), 31);

    let holes = sequence.work(step(&plan, "caps")).fill.iter().map(|&hole| plan.hole_name(hole)).collect();
    acts.push(done(
        2,
        HolesSet { holes, run: String::new(), set_up: String::new(), fastener: String::new() },
    ));
    let set = State::fold(&plan, acts);
    assert_eq!(state_of(&set, "caps").state, StepState::Done);
    assert_eq!(state_of(&set, "ribs").state, StepState::Ready);
    assert_eq!(progress(&plan, &sequence, &set, 0).set, 31);
}

#[test]
fn steps_in_a_circle_do_not_hang_anything() {
    let circle = FLAP.replace("[steps.prime]\n", "[steps.prime]\nafter = [\"skin\"]\n");
    let (plan, _, sequence) = build(&circle);
    assert_eq!(sequence.order.sorted().len(), plan.steps.len());
}
