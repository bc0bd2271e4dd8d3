//! A drawing put into an assembly: what it would give, and the plane it becomes.
//!
//! A drawing knows shapes and holes. It does not know which part it is, how
//! thick, what lies on it, which rivet goes in a hole, or what the sides are
//! called: the builder answers that, and what is not answered stays out of the
//! plan. Positions come from the import's sketch as they are.

use faying_import::dxf::Left;
use faying_import::sketch::{Options, Row, Sketch};
use faying_import::{Drawing, DrawingUnits, read};
use faying_plan::SourceText;
use faying_plan::edit::{self, PartText, RowText};
use faying_standards::{Diameter, Finding, HeadStyle, Length, RivetAlloy, RivetType, Severity, Unit};
use serde::Deserialize;

use super::line::preparations_by_way;
use super::{EntryError, Written, named, of_text, one_step, write_with};
use crate::writer::Build;

/// What a drawing would give.
#[derive(Clone, Debug)]
pub struct DrawingShown {
    /// The unit it is read in; none where the drawing does not say and nobody was asked yet.
    pub unit: Option<&'static str>,
    /// Whether the drawing itself says its unit.
    pub says_unit: bool,
    /// How many outlines, cut-outs and holes are taken.
    pub taken: [usize; 3],
    /// How many bend lines are taken.
    pub bends: usize,
    /// Width and height of the outline, in the unit of the plan; empty without one.
    pub extent: String,
    /// Holes by size.
    pub sizes: Vec<HoleSize>,
    /// Rows as they would be written.
    pub rows: Vec<DrawnRow>,
    /// What is not taken.
    pub left: Vec<Left>,
    /// What wants a look.
    pub findings: Vec<Finding>,
    /// The layers of the drawing that hold something that is taken.
    pub layers: Vec<String>,
}

/// Holes of one size.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoleSize {
    /// The drill by its mark, else the diameter in inches.
    pub size: String,
    /// How many holes.
    pub holes: usize,
    /// Rivets that such a hole suits: part number and words; none where it suits no rivet.
    pub rivets: Vec<(String, String)>,
}

/// A row of a drawing.
#[derive(Clone, Debug)]
pub struct DrawnRow {
    /// Its name.
    pub name: String,
    /// How many holes.
    pub holes: usize,
    /// Their size.
    pub size: String,
    /// The layer of the drawing.
    pub layer: String,
}

/// What the builder says of a drawing.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct DrawingAnswers {
    /// Unit of the drawing; empty takes its own.
    pub units: String,
    /// Layers of the drawing to leave out.
    pub leave: Vec<String>,
    /// The part whose outline it is.
    pub part: String,
    /// Its thickness, where the part is new or its thickness another.
    pub thickness: String,
    /// Its material, likewise.
    pub material: String,
    /// Name of the plane; empty takes the part's.
    pub plane: String,
    /// Trade name of the side that is drawn.
    pub near: String,
    /// Trade name of the other side.
    pub far: String,
    /// The parts that lie on it, everywhere.
    pub others: Vec<OtherPart>,
    /// The rivet of each size of hole.
    pub rivets: Vec<SizeRivet>,
    /// Side of the manufactured heads: `near`, `far`, or empty.
    pub head: String,
    /// Whether one step shall set all rows, where there is none yet.
    pub one_step: bool,
}

/// A part that lies on the drawn one.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct OtherPart {
    /// Its name.
    pub part: String,
    /// Its thickness, where it is new.
    pub thickness: String,
    /// Its material, where it is new.
    pub material: String,
    /// `near` or `far`.
    pub side: String,
}

/// The rivet for the holes of one size.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct SizeRivet {
    /// The size as shown.
    pub size: String,
    /// The rivet without its length; empty leaves it out.
    pub rivet: String,
    /// How flush holes are prepared.
    pub flush: String,
}

