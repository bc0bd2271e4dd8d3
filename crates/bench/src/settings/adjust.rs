//! What a squeezer has to open or close it: turns of the ram, shims, sets of several lengths.
//!
//! A change is a whole number of the tool's steps, so something of it may
//! remain; that is kept and said. Out is more open. A shim under a set, and a
//! longer set, close the gap by what they are thick or long.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use faying_standards::Length;

/// Shims of which every combination is tried; a hand holds fewer.
const SHIMS_TRIED: usize = 12;
/// The same where it is not known which are fitted, and every stack is tried against every other.
const SHIMS_TRIED_UNKNOWN: usize = 8;
/// Half a thousandth: what remains below it is not said, nobody sets it.
const NOT_SAID: Length = Length::from_nanometres(12_700);
/// Steps of a tool without steps of its own, in.
const FREE_STEP: f64 = 0.001;

/// How the gap of a squeezer is changed.
#[derive(Clone, Debug, PartialEq)]
pub enum Adjust {
    /// The ram turns in its thread.
    Turns {
        /// Turns for an inch.
        per_inch: f64,
        /// Into how many parts a turn is divided: 4 for quarter turns.
        part_of_turn: u32,
    },
    /// Shims under the set: those in hand, with those that are fitted now.
    Shims(Vec<Length>),
    /// Sets of several lengths: those in hand, with the one that is fitted now.
    SetLengths(Vec<Length>),
    /// Any thousandth.
    Free,
}

/// What is done to the tool.
#[derive(Clone, Debug, PartialEq)]
pub enum How {
    /// Turns of the ram, out is positive.
    Turns {
        /// Parts of a turn.
        parts: i64,
        /// Into how many parts a turn is divided.
        part_of_turn: u32,
    },
    /// These shims in place of those.
    Shims {
        /// Fitted now.
        fitted: Vec<Length>,
        /// To be fitted.
        instead: Vec<Length>,
    },
    /// So much more of shims than now, negative for less; it is not known which are fitted.
    ShimsBy(Length),
    /// A set of another length.
    SetLength {
        /// Fitted now.
        fitted: Length,
        /// To be fitted.
        instead: Length,
    },
    /// A set so much longer than the one that is in, negative for shorter; it is not known which is in.
    SetBy(Length),
    /// The tool takes any change.
    Free,
    /// Nothing.
    Nothing,
}

/// A change of the gap, in what the tool has.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// What was asked for; positive is more open.
    pub wanted: Length,
    /// What the tool does.
    pub by: Length,
    /// What is done to it.
    pub how: How,
}

impl Move {
    /// What remains: what was asked for less what the tool does.
    #[must_use]
    pub fn left(&self) -> Length {
        self.wanted - self.by
    }
}

