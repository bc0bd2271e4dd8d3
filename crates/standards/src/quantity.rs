//! Typed quantities, and reading and writing them as a builder does.
//!
//! A [`Length`] is a whole number of nanometres: 1/64 in, .0001 in and
//! 0.01 mm are all whole, so inch and metric plans mix exactly. Computation
//! is done in inch-pound floats (`length.inches()`), and only there.
//!
//! Conversions are derived from exact definitions (the international inch and
//! pound of 1959, standard gravity of CGPM 3, 1901), never typed in.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub};

use thiserror::Error;

/// Standard gravity, m/s². Exact by definition: CGPM 3 (1901).
pub const STANDARD_GRAVITY: f64 = 9.806_65;
/// Pound in kilograms. Exact by definition: international yard and pound agreement (1959).
pub const POUND_IN_KG: f64 = 0.453_592_37;
/// Pound-force in newtons, derived rather than typed in.
pub const LBF_IN_NEWTONS: f64 = POUND_IN_KG * STANDARD_GRAVITY;

/// Nanometres in an inch. Exact by definition: international yard and pound agreement (1959).
const NM_PER_INCH: i64 = 25_400_000;
const NM_PER_MM: i64 = 1_000_000;

/// A length, exact to the nanometre.
///
/// ```
/// use faying_standards::{Length, Unit, inches};
/// assert_eq!(Length::read("3/32", Unit::Inch)?, inches(0.09375));
/// assert_eq!(Length::read(".063", Unit::Inch)?.decimal(), ".063");
/// assert_eq!(Length::read("1 1/8", Unit::Inch)?.fraction().as_deref(), Some("1 1/8"));
/// assert!(Length::read("3/16x", Unit::Inch).is_err());
/// # Ok::<(), faying_standards::ReadLengthError>(())
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length(i64);

/// The unit of a bare number.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Inch, the trade's own.
    #[default]
    Inch,
    /// Millimetre.
    Millimetre,
}

impl Unit {
    /// The abbreviation printed behind a number: `in` or `mm`.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Inch => "in",
            Self::Millimetre => "mm",
        }
    }
}

/// A length given in inches, rounded to the nanometre.
#[must_use]
pub fn inches(value: f64) -> Length {
    Length::from_inches(value)
}

/// A length given in millimetres, rounded to the nanometre.
#[must_use]
pub fn millimetres(value: f64) -> Length {
    Length((value * NM_PER_MM as f64).round() as i64)
}

impl Length {
    /// No length.
    pub const ZERO: Self = Self(0);

    /// From whole nanometres.
    #[must_use]
    pub const fn from_nanometres(nanometres: i64) -> Self {
        Self(nanometres)
    }

    /// From inches, rounded to the nanometre.
    #[must_use]
    pub fn from_inches(value: f64) -> Self {
        Self((value * NM_PER_INCH as f64).round() as i64)
    }

    /// From whole sixty-fourths of an inch, exactly.
    #[must_use]
    pub const fn sixty_fourths(count: i64) -> Self {
        Self(count * (NM_PER_INCH / 64))
    }

    /// Whole nanometres.
    #[must_use]
    pub const fn nanometres(self) -> i64 {
        self.0
    }

    /// Inches, for computation.
    #[must_use]
    pub fn inches(self) -> f64 {
        self.0 as f64 / NM_PER_INCH as f64
    }

    /// Millimetres, for display.
    #[must_use]
    pub fn millimetres(self) -> f64 {
        self.0 as f64 / NM_PER_MM as f64
    }

    /// The length without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Reads a length as a builder writes it.
    ///
    /// Fractions (`3/32`, `1 1/8`), decimals (`.063`, `0.0625`), with a unit
    /// behind (`3.2 mm`, `1/2 in`, `1/2"`) or in `unit` where none is written,
    /// and number drills (`#30`).
    ///
    /// # Errors
    /// [`ReadLengthError`] says what was found and what may be written.
    pub fn read(text: &str, unit: Unit) -> Result<Self, ReadLengthError> {
        let trimmed = text.trim();
        let bad = |why| ReadLengthError { text: trimmed.to_owned(), why };
        if trimmed.is_empty() {
            return Err(bad(Why::Empty));
        }
        if let Some(number) = trimmed.strip_prefix('#') {
            return crate::drill::number_drill(number.trim()).ok_or_else(|| bad(Why::Drill));
        }
        let (number, unit) = split_unit(trimmed, unit);
        let scale = match unit {
            Unit::Inch => NM_PER_INCH,
            Unit::Millimetre => NM_PER_MM,
        };
        let (sign, number) = match number.strip_prefix('-') {
            Some(rest) => (-1, rest),
            None => (1, number.strip_prefix('+').unwrap_or(number)),
        };
        let nanometres = read_number(number.trim(), scale).ok_or_else(|| bad(Why::Number))?;
        Ok(Self(sign * nanometres))
    }

