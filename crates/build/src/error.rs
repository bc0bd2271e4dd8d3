//! What can go wrong with a folder.

use std::path::PathBuf;

use thiserror::Error;

/// A build that cannot be opened or written.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum BuildError {
    /// A file or folder could not be read or written.
    #[error("{}: {source}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// Not a build.
    #[error("{} is not a build: it has no folder plan/ with a .toml file in it; make one with faying new {}", path.display(), path.display())]
    NotABuild {
        /// The folder.
        path: PathBuf,
    },
    /// A folder that should be new is not.
    #[error("{} is not empty; name a folder that does not exist yet", path.display())]
    NotEmpty {
        /// The folder.
        path: PathBuf,
    },
    /// Nothing was done yet.
    #[error("{} has no record yet: the first act makes it, with faying serve {}", path.display(), path.display())]
    NoRecord {
        /// The folder.
        path: PathBuf,
    },
    /// The record.
    #[error(transparent)]
    Ledger(#[from] faying_ledger::LedgerError),
    /// A row of the record.
    #[error(transparent)]
    Envelope(#[from] faying_record::EnvelopeError),
    /// Something was not written or not read; the build goes on as it was.
    #[error("{0}")]
    Failed(String),
    /// The writer is gone.
    #[error("the record was closed after an error; stop faying and start it again: {0}")]
    Closed(String),
}

impl BuildError {
    pub(crate) fn file(path: impl Into<PathBuf>) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.into();
        |source| Self::File { path, source }
    }
}
