//! One append-only file of rows: chain, verify, backup, merge, photograph originals.
//!
//! A ledger is one SQLite file. A [`Row`] carries bytes that this room never
//! reads, and what is needed to keep them: who wrote them (`writer`), their
//! number in that writer's chain (`seq`), the hash of the row before (`prev`),
//! their own [`hash`](Row::hash), their place in the order of all writers
//! (`order`) and the id of the act they came from.
//!
//! Rows are added and never altered: triggers refuse it even to our own
//! mistakes. [`Ledger::append`] returns when the rows are on the disk.
//! [`Ledger`] writes and is alone (a lock file beside it says who holds it);
//! [`Reader`] only reads, as many as wanted.
//!
//! ```
//! use faying_ledger::{Appended, Ledger, Row, RowHash};
//!
//! let folder = tempfile::tempdir()?;
//! let mut ledger = Ledger::create(&folder.path().join("record.faying"), "2026-11-25 09:12")?;
//! let first = Row::seal("bench", 1, RowHash::NONE, 1, "act-1", b"hole set".to_vec());
//! let again = Row::seal("bench", 2, first.hash, 2, "act-1", b"the same tap, sent twice".to_vec());
//!
//! let taken = ledger.append(&[first])?;
//! assert_eq!(ledger.append(&[again])?, [Appended::AlreadyHeld(taken[0].position())]);
//! assert_eq!(ledger.count()?, 1);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Two copies of one file that both went on are put together again by
//! [`Ledger::merge`], which keeps every row of both; a writer whose chain
//! parted in two is a [`Fork`].
//!
//! What the chain does not show: a tail cut off leaves a whole, shorter chain.
//! That is what the [heads](Reader::heads) are for; print them, and hand them
//! to [`Reader::verify`].
//!
//! Out of scope: what the bytes mean, the order in which they are folded, the
//! clock. Times and stamps come in as text.

mod backup;
mod files;
mod ledger;
mod lock;
mod merge;
mod photograph;
mod row;
mod schema;
mod verify;

pub use backup::Backup;
pub use ledger::{Appended, Ledger, LedgerError, Position, Reader, Refusal, RowsSince};
pub use merge::{ActHeldTwice, MergeReport, NotTaken};
pub use photograph::{PhotographError, PhotographName, put_photograph, read_photograph};
pub use row::{Fork, Head, HeldRow, NotAHash, Row, RowHash};
pub use schema::FORMAT;
pub use verify::{Against, Fault, Progress, Stage, Verified};
