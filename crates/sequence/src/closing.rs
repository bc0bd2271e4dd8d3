//! What a step hides.

use faying_plan::{HeadSide, HoleId, Plan, PlaneId, RowId, Side, StepId};
use faying_standards::Fastener;

use crate::open::Sequence;

/// A row of a side that a step hides.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hidden {
    /// The plane.
    pub plane: PlaneId,
    /// The side of it that is hidden.
    pub side: Side,
    /// The row.
    pub row: RowId,
    /// Its holes that the plan fills later than the closing, or never.
    pub late: Vec<HoleId>,
}

/// The rows that a step hides, each once; on which of them the plan comes too late.
///
/// What the plan holds on purpose past the closing is reached in some other
/// way, and is not late; a hold says until when. Nor is a row that is pulled
/// from the other side: blind rivets need the side of their manufactured head
/// only, as long as that stays open at this step.
pub fn hidden_by<'a>(
    plan: &'a Plan,
    sequence: &'a Sequence,
    step: StepId,
) -> impl Iterator<Item = Hidden> + 'a {
    plan[step].closes.iter().flat_map(move |&(plane, side)| {
        plan[plane].rows.iter().map(move |&row| {
            // Holes that another plane declares are set where they are declared.
            let row = plan[row].same.unwrap_or(row);
            let held = plan[row].hold.is_some() || is_reached(plan, step, row);
            let late = plan[row]
                .hole_ids()
                .filter(|_| !held)
                .filter(|&hole| sequence.due(hole).is_none_or(|due| !sequence.order.is_by(due, step)))
                .collect();
            Hidden { plane, side, row, late }
        })
    })
}

/// Whether a row can still be set when a step has hidden one side of it.
fn is_reached(plan: &Plan, step: StepId, row: RowId) -> bool {
    let it = &plan[row];
    match (&it.called, &it.head, it.plane) {
        (Some(Fastener::Blind { .. }), Some(HeadSide::Side(head)), Some(plane)) => {
            !plan[step].closes.contains(&(plane, *head))
        }
        _ => false,
    }
}
