//! Tools, set-ups, settings and order of a run, on small spars whose answers are known by hand.

#![allow(clippy::unwrap_used, reason = "a test ends where its plan is not as written")]

use std::collections::BTreeMap;

use faying_bench::reach::Reaches;
use faying_bench::{Asked, Bench, Change, Proven, Run, run};
use faying_joint::{Constants, Joints};
use faying_plan::{HoleId, Plan, SourceText, read};
use faying_sequence::Sequence;
use faying_standards::inches;

/// A flat web of 20 in with a cap all over it and a doubler on its first ten inches.
fn plan(rows: &str) -> Plan {
    let text = format!(
        "format = 1\nid = \"spar\"\n[usual]\nhead = \"aft\"\n[parts]\nweb = {{ thickness = 0.040 }}\n\
         cap = {{ thickness = 0.040 }}\ndoubler = {{ thickness = 0.063 }}\n[planes.web]\nnear = \"aft\"\nfar = \"forward\"\n\
         layers = [\"doubler\", \"web\", \"cap\"]\noutline.doubler = {{ rect = [0, 0, 10, 2] }}\n\
         outline.web = {{ rect = [0, 0, 20, 2] }}\noutline.cap = {{ rect = [0, 0, 20, 2] }}\n[planes.web.rows]\n{rows}\n\
         [steps.all]\nadds = [\"web\", \"cap\", \"doubler\"]\nsets = [\"web\"]\n"
    );
    let reading = read(vec![SourceText { name: "plan/spar.toml".into(), text: text.into() }]);
    assert_eq!(reading.findings, [], "the plan of a test is sound");
    reading.plan
}

/// What is asked beside the step.
#[derive(Default)]
struct Ask<'a> {
    set: &'a [&'a str],
    put_off: &'a [&'a str],
    without: &'a [&'a str],
    proven: &'a [Proven],
    follow: &'a [&'a str],
    standing: Option<(&'a [String], &'a str)>,
}

fn the_run(plan: &Plan, ask: &Ask<'_>) -> Run {
    let joints = Joints::of(plan);
    let sequence = Sequence::of(plan, &joints.stacks);
    let reaches = Reaches::of(plan, &joints, &sequence);
    let constants = Constants::with(&plan.limits);
    let without: Vec<String> = ask.without.iter().map(|&name| name.to_owned()).collect();
    let bench = Bench {
        plan,
        joints: &joints,
        sequence: &sequence,
        reaches: &reaches,
        constants: &constants,
        times: &plan.tools.times,
        springs: &BTreeMap::new(),
        proven: ask.proven,
        without: &without,
    };
    let step = plan.step_named("spar/all").unwrap();
    let hole = |name: &&str| plan.hole_named(&format!("spar/web/{name}")).unwrap();
    let named = |names: &[&str]| names.iter().map(hole).collect::<Vec<HoleId>>();
    let set = named(ask.set);
    let holes: Vec<HoleId> =
        sequence.work(step).fill.iter().copied().filter(|hole| !set.contains(hole)).collect();
    let asked = Asked {
        step,
        holes: &holes,
        put_off: &named(ask.put_off),
        standing: ask.standing.map(|(on, at)| (on, hole(&at))),
        follow: &named(ask.follow),
    };
    let run = run(&bench, &asked, &mut |progress| progress.calls > 20_000);
    let mut all: Vec<HoleId> = run.set_ups.iter().flat_map(|it| it.holes.clone()).collect();
    all.sort_unstable();
    assert_eq!(all, holes, "every hole once");
    assert!(run.takes.bound <= run.takes.seconds + 1e-6, "{:?}", run.takes);
    run
}

fn order(plan: &Plan, run: &Run) -> Vec<String> {
    run.set_ups
        .iter()
        .flat_map(|it| &it.holes)
        .map(|&hole| format!("{}{}", plan[plan[hole].row].name, plan[hole].number))
        .collect()
}

