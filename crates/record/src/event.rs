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
    /// What was done by the plan before and does not agree with this one; each waits for a decision.
    #[serde(default)]
    pub disagreements: Vec<Disagreement>,
}

/// Something that was done by one revision of the plan and that the next has otherwise.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Disagreement {
    /// Its key, by which a decision names it: the place and what is otherwise.
    pub key: String,
    /// Where: a row with its holes, or a piece, by the names they have now.
    pub at: String,
    /// The holes it is about, by the names they have now; empty for a piece.
    #[serde(default)]
    pub holes: Vec<String>,
    /// What does not agree, in words: what was done, what the plan has now.
    pub what: String,
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
    /// Height, as measured; where the over-all thickness was, the height that follows from it.
    #[serde(with = "nanometres", default)]
    pub height: Option<Length>,
    /// Over-all thickness of the set joint over both heads, as measured.
    #[serde(with = "nanometres", default)]
    pub over_all: Option<Length>,
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

/// Work other than setting was done at some pieces or holes of a step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WorkDone {
    /// The step: `flap-left/prime-1`.
    pub step: String,
    /// The kind of work, by the word of the plan files.
    #[serde(default)]
    pub work: String,
    /// The pieces: `flap-left/rib/1`.
    #[serde(default)]
    pub parts: Vec<String>,
    /// The holes, such as those that were dimpled.
    #[serde(default)]
    pub holes: Vec<String>,
    /// What is known about it.
    #[serde(default)]
    pub note: String,
}

/// Something was put off.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Owed {
    /// What is to be done.
    pub what: String,
    /// Where: a hole, a row, a piece, a step; empty for the whole build.
    #[serde(default)]
    pub at: String,
    /// The holes it is about, where there are several and no row has just them.
    #[serde(default)]
    pub holes: Vec<String>,
    /// Why it was put off.
    #[serde(default)]
    pub why: String,
    /// The gate before which it must be done; empty where none is known yet.
    #[serde(default)]
    pub gate: String,
}

/// What was put off is done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OwedDone {
    /// The id of the act that put it off.
    pub owed: String,
    /// What shows it, in words.
    #[serde(default)]
    pub how: String,
    /// Ids of acts that show it: a measurement, a torque, a photograph.
    #[serde(default)]
    pub evidence: Vec<String>,
}

/// Holes are to stay open on the builder's word.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HoldPlaced {
    /// Which holes.
    pub holes: Vec<String>,
    /// Why.
    pub why: String,
    /// The step or gate until which; empty where none is known yet.
    #[serde(default)]
    pub until: String,
}

/// Holes need not stay open any more.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HoldLifted {
    /// The id of the act that placed the hold.
    pub hold: String,
    /// Why.
    #[serde(default)]
    pub why: String,
}

/// Why one thing did not stop a gate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LetPass {
    /// Keys of what is let pass.
    pub keys: Vec<String>,
    /// What it is, in words, as it stood then.
    pub what: String,
    /// Who lets it pass.
    pub who: String,
    /// What they are to the build: builder, inspector, designer, authority.
    pub role: String,
    /// Why.
    pub why: String,
}

/// A gate was passed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GatePassed {
    /// Which: `flap-left/nose`.
    pub gate: String,
    /// What stood against it, each with who let it pass and why.
    #[serde(default)]
    pub let_pass: Vec<LetPass>,
    /// A remark.
    #[serde(default)]
    pub note: String,
}

/// Somebody looked at something that a gate or a step asks for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Looked {
    /// What for: `inspection:spar`, `check:conduit`, `hands`.
    pub need: String,
    /// Of which gate, or which assembly: `flap-left/nose`, `flap-left`.
    #[serde(default)]
    pub at: String,
    /// Who.
    #[serde(default)]
    pub who: String,
    /// What they are to the build.
    #[serde(default)]
    pub role: String,
    /// What they found.
    #[serde(default)]
    pub found: String,
}

/// Fasteners were torqued.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Torqued {
    /// Which.
    pub holes: Vec<String>,
    /// What the wrench was set to or read, in-lb.
    pub inch_pounds: f64,
    /// The running drag that was measured, in-lb.
    #[serde(default)]
    pub drag_inch_pounds: Option<f64>,
    /// With which wrench.
    #[serde(default)]
    pub wrench: String,
    /// A remark, such as whether the mark was painted.
    #[serde(default)]
    pub note: String,
}

/// A photograph was taken.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Photographed {
    /// Name of its original in `photos/`.
    pub file: String,
    /// What it shows: holes, rows, pieces, steps, or what a gate asks for (`photograph:NAME`).
    #[serde(default)]
    pub about: Vec<String>,
    /// A remark.
    #[serde(default)]
    pub words: String,
}

/// Somebody began to work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ClockStarted {
    /// On which step; empty for the build as a whole.
    #[serde(default)]
    pub step: String,
}

/// Hours were worked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Worked {
    /// On which step; empty for the build as a whole.
    #[serde(default)]
    pub step: String,
    /// How long by the clock, whatever the number of people.
    pub minutes: f64,
    /// How many people.
    #[serde(default)]
    pub people: u32,
    /// The id of the act that started the clock; empty where the time was written in.
    #[serde(default)]
    pub clock: String,
    /// A remark.
    #[serde(default)]
    pub note: String,
}

/// Something is wrong.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FaultFound {
    /// At which holes.
    #[serde(default)]
    pub holes: Vec<String>,
    /// At what else: a piece, a step.
    #[serde(default)]
    pub at: String,
    /// What.
    pub what: String,
}

