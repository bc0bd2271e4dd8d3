//! One writer: an advisory lock on a file beside the ledger.
//!
//! The system drops the lock when the process ends, however it ends, so a
//! crash leaves nothing to clean up. The lock file itself stays: to remove it
//! would let two processes lock two files of one name.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, Write};
use std::path::Path;

use crate::files::beside;
use crate::ledger::LedgerError;

/// The lock, held as long as this lives.
#[derive(Debug)]
pub struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock of the ledger at `path`, and writes into it who holds it.
    ///
    /// `since` is the time as the caller writes it; no clock is read here.
    pub fn take(path: &Path, since: &str) -> Result<Self, LedgerError> {
        // Two names of one file (a link) must come to one lock.
        let real = path.canonicalize();
        let lock_path = beside(real.as_deref().unwrap_or(path), ".lock");
        let io = |source| LedgerError::File { path: lock_path.clone(), source };
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&lock_path)
            .map_err(io)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(LedgerError::InUse { path: path.to_owned(), holder: read_holder(&mut file) });
            }
            Err(TryLockError::Error(source)) => return Err(io(source)),
        }
        write_holder(&mut file, since).map_err(io)?;
        Ok(Self { _file: file })
    }
}

fn write_holder(file: &mut File, since: &str) -> io::Result<()> {
    file.set_len(0)?;
    file.rewind()?;
    writeln!(file, "process {}, since {since}", std::process::id())
}

/// Who holds the lock, as far as it can be read: Windows bars reading a locked file.
fn read_holder(file: &mut File) -> String {
    let mut text = String::new();
    match file.take(400).read_to_string(&mut text) {
        Ok(_) if !text.trim().is_empty() => text.trim().to_owned(),
        _ => "which one cannot be read".to_owned(),
    }
}