/// Ten holes: those at 1 to 9 through the doubler too (G .143, a -5), the rest without it (G .080, a -4).
const TEN: &str = "A = { from = [1, 1], to = [19, 1], count = 10, rivet = \"MS20470AD4\" }";

#[test]
fn every_other_hole_first_and_one_set_up_for_one_stack() {
    let plan = plan(
        "A = { from = [11, 0.6], to = [19, 0.6], count = 5, rivet = \"MS20470AD4\" }\nB = { like = \"A\", shift = [0, 0.8], rivet = \"MS20470AD4\" }",
    );
    let run = the_run(&plan, &Ask::default());
    assert_eq!(run.set_ups.len(), 1, "two rows, one stack, one set-up");
    let order = order(&plan, &run);
    let at = |name: &str| order.iter().position(|it| it == name).unwrap();
    for row in ["A", "B"] {
        let last_first = ["1", "3", "5"].map(|n| at(&format!("{row}{n}"))).into_iter().max().unwrap();
        let first_second = ["2", "4"].map(|n| at(&format!("{row}{n}"))).into_iter().min().unwrap();
        assert!(last_first < first_second, "every other one of {row} comes first: {order:?}");
    }
    // Along one row and back along the other: both passes walk 8 in along and .8 across, no more.
    assert!(run.takes.travel_in < 2.0 * (2.0 * 8.0 + 2.0), "{}", run.takes.travel_in);
    assert!(run.takes.proven || run.takes.seconds - run.takes.bound < 0.02 * run.takes.seconds);
}

#[test]
fn a_doubler_makes_a_second_set_up_and_the_second_is_a_change_from_the_first() {
    let plan = plan(TEN);
    let run = the_run(&plan, &Ask::default());
    let mut grips: Vec<String> =
        run.set_ups.iter().map(|it| it.stacks[0].seat_to_seat.unwrap().decimal()).collect();
    assert_eq!(run.set_ups[0].change, Change::First);
    let Change::From { open, words, of } = &run.set_ups[1].change else {
        panic!("{:?}", run.set_ups[1].change)
    };
    assert_eq!(of, &run.set_ups[0].title);
    // ΔG is .063. Both aim near the middle of .050 to .070, and both press to about the same width,
    // so neither Δh nor ΔF/k moves it by more than some thousandths.
    assert!((open.abs() - inches(0.063)).abs() < inches(0.008), "{open:?}");
    assert!(words.contains("turn"), "a ram thread is turned: {words}");
    assert_eq!((run.takes.settings, run.takes.least_settings), (2, 2));
    grips.sort_unstable();
    assert_eq!(grips, [".080", ".143"]);
}

#[test]
fn a_head_proven_earlier_is_counted_from() {
    let plan = plan(TEN);
    let first = the_run(&plan, &Ask::default());
    let joints = Joints::of(&plan);
    let sequence = Sequence::of(&plan, &joints.stacks);
    let reaches = Reaches::of(&plan, &joints, &sequence);
    let constants = Constants::with(&plan.limits);
    let bench = Bench {
        plan: &plan,
        joints: &joints,
        sequence: &sequence,
        reaches: &reaches,
        constants: &constants,
        times: &plan.tools.times,
        springs: &BTreeMap::new(),
        proven: &[],
        without: &[],
    };
    let thin = plan.hole_named("spar/web/A/10").unwrap();
    // A head of that very stack, but .004 lower than the middle of what works.
    let aim = first.set_ups.iter().find(|it| it.holes.contains(&thin)).unwrap().stacks[0].aim.unwrap();
    let dies = first.set_ups[0].dies_key();
    let proven = Proven::of(&bench, thin, dies, "yesterday's".into(), aim - inches(0.004)).unwrap();
    let run = the_run(&plan, &Ask { proven: &[proven], ..Ask::default() });
    let set_up = run.set_ups.iter().find(|it| it.holes.contains(&thin)).unwrap();
    let from_yesterday = run.set_ups.iter().position(|it| it.holes.contains(&thin)) == Some(0);
    let Change::From { open, of, .. } = &set_up.change else { panic!("{:?}", set_up.change) };
    if from_yesterday {
        assert_eq!(of, "yesterday's");
        // Higher by .004 at less force: the gap opens by that, and by what the yoke springs back less.
        assert!(*open >= inches(0.003) && *open <= inches(0.012), "{open:?}");
    } else {
        assert_ne!(of, "yesterday's", "what stands on the tool by then is counted from");
    }
}

