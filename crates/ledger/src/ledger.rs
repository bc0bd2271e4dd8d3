//! The ledger file: opening, appending, reading.
//!
//! One transaction for each call of [`Ledger::append`], synced before it
//! returns (WAL, `synchronous=FULL`), so several rows handed over together
//! cost one sync. What does not continue a chain is refused and nothing of
//! that call is written.

use std::collections::HashMap;
use std::ops::Deref;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, ErrorCode, OptionalExtension, Transaction, TransactionBehavior, params};
use thiserror::Error;

use crate::files::{beside, folder_of, put_in_place, remove_if_there, sync_folder};
use crate::lock::Lock;
use crate::row::{Fork, Head, HeldRow, Row, RowHash};
use crate::schema::{self, Sync};

/// What can go wrong with a ledger.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LedgerError {
    /// There is no such file.
    #[error("{}: there is no such file; a new record is made with \"new\"", path.display())]
    NoFile {
        /// The file asked for.
        path: PathBuf,
    },
    /// A new ledger was to be made where a file is.
    #[error("{}: there is a file of this name already; nothing was written", path.display())]
    Exists {
        /// The file in the way.
        path: PathBuf,
    },
    /// A journal without its ledger: a new file would swallow it.
    #[error(
        "{}: the journal of an earlier record lies here without its record; \
         put the record back beside it, or move the journal away",
        path.display()
    )]
    StrayJournal {
        /// The journal.
        path: PathBuf,
    },
    /// The file is something else.
    #[error("{}: not a record of faying: {why}", path.display())]
    NotALedger {
        /// The file.
        path: PathBuf,
        /// What it is instead.
        why: &'static str,
    },
    /// The file is shorter than its own header says.
    #[error(
        "{}: cut short: {found} bytes, its header says {expected}; \
         take the newest whole copy from backups",
        path.display()
    )]
    CutShort {
        /// The file.
        path: PathBuf,
        /// Its length, bytes.
        found: u64,
        /// The length it states, or the least it could have, bytes.
        expected: u64,
    },
    /// A later version wrote the file.
    #[error(
        "{}: written by a newer faying (format {found}, this one knows up to {known}); \
         nothing was changed; open it with the newer one",
        path.display()
    )]
    TooNew {
        /// The file.
        path: PathBuf,
        /// Its format.
        found: u32,
        /// The newest format known here.
        known: u32,
    },
    /// Somebody else writes to it.
    #[error("{}: open in another faying ({holder}); close that one first", path.display())]
    InUse {
        /// The ledger.
        path: PathBuf,
        /// Who holds it, as that one wrote it down.
        holder: String,
    },
    /// A row does not continue a chain.
    #[error("row {seq} of \"{writer}\" was not written: {why}")]
    Refused {
        /// Whose row.
        writer: String,
        /// Its number.
        seq: u64,
        /// Why.
        why: Refusal,
    },
    /// No room left.
    #[error("{}: no room left on the disk; nothing of this was written, what was there still is", path.display())]
    DiskFull {
        /// The file that should have grown.
        path: PathBuf,
    },
    /// A ledger in use needs a folder that can be written, even to be read.
    #[error(
        "{}: cannot be opened here; a record in use can only be opened in a folder that can be written: \
         open a backup instead, or copy the folder",
        path.display()
    )]
    CannotOpen {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        source: rusqlite::Error,
    },
    /// The file is damaged where SQLite looks.
    #[error("{}: damaged; verify says how far, and the newest whole copy is in backups", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        source: rusqlite::Error,
    },
    /// A row's columns cannot be read.
    #[error("{}: the row at position {position} is damaged ({why}); verify says how far", path.display())]
    UnreadableRow {
        /// The file.
        path: PathBuf,
        /// Where the row stands.
        position: Position,
        /// What is wrong with it.
        why: String,
    },
    /// A backup's stamp cannot be part of a file name.
    #[error(
        "\"{stamp}\" cannot be part of a file name: use letters, digits, - and _, for example 2026-11-25-0912"
    )]
    Stamp {
        /// The stamp given.
        stamp: String,
    },
    /// A backup read back is not what was copied.
    #[error("{}: the copy does not hold what was copied, and was not kept; check the disk", path.display())]
    BackupDiffers {
        /// The backup.
        path: PathBuf,
    },
    /// The system refuses the file.
    #[error("{}: the file cannot be read or written", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// SQLite refuses for another reason.
    #[error("{}: the database refused", path.display())]
    Database {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        source: rusqlite::Error,
    },
}

