//! What became of the holes of one revision in the next.
//!
//! A hole that keeps its name keeps its record. Where a row was renumbered or
//! renamed, its holes are known again by their place in the plane.

use std::collections::HashMap;

use crate::model::{HoleId, Plan};

/// How near a hole must lie to be the same one: a plan is drawn to a thousandth.
const SAME_PLACE_NM: i64 = 2 * 25_400;

/// Holes that have another name in the new revision: from, to.
///
/// A hole whose name the new revision has at the same place, or has no place
/// to compare, is not listed. A hole that is gone is not listed either: the
/// record keeps it by its old name, and says so.
#[must_use]
pub fn renamed(old: &Plan, new: &Plan) -> Vec<(String, String)> {
    // By plane and by place, to the grid of the tolerance.
    let cell = |nanometres: i64| nanometres.div_euclid(SAME_PLACE_NM);
    let mut places: HashMap<(String, i64, i64), Vec<HoleId>> = HashMap::new();
    for hole in (0..new.holes.len()).map(HoleId::from_index) {
        let row = &new[new[hole].row];
        if let (Some(plane), Some(at)) = (row.plane, new[hole].at) {
            let key = (new.plane_name(plane), cell(at.x.nanometres()), cell(at.y.nanometres()));
            places.entry(key).or_default().push(hole);
        }
    }
    let mut renamed = Vec::new();
    for hole in (0..old.holes.len()).map(HoleId::from_index) {
        let (Some(plane), Some(at)) = (old[old[hole].row].plane, old[hole].at) else { continue };
        let name = old.hole_name(hole);
        let near = |other: HoleId| {
            new[other].at.is_some_and(|place| {
                (place.x - at.x).abs().nanometres() <= SAME_PLACE_NM
                    && (place.y - at.y).abs().nanometres() <= SAME_PLACE_NM
            })
        };
        if new.hole_named(&name).is_some_and(near) {
            continue;
        }
        let plane = old.plane_name(plane);
        let (x, y) = (cell(at.x.nanometres()), cell(at.y.nanometres()));
        let found = (-1..=1)
            .flat_map(|dx| (-1..=1).map(move |dy| (x + dx, y + dy)))
            .filter_map(|(x, y)| places.get(&(plane.clone(), x, y)))
            .flatten()
            .copied()
            .find(|&other| near(other));
        if let Some(other) = found {
            renamed.push((name, new.hole_name(other)));
        }
    }
    renamed
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{SourceText, read};

    fn plan(rows: &str) -> Plan {
        let text = format!(
            "format = 1\nid = \"tab\"\n[parts]\na = {{ thickness = 0.040, copies = [\"1\", \"2\"] }}\n\
             [planes.web]\nlayers = [\"a\"]\n[planes.web.rows]\n{rows}"
        );
        read(vec![SourceText { name: "plan/tab.toml".into(), text: text.into() }]).plan
    }

    #[test]
    fn a_hole_before_the_first_moves_every_number() {
        let old = plan("A = { from = [1, 1], to = [5, 1], count = 5, rivet = \"MS20470AD4\" }\n");
        let new = plan("A = { from = [0, 1], to = [5, 1], count = 6, rivet = \"MS20470AD4\" }\n");
        let renamed = renamed(&old, &new);
        assert_eq!(renamed.len(), 5);
        assert_eq!(renamed[0], ("tab/web/A/1".to_owned(), "tab/web/A/2".to_owned()));
    }

    #[test]
    fn what_stays_is_not_told_and_what_is_gone_keeps_its_name() {
        let old = plan("A = { from = [1, 1], to = [5, 1], count = 5, rivet = \"MS20470AD4\" }\n");
        assert!(renamed(&old, &old).is_empty());
        let new = plan("B = { from = [1, 1], to = [3, 1], count = 3, rivet = \"MS20470AD4\" }\n");
        let renamed = renamed(&old, &new);
        assert_eq!(renamed.len(), 3, "two holes are gone: {renamed:?}");
        assert_eq!(renamed[2], ("tab/web/A/3".to_owned(), "tab/web/B/3".to_owned()));
    }
}
