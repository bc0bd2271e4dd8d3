//! A bag that was looked at: what its lengths say.

use faying_record::SetUpFrozen;
use faying_standards::{Length, figures};

use crate::world::World;

/// What the measured lengths say of a bag; nothing where they are as they should be.
pub(crate) fn length_words(world: &World, frozen: &SetUpFrozen, lengths: &[i64]) -> String {
    let dash = frozen
        .holes
        .first()
        .and_then(|name| world.plan().hole_named(name))
        .map(|hole| faying_bench::need(world.plan(), &world.side.joints, hole))
        .and_then(|need| need.rivet)
        .and_then(|(_, dash)| dash);
    let Some(dash) = dash else { return String::new() };
    // A length that is nearer to another one of the list than to its own is another rivet.
    let near = Length::from_inches(
        figures().constant("rivet-length-tolerance").value + figures().constant("caliper-u").value,
    );
    let wrong: Vec<String> = lengths
        .iter()
        .map(|&length| Length::from_nanometres(length))
        .filter(|&length| (length - dash.length()).abs() > near)
        .map(Length::decimal)
        .collect();
    if wrong.is_empty() {
        return String::new();
    }
    format!(
        "{} in is not the length of a {dash}, {} in give or take {}: look what is in this bag.",
        wrong.join(", "),
        dash.length().decimal(),
        near.decimal()
    )
}