impl LedgerError {
    /// Names the file that an SQLite error is about.
    pub(crate) fn at(path: &Path) -> impl Fn(rusqlite::Error) -> Self + use<'_> {
        |source| {
            let path = path.to_owned();
            match source.sqlite_error_code() {
                Some(ErrorCode::DiskFull) => Self::DiskFull { path },
                Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => Self::Damaged { path, source },
                Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => {
                    Self::CannotOpen { path, source }
                }
                _ => Self::Database { path, source },
            }
        }
    }

    /// Names the file that a system error is about.
    pub(crate) fn file(path: &Path) -> impl Fn(std::io::Error) -> Self + use<'_> {
        |source| Self::File { path: path.to_owned(), source }
    }
}

/// Why a row is not taken.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The hash it carries is not the one its contents give.
    #[error("its hash is not that of its contents")]
    HashWrong,
    /// Numbers are missing before it.
    #[error("the chain ends at {last}, so {} comes next", last + 1)]
    Gap {
        /// The last number held; 0 for none.
        last: u64,
    },
    /// The row of the number before is another one.
    #[error("it names {prev} as the row before, which is not held")]
    PrevNotHeld {
        /// What it names.
        prev: RowHash,
    },
    /// The row before it has another one after it already.
    #[error("another row {seq} follows the same row already")]
    NotAtHead {
        /// The number of both.
        seq: u64,
    },
    /// Its Lamport number does not rise.
    #[error("its order {order} is not above {before}, that of the row before it")]
    OrderNotRising {
        /// Its order.
        order: u64,
        /// The order of the row before.
        before: u64,
    },
    /// A number that the file cannot hold.
    #[error("its number or order is out of range: numbers run from 1, both up to 9223372036854775807")]
    OutOfRange,
    /// Writer or act is empty.
    #[error("it names no writer or no act")]
    NoName,
}

/// Where a row stands in one file: later rows stand at higher positions. Another copy has its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position(i64);

impl Position {
    /// Before the first row.
    pub const START: Self = Self(0);

    /// The position as a number, 0 before the first row.
    #[must_use]
    pub const fn number(self) -> i64 {
        self.0
    }

    /// From a number that [`number`](Self::number) gave.
    #[must_use]
    pub const fn from_number(number: i64) -> Self {
        Self(number)
    }
}

impl std::fmt::Display for Position {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

/// What became of a row handed to [`Ledger::append`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Appended {
    /// Written, and on the disk.
    Written(Position),
    /// A row of the same act was there; this one was not written.
    AlreadyHeld(Position),
}

impl Appended {
    /// Where the row of this act stands.
    #[must_use]
    pub const fn position(self) -> Position {
        match self {
            Self::Written(position) | Self::AlreadyHeld(position) => position,
        }
    }
}

/// A ledger opened for reading: as many as wanted, beside one [`Ledger`] that writes.
///
/// Each call sees all that was committed before it.
#[derive(Debug)]
pub struct Reader {
    pub(crate) connection: Connection,
    pub(crate) path: PathBuf,
}

/// A ledger opened for writing; the only one, held by a lock file beside it.
///
/// It reads as a [`Reader`] does. It may move between threads, and is used by
/// one at a time.
#[derive(Debug)]
pub struct Ledger {
    // Before the lock, so that the file is closed before another may open it.
    reader: Reader,
    _lock: Lock,
}