    /// A decimal of an inch as the trade writes it: no leading zero, three places
    /// where they are exact, else four.
    #[must_use]
    pub fn decimal(self) -> String {
        let ten_thousandths = self.0 as f64 / (NM_PER_INCH as f64 / 1e4);
        let whole = ten_thousandths.round();
        let places = if (whole / 10.0).fract() == 0.0 { 3 } else { 4 };
        let text = format!("{:.places$}", whole.abs() / 1e4);
        let text = text.strip_prefix('0').filter(|rest| rest.len() > 1).unwrap_or(&text).to_owned();
        if whole < 0.0 { format!("-{text}") } else { text }
    }

    /// An inch fraction down to sixty-fourths, or `None` where there is no exact one.
    #[must_use]
    pub fn fraction(self) -> Option<String> {
        const STEP: i64 = NM_PER_INCH / 64;
        if self.0 % STEP != 0 {
            return None;
        }
        let count = (self.0 / STEP).abs();
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, mut top, mut bottom) = (count / 64, count % 64, 64);
        while top != 0 && top % 2 == 0 {
            top /= 2;
            bottom /= 2;
        }
        Some(match (whole, top) {
            (_, 0) => format!("{sign}{whole}"),
            (0, _) => format!("{sign}{top}/{bottom}"),
            _ => format!("{sign}{whole} {top}/{bottom}"),
        })
    }

    /// Millimetres with up to three places, no trailing zeros.
    #[must_use]
    pub fn metric(self) -> String {
        let text = format!("{:.3}", self.millimetres());
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }

    /// The length with its unit: a fraction where one is exact to 1/32, else a decimal; or metric.
    #[must_use]
    pub fn show(self, unit: Unit) -> String {
        match unit {
            Unit::Millimetre => format!("{} mm", self.metric()),
            Unit::Inch if self.0 % (NM_PER_INCH / 32) == 0 => {
                format!("{} in", self.fraction().unwrap_or_else(|| self.decimal()))
            }
            Unit::Inch => format!("{} in", self.decimal()),
        }
    }
}

/// Takes a unit off the end of `text`, or leaves the one that holds where none is written.
fn split_unit(text: &str, otherwise: Unit) -> (&str, Unit) {
    for (mark, unit) in [
        ("mm", Unit::Millimetre),
        ("inches", Unit::Inch),
        ("inch", Unit::Inch),
        ("in", Unit::Inch),
        ("\"", Unit::Inch),
        ("″", Unit::Inch),
    ] {
        if let Some(number) = text.strip_suffix(mark) {
            return (number.trim_end(), unit);
        }
    }
    (text, otherwise)
}

/// Reads `3/32`, `1 1/8`, `1-1/8`, `.063` or `7` as a count of nanometres, `scale` to the unit.
fn read_number(text: &str, scale: i64) -> Option<i64> {
    if let Some((whole, fraction)) = text.split_once([' ', '-']) {
        let whole: i64 = digits(whole)?;
        let part = read_fraction(fraction.trim(), scale)?;
        return (part < scale).then(|| whole.checked_mul(scale)?.checked_add(part)).flatten();
    }
    if text.contains('/') { read_fraction(text, scale) } else { read_decimal(text, scale) }
}

fn read_fraction(text: &str, scale: i64) -> Option<i64> {
    let (top, bottom) = text.split_once('/')?;
    let (top, bottom) = (digits(top.trim())?, digits(bottom.trim())?);
    if bottom == 0 || top >= 10_000 || bottom > 10_000 {
        return None;
    }
    // Rounded half up; every fraction of the trade (powers of two down to 1/64) is exact.
    Some((2 * top * scale + bottom) / (2 * bottom))
}

fn read_decimal(text: &str, scale: i64) -> Option<i64> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    if (whole.is_empty() && fraction.is_empty()) || fraction.len() > 12 {
        return None;
    }
    let whole = if whole.is_empty() { 0 } else { digits(whole)? };
    let part = if fraction.is_empty() { 0 } else { digits(fraction)? };
    let unit = 10_i128.pow(u32::try_from(fraction.len()).ok()?);
    let part = (2 * i128::from(part) * i128::from(scale) + unit) / (2 * unit);
    whole.checked_mul(scale)?.checked_add(i64::try_from(part).ok()?)
}

/// Digits and nothing else: `parse` alone would take a sign as well.
fn digits(text: &str) -> Option<i64> {
    (!text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse().ok()).flatten()
}

