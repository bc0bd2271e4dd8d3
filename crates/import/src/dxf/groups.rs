//! Group codes and values of a DXF file, ASCII or binary.
//!
//! A DXF file is a list of pairs: a number that says what follows, and the
//! value. The ASCII form has one on each line; the binary form has a
//! sentinel, then codes of one byte (R12) or two (R13 and later).
//!
//! Nothing here knows what a pair means. What cannot be read is passed over
//! and kept as a [`Slip`]; the reader goes on at the next record it knows.

use std::borrow::Cow;

/// First bytes of a binary file, by the format's own definition.
const SENTINEL: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\0";

/// A value behind a group code.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Value<'a> {
    /// A line of an ASCII file or a string of a binary one, still in the file's own encoding.
    Text(&'a [u8]),
    Real(f64),
    Whole(i64),
    /// A chunk of bytes (thumbnails, solids): passed over.
    Chunk,
}

/// One pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Group<'a> {
    pub code: i32,
    pub value: Value<'a>,
    /// Line of the value in an ASCII file, byte in a binary one.
    pub at: usize,
}

impl<'a> Group<'a> {
    /// The value as a finite number.
    pub fn real(&self) -> Option<f64> {
        let value = match self.value {
            Value::Real(value) => value,
            Value::Whole(value) => value as f64,
            Value::Text(text) => std::str::from_utf8(text).ok()?.trim().parse().ok()?,
            Value::Chunk => return None,
        };
        value.is_finite().then_some(value)
    }

    /// The value as a whole number.
    pub fn whole(&self) -> Option<i64> {
        match self.value {
            Value::Whole(value) => Some(value),
            Value::Text(text) => std::str::from_utf8(text).ok()?.trim().parse().ok(),
            _ => None,
        }
    }

    /// The bytes of a text, without the blanks around it.
    pub fn bytes(&self) -> &'a [u8] {
        match self.value {
            Value::Text(text) => text.trim_ascii(),
            _ => b"",
        }
    }

    /// The value as text.
    ///
    /// UTF-8 where it is that, else the Western code page of older files;
    /// `\U+00D8` escapes are resolved.
    pub fn text(&self) -> String {
        let bytes = self.bytes();
        let text = match std::str::from_utf8(bytes) {
            Ok(text) => Cow::Borrowed(text),
            // The printable upper half of the code page is that of Unicode.
            Err(_) => Cow::Owned(bytes.iter().map(|&byte| char::from(byte)).collect()),
        };
        unescape(&text)
    }
}

fn unescape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("\\U+") {
        let code = rest.get(at + 3..at + 7).and_then(|hex| u32::from_str_radix(hex, 16).ok());
        match code.and_then(char::from_u32) {
            Some(letter) => {
                out.push_str(&rest[..at]);
                out.push(letter);
                rest = &rest[at + 7..];
            }
            None => {
                out.push_str(&rest[..at + 3]);
                rest = &rest[at + 3..];
            }
        }
    }
    out.push_str(rest);
    out
}

/// Where the pairs could not be followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Slip {
    /// A line that should hold a group code does not; the reader went on at `resumed`.
    NotACode { line: usize, resumed: Option<usize> },
    /// The file stops inside a pair.
    CutShort { at: usize },
}

/// The pairs of a file, in order.
pub(super) enum Groups<'a> {
    Ascii(Ascii<'a>),
    Binary(Binary<'a>),
}

impl<'a> Groups<'a> {
    pub fn of(bytes: &'a [u8]) -> Self {
        match bytes.strip_prefix(SENTINEL) {
            Some(_) => Self::Binary(Binary::of(bytes)),
            None => Self::Ascii(Ascii::of(bytes)),
        }
    }

    pub fn is_binary(&self) -> bool {
        matches!(self, Self::Binary(_))
    }

    pub fn slips(&self) -> &[Slip] {
        match self {
            Self::Ascii(ascii) => &ascii.slips,
            Self::Binary(binary) => &binary.slips,
        }
    }
}

impl<'a> Iterator for Groups<'a> {
    type Item = Group<'a>;

    fn next(&mut self) -> Option<Group<'a>> {
        match self {
            Self::Ascii(ascii) => ascii.next(),
            Self::Binary(binary) => binary.next(),
        }
    }
}

