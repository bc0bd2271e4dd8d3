//! The file's format: its marks, its tables, and the steps from one format to the next.
//!
//! `user_version` is the format number; [`STEPS`] holds one piece of SQL for
//! each step. A format newer than [`FORMAT`] is refused before anything is
//! written. A step once released is never edited; the next one is added
//! behind it.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use crate::files::beside;
use crate::ledger::LedgerError;

/// The format that this version writes.
pub const FORMAT: u32 = STEPS.len() as u32;

/// What `PRAGMA application_id` holds: the letters `fayn`.
pub const APPLICATION_ID: i32 = i32::from_be_bytes(*b"fayn");

/// From format n to n + 1.
const STEPS: [&str; 1] = [
    // `act` is not unique here: two copies of a ledger may each have taken the
    // same act from a phone, and after a merge both chains must stay whole.
    // `append` looks for it before it writes.
    r#"
    CREATE TABLE rows (
        position INTEGER PRIMARY KEY,
        writer   TEXT    NOT NULL CHECK (writer <> ''),
        branch   INTEGER NOT NULL CHECK (branch >= 0),
        seq      INTEGER NOT NULL CHECK (seq >= 1),
        prev     BLOB    NOT NULL CHECK (length(prev) = 32),
        hash     BLOB    NOT NULL CHECK (length(hash) = 32),
        "order"  INTEGER NOT NULL CHECK ("order" >= 0),
        act      TEXT    NOT NULL CHECK (act <> ''),
        bytes    BLOB    NOT NULL
    ) STRICT;
    CREATE UNIQUE INDEX rows_by_seq ON rows (writer, seq, branch);
    CREATE INDEX rows_by_act ON rows (act);
    CREATE INDEX rows_of_branches ON rows (writer, branch, seq) WHERE branch > 0;
    CREATE TRIGGER rows_never_change BEFORE UPDATE ON rows
    BEGIN
        SELECT RAISE(ABORT, 'a row of the ledger is never changed; a correction is a new row');
    END;
    CREATE TRIGGER rows_never_go BEFORE DELETE ON rows
    BEGIN
        SELECT RAISE(ABORT, 'a row of the ledger is never removed; a correction is a new row');
    END;
    "#,
];

/// How far a connection makes sure that a commit is on the disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sync {
    /// Every commit is synced before it returns.
    Full,
    /// Never; only for the test that shows the difference.
    Off,
}

/// Looks at the file without SQLite, so that what is not a ledger is named as what it is.
pub fn look_at_file(path: &Path) -> Result<(), LedgerError> {
    let not = |why| Err(LedgerError::NotALedger { path: path.to_owned(), why });
    let io = |source: std::io::Error| LedgerError::File { path: path.to_owned(), source };
    let mut file = match File::open(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return Err(LedgerError::NoFile { path: path.to_owned() });
        }
        other => other.map_err(io)?,
    };
    let about = file.metadata().map_err(io)?;
    if about.is_dir() {
        return not("it is a folder");
    }
    let mut header = Vec::new();
    file.by_ref().take(100).read_to_end(&mut header).map_err(io)?;
    if header.is_empty() {
        return not("it is empty");
    }
    if !b"SQLite format 3\0".starts_with(&header[..header.len().min(16)]) {
        return not("it is some other kind of file");
    }
    if header.len() < 100 {
        return Err(LedgerError::CutShort { path: path.to_owned(), found: about.len(), expected: 4096 });
    }
    // A journal beside it may hold the missing end; then SQLite has to judge.
    let journal = std::fs::metadata(beside(path, "-wal")).is_ok_and(|about| about.len() > 0);
    let expected = stated_length(&header);
    if !journal && expected.is_some_and(|expected| about.len() < expected) {
        let expected = expected.unwrap_or_default();
        return Err(LedgerError::CutShort { path: path.to_owned(), found: about.len(), expected });
    }
    Ok(())
}