impl Deref for Ledger {
    type Target = Reader;

    fn deref(&self) -> &Reader {
        &self.reader
    }
}

impl Ledger {
    /// Makes a new ledger and opens it.
    ///
    /// The file appears under its name only when it is whole. `since` says in
    /// the lock file from when on it is held, as the caller writes times.
    ///
    /// # Errors
    /// [`LedgerError::Exists`] if there is a file of that name (one of no
    /// bytes, as a crash may leave, is taken for none);
    /// [`LedgerError::StrayJournal`] if an earlier ledger's journal lies there.
    pub fn create(path: &Path, since: &str) -> Result<Self, LedgerError> {
        let in_the_way = || std::fs::metadata(path).is_ok_and(|about| about.is_dir() || about.len() > 0);
        // Looked at before the lock, so that no lock file is left beside somebody else's file.
        if in_the_way() {
            return Err(LedgerError::Exists { path: path.to_owned() });
        }
        let lock = Lock::take(path, since)?;
        if in_the_way() {
            return Err(LedgerError::Exists { path: path.to_owned() });
        }
        let journal = beside(path, "-wal");
        if std::fs::metadata(&journal).is_ok_and(|about| about.len() > 0) {
            return Err(LedgerError::StrayJournal { path: journal });
        }
        let new = beside(path, ".new");
        for left_over in ["", "-journal", "-wal", "-shm"].map(|behind| beside(&new, behind)) {
            remove_if_there(&left_over).map_err(LedgerError::file(&left_over))?;
        }
        schema::write_new(&new).map_err(LedgerError::at(&new))?;
        put_in_place(&new, path).map_err(LedgerError::file(path))?;
        Self::open_locked(path, lock, Sync::Full)
    }

    /// Opens a ledger for writing, and brings an older format to this version's.
    ///
    /// `since` says in the lock file from when on it is held, as the caller
    /// writes times.
    ///
    /// # Errors
    /// [`LedgerError`] says what the file is if it is no ledger, who has it
    /// open, or that it is newer; nothing is changed then.
    pub fn open(path: &Path, since: &str) -> Result<Self, LedgerError> {
        schema::look_at_file(path)?;
        Self::open_locked(path, Lock::take(path, since)?, Sync::Full)
    }

    /// Opens a ledger that syncs nothing: a power cut loses what was acknowledged.
    ///
    /// Only for tests: as the control of the one that shows that rows are
    /// synced, and where thousands of small files would be synced for nothing.
    ///
    /// # Errors
    /// As [`Ledger::open`].
    #[doc(hidden)]
    pub fn open_without_sync(path: &Path, since: &str) -> Result<Self, LedgerError> {
        schema::look_at_file(path)?;
        Self::open_locked(path, Lock::take(path, since)?, Sync::Off)
    }

    fn open_locked(path: &Path, lock: Lock, sync: Sync) -> Result<Self, LedgerError> {
        // First for reading only: a file that is refused must not be touched by SQLite's clean-up.
        schema::look_before_writing(path)?;
        let connection = schema::open_to_write(path, sync)?;
        sync_folder(folder_of(path)).map_err(LedgerError::file(path))?;
        Ok(Self { reader: Reader { connection, path: path.to_owned() }, _lock: lock })
    }

    /// Holds the file to a number of pages, as a full disk would; for tests.
    ///
    /// # Errors
    /// [`LedgerError::Database`] if SQLite refuses.
    #[doc(hidden)]
    pub fn limit_pages(&self, pages: u32) -> Result<(), LedgerError> {
        self.connection
            .pragma_update_and_check(None, "max_page_count", pages, |_| Ok(()))
            .map_err(LedgerError::at(&self.path))
    }