#[test]
fn what_is_set_is_not_set_again_and_the_tray_has_a_tenth_more() {
    let plan = plan(TEN);
    let run = the_run(&plan, &Ask { set: &["A/1"], ..Ask::default() });
    assert_eq!(run.bag.iter().map(|line| line.need).sum::<usize>(), 9);
    assert!(run.bag.iter().all(|line| line.spare == 1), "a tenth of four and of five, rounded up");
}

#[test]
fn the_first_three_heads_and_then_one_in_ten_are_measured() {
    let plan = plan("A = { from = [10.5, 1], to = [19.5, 1], count = 19, rivet = \"MS20470AD4\" }");
    let run = the_run(&plan, &Ask::default());
    let set_up = &run.set_ups[0];
    let places: Vec<usize> =
        set_up.measure.iter().map(|hole| set_up.holes.iter().position(|it| it == hole).unwrap()).collect();
    assert_eq!(places, [0, 1, 2, 12]);
}

#[test]
fn what_is_put_off_comes_last() {
    let plan = plan(TEN);
    let run = the_run(&plan, &Ask { put_off: &["A/1", "A/2"], ..Ask::default() });
    let order = order(&plan, &run);
    let mut last = order[8..].to_vec();
    last.sort_unstable();
    assert_eq!(last, ["A1", "A2"]);
}

#[test]
fn what_is_on_the_tool_is_used_up_before_it_is_changed() {
    let plan = plan(TEN);
    let all = the_run(&plan, &Ask::default());
    // Whichever set-up comes second when nothing is on the tool comes first when it is on it.
    let second = &all.set_ups[1];
    let at = format!("A/{}", plan[second.holes[0]].number);
    let rest = Ask { set: &[&at], standing: Some((&second.on, &at)), ..Ask::default() };
    let run = the_run(&plan, &rest);
    assert_eq!(run.set_ups[0].key, second.key);
    assert_eq!(run.set_ups.len(), 2);
}

#[test]
fn without_a_tool_another_one_does_it() {
    let plan = plan(TEN);
    let usual = the_run(&plan, &Ask::default());
    let first = usual.set_ups[0].on[0].clone();
    let run = the_run(&plan, &Ask { without: &[&first], ..Ask::default() });
    assert!(run.set_ups.iter().all(|it| it.on[0] != first), "{:?}", run.set_ups[0].on);
    assert!(run.set_ups.iter().all(|it| it.choice.means.is_some()));
    let none: Vec<&str> = plan
        .tools
        .squeezers
        .iter()
        .map(|it| it.name.as_str())
        .chain(plan.tools.guns.iter().map(|it| it.name.as_str()))
        .collect();
    let run = the_run(&plan, &Ask { without: &none, ..Ask::default() });
    assert!(run.set_ups.iter().all(|it| it.choice.means.is_none()), "and says that none does");
}

#[test]
fn the_order_of_the_other_hand_is_kept_where_it_can_be() {
    let plan = plan(TEN);
    // The doubler's part first although nothing asks for it, and from its far end.
    let follow = ["A/5", "A/3", "A/1", "A/4", "A/2", "A/10", "A/8", "A/6", "A/9", "A/7"];
    let run = the_run(&plan, &Ask { follow: &follow, ..Ask::default() });
    assert_eq!(order(&plan, &run), ["A5", "A3", "A1", "A4", "A2", "A10", "A8", "A6", "A9", "A7"]);
    // One that breaks the passes is not.
    let wrong = ["A/2", "A/1", "A/3", "A/4", "A/5", "A/6", "A/7", "A/8", "A/9", "A/10"];
    let run = the_run(&plan, &Ask { follow: &wrong, ..Ask::default() });
    assert_ne!(order(&plan, &run)[..2], ["A2".to_owned(), "A1".to_owned()]);
}

