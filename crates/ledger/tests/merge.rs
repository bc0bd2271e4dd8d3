//! Two copies put together: nothing lost, the same result whichever way round.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail where it stands")]

mod common;

use std::fs;
use std::path::Path;

use common::{SINCE, after, chain, record, rows_of, verify, verify_heads, with_rows};
use faying_ledger::{Appended, Fork, Ledger, LedgerError, NotTaken, Reader, Refusal, Row, RowHash};
use proptest::prelude::*;
use rusqlite::Connection;

/// A ledger in a folder of its own.
struct Copy {
    folder: tempfile::TempDir,
    ledger: Ledger,
}

impl Copy {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        drop(Ledger::create(&record(folder.path()), SINCE).unwrap());
        let ledger = Ledger::open_without_sync(&record(folder.path()), SINCE).unwrap();
        Self { folder, ledger }
    }

    fn with(rows: &[Row]) -> Self {
        let mut copy = Self::new();
        copy.ledger.append(rows).unwrap();
        copy
    }

    /// What happens when a builder copies the folder.
    fn copied(&self) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let backup = self.ledger.backup_to(folder.path(), "copy").unwrap();
        fs::rename(backup.path, record(folder.path())).unwrap();
        let ledger = Ledger::open_without_sync(&record(folder.path()), SINCE).unwrap();
        Self { folder, ledger }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }
}

#[test]
fn the_longer_of_two_chains_results_and_other_writers_come_along() {
    let bench = chain("bench", 8);
    let mut long = Copy::with(&bench);
    let mut short = Copy::with(&bench[..3]);
    short.ledger.append(&chain("phone", 2)).unwrap();

    let report = short.ledger.merge(&long.ledger).unwrap();
    assert_eq!((report.taken, report.already_held), (5, 3));
    assert_eq!((report.forks.len(), report.not_taken.len(), report.acts_held_twice.len()), (0, 0, 0));
    let report = long.ledger.merge(&short.ledger).unwrap();
    assert_eq!((report.taken, report.already_held), (2, 8));
    assert_eq!(rows_of(&long.ledger), rows_of(&short.ledger));
    assert_eq!(long.ledger.heads().unwrap(), [bench[7].head(), chain("phone", 2)[1].head()]);

    let report = long.ledger.merge(&short.ledger).unwrap();
    assert_eq!((report.taken, report.already_held), (0, 10));
    // With itself as well, through a second opening.
    let itself = Reader::open(&record(long.path())).unwrap();
    assert_eq!(long.ledger.merge(&itself).unwrap().taken, 0);
}

#[test]
fn a_chain_that_parted_keeps_both_ends_and_both_go_on() {
    let common = chain("bench", 3);
    let mut home = Copy::with(&common);
    let mut away = home.copied();
    let home_rows = [after(&common[2], "home-4", b"home"), after(&common[2], "away-4", b"away")];
    let [home_4, away_4] = home_rows;
    let home_5 = after(&home_4, "home-5", b"home");
    let away_5 = after(&away_4, "away-5", b"away");
    let away_6 = after(&away_5, "away-6", b"away");
    home.ledger.append(&[home_4.clone(), home_5.clone()]).unwrap();
    away.ledger.append(&[away_4.clone(), away_5.clone(), away_6.clone()]).unwrap();
    let (home_heads, away_heads) = (home.ledger.heads().unwrap(), away.ledger.heads().unwrap());

    let before = away.copied();
    let report = away.ledger.merge(&home.ledger).unwrap();
    let fork = Fork { writer: "bench".into(), branch: 1, seq: 4 };
    assert_eq!((report.taken, report.already_held), (2, 3));
    assert_eq!(report.forks, std::slice::from_ref(&fork));
    let report = home.ledger.merge(&before.ledger).unwrap();
    assert_eq!((report.taken, &report.forks), (3, &vec![fork.clone()]));

    for copy in [&mut home, &mut away] {
        assert_eq!(copy.ledger.heads().unwrap(), [home_5.head(), away_6.head()]);
        assert_eq!(copy.ledger.forks().unwrap(), std::slice::from_ref(&fork));
        assert_eq!(verify_heads(&copy.ledger, &[&home_heads[..], &away_heads].concat()).faults, []);
        // Either end may go on; the place where they parted may not part again by an append.
        let more = [after(&home_5, "home-6", b"home"), after(&away_6, "away-7", b"away")];
        copy.ledger.append(&more).unwrap();
        let third = after(&common[2], "third-4", b"third");
        assert!(matches!(
            copy.ledger.append(&[third]),
            Err(LedgerError::Refused { why: Refusal::NotAtHead { seq: 4 }, .. })
        ));
        assert_eq!(verify(&copy.ledger).faults, []);
    }
    assert_eq!(rows_of(&home.ledger), rows_of(&away.ledger));
    // A third copy that knows neither end takes both, and a fork that is known is not told again.
    let mut third = Copy::with(&common);
    assert_eq!(third.ledger.merge(&away.ledger).unwrap().forks, [fork]);
    assert_eq!(third.ledger.merge(&home.ledger).unwrap().forks, []);
    assert_eq!(rows_of(&home.ledger), rows_of(&third.ledger));
}