impl Adjust {
    /// The change nearest to `wanted`.
    ///
    /// # Units
    /// - `fitted`: shims that are under the set ([`Length::ZERO`] for none), or
    ///   the length of the set that is in; empty where that is not known, and
    ///   for the other kinds
    /// - `wanted`: positive is more open
    ///
    /// ```
    /// use faying_bench::settings::Adjust;
    /// use faying_standards::inches;
    /// let ram = Adjust::Turns { per_inch: 20.0, part_of_turn: 4 };
    /// assert_eq!(ram.nearest(&[], inches(0.012)).to_string(), ".012 more open: 1/4 turn out (.0125)");
    /// ```
    #[must_use]
    pub fn nearest(&self, fitted: &[Length], wanted: Length) -> Move {
        let moved = |by: Length, how: How| {
            let how = if by == Length::ZERO { How::Nothing } else { how };
            Move { wanted, by, how }
        };
        match self {
            Self::Turns { per_inch, part_of_turn } => {
                let per_part = 1.0 / (per_inch * f64::from(*part_of_turn));
                let parts = (wanted.inches() / per_part).round();
                moved(
                    Length::from_inches(parts * per_part),
                    How::Turns { parts: parts as i64, part_of_turn: *part_of_turn },
                )
            }
            Self::Shims(hand) if !fitted.is_empty() => {
                let under: Length = fitted.iter().copied().sum();
                let stacks = stacks(hand, SHIMS_TRIED);
                let nearest = stacks.iter().min_by_key(|(sum, shims)| {
                    ((wanted - (under - **sum)).abs(), shims.len(), std::cmp::Reverse(**sum))
                });
                let (sum, shims) = nearest.expect("no shims at all is a stack too");
                moved(under - *sum, How::Shims { fitted: fitted.to_vec(), instead: shims.clone() })
            }
            Self::SetLengths(hand) if let Some(&now) = fitted.first() => {
                match hand.iter().min_by_key(|&&set| (wanted - (now - set)).abs()) {
                    Some(&instead) => moved(now - instead, How::SetLength { fitted: now, instead }),
                    None => moved(Length::ZERO, How::Nothing),
                }
            }
            Self::Shims(_) | Self::SetLengths(_) => {
                let all = self.differences();
                let by = all.iter().copied().min_by_key(|&by| (wanted - by).abs()).unwrap_or_default();
                moved(by, if matches!(self, Self::Shims(_)) { How::ShimsBy(-by) } else { How::SetBy(-by) })
            }
            Self::Free => {
                let by = (wanted.inches() / FREE_STEP).round() * FREE_STEP;
                moved(Length::from_inches(by), How::Free)
            }
        }
    }

    /// Every change from `least` to `most` that the tool can make, in order.
    #[must_use]
    pub fn changes(&self, fitted: &[Length], least: Length, most: Length) -> Vec<Length> {
        let within = |changes: &mut dyn Iterator<Item = Length>| {
            let mut all: Vec<Length> = changes.filter(|by| (least..=most).contains(by)).collect();
            all.sort_unstable();
            all.dedup();
            all
        };
        let every = |step: f64| {
            let count = |length: Length| (length.inches() / step).round() as i64;
            within(&mut (count(least) - 1..=count(most) + 1).map(|n| Length::from_inches(n as f64 * step)))
        };
        match self {
            Self::Turns { per_inch, part_of_turn } => every(1.0 / (per_inch * f64::from(*part_of_turn))),
            Self::Shims(hand) if !fitted.is_empty() => {
                let under: Length = fitted.iter().copied().sum();
                within(&mut stacks(hand, SHIMS_TRIED).into_keys().map(|sum| under - sum))
            }
            Self::SetLengths(hand) if let Some(&now) = fitted.first() => {
                within(&mut hand.iter().map(|&set| now - set))
            }
            Self::Shims(_) | Self::SetLengths(_) => within(&mut self.differences().into_iter()),
            Self::Free => every(FREE_STEP),
        }
    }

    /// Changes from any stack of shims, or any set, to any other.
    fn differences(&self) -> BTreeSet<Length> {
        let all: Vec<Length> = match self {
            Self::Shims(hand) => stacks(hand, SHIMS_TRIED_UNKNOWN).into_keys().collect(),
            Self::SetLengths(hand) => hand.clone(),
            Self::Turns { .. } | Self::Free => Vec::new(),
        };
        all.iter().flat_map(|&from| all.iter().map(move |&to| from - to)).collect()
    }
}

/// Every height that shims can be stacked to, each with the fewest of them.
fn stacks(hand: &[Length], tried: usize) -> BTreeMap<Length, Vec<Length>> {
    let mut stacks = BTreeMap::from([(Length::ZERO, Vec::new())]);
    for &shim in hand.iter().take(tried) {
        for (sum, shims) in stacks.clone() {
            let higher = shims.len() + 1;
            let entry = stacks.entry(sum + shim);
            let known = entry.or_insert_with(|| vec![shim; higher + 1]);
            if higher < known.len() {
                *known = shims.into_iter().chain([shim]).collect();
            }
        }
    }
    stacks
}