/// Reads a drawing and tells what it would give; nothing is written.
///
/// - `units`: the builder's answer, which wins over the drawing; empty for none
/// - `unit`: of the lengths shown
///
/// # Errors
/// [`EntryError`] where the unit asked for is none.
pub fn look(bytes: &[u8], units: &str, leave: &[String], unit: Unit) -> Result<DrawingShown, EntryError> {
    let drawing = read(bytes);
    let Some(units) = units_of(&drawing, units)? else {
        return Ok(DrawingShown {
            unit: None,
            says_unit: false,
            taken: [drawing.outlines.len(), 0, drawing.circles.len()],
            bends: drawing.bends.len(),
            extent: String::new(),
            sizes: Vec::new(),
            rows: Vec::new(),
            left: drawing.left,
            findings: drawing.findings.into_iter().filter(|finding| finding.kind != "no-units").collect(),
            layers: Vec::new(),
        });
    };
    let mut layers: Vec<String> = Vec::new();
    let circles = drawing.circles.iter().map(|it| &it.layer);
    let named = circles
        .chain(drawing.outlines.iter().map(|it| &it.layer))
        .chain(drawing.bends.iter().map(|it| &it.layer));
    for layer in named {
        if !layers.iter().any(|known| **known == **layer) {
            layers.push(layer.to_string());
        }
    }
    layers.sort();
    let sketch = sketch_of(&drawing, units, leave);
    let extent = extent(&drawing, units, leave).map_or_else(String::new, |[width, height]| {
        format!("{} × {}", Length::from_inches(width).show(unit), Length::from_inches(height).show(unit))
    });
    let rows = sketch
        .rows
        .iter()
        .map(|row| DrawnRow {
            name: row.name.clone(),
            holes: row.places.count(),
            size: size(row),
            layer: row.layer.to_string(),
        })
        .collect();
    Ok(DrawingShown {
        unit: Some(units.symbol()),
        says_unit: drawing.units.is_some(),
        taken: [sketch.outlines.len(), sketch.cuts.len(), sketch.holes()],
        bends: sketch.bends.len(),
        extent,
        sizes: sizes(&sketch),
        rows,
        left: sketch.left,
        findings: sketch.findings,
        layers,
    })
}

/// Puts a drawing into an assembly as a plane of its own.
///
/// - `seen`: the mark of the text from which the page was made
///
/// # Errors
/// [`EntryError`] where an answer is missing or cannot be used; then the file is as it was.
pub fn import(
    build: &Build,
    assembly: &str,
    seen: &str,
    bytes: &[u8],
    answers: &DrawingAnswers,
) -> Result<Written, EntryError> {
    write_with(build, assembly, seen, |text| imported(text, assembly, bytes, answers))
}