#[test]
fn two_copies_that_began_under_one_name_part_at_the_first_row() {
    let mut one = Copy::with(&chain("bench", 3));
    let other: Vec<Row> = vec![Row::seal("bench", 1, RowHash::NONE, 1, "other", b"x".to_vec())];
    let other = Copy::with(&other);
    assert_eq!(
        one.ledger.merge(&other.ledger).unwrap().forks,
        [Fork { writer: "bench".into(), branch: 1, seq: 1 }]
    );
    assert_eq!(one.ledger.heads().unwrap().len(), 2);
    assert_eq!(verify(&one.ledger).faults, []);
}

#[test]
fn an_act_that_both_copies_took_stays_in_both_chains_and_is_told() {
    let mut home = Copy::with(&[Row::seal("home", 1, RowHash::NONE, 1, "tap", b"home".to_vec())]);
    let away = Copy::with(&[Row::seal("away", 1, RowHash::NONE, 1, "tap", b"away".to_vec())]);
    let report = home.ledger.merge(&away.ledger).unwrap();
    assert_eq!(report.taken, 1);
    let twice = &report.acts_held_twice[0];
    assert_eq!((twice.act.as_str(), twice.first.number(), twice.again.number()), ("tap", 1, 2));
    assert_eq!(verify(&home.ledger).faults, []);
    // Sent once more, it is answered with the first.
    let again = Row::seal("home", 2, RowHash::NONE, 2, "tap", Vec::new());
    assert_eq!(home.ledger.append(&[again]).unwrap(), [Appended::AlreadyHeld(twice.first)]);
}

/// What hangs on a damaged row is left where it is and told; the rest is taken, and a sound copy heals it.
#[test]
fn damaged_rows_are_not_taken_over() {
    let bench = chain("bench", 6);
    let damaged = tempfile::tempdir().unwrap();
    let mut ledger = with_rows(damaged.path(), &bench);
    ledger.append(&chain("phone", 2)).unwrap();
    drop(ledger);
    let connection = Connection::open(record(damaged.path())).unwrap();
    connection
        .execute_batch("DROP TRIGGER rows_never_change; UPDATE rows SET bytes = x'7b7d' WHERE position = 3")
        .unwrap();
    drop(connection);
    let damaged = Reader::open(&record(damaged.path())).unwrap();

    let mut empty = Copy::new();
    let report = empty.ledger.merge(&damaged).unwrap();
    let not_taken = NotTaken { writer: "bench".into(), first: 3, last: 6, count: 4, why: Refusal::HashWrong };
    assert_eq!((report.taken, report.not_taken), (4, vec![not_taken]));
    assert_eq!(verify(&empty.ledger).faults, []);

    // Who holds the true row 3 takes what follows it.
    let mut sound = Copy::with(&bench[..3]);
    let report = sound.ledger.merge(&damaged).unwrap();
    assert_eq!((report.taken, report.not_taken.len()), (5, 0));
    assert_eq!(verify(&sound.ledger).faults, []);
    empty.ledger.merge(&sound.ledger).unwrap();
    assert_eq!(rows_of(&empty.ledger), rows_of(&sound.ledger));
}

