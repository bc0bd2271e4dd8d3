//! Solid rivets: head, alloy, diameter, length, and their part numbers.
//!
//! A part number says it all: `MS20470AD4-5` is a universal head, alloy AD
//! (2117), 4/32 in across and 5/16 in long; a half size is `-3.5`. A universal
//! head is measured under the head, a flush head over it.
//!
//! Here are the words only. Which lengths the tables list and what each size
//! measures is in `standards/`, see [`crate::Figures`]; reading any part
//! number a plan may hold is in [`crate::fastener`].

use std::fmt;
use std::str::FromStr;

use crate::fastener::{Fastener, ReadFastenerError};
use crate::quantity::Length;

/// The manufactured head.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HeadStyle {
    /// Universal head, protruding: MS20470.
    Universal,
    /// 100° countersunk head, flush: MS20426.
    Flush,
}

impl HeadStyle {
    /// Both styles.
    pub const ALL: [Self; 2] = [Self::Universal, Self::Flush];

    /// The number of the sheet that defines it.
    #[must_use]
    pub const fn number(self) -> &'static str {
        match self {
            Self::Universal => "MS20470",
            Self::Flush => "MS20426",
        }
    }

    /// The superseded number, still on bags and plans.
    #[must_use]
    pub const fn old_number(self) -> &'static str {
        match self {
            Self::Universal => "AN470",
            Self::Flush => "AN426",
        }
    }
}

impl fmt::Display for HeadStyle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Universal => "universal",
            Self::Flush => "flush",
        })
    }
}

/// The alloy, by the letters of the part number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RivetAlloy {
    /// 1100, plain head.
    A,
    /// 2117-T4, dimpled head: the usual one.
    Ad,
    /// 5056, raised cross.
    B,
    /// 2017-T4, raised dot.
    D,
    /// 2024-T4, two raised dashes.
    Dd,
    /// 7050-T73.
    E,
}

impl RivetAlloy {
    /// All alloys.
    pub const ALL: [Self; 6] = [Self::A, Self::Ad, Self::B, Self::D, Self::Dd, Self::E];

    /// The letters in a part number.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::A => "A",
            Self::Ad => "AD",
            Self::B => "B",
            Self::D => "D",
            Self::Dd => "DD",
            Self::E => "E",
        }
    }

    /// The alloy for letters as they stand in a part number, in capitals.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|alloy| alloy.code() == code)
    }
}

impl fmt::Display for RivetAlloy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// A nominal shank diameter in thirty-seconds of an inch.
///
/// ```
/// use faying_standards::rivet::Diameter;
/// let eighth = Diameter::from_dash(4).expect("-4 is a diameter");
/// assert_eq!(eighth.to_string(), "1/8");
/// assert_eq!(eighth.length().decimal(), ".125");
/// assert_eq!(Diameter::from_dash(13), None);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Diameter(u8);

impl Diameter {
    /// Every diameter that a part number may name, thinnest first.
    pub const ALL: [Self; 9] =
        [Self(2), Self(3), Self(4), Self(5), Self(6), Self(7), Self(8), Self(10), Self(12)];

    /// From the first dash number, in 1/32 in; `None` where there is no such rivet.
    #[must_use]
    pub fn from_dash(dash: u8) -> Option<Self> {
        Self::ALL.into_iter().find(|diameter| diameter.0 == dash)
    }

    /// From a length that is exactly one of the diameters.
    #[must_use]
    pub fn from_length(length: Length) -> Option<Self> {
        Self::ALL.into_iter().find(|diameter| diameter.length() == length)
    }

    /// The first dash number, in 1/32 in.
    #[must_use]
    pub const fn dash(self) -> u8 {
        self.0
    }

    /// The nominal diameter.
    #[must_use]
    pub const fn length(self) -> Length {
        Length::sixty_fourths(self.0 as i64 * 2)
    }
}

impl fmt::Display for Diameter {
    /// The fraction without its unit: `1/8`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.length().fraction().expect("thirty-seconds are an exact fraction"))
    }
}

/// A length in half sixteenths of an inch, as the second dash number writes it.
///
/// ```
/// use faying_standards::rivet::Dash;
/// let dash = Dash::read("-3.5").expect("a half size");
/// assert_eq!(dash.to_string(), "-3.5");
/// assert_eq!(dash.length().fraction().as_deref(), Some("7/32"));
/// assert_eq!(Dash::read("-3.25"), None);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Dash(u16);

impl Dash {
    /// From thirty-seconds of an inch: 10 is `-5`, 7 is `-3.5`. `None` for nothing.
    #[must_use]
    pub const fn from_thirty_seconds(count: u16) -> Option<Self> {
        if count == 0 { None } else { Some(Self(count)) }
    }

    /// From whole sixteenths of an inch: 5 is `-5`. `None` for nothing or past any rivet.
    #[must_use]
    pub fn from_sixteenths(count: u16) -> Option<Self> {
        count.checked_mul(2).and_then(Self::from_thirty_seconds)
    }