/// A change as it is said: `.012 more open`.
pub(super) fn said(by: Length) -> String {
    let thousandths = Length::from_inches((by.abs().inches() * 1e3).round() / 1e3);
    match by {
        _ if thousandths == Length::ZERO => "no change".to_owned(),
        _ if by > Length::ZERO => format!("{} more open", thousandths.decimal()),
        _ => format!("{} less open", thousandths.decimal()),
    }
}

fn turns(parts: u64, part_of_turn: u64) -> String {
    let (whole, mut top, mut bottom) = (parts / part_of_turn, parts % part_of_turn, part_of_turn);
    let (mut a, mut b) = (top, bottom);
    while a != 0 {
        (a, b) = (b % a, a);
    }
    (top, bottom) = (top / b, bottom / b);
    match (whole, top) {
        (1, 0) => "1 turn".to_owned(),
        (whole, 0) => format!("{whole} turns"),
        (0, _) => format!("{top}/{bottom} turn"),
        _ => format!("{whole} {top}/{bottom} turns"),
    }
}

fn stack_of(shims: &[Length]) -> String {
    let shims: Vec<String> =
        shims.iter().filter(|&&shim| shim > Length::ZERO).map(|shim| shim.decimal()).collect();
    if shims.is_empty() { "none".to_owned() } else { shims.join(" + ") }
}

