//! Checking everything that can be checked without reading an event.
//!
//! Every row's hash is computed again, every chain is followed from its first
//! row, SQLite checks its own pages, the tables and triggers are compared with
//! what they should be, known heads are looked for, photographs are read. A
//! check goes on past a fault, and one fault is told once.

use std::collections::HashMap;
use std::fs;
use std::path::Path;

use rusqlite::{Connection, params};
use thiserror::Error;

use crate::ledger::{COLUMNS, LedgerError, Position, Reader, holds, read_row, unsigned};
use crate::photograph::PhotographName;
use crate::row::{Head, HeldRow, RowHash};
use crate::schema;

/// How many rows, or photographs, between two calls of `stop`.
const ROWS_AT_A_TIME: u64 = 1024;

/// How many complaints SQLite may make before it gives up.
const MOST_COMPLAINTS: u32 = 100;

/// What to check the ledger against, beside itself. By default nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Against<'a> {
    /// Heads known from paper or a backup: each must be held, whatever follows it.
    pub heads: &'a [Head],
    /// The folder of photograph originals; every file there that has a photograph's name is read.
    pub photographs: Option<&'a Path>,
    /// Photographs that must be in that folder.
    pub must_be_there: &'a [PhotographName],
}

/// What is being checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Hashes and chains.
    Rows,
    /// SQLite's own pages; in one piece.
    File,
    /// Photograph originals.
    Photographs,
}

/// How far a check has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// What is being checked.
    pub stage: Stage,
    /// How many rows, pages or photographs are done.
    pub done: u64,
    /// Of how many.
    pub of: u64,
}

/// What a check found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verified {
    /// What is wrong, in the order found.
    pub faults: Vec<Fault>,
    /// Rows checked.
    pub rows: u64,
    /// Photographs read.
    pub photographs: u64,
    /// Whether it was stopped before the end; what was not reached is then not known.
    pub stopped: bool,
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Fault {
    /// A row's contents are not those that were hashed.
    #[error("row {seq} of \"{writer}\" (position {position}): its contents are not those that were written")]
    HashWrong {
        /// Where it stands.
        position: Position,
        /// Whose row.
        writer: String,
        /// Its number.
        seq: u64,
    },
    /// Numbers are missing in a chain.
    #[error(
        "row {seq} of \"{writer}\" (position {position}): rows are missing before it, from {expected} on"
    )]
    Gap {
        /// Where it stands.
        position: Position,
        /// Whose row.
        writer: String,
        /// Its number.
        seq: u64,
        /// The number that should be there.
        expected: u64,
    },
    /// A row names another row before it than the one that is there.
    #[error("row {seq} of \"{writer}\" (position {position}): the row before it is not the one it names")]
    PrevWrong {
        /// Where it stands.
        position: Position,
        /// Whose row.
        writer: String,
        /// Its number.
        seq: u64,
    },
    /// A row stands behind a later one of its chain.
    #[error("row {seq} of \"{writer}\" (position {position}): out of order, {expected} was to come")]
    OutOfOrder {
        /// Where it stands.
        position: Position,
        /// Whose row.
        writer: String,
        /// Its number.
        seq: u64,
        /// The number that should be there.
        expected: u64,
    },
    /// A row's Lamport number is not above that of the row before it.
    #[error(
        "row {seq} of \"{writer}\" (position {position}): its order is not above that of the row before it"
    )]
    OrderNotRising {
        /// Where it stands.
        position: Position,
        /// Whose row.
        writer: String,
        /// Its number.
        seq: u64,
    },
    /// A row's columns cannot be read.
    #[error("the row at position {position} cannot be read: {why}")]
    UnreadableRow {
        /// Where it stands.
        position: Position,
        /// What is wrong with it.
        why: String,
    },
    /// The file cannot be read on.
    #[error("the rows behind position {after} cannot be read: {why}")]
    UnreadableRest {
        /// The last row that could be read.
        after: Position,
        /// What SQLite says.
        why: String,
    },
    /// A head known from elsewhere is not here: rows were lost or replaced.
    #[error("row {} of \"{}\", known from elsewhere as {}, is not here", head.seq, head.writer, head.hash)]
    HeadNotHeld {
        /// The head.
        head: Head,
    },
    /// SQLite finds its pages in disorder.
    #[error("SQLite finds: {complaint}")]
    File {
        /// What it says.
        complaint: String,
    },
    /// A table, index or trigger is not what it should be.
    #[error("{name}: not as this version made it; rows may not be guarded against change")]
    Schema {
        /// Its name.
        name: String,
    },
    /// A photograph's bytes are not those its name stands for.
    #[error("photograph {name}: its bytes have changed since it was kept")]
    PhotographDiffers {
        /// Its name.
        name: PhotographName,
    },
    /// A photograph is not in the folder.
    #[error("photograph {name}: not in the folder")]
    PhotographMissing {
        /// Its name.
        name: PhotographName,
    },
    /// A photograph cannot be read.
    #[error("photograph {name}: cannot be read: {why}")]
    PhotographUnreadable {
        /// Its name.
        name: PhotographName,
        /// What the system says.
        why: String,
    },
}