/// A text that is not a length, and what may be written instead.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("\"{text}\" is not a length: {why}")]
pub struct ReadLengthError {
    text: String,
    why: Why,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Why {
    Empty,
    Number,
    Drill,
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Empty => "write a number, for example 3/32, .063 or 3.2 mm",
            Self::Number => "write a fraction (3/32, 1 1/8), a decimal (.063) or millimetres (3.2 mm)",
            Self::Drill => "number drills run from #1 to #60",
        })
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<i64> for Length {
    type Output = Self;
    fn mul(self, count: i64) -> Self {
        Self(self.0 * count)
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

/// A force in pounds-force.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Force(f64);

impl Force {
    /// From pounds-force.
    #[must_use]
    pub const fn from_lbf(lbf: f64) -> Self {
        Self(lbf)
    }

    /// From newtons.
    #[must_use]
    pub fn from_newtons(newtons: f64) -> Self {
        Self(newtons / LBF_IN_NEWTONS)
    }

    /// Pounds-force.
    #[must_use]
    pub const fn lbf(self) -> f64 {
        self.0
    }

    /// Newtons.
    #[must_use]
    pub fn newtons(self) -> f64 {
        self.0 * LBF_IN_NEWTONS
    }
}

/// An angle in degrees.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Angle(f64);

impl Angle {
    /// From degrees.
    #[must_use]
    pub const fn from_degrees(degrees: f64) -> Self {
        Self(degrees)
    }

    /// Degrees.
    #[must_use]
    pub const fn degrees(self) -> f64 {
        self.0
    }

    /// Radians, for computation.
    #[must_use]
    pub fn radians(self) -> f64 {
        self.0.to_radians()
    }
}

/// An area in square inches.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Area(f64);

impl Area {
    /// The area of a circle.
    ///
    /// # Units
    /// - `diameter`: any length
    /// - returns: π/4·d², in²
    #[must_use]
    pub fn of_circle(diameter: Length) -> Self {
        Self(std::f64::consts::FRAC_PI_4 * diameter.inches().powi(2))
    }

    /// From square inches.
    #[must_use]
    pub const fn from_square_inches(square_inches: f64) -> Self {
        Self(square_inches)
    }

    /// Square inches.
    #[must_use]
    pub const fn square_inches(self) -> f64 {
        self.0
    }

    /// Square feet.
    #[must_use]
    pub fn square_feet(self) -> f64 {
        self.0 / 144.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Length {
        Length::read(text, Unit::Inch).unwrap()
    }

    #[test]
    fn reads_what_a_builder_writes() {
        assert_eq!(read("3/32").nanometres(), 2_381_250);
        assert_eq!(read(".063").nanometres(), 1_600_200);
        assert_eq!(read("0.0625"), read("1/16"));
        assert_eq!(read("1 1/8"), read("1.125"));
        assert_eq!(read("1-1/8"), read("1.125 in"));
        assert_eq!(read("3.2 mm").nanometres(), 3_200_000);
        assert_eq!(read("1/2\""), read("12.7mm"));
        assert_eq!(read("-.010"), -read(".010"));
        assert_eq!(read("#30"), read(".1285"));
        assert_eq!(Length::read("2.4", Unit::Millimetre).unwrap(), millimetres(2.4));
    }

    #[test]
    fn refuses_what_is_not_a_length() {
        for text in
            ["", "-", ".", "3/16x", "3/0", "1 9/8", "1e3", "--1", "#0", "#abc", "nan", "1/", "/2", "1 2 3"]
        {
            assert!(Length::read(text, Unit::Inch).is_err(), "{text:?} was read");
        }
        insta::assert_snapshot!(
            Length::read("3/16x", Unit::Inch).unwrap_err(),
            @r#""3/16x" is not a length: write a fraction (3/32, 1 1/8), a decimal (.063) or millimetres (3.2 mm)"#
        );
        insta::assert_snapshot!(
            Length::read("#77", Unit::Inch).unwrap_err(),
            @r##""#77" is not a length: number drills run from #1 to #60"##
        );
    }

    #[test]
    fn writes_fractions_decimals_and_millimetres() {
        assert_eq!(read("3/32").fraction().unwrap(), "3/32");
        assert_eq!(read("2").fraction().unwrap(), "2");
        assert_eq!(read("1 1/8").fraction().unwrap(), "1 1/8");
        assert_eq!(read(".063").fraction(), None);
        assert_eq!(read(".063").decimal(), ".063");
        assert_eq!(read(".1285").decimal(), ".1285");
        assert_eq!(read("-.0625").decimal(), "-.0625");
        assert_eq!(read("2").decimal(), "2.000");
        assert_eq!(Length::ZERO.decimal(), ".000");
        assert_eq!(read("1/8").metric(), "3.175");
        assert_eq!(read("5/32").show(Unit::Inch), "5/32 in");
        assert_eq!(read(".025").show(Unit::Inch), ".025 in");
    }

    proptest! {
        /// Every sixty-fourth, ten-thousandth and hundredth of a millimetre comes back equal.
        #[test]
        fn steps_of_the_trade_are_exact(count in 0_i64..100_000) {
            let fraction = Length::sixty_fourths(count);
            prop_assert_eq!(read(&fraction.fraction().unwrap()), fraction);
            prop_assert_eq!(read(&format!("{}.{:04}", count / 10_000, count % 10_000)).nanometres(), count * 2_540);
            prop_assert_eq!(read(&format!("{}.{:02} mm", count / 100, count % 100)).nanometres(), count * 10_000);
        }

        /// No text makes the reader panic.
        #[test]
        fn never_panics(text in ".{0,24}") {
            let _ = Length::read(&text, Unit::Inch);
        }
    }

    #[test]
    fn a_square_inch_at_one_psi_is_one_pound_force() {
        let psi_in_pascal = LBF_IN_NEWTONS / (0.0254 * 0.0254);
        let newtons = psi_in_pascal * 0.0254 * 0.0254;
        assert!((Force::from_newtons(newtons).lbf() - 1.0).abs() < 1e-15);
    }
}
