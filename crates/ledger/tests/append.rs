//! Opening, appending and reading, and every way in which they refuse.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail where it stands")]

mod common;

use std::fs;

use common::{SINCE, after, chain, in_order, record, verify, with_rows};
use faying_ledger::{Appended, FORMAT, Ledger, LedgerError, Position, Reader, Refusal, Row, RowHash};
use rusqlite::Connection;

fn refusal(result: Result<Vec<Appended>, LedgerError>) -> Refusal {
    match result {
        Err(LedgerError::Refused { why, .. }) => why,
        other => panic!("not refused: {other:?}"),
    }
}

#[test]
fn rows_come_back_as_they_went_in() {
    let folder = tempfile::tempdir().unwrap();
    let (bench, phone) = (chain("bench", 700), chain("phone", 3));
    let mut ledger = with_rows(folder.path(), &bench[..300]);
    let taken = ledger.append(&phone).unwrap();
    ledger.append(&bench[300..]).unwrap();
    drop(ledger);

    let ledger = Ledger::open(&record(folder.path()), SINCE).unwrap();
    let expected: Vec<Row> = [&bench[..300], &phone, &bench[300..]].concat();
    assert_eq!(in_order(&ledger), expected);
    assert_eq!(ledger.count().unwrap(), 703);
    assert_eq!(ledger.heads().unwrap(), [bench[699].head(), phone[2].head()]);
    assert_eq!(ledger.forks().unwrap(), []);

    // From the middle on, over more than one fetch.
    let since: Vec<Row> = ledger.rows_since(taken[2].position()).map(|held| held.unwrap().row).collect();
    assert_eq!(since, bench[300..]);
    assert_eq!(ledger.rows_since(ledger.last_position().unwrap()).count(), 0);
    assert_eq!(ledger.position_of_act("phone-3").unwrap(), Some(taken[2].position()));
    assert_eq!(ledger.position_of_act("phone-4").unwrap(), None);
}

#[test]
fn an_act_sent_twice_is_answered_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let rows = chain("bench", 2);
    let mut ledger = with_rows(folder.path(), &rows);
    let again = Row::seal("bench", 3, rows[1].hash, 9, "bench-1", b"another body".to_vec());
    let next = after(&rows[1], "bench-3", b"next");
    let answers = ledger.append(&[again, next.clone(), next]).unwrap();
    let position = Position::from_number;
    assert_eq!(
        answers,
        [
            Appended::AlreadyHeld(position(1)),
            Appended::Written(position(3)),
            Appended::AlreadyHeld(position(3))
        ]
    );
    assert_eq!(ledger.count().unwrap(), 3);
}

#[test]
fn what_does_not_continue_a_chain_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let rows = chain("bench", 6);
    let mut ledger = with_rows(folder.path(), &rows[..3]);
    let before = in_order(&ledger);
    let none = RowHash::NONE;
    let elsewhere = chain("phone", 1)[0].hash;
    let seal =
        |writer: &str, seq, prev, order, act: &str| Row::seal(writer, seq, prev, order, act, b"x".to_vec());
    let last = rows[2].hash;
    let cases = [
        (Row { bytes: b"altered".to_vec(), ..rows[3].clone() }, Refusal::HashWrong),
        (Row { act: "altered".into(), ..rows[3].clone() }, Refusal::HashWrong),
        (rows[5].clone(), Refusal::Gap { last: 3 }),
        (seal("phone", 2, elsewhere, 1, "p"), Refusal::Gap { last: 0 }),
        (seal("bench", 4, elsewhere, 9, "p"), Refusal::PrevNotHeld { prev: elsewhere }),
        (seal("phone", 1, elsewhere, 1, "p"), Refusal::PrevNotHeld { prev: elsewhere }),
        (seal("bench", 3, rows[1].hash, 9, "p"), Refusal::NotAtHead { seq: 3 }),
        (seal("bench", 1, none, 9, "p"), Refusal::NotAtHead { seq: 1 }),
        (seal("bench", 4, last, 3, "p"), Refusal::OrderNotRising { order: 3, before: 3 }),
        (seal("phone", 0, none, 1, "p"), Refusal::OutOfRange),
        (seal("phone", 1, none, u64::MAX, "p"), Refusal::OutOfRange),
        (seal("phone", u64::MAX, none, 1, "p"), Refusal::OutOfRange),
        (seal("", 1, none, 1, "p"), Refusal::NoName),
        (seal("phone", 1, none, 1, ""), Refusal::NoName),
    ];
    for (row, why) in cases {
        // Behind a row that alone would be taken: it must not stay either.
        let good = seal("other", 1, none, 1, "good");
        assert_eq!(refusal(ledger.append(&[good, row.clone()])), why, "{row:?}");
        assert_eq!(in_order(&ledger), before);
    }
    // The same inside one call, where the rows before are not in the file yet.
    let order = Row::seal("bench", 5, rows[3].hash, 4, "p", Vec::new());
    let refused = refusal(ledger.append(&[rows[3].clone(), order]));
    assert_eq!(refused, Refusal::OrderNotRising { order: 4, before: 4 });
    let twin = Row::seal("bench", 4, last, 50, "twin", Vec::new());
    assert_eq!(refusal(ledger.append(&[rows[3].clone(), twin])), Refusal::NotAtHead { seq: 4 });

    ledger.append(&rows[3..]).unwrap();
    assert_eq!(verify(&ledger).faults, []);
}

