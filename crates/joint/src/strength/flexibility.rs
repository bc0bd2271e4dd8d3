//! How much a fastener gives: published formulas for its flexibility.
//!
//! They do not agree, by a factor of two for thin sheet. None is chosen:
//! [`spread`] gives the shares of a line of rows under every formula that
//! applies, as one band. Their constants are in `standards/flexibility.csv`,
//! with the misprints that are known. Any consistent units.

use faying_standards::strength::FlexibilityFigures;
use faying_standards::{Cited, Working, figures};
use serde::Serialize;
use thiserror::Error;

use super::share::{Line, ShareError, share};
use super::{figure, theory};

/// A formula, by the code letter it has in the standards.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Formula {
    /// Report FB-172, single and double shear.
    H,
    /// Fuselage work of 1971, riveted thin sheet.
    S,
    /// Form of an airframe design manual, single and double shear.
    B,
    /// Empirical airframe form quoted in 1983, single shear.
    G,
    /// After NACA TN 1051, variant for a single lap.
    TrSingle,
    /// NACA TN 1051, double shear.
    TrDouble,
}

impl Formula {
    /// All of them, in the order of the standards.
    pub const ALL: [Self; 6] = [Self::H, Self::S, Self::B, Self::G, Self::TrSingle, Self::TrDouble];

    /// The code as it is shown.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::H => "H",
            Self::S => "S",
            Self::B => "B",
            Self::G => "G",
            Self::TrSingle => "TR single",
            Self::TrDouble => "TR double",
        }
    }

    /// Reads a code, in capitals or not, with a blank or a hyphen.
    ///
    /// ```
    /// use faying_joint::strength::Formula;
    /// assert_eq!(Formula::read("tr-single"), Some(Formula::TrSingle));
    /// assert_eq!(Formula::read("X"), None);
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim().replace(['-', '_'], " ");
        Self::ALL.into_iter().find(|formula| formula.code().eq_ignore_ascii_case(&text))
    }
}

/// What kind of joint it is; formula H has constants for each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Metal sheets, bolted.
    Bolted,
    /// Metal sheets, riveted.
    Riveted,
    /// Graphite/epoxy sheets, bolted.
    Composite,
}

impl Kind {
    /// All of them with the word a builder writes.
    pub const WORDS: [(&'static str, Self); 3] =
        [("bolted", Self::Bolted), ("riveted", Self::Riveted), ("composite", Self::Composite)];

    /// How the standards name it.
    const fn joint(self) -> &'static str {
        match self {
            Self::Bolted => "bolted, metal",
            Self::Riveted => "riveted, metal",
            Self::Composite => "bolted, graphite/epoxy",
        }
    }
}

/// The joint that a flexibility is asked of. In double shear sheet 1 is the
/// centre and sheet 2 each strap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Thickness of sheet 1, length.
    pub t1: f64,
    /// Thickness of sheet 2, length.
    pub t2: f64,
    /// Diameter of the fastener, length.
    pub d: f64,
    /// Modulus of sheet 1, force over area.
    pub e1: f64,
    /// Modulus of sheet 2, force over area.
    pub e2: f64,
    /// Modulus of the fastener, force over area.
    pub ef: f64,
    /// Transverse contraction over elongation of the fastener.
    pub nu: f64,
    /// Whether there are two shear planes.
    pub double: bool,
    /// What kind of joint it is.
    pub kind: Kind,
}

/// What a formula gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Flexibility {
    /// The formula.
    pub formula: Formula,
    /// Flexibility, length over force.
    pub c: f64,
    /// Stiffness, its inverse.
    pub k: f64,
    /// Misprints and disagreements of the formula.
    pub note: String,
    /// Where the formula comes from.
    pub cited: Cited,
    /// Formula, numbers, result, source.
    pub working: Working,
}

/// A formula that says nothing of a joint.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum FlexibilityError {
    /// A dimension that is nothing, negative or no number.
    #[error("{0} must be a number over 0")]
    Number(&'static str),
    /// Contraction outside what a solid can have.
    #[error("nu must be between 0 and .5")]
    Contraction,
    /// The formula was given for another joint.
    #[error("formula {code} is not for this joint: what was read gives it for {only}")]
    NotFor {
        /// The formula.
        code: &'static str,
        /// What it is for.
        only: &'static str,
    },
}