/// One reading of something that was examined.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadingTaken {
    /// Its name: `depth`, `count`.
    pub name: String,
    /// A length, as measured.
    #[serde(with = "nanometres", default)]
    pub length: Option<Length>,
    /// A count.
    #[serde(default)]
    pub count: Option<u32>,
    /// A word: `yes`, or one of several.
    #[serde(default)]
    pub word: String,
}

/// Something of holes or their rivets was measured or seen, beside the size of a shop head.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Examined {
    /// At which holes.
    pub holes: Vec<String>,
    /// What was looked at: `hole`, `edge`, `cracks`.
    pub aspect: String,
    /// What was read.
    #[serde(default)]
    pub readings: Vec<ReadingTaken>,
    /// With what.
    #[serde(default)]
    pub instrument: String,
    /// The rule it was held against.
    #[serde(default)]
    pub rule: String,
    /// What that said then: `inside`, `outside` or `not judged`.
    #[serde(default)]
    pub verdict: String,
    /// What was seen, in words.
    #[serde(default)]
    pub words: String,
    /// Whether it is a fault that somebody must decide on.
    #[serde(default)]
    pub stands: bool,
}

/// A question about a fault went to whoever may decide on it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Asked {
    /// The id of the act that found the fault.
    pub about: String,
    /// Who was asked.
    pub who: String,
    /// What they are to the build.
    #[serde(default)]
    pub role: String,
    /// What was asked beside what the printed question says.
    #[serde(default)]
    pub words: String,
}

/// Something was decided, and on whose authority.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Decided {
    /// The id of the act it is about, such as a fault, with the key of the part of it that is meant
    /// behind a blank, where there are several.
    pub about: String,
    /// What was decided.
    pub what: String,
    /// By whom.
    pub who: String,
    /// What they are to the build.
    pub role: String,
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

            /// Its kind, as it is stored.
            #[must_use]
            pub fn kind(&self) -> &str {
                match self {
                    $(Self::$variant(_) => $kind,)*
                    Self::Unknown { kind, .. } => kind,
                }
            }

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
    /// Work was done at some pieces or holes.
    WorkDone(WorkDone) = "work-done", 1;
    /// Something was put off.
    Owed(Owed) = "owed", 1;
    /// What was put off is done.
    OwedDone(OwedDone) = "owed-done", 1;
    /// Holes are to stay open.
    HoldPlaced(HoldPlaced) = "hold-placed", 1;
    /// Holes need not stay open any more.
    HoldLifted(HoldLifted) = "hold-lifted", 1;
    /// A gate was passed.
    GatePassed(GatePassed) = "gate-passed", 1;
    /// Somebody looked at something.
    Looked(Looked) = "looked", 1;
    /// Fasteners were torqued.
    Torqued(Torqued) = "torqued", 1;
    /// A photograph was taken.
    Photographed(Photographed) = "photographed", 1;
    /// Somebody began to work.
    ClockStarted(ClockStarted) = "clock-started", 1;
    /// Hours were worked.
    Worked(Worked) = "worked", 1;
    /// Something is wrong.
    FaultFound(FaultFound) = "fault-found", 1;
    /// Something was measured or seen.
    Examined(Examined) = "examined", 1;
    /// A question went to whoever may decide.
    Asked(Asked) = "asked", 1;
    /// Something was decided.
    Decided(Decided) = "decided", 1;
    /// An earlier act was taken back.
    Undone(Undone) = "undone", 1;
}

fn to_raw(body: &impl Serialize) -> Box<RawValue> {
    to_raw_value(body).expect("a body holds nothing that JSON cannot")
}

impl Event {
    /// The act that it answers, and so ends: `act`, or `act key` for one part of it.
    pub(crate) fn answers(&self) -> Option<&str> {
        match self {
            Self::OwedDone(body) => Some(&body.owed),
            Self::HoldLifted(body) => Some(&body.hold),
            Self::Decided(body) => Some(&body.about),
            Self::Worked(body) if !body.clock.is_empty() => Some(&body.clock),
            _ => None,
        }
    }

    /// Whether the names of [`Event::holes`] may be those of something else as well.
    pub(crate) const fn is_about_anything(&self) -> bool {
        matches!(self, Self::NoteMade(_) | Self::Photographed(_) | Self::Owed(_))
    }

    /// The pieces it is about.
    pub(crate) fn pieces(&self) -> &[String] {
        match self {
            Self::WorkDone(body) => &body.parts,
            _ => &[],
        }
    }

    /// The holes it is about.
    pub(crate) fn holes(&self) -> &[String] {
        match self {
            Self::HolesSet(body) => &body.holes,
            Self::SetBefore(body) => &body.holes,
            Self::HoleOpened(body) => std::slice::from_ref(&body.hole),
            Self::HeadMeasured(body) => std::slice::from_ref(&body.hole),
            Self::WorkDone(body) => &body.holes,
            Self::HoldPlaced(body) => &body.holes,
            Self::Torqued(body) => &body.holes,
            Self::FaultFound(body) => &body.holes,
            Self::Examined(body) => &body.holes,
            Self::Photographed(body) => &body.about,
            Self::Owed(body) if !body.holes.is_empty() => &body.holes,
            Self::Owed(body) if !body.at.is_empty() => std::slice::from_ref(&body.at),
            Self::NoteMade(body) if !body.about.is_empty() => std::slice::from_ref(&body.about),
            _ => &[],
        }
    }
}
