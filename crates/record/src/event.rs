//! Kinds of event, one struct for each kind and version.
//!
//! Holes are named as the builder names them (`flap-left/web/A/7`), as of the
//! revision in the envelope. Lengths are written as nanometres, whole.

use faying_standards::Length;
use serde::{Deserialize, Serialize};
use serde_json::value::{RawValue, to_raw_value};

/// A length as it is stored: whole nanometres.
mod nanometres {
    use faying_standards::Length;
    use serde::{Deserialize, Deserializer, Serializer};

    pub fn serialize<S: Serializer>(length: &Option<Length>, s: S) -> Result<S::Ok, S::Error> {
        match length {
            Some(length) => s.serialize_some(&length.nanometres()),
            None => s.serialize_none(),
        }
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<Option<Length>, D::Error> {
        Ok(Option::<i64>::deserialize(d)?.map(Length::from_nanometres))
    }
}

/// A revision of the plan was adopted; its text is kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RevisionAdopted {
    /// Its number, from 1.
    pub number: u64,
    /// Every text file of the plan, by name.
    pub files: Vec<(String, String)>,
    /// Revision of the standards that were in force.
    pub standards: String,
    /// Holes that have another name now: from, to. Nothing in `to` where the hole is gone and its
    /// name belongs to another one now.
    #[serde(default)]
    pub renamed: Vec<(String, String)>,
}

/// A set-up of a run as it was frozen at the start.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SetUpFrozen {
    /// Its key within the run.
    pub key: String,
    /// What it is, in words.
    pub title: String,
    /// What is set up: tool, yoke, dies, setting, bag, face; names of `tools.toml`.
    #[serde(default)]
    pub on: Vec<String>,
    /// The part number, as far as it is known.
    #[serde(default)]
    pub fastener: String,
    /// Tool and dies, in words.
    #[serde(default)]
    pub dies: String,
    /// Where the manufactured head goes.
    #[serde(default)]
    pub head_on: String,
    /// How the setting is found, in words.
    #[serde(default)]
    pub setting: String,
    /// From the seat of one head to that of the other.
    #[serde(with = "nanometres", default)]
    pub seat_to_seat: Option<Length>,
    /// The opening that it aims at, less what tool, yoke and dies add: x = G + h − F/k.
    #[serde(with = "nanometres", default)]
    pub opening: Option<Length>,
    /// The lowest head that meets every limit at all of its holes.
    #[serde(with = "nanometres", default)]
    pub least_height: Option<Length>,
    /// The highest.
    #[serde(with = "nanometres", default)]
    pub most_height: Option<Length>,
    /// Which side faces up.
    #[serde(default)]
    pub face_up: String,
    /// Whether it takes two people.
    #[serde(default)]
    pub two_people: bool,
    /// How long it is reckoned to take, changes before it included, seconds.
    #[serde(default)]
    pub seconds: f64,
    /// Its holes, in order.
    pub holes: Vec<String>,
    /// Those whose heads are measured.
    #[serde(default)]
    pub measure: Vec<String>,
}

/// A run was started: constants, settings and order are frozen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunStarted {
    /// Its id.
    pub run: String,
    /// The step it belongs to.
    pub step: String,
    /// Its set-ups, in order.
    pub set_ups: Vec<SetUpFrozen>,
    /// The named set of limits in force.
    pub limits: String,
    /// The figures it rests on, by name.
    #[serde(default)]
    pub constants: Vec<(String, f64)>,
    /// How long it is reckoned to take, seconds.
    #[serde(default)]
    pub seconds: f64,
    /// What no order of these set-ups can be quicker than, seconds.
    #[serde(default)]
    pub bound: f64,
    /// The run of the other hand whose order it follows; empty for none.
    #[serde(default)]
    pub follows: String,
    /// Tools that are not at hand.
    #[serde(default)]
    pub without: Vec<String>,
}