    /// Appends rows in one transaction; on the disk when this returns.
    ///
    /// A row whose act is held already is passed over, whatever else it says;
    /// the answer names where that act stands. Every other row must continue
    /// a chain at its head, also one begun by an earlier row of the same call.
    ///
    /// # Errors
    /// [`LedgerError::Refused`] if a row's hash is not that of its contents,
    /// or if it does not continue a chain; [`LedgerError::DiskFull`]. After any
    /// error nothing of this call is written and the ledger can be used on.
    pub fn append(&mut self, rows: &[Row]) -> Result<Vec<Appended>, LedgerError> {
        let path = &self.reader.path;
        let at = LedgerError::at(path);
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(&at)?;
        let mut writing = Writing::new(&transaction);
        let mut appended = Vec::with_capacity(rows.len());
        for row in rows {
            let refused = |why| LedgerError::Refused { writer: row.writer.clone(), seq: row.seq, why };
            check_alone(row).map_err(refused)?;
            if let Some(position) = position_of_act(&transaction, &row.act).map_err(&at)? {
                appended.push(Appended::AlreadyHeld(position));
                continue;
            }
            let branch = match writing.place(row).map_err(&at)?.map_err(refused)? {
                Place::Continues(branch) => branch,
                Place::Parts => return Err(refused(Refusal::NotAtHead { seq: row.seq })),
            };
            appended.push(Appended::Written(writing.put(row, branch).map_err(&at)?));
        }
        transaction.commit().map_err(&at)?;
        Ok(appended)
    }

    /// A transaction for [`merge`](Self::merge).
    pub(crate) fn transaction(&mut self) -> Result<Transaction<'_>, LedgerError> {
        let path = &self.reader.path;
        self.reader
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(LedgerError::at(path))
    }
}

impl Reader {
    /// Opens a ledger, or a backup of one, for reading only.
    ///
    /// # Errors
    /// [`LedgerError`] says what the file is if it is no ledger, or that it is newer.
    pub fn open(path: &Path) -> Result<Self, LedgerError> {
        Ok(Self { connection: schema::open_to_read(path)?, path: path.to_owned() })
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// How many rows are held.
    ///
    /// # Errors
    /// [`LedgerError::Damaged`] if SQLite cannot count them.
    pub fn count(&self) -> Result<u64, LedgerError> {
        self.connection
            .query_row("SELECT count(*) FROM rows", [], |row| unsigned(row, 0))
            .map_err(LedgerError::at(&self.path))
    }

    /// The position of the newest row, or [`Position::START`].
    ///
    /// # Errors
    /// [`LedgerError::Damaged`] if SQLite cannot find it.
    pub fn last_position(&self) -> Result<Position, LedgerError> {
        self.connection
            .query_row("SELECT coalesce(max(position), 0) FROM rows", [], |row| row.get(0))
            .map(Position)
            .map_err(LedgerError::at(&self.path))
    }

    /// The rows behind a position, in the order in which this file came by them.
    ///
    /// They are fetched as they are asked for, some hundred at a time; rows
    /// appended meanwhile come too. A writer's rows come in the order of
    /// their chain. After an error the iteration ends.
    pub fn rows_since(&self, position: Position) -> RowsSince<'_> {
        RowsSince { reader: self, next: Vec::new().into_iter(), last: position, done: false }
    }

    /// Where the first row of an act stands, if one is held.
    ///
    /// # Errors
    /// [`LedgerError::Damaged`] if SQLite cannot look.
    pub fn position_of_act(&self, act: &str) -> Result<Option<Position>, LedgerError> {
        position_of_act(&self.connection, act).map_err(LedgerError::at(&self.path))
    }

    /// The last row of every chain, by writer and number. A writer whose chain parted has one for each branch.
    ///
    /// # Errors
    /// [`LedgerError::Damaged`] if SQLite cannot find them.
    pub fn heads(&self) -> Result<Vec<Head>, LedgerError> {
        heads(&self.connection).map_err(LedgerError::at(&self.path))
    }

