//! Care of the record: checking it, and copying it away.

use faying_ledger::{Against, Reader};

use crate::clock;
use crate::error::BuildError;
use crate::folder::Folder;

/// What a check of the record found.
#[derive(Debug)]
pub struct VerifyReport {
    /// Sentences, one a line.
    pub lines: Vec<String>,
    /// How many faults.
    pub faults: usize,
}

/// Checks every row of the record, its chains and its file.
///
/// # Errors
/// [`BuildError`] where the check cannot begin.
pub fn verify(folder: &Folder) -> Result<VerifyReport, BuildError> {
    let reader = record(folder)?;
    let verified = reader.verify(&Against::default(), |_| false)?;
    let mut lines: Vec<String> = verified.faults.iter().map(ToString::to_string).collect();
    let faults = lines.len();
    lines.push(match faults {
        0 => format!("{} rows checked, nothing wrong found.", verified.rows),
        1 => format!("{} rows checked, 1 fault.", verified.rows),
        count => format!("{} rows checked, {count} faults.", verified.rows),
    });
    for head in reader.heads()? {
        lines.push(format!("{}: row {}, {}", head.writer, head.seq, head.hash.short()));
    }
    lines.push(
        "A cut-off tail cannot be seen from inside: compare these heads with those on your last print."
            .to_owned(),
    );
    Ok(VerifyReport { lines, faults })
}

/// Copies the record into `backups/`; gives a sentence about it.
///
/// # Errors
/// [`BuildError`] where it cannot be read or written.
pub fn backup(folder: &Folder) -> Result<String, BuildError> {
    let reader = record(folder)?;
    let backups = folder.path().join("backups");
    std::fs::create_dir_all(&backups).map_err(BuildError::file(&backups))?;
    // `2026-05-12-193012`: the offset has no place in a file's name, and the events have it.
    let stamp: String = clock::now().chars().take(19).filter(|c| *c != ':').collect();
    let stamp = stamp.replace('T', "-");
    let backup = reader.backup_to(&backups, &stamp)?;
    Ok(format!("{} rows are in {}.", backup.rows, backup.path.display()))
}

fn record(folder: &Folder) -> Result<Reader, BuildError> {
    let path = folder.record();
    if !path.exists() {
        return Err(BuildError::NoRecord { path: folder.path().to_owned() });
    }
    Ok(Reader::open(&path)?)
}
