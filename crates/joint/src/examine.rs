//! What can be wrong with a hole or its rivet, beside the size of the shop head.
//!
//! One table, [`Aspect`], feeds the form, the act and the judgement: what is
//! measured or looked for, which fields it has, whether it goes when the rivet
//! is drilled out. [`examine`] holds the readings against every rule that is
//! known here. The shop head itself is judged in [`crate::judge`].

use std::collections::BTreeMap;

use faying_plan::{BuildLimits, Preparation};
use faying_standards::{Cited, Length, RivetType, Unit};

use crate::check::Joint;
use crate::constants::Constants;
use crate::odds::guard_band;
use crate::ruling::{Judgement, Ruling, Said};

mod seen;
mod sizes;

pub(crate) use sizes::{after_dimpling, largest_hole};

/// What of a hole or its rivet is measured or looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Aspect {
    /// Size of the hole.
    Hole,
    /// Width and depth of a countersink.
    Countersink,
    /// From the hole's centre to an edge or a bend.
    Edge,
    /// From centre to centre of two holes.
    Pitch,
    /// How proud or low a flush head stands.
    Flushness,
    /// A gap under a head or between sheets.
    Gap,
    /// A mark in the sheet: scratch, tool mark, dent.
    Mark,
    /// Cracks in the shop head.
    Cracks,
    /// A head that stands at a slant.
    Tilt,
    /// A shop head beside its shank.
    Offset,
    /// A crescent mark of the tool on the manufactured head.
    Smile,
    /// A tail that went over to one side.
    Clinched,
    /// A rivet that can be moved.
    Loose,
    /// A double-punched or figure-eight hole.
    FigureEight,
    /// A layer that is not there.
    MissingLayer,
    /// Rivets of another length than called.
    WrongLength,
    /// Worked where the plan has nothing, or has something else.
    WrongFeature,
}

/// What is typed or chosen of an aspect.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FieldKind {
    /// A length, in inches unless it says otherwise.
    Length,
    /// A count.
    Count,
    /// Yes or no; empty is not looked at.
    Yes,
    /// One of several: its word and what is read.
    Choice(&'static [(&'static str, &'static str)]),
    /// Words.
    Words,
}

/// One field of an aspect.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// Its key in an act.
    pub name: &'static str,
    /// What is asked.
    pub label: &'static str,
    /// What it takes.
    pub kind: FieldKind,
    /// Whether nothing can be judged or recorded without it.
    pub needed: bool,
}

/// A reading as it was taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reading {
    /// A length.
    Length(Length),
    /// A count.
    Count(u32),
    /// Yes or no.
    Yes(bool),
    /// One of several, by its word; or words.
    Word(String),
}

/// Readings by the names of their fields.
pub type Readings = BTreeMap<String, Reading>;

/// Where something is examined.
#[derive(Clone, Copy, Debug)]
pub struct At<'a> {
    /// The rivet of the row.
    pub rivet: RivetType,
    /// The joint, where the plan gives the stack.
    pub joint: Option<&'a Joint>,
    /// The builder's own values.
    pub limits: &'a BuildLimits,
}

impl At<'_> {
    /// Whether a sheet of the joint is dimpled: a hole is larger after that than its rules ask before.
    #[must_use]
    pub fn has_dimpled_sheet(&self) -> bool {
        self.joint
            .is_some_and(|joint| joint.sheets.iter().any(|sheet| sheet.preparation == Preparation::Dimpled))
    }
}

impl Aspect {
    /// All of them, in the order in which they are offered.
    pub const ALL: [Self; 17] = [
        Self::Hole,
        Self::Countersink,
        Self::Edge,
        Self::Pitch,
        Self::Flushness,
        Self::Gap,
        Self::Mark,
        Self::Cracks,
        Self::Tilt,
        Self::Offset,
        Self::Smile,
        Self::Clinched,
        Self::Loose,
        Self::FigureEight,
        Self::MissingLayer,
        Self::WrongLength,
        Self::WrongFeature,
    ];