#[test]
fn refusals_say_what_and_why() {
    let folder = tempfile::tempdir().unwrap();
    let rows = chain("bench", 6);
    let mut ledger = with_rows(folder.path(), &rows[..3]);
    let error = ledger.append(&rows[5..]).unwrap_err();
    assert_eq!(error.to_string(), "row 6 of \"bench\" was not written: the chain ends at 3, so 4 comes next");
    let twin = Row::seal("bench", 3, rows[1].hash, 9, "p", Vec::new());
    let error = ledger.append(&[twin]).unwrap_err();
    assert_eq!(
        error.to_string(),
        "row 3 of \"bench\" was not written: another row 3 follows the same row already"
    );
}

/// Our own mistakes are refused as well, on the very connection that writes.
#[test]
fn rows_cannot_be_changed_or_removed() {
    let folder = tempfile::tempdir().unwrap();
    drop(with_rows(folder.path(), &chain("bench", 3)));
    let connection = Connection::open(record(folder.path())).unwrap();
    connection.pragma_update(None, "recursive_triggers", true).unwrap();
    for (sql, word) in [
        ("UPDATE rows SET bytes = x'00' WHERE position = 2", "never changed"),
        ("UPDATE rows SET branch = 1", "never changed"),
        ("DELETE FROM rows WHERE position = 3", "never removed"),
        ("DELETE FROM rows", "never removed"),
        (
            "INSERT OR REPLACE INTO rows SELECT position, writer, branch, seq, prev, hash, 99, act, bytes FROM rows",
            "never removed",
        ),
    ] {
        let error = connection.execute(sql, []).unwrap_err().to_string();
        assert!(error.contains(word), "{sql}: {error}");
    }
    drop(connection);
    assert_eq!(in_order(&Reader::open(&record(folder.path())).unwrap()), chain("bench", 3));
}

#[test]
fn a_second_writer_is_told_who_holds_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    let mut ledger = with_rows(folder.path(), &chain("bench", 2));
    let error = Ledger::open(&path, "2026-11-26 08:00").unwrap_err();
    assert_eq!(
        error.to_string(),
        format!(
            "{}: open in another faying (process {}, since {SINCE}); close that one first",
            path.display(),
            std::process::id()
        )
    );
    // Under another name it is the same file.
    #[cfg(unix)]
    {
        let link = folder.path().join("link.faying");
        std::os::unix::fs::symlink(&path, &link).unwrap();
        assert!(matches!(Ledger::open(&link, SINCE), Err(LedgerError::InUse { .. })));
    }
    // A reader is let in, and sees what was committed since.
    let reader = Reader::open(&path).unwrap();
    ledger.append(&chain("phone", 1)).unwrap();
    assert_eq!(reader.count().unwrap(), 3);
    drop(ledger);
    Ledger::open(&path, SINCE).unwrap();
}

#[test]
fn create_replaces_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    drop(with_rows(folder.path(), &chain("bench", 2)));
    assert!(matches!(Ledger::create(&path, SINCE), Err(LedgerError::Exists { .. })));
    assert_eq!(Reader::open(&path).unwrap().count().unwrap(), 2);

    let note = folder.path().join("note.txt");
    fs::write(&note, "torque wrench lent").unwrap();
    assert!(matches!(Ledger::create(&note, SINCE), Err(LedgerError::Exists { .. })));
    assert_eq!(fs::read_to_string(&note).unwrap(), "torque wrench lent");
    assert!(matches!(Ledger::create(folder.path(), SINCE), Err(LedgerError::Exists { .. })));

    // A journal whose record was taken away still holds rows.
    let lone = folder.path().join("lone.faying");
    fs::write(folder.path().join("lone.faying-wal"), "rows").unwrap();
    assert!(matches!(Ledger::create(&lone, SINCE), Err(LedgerError::StrayJournal { .. })));
    assert!(!lone.exists());
}

#[test]
fn what_a_crash_left_of_a_new_file_is_in_nobodys_way() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    fs::write(&path, "").unwrap();
    fs::write(folder.path().join("record.faying.new"), "half a file").unwrap();
    assert!(matches!(Ledger::open(&path, SINCE), Err(LedgerError::NotALedger { why: "it is empty", .. })));
    Ledger::create(&path, SINCE).unwrap().append(&chain("bench", 1)).unwrap();
    assert!(!folder.path().join("record.faying.new").exists());
}

