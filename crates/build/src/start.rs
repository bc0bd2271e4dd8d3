//! The first text of a new build.

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