/// The length that a SQLite header states, where the header says that the statement holds.
fn stated_length(header: &[u8]) -> Option<u64> {
    let word =
        |at: usize| -> Option<u32> { Some(u32::from_be_bytes(header.get(at..at + 4)?.try_into().ok()?)) };
    let page_size = match u16::from_be_bytes(header.get(16..18)?.try_into().ok()?) {
        1 => 65_536,
        size => u64::from(size),
    };
    // Offsets 24 and 92 agree unless a very old SQLite wrote the file last.
    (word(24)? == word(92)?).then_some(u64::from(word(28)?) * page_size)
}

/// Opens for reading only, and refuses what is not ours or is too new. Writes nothing.
pub fn open_to_read(path: &Path) -> Result<Connection, LedgerError> {
    look_at_file(path)?;
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags).map_err(LedgerError::at(path))?;
    settle(&connection).map_err(LedgerError::at(path))?;
    check_marks(path, &connection)?;
    Ok(connection)
}

/// Refuses what is not ours or is too new before a writer opens it. Writes nothing.
///
/// As [`open_to_read`], except where a process died while the file was given its
/// journal, as a backup is at its first use as a record: only a writer can undo
/// that. The marks are then read without SQLite; that change leaves them alone.
pub fn look_before_writing(path: &Path) -> Result<(), LedgerError> {
    match open_to_read(path) {
        Err(LedgerError::CannotOpen { source, .. }) if wants_a_writer(&source) => {
            let mut header = [0; 100];
            File::open(path)
                .and_then(|mut file| file.read_exact(&mut header))
                .map_err(LedgerError::file(path))?;
            let word = |at: usize| [header[at], header[at + 1], header[at + 2], header[at + 3]];
            // Where SQLite's file format has application_id and user_version.
            marks_are_ours(path, i32::from_be_bytes(word(68)), u32::from_be_bytes(word(60)))
        }
        other => other.map(drop),
    }
}

fn wants_a_writer(error: &rusqlite::Error) -> bool {
    error.sqlite_error().is_some_and(|error| error.extended_code == rusqlite::ffi::SQLITE_READONLY_ROLLBACK)
}

/// Opens for writing and brings the file to this version's format.
///
/// The caller has looked at it with [`look_before_writing`] first.
pub fn open_to_write(path: &Path, sync: Sync) -> Result<Connection, LedgerError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = Connection::open_with_flags(path, flags).map_err(LedgerError::at(path))?;
    prepare_to_write(&mut connection, sync).map_err(LedgerError::at(path))?;
    Ok(connection)
}

fn prepare_to_write(connection: &mut Connection, sync: Sync) -> rusqlite::Result<()> {
    settle(connection)?;
    connection.pragma_update(None, "journal_mode", "WAL")?;
    connection.pragma_update(None, "synchronous", if sync == Sync::Full { "FULL" } else { "OFF" })?;
    // A plain fsync does not reach the platter on every system; these ask for more where there is more.
    connection.pragma_update(None, "fullfsync", true)?;
    connection.pragma_update(None, "checkpoint_fullfsync", true)?;
    // Without this INSERT OR REPLACE would take a row away behind the triggers' back.
    connection.pragma_update(None, "recursive_triggers", true)?;
    migrate(connection, &STEPS)
}

/// What holds for every connection.
fn settle(connection: &Connection) -> rusqlite::Result<()> {
    connection.busy_timeout(std::time::Duration::from_secs(5))?;
    // A file may come from anywhere; nothing in its schema is to be run on trust.
    connection.pragma_update(None, "trusted_schema", false)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    // A plan that may change with the values bound is made anew for every row; ours must not.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true)?;
    // 64 MB at most: the indexes of 100,000 rows stay in memory through one merge.
    connection.pragma_update(None, "cache_size", -64_000)
}

