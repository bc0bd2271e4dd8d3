//! The typeface of a print: which characters it has, and how far each steps.
//!
//! The files are those the pages serve, so that paper and screen agree. Only
//! the three tables that answer these questions are read (`cmap` format 4,
//! `hhea` and `hmtx` of OpenType 1.9); nothing is kerned, as in [`crate::text`].

use std::collections::HashMap;

/// B612 Regular; its licence lies beside it.
pub const REGULAR: &[u8] = include_bytes!("../../web/assets/fonts/B612-Regular.otf");
/// B612 Bold.
pub const BOLD: &[u8] = include_bytes!("../../web/assets/fonts/B612-Bold.otf");

/// A glyph and its step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glyph {
    /// Its number in the file.
    pub id: u16,
    /// Its advance width, em.
    pub advance: f64,
}

/// The characters of a font file.
pub struct Typeface {
    glyphs: HashMap<char, Glyph>,
}

impl Typeface {
    /// Reads a font file; none if a table is missing or cut short.
    pub fn read(file: &[u8]) -> Option<Self> {
        let units = f64::from(short(table(file, b"head")?, 18)?);
        let metrics = usize::from(short(table(file, b"hhea")?, 34)?);
        let steps = table(file, b"hmtx")?;
        let advance = |id: u16| {
            // Glyphs past the last full record share its step.
            let record = usize::from(id).min(metrics.checked_sub(1)?);
            Some(f64::from(short(steps, 4 * record)?) / units)
        };
        let glyphs = characters(table(file, b"cmap")?)?
            .into_iter()
            .filter_map(|(letter, id)| Some((letter, Glyph { id, advance: advance(id)? })))
            .collect();
        Some(Self { glyphs })
    }

    /// The glyph of a character, if there is one.
    pub fn glyph(&self, letter: char) -> Option<Glyph> {
        self.glyphs.get(&letter).copied()
    }

    /// Width of a text, em; what is missing takes no room.
    pub fn width(&self, text: &str) -> f64 {
        text.chars().filter_map(|letter| self.glyph(letter)).map(|glyph| glyph.advance).sum()
    }
}

fn short(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(bytes.get(at..at + 2)?.try_into().ok()?))
}

fn long(bytes: &[u8], at: usize) -> Option<usize> {
    Some(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?) as usize)
}

fn table<'f>(file: &'f [u8], tag: &[u8; 4]) -> Option<&'f [u8]> {
    let count = usize::from(short(file, 4)?);
    let record = (0..count).map(|n| 12 + 16 * n).find(|&at| file.get(at..at + 4) == Some(tag))?;
    let (from, length) = (long(file, record + 8)?, long(file, record + 12)?);
    file.get(from..from.checked_add(length)?)
}

/// Characters and their glyphs, of the first subtable in format 4.
fn characters(cmap: &[u8]) -> Option<Vec<(char, u16)>> {
    let count = usize::from(short(cmap, 2)?);
    let sub = (0..count)
        .filter_map(|n| cmap.get(long(cmap, 4 + 8 * n + 4)?..))
        .find(|sub| short(sub, 0) == Some(4))?;
    let doubled = usize::from(short(sub, 6)?);
    let (ends, starts) = (14, 16 + doubled);
    let (deltas, offsets) = (starts + doubled, starts + 2 * doubled);
    let mut found = Vec::new();
    for segment in (0..doubled).step_by(2) {
        let (start, end) = (short(sub, starts + segment)?, short(sub, ends + segment)?);
        let (delta, offset) = (short(sub, deltas + segment)?, short(sub, offsets + segment)?);
        for code in start..=end {
            let id = if offset == 0 {
                code.wrapping_add(delta)
            } else {
                let at = offsets + segment + usize::from(offset) + 2 * usize::from(code - start);
                match short(sub, at) {
                    None | Some(0) => 0,
                    Some(id) => id.wrapping_add(delta),
                }
            };
            if let (Some(letter), true) = (char::from_u32(u32::from(code)), id != 0) {
                found.push((letter, id));
            }
        }
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Read off both files with another reader of fonts (fontTools 4): 592 characters each.
    #[test]
    fn the_tables_are_read_as_another_reader_reads_them() {
        for file in [REGULAR, BOLD] {
            let face = Typeface::read(file).unwrap();
            assert_eq!(face.glyphs.len(), 592);
            for (letter, advance) in [(' ', 0.35), ('A', 0.65), ('M', 0.90), ('W', 0.95), ('0', 0.65)] {
                assert_eq!(face.glyph(letter).unwrap().advance, advance, "{letter}");
            }
            assert_eq!(face.glyph('Ж'), None);
            assert!(face.glyph('Ω').is_some() && face.glyph('½').is_some() && face.glyph('é').is_some());
        }
    }

    #[test]
    fn a_file_that_is_cut_short_is_no_font() {
        assert!(Typeface::read(&REGULAR[..200]).is_none());
        assert!(Typeface::read(b"").is_none());
    }
}