impl Formula {
    /// Whether what was read gives the formula for such a joint.
    ///
    /// # Errors
    /// [`FlexibilityError::NotFor`] says what it is for.
    pub fn applies(self, joint: &Joint) -> Result<(), FlexibilityError> {
        let metal = joint.kind != Kind::Composite;
        let (fits, only) = match self {
            Self::H => (metal || !joint.double, "metal in single or double shear, graphite/epoxy in single"),
            Self::S => (joint.kind == Kind::Riveted && !joint.double, "riveted thin sheet in single shear"),
            Self::B => (true, "metal and composite"),
            Self::G => (metal && !joint.double, "metal in single shear"),
            Self::TrSingle => (metal && !joint.double, "metal in single shear"),
            Self::TrDouble => (metal && joint.double, "metal in double shear"),
        };
        if fits { Ok(()) } else { Err(FlexibilityError::NotFor { code: self.code(), only }) }
    }

    fn figures(self, joint: &Joint) -> &'static FlexibilityFigures {
        let planes = if joint.double { "double shear" } else { "single shear" };
        figures()
            .flexibilities()
            .iter()
            .filter(|row| row.formula == self.code())
            .find(|row| match self {
                Self::H => row.joint == joint.kind.joint(),
                Self::B => row.joint == planes,
                _ => true,
            })
            .expect("every formula has a row for what it applies to (tested)")
    }
}

/// The flexibility of a fastener by one formula.
///
/// # Units
/// - `joint`: lengths, moduli in one consistent set (mm and MPa; in and psi)
/// - returns: length over force (mm/N; in/lbf), and its inverse
///
/// # Errors
/// [`FlexibilityError`] where a number is amiss or the formula is for another joint.
///
/// # Source
/// Theory chapter, "Strength"; `standards/flexibility.csv` names the reports,
/// which were not read themselves.
pub fn flexibility(formula: Formula, joint: &Joint) -> Result<Flexibility, FlexibilityError> {
    for (number, name) in [
        (joint.t1, "t1"),
        (joint.t2, "t2"),
        (joint.d, "d"),
        (joint.e1, "e1"),
        (joint.e2, "e2"),
        (joint.ef, "ef"),
    ] {
        if !(number.is_finite() && number > 0.0) {
            return Err(FlexibilityError::Number(name));
        }
    }
    if !(0.0..=0.5).contains(&joint.nu) {
        return Err(FlexibilityError::Contraction);
    }
    formula.applies(joint)?;
    let row = formula.figures(joint);
    let constant = |value: Option<f64>| value.expect("a formula's row holds its constants (tested)");
    let Joint { t1, t2, d, e1, e2, ef, nu, .. } = *joint;
    let pi = std::f64::consts::PI;
    let (c, text) = match formula {
        Formula::H => {
            let (a, b) = (constant(row.a), constant(row.b));
            let n = if joint.double { 2.0 } else { 1.0 };
            let sheets = 1.0 / (t1 * e1) + 1.0 / (n * t2 * e2);
            let fastener = 1.0 / (2.0 * t1 * ef) + 1.0 / (2.0 * n * t2 * ef);
            (
                ((t1 + t2) / (2.0 * d)).powf(a) * (b / n) * (sheets + fastener),
                "((t1+t2)/(2·d))^a·(b/n)·(1/(t1·E1) + 1/(n·t2·E2) + 1/(2·t1·Ef) + 1/(2·n·t2·Ef))",
            )
        }
        Formula::S => (
            constant(row.a) / (d * ef) + constant(row.b) * (1.0 / (t1 * e1) + 1.0 / (t2 * e2)),
            "a/(d·Ef) + b·(1/(t1·E1) + 1/(t2·E2))",
        ),
        Formula::B => {
            let (a, b) = (constant(row.a), constant(row.b));
            let side = |t: f64, e: f64| b.powf((t / d).powf(a)) / t * (1.0 / e + 3.0 / (8.0 * ef));
            (
                side(t1, e1) + side(t2, e2),
                "b^((t1/d)^a)/t1·(1/E1 + 3/(8·Ef)) + b^((t2/d)^a)/t2·(1/E2 + 3/(8·Ef))",
            )
        }
        Formula::G => (
            (t1 + t2).powi(2) / (ef * d.powi(3)) + constant(row.b) * (1.0 / (t1 * e1) + 1.0 / (t2 * e2)),
            "(t1+t2)²/(Ef·d³) + b·(1/(t1·E1) + 1/(t2·E2))",
        ),
        Formula::TrSingle => (
            1.0 / (ef * t1)
                + 1.0 / (ef * t2)
                + 1.0 / (e1 * t1)
                + 1.0 / (e2 * t2)
                + 32.0 * (1.0 + nu) * (t1 + t2) / (9.0 * ef * pi * d.powi(2))
                + 8.0 * (t1.powi(3) + 5.0 * t1.powi(2) * t2 + 5.0 * t1 * t2.powi(2) + t2.powi(3))
                    / (5.0 * ef * pi * d.powi(4)),
            "1/(Ef·t1) + 1/(Ef·t2) + 1/(E1·t1) + 1/(E2·t2) + 32·(1+ν)·(t1+t2)/(9·Ef·π·d²) + 8·(t1³+5·t1²·t2+5·t1·t2²+t2³)/(5·Ef·π·d⁴)",
        ),
        Formula::TrDouble => {
            let (tp, ts) = (t1, t2);
            let gf = ef / (2.0 * (1.0 + nu));
            let (area, inertia) = (pi * d.powi(2) / 4.0, pi * d.powi(4) / 64.0);
            (
                (2.0 * ts + tp) / (3.0 * gf * area)
                    + (8.0 * ts.powi(3) + 16.0 * ts.powi(2) * tp + 8.0 * ts * tp.powi(2) + tp.powi(3))
                        / (192.0 * ef * inertia)
                    + (2.0 * ts + tp) / (ts * tp * ef)
                    + 1.0 / (ts * e2)
                    + 1.0 / (tp * e1),
                "(2·ts+tp)/(3·Gf·Af) + (8·ts³+16·ts²·tp+8·ts·tp²+tp³)/(192·Ef·If) + (2·ts+tp)/(ts·tp·Ef) + 1/(ts·Es) + 1/(tp·Ep), p = 1 the centre, s = 2 a strap, Gf = Ef/(2·(1+ν))",
            )
        }
    };
    let mut put_in = format!(
        "t1 = {}, t2 = {}, d = {}, E1 = {}, E2 = {}, Ef = {}",
        figure(t1, 5),
        figure(t2, 5),
        figure(d, 5),
        figure(e1, 5),
        figure(e2, 5),
        figure(ef, 5)
    );
    if let Some(a) = row.a {
        put_in.push_str(&format!(", a = {}", figure(a, 4)));
    }
    if let Some(b) = row.b {
        put_in.push_str(&format!(", b = {}", figure(b, 4)));
    }
    if formula == Formula::H {
        put_in.push_str(if joint.double { ", n = 2" } else { ", n = 1" });
    }
    if matches!(formula, Formula::TrSingle | Formula::TrDouble) {
        put_in.push_str(&format!(", ν = {}", figure(nu, 4)));
    }
    let mut working = Working::default();
    working.add(
        format!("flexibility {}", formula.code()),
        text,
        put_in,
        format!("C = {}, k = 1/C = {}", figure(c, 4), figure(1.0 / c, 4)),
        row.cited.clone(),
    );
    Ok(Flexibility { formula, c, k: 1.0 / c, note: row.note.clone(), cited: row.cited.clone(), working })
}

