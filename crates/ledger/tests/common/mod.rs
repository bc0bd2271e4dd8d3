//! What the tests of the ledger share.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail where it stands")]
#![allow(dead_code, reason = "each test file uses its own part")]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use faying_ledger::{Against, Head, Ledger, Position, Reader, Row, RowHash, Verified};

/// When the lock is held since; any text will do.
pub const SINCE: &str = "2026-11-25 09:12";

/// The file that a folder's ledger is in.
pub fn record(folder: &Path) -> PathBuf {
    folder.join("record.faying")
}

/// The row after `before` in its chain.
pub fn after(before: &Row, act: &str, bytes: &[u8]) -> Row {
    Row::seal(before.writer.clone(), before.seq + 1, before.hash, before.order + 1, act, bytes.to_vec())
}

/// `count` rows of one writer; the act of row n is `writer-n`.
pub fn chain(writer: &str, count: u64) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for seq in 1..=count {
        let prev = rows.last().map_or(RowHash::NONE, |row| row.hash);
        let body = format!("{{\"n\":{seq},\"text\":\"hole {seq} set\"}}");
        rows.push(Row::seal(writer, seq, prev, seq, format!("{writer}-{seq}"), body.into_bytes()));
    }
    rows
}

/// Everything a ledger holds, without what differs between copies.
pub fn rows_of(ledger: &Reader) -> BTreeSet<(String, u64, RowHash, Vec<u8>)> {
    ledger
        .rows_since(Position::START)
        .map(|held| {
            let row = held.unwrap().row;
            (row.writer, row.seq, row.hash, row.bytes)
        })
        .collect()
}

/// Rows in the order of the file.
pub fn in_order(ledger: &Reader) -> Vec<Row> {
    ledger.rows_since(Position::START).map(|held| held.unwrap().row).collect()
}

/// A check of rows and file.
pub fn verify(ledger: &Reader) -> Verified {
    ledger.verify(&Against::default(), |_| false).unwrap()
}

/// A check that also looks for heads.
pub fn verify_heads(ledger: &Reader, heads: &[Head]) -> Verified {
    ledger.verify(&Against { heads, ..Against::default() }, |_| false).unwrap()
}

/// A new ledger in `folder` with these rows.
pub fn with_rows(folder: &Path, rows: &[Row]) -> Ledger {
    let mut ledger = Ledger::create(&record(folder), SINCE).unwrap();
    ledger.append(rows).unwrap();
    ledger
}
