//! Photographs: originals kept by their bytes, and what the record says of them.
//!
//! An original comes in as bytes and is kept as those bytes, under a name made
//! from them; the act that names it comes after. What is kept and never named
//! does no harm: the check of the record mentions it. What is named and not
//! there is a fault.
//!
//! Nothing is scaled or turned here: a small picture on a page is the original,
//! drawn small.

use faying_ledger::{PhotographError, PhotographName, put_photograph, read_photograph};
use faying_record::{Event, seconds_of};
use serde::Serialize;
use thiserror::Error;

use crate::folder::Folder;
use crate::world::World;
use crate::writer::Build;

/// The folder of photograph originals within a build.
pub const PHOTO_FOLDER: &str = "photos";

/// What a picture's bytes say that it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Picture {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
    /// WebP.
    Webp,
    /// HEIC, HEIF or AVIF, as some phones write them.
    Heif,
}

impl Picture {
    /// Read off the first bytes; none where they begin as no picture that is known here.
    ///
    /// # Source
    /// JPEG: ITU-T T.81, table B.1 (SOI, then a marker); PNG: ISO/IEC 15948, 5.2; WebP: RFC 9649, 2.4;
    /// HEIF: ISO/IEC 14496-12, 4.3 (`ftyp`), and the brands of ISO/IEC 23008-12. From memory.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Option<Self> {
        const BRANDS: [&[u8]; 7] = [b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1", b"avif"];
        if bytes.starts_with(b"\xff\xd8\xff") {
            return Some(Self::Jpeg);
        }
        if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            return Some(Self::Png);
        }
        if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
            return Some(Self::Webp);
        }
        let brand = bytes.get(8..12).filter(|_| bytes.get(4..8) == Some(b"ftyp"))?;
        BRANDS.contains(&brand).then_some(Self::Heif)
    }

    /// Its media type, for whoever hands it to a browser.
    #[must_use]
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Webp => "image/webp",
            Self::Heif => "image/heic",
        }
    }
}

/// What can go wrong with keeping or reading an original.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum OriginalError {
    /// The bytes are no picture.
    #[error("this is no photograph that can be kept here; send a JPEG, PNG, WebP or HEIC picture")]
    NotAPicture,
    /// It is not there, changed, or cannot be written.
    #[error(transparent)]
    Original(#[from] PhotographError),
}

impl OriginalError {
    /// Whether there is simply no such photograph.
    #[must_use]
    pub fn is_missing(&self) -> bool {
        match self {
            Self::Original(PhotographError::NotAName { .. }) => true,
            Self::Original(PhotographError::File { source, .. }) => {
                source.kind() == std::io::ErrorKind::NotFound
            }
            _ => false,
        }
    }
}

impl Folder {
    /// Keeps an original and gives its name; on the disk when this returns.
    ///
    /// The same bytes are the same file, however often they come.
    ///
    /// # Errors
    /// [`OriginalError`] where the bytes are no picture, or cannot be written.
    pub fn keep_photograph(&self, bytes: &[u8]) -> Result<String, OriginalError> {
        if Picture::of(bytes).is_none() {
            return Err(OriginalError::NotAPicture);
        }
        Ok(put_photograph(&self.photographs(), bytes)?.to_string())
    }

    /// The bytes of an original, as they were when it was kept.
    ///
    /// # Errors
    /// [`OriginalError`] where it is not there, or its bytes have changed since.
    pub fn photograph(&self, file: &str) -> Result<Vec<u8>, OriginalError> {
        let name: PhotographName = file.parse()?;
        Ok(read_photograph(&self.photographs(), &name)?)
    }

    /// Where the originals are.
    #[must_use]
    pub(crate) fn photographs(&self) -> std::path::PathBuf {
        self.path().join(PHOTO_FOLDER)
    }
}

impl Build {
    /// As [`Folder::keep_photograph`].
    ///
    /// # Errors
    /// As [`Folder::keep_photograph`].
    pub fn keep_photograph(&self, bytes: &[u8]) -> Result<String, OriginalError> {
        self.folder().keep_photograph(bytes)
    }

    /// As [`Folder::photograph`].
    ///
    /// # Errors
    /// As [`Folder::photograph`].
    pub fn photograph(&self, file: &str) -> Result<Vec<u8>, OriginalError> {
        self.folder().photograph(file)
    }
}

/// A photograph that the record names.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PhotographReport {
    /// The act.
    pub act: String,
    /// Name of its original.
    pub file: String,
    /// When it was taken, by the clock of the device.
    pub at: String,
    /// By whom.
    pub person: String,
    /// What it shows: the name it has now, and its page.
    pub about: Vec<(String, String)>,
    /// A remark.
    pub words: String,
    /// Whether every browser shows it: JPEG and PNG.
    pub shown: bool,
}

impl World {
    /// Photographs that show all of these, newest first; all of them where nothing is named.
    ///
    /// A gate's need is named by two: the gate, and `photograph:NAME`.
    #[must_use]
    pub fn photographs(&self, about: &[String]) -> Vec<PhotographReport> {
        let mut found: Vec<(i64, PhotographReport)> = Vec::new();
        for (_, act) in self.state.of_kind("photographed").rev() {
            let Event::Photographed(body) = &act.event else { continue };
            let names: Vec<&str> =
                body.about.iter().map(|name| self.state.name_now(name, act.revision)).collect();
            if !about.iter().all(|it| names.contains(&it.as_str())) {
                continue;
            }
            let report = PhotographReport {
                act: act.id.clone(),
                file: body.file.clone(),
                at: act.at.clone(),
                person: act.person.clone(),
                about: names.iter().filter(|name| !name.is_empty()).map(|name| self.shows(name)).collect(),
                words: body.words.clone(),
                shown: body.file.ends_with(".jpg") || body.file.ends_with(".png"),
            };
            found.push((seconds_of(&act.at).unwrap_or(i64::MIN), report));
        }
        // One that waited in a phone is written down late and belongs to its own hour.
        found.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
        found.into_iter().map(|(_, report)| report).collect()
    }

    /// What a photograph shows: its name in words, and its page.
    fn shows(&self, name: &str) -> (String, String) {
        match name.split_once(':') {
            Some((_, need)) => (need.to_owned(), String::new()),
            None if self.plan().gate_named(name).is_some() => (name.to_owned(), format!("/gate/{name}")),
            None => (name.to_owned(), self.page_of(name)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_told_by_its_first_bytes() {
        let cases: [(&[u8], Option<Picture>); 9] = [
            (b"\xff\xd8\xff\xe0\x00\x10JFIF\x00", Some(Picture::Jpeg)),
            (b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR", Some(Picture::Png)),
            (b"RIFF\x24\x00\x00\x00WEBPVP8 ", Some(Picture::Webp)),
            (b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00", Some(Picture::Heif)),
            (b"RIFF\x24\x00\x00\x00WAVEfmt ", None),
            (b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00", None),
            (b"<!doctype html><script>", None),
            (b"\xff\xd8", None),
            (b"", None),
        ];
        for (bytes, expected) in cases {
            assert_eq!(Picture::of(bytes), expected, "{bytes:?}");
        }
    }
}
