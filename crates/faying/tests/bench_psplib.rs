//! The hidden command that measures the scheduling search: its answer, its words, its exit codes.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

mod common;

use common::faying_in;
use insta::assert_snapshot;
use serde_json::json;
use tempfile::TempDir;

/// A first and a last job without a duration, and three between of which no two fit beside each
/// other; 4 comes before 2, 2 before 3.
const FIVE: &str = "\
jobs (incl. supersource/sink ):  5
  - renewable                 :  1   R
  - nonrenewable              :  0   N
  - doubly constrained        :  0   D
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          3           2   3   4
   2        1          2           3   5
   3        1          1           5
   4        1          1           2
   5        1          0
REQUESTS/DURATIONS:
jobnr. mode duration  R 1
------------------------------------------------------------------------
  1      1     0       0
  2      1     4       2
  3      1     5       3
  4      1     3       2
  5      1     0       0
RESOURCEAVAILABILITIES:
  R 1
    3
";

fn folder(text: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("five.sm"), text).unwrap();
    folder
}

#[test]
fn json_has_makespan_bound_and_starts_with_job_1_first() {
    let folder = folder(FIVE);
    let ended = faying_in(folder.path(), &["bench-psplib", "five.sm", "--seconds", "5", "--json"]);
    assert_eq!(ended.code, 0, "{}", ended.err);
    let expected = json!({ "makespan": 12, "lower_bound": 12, "proven": true, "starts": [0, 3, 7, 0, 12] });
    assert_eq!(ended.json(), expected);
}

#[test]
fn in_words() {
    let folder = folder(FIVE);
    let ended = faying_in(folder.path(), &["bench-psplib", "five.sm"]);
    assert_snapshot!(ended.out, @r"
    ends at 12, proven: no schedule ends sooner
    starts, job 1 of the file first: 0 3 7 0 12
    ");
    assert_eq!((ended.code, ended.err.as_str()), (0, ""));
}

/// No time at all still gives a schedule that keeps everything, and a bound that is true.
#[test]
fn no_time_at_all() {
    let folder = folder(FIVE);
    let ended = faying_in(folder.path(), &["bench-psplib", "five.sm", "--seconds", "0", "--json"]);
    let report = ended.json();
    assert_eq!((ended.code, &report["starts"]), (0, &json!([0, 3, 7, 0, 12])));
    assert!(report["lower_bound"].as_u64().unwrap() <= 12);
}

#[test]
fn what_cannot_be_read_ends_with_2() {
    let folder = folder(&FIVE.replace("  3      1     5 ", "  3      1     x "));
    let ended = faying_in(folder.path(), &["bench-psplib", "five.sm"]);
    assert_eq!((ended.code, ended.out.as_str()), (2, ""));
    assert_snapshot!(ended.err, @r#"five.sm cannot be read: line 17: "x" is no duration; write a whole number, 0 to 4000000"#);
    let ended = faying_in(folder.path(), &["bench-psplib", "none.sm"]);
    assert_eq!(ended.code, 2);
    assert!(ended.err.starts_with("none.sm cannot be read:"), "{}", ended.err);
    let ended = faying_in(folder.path(), &["bench-psplib", "five.sm", "--seconds", "never"]);
    assert_eq!(ended.code, 2);
}

/// It is for measuring and is no part of the builder's help.
#[test]
fn the_command_is_hidden() {
    let ended = faying_in(std::path::Path::new("."), &["--help"]);
    assert!(!ended.out.contains("bench-psplib"), "{}", ended.out);
}
