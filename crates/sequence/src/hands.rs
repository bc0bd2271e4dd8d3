//! Left and right: where one could be taken for the other.

use faying_plan::{AssemblyId, Plan};

/// Words by which copies of a part are told apart as hands.
const HANDS: [&str; 2] = ["left", "right"];

/// Whether an assembly has another hand, or parts that come in a left and a right one.
#[must_use]
pub fn has_hands(plan: &Plan, assembly: AssemblyId) -> bool {
    let it = &plan[assembly];
    let mirrored =
        it.mirror_of.is_some() || plan.assemblies.iter().any(|other| other.mirror_of == Some(assembly));
    mirrored
        || it.parts.iter().any(|&part| {
            let copies = || plan[part].pieces.iter().map(|&piece| plan[piece].copy.as_str());
            HANDS.iter().all(|hand| copies().any(|copy| copy.split('-').any(|word| word == *hand)))
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_plan::{SourceText, read};

    #[test]
    fn a_mirror_image_and_copies_by_hand() {
        let file = |name: &str, text: &str| SourceText { name: name.into(), text: text.into() };
        let plan = read(vec![
            file("plan/a.toml", "format = 1\nid = \"a\"\n[parts]\nrib = { copies = [\"1\", \"2\"] }\n"),
            file("plan/b.toml", "format = 1\nid = \"b\"\nmirror = \"c\"\n"),
            file("plan/c.toml", "format = 1\nid = \"c\"\n"),
            file(
                "plan/d.toml",
                "format = 1\nid = \"d\"\n[parts]\nrib = { copies = [\"left-1\", \"right-1\"] }\n",
            ),
        ])
        .plan;
        let has: Vec<bool> =
            (0..plan.assemblies.len()).map(|it| has_hands(&plan, AssemblyId::from_index(it))).collect();
        assert_eq!(has, [false, true, true, true]);
    }
}