impl Reader {
    /// Checks rows, chains, file and, if asked, heads and photographs.
    ///
    /// `stop` is told how far it is, some hundred times in a large ledger, and
    /// ends the check by returning true.
    ///
    /// # Errors
    /// Only if the check cannot begin, or the folder of photographs cannot be
    /// listed. Whatever is wrong with the file is a [`Fault`].
    pub fn verify(
        &self,
        against: &Against<'_>,
        mut stop: impl FnMut(Progress) -> bool,
    ) -> Result<Verified, LedgerError> {
        // One reading transaction: all of it is about one state of the file.
        let reading = self.connection.unchecked_transaction().map_err(LedgerError::at(&self.path))?;
        let mut verified = Verified::default();
        let done = check_rows(&self.connection, &mut verified, &mut stop)
            && check_heads(&self.connection, against.heads, &mut verified)
            && check_file(&self.connection, &mut verified, &mut stop)
            && check_photographs(against, &mut verified, &mut stop)?;
        verified.stopped = !done;
        reading.finish().map_err(LedgerError::at(&self.path))?;
        Ok(verified)
    }
}

/// The end of each chain as far as it was followed, by writer and branch.
type Ends = HashMap<(String, u32), Head>;

/// Follows every chain; false if stopped. The same holds for the checks below.
fn check_rows(
    connection: &Connection,
    verified: &mut Verified,
    stop: &mut impl FnMut(Progress) -> bool,
) -> bool {
    let mut last = Position::START;
    let going = follow(connection, &mut last, verified, stop);
    going.unwrap_or_else(|error| {
        verified.faults.push(Fault::UnreadableRest { after: last, why: error.to_string() });
        true
    })
}

fn follow(
    connection: &Connection,
    last: &mut Position,
    verified: &mut Verified,
    stop: &mut impl FnMut(Progress) -> bool,
) -> rusqlite::Result<bool> {
    // The greatest position, because to count would cost a second way through the file.
    let of =
        connection.query_row("SELECT coalesce(max(position), 0) FROM rows", [], |row| unsigned(row, 0))?;
    let mut statement = connection.prepare(&format!("SELECT {COLUMNS} FROM rows ORDER BY position"))?;
    let mut found = statement.query([])?;
    let mut ends = Ends::new();
    while let Some(row) = found.next()? {
        if verified.rows.is_multiple_of(ROWS_AT_A_TIME)
            && stop(Progress { stage: Stage::Rows, done: verified.rows, of })
        {
            return Ok(false);
        }
        verified.rows += 1;
        match read_row(row) {
            Ok(held) => {
                *last = held.position;
                check_row(connection, held, &mut ends, &mut verified.faults)?;
            }
            Err(error) => {
                *last = Position::from_number(row.get(0)?);
                verified.faults.push(Fault::UnreadableRow { position: *last, why: error.to_string() });
            }
        }
    }
    Ok(true)
}

fn check_row(
    connection: &Connection,
    HeldRow { position, branch, row }: HeldRow,
    ends: &mut Ends,
    faults: &mut Vec<Fault>,
) -> rusqlite::Result<()> {
    let (writer, seq) = (row.writer.clone(), row.seq);
    if row.computed_hash() != row.hash {
        faults.push(Fault::HashWrong { position, writer: writer.clone(), seq });
    }
    let head = row.head();
    let key = (row.writer, branch);
    match ends.get(&key) {
        Some(end) if seq <= end.seq => {
            faults.push(Fault::OutOfOrder { position, writer, seq, expected: end.seq + 1 });
        }
        Some(end) if seq > end.seq + 1 => {
            faults.push(Fault::Gap { position, writer, seq, expected: end.seq + 1 });
        }
        Some(end) if row.prev != end.hash => faults.push(Fault::PrevWrong { position, writer, seq }),
        Some(end) if row.order <= end.order => {
            faults.push(Fault::OrderNotRising { position, writer, seq });
        }
        Some(_) => {}
        None => faults.extend(check_first(connection, position, branch, &head, row.prev)?),
    }
    // Followed on from here even after a fault, so that one fault is told once.
    ends.insert(key, head);
    Ok(())
}

