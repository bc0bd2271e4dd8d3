//! What a hole needs at the bench, whoever sets it and with what.
//!
//! Fastener, side of the heads, limits and heights follow from the plan and the
//! joint alone. Which tool, which setting and when is decided for a whole run.

use faying_joint::head::Heights;
use faying_joint::{Joint, Joints};
use faying_plan::{HoleId, Plan, Side};
use faying_standards::limits::ShopHeadLimits;
use faying_standards::{Dash, Fastener, HeadStyle, Length, RivetType};

/// What a hole needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// The fastener in short: `1/8 universal -5`.
    pub title: String,
    /// The whole part number, as far as it is known.
    pub fastener: String,
    /// The rivet, where it is a solid one.
    pub rivet: Option<(RivetType, Option<Dash>)>,
    /// The side of the manufactured head, where the hole is drawn or its stack listed.
    pub head: Option<Side>,
    /// Where the manufactured head goes, for the card.
    pub head_on: String,
    /// The joint; a number of [`Joints`].
    pub joint: Option<u32>,
    /// G, from the seat of one head to that of the other.
    pub seat_to_seat: Option<Length>,
    /// Heights that work.
    pub heights: Option<Heights>,
    /// What the limits in force ask, and their name.
    pub limits: Option<(String, ShopHeadLimits)>,
}

/// What a hole needs.
#[must_use]
pub fn need(plan: &Plan, joints: &Joints, hole: HoleId) -> Need {
    let row = &plan[plan[hole].row];
    let Some(rivet) = row.rivet else {
        let fastener =
            row.called.as_ref().map_or_else(|| "no fastener named".to_owned(), ToString::to_string);
        return Need {
            title: fastener.clone(),
            fastener,
            rivet: None,
            head: None,
            head_on: String::new(),
            joint: None,
            seat_to_seat: None,
            heights: None,
            limits: None,
        };
    };
    let joint = joints.at(hole);
    let dash = joint.and_then(Joint::dash).or(match row.called {
        Some(Fastener::Solid { dash, .. }) => dash,
        _ => None,
    });
    let style = match rivet.head {
        HeadStyle::Universal => "universal",
        HeadStyle::Flush => "flush",
    };
    // What a head must be follows from the rivet; a row without a stack has limits all the same.
    let in_force = match joint {
        Some(joint) => joint.in_force.clone(),
        None => faying_joint::in_force(rivet, &plan.limits),
    };
    let (head, head_on) = head_on(plan, hole, joint);
    Need {
        title: format!(
            "{} {style}{}",
            rivet.diameter,
            dash.map_or_else(String::new, |dash| format!(" {dash}"))
        ),
        fastener: dash.map_or_else(|| rivet.to_string(), |dash| rivet.with(dash).to_string()),
        rivet: Some((rivet, dash)),
        head,
        head_on,
        joint: joints.number(hole),
        seat_to_seat: joint.and_then(|joint| joint.seats.as_ref().ok()).map(|seats| seats.seat_to_seat),
        heights: dash.and_then(|dash| joint?.call_out.as_ref()?.candidate(dash)?.heights),
        limits: in_force.ok().map(|it| (it.key, it.limits)),
    }
}

/// The side of the manufactured head, and a sentence for the card.
fn head_on(plan: &Plan, hole: HoleId, joint: Option<&Joint>) -> (Option<Side>, String) {
    let Some(joint) = joint else { return (None, String::new()) };
    let side = joint.head.side;
    let words = match plan[plan[hole].row].plane {
        Some(plane) => format!(
            "{} side, shop heads {}",
            plan[plane].side_name(side),
            plan[plane].side_name(joint.shop_side())
        ),
        None => {
            let piece = match side {
                Side::Near => joint.layers.first(),
                Side::Far => joint.layers.last(),
            };
            piece.map_or_else(String::new, |&piece| format!("on {}", plan.piece_name(piece)))
        }
    };
    (Some(side), words)
}
