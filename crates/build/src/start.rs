//! The first texts of a new build.

use faying_plan::SourceText;

/// A plan file with one empty assembly, and comments that say how it goes on.
///
/// # Units
/// - `units`: `in` or `mm`
#[must_use]
pub fn start_text(assembly: &str, units: &str) -> String {
    format!(
        "format = 1\n\
         id = \"{assembly}\"\n\
         units = \"{units}\"                # unit of bare numbers; \"1/8\" or \"3.2 mm\" as text anywhere\n\
         \n\
         # Parts: one line each.\n\
         # web = {{ material = \"2024-T3\", thickness = 0.040 }}\n\
         [parts]\n\
         \n\
         # Rows: how many, which rivet the plan calls, through which parts.\n\
         # A = {{ count = 26, called = \"MS20470AD4-5\", through = [\"doubler\", \"web\"] }}\n\
         [rows]\n\
         \n\
         # Steps, in the order of the plans: what comes in, what is set.\n\
         # [steps.doubler]\n\
         # adds = [\"web\", \"doubler\"]\n\
         # sets = [\"A\"]\n"
    )
}

/// The `tools.toml` of a new build: the starter set, which says that its figures are nobody's measurements.
#[must_use]
pub const fn start_tools() -> &'static str {
    faying_plan::tools::STARTER
}

/// What is wrong with the short name of a first assembly, if anything: it also names the file.
#[must_use]
pub fn start_fault(assembly: &str) -> Option<String> {
    let say =
        |what: &str| Some(format!("\"{assembly}\" is no short name: {what}; write a word such as flap-left"));
    if assembly.contains(['/', '\\']) || assembly.starts_with('.') {
        return say("it also names the file, so it has no / or \\ in it and no point before it");
    }
    // The reader of plans knows the rest of the rule.
    let text = start_text(assembly, "in");
    let findings =
        faying_plan::read(vec![SourceText { name: "plan/first.toml".into(), text: text.into() }]).findings;
    findings.first().and_then(|finding| say(&finding.what))
}
