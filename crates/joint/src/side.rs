//! Which side the manufactured head goes, with the reasons in their order.
//!
//! Flush holes decide themselves; then the plan's word; then the shop head
//! goes against the thicker sheet; else the near side, where the work is seen.
//! Access and clearance belong to tools and to parts that the plan does not
//! draw yet: they are named as not checked. Theory chapter, "Heads".

use faying_plan::{HeadSide, Preparation, Side};
use faying_standards::{Cited, HeadStyle, Known, Length};
use serde::Serialize;

use crate::seats::Sheet;

/// A reason for one side or the other.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reason {
    /// The rule in words.
    pub says: String,
    /// Whether it decided.
    pub decides: bool,
    /// Where it comes from.
    pub cited: Cited,
}

/// The side of the manufactured head.
#[derive(Clone, Debug, PartialEq)]
pub struct HeadChoice {
    /// The side.
    pub side: Side,
    /// The reasons that were weighed, in their order.
    pub reasons: Vec<Reason>,
    /// Whether the plan's word and the preparation of the sheets contradict one another.
    pub contradicted: bool,
}

/// Chooses the side of the manufactured head.
///
/// # Units
/// - `sheets`: near to far
///
/// # Source
/// Theory chapter, "Heads"; shop head against the thicker sheet: MIL-STD-40007 as quoted.
#[must_use]
pub fn head_side(head: HeadStyle, sheets: &[Sheet], plan: Option<&HeadSide>, names: [&str; 2]) -> HeadChoice {
    let mut choice = HeadChoice { side: Side::Near, reasons: Vec::new(), contradicted: false };
    let mut decided = false;
    let name = |side: Side| names[usize::from(side == Side::Far)];
    let mut weigh = |choice: &mut HeadChoice, says: String, side: Option<Side>, cited: Cited| {
        let decides = side.is_some() && !decided;
        if let Some(side) = side.filter(|_| decides) {
            choice.side = side;
            decided = true;
        }
        choice.reasons.push(Reason { says, decides, cited });
    };
    let flush = if head == HeadStyle::Flush { flush_side(sheets) } else { None };
    if let Some(side) = flush {
        let says = format!("a flush hole decides itself: it opens to the {} side", name(side));
        weigh(&mut choice, says, Some(side), Cited::theory("heads"));
    }
    match plan {
        Some(HeadSide::Side(side)) => {
            let says = format!("the plan says: manufactured head on the {} side", name(*side));
            let cited = Cited::new("plan", "", Known::Own);
            choice.contradicted = flush.is_some_and(|flush| flush != *side);
            weigh(&mut choice, says, Some(*side), cited);
        }
        Some(HeadSide::Words(words)) => {
            let says = format!("the plan says: manufactured head {words}");
            weigh(&mut choice, says, None, Cited::new("plan", "", Known::Own));
        }
        None => {}
    }
    if let (Some(first), Some(last)) = (sheets.first(), sheets.last())
        && first.thickness != last.thickness
    {
        let side = if first.thickness > last.thickness { Side::Far } else { Side::Near };
        let says = format!(
            "shop head against the thicker sheet ({} against {} in), so the manufactured head on the {} side",
            first.thickness.max(last.thickness).decimal(),
            first.thickness.min(last.thickness).decimal(),
            name(side)
        );
        weigh(&mut choice, says, Some(side), Cited::new("mil-std-40007", "", Known::SecondHand));
    }
    let says = format!("nothing else decides: the {} side, which is drawn", name(Side::Near));
    weigh(&mut choice, says, Some(Side::Near), Cited::theory("heads"));
    choice
}

/// The side to which a flush hole opens, where its sheets say.
fn flush_side(sheets: &[Sheet]) -> Option<Side> {
    let flush = |sheet: &Sheet| sheet.preparation != Preparation::Plain;
    match (sheets.first().is_some_and(flush), sheets.last().is_some_and(flush)) {
        (true, false) => Some(Side::Near),
        (false, true) => Some(Side::Far),
        // A dimpled skin lies in a countersunk part, never under it.
        (true, true) => match (sheets.first()?.preparation, sheets.last()?.preparation) {
            (Preparation::Dimpled, Preparation::Countersunk) => Some(Side::Near),
            (Preparation::Countersunk, Preparation::Dimpled) => Some(Side::Far),
            _ => None,
        },
        (false, false) => None,
    }
}

/// Whether a shop head fits the room in front of it.
///
/// # Units
/// - `tallest`: greatest height of the shop head that the limits allow
/// - `room`: clearance the plan gives
/// - returns: what is left, negative where it does not fit
#[must_use]
pub fn room_left(tallest: Length, room: Length) -> Length {
    room - tallest
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_standards::inches;

    fn sheets(list: &[(f64, Preparation)]) -> Vec<Sheet> {
        list.iter().map(|&(t, preparation)| Sheet { thickness: inches(t), preparation }).collect()
    }

    fn choose(head: HeadStyle, list: &[(f64, Preparation)], plan: Option<&HeadSide>) -> HeadChoice {
        head_side(head, &sheets(list), plan, ["upper", "lower"])
    }

    #[test]
    fn a_dimpled_skin_in_a_countersunk_cap_decides_itself() {
        use Preparation::{Countersunk, Dimpled};
        let stack = [(0.025, Dimpled), (0.063, Countersunk)];
        let choice = choose(HeadStyle::Flush, &stack, Some(&HeadSide::Side(Side::Far)));
        assert_eq!(choice.side, Side::Near);
        assert!(choice.contradicted, "the plan's word is against it, and that is said");
    }

    #[test]
    fn the_plan_decides_before_the_thicker_sheet() {
        use Preparation::Plain;
        let stack = [(0.063, Plain), (0.040, Plain)];
        let plain = choose(HeadStyle::Universal, &stack, None);
        assert_eq!(plain.side, Side::Far, "shop head against the .063");
        let said = choose(HeadStyle::Universal, &stack, Some(&HeadSide::Side(Side::Near)));
        assert_eq!(said.side, Side::Near);
        assert_eq!(said.reasons.iter().filter(|reason| reason.decides).count(), 1);
        assert!(said.reasons.len() >= 3, "the others are still shown");
    }
}