pub(super) struct Ascii<'a> {
    rest: &'a [u8],
    line: usize,
    /// The value before was a lone 0: where a line was lost, the head of a record.
    after_zero: bool,
    slips: Vec<Slip>,
}

impl<'a> Ascii<'a> {
    fn of(bytes: &'a [u8]) -> Self {
        let rest = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        Self { rest, line: 0, after_zero: false, slips: Vec::new() }
    }

    /// The next line, without its end: `\r\n`, `\n` or a lone `\r`.
    fn line(&mut self) -> Option<&'a [u8]> {
        if self.rest.is_empty() {
            return None;
        }
        self.line += 1;
        let end =
            self.rest.iter().position(|&byte| byte == b'\n' || byte == b'\r').unwrap_or(self.rest.len());
        let line = &self.rest[..end];
        let skip = if self.rest[end..].starts_with(b"\r\n") { 2 } else { 1 };
        self.rest = &self.rest[(end + skip).min(self.rest.len())..];
        Some(line)
    }

    /// Goes on at the next `0` that has the name of a record under it, from the line `at_fault` on.
    fn resume(&mut self, at_fault: &'a [u8]) -> Option<Group<'a>> {
        let mut above_is_zero = self.after_zero;
        let mut line = Some(at_fault);
        while let Some(text) = line {
            let name = text.trim_ascii();
            let is_name = name.len() > 1
                && name[0].is_ascii_uppercase()
                && name.iter().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit() || *b == b'_');
            if above_is_zero && is_name {
                return Some(Group { code: 0, value: Value::Text(name), at: self.line });
            }
            above_is_zero = name == b"0";
            line = self.line();
        }
        None
    }
}

impl<'a> Iterator for Ascii<'a> {
    type Item = Group<'a>;

    fn next(&mut self) -> Option<Group<'a>> {
        let line = self.line()?;
        let number = std::str::from_utf8(line.trim_ascii()).ok().and_then(|text| text.parse::<i32>().ok());
        let Some(code) = number else {
            // Blank lines at the end of a file are common and mean nothing.
            if line.trim_ascii().is_empty() && self.rest.trim_ascii().is_empty() {
                self.rest = &[];
                return None;
            }
            let wrong = self.line;
            let found = self.resume(line);
            self.slips.push(Slip::NotACode { line: wrong, resumed: found.map(|group| group.at) });
            return found;
        };
        let Some(value) = self.line() else {
            self.slips.push(Slip::CutShort { at: self.line });
            return None;
        };
        self.after_zero = value.trim_ascii() == b"0";
        Some(Group { code, value: Value::Text(value), at: self.line })
    }
}

pub(super) struct Binary<'a> {
    bytes: &'a [u8],
    at: usize,
    short_codes: bool,
    slips: Vec<Slip>,
}

impl<'a> Binary<'a> {
    fn of(bytes: &'a [u8]) -> Self {
        let at = SENTINEL.len();
        // The first pair is `0 SECTION`: with codes of two bytes a second zero comes before the name.
        let short_codes = bytes.get(at + 1).is_some_and(|&byte| byte != 0);
        Self { bytes, at, short_codes, slips: Vec::new() }
    }

    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let taken = self.bytes.get(self.at..self.at.checked_add(N)?)?.try_into().ok()?;
        self.at += N;
        Some(taken)
    }

    fn code(&mut self) -> Option<i32> {
        if self.short_codes {
            let [code] = self.take()?;
            if code != 255 {
                return Some(i32::from(code));
            }
        }
        Some(i32::from(i16::from_le_bytes(self.take()?)))
    }

    fn value(&mut self, code: i32) -> Option<Value<'a>> {
        Some(match code {
            310..=319 | 1004 => {
                let [length] = self.take()?;
                let end = self.at + usize::from(length);
                self.bytes.get(self.at..end)?;
                self.at = end;
                Value::Chunk
            }
            10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059 => {
                Value::Real(f64::from_le_bytes(self.take()?))
            }
            60..=79 | 170..=179 | 270..=289 | 370..=389 | 400..=409 | 1060..=1070 => {
                Value::Whole(i16::from_le_bytes(self.take()?).into())
            }
            90..=99 | 420..=429 | 440..=459 | 1071 => Value::Whole(i32::from_le_bytes(self.take()?).into()),
            160..=169 => Value::Whole(i64::from_le_bytes(self.take()?)),
            290..=299 => Value::Whole(self.take::<1>()?[0].into()),
            _ => {
                let rest = self.bytes.get(self.at..)?;
                let length = rest.iter().position(|&byte| byte == 0)?;
                self.at += length + 1;
                Value::Text(&rest[..length])
            }
        })
    }
}