#[test]
fn the_order_takes_no_longer_than_the_plans_own() {
    // Every second hole of the row is flush: as listed, the dies are changed at each.
    let rows: String = (0..10)
        .map(|n| {
            let (rivet, head) = if n % 2 == 0 { ("MS20470AD4", "") } else { ("MS20426AD3", "") };
            format!("R{n} = {{ at = [[{}, 1]], rivet = \"{rivet}\"{head} }}\n", 10.75 + f64::from(n))
        })
        .collect();
    let plan = plan(&rows);
    let run = the_run(&plan, &Ask::default());
    let takes = &run.takes;
    assert!(takes.seconds < takes.plan_order, "{takes:?}");
    assert_eq!(takes.changes[2], 1, "dies are changed once");
    assert_eq!(takes.plan_changes[2], 9, "as listed at every hole");
}

#[test]
fn other_fasteners_are_carried_as_written() {
    let plan = plan("P = { at = [[12, 1], [14, 1]], called = \"AN3-5A\" }");
    let run = the_run(&plan, &Ask::default());
    assert_eq!(run.set_ups.len(), 1);
    let set_up = &run.set_ups[0];
    assert_eq!((set_up.title.as_str(), set_up.choice.means), ("AN3-5A", None));
    assert_eq!(set_up.change, Change::None);
    assert!(set_up.measure.is_empty());
}

/// A text of its own, where the usual spar does not do; its step is `spar/all`.
fn plan_of(text: &str) -> Plan {
    let reading = read(vec![SourceText { name: "plan/spar.toml".into(), text: text.into() }]);
    assert_eq!(reading.findings, [], "the plan of a test is sound");
    reading.plan
}

#[test]
fn a_rivet_under_a_doubler_comes_before_the_rivets_that_hold_the_doubler() {
    // The doubler is drawn over row A at 1 to 9, and A is through web and cap alone: it lies under it.
    // A8 and A10 (at 15 and 19) lie beside it. By the pitch alone A would be walked last or first at will;
    // with the doubler's own row nearer to the start, the shorter way would begin with B.
    let plan = plan_of(
        "format = 1\nid = \"spar\"\n[usual]\nhead = \"aft\"\n[parts]\nweb = { thickness = 0.040 }\n\
         cap = { thickness = 0.040 }\ndoubler = { thickness = 0.063 }\n[planes.web]\nnear = \"aft\"\nfar = \"forward\"\n\
         layers = [\"doubler\", \"web\", \"cap\"]\noutline.doubler = { rect = [0, 0, 10, 2] }\n\
         outline.web = { rect = [0, 0, 20, 2] }\noutline.cap = { rect = [0, 0, 20, 2] }\n[planes.web.rows]\n\
         B = { from = [1, 1.5], to = [9, 1.5], count = 5, rivet = \"MS20470AD4\" }\n\
         A = { from = [1, 0.5], to = [19, 0.5], count = 10, rivet = \"MS20470AD4\", through = [\"web\", \"cap\"] }\n\
         [steps.all]\nadds = [\"web\", \"cap\", \"doubler\"]\nsets = [\"web\"]\n",
    );
    let run = the_run(&plan, &Ask::default());
    let order = order(&plan, &run);
    let at = |name: String| order.iter().position(|it| *it == name).unwrap();
    let last_under = (1..=5).map(|n| at(format!("A{n}"))).max().unwrap();
    let first_over = (1..=5).map(|n| at(format!("B{n}"))).min().unwrap();
    assert!(last_under < first_over, "the doubler hides A1 to A5: {order:?}");
}

