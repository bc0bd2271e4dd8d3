//! Any fastener a plan may call, read from its part number.
//!
//! A solid rivet is read strictly: a number that no standard has is an error,
//! because it is nearly always a slip of the pen. What the superseded AN
//! numbers say is read as the MS number that took their place. Other fasteners
//! are told apart by `standards/fastener_families.csv`; a number that is not
//! in it is kept as written, never refused.
//!
//! Out of scope: which of two fasteners may replace the other.

use std::fmt;

use thiserror::Error;

use crate::figures::figures;
use crate::quantity::{Length, Unit};
use crate::rivet::{Dash, Diameter, HeadStyle, RivetAlloy, RivetType};
use crate::source::Cited;
use crate::table::{DataError, Table};

/// A fastener.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fastener {
    /// A solid rivet, MS20470 or MS20426.
    Solid {
        /// Head, alloy and diameter.
        kind: RivetType,
        /// The length, where it is written.
        dash: Option<Dash>,
    },
    /// A blind rivet.
    Blind {
        /// The part number, in capitals.
        part: String,
        /// Its diameter, where the number says one we know.
        diameter: Option<Diameter>,
        /// Its grip number, in 1/16 in, where the number says one.
        grip: Option<u16>,
    },
    /// A bolt.
    Bolt {
        /// The part number, in capitals.
        part: String,
        /// What the number says, for AN3 to AN20.
        an: Option<AnBolt>,
    },
    /// A nutplate (anchor nut).
    Nutplate {
        /// The part number, in capitals.
        part: String,
    },
    /// Anything else, kept as it is written.
    AsWritten(String),
}

/// What an AN3 to AN20 number says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AnBolt {
    /// The number behind AN: diameter in 1/16 in, save that AN3 is a No. 10 (.190 in).
    pub size: u8,
    /// What it is made of.
    pub material: BoltMaterial,
    /// Whether the head is drilled for safety wire (`H`).
    pub head_drilled: bool,
    /// The dash number: eighths of an inch, from 10 on whole inches and eighths.
    pub dash: u16,
    /// Whether the shank is drilled for a cotter pin (no `A` at the end).
    pub shank_drilled: bool,
}

/// What a bolt is made of, by the letters behind its size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BoltMaterial {
    /// Plated nickel-alloy steel: no letter.
    Steel,
    /// Corrosion-resistant steel: `C`.
    CorrosionResistant,
    /// 2024 aluminium alloy: `DD`.
    Aluminium,
}

/// A fastener as it was read: the text, what it means, and what to know about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadFastener {
    /// The text as written, without blanks around it.
    pub written: String,
    /// What it means.
    pub fastener: Fastener,
    /// What somebody should know, one sentence each: a superseded number, a length below the table.
    pub notes: Vec<String>,
}

impl fmt::Display for ReadFastener {
    /// As written.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

/// A part number that cannot be, and what may be written instead.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ReadFastenerError {
    /// Nothing is written.
    #[error("no fastener is written: write a part number, for example MS20470AD4-5")]
    Empty,
    /// The alloy letters are missing or are no alloy.
    #[error("\"{written}\" is not a rivet: {}; write one of {}", named(found, "alloy"), alloys())]
    Alloy {
        /// The text as written.
        written: String,
        /// The letters found where the alloy stands.
        found: String,
    },
    /// The diameter is missing or is no diameter.
    #[error("\"{written}\" is not a rivet: {}; write one of {}", named(found, "diameter"), diameters())]
    Diameter {
        /// The text as written.
        written: String,
        /// The figures found where the diameter stands.
        found: String,
    },
    /// The length cannot be read.
    #[error(
        "\"{written}\" is not a rivet: \"{found}\" is not a rivet length; write sixteenths of an inch behind a dash, whole or half, such as -5 or -3.5"
    )]
    Length {
        /// The text as written.
        written: String,
        /// What stands where the length should.
        found: String,
    },
    /// The length is past the longest.
    #[error("\"{written}\" is not a rivet: {} is {} long, and lengths end at {longest} ({}); write a length up to {longest}", dash, in_inches(*dash), in_inches(*longest))]
    TooLong {
        /// The text as written.
        written: String,
        /// The length found.
        dash: Dash,
        /// The longest length listed.
        longest: Dash,
    },
    /// A flush rivet no longer than its own head.
    #[error("\"{written}\" is not a rivet: a flush rivet is measured over its head, and {dash} ({}) is no longer than the head ({} in) alone; write a length of {} or more", in_inches(*dash), head.decimal(), first_past(*head))]
    WithinHead {
        /// The text as written.
        written: String,
        /// The length found.
        dash: Dash,
        /// The height of its head.
        head: Length,
    },
    /// A length where only the type is wanted.
    #[error("\"{written}\" has a length, and only head, alloy and diameter are wanted here: write {kind}")]
    LengthNotWanted {
        /// The text as written.
        written: String,
        /// The rivet without its length.
        kind: RivetType,
        /// The length found.
        dash: Dash,
    },
    /// No length where one is wanted.
    #[error("\"{written}\" has no length: write it behind a dash in sixteenths of an inch, such as {kind}-4")]
    LengthWanted {
        /// The text as written.
        written: String,
        /// The rivet without its length.
        kind: RivetType,
    },
    /// Some other fastener where a solid rivet is wanted.
    #[error(
        "\"{written}\" is not a solid rivet this tool knows: write MS20470 or MS20426 with alloy and diameter, such as MS20470AD4-5"
    )]
    NotSolid {
        /// The text as written.
        written: String,
    },
}