/// The first row of a chain begins it; the first of a branch hangs on a row that stands before it.
fn check_first(
    connection: &Connection,
    position: Position,
    branch: u32,
    head: &Head,
    prev: RowHash,
) -> rusqlite::Result<Option<Fault>> {
    let (writer, seq) = (head.writer.clone(), head.seq);
    if seq == 1 {
        return Ok((prev != RowHash::NONE).then_some(Fault::PrevWrong { position, writer, seq }));
    }
    if branch == 0 {
        return Ok(Some(Fault::Gap { position, writer, seq, expected: 1 }));
    }
    let mut statement = connection.prepare_cached(
        r#"SELECT "order" FROM rows WHERE writer = ?1 AND seq = ?2 AND hash = ?3 AND position < ?4"#,
    )?;
    let before = params![writer, seq as i64 - 1, prev.as_bytes(), position.number()];
    let mut found = statement.query(before)?;
    Ok(match found.next()? {
        None => Some(Fault::PrevWrong { position, writer, seq }),
        Some(before) if unsigned(before, 0)? >= head.order => {
            Some(Fault::OrderNotRising { position, writer, seq })
        }
        Some(_) => None,
    })
}

fn check_heads(connection: &Connection, heads: &[Head], verified: &mut Verified) -> bool {
    for head in heads {
        // A file too damaged to look in does not hold it, as far as anyone can tell.
        if !holds(connection, &head.writer, head.seq, head.hash).unwrap_or(false) {
            verified.faults.push(Fault::HeadNotHeld { head: head.clone() });
        }
    }
    true
}

fn check_file(
    connection: &Connection,
    verified: &mut Verified,
    stop: &mut impl FnMut(Progress) -> bool,
) -> bool {
    let of = connection.pragma_query_value(None, "page_count", |row| unsigned(row, 0)).unwrap_or(0);
    if stop(Progress { stage: Stage::File, done: 0, of }) {
        return false;
    }
    let complaints = connection
        .prepare(&format!("PRAGMA integrity_check({MOST_COMPLAINTS})"))
        .and_then(|mut statement| {
            statement.query_map([], |row| row.get::<_, String>(0))?.collect::<rusqlite::Result<Vec<_>>>()
        })
        .unwrap_or_else(|error| vec![error.to_string()]);
    let complaints = complaints.into_iter().filter(|complaint| complaint != "ok");
    verified.faults.extend(complaints.map(|complaint| Fault::File { complaint }));

    let schema =
        schema::expected_schema().and_then(|expected| Ok((expected, schema::written_schema(connection)?)));
    match schema {
        Err(error) => verified.faults.push(Fault::File { complaint: error.to_string() }),
        Ok((expected, found)) => {
            let differs = |one: &[(String, String)], other: &[(String, String)]| -> Vec<String> {
                one.iter().filter(|item| !other.contains(item)).map(|(name, _)| name.clone()).collect()
            };
            let mut names = differs(&expected, &found);
            names.extend(differs(&found, &expected));
            names.sort();
            names.dedup();
            verified.faults.extend(names.into_iter().map(|name| Fault::Schema { name }));
        }
    }
    !stop(Progress { stage: Stage::File, done: of, of })
}

fn check_photographs(
    against: &Against<'_>,
    verified: &mut Verified,
    stop: &mut impl FnMut(Progress) -> bool,
) -> Result<bool, LedgerError> {
    let Some(folder) = against.photographs else { return Ok(true) };
    let mut names: Vec<PhotographName> = match fs::read_dir(folder) {
        // A build without a photograph has no folder of them.
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Vec::new(),
        listing => listing
            .map_err(LedgerError::file(folder))?
            // What has no photograph's name was put there by the builder and is left alone.
            .filter_map(|entry| entry.ok()?.file_name().to_str()?.parse().ok())
            .collect(),
    };
    names.sort();
    for name in against.must_be_there {
        if names.binary_search(name).is_err() {
            verified.faults.push(Fault::PhotographMissing { name: name.clone() });
        }
    }
    let of = names.len() as u64;
    for name in names {
        if stop(Progress { stage: Stage::Photographs, done: verified.photographs, of }) {
            return Ok(false);
        }
        verified.photographs += 1;
        match name.is_true_of(&folder.join(name.to_string())) {
            Ok(true) => {}
            Ok(false) => verified.faults.push(Fault::PhotographDiffers { name }),
            Err(error) => {
                verified.faults.push(Fault::PhotographUnreadable { name, why: error.to_string() });
            }
        }
    }
    Ok(true)
}