impl fmt::Display for Move {
    /// As a card says it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&said(self.wanted))?;
        let by = self.by.abs().decimal();
        match &self.how {
            How::Turns { parts, part_of_turn } => {
                let way = if *parts > 0 { "out" } else { "in" };
                write!(f, ": {} {way} ({by})", turns(parts.unsigned_abs(), u64::from(*part_of_turn)))?;
            }
            How::Shims { fitted, instead } => {
                write!(f, ": shims {} instead of {} ({by})", stack_of(instead), stack_of(fitted))?;
            }
            How::SetLength { fitted, instead } => {
                write!(f, ": the {} set instead of the {} ({by})", instead.decimal(), fitted.decimal())?;
            }
            How::ShimsBy(by) => {
                let more = if *by > Length::ZERO { "more" } else { "less" };
                write!(f, ": {} {more} of shims", by.abs().decimal())?;
            }
            How::SetBy(by) => {
                let longer = if *by > Length::ZERO { "longer" } else { "shorter" };
                write!(f, ": a set {} {longer}", by.abs().decimal())?;
            }
            How::Free => {}
            How::Nothing if self.wanted.abs() > NOT_SAID => f.write_str(": leave the tool as it is")?,
            How::Nothing => {}
        }
        let left = self.left();
        if left.abs() > NOT_SAID {
            let short = (left > Length::ZERO) == (self.wanted > Length::ZERO);
            let thousandths = Length::from_inches((left.abs().inches() * 1e3).round() / 1e3);
            write!(f, ", {} {}", thousandths.decimal(), if short { "short" } else { "too far" })?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_standards::inches;
    use proptest::prelude::*;

    fn lengths(values: &[f64]) -> Vec<Length> {
        values.iter().map(|&value| inches(value)).collect()
    }

    #[test]
    fn a_card_says_what_to_do() {
        let ram = Adjust::Turns { per_inch: 20.0, part_of_turn: 8 };
        let say = |adjust: &Adjust, fitted: &[f64], wanted: f64| {
            adjust.nearest(&lengths(fitted), inches(wanted)).to_string()
        };
        assert_eq!(say(&ram, &[], 0.012), ".012 more open: 1/4 turn out (.0125)");
        assert_eq!(say(&ram, &[], -0.063), ".063 less open: 1 1/4 turns in (.0625)");
        assert_eq!(say(&ram, &[], 0.050), ".050 more open: 1 turn out (.050)");
        assert_eq!(say(&ram, &[], -0.1), ".100 less open: 2 turns in (.100)");
        // Steps of .00625: .009 lies nearer to one of them than to two.
        assert_eq!(say(&ram, &[], 0.009), ".009 more open: 1/8 turn out (.0063), .003 short");
        assert_eq!(say(&ram, &[], 0.0105), ".011 more open: 1/4 turn out (.0125), .002 too far");
        assert_eq!(say(&ram, &[], 0.002), ".002 more open: leave the tool as it is, .002 short");
        assert_eq!(say(&ram, &[], 0.0002), "no change");

        let shims = Adjust::Shims(lengths(&[0.005, 0.010, 0.020, 0.032]));
        assert_eq!(say(&shims, &[0.032], 0.012), ".012 more open: shims .020 instead of .032 (.012)");
        assert_eq!(
            say(&shims, &[0.010], -0.017),
            ".017 less open: shims .005 + .020 instead of .010 (.015), .002 short"
        );
        assert_eq!(
            say(&shims, &[0.010], 0.012),
            ".012 more open: shims none instead of .010 (.010), .002 short"
        );
        // No stack of these is nearer to .033 than the .032 alone.
        assert_eq!(
            say(&shims, &[0.0], -0.033),
            ".033 less open: shims .032 instead of none (.032), .001 short"
        );

        let sets = Adjust::SetLengths(lengths(&[0.375, 0.4375, 0.5]));
        assert_eq!(say(&sets, &[0.5], 0.063), ".063 more open: the .4375 set instead of the .500 (.0625)");
        assert_eq!(say(&sets, &[0.5], -0.063), ".063 less open: leave the tool as it is, .063 short");
        // What is fitted is not known: any of .020, .032, .012 … is a difference of two stacks.
        assert_eq!(say(&shims, &[], 0.012), ".012 more open: .012 less of shims");
        assert_eq!(say(&shims, &[], -0.034), ".034 less open: .035 more of shims, .001 too far");
        assert_eq!(say(&sets, &[], -0.063), ".063 less open: a set .0625 longer");
        assert_eq!(
            say(&Adjust::SetLengths(Vec::new()), &[], 0.01),
            ".010 more open: leave the tool as it is, .010 short"
        );
        assert_eq!(say(&Adjust::Free, &[], -0.0123), ".012 less open");
    }

    /// Of two stacks of one height, the one with fewer shims.
    #[test]
    fn shims_are_stacked_with_the_fewest() {
        let stacks = stacks(&lengths(&[0.005, 0.010, 0.015, 0.020]), SHIMS_TRIED);
        assert_eq!(stacks[&inches(0.015)], lengths(&[0.015]));
        assert_eq!(stacks[&inches(0.025)].len(), 2);
        // 5, 10, …, 50 thousandths, and nothing.
        assert_eq!(stacks.len(), 11);
        for (sum, shims) in &stacks {
            assert_eq!(shims.iter().copied().sum::<Length>(), *sum);
        }
    }

    proptest! {
        /// What remains is never more than half a step, and every nearest change is among all changes.
        #[test]
        fn the_nearest_is_the_nearest_of_all(
            wanted in -200_i32..200, per_inch in 10_u32..40, parts in 1_u32..16,
            hand in prop::collection::vec(1_i32..60, 1..6),
        ) {
            let wanted = inches(f64::from(wanted) / 1e3);
            let hand: Vec<Length> = hand.iter().map(|&mil| inches(f64::from(mil) / 1e3)).collect();
            for fitted in [&hand[..1], &[]] { for adjust in [
                Adjust::Turns { per_inch: f64::from(per_inch), part_of_turn: parts },
                Adjust::Shims(hand.clone()),
                Adjust::SetLengths(hand.clone()),
                Adjust::Free,
            ] {
                let moved = adjust.nearest(fitted, wanted);
                let all = adjust.changes(fitted, inches(-0.5), inches(0.5));
                let least = all.iter().map(|&by| (wanted - by).abs()).min().unwrap();
                prop_assert_eq!(moved.left().abs(), least, "{:?}", adjust);
                prop_assert!(all.contains(&moved.by));
            } }
            let ram = Adjust::Turns { per_inch: f64::from(per_inch), part_of_turn: parts };
            let half = 0.5 / (f64::from(per_inch) * f64::from(parts));
            prop_assert!(ram.nearest(&[], wanted).left().abs().inches() <= half + 1e-7);
        }
    }
}