    /// Its word in acts and addresses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hole => "hole",
            Self::Countersink => "countersink",
            Self::Edge => "edge",
            Self::Pitch => "pitch",
            Self::Flushness => "flushness",
            Self::Gap => "gap",
            Self::Mark => "mark",
            Self::Cracks => "cracks",
            Self::Tilt => "tilt",
            Self::Offset => "offset",
            Self::Smile => "smile",
            Self::Clinched => "clinched",
            Self::Loose => "loose",
            Self::FigureEight => "figure-eight",
            Self::MissingLayer => "missing-layer",
            Self::WrongLength => "wrong-length",
            Self::WrongFeature => "wrong-feature",
        }
    }

    /// From its word.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|aspect| aspect.word() == word)
    }

    /// What it is, as a builder says it.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Hole => "Hole size",
            Self::Countersink => "Countersink",
            Self::Edge => "Edge distance",
            Self::Pitch => "Pitch",
            Self::Flushness => "Flush head proud or low",
            Self::Gap => "Gap",
            Self::Mark => "Mark in the sheet",
            Self::Cracks => "Cracks in the shop head",
            Self::Tilt => "Tilted head",
            Self::Offset => "Shop head off centre",
            Self::Smile => "Crescent mark on the manufactured head",
            Self::Clinched => "Tail folded over",
            Self::Loose => "Loose rivet",
            Self::FigureEight => "Figure-eight hole",
            Self::MissingLayer => "A layer is missing",
            Self::WrongLength => "Wrong length went in",
            Self::WrongFeature => "Worked at the wrong place",
        }
    }

    /// Whether it is a size that is read, and no fault by itself.
    #[must_use]
    pub const fn is_size(self) -> bool {
        matches!(self, Self::Hole | Self::Countersink | Self::Edge | Self::Pitch | Self::Flushness)
    }

    /// Whether it goes with the rivet: once that is drilled out, there is nothing left of it.
    #[must_use]
    pub const fn goes_with_rivet(self) -> bool {
        matches!(
            self,
            Self::Flushness
                | Self::Gap
                | Self::Cracks
                | Self::Tilt
                | Self::Offset
                | Self::Smile
                | Self::Clinched
                | Self::Loose
                | Self::MissingLayer
                | Self::WrongLength
        )
    }

    /// Whether its name alone says what is wrong; else it takes readings or words.
    #[must_use]
    pub const fn is_plain(self) -> bool {
        matches!(self, Self::Clinched | Self::Loose)
    }

    /// Whether it takes a rivet in the hole.
    #[must_use]
    pub const fn takes_rivet(self) -> bool {
        self.goes_with_rivet()
    }

    /// Its fields, in the order in which they are asked.
    #[must_use]
    pub const fn fields(self) -> &'static [Field] {
        const fn length(name: &'static str, label: &'static str, needed: bool) -> Field {
            Field { name, label, kind: FieldKind::Length, needed }
        }
        const fn yes(name: &'static str, label: &'static str) -> Field {
            Field { name, label, kind: FieldKind::Yes, needed: false }
        }
        const FACE: FieldKind = FieldKind::Choice(&[
            ("manufactured", "under the manufactured head"),
            ("shop", "under the shop head"),
            ("sheets", "between the sheets"),
        ]);
        const WHEN: FieldKind =
            FieldKind::Choice(&[("drilled", "as drilled"), ("dimpled", "after dimpling")]);
        match self {
            Self::Hole => {
                const {
                    &[
                        length("diameter", "Diameter, in", true),
                        Field { name: "when", label: "Measured", kind: WHEN, needed: false },
                    ]
                }
            }
            Self::Countersink => {
                const { &[length("width", "Width, in", false), length("depth", "Depth, in", false)] }
            }
            Self::Edge => {
                const {
                    &[
                        length("rim", "Rim of the hole to the edge, in", false),
                        length("centre", "or centre to the edge, in", false),
                    ]
                }
            }
            Self::Pitch => const { &[length("centres", "Centre to centre, in", true)] },
            Self::Flushness => {
                const { &[length("proud", "Proud by, in", false), length("low", "or low by, in", false)] }
            }
            Self::Gap => {
                const {
                    &[
                        Field { name: "where", label: "Where", kind: FACE, needed: true },
                        length("gap", "Thickest feeler that goes in, in", false),
                    ]
                }
            }
            Self::Mark => const { &[length("depth", "Depth, in", false)] },
            Self::Cracks => {
                const {
                    &[
                        Field { name: "count", label: "How many", kind: FieldKind::Count, needed: false },
                        yes("inside", "One reaches in over the shank"),
                        yes("meet", "Two of them meet"),
                    ]
                }
            }
            Self::Tilt => {
                const { &[length("high", "High side, in", false), length("low", "Low side, in", false)] }
            }
            Self::Offset => {
                const {
                    &[
                        length("most", "Widest overhang, in", false),
                        length("least", "Least overhang, in", false),
                    ]
                }
            }
            Self::Smile => const { &[length("depth", "Depth of the mark, in", false)] },
            Self::FigureEight => {
                const {
                    &[
                        length("long", "Across its length, in", false),
                        length("wide", "Across its width, in", false),
                    ]
                }
            }
            Self::WrongLength => {
                const {
                    &[Field {
                        name: "fastener",
                        label: "What went in, such as MS20470AD4-4",
                        kind: FieldKind::Words,
                        needed: true,
                    }]
                }
            }
            Self::Clinched | Self::Loose | Self::MissingLayer | Self::WrongFeature => &[],
        }
    }
}

