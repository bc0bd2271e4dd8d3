//! Making a file last: written beside, synced, renamed, folder synced.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// The file's own name with something behind it, in the same folder: `record.faying-wal`.
pub fn beside(path: &Path, behind: &str) -> PathBuf {
    let mut name: OsString = path.as_os_str().to_owned();
    name.push(behind);
    PathBuf::from(name)
}

/// The folder a file is in; a bare name is in the current one.
pub fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Makes a finished file visible under its name, and both last through a power cut.
///
/// A name already there is replaced whole; who must not replace looks first.
pub fn put_in_place(finished: &Path, name: &Path) -> io::Result<()> {
    // Opened for writing because some systems sync only such handles.
    fs::OpenOptions::new().write(true).open(finished)?.sync_all()?;
    fs::rename(finished, name)?;
    sync_folder(folder_of(name))
}

/// Syncs a folder, so that a new name in it survives a power cut.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder)?.sync_all()
    } else {
        // Windows opens no folder as a file, and keeps names in its journal.
        Ok(())
    }
}

/// Removes a file that may not be there.
pub fn remove_if_there(path: &Path) -> io::Result<()> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}