    /// Where chains parted in two.
    ///
    /// # Errors
    /// [`LedgerError::Damaged`] if SQLite cannot find them.
    pub fn forks(&self) -> Result<Vec<Fork>, LedgerError> {
        forks(&self.connection).map_err(LedgerError::at(&self.path))
    }
}

fn forks(connection: &Connection) -> rusqlite::Result<Vec<Fork>> {
    connection
        .prepare_cached(
            "SELECT writer, branch, min(seq) FROM rows WHERE branch > 0 GROUP BY writer, branch ORDER BY writer, branch",
        )?
        .query_map([], |row| {
            Ok(Fork { writer: row.get(0)?, branch: row.get(1)?, seq: unsigned(row, 2)? })
        })?
        .collect()
}

fn heads(connection: &Connection) -> rusqlite::Result<Vec<Head>> {
    // From writer to writer by the index: a plain DISTINCT would walk through every row.
    let mut next_writer =
        connection.prepare_cached("SELECT writer FROM rows WHERE writer > ?1 ORDER BY writer LIMIT 1")?;
    let mut branches =
        connection.prepare_cached("SELECT DISTINCT branch FROM rows WHERE writer = ?1 AND branch > 0")?;
    let mut heads = Vec::new();
    let mut writer = String::new();
    while let Some(next) = next_writer.query_row([&writer], |row| row.get::<_, String>(0)).optional()? {
        writer = next;
        heads.extend(tip(connection, &writer, 0)?);
        let branches: Vec<u32> =
            branches.query_map([&writer], |row| row.get(0))?.collect::<rusqlite::Result<_>>()?;
        for branch in branches {
            heads.extend(tip(connection, &writer, branch)?);
        }
    }
    heads.sort();
    Ok(heads)
}

/// The last row of one branch. A branch's last row has no follower: the first follower stays in its branch.
fn tip(connection: &Connection, writer: &str, branch: u32) -> rusqlite::Result<Option<Head>> {
    // Two statements, because the small index of branches serves only where `branch > 0` is written out.
    let sql = if branch == 0 {
        r#"SELECT seq, hash, "order" FROM rows WHERE writer = ?1 AND branch = ?2 ORDER BY seq DESC LIMIT 1"#
    } else {
        r#"SELECT seq, hash, "order" FROM rows WHERE writer = ?1 AND branch = ?2 AND branch > 0
           ORDER BY seq DESC LIMIT 1"#
    };
    connection
        .prepare_cached(sql)?
        .query_row(params![writer, branch], |row| {
            Ok(Head {
                writer: writer.to_owned(),
                seq: unsigned(row, 0)?,
                hash: RowHash::from_bytes(row.get(1)?),
                order: unsigned(row, 2)?,
            })
        })
        .optional()
}

pub(crate) fn position_of_act(connection: &Connection, act: &str) -> rusqlite::Result<Option<Position>> {
    connection
        .prepare_cached("SELECT position FROM rows WHERE act = ?1 ORDER BY position LIMIT 1")?
        .query_row([act], |row| row.get(0).map(Position))
        .optional()
}

/// The columns of a row in the order in which [`read_row`] takes them.
pub(crate) const COLUMNS: &str = r#"position, writer, branch, seq, prev, hash, "order", act, bytes"#;

/// A count of the file, which SQLite keeps with a sign.
pub(crate) fn unsigned(row: &rusqlite::Row<'_>, column: usize) -> rusqlite::Result<u64> {
    let value: i64 = row.get(column)?;
    u64::try_from(value).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(column, value))
}

pub(crate) fn read_row(row: &rusqlite::Row<'_>) -> rusqlite::Result<HeldRow> {
    Ok(HeldRow {
        position: Position(row.get(0)?),
        branch: row.get(2)?,
        row: Row {
            writer: row.get(1)?,
            seq: unsigned(row, 3)?,
            prev: RowHash::from_bytes(row.get(4)?),
            hash: RowHash::from_bytes(row.get(5)?),
            order: unsigned(row, 6)?,
            act: row.get(7)?,
            bytes: row.get(8)?,
        },
    })
}

