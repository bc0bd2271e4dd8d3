//! Damage of every kind: it is found, named, and never read as if it were sound.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail where it stands")]

mod common;

use std::fs;
use std::path::Path;

use common::{SINCE, after, chain, in_order, record, rows_of, verify, verify_heads, with_rows};
use faying_ledger::{
    Against, Fault, Ledger, LedgerError, Position, Progress, Reader, Row, Stage, put_photograph,
};
use rusqlite::{Connection, params};

/// Lets `act` do to the rows what the triggers forbid, and puts the triggers back.
fn tamper(path: &Path, act: impl FnOnce(&Connection)) {
    let connection = Connection::open(path).unwrap();
    let triggers: Vec<(String, String)> = connection
        .prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
        .unwrap()
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert_eq!(triggers.len(), 2);
    for (name, _) in &triggers {
        connection.execute_batch(&format!("DROP TRIGGER {name}")).unwrap();
    }
    act(&connection);
    for (_, sql) in &triggers {
        connection.execute_batch(sql).unwrap();
    }
}

/// The faults of five rows of one writer after `act`.
fn faults_after(act: impl FnOnce(&Connection)) -> Vec<Fault> {
    let folder = tempfile::tempdir().unwrap();
    drop(with_rows(folder.path(), &chain("bench", 5)));
    tamper(&record(folder.path()), act);
    verify(&Reader::open(&record(folder.path())).unwrap()).faults
}

fn sql(text: &str) -> impl FnOnce(&Connection) {
    move |connection| {
        assert!(connection.execute(text, []).unwrap() > 0, "{text} changed nothing");
    }
}

fn put(connection: &Connection, position: i64, row: &Row) {
    connection
        .execute(
            "INSERT INTO rows VALUES (?1, ?2, 0, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![
                position,
                row.writer,
                row.seq as i64,
                row.prev.as_bytes(),
                row.hash.as_bytes(),
                row.order as i64,
                row.act,
                row.bytes
            ],
        )
        .unwrap();
}

