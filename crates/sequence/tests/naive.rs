//! What stays open, what a closing hides and what a gate asks for, against a recomputation that shares
//! no code with the room: from the texts of made-up plans, by walking `after` step by step.
//!
//! The plans are drawn from a seed: parts that arrive at steps, rows through two or three of them,
//! some held until a step, steps in a random order with some that close a side.

#![allow(clippy::unwrap_used, reason = "a test ends where its plan is not as written")]

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use faying_joint::Stacks;
use faying_plan::{GateId, HoleId, Plan, SourceText, StepId, read};
use faying_record::{Envelope, HolesSet, State};
use faying_sequence::{Block, Openness, Sequence, hidden_by, progress};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A made-up plan as its parts were drawn, beside its text.
struct MadeUp {
    text: String,
    /// For each row: its layers, the step until which it is held, its holes.
    rows: Vec<(Vec<usize>, Option<usize>, u32)>,
    /// For each part the step at which it arrives.
    arrives: Vec<usize>,
    /// For each step: those before it, rows it sets, whether it closes the near side.
    steps: Vec<(Vec<usize>, Vec<usize>, bool)>,
}

/// A plan of one plane with stacked holes by outline: every part covers a stretch, every row lies in one.
fn made_up(seed: u64, steps: usize, rows: usize, holes: u32) -> MadeUp {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let parts = (rows / 3).clamp(3, 24);
    // Most parts come early, as in a real build; some come late, and their rows stay open long.
    let arrives: Vec<usize> =
        (0..parts).map(|_| rng.random_range(0..steps).min(rng.random_range(0..steps)) / 2).collect();
    let mut made = MadeUp { text: String::new(), rows: Vec::new(), arrives, steps: Vec::new() };
    for step in 0..steps {
        // Few steps begin anew: what is walked is long.
        let count = if rng.random_bool(0.05) { 0 } else { rng.random_range(1..=2).min(step) };
        let before: BTreeSet<usize> =
            (0..count).map(|_| rng.random_range(step.saturating_sub(12)..step)).collect();
        made.steps.push((before.into_iter().collect(), Vec::new(), rng.random_bool(0.2)));
    }
    for row in 0..rows {
        let first = rng.random_range(0..parts);
        let second = (first + rng.random_range(1..parts)) % parts;
        let hold = rng.random_bool(0.2).then(|| rng.random_range(0..steps));
        made.rows.push((vec![first, second], hold, holes));
        for _ in 0..rng.random_range(1..=2) {
            let step = rng.random_range(0..steps);
            if !made.steps[step].1.contains(&row) {
                made.steps[step].1.push(row);
            }
        }
    }
    made.text = text(&made);
    made
}

fn text(made: &MadeUp) -> String {
    let mut text = "format = 1\nid = \"tab\"\n[usual]\nrivet = \"MS20470AD4\"\n[parts]\n".to_owned();
    for part in 0..made.arrives.len() {
        let _ = writeln!(text, "p{part} = {{ thickness = 0.040 }}");
    }
    text.push_str("[planes.web]\nnear = \"aft\"\nfar = \"forward\"\nlayers = [");
    let names: Vec<String> = (0..made.arrives.len()).map(|part| format!("\"p{part}\"")).collect();
    let _ = writeln!(text, "{}]", names.join(", "));
    // A row is a strip an inch high; a part's outline is all the strips in which it is a layer: drawn as
    // the list of layers instead, so that the geometry is not what is tested.
    text.push_str("[planes.web.rows]\n");
    for (row, (layers, hold, holes)) in made.rows.iter().enumerate() {
        let through: Vec<String> = layers.iter().map(|part| format!("\"p{part}\"")).collect();
        let hold = hold
            .map_or_else(String::new, |step| format!(", hold = {{ until = \"s{step}\", why = \"drawn\" }}"));
        let _ = writeln!(
            text,
            "r{row} = {{ from = [0, {row}], to = [{}, {row}], count = {holes}, through = [{}]{hold} }}",
            holes - 1,
            through.join(", ")
        );
    }
    for (step, (before, rows, closes)) in made.steps.iter().enumerate() {
        let adds: Vec<String> = made
            .arrives
            .iter()
            .enumerate()
            .filter(|(_, arrives)| **arrives == step)
            .map(|(part, _)| format!("\"p{part}\""))
            .collect();
        let sets: Vec<String> = rows.iter().map(|row| format!("\"web/r{row}\"")).collect();
        let after: Vec<String> = before.iter().map(|step| format!("\"s{step}\"")).collect();
        let _ = writeln!(
            text,
            "[steps.s{step}]\nadds = [{}]\nsets = [{}]\nafter = [{}]",
            adds.join(", "),
            sets.join(", "),
            after.join(", ")
        );
        if *closes {
            text.push_str("closes = [\"web: aft\"]\n");
        }
    }
    text
}