    /// Reads `-5`, `5`, `-3.5`.
    ///
    /// At most three figures before the point, `.5` the only part behind it.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim();
        let text = text.strip_prefix('-').unwrap_or(text);
        let (whole, half) = match text.strip_suffix(".5") {
            Some(whole) => (whole, 1),
            None => (text, 0),
        };
        if whole.is_empty() || whole.len() > 3 || !whole.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        Self::from_thirty_seconds(whole.parse::<u16>().ok()? * 2 + half)
    }

    /// Thirty-seconds of an inch.
    #[must_use]
    pub const fn thirty_seconds(self) -> u16 {
        self.0
    }

    /// The nominal length.
    #[must_use]
    pub const fn length(self) -> Length {
        Length::sixty_fourths(self.0 as i64 * 2)
    }

    /// Whether it is a half size, such as `-3.5`.
    #[must_use]
    pub const fn is_half(self) -> bool {
        self.0 % 2 == 1
    }
}

impl fmt::Display for Dash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "-{}{}", self.0 / 2, if self.is_half() { ".5" } else { "" })
    }
}

/// A solid rivet without its length, such as `MS20470AD4`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RivetType {
    /// The manufactured head.
    pub head: HeadStyle,
    /// The alloy.
    pub alloy: RivetAlloy,
    /// The nominal diameter.
    pub diameter: Diameter,
}

impl RivetType {
    /// The same rivet with a length.
    #[must_use]
    pub const fn with(self, dash: Dash) -> Rivet {
        Rivet { kind: self, dash }
    }
}

impl fmt::Display for RivetType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}{}", self.head.number(), self.alloy, self.diameter.dash())
    }
}

impl FromStr for RivetType {
    type Err = ReadFastenerError;

    /// Reads `MS20470AD4` or `AN470AD4`.
    ///
    /// # Errors
    /// [`ReadFastenerError`] for anything else, a rivet with a length included.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match Fastener::read(text)?.fastener {
            Fastener::Solid { kind, dash: None } => Ok(kind),
            Fastener::Solid { kind, dash: Some(dash) } => {
                Err(ReadFastenerError::LengthNotWanted { written: text.trim().to_owned(), kind, dash })
            }
            _ => Err(ReadFastenerError::NotSolid { written: text.trim().to_owned() }),
        }
    }
}

/// A solid rivet with its length, such as `MS20470AD4-5`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Rivet {
    /// Head, alloy and diameter.
    pub kind: RivetType,
    /// The length.
    pub dash: Dash,
}

impl fmt::Display for Rivet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.kind, self.dash)
    }
}

impl FromStr for Rivet {
    type Err = ReadFastenerError;

    /// Reads `MS20470AD4-5` or `AN470AD4-5`.
    ///
    /// # Errors
    /// [`ReadFastenerError`] for anything else, a rivet without a length included.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match Fastener::read(text)?.fastener {
            Fastener::Solid { kind, dash: Some(dash) } => Ok(kind.with(dash)),
            Fastener::Solid { kind, dash: None } => {
                Err(ReadFastenerError::LengthWanted { written: text.trim().to_owned(), kind })
            }
            _ => Err(ReadFastenerError::NotSolid { written: text.trim().to_owned() }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn diameters_are_thirty_seconds() {
        let shown: Vec<String> = Diameter::ALL.iter().map(ToString::to_string).collect();
        assert_eq!(shown, ["1/16", "3/32", "1/8", "5/32", "3/16", "7/32", "1/4", "5/16", "3/8"]);
        for diameter in Diameter::ALL {
            assert_eq!(Diameter::from_dash(diameter.dash()), Some(diameter));
            assert_eq!(Diameter::from_length(diameter.length()), Some(diameter));
        }
        for dash in [0, 1, 9, 11, 13, 40] {
            assert_eq!(Diameter::from_dash(dash), None);
        }
    }

    #[test]
    fn dashes_read_strictly() {
        for text in ["", "-", ".5", "-3.25", "-3.50", "--5", "+5", "5x", "0", "-0", "1234", "3,5", "-3-5"] {
            assert_eq!(Dash::read(text), None, "{text:?} was read");
        }
        assert_eq!(Dash::read("5"), Dash::read("-5"));
        assert_eq!(Dash::read("-5").unwrap().length().fraction().unwrap(), "5/16");
        assert_eq!(Dash::read("-0.5").unwrap().length().fraction().unwrap(), "1/32");
        assert!(Dash::read("-3.5") < Dash::read("-4"));
    }

    #[test]
    fn a_type_and_a_rivet_are_told_apart() {
        let kind: RivetType = "AN426AD3".parse().unwrap();
        assert_eq!(kind.to_string(), "MS20426AD3");
        insta::assert_snapshot!(
            "MS20426AD3-4".parse::<RivetType>().unwrap_err(),
            @r#""MS20426AD3-4" has a length, and only head, alloy and diameter are wanted here: write MS20426AD3"#
        );
        insta::assert_snapshot!(
            "MS20426AD3".parse::<Rivet>().unwrap_err(),
            @r#""MS20426AD3" has no length: write it behind a dash in sixteenths of an inch, such as MS20426AD3-4"#
        );
        insta::assert_snapshot!(
            "AN3-5A".parse::<Rivet>().unwrap_err(),
            @r#""AN3-5A" is not a solid rivet this tool knows: write MS20470 or MS20426 with alloy and diameter, such as MS20470AD4-5"#
        );
    }

    proptest! {
        #[test]
        fn dashes_come_back(count in 1_u16..1999) {
            let dash = Dash::from_thirty_seconds(count).unwrap();
            prop_assert_eq!(Dash::read(&dash.to_string()), Some(dash));
        }
    }
}
