//! Gates of the whole build as builders of a country meet them: the first text of `gates.toml`.
//!
//! They are a beginning for the builder to change, and each names what it
//! rests on. The authority's rule decides, not this list.

/// The practices there are, by the name of the country, each with the text of its gates.
const PRACTICES: [(&str, &str); 6] = [
    ("bare", include_str!("../../../standards/gates/bare.toml")),
    ("australia", include_str!("../../../standards/gates/australia.toml")),
    ("canada", include_str!("../../../standards/gates/canada.toml")),
    ("france", include_str!("../../../standards/gates/france.toml")),
    ("united-kingdom", include_str!("../../../standards/gates/united-kingdom.toml")),
    ("united-states", include_str!("../../../standards/gates/united-states.toml")),
];

/// The names of the practices there are.
pub fn names() -> impl Iterator<Item = &'static str> {
    PRACTICES.iter().map(|(name, _)| *name)
}

/// The text of `gates.toml` by a practice, its gates asking for all of these assemblies; none where
/// there is no such practice.
///
/// ```
/// let text = faying_plan::practice::text("canada", &["fin", "wing-left"]).unwrap();
/// assert!(text.contains(r#"covers = ["fin", "wing-left"]"#));
/// ```
#[must_use]
pub fn text(practice: &str, assemblies: &[&str]) -> Option<String> {
    let (_, text) = PRACTICES.iter().find(|(name, _)| *name == practice)?;
    let names: Vec<String> = assemblies.iter().map(|id| format!("\"{id}\"")).collect();
    Some(text.replace("covers = []", &format!("covers = [{}]", names.join(", "))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{SourceText, read};

    #[test]
    fn every_practice_reads_without_a_finding() {
        for name in names() {
            let gates = text(name, &["tab"]).unwrap();
            let file = |name: &str, text: &str| SourceText { name: name.into(), text: text.into() };
            let tab = "format = 1\nid = \"tab\"\n[rows]\nA = { count = 1, called = \"MS20470AD4-4\" }\n[steps]\na = { sets = [\"A\"] }\n";
            let reading = read(vec![file("plan/tab.toml", tab), file("gates.toml", &gates)]);
            assert!(reading.findings.is_empty(), "{name}: {:?}", reading.findings);
            assert!(!reading.plan.gates.is_empty(), "{name}");
            assert!(reading.plan.gates.iter().all(|gate| gate.assembly.is_none() && gate.covers.len() == 1));
        }
    }
}