#[test]
fn what_is_not_a_ledger_is_named_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    assert!(matches!(Ledger::open(&path, SINCE), Err(LedgerError::NoFile { .. })));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "a lock was left where there is no ledger");

    let foreign = folder.path().join("foreign.db");
    Connection::open(&foreign)
        .unwrap()
        .execute_batch("CREATE TABLE rows (a); PRAGMA user_version = 1")
        .unwrap();
    for (name, bytes, why) in [
        ("note.txt", b"plan of the flap".to_vec(), "it is some other kind of file"),
        ("empty", Vec::new(), "it is empty"),
        ("foreign.db", fs::read(&foreign).unwrap(), "it is a SQLite file of another program"),
    ] {
        let path = folder.path().join(name);
        fs::write(&path, &bytes).unwrap();
        for result in [Ledger::open(&path, SINCE).map(drop), Reader::open(&path).map(drop)] {
            let text = result.unwrap_err().to_string();
            assert_eq!(text, format!("{}: not a record of faying: {why}", path.display()));
        }
        assert_eq!(fs::read(&path).unwrap(), bytes, "{name} was changed");
    }
}

#[test]
fn a_newer_format_is_refused_and_nothing_is_changed() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    drop(with_rows(folder.path(), &chain("bench", 2)));
    let connection = Connection::open(&path).unwrap();
    connection.pragma_update(None, "user_version", FORMAT + 1).unwrap();
    drop(connection);
    let before = fs::read(&path).unwrap();
    for result in [Ledger::open(&path, SINCE).map(drop), Reader::open(&path).map(drop)] {
        assert_eq!(
            result.unwrap_err().to_string(),
            format!(
                "{}: written by a newer faying (format 2, this one knows up to 1); \
                 nothing was changed; open it with the newer one",
                path.display()
            )
        );
    }
    assert_eq!(fs::read(&path).unwrap(), before);
}

/// As a folder that cannot be written does: SQLite is kept from making its index of the journal.
#[cfg(unix)]
#[test]
fn a_folder_that_cannot_be_written_is_named_as_such() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    drop(with_rows(folder.path(), &chain("bench", 2)));
    std::os::unix::fs::symlink("nowhere", folder.path().join("record.faying-shm")).unwrap();
    let error = Reader::open(&path).unwrap_err();
    assert!(error.to_string().contains("open a backup instead"), "{error}");
}

#[test]
fn a_full_disk_loses_nothing_and_the_ledger_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let rows = chain("bench", 2000);
    let mut ledger = with_rows(folder.path(), &rows[..10]);
    ledger.limit_pages(20).unwrap();
    assert!(matches!(ledger.append(&rows[10..]), Err(LedgerError::DiskFull { .. })));
    assert_eq!(in_order(&ledger), rows[..10]);

    // One by one until it is full for these as well: what was acknowledged is held, no more.
    let mut held = 10;
    let error = loop {
        match ledger.append(&rows[held..=held]) {
            Ok(_) => held += 1,
            Err(error) => break error,
        }
    };
    assert!(matches!(error, LedgerError::DiskFull { .. }), "{error:?}");
    assert!(held > 10 && held < 2000, "the limit did not act between the rows: {held}");
    assert_eq!(in_order(&ledger), rows[..held]);
    assert_eq!(verify(&ledger).faults, []);

    ledger.limit_pages(1_000_000).unwrap();
    ledger.append(&rows[held..]).unwrap();
    drop(ledger);
    let ledger = Ledger::open(&record(folder.path()), SINCE).unwrap();
    assert_eq!(in_order(&ledger), rows);
    assert_eq!(verify(&ledger).faults, []);
}

#[test]
fn a_backup_is_one_whole_file_and_replaces_none() {
    let folder = tempfile::tempdir().unwrap();
    let backups = folder.path().join("backups");
    let rows = chain("bench", 500);
    let mut ledger = with_rows(folder.path(), &rows);
    let backup = ledger.backup_to(&backups, "2026-11-25-0912").unwrap();
    assert_eq!(backup.path, backups.join("record-2026-11-25-0912.faying"));
    assert_eq!((backup.rows, &backup.heads), (500, &vec![rows[499].head()]));

    ledger.append(&[after(&rows[499], "late", b"late")]).unwrap();
    assert!(matches!(ledger.backup_to(&backups, "2026-11-25-0912"), Err(LedgerError::Exists { .. })));
    let names: Vec<_> = fs::read_dir(&backups).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(names, ["record-2026-11-25-0912.faying"], "something else was left beside it");

    // Moved away alone, it is all there; and it opens as the ledger it was.
    let alone = folder.path().join("alone.faying");
    fs::rename(&backup.path, &alone).unwrap();
    let reader = Reader::open(&alone).unwrap();
    assert_eq!(in_order(&reader), rows);
    assert_eq!(verify(&reader).faults, []);
    drop(reader);
    let names: Vec<_> = fs::read_dir(&backups).unwrap().collect();
    assert!(names.is_empty(), "reading left {names:?}");
    let mut restored = Ledger::open(&alone, SINCE).unwrap();
    restored.append(&[after(&rows[499], "other", b"other")]).unwrap();

    for stamp in ["", "../x", "a b", "09:12", "é"] {
        assert!(matches!(ledger.backup_to(&backups, stamp), Err(LedgerError::Stamp { .. })), "{stamp:?}");
    }
}