/// The new text, and a sentence about it.
///
/// # Errors
/// As [`import`].
pub fn imported(
    text: &str,
    assembly: &str,
    bytes: &[u8],
    answers: &DrawingAnswers,
) -> Result<(String, String), EntryError> {
    let drawing = read(bytes);
    let Some(units) = units_of(&drawing, &answers.units)? else {
        return Err(EntryError::typed(
            "the drawing does not say its unit",
            "choose the unit it was drawn in",
        ));
    };
    let plan = of_text(text);
    let it = &plan[named(&plan, assembly)?];
    let (unit, has_steps) = (it.unit, !it.steps.is_empty());
    let part = short(&answers.part);
    if part.is_empty() {
        return Err(EntryError::typed(
            "the drawing's part has no name",
            "write which part the outline is, such as web",
        ));
    }
    let plane = if answers.plane.trim().is_empty() { part.clone() } else { short(&answers.plane) };
    let sketch = sketch_of(&drawing, units, &answers.leave);
    if sketch.outlines.is_empty() && sketch.rows.is_empty() {
        return Err(EntryError::typed(
            "the drawing gives no outline and no hole",
            "look whether its unit and its layers are right",
        ));
    }

    let others: Vec<(String, &OtherPart)> = answers
        .others
        .iter()
        .map(|other| (short(&other.part), other))
        .filter(|(name, _)| !name.is_empty())
        .collect();
    let mut new = with_part(text, &part, &answers.part, &answers.thickness, &answers.material)?;
    for (name, other) in &others {
        new = with_part(&new, name, &other.part, &other.thickness, &other.material)?;
    }
    // Where nobody said on which side a part lies it is taken as far: the drawn part is what is looked at.
    let on = |near: bool| {
        others.iter().filter(move |(_, it)| (it.side == "near") == near).map(|(name, _)| name.clone())
    };
    let layers: Vec<String> = on(true).chain([part.clone()]).chain(on(false)).collect();

    new = edit::add_plane(&new, &plane, &block(&sketch, &plane, &part, &layers, answers, unit))?;
    let head = match answers.head.as_str() {
        "near" => answers.near.trim(),
        "far" => answers.far.trim(),
        _ => "",
    };
    let head = if head.is_empty() { answers.head.as_str() } else { head };
    // From the manufactured head on, so that the near layer of a flush way is the one under it.
    let mut from_head = layers.clone();
    if answers.head == "far" {
        from_head.reverse();
    }
    for row in &sketch.rows {
        let Some(chosen) =
            answers.rivets.iter().find(|it| it.size == size(row) && !it.rivet.trim().is_empty())
        else {
            continue;
        };
        let flush = chosen.rivet.trim().starts_with(HeadStyle::Flush.number());
        let change = RowText {
            rivet: chosen.rivet.trim().to_owned(),
            head: head.to_owned(),
            prep: if flush { preparations_by_way(&from_head, &chosen.flush) } else { Vec::new() },
            ..RowText::default()
        };
        new = edit::change_row(&new, Some(&plane), &row.name, &change)?;
    }
    if answers.one_step && !has_steps && !sketch.rows.is_empty() {
        new = one_step(&new)?.0;
    }
    // Only what cannot be read: a hole through one sheet only is said on the page, and mended there.
    let wrong = |text: &str| -> Vec<Finding> {
        let source = SourceText { name: "this file".into(), text: text.into() };
        let findings = faying_plan::read(vec![source]).findings;
        findings.into_iter().filter(|it| it.severity == Severity::Wrong).collect()
    };
    let (before, after) = (wrong(text), wrong(&new));
    let newly = after.iter().find(|it| !before.iter().any(|old| old.kind == it.kind && old.what == it.what));
    match newly {
        Some(finding) => Err(EntryError::found(finding)),
        None => Ok((
            new,
            format!("Plane {plane} is in the plan: {} holes in {} rows.", sketch.holes(), sketch.rows.len()),
        )),
    }
}

fn units_of(drawing: &Drawing, asked: &str) -> Result<Option<DrawingUnits>, EntryError> {
    if asked.trim().is_empty() {
        return Ok(drawing.units);
    }
    DrawingUnits::read(asked).map(Some).ok_or_else(|| {
        EntryError::typed(format!("\"{asked}\" is not a unit of a drawing"), "choose in, mm, cm, m or ft")
    })
}

fn sketch_of(drawing: &Drawing, units: DrawingUnits, leave: &[String]) -> Sketch {
    let mut options = Options::new(units);
    options.leave_layers = leave.to_vec();
    Sketch::of(drawing, &options)
}

/// Width and height of all that is drawn as loops, in.
fn extent(drawing: &Drawing, units: DrawingUnits, leave: &[String]) -> Option<[f64; 2]> {
    let kept =
        drawing.outlines.iter().filter(|it| !leave.iter().any(|layer| layer.eq_ignore_ascii_case(&it.layer)));
    let all = kept.map(faying_import::dxf::Outline::extent).reduce(|all, one| {
        [all[0].min(one[0]), all[1].min(one[1]), all[2].max(one[2]), all[3].max(one[3])]
    })?;
    let scale = units.in_inches();
    Some([(all[2] - all[0]) * scale, (all[3] - all[1]) * scale])
}