/// Reads what was typed for an aspect.
///
/// # Errors
/// A sentence that names the field and says what it takes.
pub fn read(aspect: Aspect, typed: &BTreeMap<String, String>) -> Result<Readings, String> {
    let mut readings = Readings::new();
    for field in aspect.fields() {
        let text = typed.get(field.name).map_or("", |text| text.trim());
        if text.is_empty() {
            if field.needed {
                return Err(format!("{}: nothing is written there yet", field.label));
            }
            continue;
        }
        let wrong = |why: &str| format!("{}: {why}", field.label);
        let reading = match field.kind {
            FieldKind::Length => {
                let length = Length::read(text, Unit::Inch).map_err(|error| wrong(&error.to_string()))?;
                if length < Length::ZERO || length > Length::from_inches(12.0) {
                    return Err(wrong(&format!("{} in cannot be; write for example .012", length.decimal())));
                }
                if aspect == Aspect::Gap && length == Length::ZERO {
                    return Err(wrong("where no feeler goes in there is no gap to write down"));
                }
                Reading::Length(length)
            }
            FieldKind::Count => Reading::Count(
                text.parse().map_err(|_| wrong(&format!("\"{text}\" is no count; write for example 2")))?,
            ),
            FieldKind::Yes => match text {
                "yes" => Reading::Yes(true),
                "no" => Reading::Yes(false),
                other => return Err(wrong(&format!("\"{other}\" is neither yes nor no"))),
            },
            FieldKind::Choice(words) => {
                if !words.iter().any(|(word, _)| *word == text) {
                    let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
                    return Err(wrong(&format!("\"{text}\" is none of {}", known.join(", "))));
                }
                Reading::Word(text.to_owned())
            }
            FieldKind::Words => Reading::Word(text.to_owned()),
        };
        readings.insert(field.name.to_owned(), reading);
    }
    Ok(readings)
}

/// Holds readings against every rule that is known here.
///
/// # Units
/// - `readings`: what [`read`] gave for this aspect; a field that was not filled in is not there
/// - returns: a ruling for every rule that is known; not judged where none speaks, which is said
///
/// # Source
/// `hole_sizes.csv`, `spacing.csv`, `countersink_*.csv`, `acceptance.csv` and the constants that
/// repeat its figures, each ruling with its own; theory chapter, "Faults".
///
/// ```
/// # use faying_joint::examine::{Aspect, At, Reading, Readings, examine};
/// # use faying_joint::ruling::Said;
/// # use faying_joint::Constants;
/// # use faying_standards::inches;
/// let at = At { rivet: "MS20470AD4".parse()?, joint: None, limits: &Default::default() };
/// let depth = Readings::from([("depth".into(), Reading::Length(inches(0.010)))]);
/// let judged = examine(Aspect::Smile, &depth, &at, &Constants::standard());
/// assert_eq!(judged.said, Said::Inside); // a quarter of .054 in is .0135 in
/// # Ok::<(), faying_standards::ReadFastenerError>(())
/// ```
#[must_use]
pub fn examine(aspect: Aspect, readings: &Readings, at: &At<'_>, constants: &Constants) -> Judgement {
    let asked = Asked { readings, at, constants };
    match aspect {
        Aspect::Hole => sizes::hole(&asked),
        Aspect::Countersink => sizes::countersink(&asked),
        Aspect::Edge => sizes::edge(&asked),
        Aspect::Pitch => sizes::pitch(&asked),
        Aspect::Flushness => sizes::flushness(&asked),
        Aspect::Gap => seen::gap(&asked),
        Aspect::Mark => seen::mark(&asked),
        Aspect::Cracks => seen::cracks(&asked),
        Aspect::Tilt => seen::tilt(&asked),
        Aspect::Offset => seen::offset(&asked),
        Aspect::Smile => seen::smile(&asked),
        Aspect::Clinched => seen::clinched(),
        Aspect::Loose => seen::loose(),
        Aspect::FigureEight => sizes::figure_eight(&asked),
        Aspect::MissingLayer => seen::missing_layer(&asked),
        Aspect::WrongLength => seen::wrong_length(&asked),
        Aspect::WrongFeature => seen::wrong_feature(),
    }
}