/// Steps that come before one, it included: by walking, one at a time.
fn by(made: &MadeUp, step: usize) -> BTreeSet<usize> {
    let mut seen = BTreeSet::from([step]);
    let mut next = vec![step];
    while let Some(step) = next.pop() {
        for &before in &made.steps[step].0 {
            if seen.insert(before) {
                next.push(before);
            }
        }
    }
    seen
}

/// Whether a row may be filled at a step: all its layers are there, and no hold stands.
fn may_fill(made: &MadeUp, row: usize, by: &BTreeSet<usize>) -> bool {
    let (layers, hold, _) = &made.rows[row];
    hold.is_none_or(|until| by.contains(&until))
        && layers.iter().all(|&part| by.contains(&made.arrives[part]))
}

/// The step that fills a row: the first, in the plan's working order, that names it and may.
fn due(made: &MadeUp, order: &[usize], row: usize) -> Option<usize> {
    order
        .iter()
        .copied()
        .find(|&step| made.steps[step].1.contains(&row) && may_fill(made, row, &by(made, step)))
}

fn build(text: &str) -> (Plan, Sequence) {
    let reading = read(vec![SourceText { name: "plan/tab.toml".into(), text: text.into() }]);
    let wrong: Vec<_> = reading
        .findings
        .iter()
        .filter(|it| !["never-added", "no-plane", "never-set"].contains(&it.kind))
        .collect();
    assert!(wrong.is_empty(), "{wrong:?}\n{text}");
    let sequence = Sequence::of(&reading.plan, &Stacks::of(&reading.plan));
    (reading.plan, sequence)
}

/// Rows by number, from holes.
fn rows_of(plan: &Plan, holes: impl IntoIterator<Item = HoleId>) -> BTreeSet<usize> {
    holes.into_iter().map(|hole| plan[plan[hole].row].name[1..].parse().unwrap()).collect()
}

/// What a comparison came across: rows filled, open, too late, and listed at gates.
#[derive(Debug, Default)]
struct Seen {
    filled: usize,
    filled_by_closing: usize,
    open: usize,
    late: usize,
    listed: usize,
}