/// What is left of a run was put in order anew: a tool was missing, or holes were put off.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunChanged {
    /// The run.
    pub run: String,
    /// Why, in words.
    #[serde(default)]
    pub why: String,
    /// Tools that are not at hand, by their names in `tools.toml`.
    #[serde(default)]
    pub without: Vec<String>,
    /// Holes put off to the end of the run.
    #[serde(default)]
    pub put_off: Vec<String>,
    /// All its set-ups from now on: what is done, then the rest in its new order.
    pub set_ups: Vec<SetUpFrozen>,
}

/// A bag of rivets was looked at before it was used.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BagChecked {
    /// The run.
    pub run: String,
    /// The set-up.
    pub set_up: String,
    /// What the bag should hold.
    pub fastener: String,
    /// Whether the head mark is that of the alloy.
    pub head_mark: bool,
    /// Lengths of rivets out of it, as measured, nanometres.
    #[serde(default)]
    pub lengths: Vec<i64>,
}

/// How warm it is at the bench.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BenchTemperature {
    /// The run; empty outside of one.
    #[serde(default)]
    pub run: String,
    /// Degrees Celsius.
    pub celsius: f64,
}

/// A figure that was learned from the builder's own heads and times.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LearnedValue {
    /// Which: `missing-metal`, `yoke-spring …`, `time …`.
    pub name: String,
    /// Its value, in the unit of its name.
    pub value: f64,
    /// What was used before.
    pub was: f64,
    /// What it rests on, in words.
    #[serde(default)]
    pub from: String,
}

/// What was learned is used from now on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ConstantsAdopted {
    /// The figures.
    pub values: Vec<LearnedValue>,
}

/// A run was ended.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunEnded {
    /// Its id.
    pub run: String,
    /// Why, if before its end.
    #[serde(default)]
    pub why: String,
}

/// A head on scrap of the same stack was measured before a set-up was used.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CouponProven {
    /// The run.
    pub run: String,
    /// The set-up.
    pub set_up: String,
    /// Width of the head.
    #[serde(with = "nanometres", default)]
    pub width: Option<Length>,
    /// Height of the head.
    #[serde(with = "nanometres", default)]
    pub height: Option<Length>,
    /// What the limits said then.
    #[serde(default)]
    pub verdict: String,
    /// What the squeezer was opened by since the last proven head with these dies, where that is known.
    #[serde(with = "nanometres", default)]
    pub opened: Option<Length>,
}

/// Rivets were set.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HolesSet {
    /// Which holes.
    pub holes: Vec<String>,
    /// The run they were set in.
    #[serde(default)]
    pub run: String,
    /// The set-up they were set with.
    #[serde(default)]
    pub set_up: String,
    /// The fastener that went in.
    #[serde(default)]
    pub fastener: String,
}

/// Rivets that were already set when the record began.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SetBefore {
    /// Which holes.
    pub holes: Vec<String>,
    /// What is known about it.
    #[serde(default)]
    pub note: String,
}

/// A rivet was drilled out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HoleOpened {
    /// Which hole.
    pub hole: String,
    /// Why.
    #[serde(default)]
    pub why: String,
}

/// A shop head was measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeadMeasured {
    /// Which hole.
    pub hole: String,
    /// Width, as measured.
    #[serde(with = "nanometres", default)]
    pub width: Option<Length>,
    /// Width across, as measured.
    #[serde(with = "nanometres", default)]
    pub width_across: Option<Length>,
    /// Height, as measured.
    #[serde(with = "nanometres", default)]
    pub height: Option<Length>,
    /// From where the height was measured: `flat` or `lip`; empty if not said.
    #[serde(default)]
    pub seat: String,
    /// With what.
    #[serde(default)]
    pub instrument: String,
    /// The set of limits it was held against.
    #[serde(default)]
    pub limits: String,
    /// What they said then: `inside`, `outside` or `not judged`.
    #[serde(default)]
    pub verdict: String,
}

/// A remark.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct NoteMade {
    /// What it is about: a hole, row, part or step; empty for the whole build.
    #[serde(default)]
    pub about: String,
    /// The remark.
    pub text: String,
}