fn named(found: &str, what: &str) -> String {
    if found.is_empty() { format!("it names no {what}") } else { format!("{found} is not a rivet {what}") }
}

fn alloys() -> String {
    RivetAlloy::ALL.map(RivetAlloy::code).join(", ")
}

fn diameters() -> String {
    Diameter::ALL.map(|diameter| format!("{} ({diameter})", diameter.dash())).join(", ")
}

fn in_inches(dash: Dash) -> String {
    dash.length().show(Unit::Inch)
}

/// The first whole sixteenth past a head.
fn first_past(head: Length) -> Dash {
    (1..)
        .filter_map(Dash::from_sixteenths)
        .find(|dash| dash.length() > head)
        .expect("a head is less than an inch high")
}

impl Fastener {
    /// Reads a part number.
    ///
    /// Small letters and blanks inside are taken as they are meant. A number
    /// that is not known stays [`Fastener::AsWritten`].
    ///
    /// # Errors
    /// [`ReadFastenerError`] where nothing is written, and where an MS20470 or
    /// MS20426 number has an alloy, a diameter or a length that does not exist.
    ///
    /// # Source
    /// `an-sheets` for the lengths (`standards/rivet_lengths.csv`).
    ///
    /// ```
    /// use faying_standards::Fastener;
    /// let read = Fastener::read("AN470AD4-5")?;
    /// assert_eq!(read.fastener.to_string(), "MS20470AD4-5");
    /// assert_eq!(read.notes, ["AN470 is superseded: read as MS20470"]);
    /// assert!(Fastener::read("MS20470AD4-40").is_err());
    /// # Ok::<(), faying_standards::ReadFastenerError>(())
    /// ```
    pub fn read(text: &str) -> Result<ReadFastener, ReadFastenerError> {
        let written = text.trim().to_owned();
        if written.is_empty() {
            return Err(ReadFastenerError::Empty);
        }
        let part: String =
            written.chars().filter(|c| !c.is_whitespace()).map(|c| c.to_ascii_uppercase()).collect();
        if let Some((head, named, rest)) = solid(&part) {
            return read_solid(written.clone(), head, named, rest);
        }
        let (fastener, notes) = read_other(&written, part);
        Ok(ReadFastener { written, fastener, notes })
    }

    /// The solid rivet, where it is one.
    #[must_use]
    pub fn rivet(&self) -> Option<RivetType> {
        match self {
            Self::Solid { kind, .. } => Some(*kind),
            _ => None,
        }
    }
}

impl fmt::Display for Fastener {
    /// The part number; of a solid rivet always the MS number.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Solid { kind, dash: None } => write!(f, "{kind}"),
            Self::Solid { kind, dash: Some(dash) } => write!(f, "{kind}{dash}"),
            Self::Blind { part, .. }
            | Self::Bolt { part, .. }
            | Self::Nutplate { part }
            | Self::AsWritten(part) => f.write_str(part),
        }
    }
}