/// Whether readings make a hole one of those that a repair limit counts: larger than its rule asks, or
/// countersunk wider or deeper than its head.
///
/// A hole that is too small, and a sheet that is too thin, are faults and not this.
///
/// # Source
/// MIL-R-47196A 3.4.3 as quoted: oversize holes and countersinks together.
#[must_use]
pub fn is_oversize(aspect: Aspect, readings: &Readings, at: &At<'_>, constants: &Constants) -> bool {
    let asked = Asked { readings, at, constants };
    match aspect {
        Aspect::Hole | Aspect::FigureEight => {
            let read = ["diameter", "long", "wide"].into_iter().filter_map(|name| asked.length(name)).max();
            let most = largest_hole(at.rivet.diameter, constants).map(|(most, _)| most);
            let judged = examine(aspect, readings, at, constants).said == Said::Outside;
            judged && read.zip(most).is_some_and(|(read, most)| read > most)
        }
        Aspect::Countersink => sizes::countersunk_too_far(&asked),
        _ => false,
    }
}

/// What is judged, where, by which figures.
struct Asked<'a> {
    readings: &'a Readings,
    at: &'a At<'a>,
    constants: &'a Constants,
}

impl Asked<'_> {
    fn length(&self, name: &str) -> Option<Length> {
        match self.readings.get(name) {
            Some(Reading::Length(length)) => Some(*length),
            _ => None,
        }
    }

    fn count(&self, name: &str) -> Option<u32> {
        match self.readings.get(name) {
            Some(Reading::Count(count)) => Some(*count),
            _ => None,
        }
    }

    fn yes(&self, name: &str) -> Option<bool> {
        match self.readings.get(name) {
            Some(Reading::Yes(yes)) => Some(*yes),
            _ => None,
        }
    }

    fn word(&self, name: &str) -> &str {
        match self.readings.get(name) {
            Some(Reading::Word(word)) => word,
            _ => "",
        }
    }

    /// How far from a limit a caliper's reading is still within its uncertainty, in.
    fn guard(&self) -> f64 {
        guard_band(self.constants.caliper_u.value.inches(), self.constants.guard_level.value)
    }

    /// A reading against a least, a greatest, or both.
    fn against(&self, reading: Length, least: Option<Length>, most: Option<Length>) -> (Said, bool) {
        let held = least.is_none_or(|least| reading >= least) && most.is_none_or(|most| reading <= most);
        let near = |limit: Length| (reading - limit).inches().abs() < self.guard();
        let close = least.into_iter().chain(most).any(near);
        (if held { Said::Inside } else { Said::Outside }, close)
    }
}

/// A ruling of a rule that judges and has everything here that it asks.
fn ruling(rule: &str, (said, close): (Said, bool), words: String, cited: Cited) -> Ruling {
    Ruling {
        rule: rule.to_owned(),
        rules: false,
        judges: true,
        said,
        close,
        words,
        lacks: String::new(),
        cited,
    }
}

/// A rule that is shown and judges nothing here.
fn advice(rule: &str, words: String, cited: Cited) -> Ruling {
    Ruling { judges: false, ..ruling(rule, (Said::NotJudged, false), words, cited) }
}

/// Where no rule of the standards here has a limit: the question is for whoever decides.
fn not_judged(rulings: Vec<Ruling>, why: &str) -> Judgement {
    Judgement::of(rulings, format!("Not judged: {why} Ask the kit's designer."))
}
