//! The hidden command that measures the ordering search: its answer, its words, its exit codes.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

mod common;

use common::faying_in;
use insta::assert_snapshot;
use serde_json::json;
use tempfile::TempDir;

/// Four jobs: 0 first, 3 last, 2 before 1. Only 0 2 1 3 is left, at 9 + 8 + 5.
const FOUR: &str = "NAME: four\nTYPE: SOP\nDIMENSION: 4\nEDGE_WEIGHT_TYPE: EXPLICIT\n\
    EDGE_WEIGHT_FORMAT: FULL_MATRIX\nEDGE_WEIGHT_SECTION\n4\n\
    0 7 9 1000000\n-1 0 -1 5\n-1 8 0 6\n-1 -1 -1 0\nEOF\n";

fn folder(text: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("four.sop"), text).unwrap();
    folder
}

#[test]
fn json_has_cost_bound_and_order_counted_from_0() {
    let folder = folder(FOUR);
    let ended = faying_in(folder.path(), &["bench-sop", "four.sop", "--seconds", "5", "--json"]);
    assert_eq!(ended.code, 0, "{}", ended.err);
    let expected = json!({ "cost": 22, "lower_bound": 22, "proven": true, "order": [0, 2, 1, 3] });
    assert_eq!(ended.json(), expected);
}

#[test]
fn in_words() {
    let folder = folder(FOUR);
    let ended = faying_in(folder.path(), &["bench-sop", "four.sop"]);
    assert_snapshot!(ended.out, @r"
    cost 22, proven: no order is cheaper
    order, the first row of the file being 0: 0 2 1 3
    ");
    assert_eq!((ended.code, ended.err.as_str()), (0, ""));
}

/// No time at all still gives an order that keeps precedence, and a bound that is true.
#[test]
fn no_time_at_all() {
    let folder = folder(FOUR);
    let ended = faying_in(folder.path(), &["bench-sop", "four.sop", "--seconds", "0", "--json"]);
    let report = ended.json();
    assert_eq!((ended.code, &report["order"]), (0, &json!([0, 2, 1, 3])));
    assert!(report["lower_bound"].as_i64().unwrap() <= 22);
}

#[test]
fn what_cannot_be_read_ends_with_2() {
    let folder = folder(&FOUR.replace("8 0 6", "8 0 x"));
    let ended = faying_in(folder.path(), &["bench-sop", "four.sop"]);
    assert_eq!((ended.code, ended.out.as_str()), (2, ""));
    assert_snapshot!(ended.err, @r#"four.sop cannot be read: line 10: "x" is not a cost; write a whole number, 0 to 1000000000, or -1 where the job of the column comes before the job of the row"#);
    let ended = faying_in(folder.path(), &["bench-sop", "none.sop"]);
    assert_eq!(ended.code, 2);
    assert!(ended.err.starts_with("none.sop cannot be read:"), "{}", ended.err);
    let ended = faying_in(folder.path(), &["bench-sop", "four.sop", "--seconds", "never"]);
    assert_eq!(ended.code, 2);
}

/// It is for measuring and is no part of the builder's help.
#[test]
fn the_command_is_hidden() {
    let ended = faying_in(std::path::Path::new("."), &["--help"]);
    assert!(!ended.out.contains("bench-sop"), "{}", ended.out);
}