/// The head, the number it was found by, and what follows, if `part` starts like a solid rivet.
fn solid(part: &str) -> Option<(HeadStyle, &'static str, &str)> {
    const NUMBERS: [(HeadStyle, &str); 6] = [
        (HeadStyle::Universal, "MS20470"),
        (HeadStyle::Flush, "MS20426"),
        (HeadStyle::Universal, "NASM20470"),
        (HeadStyle::Flush, "NASM20426"),
        (HeadStyle::Universal, "AN470"),
        (HeadStyle::Flush, "AN426"),
    ];
    NUMBERS.into_iter().find_map(|(head, number)| {
        let rest = part.strip_prefix(number)?;
        // A further figure makes it another number: AN4261 is not an AN426.
        (!rest.starts_with(|c: char| c.is_ascii_digit())).then_some((head, number, rest))
    })
}

fn read_solid(
    written: String,
    head: HeadStyle,
    named: &str,
    rest: &str,
) -> Result<ReadFastener, ReadFastenerError> {
    let (letters, rest) = rest.split_at(rest.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(rest.len()));
    let Some(alloy) = RivetAlloy::from_code(letters) else {
        return Err(ReadFastenerError::Alloy { written, found: letters.to_owned() });
    };
    let (digits, rest) = rest.split_at(rest.find('-').unwrap_or(rest.len()));
    // A part number has no leading nought or sign in its diameter.
    let diameter = Diameter::ALL.into_iter().find(|diameter| diameter.dash().to_string() == digits);
    let Some(diameter) = diameter else {
        return Err(ReadFastenerError::Diameter { written, found: digits.to_owned() });
    };
    let kind = RivetType { head, alloy, diameter };
    let mut notes = Vec::new();
    if named != head.number() {
        notes.push(if named == head.old_number() {
            format!("{named} is superseded: read as {}", head.number())
        } else {
            format!("{named} is the later name of the same sheet: read as {}", head.number())
        });
    }
    if figures().rivet_size(kind).is_none() {
        notes.push(format!(
            "there are no dimensions here for a {diameter} in {head} rivet: nothing is computed for it"
        ));
    }
    let dash = if rest.is_empty() {
        None
    } else {
        let Some(dash) = Dash::read(rest) else {
            return Err(ReadFastenerError::Length { written, found: rest.to_owned() });
        };
        check_length(&written, kind, dash, &mut notes)?;
        Some(dash)
    };
    Ok(ReadFastener { written, fastener: Fastener::Solid { kind, dash }, notes })
}

fn check_length(
    written: &str,
    kind: RivetType,
    dash: Dash,
    notes: &mut Vec<String>,
) -> Result<(), ReadFastenerError> {
    let range = figures().rivet_lengths(kind);
    if let (HeadStyle::Flush, Some(size)) = (kind.head, figures().rivet_size(kind))
        && dash.length() <= size.head_height
    {
        return Err(ReadFastenerError::WithinHead {
            written: written.to_owned(),
            dash,
            head: size.head_height,
        });
    }
    if dash > range.longest {
        return Err(ReadFastenerError::TooLong { written: written.to_owned(), dash, longest: range.longest });
    }
    if let Some(shortest) = range.shortest.filter(|shortest| dash < *shortest) {
        notes.push(format!(
            "{dash} ({}) is shorter than {shortest} ({}), the shortest in the {} table; \
             the successor sheet allows any sixteenth, usually to special order",
            in_inches(dash),
            in_inches(shortest),
            range.table,
        ));
    }
    Ok(())
}

fn read_other(written: &str, part: String) -> (Fastener, Vec<String>) {
    let mut notes = Vec::new();
    let fastener = match figures().family(&part).map(|family| (family.kind, family)) {
        Some((FamilyKind::Blind, _)) => {
            let (diameter, grip) = blind_numbers(&part);
            Fastener::Blind { part, diameter, grip }
        }
        Some((FamilyKind::Bolt, _)) => {
            let an = an_bolt(&part);
            if let Some(bolt) = an
                && matches!(bolt.dash % 10, 8 | 9)
            {
                notes.push(format!(
                    "AN bolts have no -{}: from -10 on the first figure is whole inches and the last eighths",
                    bolt.dash
                ));
            }
            Fastener::Bolt { part, an }
        }
        Some((FamilyKind::Nutplate, _)) => Fastener::Nutplate { part },
        Some((FamilyKind::OtherSolid, family)) => {
            notes.push(format!("{}: there are no figures for it here, nothing is computed", family.what));
            Fastener::AsWritten(written.to_owned())
        }
        None => {
            if let Some(ending) = solid_ending(&part) {
                notes.push(format!(
                    "\"{ending}\" ends like a solid rivet; if it is one, write MS20470{ending} or MS20426{ending}"
                ));
            }
            Fastener::AsWritten(written.to_owned())
        }
    };
    (fastener, notes)
}