/// Writes a new, whole ledger into a file that does not exist yet.
pub fn write_new(path: &Path) -> rusqlite::Result<()> {
    let mut connection = Connection::open(path)?;
    connection.pragma_update(None, "application_id", APPLICATION_ID)?;
    migrate(&mut connection, &STEPS)?;
    // The change to this journal is itself journalled in the old way. It is made here, where a
    // death leaves no record, and not at the first opening, where it would leave one half changed.
    connection.pragma_update(None, "journal_mode", "WAL")?;
    connection.close().map_err(|(_, error)| error)
}

fn check_marks(path: &Path, connection: &Connection) -> Result<(), LedgerError> {
    let id: i32 = connection
        .pragma_query_value(None, "application_id", |row| row.get(0))
        .map_err(LedgerError::at(path))?;
    // A negative number can only stand in a file of another program.
    let found = if id == APPLICATION_ID { format_of(connection).map_err(LedgerError::at(path))? } else { 0 };
    marks_are_ours(path, id, found)
}

fn marks_are_ours(path: &Path, id: i32, found: u32) -> Result<(), LedgerError> {
    if id != APPLICATION_ID {
        return Err(LedgerError::NotALedger {
            path: path.to_owned(),
            why: "it is a SQLite file of another program",
        });
    }
    if found > FORMAT {
        return Err(LedgerError::TooNew { path: path.to_owned(), found, known: FORMAT });
    }
    Ok(())
}

fn format_of(connection: &Connection) -> rusqlite::Result<u32> {
    connection.pragma_query_value(None, "user_version", |row| row.get(0))
}

/// Runs the steps that the file has not had. All or none: they are one transaction.
fn migrate(connection: &mut Connection, steps: &[&str]) -> rusqlite::Result<()> {
    let found = format_of(connection)? as usize;
    if found >= steps.len() {
        return Ok(());
    }
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Exclusive)?;
    for step in &steps[found..] {
        transaction.execute_batch(step)?;
    }
    transaction.pragma_update(None, "user_version", steps.len() as i64)?;
    transaction.commit()
}

/// Every table, index and trigger with its SQL, in a steady order.
pub fn written_schema(connection: &Connection) -> rusqlite::Result<Vec<(String, String)>> {
    connection
        .prepare("SELECT name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite_stat%' ORDER BY name")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect()
}

/// What [`written_schema`] must give for a file of this version's format.
pub fn expected_schema() -> rusqlite::Result<Vec<(String, String)>> {
    let mut connection = Connection::open_in_memory()?;
    migrate(&mut connection, &STEPS)?;
    written_schema(&connection)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_run_once_and_in_order() {
        let mut connection = Connection::open_in_memory().unwrap();
        let steps = ["CREATE TABLE one (a) STRICT_", "CREATE TABLE two (a)"];
        assert!(migrate(&mut connection, &steps).is_err());
        assert_eq!(format_of(&connection).unwrap(), 0);

        let steps = ["CREATE TABLE one (a)", "INSERT INTO one VALUES (1)"];
        migrate(&mut connection, &steps[..1]).unwrap();
        migrate(&mut connection, &steps).unwrap();
        migrate(&mut connection, &steps).unwrap();
        let count: i64 = connection.query_row("SELECT count(*) FROM one", [], |row| row.get(0)).unwrap();
        assert_eq!((count, format_of(&connection).unwrap()), (1, 2));
    }

    #[test]
    fn a_step_that_fails_takes_the_steps_before_it_along() {
        let mut connection = Connection::open_in_memory().unwrap();
        assert!(migrate(&mut connection, &["CREATE TABLE one (a)", "not SQL"]).is_err());
        let tables: i64 =
            connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)).unwrap();
        assert_eq!((tables, format_of(&connection).unwrap()), (0, 0));
    }

    /// The first step is released: its text decides what older files look like.
    #[test]
    fn the_format_has_a_number_and_a_mark() {
        assert_eq!(FORMAT, 1);
        assert_eq!(APPLICATION_ID, 0x6661_796e);
    }
}
