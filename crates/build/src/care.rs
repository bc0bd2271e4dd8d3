//! Care of the record: checking it, and copying it away.

use std::collections::BTreeSet;

use faying_ledger::{Against, PhotographName, Position, Reader};
use faying_record::{Envelope, Event};

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

/// Checks every row of the record, its chains and its file, and every photograph.
///
/// A photograph that the record names must be there, also where the act was taken back: it is
/// part of what happened.
///
/// # Errors
/// [`BuildError`] where the check cannot begin.
pub fn verify(folder: &Folder) -> Result<VerifyReport, BuildError> {
    let reader = record(folder)?;
    let (named, unreadable) = photographs_named(&reader);
    let photographs = folder.photographs();
    let against = Against { photographs: Some(&photographs), must_be_there: &named, ..Against::default() };
    let verified = reader.verify(&against, |_| false)?;
    let mut lines: Vec<String> = verified.faults.iter().map(ToString::to_string).collect();
    // What names no photograph that can be told cannot be looked for.
    lines.extend(unreadable.iter().map(|name| format!("photograph {name}: this is no name of an original")));
    let faults = lines.len();
    let what = match verified.photographs {
        0 => format!("{} rows checked", verified.rows),
        1 => format!("{} rows and 1 photograph checked", verified.rows),
        count => format!("{} rows and {count} photographs checked", verified.rows),
    };
    lines.push(match faults {
        0 => format!("{what}, nothing wrong found."),
        1 => format!("{what}, 1 fault."),
        count => format!("{what}, {count} faults."),
    });
    let spare = kept(folder).difference(&named.into_iter().collect()).count();
    if spare > 0 {
        lines.push(match spare {
            1 => "1 photograph is kept that no act names: its sending was broken off.".to_owned(),
            count => format!("{count} photographs are kept that no act names: their sending was broken off."),
        });
    }
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
    let said = format!("{} rows are in {}.", backup.rows, backup.path.display());
    // Originals never change, so a copy of the folder is all the care they need; twice here they would
    // only fill the disk.
    Ok(match kept(folder).len() {
        0 => said,
        1 => format!("{said} The photograph in photos/ is not in it; copy that folder as well."),
        count => {
            format!("{said} The {count} photographs in photos/ are not in it; copy that folder as well.")
        }
    })
}

/// The originals in the folder.
fn kept(folder: &Folder) -> BTreeSet<PhotographName> {
    let Ok(entries) = std::fs::read_dir(folder.photographs()) else { return BTreeSet::new() };
    entries.filter_map(|entry| entry.ok()?.file_name().to_str()?.parse().ok()).collect()
}

/// Originals that the record names, and names that are none.
///
/// A row that cannot be read is told by the check of the rows, and names nothing here.
fn photographs_named(reader: &Reader) -> (Vec<PhotographName>, Vec<String>) {
    let (mut named, mut unreadable) = (BTreeSet::new(), Vec::new());
    for held in reader.rows_since(Position::START).flatten() {
        let Ok(envelope) = Envelope::from_bytes(&held.row.bytes) else { continue };
        if envelope.kind != "photographed" {
            continue;
        }
        if let Event::Photographed(body) = envelope.event() {
            match body.file.parse() {
                Ok(name) => {
                    named.insert(name);
                }
                Err(_) => unreadable.push(body.file),
            }
        }
    }
    (named.into_iter().collect(), unreadable)
}

fn record(folder: &Folder) -> Result<Reader, BuildError> {
    let path = folder.record();
    if !path.exists() {
        return Err(BuildError::NoRecord { path: folder.path().to_owned() });
    }
    Ok(Reader::open(&path)?)
}
