//! A whole, dated copy of a ledger, made while it is in use.
//!
//! The ledger's own file is not all of it: the newest rows may stand in the
//! journal beside it. A backup is one file that holds everything, without a
//! journal, and can be opened from anywhere, also where nothing can be written.

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::Connection;
use rusqlite::backup::StepResult;

use crate::files::{beside, put_in_place, remove_if_there};
use crate::ledger::{LedgerError, Reader};
use crate::row::Head;

/// A backup that was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Backup {
    /// The file.
    pub path: PathBuf,
    /// How many rows it holds.
    pub rows: u64,
    /// Its heads: print them, to be able to tell later that nothing was cut off.
    pub heads: Vec<Head>,
}

impl Reader {
    /// Copies the ledger into `folder`, as `record-STAMP.faying` for `record.faying`.
    ///
    /// The file appears under its name when it is whole and was read back. No
    /// file is ever replaced. The stamp, usually the date and time, is the
    /// caller's; letters, digits, `-` and `_`.
    ///
    /// # Errors
    /// [`LedgerError::Stamp`], [`LedgerError::Exists`],
    /// [`LedgerError::DiskFull`], [`LedgerError::BackupDiffers`].
    pub fn backup_to(&self, folder: &Path, stamp: &str) -> Result<Backup, LedgerError> {
        let of_a_name = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        if stamp.is_empty() || stamp.len() > 100 || !stamp.chars().all(of_a_name) {
            return Err(LedgerError::Stamp { stamp: stamp.to_owned() });
        }
        fs::create_dir_all(folder).map_err(LedgerError::file(folder))?;
        let path = folder.join(self.backup_name(stamp));
        if path.symlink_metadata().is_ok() {
            return Err(LedgerError::Exists { path });
        }
        let part = beside(&path, ".part");
        let backup = self.copy_to(&part, path);
        if backup.is_err() {
            for left_over in with_journals(&part) {
                // The first error is the one to tell.
                let _ = remove_if_there(&left_over);
            }
        }
        backup
    }

    fn copy_to(&self, part: &Path, path: PathBuf) -> Result<Backup, LedgerError> {
        for left_over in with_journals(part) {
            remove_if_there(&left_over).map_err(LedgerError::file(&left_over))?;
        }
        // One reading transaction, so that the heads are those of the rows copied.
        let reading = self.connection.unchecked_transaction().map_err(LedgerError::at(&self.path))?;
        let (rows, heads) = (self.count()?, self.heads()?);
        let mut copy = Connection::open(part).map_err(LedgerError::at(part))?;
        let done = rusqlite::backup::Backup::new(&self.connection, &mut copy)
            .and_then(|backup| backup.step(-1))
            .map_err(LedgerError::at(part))?;
        reading.finish().map_err(LedgerError::at(&self.path))?;
        // The copy brings along the mark that it has a journal; take it off.
        copy.pragma_update(None, "journal_mode", "DELETE").map_err(LedgerError::at(part))?;
        copy.close().map_err(|(_, error)| LedgerError::at(part)(error))?;

        let read_back = Self::open(part)?;
        if done != StepResult::Done || read_back.count()? != rows || read_back.heads()? != heads {
            return Err(LedgerError::BackupDiffers { path });
        }
        drop(read_back);
        put_in_place(part, &path).map_err(LedgerError::file(&path))?;
        Ok(Backup { path, rows, heads })
    }

    fn backup_name(&self, stamp: &str) -> OsString {
        let mut name = self.path.file_stem().unwrap_or_default().to_owned();
        name.push(format!("-{stamp}"));
        if let Some(extension) = self.path.extension() {
            name.push(".");
            name.push(extension);
        }
        name
    }
}

fn with_journals(path: &Path) -> [PathBuf; 4] {
    ["", "-journal", "-wal", "-shm"].map(|behind| beside(path, behind))
}