#[test]
fn a_side_that_the_step_closes_is_finished_before_what_closes_it() {
    // The skin is a plane of its own and hides the web's forward side in the same step.
    let plan = plan_of(
        "format = 1\nid = \"spar\"\n[usual]\nhead = \"aft\"\n[parts]\nweb = { thickness = 0.040 }\n\
         cap = { thickness = 0.040 }\nskin = { thickness = 0.025 }\n[planes.skin]\nnear = \"aft\"\nfar = \"forward\"\n\
         layers = [\"skin\", \"cap\"]\noutline.skin = { rect = [0, 0, 20, 2] }\noutline.cap = { rect = [0, 0, 20, 2] }\n\
         [planes.skin.rows]\nS = { from = [1, 1], to = [9, 1], count = 5, rivet = \"MS20470AD4\" }\n\
         [planes.web]\nnear = \"aft\"\nfar = \"forward\"\n\
         layers = [\"web\", \"cap\"]\noutline.web = { rect = [0, 0, 20, 2] }\noutline.cap = { rect = [0, 0, 20, 2] }\n\
         [planes.web.rows]\nA = { from = [1, 1], to = [9, 1], count = 5, rivet = \"MS20470AD4\" }\n\
         [steps.frame]\nadds = [\"web\", \"cap\"]\n\
         [steps.all]\nadds = [\"skin\"]\nsets = [\"skin\", \"web\"]\ncloses = [\"web: forward\"]\nafter = [\"frame\"]\n",
    );
    let run = the_run(&plan, &Ask::default());
    let order = order(&plan, &run);
    let (first_skin, last_web) = (
        order.iter().position(|it| it.starts_with('S')).unwrap(),
        order.iter().rposition(|it| it.starts_with('A')).unwrap(),
    );
    assert!(last_web < first_skin, "the skin hides the web: {order:?}");
}

#[test]
fn a_tool_that_is_out_anyway_sets_the_few_that_would_need_another() {
    // A sheet of 30 by 30 in: row A in its middle is 14 in and more from every edge, beyond the deep
    // yoke's 4 in; row B, two holes near the edge, is within it. For B alone the squeezer would cost a
    // tool (or yoke, dies) and a head on scrap, minutes for two rivets.
    let plan = plan_of(
        "format = 1\nid = \"spar\"\n[usual]\nhead = \"aft\"\n[parts]\nweb = { thickness = 0.040 }\n\
         cap = { thickness = 0.040 }\n[planes.web]\nnear = \"aft\"\nfar = \"forward\"\n\
         layers = [\"web\", \"cap\"]\noutline.web = { rect = [0, 0, 30, 30] }\noutline.cap = { rect = [0, 0, 30, 30] }\n\
         [planes.web.rows]\nA = { from = [14, 14], to = [16, 14], count = 6, rivet = \"MS20470AD4\" }\n\
         B = { from = [14, 1], to = [16, 1], count = 2, rivet = \"MS20470AD4\" }\n\
         [steps.all]\nadds = [\"web\", \"cap\"]\nsets = [\"web\"]\n",
    );
    let alone = the_run(&plan, &Ask { set: &["A/1", "A/2", "A/3", "A/4", "A/5", "A/6"], ..Ask::default() });
    assert!(
        alone.set_ups[0].choice.tool.contains("squeezer"),
        "by itself B is squeezed: {:?}",
        alone.set_ups[0].choice
    );
    let run = the_run(&plan, &Ask::default());
    assert_eq!(
        run.set_ups.len(),
        1,
        "{:?}",
        run.set_ups.iter().map(|it| it.choice.words()).collect::<Vec<_>>()
    );
    assert!(
        run.set_ups[0].choice.notes.iter().any(|note| note.contains("is out anyway")),
        "{:?}",
        run.set_ups[0].choice
    );
}