/// Diameter and grip number of a blind rivet: `AD4W3`, `D4-3`.
fn blind_numbers(part: &str) -> (Option<Diameter>, Option<u16>) {
    let (_, _, rest) = split_number(part).unwrap_or(("", 0, ""));
    let rest = rest.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    let diameter = rest[..end].parse().ok().and_then(Diameter::from_dash);
    let grip = rest[end..].trim_start_matches(|c: char| c == '-' || c.is_ascii_alphabetic()).parse().ok();
    (diameter, grip)
}

/// What an AN3 to AN20 number says: `AN3-5A`, `AN4H12`, `AN3DD6A`, `AN3C5`.
fn an_bolt(part: &str) -> Option<AnBolt> {
    let ("AN", number, rest) = split_number(part)? else { return None };
    let size = u8::try_from(number).ok().filter(|size| (3..=20).contains(size))?;
    let (material, rest) = if let Some(rest) = rest.strip_prefix("DD") {
        (BoltMaterial::Aluminium, rest)
    } else if let Some(rest) = rest.strip_prefix('C') {
        (BoltMaterial::CorrosionResistant, rest)
    } else {
        (BoltMaterial::Steel, rest)
    };
    let (head_drilled, rest) = rest.strip_prefix('H').map_or((false, rest), |rest| (true, rest));
    let rest = rest.strip_prefix('-').unwrap_or(rest);
    let (shank_drilled, digits) = rest.strip_suffix('A').map_or((true, rest), |digits| (false, digits));
    let plain = !digits.is_empty() && digits.len() <= 3 && digits.bytes().all(|b| b.is_ascii_digit());
    let dash = plain.then(|| digits.parse().ok()).flatten()?;
    Some(AnBolt { size, material, head_drilled, dash, shank_drilled })
}

/// `AD4-5` at the end of a number that is not one of ours.
fn solid_ending(part: &str) -> Option<&str> {
    let dash = part.rfind('-')?;
    let digits = part[..dash].trim_end_matches(|c: char| c.is_ascii_digit());
    let letters = digits.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let (alloy, diameter) = (&digits[letters.len()..], &part[digits.len()..dash]);
    // One letter is too little to tell it from a bolt or a tube.
    let is = alloy.len() == 2
        && RivetAlloy::from_code(alloy).is_some()
        && diameter.parse().ok().and_then(Diameter::from_dash).is_some()
        && Dash::read(&part[dash..]).is_some();
    is.then(|| &part[letters.len()..])
}

/// `MS21059L3` as `MS`, 21059, `L3`.
fn split_number(part: &str) -> Option<(&str, u32, &str)> {
    let start = part.find(|c: char| !c.is_ascii_alphabetic())?;
    let rest = &part[start..];
    let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    Some((&part[..start], rest[..end].parse().ok()?, &rest[end..]))
}

/// What a family of part numbers is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FamilyKind {
    /// Blind rivets.
    Blind,
    /// Bolts.
    Bolt,
    /// Nutplates.
    Nutplate,
    /// Solid rivets of a head that has no figures here.
    OtherSolid,
}

/// A run of part numbers that are the same kind of fastener.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Family {
    /// Letters in front: AN, MS, NAS.
    pub series: String,
    /// First number of the run.
    pub from: u32,
    /// Last number of the run.
    pub to: u32,
    /// What they are.
    pub kind: FamilyKind,
    /// The same in words.
    pub what: String,
    /// Where that comes from.
    pub cited: Cited,
}