/// The rows behind a position; see [`Reader::rows_since`].
#[derive(Debug)]
pub struct RowsSince<'a> {
    reader: &'a Reader,
    next: std::vec::IntoIter<HeldRow>,
    last: Position,
    done: bool,
}

impl RowsSince<'_> {
    /// How many rows are fetched at a time.
    const AT_A_TIME: usize = 256;

    fn fetch(&self) -> Result<Vec<HeldRow>, LedgerError> {
        let at = LedgerError::at(&self.reader.path);
        let sql = format!("SELECT {COLUMNS} FROM rows WHERE position > ?1 ORDER BY position LIMIT ?2");
        let mut statement = self.reader.connection.prepare_cached(&sql).map_err(&at)?;
        let mut found = statement.query(params![self.last.0, Self::AT_A_TIME as i64]).map_err(&at)?;
        let mut rows = Vec::with_capacity(Self::AT_A_TIME);
        while let Some(row) = found.next().map_err(&at)? {
            rows.push(read_row(row).map_err(|error| LedgerError::UnreadableRow {
                path: self.reader.path.clone(),
                position: row.get(0).map_or(self.last, Position),
                why: error.to_string(),
            })?);
        }
        Ok(rows)
    }
}

impl Iterator for RowsSince<'_> {
    type Item = Result<HeldRow, LedgerError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.next.len() == 0 && !self.done {
            match self.fetch() {
                Ok(rows) => self.next = rows.into_iter(),
                Err(error) => {
                    self.done = true;
                    return Some(Err(error));
                }
            }
        }
        let row = self.next.next();
        match &row {
            Some(row) => self.last = row.position,
            None => self.done = true,
        }
        row.map(Ok)
    }
}

/// What can be said of a row without looking at any other.
pub(crate) fn check_alone(row: &Row) -> Result<(), Refusal> {
    if row.writer.is_empty() || row.act.is_empty() {
        return Err(Refusal::NoName);
    }
    if row.seq == 0 || i64::try_from(row.seq).is_err() || i64::try_from(row.order).is_err() {
        return Err(Refusal::OutOfRange);
    }
    if row.computed_hash() != row.hash {
        return Err(Refusal::HashWrong);
    }
    Ok(())
}

/// Where a row goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// At the head of this branch.
    Continues(u32),
    /// Behind a row that another one follows already.
    Parts,
}

/// Rows being put into one transaction.
///
/// It remembers the last row it put for each writer. A row that follows that
/// one needs no look-up: what was not held a moment ago has no follower.
pub(crate) struct Writing<'t> {
    transaction: &'t Transaction<'t>,
    last: HashMap<String, (u32, Head)>,
}

impl<'t> Writing<'t> {
    pub(crate) fn new(transaction: &'t Transaction<'t>) -> Self {
        Self { transaction, last: HashMap::new() }
    }

    /// Where a row that [`check_alone`] let pass goes, or why it goes nowhere.
    ///
    /// It must not be held already.
    pub(crate) fn place(&self, row: &Row) -> rusqlite::Result<Result<Place, Refusal>> {
        if let Some((branch, head)) = self.last.get(&row.writer)
            && head.seq + 1 == row.seq
            && head.hash == row.prev
        {
            return Ok(rises(row, head.order).map(|()| Place::Continues(*branch)));
        }
        let branch = if row.seq == 1 {
            if row.prev != RowHash::NONE {
                return Ok(Err(Refusal::PrevNotHeld { prev: row.prev }));
            }
            0
        } else {
            match self.row_before(row)? {
                Err(refusal) => return Ok(Err(refusal)),
                Ok((branch, order)) => {
                    if let Err(refusal) = rises(row, order) {
                        return Ok(Err(refusal));
                    }
                    branch
                }
            }
        };
        // The first follower stays in the branch of the row before it, so looking there is enough.
        let followed = self
            .transaction
            .prepare_cached("SELECT 1 FROM rows WHERE writer = ?1 AND seq = ?2 AND branch = ?3")?
            .exists(params![row.writer, row.seq as i64, branch])?;
        Ok(Ok(if followed { Place::Parts } else { Place::Continues(branch) }))
    }