/// The size of a row's holes: the drill by its mark, else the diameter in inches.
fn size(row: &Row) -> String {
    match &row.suits {
        Some(suits) if !suits.drill.is_empty() => suits.drill.clone(),
        _ => format!("{} in", Length::from_inches(row.diameter_in).decimal()),
    }
}

fn sizes(sketch: &Sketch) -> Vec<HoleSize> {
    let mut sizes: Vec<HoleSize> = Vec::new();
    for row in &sketch.rows {
        let (size, holes) = (size(row), row.places.count());
        if let Some(known) = sizes.iter_mut().find(|known| known.size == size) {
            known.holes += holes;
            continue;
        }
        let suits = row.suits.as_ref().map_or("", |suits| suits.fastener.as_str());
        let diameter = Diameter::ALL.into_iter().find(|diameter| diameter.to_string() == suits);
        let rivets = diameter.map_or_else(Vec::new, |diameter| {
            HeadStyle::ALL
                .map(|head| {
                    let rivet = RivetType { head, alloy: RivetAlloy::Ad, diameter };
                    let words = if head == HeadStyle::Flush { "flush" } else { "universal" };
                    (rivet.to_string(), format!("{rivet}, {diameter} {words}"))
                })
                .to_vec()
        });
        sizes.push(HoleSize { size, holes, rivets });
    }
    sizes
}

/// A name as it can stand in references: `Spar web` is spar-web.
fn short(name: &str) -> String {
    let words: Vec<&str> = name.split_whitespace().collect();
    words.join("-").to_lowercase()
}

/// The part as it is, changed where something is said of it, or new.
fn with_part(
    text: &str,
    name: &str,
    typed: &str,
    thickness: &str,
    material: &str,
) -> Result<String, EntryError> {
    let mut part =
        PartText { thickness: thickness.to_owned(), material: material.to_owned(), ..PartText::default() };
    let known = of_text(text).parts.iter().any(|part| part.name == name);
    if known {
        return Ok(edit::change_part(text, name, &part)?);
    }
    if typed.trim() != name {
        typed.trim().clone_into(&mut part.title);
    }
    Ok(edit::add_part(text, name, &part)?)
}

/// The sketch's text with what the builder said in the place of what a drawing does not know.
fn block(
    sketch: &Sketch,
    plane: &str,
    part: &str,
    layers: &[String],
    answers: &DrawingAnswers,
    unit: Unit,
) -> String {
    // A JSON string is a TOML string.
    let quoted = |text: &str| serde_json::Value::from(text.trim()).to_string();
    let key = |name: &str| {
        let bare = name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_');
        if bare { name.to_owned() } else { quoted(name) }
    };
    let names: Vec<String> = layers.iter().map(|name| quoted(name)).collect();
    let text = sketch.to_toml(plane, unit);
    let lines: Vec<String> = text
        .lines()
        .map(|line| {
            let side = |word: &str, said: &str| format!("{word} = {}", quoted(said));
            if line.starts_with("near = ") && !answers.near.trim().is_empty() {
                side("near", &answers.near)
            } else if line.starts_with("far = ") && !answers.far.trim().is_empty() {
                side("far", &answers.far)
            } else if line.starts_with("layers = ") {
                format!("layers = [{}]   # near to far", names.join(", "))
            } else if let Some((word, rest)) = ["outline", "cut"].into_iter().find_map(|word| {
                line.strip_prefix(&format!("{word}.{} = ", key(plane))).map(|rest| (word, rest))
            }) {
                format!("{word}.{} = {rest}", key(part))
            } else {
                line.to_owned()
            }
        })
        .collect();
    // A blank line sets the plane off from what stands before it.
    format!("\n{}", lines.join("\n"))
}
