//! Rows that are never filled, rows that something hides too early, and work that goes through the primer.

use faying_joint::Stacks;
use faying_plan::{HoleId, PieceId, Plan, RowId, StepId, Work};
use faying_standards::Finding;

use crate::closing::hidden_by;
use crate::open::{Openness, Sequence, hole_at};

/// What is wrong with the order of a plan.
#[must_use]
pub fn check(plan: &Plan, stacks: &Stacks, sequence: &Sequence) -> Vec<Finding> {
    let mut findings = never_filled(plan, stacks, sequence);
    findings.extend(hidden(plan, sequence));
    findings.extend(through_the_primer(plan, sequence));
    findings
}

/// Holes that some step sets and that stay open at each of them.
fn never_filled(plan: &Plan, stacks: &Stacks, sequence: &Sequence) -> Vec<Finding> {
    let order = &sequence.order;
    let mut findings = Vec::new();
    for row in (0..plan.rows.len()).map(RowId::from_index) {
        let last =
            order.sorted().iter().rev().find(|&&step| plan[step].sets.iter().any(|part| part.row == row));
        let Some(&last) = last else { continue };
        let open: Vec<HoleId> = plan[row].hole_ids().filter(|hole| sequence.due(*hole).is_none()).collect();
        let Some(&first) = open.first() else { continue };
        let name = &plan[row].name;
        let holes = plan.hole_range(&open);
        let finding = match hole_at(plan, stacks, order, first, last) {
            Openness::SharedWith { piece, arrives } => Finding::look(
                "never-filled",
                format!(
                    "row {name}, {holes}: stay open at every step that sets them; they wait for {}, which comes at {}",
                    plan.piece_name(piece),
                    plan[arrives].name
                ),
                format!("add the row to `sets` of {}, or of a step after it", plan[arrives].name),
            ),
            Openness::Held { until: Some(until) } => Finding::look(
                "never-filled",
                format!(
                    "row {name}, {holes}: held until {}, and no step from then on sets them",
                    plan[until].name
                ),
                format!("add the row to `sets` of {}", plan[until].name),
            ),
            Openness::Held { until: None } => Finding::look(
                "never-filled",
                format!("row {name}, {holes}: held without an end"),
                "write hold.until = the step at which the row is filled",
            ),
            Openness::Fill => Finding::look(
                "never-set",
                format!("row {name}, {holes}: no step sets them"),
                "add them to `sets` of a step, such as \"web/A/1-20\"",
            ),
        };
        findings.push(finding.at(plan.row_place(row)));
    }
    findings
}

/// Holes on a side that a step hides, to be filled later than that step.
fn hidden(plan: &Plan, sequence: &Sequence) -> Vec<Finding> {
    let mut findings = Vec::new();
    for step in (0..plan.steps.len()).map(StepId::from_index) {
        for hidden in hidden_by(plan, sequence, step).filter(|hidden| !hidden.late.is_empty()) {
            let when = hidden
                .late
                .iter()
                .find_map(|&hole| sequence.due(hole))
                .map_or_else(|| "at no step".to_owned(), |due| format!("at {}", plan.step_name(due)));
            findings.push(
                Finding::look(
                    "hidden",
                    format!(
                        "step {} hides {}: {}, and row {}, {}, is set {when}",
                        plan[step].name,
                        plan.plane_name(hidden.plane),
                        plan[hidden.plane].side_name(hidden.side),
                        plan[hidden.row].name,
                        plan.hole_range(&hidden.late)
                    ),
                    "let the closing come `after` that step, or hold the row with its reason",
                )
                .at(plan.step_place(step)),
            );
        }
    }
    findings
}

/// Steps that drill, deburr, dimple or countersink a piece after it was primed.
fn through_the_primer(plan: &Plan, sequence: &Sequence) -> Vec<Finding> {
    let mut primed: Vec<Vec<StepId>> = vec![Vec::new(); plan.pieces.len()];
    let mut prepared: Vec<Vec<StepId>> = vec![Vec::new(); plan.pieces.len()];
    for step in (0..plan.steps.len()).map(StepId::from_index) {
        let it = &plan[step];
        let list = match it.work {
            Work::Prime => &mut primed,
            work if work.is_preparation() => &mut prepared,
            _ => continue,
        };
        for &piece in &it.parts {
            list[piece.index()].push(step);
        }
    }
    let mut findings = Vec::new();
    for (piece, steps) in prepared.iter().enumerate() {
        for &step in steps {
            // In no order at all is as bad: then it is chance.
            let Some(&prime) = primed[piece].iter().find(|&&prime| !sequence.order.is_before(step, prime))
            else {
                continue;
            };
            let name = plan.piece_name(PieceId::from_index(piece));
            let what = match sequence.order.is_before(prime, step) {
                true => "comes after",
                false => "may come after",
            };
            findings.push(
                Finding::look(
                    "through-the-primer",
                    format!(
                        "step {} ({}) of {name} {what} {}, which primes it",
                        plan[step].name,
                        plan[step].work.word(),
                        plan[prime].name
                    ),
                    format!("write after = [\"{}\"] at {}", plan[step].name, plan[prime].name),
                )
                .at(plan.step_place(step)),
            );
        }
    }
    findings
}