#[test]
fn a_merge_that_finds_no_room_takes_nothing() {
    let big = Copy::with(&chain("bench", 2000));
    let mut small = Copy::with(&chain("phone", 2));
    small.ledger.limit_pages(20).unwrap();
    assert!(matches!(small.ledger.merge(&big.ledger), Err(LedgerError::DiskFull { .. })));
    assert_eq!(rows_of(&small.ledger).len(), 2);
    small.ledger.limit_pages(1_000_000).unwrap();
    assert_eq!(small.ledger.merge(&big.ledger).unwrap().taken, 2000);
}

/// What may happen to three copies of one ledger.
#[derive(Clone, Debug)]
enum Happening {
    /// Copy `at` appends as writer `writer`, on one of that writer's heads.
    Append { at: usize, writer: usize, head: usize },
    /// Copy `at` takes over what `from` has.
    Merge { at: usize, from: usize },
}

const COPIES: usize = 3;

fn happening() -> impl Strategy<Value = Happening> {
    prop_oneof![
        6 => (0..COPIES, 0..2_usize, 0..4_usize).prop_map(|(at, writer, head)| Happening::Append { at, writer, head }),
        1 => (0..COPIES, 0..COPIES).prop_map(|(at, from)| Happening::Merge { at, from }),
    ]
}

proptest! {
    // Each case makes three files and merges a dozen times.
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// However copies grew, parted and merged: at the end all hold every row ever written,
    /// whatever the order of merging, and merging once more changes nothing.
    #[test]
    fn merging_loses_nothing_and_its_order_does_not_matter(
        happenings in prop::collection::vec(happening(), 1..40),
        order in Just((0..COPIES).flat_map(|a| (0..COPIES).map(move |b| (a, b))).filter(|(a, b)| a != b).collect::<Vec<_>>()).prop_shuffle(),
    ) {
        let mut copies: Vec<Copy> = (0..COPIES).map(|_| Copy::new()).collect();
        let mut written = std::collections::BTreeSet::new();
        for (number, happening) in happenings.into_iter().enumerate() {
            match happening {
                Happening::Append { at, writer, head } => {
                    // The same names in every copy, so that chains part.
                    let writer = ["bench", "phone"][writer];
                    let ledger = &mut copies[at].ledger;
                    let heads: Vec<_> = ledger.heads().unwrap().into_iter().filter(|h| h.writer == writer).collect();
                    let (seq, prev, order) = match heads.len() {
                        0 => (1, RowHash::NONE, 0),
                        count => {
                            let head = &heads[head % count];
                            (head.seq + 1, head.hash, head.order)
                        }
                    };
                    let row = Row::seal(writer, seq, prev, order + 1, format!("act-{number}"), format!("{at}").into_bytes());
                    ledger.append(std::slice::from_ref(&row)).unwrap();
                    written.insert((row.writer, row.seq, row.hash, row.bytes));
                }
                Happening::Merge { at, from } => {
                    let other = Reader::open(copies[from].ledger.path()).unwrap();
                    copies[at].ledger.merge(&other).unwrap();
                }
            }
        }
        // Everyone from everyone, in a shuffled order, each taking a snapshot of what was there before.
        let before: Vec<Copy> = copies.iter().map(Copy::copied).collect();
        for (at, from) in order {
            copies[at].ledger.merge(&before[from].ledger).unwrap();
        }
        for copy in &copies {
            prop_assert_eq!(&rows_of(&copy.ledger), &written);
            prop_assert_eq!(copy.ledger.heads().unwrap(), copies[0].ledger.heads().unwrap());
            prop_assert_eq!(copy.ledger.forks().unwrap().len(), copies[0].ledger.forks().unwrap().len());
            prop_assert_eq!(verify(&copy.ledger).faults, vec![]);
            // A head is a row that no row names as the one before it, found here by another way.
            let rows = common::in_order(&copy.ledger);
            let mut tips: Vec<_> = rows.iter().filter(|row| !rows.iter().any(|other| other.prev == row.hash)).map(Row::head).collect();
            tips.sort();
            prop_assert_eq!(copy.ledger.heads().unwrap(), tips);
        }
        for copy in &mut copies {
            for from in &before {
                prop_assert_eq!(copy.ledger.merge(&from.ledger).unwrap().taken, 0);
            }
        }
    }
}