    /// Branch and order of the row that `row` names as the one before it.
    fn row_before(&self, row: &Row) -> rusqlite::Result<Result<(u32, u64), Refusal>> {
        let mut statement = self
            .transaction
            .prepare_cached(r#"SELECT hash, branch, "order" FROM rows WHERE writer = ?1 AND seq = ?2"#)?;
        let mut found = statement.query(params![row.writer, row.seq as i64 - 1])?;
        let mut any = false;
        while let Some(before) = found.next()? {
            any = true;
            if RowHash::from_bytes(before.get(0)?) == row.prev {
                return Ok(Ok((before.get(1)?, unsigned(before, 2)?)));
            }
        }
        if any {
            return Ok(Err(Refusal::PrevNotHeld { prev: row.prev }));
        }
        let last = self
            .transaction
            .prepare_cached("SELECT coalesce(max(seq), 0) FROM rows WHERE writer = ?1")?
            .query_row([&row.writer], |row| unsigned(row, 0))?;
        Ok(Err(Refusal::Gap { last }))
    }

    /// A number for a new branch of a writer.
    pub(crate) fn new_branch(&self, writer: &str) -> rusqlite::Result<u32> {
        let last: Option<u32> = self
            .transaction
            .prepare_cached("SELECT max(branch) FROM rows WHERE writer = ?1 AND branch > 0")?
            .query_row([writer], |row| row.get(0))?;
        Ok(last.unwrap_or(0) + 1)
    }

    /// Whether this very row is held.
    pub(crate) fn holds(&self, row: &Row) -> rusqlite::Result<bool> {
        // What follows a row put in this transaction cannot have been there before it.
        if self.last.get(&row.writer).is_some_and(|(_, head)| head.seq < row.seq && head.hash == row.prev) {
            return Ok(false);
        }
        holds(self.transaction, &row.writer, row.seq, row.hash)
    }

    /// Puts a row where [`place`](Self::place) said.
    pub(crate) fn put(&mut self, row: &Row, branch: u32) -> rusqlite::Result<Position> {
        self.transaction
            .prepare_cached(
                r#"INSERT INTO rows (writer, branch, seq, prev, hash, "order", act, bytes)
                   VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)"#,
            )?
            .execute(params![
                row.writer,
                branch,
                row.seq as i64,
                row.prev.as_bytes(),
                row.hash.as_bytes(),
                row.order as i64,
                row.act,
                row.bytes
            ])?;
        match self.last.get_mut(&row.writer) {
            Some((last_branch, head)) => {
                *last_branch = branch;
                (head.seq, head.hash, head.order) = (row.seq, row.hash, row.order);
            }
            None => {
                self.last.insert(row.writer.clone(), (branch, row.head()));
            }
        }
        Ok(Position(self.transaction.last_insert_rowid()))
    }
}

/// Whether a row of this writer, number and hash is held, on whatever branch.
pub(crate) fn holds(
    connection: &Connection,
    writer: &str,
    seq: u64,
    hash: RowHash,
) -> rusqlite::Result<bool> {
    let Ok(seq) = i64::try_from(seq) else { return Ok(false) };
    connection
        .prepare_cached("SELECT 1 FROM rows WHERE writer = ?1 AND seq = ?2 AND hash = ?3")?
        .exists(params![writer, seq, hash.as_bytes()])
}

fn rises(row: &Row, before: u64) -> Result<(), Refusal> {
    if row.order > before { Ok(()) } else { Err(Refusal::OrderNotRising { order: row.order, before }) }
}