impl<'a> Iterator for Binary<'a> {
    type Item = Group<'a>;

    fn next(&mut self) -> Option<Group<'a>> {
        if self.at >= self.bytes.len() {
            return None;
        }
        let at = self.at;
        let group = self.code().and_then(|code| Some(Group { code, value: self.value(code)?, at }));
        if group.is_none() {
            self.slips.push(Slip::CutShort { at });
            self.at = self.bytes.len();
        }
        group
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(bytes: &[u8]) -> (Vec<(i32, String)>, Vec<Slip>) {
        let mut groups = Groups::of(bytes);
        let pairs = groups.by_ref().map(|group| (group.code, group.text())).collect();
        (pairs, groups.slips().to_vec())
    }

    #[test]
    fn reads_every_kind_of_line_end() {
        let want = vec![(0, "SECTION".to_owned()), (2, "HEADER".to_owned())];
        for text in [
            "0\nSECTION\n2\nHEADER",
            "  0\r\nSECTION\r\n  2\r\nHEADER\r\n",
            "0\rSECTION\r2\rHEADER\r",
            "\u{feff}0\nSECTION\n2\nHEADER\n\n\n",
        ] {
            assert_eq!(codes(text.as_bytes()), (want.clone(), vec![]), "{text:?}");
        }
    }

    #[test]
    fn goes_on_after_a_line_that_is_no_code() {
        let (pairs, slips) = codes(b"0\nLINE\nten\n1.0\n20\n2.0\n0\nCIRCLE\n40\n1\n");
        assert_eq!(pairs, [(0, "LINE".into()), (0, "CIRCLE".into()), (40, "1".into())]);
        assert_eq!(slips, [Slip::NotACode { line: 3, resumed: Some(8) }]);
        // A value is lost, so that `0` is taken for it: the record below is still found.
        let (pairs, slips) = codes(b"0\nLINE\n10\n0\nCIRCLE\n40\n1\n");
        assert_eq!(pairs, [(0, "LINE".into()), (10, "0".into()), (0, "CIRCLE".into()), (40, "1".into())]);
        assert_eq!(slips, [Slip::NotACode { line: 5, resumed: Some(5) }]);
    }

    #[test]
    fn a_file_that_stops_inside_a_pair_is_cut_short() {
        assert_eq!(codes(b"0\nLINE\n10\n").1, [Slip::CutShort { at: 3 }]);
        let mut binary = SENTINEL.to_vec();
        binary.extend(b"\0\0CIRCLE\0\x0a\0\0\0\0");
        assert_eq!(codes(&binary).1, [Slip::CutShort { at: SENTINEL.len() + 9 }]);
    }

    #[test]
    fn letters_of_old_and_new_files() {
        let letter = |bytes: &'static [u8]| Group { code: 8, value: Value::Text(bytes), at: 1 }.text();
        assert_eq!(letter(b"H\xd8LES"), "HØLES");
        assert_eq!(letter("HØLES".as_bytes()), "HØLES");
        assert_eq!(letter(b"H\\U+00D8LES"), "HØLES");
        assert_eq!(letter(b"\\U+zz \\U+D800"), "\\U+zz \\U+D800");
    }
}
