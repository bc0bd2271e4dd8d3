//! Photograph originals: bytes in, a file named by its hash, the same bytes out.
//!
//! The name is the BLAKE3 of the bytes in hexadecimal, as any BLAKE3 program
//! prints it, with `.jpg` or `.png` behind where the bytes begin as such a
//! file does, so that a folder of them can be looked at without this tool.
//! An original is never changed: other bytes have another name.

use std::fmt;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::atomic::{AtomicU32, Ordering};

use thiserror::Error;

use crate::files::{put_in_place, remove_if_there, sync_folder};
use crate::row::RowHash;

/// What can go wrong with a photograph.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PhotographError {
    /// A text that cannot be the name of a photograph.
    #[error(
        "\"{text}\" is not the name of a photograph kept here: 64 digits 0 to 9 and a to f, then .jpg, .png or nothing"
    )]
    NotAName {
        /// The text.
        text: String,
    },
    /// The bytes are not those that the name stands for.
    #[error("{}: not the bytes that were kept under this name; take the file from a copy", path.display())]
    Differs {
        /// The file.
        path: PathBuf,
    },
    /// The system refuses the file.
    #[error("{}: the photograph cannot be read or written", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

/// The name of a photograph original: its hash, and the ending its bytes ask for.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PhotographName {
    hash: RowHash,
    ending: &'static str,
}

/// What a file begins with, and the ending it then has.
const ENDINGS: [(&[u8], &str); 2] = [(b"\xff\xd8\xff", ".jpg"), (b"\x89PNG\r\n\x1a\n", ".png")];

impl PhotographName {
    /// The name that these bytes have.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        let ending =
            ENDINGS.iter().find(|(start, _)| bytes.starts_with(start)).map_or("", |(_, ending)| ending);
        Self { hash: RowHash::from_bytes(*blake3::hash(bytes).as_bytes()), ending }
    }

    /// Whether the file at `path` holds the bytes that this name stands for. Read in pieces.
    pub(crate) fn is_true_of(&self, path: &Path) -> io::Result<bool> {
        let mut hasher = blake3::Hasher::new();
        hasher.update_reader(File::open(path)?)?;
        Ok(hasher.finalize().as_bytes() == self.hash.as_bytes())
    }
}

impl fmt::Display for PhotographName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.hash, self.ending)
    }
}

impl FromStr for PhotographName {
    type Err = PhotographError;

    fn from_str(text: &str) -> Result<Self, PhotographError> {
        let not = || PhotographError::NotAName { text: text.to_owned() };
        let (digits, ending) = ENDINGS
            .iter()
            .find_map(|(_, ending)| Some((text.strip_suffix(ending)?, *ending)))
            .unwrap_or((text, ""));
        // Capital digits would be a second name for the same file.
        if digits.bytes().any(|digit| digit.is_ascii_uppercase()) {
            return Err(not());
        }
        Ok(Self { hash: digits.parse().map_err(|_| not())?, ending })
    }
}

/// Keeps an original in `folder` and returns its name; on the disk when this returns.
///
/// Written beside, synced, renamed, folder synced: a crash leaves the whole
/// file or none under the name. Bytes that are there already are not written
/// again; a damaged file of that name is replaced by these, its true bytes.
///
/// # Errors
/// [`PhotographError::File`] with what the system says.
pub fn put_photograph(folder: &Path, bytes: &[u8]) -> Result<PhotographName, PhotographError> {
    static COUNT: AtomicU32 = AtomicU32::new(0);

    let name = PhotographName::of(bytes);
    let path = folder.join(name.to_string());
    let io = |source| PhotographError::File { path: path.clone(), source };
    fs::create_dir_all(folder).map_err(io)?;
    if path.is_file() && name.is_true_of(&path).map_err(io)? {
        // It may have been renamed by a process that fell before it synced the folder.
        sync_folder(folder).map_err(io)?;
        return Ok(name);
    }
    // Two may be keeping the same bytes at once, so each writes a file of its own.
    let number = COUNT.fetch_add(1, Ordering::Relaxed);
    let part = folder.join(format!(".{name}.{}-{number}.part", std::process::id()));
    let written = File::create(&part)
        .and_then(|mut file| file.write_all(bytes))
        .and_then(|()| put_in_place(&part, &path));
    if let Err(source) = written {
        // What could not be finished is of no use; the first error is the one to tell.
        let _ = remove_if_there(&part);
        return Err(io(source));
    }
    Ok(name)
}

/// The bytes of an original, checked against its name.
///
/// # Errors
/// [`PhotographError::Differs`] if the bytes have changed since they were
/// kept, [`PhotographError::File`] if there is no such file.
pub fn read_photograph(folder: &Path, name: &PhotographName) -> Result<Vec<u8>, PhotographError> {
    let path = folder.join(name.to_string());
    let bytes = fs::read(&path).map_err(|source| PhotographError::File { path: path.clone(), source })?;
    if PhotographName::of(&bytes).hash != name.hash {
        return Err(PhotographError::Differs { path });
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The beginning of a JPEG file; the ending asks for no more.
    const JPEG: &[u8] = b"\xff\xd8\xff\xe0 the rest";

    #[test]
    fn bytes_come_back_under_a_name_that_any_blake3_program_gives() {
        let folder = tempfile::tempdir().unwrap();
        // From the reference values of BLAKE3 itself: no input.
        let empty = put_photograph(folder.path(), b"").unwrap();
        assert_eq!(empty.to_string(), "af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262");
        let name = put_photograph(folder.path(), JPEG).unwrap();
        assert!(name.to_string().ends_with(".jpg"));
        assert_eq!(read_photograph(folder.path(), &name).unwrap(), JPEG);
        assert!(PhotographName::of(b"\x89PNG\r\n\x1a\n...").to_string().ends_with(".png"));
    }

    #[test]
    fn keeping_twice_writes_once_and_leaves_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let name = put_photograph(folder.path(), JPEG).unwrap();
        let path = folder.path().join(name.to_string());
        let before = fs::metadata(&path).unwrap().modified().unwrap();
        assert_eq!(put_photograph(folder.path(), JPEG).unwrap(), name);
        assert_eq!(fs::metadata(&path).unwrap().modified().unwrap(), before);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_damaged_original_is_told_and_healed() {
        let folder = tempfile::tempdir().unwrap();
        let name = put_photograph(folder.path(), JPEG).unwrap();
        fs::write(folder.path().join(name.to_string()), b"\xff\xd8\xff\xe0 the rust").unwrap();
        assert!(matches!(read_photograph(folder.path(), &name), Err(PhotographError::Differs { .. })));
        put_photograph(folder.path(), JPEG).unwrap();
        assert_eq!(read_photograph(folder.path(), &name).unwrap(), JPEG);
    }

    #[test]
    fn many_may_keep_the_same_bytes_at_once() {
        let folder = tempfile::tempdir().unwrap();
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| put_photograph(folder.path(), JPEG).unwrap());
            }
        });
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_name_reads_back_and_cannot_lead_out_of_the_folder() {
        let name = PhotographName::of(JPEG);
        assert_eq!(name.to_string().parse::<PhotographName>().unwrap(), name);
        for text in
            ["", "../record.faying", "a.jpg", &name.to_string().to_uppercase(), &format!("{name}.jpg")]
        {
            assert!(text.parse::<PhotographName>().is_err(), "{text:?} was read");
        }
    }
}