#[test]
fn every_altered_column_is_found() {
    let wrong = |seq: u64| Fault::HashWrong {
        position: Position::from_number(seq as i64),
        writer: "bench".into(),
        seq,
    };
    let position = Position::from_number;
    assert_eq!(faults_after(|_| ()), []);
    assert_eq!(faults_after(sql("UPDATE rows SET bytes = x'7b7d' WHERE seq = 3")), [wrong(3)]);
    assert_eq!(faults_after(sql("UPDATE rows SET act = 'other' WHERE seq = 5")), [wrong(5)]);
    assert_eq!(
        faults_after(sql(r#"UPDATE rows SET "order" = 2 WHERE seq = 3"#)),
        [wrong(3), Fault::OrderNotRising { position: position(3), writer: "bench".into(), seq: 3 }]
    );
    assert_eq!(
        faults_after(sql("UPDATE rows SET prev = zeroblob(32) WHERE seq = 3")),
        [wrong(3), Fault::PrevWrong { position: position(3), writer: "bench".into(), seq: 3 }]
    );
    // The row itself, and the row after it, which names the hash that stood there.
    assert_eq!(
        faults_after(sql("UPDATE rows SET hash = zeroblob(32) WHERE seq = 3")),
        [wrong(3), Fault::PrevWrong { position: position(4), writer: "bench".into(), seq: 4 }]
    );
    // A row given to another writer is missing where it was.
    assert_eq!(
        faults_after(sql("UPDATE rows SET writer = 'phone' WHERE seq = 3")),
        [
            Fault::HashWrong { position: position(3), writer: "phone".into(), seq: 3 },
            Fault::Gap { position: position(3), writer: "phone".into(), seq: 3, expected: 1 },
            Fault::Gap { position: position(4), writer: "bench".into(), seq: 4, expected: 3 }
        ]
    );
    assert_eq!(
        faults_after(sql("UPDATE rows SET branch = 1 WHERE seq >= 4"))
            .iter()
            .filter(|fault| matches!(fault, Fault::PrevWrong { .. } | Fault::Gap { .. }))
            .count(),
        0,
        "a branch number alone breaks no chain"
    );
}

#[test]
fn every_broken_chain_is_named_for_what_it_is() {
    let position = Position::from_number;
    let bench = || "bench".to_owned();
    let rows = chain("bench", 7);

    assert_eq!(
        faults_after(sql("DELETE FROM rows WHERE seq = 3")),
        [Fault::Gap { position: position(4), writer: bench(), seq: 4, expected: 3 }]
    );
    assert_eq!(
        faults_after(sql("DELETE FROM rows WHERE seq = 1")),
        [Fault::Gap { position: position(2), writer: bench(), seq: 2, expected: 1 }]
    );
    // Well formed in itself, but it names another row before it.
    let elsewhere = Row::seal("bench", 6, rows[3].hash, 6, "x", Vec::new());
    assert_eq!(
        faults_after(|connection| put(connection, 6, &elsewhere)),
        [Fault::PrevWrong { position: position(6), writer: bench(), seq: 6 }]
    );
    let slow = Row::seal("bench", 6, rows[4].hash, 5, "x", Vec::new());
    assert_eq!(
        faults_after(|connection| put(connection, 6, &slow)),
        [Fault::OrderNotRising { position: position(6), writer: bench(), seq: 6 }]
    );
    // Rows 6 and 7 the wrong way round in the file.
    assert_eq!(
        faults_after(|connection| {
            put(connection, 6, &rows[6]);
            put(connection, 7, &rows[5]);
        }),
        [
            Fault::Gap { position: position(6), writer: bench(), seq: 7, expected: 6 },
            Fault::OutOfOrder { position: position(7), writer: bench(), seq: 6, expected: 8 }
        ]
    );
    let rootless = Row::seal("phone", 1, rows[0].hash, 1, "x", Vec::new());
    assert_eq!(
        faults_after(|connection| put(connection, 6, &rootless)),
        [Fault::PrevWrong { position: position(6), writer: "phone".into(), seq: 1 }]
    );
}

#[test]
fn a_guard_taken_away_is_found() {
    let folder = tempfile::tempdir().unwrap();
    drop(with_rows(folder.path(), &chain("bench", 5)));
    let connection = Connection::open(record(folder.path())).unwrap();
    connection.execute_batch("DROP TRIGGER rows_never_go; CREATE TABLE extra (a)").unwrap();
    drop(connection);
    let faults = verify(&Reader::open(&record(folder.path())).unwrap()).faults;
    let schema = |name: &str| Fault::Schema { name: name.into() };
    assert_eq!(faults, [schema("extra"), schema("rows_never_go")]);
}

/// A chain shows no cut-off tail; a head that somebody kept does.
#[test]
fn a_cut_off_tail_is_found_by_its_head_alone() {
    let folder = tempfile::tempdir().unwrap();
    let ledger = with_rows(folder.path(), &chain("bench", 5));
    let heads = ledger.heads().unwrap();
    drop(ledger);
    tamper(&record(folder.path()), sql("DELETE FROM rows WHERE seq > 3"));
    let ledger = Reader::open(&record(folder.path())).unwrap();
    assert_eq!(verify(&ledger).faults, []);
    let faults = verify_heads(&ledger, &heads).faults;
    assert_eq!(faults, [Fault::HeadNotHeld { head: heads[0].clone() }]);
    assert_eq!(
        faults[0].to_string(),
        format!("row 5 of \"bench\", known from elsewhere as {}, is not here", heads[0].hash)
    );
    // A head is found also where the chain has gone on.
    drop(ledger);
    let mut ledger = Ledger::open(&record(folder.path()), SINCE).unwrap();
    let kept = ledger.heads().unwrap();
    ledger.append(&chain("bench", 5)[3..]).unwrap();
    assert_eq!(verify_heads(&ledger, &[kept, heads].concat()).faults, []);
}

/// SQLite itself drops what stands behind a damaged place of its journal, in silence.
#[test]
fn a_byte_flipped_in_the_journal_is_found_by_the_heads() {
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = Ledger::create(&record(folder.path()), SINCE).unwrap();
    let rows = chain("bench", 20);
    for row in &rows {
        ledger.append(std::slice::from_ref(row)).unwrap();
    }
    let heads = ledger.heads().unwrap();

    // As a crash leaves it: file and journal, nobody has it open.
    let copy = tempfile::tempdir().unwrap();
    let journal = copy.path().join("record.faying-wal");
    fs::copy(record(folder.path()), record(copy.path())).unwrap();
    fs::copy(folder.path().join("record.faying-wal"), &journal).unwrap();
    let mut bytes = fs::read(&journal).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x20;
    fs::write(&journal, bytes).unwrap();

    let ledger = Ledger::open(&record(copy.path()), SINCE).unwrap();
    let left = in_order(&ledger);
    assert!(!left.is_empty() && left.len() < 20, "{} rows left", left.len());
    assert_eq!(left, rows[..left.len()]);
    assert_eq!(verify(&ledger).faults, []);
    assert_eq!(verify_heads(&ledger, &heads).faults, [Fault::HeadNotHeld { head: heads[0].clone() }]);
}

#[test]
fn a_truncated_file_is_refused_with_its_length() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    drop(with_rows(folder.path(), &chain("bench", 400)));
    let whole = fs::read(&path).unwrap();
    let cut = |length: usize| {
        fs::write(&path, &whole[..length]).unwrap();
        Ledger::open(&path, SINCE).map(drop).unwrap_err()
    };
    for length in [1, 15, 16, 50, 99, 100, 4095, 4096, whole.len() / 2, whole.len() - 4096, whole.len() - 1] {
        let error = cut(length);
        assert!(matches!(error, LedgerError::CutShort { .. }), "{length}: {error:?}");
    }
    assert_eq!(
        cut(8192).to_string(),
        format!(
            "{}: cut short: 8192 bytes, its header says {}; take the newest whole copy from backups",
            path.display(),
            whole.len()
        )
    );
    fs::write(&path, &whole).unwrap();
    assert_eq!(Ledger::open(&path, SINCE).unwrap().count().unwrap(), 400);
}

/// Bytes all through the file, each flipped in turn: either the file is refused, or the check
/// finds a fault, or every row still reads as it was written.
#[test]
fn no_flipped_byte_passes_for_sound() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    drop(with_rows(folder.path(), &chain("bench", 40)));
    let sound = Reader::open(&path).unwrap().backup_to(folder.path(), "sound").unwrap().path;
    let whole = fs::read(&sound).unwrap();
    let expected = rows_of(&Reader::open(&sound).unwrap());
    assert_eq!(expected.len(), 40);

    let (mut refused, mut found, mut harmless) = (0, 0, 0);
    for (turn, at) in (0..whole.len()).step_by(13).enumerate() {
        let mut bytes = whole.clone();
        bytes[at] ^= 1 << (turn % 8);
        fs::write(&sound, &bytes).unwrap();
        let Ok(ledger) = Reader::open(&sound) else {
            refused += 1;
            continue;
        };
        match ledger.verify(&Against::default(), |_| false) {
            Err(_) => refused += 1,
            Ok(verified) if !verified.faults.is_empty() => found += 1,
            Ok(_) => {
                assert_eq!(rows_of(&ledger), expected, "byte {at} passed for sound");
                harmless += 1;
            }
        }
    }
    // If all were harmless the file would hold nothing; if none, the flips would not be what they seem.
    assert!(
        refused > 0 && found > 100 && harmless > 0,
        "{refused} refused, {found} found, {harmless} harmless"
    );
}