/// Every formula that applies to a joint, in the order of the standards.
///
/// # Errors
/// [`FlexibilityError`] where a number is amiss.
pub fn all(joint: &Joint) -> Result<Vec<Flexibility>, FlexibilityError> {
    Formula::ALL
        .into_iter()
        .filter(|formula| formula.applies(joint).is_ok())
        .map(|formula| flexibility(formula, joint))
        .collect()
}

/// Shares of a line of rows under every formula that applies.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Least and greatest share of each row, first row first.
    pub rows: Vec<Band>,
    /// The shares by formula.
    pub by: Vec<(Formula, Vec<f64>)>,
}

/// Least and greatest of several answers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Band {
    /// Least.
    pub least: f64,
    /// Greatest.
    pub most: f64,
}

/// A spread that cannot be worked out.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum SpreadError {
    /// The fastener.
    #[error(transparent)]
    Flexibility(#[from] FlexibilityError),
    /// The line of rows.
    #[error(transparent)]
    Share(#[from] ShareError),
}

/// The shares of a line of equal rows under every formula that applies, as one band.
///
/// # Units
/// - `joint`, `ka`, `kb`: one consistent set; `ka`, `kb` are E·A/p of sheet 1 and sheet 2
/// - returns: fractions of the load
///
/// # Errors
/// [`SpreadError`] where a number is amiss.
pub fn spread(joint: &Joint, rows: usize, ka: f64, kb: f64) -> Result<Spread, SpreadError> {
    let by = all(joint)?
        .into_iter()
        .map(|it| Ok((it.formula, share(&Line::even(rows, ka, kb, it.c))?)))
        .collect::<Result<Vec<_>, SpreadError>>()?;
    let bands = (0..rows)
        .map(|row| {
            let shares = by.iter().map(|(_, shares)| shares[row]);
            Band {
                least: shares.clone().fold(f64::INFINITY, f64::min),
                most: shares.fold(f64::NEG_INFINITY, f64::max),
            }
        })
        .collect();
    Ok(Spread { rows: bands, by })
}

/// What the working of a spread rests on.
#[must_use]
pub fn spread_working(spread: &Spread) -> Working {
    let mut working = Working::default();
    for (formula, shares) in &spread.by {
        working.add(
            format!("shares with formula {}", formula.code()),
            "",
            "",
            shares.iter().map(|it| format!("{:.1} %", it * 100.0)).collect::<Vec<_>>().join(", "),
            theory(),
        );
    }
    working
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn thin() -> Joint {
        Joint {
            t1: 0.032,
            t2: 0.032,
            d: 0.1285,
            e1: 10.5e6,
            e2: 10.5e6,
            ef: 10.3e6,
            nu: 0.33,
            double: false,
            kind: Kind::Riveted,
        }
    }

    /// Every joint that a formula applies to has a row with the constants the formula needs.
    #[test]
    fn every_formula_has_its_constants() {
        let mut worked = 0;
        for formula in Formula::ALL {
            for (_, kind) in Kind::WORDS {
                for double in [false, true] {
                    let joint = Joint { kind, double, ..thin() };
                    match flexibility(formula, &joint) {
                        Ok(it) => {
                            assert!(it.c > 0.0 && it.c.is_finite());
                            assert!(!it.note.is_empty(), "{}", formula.code());
                            worked += 1;
                        }
                        Err(error) => assert!(matches!(error, FlexibilityError::NotFor { .. })),
                    }
                }
            }
            assert_eq!(Formula::read(&formula.code().to_lowercase()), Some(formula));
        }
        // H 5, S 1, B 6, G 2, TR single 2, TR double 2.
        assert_eq!(worked, 18);
        assert_eq!(figures().flexibilities().len(), 9);
    }

    #[test]
    fn a_number_that_is_none_is_named() {
        let of = |joint| flexibility(Formula::S, &joint).unwrap_err().to_string();
        assert_eq!(of(Joint { t2: 0.0, ..thin() }), "t2 must be a number over 0");
        assert_eq!(of(Joint { ef: f64::NAN, ..thin() }), "ef must be a number over 0");
        assert_eq!(of(Joint { nu: 0.6, ..thin() }), "nu must be between 0 and .5");
        insta::assert_snapshot!(
            of(Joint { double: true, ..thin() }),
            @"formula S is not for this joint: what was read gives it for riveted thin sheet in single shear"
        );
    }

    /// The misprint of H, made on purpose: with one shear plane the right form does not care which sheet
    /// is called 1.
    #[test]
    fn formula_h_does_not_care_which_sheet_is_first() {
        let joint = Joint { t1: 0.063, e1: 9.9e6, ..thin() };
        let turned = Joint { t1: joint.t2, t2: joint.t1, e1: joint.e2, e2: joint.e1, ..joint };
        for formula in [Formula::H, Formula::S, Formula::B, Formula::G, Formula::TrSingle] {
            let (one, other) =
                (flexibility(formula, &joint).unwrap(), flexibility(formula, &turned).unwrap());
            assert!((one.c / other.c - 1.0).abs() < 1e-12, "{}", formula.code());
        }
    }

    #[test]
    fn the_spread_holds_every_formula() {
        let joint = thin();
        let found = spread(&joint, 3, 336_000.0, 336_000.0).unwrap();
        assert_eq!(found.by.len(), 5);
        for (formula, shares) in &found.by {
            for (band, share) in found.rows.iter().zip(shares) {
                assert!(band.least <= *share && *share <= band.most, "{}", formula.code());
            }
        }
        // Softest G, stiffest S, as the text that was read says of them: an end row carries least and most.
        let end = |formula| found.by.iter().find(|it| it.0 == formula).unwrap().1[0];
        assert_eq!(found.rows[0].least, end(Formula::G));
        assert_eq!(found.rows[0].most, end(Formula::S));
        assert!(spread(&joint, 0, 1.0, 1.0).is_err());
    }
}
