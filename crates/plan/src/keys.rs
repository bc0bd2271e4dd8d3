//! The keys of every plan file, once.
//!
//! One table serves three readers: the check for unknown keys with its
//! suggestion, the JSON Schema for editors, and the guide. A key that is not
//! here is not read.

use serde_json::{Map, Value, json};

/// What may stand behind a key.
#[derive(Clone, Copy, Debug)]
pub enum Shape {
    /// A length: a number in the file's unit, or a text such as `"1/8"` or `"3.2 mm"`.
    Length,
    /// A text.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A whole number.
    Count,
    /// A number.
    Number,
    /// True or false.
    Flag,
    /// Two lengths, x and y.
    Point,
    /// A list of points.
    Points,
    /// Two points.
    Line,
    /// A list of texts.
    Texts,
    /// A list of names of what stands in this section of the same file.
    NamesOf(&'static str),
    /// A table of this kind.
    Table(&'static Kind),
    /// A table of named tables of this kind.
    Named(&'static Kind),
    /// A table of named tables, each of named tables of this kind.
    NamedTwice(&'static Kind),
    /// A table of named texts.
    NamedTexts,
    /// A table of named lists of texts.
    NamedLists,
    /// A table of named lengths.
    NamedLengths,
    /// A table of named whole numbers.
    NamedCounts,
    /// A table of named numbers.
    NamedNumbers,
    /// A list of lengths.
    Lengths,
    /// A shape or a list of shapes, by layer.
    Shapes,
    /// Bend lines: a list of pairs of points, or of tables of this kind.
    Lines(&'static Kind),
    /// Named outlines, each with the further keys of this kind.
    Outlines(&'static Kind),
    /// Keys of the mirrored file that differ.
    Anything,
}

/// A key that may be written.
#[derive(Debug)]
pub struct Key {
    /// The key.
    pub name: &'static str,
    /// What may stand behind it.
    pub shape: Shape,
    /// What it is for.
    pub doc: &'static str,
}

/// A table that may be written.
#[derive(Debug)]
pub struct Kind {
    /// What it is, for a message: "a row".
    pub name: &'static str,
    /// Its keys.
    pub keys: &'static [Key],
}

impl Kind {
    /// The known key nearest to `word`, if one is near.
    #[must_use]
    pub fn nearest(&self, word: &str) -> Option<&'static str> {
        nearest(word, self.keys.iter().map(|key| key.name))
    }
}

/// The candidate nearest to `word`, if one is near enough to be a slip of the pen.
#[must_use]
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    candidates
        .into_iter()
        .map(|candidate| {
            (strsim::damerau_levenshtein(&word.to_lowercase(), &candidate.to_lowercase()), candidate)
        })
        .min_by_key(|(distance, candidate)| (*distance, candidate.len()))
        .filter(|(distance, candidate)| *distance <= (candidate.chars().count() / 3).max(1))
        .map(|(_, candidate)| candidate)
}

const fn key(name: &'static str, shape: Shape, doc: &'static str) -> Key {
    Key { name, shape, doc }
}

/// Units that a file may choose.
pub const UNITS: &[&str] = &["in", "mm"];
/// Ways of preparing a layer.
pub const PREPARATIONS: &[&str] = &["plain", "dimpled", "countersunk"];

/// One assembly: a file of `plan/`.
pub static ASSEMBLY: Kind = Kind {
    name: "an assembly",
    keys: &[
        key("format", Shape::Count, "version of the file format: 1"),
        key("id", Shape::Text, "short name of the assembly, unique in the build"),
        key("title", Shape::Text, "name as shown"),
        key("units", Shape::Word(UNITS), "unit of bare numbers: in or mm"),
        key(
            "mirror",
            Shape::Text,
            "the assembly that this one is the other hand of; then only `differs` follows",
        ),
        key("differs", Shape::Anything, "what the other hand has differently, by the same keys"),
        key("note", Shape::Text, "a remark"),
        key("usual", Shape::Table(&USUAL), "what holds for every row unless the row says otherwise"),
        key("parts", Shape::Named(&PART), "parts by short name"),
        key("planes", Shape::Named(&PLANE), "planes by short name"),
        key("rows", Shape::Named(&ROW), "rows without a plane: counted, or stacked with `through`"),
        key("bays", Shape::NamedLists, "bays by name: lists of plane sides, such as \"web: aft\""),
        key("steps", Shape::Named(&STEP), "steps by name, in the order of the plans"),
        key("gates", Shape::Named(&GATE), "gates by name"),
    ],
};

/// What holds for every row.
pub static USUAL: Kind = Kind {
    name: "the usual",
    keys: &[
        key("rivet", Shape::Text, "rivet without its length, such as MS20470AD4"),
        key("head", Shape::Text, "side of the manufactured head, in words of the plane"),
        key("hole", Shape::Length, "hole size, such as \"#30\""),
        key("prep", Shape::NamedTexts, "preparation by part: plain, dimpled or countersunk"),
    ],
};

/// A part.
pub static PART: Kind = Kind {
    name: "a part",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("material", Shape::Text, "material and temper, such as 2024-T3"),
        key("thickness", Shape::Length, "sheet thickness"),
        key("finish", Shape::Text, "what is done to it before assembly, such as prime"),
        key("copies", Shape::Texts, "names of its copies, where there are several"),
        key("number", Shape::Text, "part number in the builder's own plans"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A plane.
pub static PLANE: Kind = Kind {
    name: "a plane",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("near", Shape::Text, "trade name of the side that is drawn, such as aft"),
        key("far", Shape::Text, "trade name of the other side"),
        key("layers", Shape::Texts, "parts that lie in it, near to far"),
        key("outline", Shape::Shapes, "outlines by part; a list where the part has copies"),
        key("cut", Shape::Shapes, "lightening holes and other cut-outs by part"),
        key(
            "bends",
            Shape::Lines(&BEND),
            "bend lines, each from point to point; or a table, where its flange is told",
        ),
        key(
            "stands",
            Shape::Outlines(&STAND),
            "what stands on a side, such as a bracket, by short name: its outline, side and height",
        ),
        key("rows", Shape::Named(&ROW), "rows by name"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A bend line and its flange.
pub static BEND: Kind = Kind {
    name: "a bend",
    keys: &[
        key("line", Shape::Line, "the bend line, from point to point"),
        key("part", Shape::Text, "the part that is bent, where several lie in the plane"),
        key("side", Shape::Text, "side on which its flange stands, in words of the plane"),
        key("height", Shape::Length, "height of the flange over that side"),
        key("lip", Shape::Length, "how far a return flange goes back over the web"),
    ],
};

/// Something that stands on a plane.
pub static STAND: Kind = Kind {
    name: "what stands on a plane",
    keys: &[
        key("side", Shape::Text, "side on which it stands, in words of the plane"),
        key("height", Shape::Length, "how high it stands over that side"),
        key("from", Shape::Text, "the step from which it is there; from the start where none is given"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A row.
pub static ROW: Kind = Kind {
    name: "a row",
    keys: &[
        key("from", Shape::Point, "first hole"),
        key("to", Shape::Point, "last hole"),
        key("count", Shape::Count, "number of holes, both ends included"),
        key("pitch", Shape::Length, "distance from hole to hole, instead of a count"),
        key("at", Shape::Points, "holes one by one, instead of from and to"),
        key("like", Shape::Text, "another row of this plane whose positions are taken"),
        key("shift", Shape::Point, "how far the positions of `like` are moved"),
        key("same", Shape::Text, "a row of another plane whose very holes these are"),
        key("rivet", Shape::Text, "rivet without its length"),
        key("called", Shape::Text, "what the plan calls for: a part number, or a length such as -5"),
        key("head", Shape::Text, "side of the manufactured head, in words of the plane"),
        key("prep", Shape::NamedTexts, "preparation by part: plain, dimpled or countersunk"),
        key("through", Shape::Texts, "layers near to far, where the outlines do not say"),
        key("hole", Shape::Length, "hole size, such as \"#30\""),
        key("clearance", Shape::Length, "room in front of the shop head"),
        key("hold", Shape::Table(&HOLD), "kept open on the plan's word"),
        key("attach", Shape::Table(&ATTACH), "rivets that hold each nutplate of the row"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A hold.
pub static HOLD: Kind = Kind {
    name: "a hold",
    keys: &[
        key("until", Shape::Text, "step at which the holes are filled"),
        key("why", Shape::Text, "reason"),
    ],
};

/// Rivets of a nutplate.
pub static ATTACH: Kind = Kind {
    name: "the rivets of a nutplate",
    keys: &[
        key("rivet", Shape::Text, "which rivet, such as MS20426AD3-4"),
        key("each", Shape::Count, "how many for each nutplate"),
    ],
};

/// A step.
pub static STEP: Kind = Kind {
    name: "a step",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("sheet", Shape::Text, "where it stands in the builder's own plans"),
        key("adds", Shape::Texts, "parts, copies (rib/1) or assemblies that come in"),
        key("sets", Shape::Texts, "rows, or parts of rows, that are set: web/A, web/B/1-20"),
        key("closes", Shape::Texts, "plane sides and bays that are hidden: \"web: aft\", bay:spar"),
        key("after", Shape::Texts, "steps that come before"),
        key("hours", Shape::Number, "planned hours"),
        key(
            "work",
            Shape::Word(WORKS),
            "kind of work; where it is not written, what the step sets and adds says it",
        ),
        key("parts", Shape::Texts, "parts it is done to, such as those that are primed; named as in `adds`"),
        key("rows", Shape::Texts, "rows it is done to, such as those that are dimpled; named as in `sets`"),
        key("people", Shape::Count, "how many people it takes; 1 where it is not written"),
        key("tools", Shape::Texts, "what to fetch for it: tools of tools.toml, or in words"),
        key("cure", Shape::Number, "hours that must pass before what comes after it"),
        key("bench", Shape::Count, "places on the bench that it takes, also while it cures"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// Kinds of work.
pub const WORKS: &[&str] = &[
    "final-drill",
    "deburr",
    "dimple",
    "countersink",
    "mark",
    "prime",
    "assemble",
    "set",
    "bolt",
    "fit",
    "seal",
    "other",
];

/// A gate.
pub static GATE: Kind = Kind {
    name: "a gate",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("before", Shape::Text, "the step it stands before"),
        key("after", Shape::Texts, "steps it stands behind, where it stands before none"),
        key(
            "covers",
            Shape::Texts,
            "assemblies all of whose work must be done, where it stands before no step",
        ),
        key(
            "needs",
            Shape::Texts,
            "what is asked for beside what always is (holes, owed, faults, first-articles, torque): \
             inspection:NAME, photograph:NAME, check:NAME",
        ),
        key(
            "structure",
            Shape::Flag,
            "whether what it covers is structure, so that only the designer, an inspector or the authority \
             can let something pass; true where it is not written",
        ),
        key("rule", Shape::Text, "where the authority's rule stands that asks for it"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// `gates.toml`: gates of the whole build.
pub static GATES: Kind = Kind {
    name: "gates.toml",
    keys: &[
        key("format", Shape::Count, "version of the file format: 1"),
        key("gates", Shape::Named(&GATE), "gates by short name; a step is written ASSEMBLY/STEP"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// `people.toml`: who works on the build, and when.
pub static PEOPLE: Kind = Kind {
    name: "people.toml",
    keys: &[
        key("format", Shape::Count, "version of the file format: 1"),
        key("people", Shape::Named(&PERSON), "people by short name"),
        key("week", Shape::Table(&WEEK), "hours at the bench by day of the week"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// What somebody is to a build.
pub const ROLES: &[&str] = &["builder", "helper", "inspector", "designer", "authority"];

/// Somebody.
pub static PERSON: Kind = Kind {
    name: "a person",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("role", Shape::Word(ROLES), "what they are to this build"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// The hours of a week.
pub static WEEK: Kind = Kind {
    name: "the week",
    keys: &[
        key("monday", Shape::Number, "hours on a Monday"),
        key("tuesday", Shape::Number, "hours on a Tuesday"),
        key("wednesday", Shape::Number, "hours on a Wednesday"),
        key("thursday", Shape::Number, "hours on a Thursday"),
        key("friday", Shape::Number, "hours on a Friday"),
        key("saturday", Shape::Number, "hours on a Saturday"),
        key("sunday", Shape::Number, "hours on a Sunday"),
    ],
};

/// `limits.toml`: the builder's own values.
pub static LIMITS: Kind = Kind {
    name: "limits.toml",
    keys: &[
        key("format", Shape::Count, "version of the file format: 1"),
        key("units", Shape::Word(UNITS), "unit of bare numbers: in or mm"),
        key("shop_head", Shape::Text, "the set of shop-head limits in force, by name"),
        key(
            "shop_heads",
            Shape::Named(&OWN_SET),
            "sets of shop-head limits from the builder's own documents",
        ),
        key(
            "gauges",
            Shape::NamedTwice(&GAUGE_SIZE),
            "gauges for shop heads by name, each with hole and slot by rivet diameter; they judge nothing",
        ),
        key(
            "lip",
            Shape::NamedLengths,
            "height of a dimple's lip over the flat, by rivet diameter, as measured",
        ),
        key(
            "dimpled_hole",
            Shape::NamedLengths,
            "hole diameter after dimpling, by rivet diameter, as measured",
        ),
        key("half_sizes", Shape::Flag, "whether half lengths (-3.5) are in the store"),
        key("caliper", Shape::Length, "standard uncertainty of the caliper"),
        key("set_height", Shape::Length, "repeatability of the set height, one standard deviation"),
        key("rivet_length", Shape::Length, "tolerance of the rivet length, plus or minus"),
        key("film", Shape::Length, "primer film on one face"),
        key("missing_metal", Shape::Number, "share of the metal that does not reach the head: 0.15 is 15 %"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A set of limits from the builder's own document.
pub static OWN_SET: Kind = Kind {
    name: "a set of limits",
    keys: &[
        key("source", Shape::Text, "document, revision and table, as on the builder's own copy"),
        key("kit", Shape::Flag, "whether it is the kit manual's, which comes before the other own sets"),
        key("heads", Shape::Named(&OWN_HEAD), "limits by rivet diameter, such as \"5/32\""),
    ],
};

/// Limits of one diameter from the builder's own document.
pub static OWN_HEAD: Kind = Kind {
    name: "limits of a shop head",
    keys: &[
        key("min_width", Shape::Length, "least diameter of the shop head"),
        key("max_width", Shape::Length, "greatest diameter, where the document has one"),
        key("min_height", Shape::Length, "least height"),
        key("max_height", Shape::Length, "greatest height, where the document has one"),
    ],
};

/// A gauge for shop heads at one rivet diameter.
pub static GAUGE_SIZE: Kind = Kind {
    name: "a gauge's hole and slot",
    keys: &[
        key("hole", Shape::Length, "diameter of the hole into which a small head drops"),
        key("slot", Shape::Length, "height of the slot that passes over a low head"),
    ],
};

/// `tools.toml`: the tools of the build.
pub static TOOLS: Kind = Kind {
    name: "tools.toml",
    keys: &[
        key("format", Shape::Count, "version of the file format: 1"),
        key("units", Shape::Word(UNITS), "unit of bare numbers: in or mm"),
        key("helper", Shape::Flag, "whether there is a second person"),
        key("squeezers", Shape::Named(&SQUEEZER), "squeezers by short name"),
        key("yokes", Shape::Named(&YOKE), "yokes by short name"),
        key("dies", Shape::Named(&DIES), "die pairs of a squeezer and sets of a gun, by short name"),
        key("guns", Shape::Named(&GUN), "rivet guns by short name"),
        key("bars", Shape::Named(&BAR), "bucking bars by short name"),
        key("plates", Shape::Named(&PLATE), "back-riveting plates by short name"),
        key("clecoes", Shape::NamedCounts, "how many clecoes there are, by rivet diameter"),
        key("clamps", Shape::Named(&CLAMP), "clamps by short name"),
        key("gauges", Shape::Named(&GAUGE), "calipers and gauges by short name"),
        key("bench", Shape::Count, "places on the bench"),
        key("times", Shape::Table(&TIMES), "the builder's own times at the bench, in seconds"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// What drives a squeezer.
pub const DRIVES: &[&str] = &["air", "hand"];
/// What holds dies.
pub const HELD_IN: &[&str] = &["squeezer", "gun", "back-riveting"];
/// Styles of manufactured head.
pub const HEADS: &[&str] = &["universal", "flush"];

/// A squeezer.
pub static SQUEEZER: Kind = Kind {
    name: "a squeezer",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("drive", Shape::Word(DRIVES), "what drives it: air or hand"),
        key("force", Shape::Number, "force at the end of its stroke, lbf"),
        key("pressure", Shape::Number, "air pressure for which the force is stated, psi"),
        key("stroke", Shape::Length, "travel of the ram"),
        key("turns_per_inch", Shape::Number, "turns of the ram for one inch, where it is threaded"),
        key("shims", Shape::Lengths, "thicknesses of the shims behind a die, where it is set by shims"),
        key("set_lengths", Shape::Lengths, "lengths of its rams or dies, where it is set by changing them"),
        key("repeatability", Shape::Length, "repeatability of the set height, one standard deviation"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A yoke.
pub static YOKE: Kind = Kind {
    name: "a yoke",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("fits", Shape::NamesOf("squeezers"), "squeezers it fits; all of them where none is named"),
        key("throat", Shape::Length, "throat depth: from the axis of the dies to the bottom of the throat"),
        key("gap", Shape::Length, "daylight between the jaws: ram back and dies in place"),
        key("nose", Shape::Table(&NOSE), "the end of its slimmer jaw"),
        key("stiffness", Shape::Number, "force that opens it by an inch, lbf, where it was measured"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// The end of a jaw.
pub static NOSE: Kind = Kind {
    name: "the nose of a yoke",
    keys: &[
        key("half_width", Shape::Length, "half the width of the jaw's end"),
        key("height", Shape::Length, "from the face of the die to the back of the jaw"),
    ],
};

/// Dies.
pub static DIES: Kind = Kind {
    name: "a pair of dies or a set",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("held_in", Shape::Word(HELD_IN), "squeezer (a pair), gun (a set) or back-riveting"),
        key("head", Shape::Word(HEADS), "manufactured head it is for: universal or flush"),
        key("diameter", Shape::Length, "rivet diameter it is for; any where none is given"),
        key("across", Shape::Length, "outside diameter of the die or set"),
        key("across_shop", Shape::Length, "outside diameter of the flat die, where it is another"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A rivet gun.
pub static GUN: Kind = Kind {
    name: "a gun",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("pressure", Shape::NamedNumbers, "air pressure by rivet diameter, psi"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A bucking bar.
pub static BAR: Kind = Kind {
    name: "a bar",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("weight", Shape::Number, "weight, lb"),
        key("enters", Shape::Length, "smallest gap it enters"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A back-riveting plate.
pub static PLATE: Kind = Kind {
    name: "a plate",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("size", Shape::Point, "its two sides"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// Clamps.
pub static CLAMP: Kind = Kind {
    name: "a kind of clamp",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("count", Shape::Count, "how many there are"),
        key("reach", Shape::Length, "how far from an edge they reach"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// A caliper or a gauge.
pub static GAUGE: Kind = Kind {
    name: "a gauge",
    keys: &[
        key("title", Shape::Text, "name as shown"),
        key("uncertainty", Shape::Length, "standard uncertainty of a reading"),
        key("note", Shape::Text, "a remark"),
    ],
};

/// What things take, in seconds.
pub static TIMES: Kind = Kind {
    name: "the times",
    keys: &[
        key("squeeze", Shape::Number, "a rivet set with a squeezer, s"),
        key("gun", Shape::Number, "a rivet set with gun and bar, s"),
        key("back", Shape::Number, "a rivet set by back-riveting, s"),
        key("tool", Shape::Number, "change of tool, s"),
        key("yoke", Shape::Number, "change of yoke, s"),
        key("dies", Shape::Number, "change of dies or set, s"),
        key("setting", Shape::Number, "change of setting, s"),
        key("bag", Shape::Number, "change of bag with its check, s"),
        key("flip", Shape::Number, "turning the part over, s"),
        key("coupon", Shape::Number, "proof on a coupon, s"),
        key("cleco", Shape::Number, "moving a cleco, s"),
        key("foot", Shape::Number, "travel along the part, for each foot, s"),
        key("plane", Shape::Number, "going from one plane to another, s"),
        key("removal", Shape::Number, "a rivet drilled out and set again, s"),
        key("batch", Shape::Number, "getting ready for a batch of finishing and cleaning up after it, s"),
    ],
};

/// The JSON Schema of a plan file, for editors.
///
/// ```
/// let schema = faying_plan::schema(&faying_plan::keys::ASSEMBLY);
/// assert_eq!(schema["properties"]["units"]["enum"][0], "in");
/// ```
#[must_use]
pub fn schema(root: &'static Kind) -> Value {
    let mut schema = table_schema(root);
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!(format!("faying: {}", root.name));
    schema
}

fn table_schema(kind: &'static Kind) -> Value {
    let properties: Map<String, Value> = kind
        .keys
        .iter()
        .map(|key| {
            let mut schema = shape_schema(key.shape);
            schema["description"] = json!(key.doc);
            (key.name.to_owned(), schema)
        })
        .collect();
    json!({ "type": "object", "properties": properties, "additionalProperties": false })
}

fn shape_schema(shape: Shape) -> Value {
    let length = || json!({ "type": ["number", "string"] });
    // As they are read: one text may stand for a list of one, and copies may be numbers.
    let texts = || json!({ "type": ["array", "string"], "items": { "type": ["string", "number"] } });
    let point = || json!({ "type": "array", "items": length(), "minItems": 2, "maxItems": 2 });
    let line = || json!({ "type": "array", "items": point(), "minItems": 2, "maxItems": 2 });
    match shape {
        Shape::Length => length(),
        Shape::Text => json!({ "type": "string" }),
        Shape::Word(words) => json!({ "enum": words }),
        Shape::Count => json!({ "type": "integer", "minimum": 1 }),
        Shape::Number => json!({ "type": "number", "minimum": 0 }),
        Shape::Flag => json!({ "type": "boolean" }),
        Shape::Point => point(),
        Shape::Points => json!({ "type": "array", "items": point() }),
        Shape::Texts | Shape::NamesOf(_) => texts(),
        Shape::Table(kind) => table_schema(kind),
        Shape::Named(kind) => json!({ "type": "object", "additionalProperties": table_schema(kind) }),
        Shape::NamedTwice(kind) => json!({ "type": "object", "additionalProperties":
            { "type": "object", "additionalProperties": table_schema(kind) } }),
        Shape::NamedTexts => json!({ "type": "object", "additionalProperties": { "enum": PREPARATIONS } }),
        Shape::NamedLists => json!({ "type": "object", "additionalProperties": texts() }),
        Shape::NamedLengths => json!({ "type": "object", "additionalProperties": length() }),
        Shape::NamedCounts => {
            json!({ "type": "object", "additionalProperties": { "type": "integer", "minimum": 1 } })
        }
        Shape::NamedNumbers => {
            json!({ "type": "object", "additionalProperties": { "type": "number", "minimum": 0 } })
        }
        Shape::Lengths => json!({ "type": "array", "items": length() }),
        Shape::Line => line(),
        Shape::Shapes => {
            let mut one = json!({ "type": "object", "additionalProperties": false });
            one["properties"] = Value::Object(outline_schema());
            json!({ "type": "object", "additionalProperties":
                { "anyOf": [one, { "type": "array", "items": one }] } })
        }
        Shape::Outlines(kind) => {
            let mut one = table_schema(kind);
            if let Some(properties) = one["properties"].as_object_mut() {
                properties.extend(outline_schema());
            }
            json!({ "type": "object", "additionalProperties": one })
        }
        Shape::Lines(kind) => {
            json!({ "type": "array", "items": { "anyOf": [line(), table_schema(kind)] } })
        }
        Shape::Anything => json!({ "type": "object" }),
    }
}

/// The ways to write an outline.
fn outline_schema() -> Map<String, Value> {
    let lengths = |count: usize, description: &str| {
        json!({ "type": "array", "items": shape_schema(Shape::Length), "minItems": count,
            "maxItems": count, "description": description })
    };
    let corner =
        json!({ "type": "array", "items": shape_schema(Shape::Length), "minItems": 2, "maxItems": 3 });
    let path = json!({ "type": "array", "items": corner,
        "description": "corners; a third number is the bulge of the arc to the next corner" });
    [
        ("rect", lengths(4, "lower left x and y, width, height")),
        ("circle", lengths(3, "centre x and y, diameter")),
        ("path", path),
    ]
    .into_iter()
    .map(|(name, schema)| (name.to_owned(), schema))
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_pen_finds_its_key() {
        assert_eq!(PART.nearest("thicknes"), Some("thickness"));
        assert_eq!(ROW.nearest("Pitch"), Some("pitch"));
        assert_eq!(STEP.nearest("set"), Some("sets"));
        assert_eq!(ROW.nearest("zzz"), None);
    }

    #[test]
    fn every_key_says_what_it_is_for() {
        for kind in [
            &ASSEMBLY,
            &USUAL,
            &PART,
            &PLANE,
            &ROW,
            &HOLD,
            &ATTACH,
            &STEP,
            &GATE,
            &GATES,
            &PEOPLE,
            &PERSON,
            &WEEK,
            &LIMITS,
            &OWN_SET,
            &OWN_HEAD,
            &BEND,
            &STAND,
            &TOOLS,
            &SQUEEZER,
            &YOKE,
            &NOSE,
            &DIES,
            &GUN,
            &BAR,
            &PLATE,
            &CLAMP,
            &GAUGE,
            &GAUGE_SIZE,
            &TIMES,
        ] {
            let mut names: Vec<_> = kind.keys.iter().map(|key| key.name).collect();
            names.sort_unstable();
            names.dedup();
            assert_eq!(names.len(), kind.keys.len(), "{} names a key twice", kind.name);
            assert!(kind.keys.iter().all(|key| key.doc.len() > 4), "{} has a key without a word", kind.name);
        }
    }
}