/// Where the bytes of a row stand in the file, a flip is laid at that row's door.
#[test]
fn a_flipped_byte_of_a_row_names_the_row() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    let rows = chain("bench", 40);
    drop(with_rows(folder.path(), &rows));
    let whole = fs::read(&path).unwrap();
    // At every place: pages that were split keep dead copies of what moved out of them.
    let changed = |needle: &[u8], offset: usize, to: fn(u8) -> u8| {
        let mut bytes = whole.clone();
        let places: Vec<usize> =
            (0..whole.len() - needle.len()).filter(|&at| whole[at..].starts_with(needle)).collect();
        assert!(!places.is_empty());
        for at in places {
            bytes[at + offset] = to(bytes[at + offset]);
        }
        fs::write(&path, &bytes).unwrap();
    };
    let flip = |byte| byte ^ 1;
    let row = &rows[16];
    let act_in_row = [row.act.as_bytes(), &row.bytes].concat();
    let hash_in_row = [row.hash.as_bytes().as_slice(), &[17]].concat();
    for (what, needle, offset) in [
        ("bytes", row.bytes.as_slice(), 7),
        ("act", &act_in_row, 3),
        ("hash", &hash_in_row, 30),
        ("prev", &[row.prev.as_bytes().as_slice(), row.hash.as_bytes()].concat(), 0),
    ] {
        changed(needle, offset, flip);
        let faults = verify(&Reader::open(&path).unwrap()).faults;
        let named = |fault: &Fault| matches!(fault, Fault::HashWrong { seq: 17, .. });
        assert!(faults.iter().any(named), "{what}: {faults:?}");
    }
    // A text column that is no text any more: told as unreadable, the rest still checked.
    changed(&act_in_row, 3, |_| 0xff);
    let ledger = Reader::open(&path).unwrap();
    let verified = verify(&ledger);
    assert!(matches!(verified.faults[0], Fault::UnreadableRow { position, .. } if position.number() == 17));
    assert_eq!(verified.rows, 40);
    let mut read = ledger.rows_since(Position::START);
    let error = read.find_map(Result::err).unwrap();
    assert!(
        matches!(error, LedgerError::UnreadableRow { position, .. } if position.number() == 17),
        "{error}"
    );
    assert!(read.next().is_none(), "went on behind a row that could not be read");
}