/// A step without holes (priming, fitting) was done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StepDone {
    /// Which step: `flap-left/prime-1`.
    pub step: String,
    /// What is known about it.
    #[serde(default)]
    pub note: String,
}

/// An earlier act is taken back.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Undone {
    /// The id of that act.
    pub act: String,
    /// Why.
    #[serde(default)]
    pub why: String,
}

macro_rules! events {
    ($($(#[$doc:meta])* $variant:ident($body:ty) = $kind:literal, $version:literal;)*) => {
        /// Something that happened.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Event {
            $($(#[$doc])* $variant($body),)*
            /// Written by a newer version, or not readable as what it claims to be; kept as it is.
            Unknown {
                /// Its kind.
                kind: String,
                /// The version of its body.
                version: u32,
            },
        }

        $(impl From<$body> for Event {
            fn from(body: $body) -> Self {
                Self::$variant(body)
            }
        })*

        impl Event {
            /// Every kind this version writes, with the version of its body.
            pub const KINDS: &'static [(&'static str, u32)] = &[$(($kind, $version)),*];

            /// Kind, version and body for an envelope.
            pub(crate) fn to_parts(&self) -> (&str, u32, Box<RawValue>) {
                match self {
                    $(Self::$variant(body) => ($kind, $version, to_raw(body)),)*
                    Self::Unknown { kind, version } => (kind, *version, to_raw(&())),
                }
            }

            /// From an envelope; a body of an older version is lifted here.
            pub(crate) fn from_parts(kind: &str, version: u32, body: &RawValue) -> Self {
                let read = match (kind, version) {
                    $(($kind, $version) => serde_json::from_str::<$body>(body.get()).map(Self::$variant).ok(),)*
                    _ => None,
                };
                read.unwrap_or_else(|| Self::Unknown { kind: kind.to_owned(), version })
            }
        }
    };
}

events! {
    /// A revision of the plan was adopted.
    RevisionAdopted(RevisionAdopted) = "revision-adopted", 1;
    /// A run was started.
    RunStarted(RunStarted) = "run-started", 1;
    /// A run was ended.
    RunEnded(RunEnded) = "run-ended", 1;
    /// What is left of a run was put in order anew.
    RunChanged(RunChanged) = "run-changed", 1;
    /// A bag of rivets was looked at.
    BagChecked(BagChecked) = "bag-checked", 1;
    /// How warm it is at the bench.
    BenchTemperature(BenchTemperature) = "bench-temperature", 1;
    /// What was learned is used from now on.
    ConstantsAdopted(ConstantsAdopted) = "constants-adopted", 1;
    /// A set-up was proven on scrap.
    CouponProven(CouponProven) = "coupon-proven", 1;
    /// Rivets were set.
    HolesSet(HolesSet) = "holes-set", 1;
    /// Rivets were set before the record began.
    SetBefore(SetBefore) = "set-before", 1;
    /// A rivet was drilled out.
    HoleOpened(HoleOpened) = "hole-opened", 1;
    /// A shop head was measured.
    HeadMeasured(HeadMeasured) = "head-measured", 1;
    /// A remark was made.
    NoteMade(NoteMade) = "note", 1;
    /// A step without holes was done.
    StepDone(StepDone) = "step-done", 1;
    /// An earlier act was taken back.
    Undone(Undone) = "undone", 1;
}

fn to_raw(body: &impl Serialize) -> Box<RawValue> {
    to_raw_value(body).expect("a body holds nothing that JSON cannot")
}

impl Event {
    /// The holes it is about.
    pub(crate) fn holes(&self) -> &[String] {
        match self {
            Self::HolesSet(body) => &body.holes,
            Self::SetBefore(body) => &body.holes,
            Self::HoleOpened(body) => std::slice::from_ref(&body.hole),
            Self::HeadMeasured(body) => std::slice::from_ref(&body.hole),
            Self::NoteMade(body) if !body.about.is_empty() => std::slice::from_ref(&body.about),
            _ => &[],
        }
    }
}