fn compare(made: &MadeUp) -> Seen {
    let mut seen = Seen::default();
    let (plan, sequence) = build(&made.text);
    let order: Vec<usize> = sequence.order.sorted().iter().map(|step| step.index()).collect();
    // The working order keeps every `after`.
    for (place, &step) in order.iter().enumerate() {
        assert!(made.steps[step].0.iter().all(|before| order[..place].contains(before)), "{order:?}");
    }
    let dues: Vec<Option<usize>> = (0..made.rows.len()).map(|row| due(made, &order, row)).collect();
    for step in 0..made.steps.len() {
        let there = by(made, step);
        let work = sequence.work(StepId::from_index(step));
        let fill: BTreeSet<usize> =
            made.steps[step].1.iter().copied().filter(|&row| dues[row] == Some(step)).collect();
        assert_eq!(rows_of(&plan, work.fill.iter().copied()), fill, "filled at s{step}");
        seen.filled += fill.len();
        seen.filled_by_closing += if made.steps[step].2 { fill.len() } else { 0 };
        // Open: rows it names, or rows of the plane some of whose layers are there, that may not be filled.
        let works_here = !made.steps[step].1.is_empty();
        let open: BTreeSet<usize> = (0..made.rows.len())
            .filter(|&row| {
                let named = made.steps[step].1.contains(&row);
                let some = made.rows[row].0.iter().any(|&part| there.contains(&made.arrives[part]));
                works_here && (named || some) && !may_fill(made, row, &there)
            })
            .collect();
        assert_eq!(rows_of(&plan, work.open.iter().map(|(hole, _)| *hole)), open, "open at s{step}");
        seen.open += open.len();
        for (hole, reason) in &work.open {
            let row: usize = plan[plan[*hole].row].name[1..].parse().unwrap();
            let held = made.rows[row].1.is_some_and(|until| !there.contains(&until));
            assert_eq!(matches!(reason, Openness::Held { .. }), held, "why r{row} is open at s{step}");
        }
        // Hidden too late: on the closed side, not held on purpose, not due by then.
        let late: BTreeSet<usize> = (0..made.rows.len())
            .filter(|&row| {
                made.steps[step].2
                    && made.rows[row].1.is_none()
                    && !dues[row].is_some_and(|due| there.contains(&due))
            })
            .collect();
        let found = hidden_by(&plan, &sequence, StepId::from_index(step)).flat_map(|hidden| hidden.late);
        assert_eq!(rows_of(&plan, found), late, "hidden too late at s{step}");
        seen.late += late.len();
    }
    seen.listed = gates(made, &plan, &sequence, &dues);
    seen
}

/// With every second row set, each closing's gate lists the rows that come before it, or that it hides, and are not.
fn gates(made: &MadeUp, plan: &Plan, sequence: &Sequence, dues: &[Option<usize>]) -> usize {
    let set: Vec<usize> = (0..made.rows.len()).filter(|row| row % 2 == 0).collect();
    let holes = set
        .iter()
        .flat_map(|row| (1..=made.rows[*row].2).map(move |n| format!("tab/web/r{row}/{n}")))
        .collect();
    let event = HolesSet { holes, run: String::new(), set_up: String::new(), fastener: String::new() };
    let mut envelope =
        Envelope::around(&event.into(), "a".to_owned(), "2026-05-12T19:30:12Z".into(), "b".into(), 1);
    envelope.writer = "w".into();
    let state = State::fold(plan, vec![envelope]);
    let progress = progress(plan, sequence, &state, 0);
    let (mut seen, mut listed) = (0, 0);
    for gate in (0..plan.gates.len()).map(GateId::from_index) {
        let before = plan[gate].before.unwrap().index();
        let there = by(made, before);
        let mut expected: BTreeMap<usize, bool> = BTreeMap::new();
        for row in (0..made.rows.len()).filter(|row| row % 2 == 1) {
            match dues[row] {
                Some(due) if due != before && there.contains(&due) => {
                    expected.insert(row, false);
                }
                due if made.rows[row].1.is_none() && due != Some(before) => {
                    expected.insert(row, true);
                }
                _ => {}
            }
        }
        let found: BTreeMap<usize, bool> = progress
            .gate(gate)
            .blockers
            .iter()
            .filter_map(|it| match &it.what {
                Block::Unset { row, late, .. } => Some((plan[*row].name[1..].parse().unwrap(), *late)),
                _ => None,
            })
            .collect();
        assert_eq!(found, expected, "gate {}", plan.gate_name(gate));
        seen += 1;
        listed += found.len();
    }
    assert_eq!(seen, made.steps.iter().filter(|it| it.2).count(), "a closing is a gate");
    listed
}

#[test]
fn three_hundred_steps_and_twenty_thousand_holes() {
    let seen = compare(&made_up(7, 300, 1_000, 20));
    // A comparison of nothing would be none.
    let Seen { filled, filled_by_closing, open, late, listed } = seen;
    assert!(filled > 50 && filled_by_closing > 10 && open > 200 && late > 200 && listed > 200, "{seen:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]
    #[test]
    fn open_hidden_and_gated_are_what_a_plain_walk_finds(seed in any::<u64>(), steps in 1_usize..14, rows in 1_usize..12) {
        let _ = compare(&made_up(seed, steps, rows, 3));
    }
}