#[test]
fn a_check_says_how_far_it_is_and_stops_when_told() {
    let folder = tempfile::tempdir().unwrap();
    let ledger = with_rows(folder.path(), &chain("bench", 3000));
    let mut seen: Vec<Progress> = Vec::new();
    let verified = ledger
        .verify(&Against::default(), |progress| {
            seen.push(progress);
            false
        })
        .unwrap();
    assert_eq!((verified.rows, verified.stopped), (3000, false));
    let rows: Vec<(u64, u64)> =
        seen.iter().filter(|p| p.stage == Stage::Rows).map(|p| (p.done, p.of)).collect();
    assert_eq!(rows, [(0, 3000), (1024, 3000), (2048, 3000)]);
    assert!(seen.iter().any(|p| p.stage == Stage::File && p.done == p.of));

    let verified = ledger.verify(&Against::default(), |progress| progress.done >= 1024).unwrap();
    assert_eq!((verified.rows, verified.stopped), (1024, true));
}

#[test]
fn photographs_are_read_and_missed() {
    let folder = tempfile::tempdir().unwrap();
    let photographs = folder.path().join("photos");
    let ledger = with_rows(folder.path(), &chain("bench", 1));
    let against =
        |must_be_there| Against { photographs: Some(&photographs), must_be_there, ..Against::default() };
    // No folder, nothing expected: a build without photographs.
    assert_eq!(ledger.verify(&against(&[]), |_| false).unwrap().faults, []);

    let kept = put_photograph(&photographs, b"\xff\xd8\xff kept").unwrap();
    let changed = put_photograph(&photographs, b"\xff\xd8\xff changed").unwrap();
    let lost = put_photograph(&photographs, b"\xff\xd8\xff lost").unwrap();
    fs::write(photographs.join("Thumbs.db"), "not ours").unwrap();
    let all = [kept, changed.clone(), lost.clone()];
    let verified = ledger.verify(&against(&all), |_| false).unwrap();
    assert_eq!((verified.faults, verified.photographs), (Vec::new(), 3));

    fs::write(photographs.join(changed.to_string()), b"\xff\xd8\xff Changed").unwrap();
    fs::remove_file(photographs.join(lost.to_string())).unwrap();
    let verified = ledger.verify(&against(&all), |_| false).unwrap();
    assert_eq!(
        verified.faults,
        [Fault::PhotographMissing { name: lost }, Fault::PhotographDiffers { name: changed }]
    );
    assert_eq!(verified.photographs, 2);
}

/// A damaged ledger goes on taking rows: what can be kept is kept.
#[test]
fn a_damaged_row_does_not_stop_the_work() {
    let folder = tempfile::tempdir().unwrap();
    let rows = chain("bench", 5);
    drop(with_rows(folder.path(), &rows));
    tamper(&record(folder.path()), sql("UPDATE rows SET bytes = x'7b7d' WHERE seq = 3"));
    let mut ledger = Ledger::open(&record(folder.path()), SINCE).unwrap();
    ledger.append(&[after(&rows[4], "next", b"next")]).unwrap();
    let verified = verify(&ledger);
    assert_eq!(verified.faults.len(), 1);
    assert_eq!(
        verified.faults[0].to_string(),
        "row 3 of \"bench\" (position 3): its contents are not those that were written"
    );
}