impl Family {
    pub(crate) fn parse(table: &Table) -> Result<Vec<Self>, DataError> {
        table
            .read(|row| {
                let number = |column| {
                    row.text(column)?
                        .parse()
                        .map_err(|_| row.error(format!("{column}: write a whole number")))
                };
                Ok(Self {
                    series: row.text("series")?.to_owned(),
                    from: number("from_number")?,
                    to: number("to_number")?,
                    kind: match row.text("kind")? {
                        "blind" => FamilyKind::Blind,
                        "bolt" => FamilyKind::Bolt,
                        "nutplate" => FamilyKind::Nutplate,
                        "solid-other" => FamilyKind::OtherSolid,
                        other => return Err(row.error(format!("\"{other}\" is not a kind of fastener"))),
                    },
                    what: row.text("what")?.to_owned(),
                    cited: row.cited()?,
                })
            })
            .collect()
    }

    pub(crate) fn holds(&self, part: &str) -> bool {
        split_number(part).is_some_and(|(series, number, _)| {
            self.series == series && (self.from..=self.to).contains(&number)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> ReadFastener {
        Fastener::read(text).unwrap_or_else(|error| panic!("{error}"))
    }

    fn refused(text: &str) -> String {
        Fastener::read(text).expect_err(text).to_string()
    }

    #[test]
    fn reads_solid_rivets() {
        let five = read("MS20470AD4-5");
        let kind = RivetType {
            head: HeadStyle::Universal,
            alloy: RivetAlloy::Ad,
            diameter: Diameter::from_dash(4).unwrap(),
        };
        assert_eq!(five.fastener, Fastener::Solid { kind, dash: Dash::from_sixteenths(5) });
        assert!(five.notes.is_empty());
        assert_eq!(read("MS20470AD4").fastener, Fastener::Solid { kind, dash: None });
        assert_eq!(read(" ms20470 ad4-5 ").fastener, five.fastener);
        assert_eq!(read("MS20426AD3-3.5").fastener.to_string(), "MS20426AD3-3.5");
        assert_eq!(read("MS20470DD8-12").fastener.to_string(), "MS20470DD8-12");
    }

    #[test]
    fn old_and_new_names_are_read_as_the_ms_number_and_kept_as_written() {
        let old = read("AN426AD3-3.5");
        assert_eq!(old.to_string(), "AN426AD3-3.5");
        assert_eq!(old.fastener.to_string(), "MS20426AD3-3.5");
        assert_eq!(old.notes, ["AN426 is superseded: read as MS20426"]);
        let new = read("NASM20470AD4-5");
        assert_eq!(new.fastener.to_string(), "MS20470AD4-5");
        assert_eq!(new.notes, ["NASM20470 is the later name of the same sheet: read as MS20470"]);
    }

    #[test]
    fn a_number_no_standard_has_is_refused_with_what_there_is() {
        insta::assert_snapshot!(refused("MS20470AD4-40"), @r#""MS20470AD4-40" is not a rivet: -40 is 2 1/2 in long, and lengths end at -28 (1 3/4 in); write a length up to -28"#);
        insta::assert_snapshot!(refused("MS20470XX4-5"), @r#""MS20470XX4-5" is not a rivet: XX is not a rivet alloy; write one of A, AD, B, D, DD, E"#);
        insta::assert_snapshot!(refused("MS20470-4-5"), @r#""MS20470-4-5" is not a rivet: it names no alloy; write one of A, AD, B, D, DD, E"#);
        insta::assert_snapshot!(refused("MS20470AD9-5"), @r#""MS20470AD9-5" is not a rivet: 9 is not a rivet diameter; write one of 2 (1/16), 3 (3/32), 4 (1/8), 5 (5/32), 6 (3/16), 7 (7/32), 8 (1/4), 10 (5/16), 12 (3/8)"#);
        insta::assert_snapshot!(refused("MS20470AD4-5x"), @r#""MS20470AD4-5x" is not a rivet: "-5X" is not a rivet length; write sixteenths of an inch behind a dash, whole or half, such as -5 or -3.5"#);
        insta::assert_snapshot!(refused("MS20426AD6-1"), @r#""MS20426AD6-1" is not a rivet: a flush rivet is measured over its head, and -1 (1/16 in) is no longer than the head (.070 in) alone; write a length of -2 or more"#);
        insta::assert_snapshot!(refused("  "), @"no fastener is written: write a part number, for example MS20470AD4-5");
        for text in [
            "MS20470AD4-3-5",
            "MS20470AD4-",
            "MS20470AD4-0",
            "MS20470AD04-5",
            "MS20426",
            "AN470AD4.5",
            "MS20470AD4-28.5",
        ] {
            refused(text);
        }
    }

    /// A bag marked shorter than the first line of the old table is unusual, not impossible.
    #[test]
    fn a_length_below_the_table_is_a_note() {
        let read = read("AN470AD4-2");
        assert_eq!(read.fastener.to_string(), "MS20470AD4-2");
        assert_eq!(read.notes.len(), 2);
        insta::assert_snapshot!(read.notes[1], @"-2 (1/8 in) is shorter than -3 (3/16 in), the shortest in the AN470 table; the successor sheet allows any sixteenth, usually to special order");
    }

    #[test]
    fn reads_other_fasteners() {
        assert_eq!(
            read("AN3-5A").fastener,
            Fastener::Bolt {
                part: "AN3-5A".to_owned(),
                an: Some(AnBolt {
                    size: 3,
                    material: BoltMaterial::Steel,
                    head_drilled: false,
                    dash: 5,
                    shank_drilled: false
                })
            }
        );
        let Fastener::Bolt { an: Some(bolt), .. } = read("AN4CH12").fastener else { panic!("not a bolt") };
        assert_eq!(bolt.material, BoltMaterial::CorrosionResistant);
        assert!(bolt.head_drilled && bolt.shank_drilled);
        assert_eq!((bolt.size, bolt.dash), (4, 12));
        insta::assert_snapshot!(read("AN3-8A").notes[0], @"AN bolts have no -8: from -10 on the first figure is whole inches and the last eighths");
        assert_eq!(
            read("MS20600AD4W3").fastener,
            Fastener::Blind {
                part: "MS20600AD4W3".to_owned(),
                diameter: Diameter::from_dash(4),
                grip: Some(3)
            }
        );
        assert_eq!(
            read("NAS1398D5-2").fastener,
            Fastener::Blind {
                part: "NAS1398D5-2".to_owned(),
                diameter: Diameter::from_dash(5),
                grip: Some(2)
            }
        );
        assert_eq!(read("MS21059L3").fastener, Fastener::Nutplate { part: "MS21059L3".to_owned() });
        assert_eq!(read("M39029/5-115").fastener, Fastener::AsWritten("M39029/5-115".to_owned()));
        assert_eq!(read("AN365-1032A").fastener, Fastener::AsWritten("AN365-1032A".to_owned()));
        assert_eq!(read("hinge pin, bent").fastener, Fastener::AsWritten("hinge pin, bent".to_owned()));
        assert!(read("hinge pin, bent").notes.is_empty());
    }

    #[test]
    fn what_looks_like_a_solid_rivet_is_not_passed_over_in_silence() {
        insta::assert_snapshot!(read("470AD4-5").notes[0], @r#""AD4-5" ends like a solid rivet; if it is one, write MS20470AD4-5 or MS20426AD4-5"#);
        assert!(matches!(read("NAS1097AD3-4").fastener, Fastener::AsWritten(_)));
        assert_eq!(read("NAS1097AD3-4").notes.len(), 1);
    }

    proptest! {
        /// Every rivet there is comes back from its own part number.
        #[test]
        fn part_numbers_come_back(head in 0_usize..2, alloy in 0_usize..6, size in 0_usize..9, count in 6_u16..=56) {
            let kind = RivetType {
                head: HeadStyle::ALL[head],
                alloy: RivetAlloy::ALL[alloy],
                diameter: Diameter::ALL[size],
            };
            let fastener = Fastener::Solid { kind, dash: Dash::from_thirty_seconds(count) };
            prop_assert_eq!(Fastener::read(&fastener.to_string()).unwrap().fastener, fastener);
            prop_assert_eq!(kind.to_string().parse::<RivetType>().unwrap(), kind);
        }

        /// No text makes the reader panic, and nothing but a solid number is ever refused.
        #[test]
        fn never_panics(text in "\\PC{1,24}") {
            let part: String = text.chars().filter(|c| !c.is_whitespace()).map(|c| c.to_ascii_uppercase()).collect();
            let read = Fastener::read(&text);
            prop_assert!(read.is_ok() || part.is_empty() || solid(&part).is_some());
        }

        #[test]
        fn never_panics_on_near_misses(text in "(MS20470|AN426|AN4|MS20600|NAS)[A-Z0-9.é-]{0,8}") {
            let _ = Fastener::read(&text);
        }
    }
}
