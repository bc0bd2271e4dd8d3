//! Typing a plan in: what a page asks, as a new text of a plan file.
//!
//! The file is the builder's. An edit is spliced into its text, so that
//! comments and order stay; it is refused where the file has changed since the
//! page was made, and where the new text would hold something that cannot be
//! used. The text then goes to the disk whole or not at all.
//!
//! What a typed line means is read in `line`; a drawing becomes
//! a plane in [`drawing`]; the tools of the build are edited in [`tools`]. No
//! figure is computed here: a row is shown as the joint's room works it out
//! from the text that would be written.

pub mod drawing;
mod line;
pub mod tools;

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use faying_joint::Joint;
use faying_joint::callout::{CalledVerdict, working};
use faying_plan::edit::{self, EditError, PartText, StepText};
use faying_plan::{AssemblyId, Plan, Preparation, RowId, SourceText};
use faying_standards::{Diameter, Finding, HeadStyle, RivetAlloy, RivetType, Severity, Unit, Working};
use serde::Deserialize;
use thiserror::Error;

use crate::error::BuildError;
use crate::folder::PLAN_FOLDER;
use crate::world::{PlanSide, World};
use crate::writer::Build;

pub use line::{PartLine, part_line};

/// The file of the builder's own values, which a preview reads too.
const LIMITS_FILE: &str = "limits.toml";

/// An edit that was not made; everything stays as it was.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum EntryError {
    /// The text cannot be edited in this way.
    #[error(transparent)]
    Edit(#[from] EditError),
    /// The files cannot be read or written.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// What was typed cannot be used.
    #[error("{what}; {next}")]
    Typed {
        /// What was found.
        what: String,
        /// What to write instead.
        next: String,
    },
    /// The new text would hold what cannot be used.
    #[error("{}", told(.findings))]
    Found {
        /// What is wrong with it, in the words of the check.
        findings: Vec<Finding>,
    },
    /// Somebody else wrote the file meanwhile.
    #[error(
        "{file} has changed since this page was made, so nothing was written; look at it again below, then send this again"
    )]
    Changed {
        /// The file.
        file: String,
    },
    /// The file is not text.
    #[error("{file} is not UTF-8 text, so nothing is written into it; save it as UTF-8 in your editor first")]
    NotText {
        /// The file.
        file: String,
    },
    /// No such assembly.
    #[error("the plan has no assembly \"{id}\"; go to Assemblies and choose one")]
    NoAssembly {
        /// The name asked for.
        id: String,
    },
    /// A file of this name is there.
    #[error("there is already a file {file}; choose another short name")]
    Taken {
        /// The file.
        file: String,
    },
}

/// Findings as sentences.
fn told(findings: &[Finding]) -> String {
    findings.iter().map(|it| format!("{}; {}", it.what, it.next)).collect::<Vec<_>>().join(". ")
}

impl EntryError {
    fn typed(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self::Typed { what: what.into(), next: next.into() }
    }

    fn found(finding: &Finding) -> Self {
        Self::typed(&finding.what, &finding.next)
    }
}

/// What a page asks to be written into an assembly's file.
#[derive(Clone, Debug, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Edit {
    /// A part more.
    AddPart {
        /// `web .040 2024-T3`
        line: String,
        /// The step that brings it in; empty for none yet.
        #[serde(default)]
        step: String,
    },
    /// Another thickness or material.
    ChangePart {
        /// Which part.
        part: String,
        /// As typed; empty leaves it as it is.
        #[serde(default)]
        thickness: String,
        /// As typed; empty leaves it as it is.
        #[serde(default)]
        material: String,
    },
    /// A row more.
    AddRow(RowEntry),
    /// A row less, in the steps too.
    RemoveRow {
        /// As the steps name it: `web/A`, or `K` without a plane.
        row: String,
    },
    /// One step that brings in all parts and sets all rows.
    OneStep,
    /// Parts and rows that no step names yet, put into one.
    IntoStep {
        /// Which step.
        step: String,
    },
}

/// A row as typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct RowEntry {
    /// `26 × -5, doubler to web`
    pub line: String,
    /// The usual rivet without its length; the line's own words win.
    pub rivet: String,
    /// How flush holes are prepared: a key of [`flush_ways`].
    pub flush: String,
    /// The row's name; empty takes the next free one.
    pub name: String,
    /// The step that sets it; empty for none yet.
    pub step: String,
}

/// An edit that is on the disk.
#[derive(Clone, Debug)]
pub struct Written {
    /// What tells this text from another; for the next edit.
    pub mark: String,
    /// A sentence about it.
    pub says: String,
}

/// What tells one text of a file from another.
#[must_use]
pub fn mark(text: &str) -> String {
    blake3::hash(text.as_bytes()).to_hex()[..16].to_owned()
}

/// The text of an assembly's file as the world has it.
#[must_use]
pub fn plan_file(plan: &Plan, assembly: AssemblyId) -> &SourceText {
    &plan.files[plan[assembly].file]
}

/// Rivets to choose from in row entry: part number and words, the commonest alloy, both heads.
#[must_use]
pub fn usual_rivets() -> Vec<(String, String)> {
    let sizes = [3, 4, 5, 6].into_iter().filter_map(Diameter::from_dash);
    sizes
        .flat_map(|diameter| HeadStyle::ALL.map(|head| RivetType { head, alloy: RivetAlloy::Ad, diameter }))
        .map(|rivet| {
            let head = if rivet.head == HeadStyle::Flush { "flush" } else { "universal" };
            (rivet.to_string(), format!("{rivet}, {} {head}", rivet.diameter))
        })
        .collect()
}

/// Ways of preparing the layers of a flush row, near to far: key and words.
#[must_use]
pub const fn flush_ways() -> [(&'static str, &'static str); 4] {
    [
        ("dimpled", "all layers dimpled"),
        ("countersunk", "near layer countersunk"),
        ("nested", "dimpled into a countersunk far layer"),
        ("", "not said yet"),
    ]
}

/// The rivet and the flush way that the last row of an assembly has, for the next one.
#[must_use]
pub fn last_used(plan: &Plan, assembly: AssemblyId) -> (String, &'static str) {
    let last = plan[assembly].rows.iter().rev().find(|&&row| plan[row].rivet.is_some());
    let Some((&row, rivet)) = last.and_then(|row| Some((row, plan[*row].rivet?))) else {
        return (usual_rivets().get(2).map_or_else(String::new, |(rivet, _)| rivet.clone()), "dimpled");
    };
    let way = if rivet.head == HeadStyle::Flush { flush_way(plan, row) } else { "dimpled" };
    (rivet.to_string(), way)
}

/// How the layers of a row are prepared, as the nearest key of [`flush_ways`].
#[must_use]
pub fn flush_way(plan: &Plan, row: RowId) -> &'static str {
    let how = |how: Preparation| plan[row].prep.iter().any(|(_, it)| *it == how);
    match (how(Preparation::Dimpled), how(Preparation::Countersunk)) {
        (true, true) => "nested",
        (false, true) => "countersunk",
        (true, false) => "dimpled",
        (false, false) => "",
    }
}

/// The next free name for a row without a plane.
#[must_use]
pub fn next_row_name(plan: &Plan, assembly: AssemblyId) -> String {
    let rows: Vec<&str> = plan[assembly]
        .rows
        .iter()
        .filter(|&&row| plan[row].plane.is_none())
        .map(|&row| plan[row].name.as_str())
        .collect();
    edit::next_free(rows.last().copied().unwrap_or("A"), &rows)
}

/// A row as the steps of its assembly name it: `web/A`, or `K` without a plane.
#[must_use]
pub fn row_in_assembly(plan: &Plan, row: RowId) -> String {
    let it = &plan[row];
    match it.plane {
        Some(plane) => format!("{}/{}", plan[plane].name, it.name),
        None => it.name.clone(),
    }
}

/// Parts and rows of an assembly that none of its steps names.
#[must_use]
pub fn without_step(plan: &Plan, assembly: AssemblyId) -> (Vec<String>, Vec<String>) {
    let it = &plan[assembly];
    let steps = || plan.steps.iter();
    let parts = it
        .parts
        .iter()
        .filter(|&&part| !plan[part].pieces.iter().any(|piece| steps().any(|step| step.adds.contains(piece))))
        .map(|&part| plan[part].name.clone())
        .collect();
    let rows = it
        .rows
        .iter()
        .filter(|&&row| {
            plan[row].same.is_none() && !steps().any(|step| step.sets.iter().any(|part| part.row == row))
        })
        .map(|&row| row_in_assembly(plan, row))
        .collect();
    (parts, rows)
}

/// A row for a list: what it joins, what was called and what that comes to.
#[derive(Clone, Debug)]
pub struct RowShown {
    /// Which row.
    pub id: RowId,
    /// Its name, with its plane's where it has one.
    pub name: String,
    /// How many holes.
    pub count: u32,
    /// The fastener as called, or the rivet without its length.
    pub fastener: String,
    /// Layers near to far at its first hole: name, and thickness with preparation.
    pub layers: Vec<(String, String)>,
    /// The sheets alone, in the file's unit; empty where one is not known.
    pub stack: String,
    /// How many different stacks lie along the row; what is shown is that of its first hole.
    pub stacks: usize,
    /// What the lengths come to, in short.
    pub verdict: String,
    /// The reasons, as sentences.
    pub why: Vec<String>,
    /// The working of the length.
    pub working: Option<Working>,
    /// A remark of the plan.
    pub note: String,
    /// Whether its rivets have flush heads.
    pub flush: bool,
}

impl RowShown {
    /// From a plan and its joints.
    #[must_use]
    pub fn of(side: &PlanSide, id: RowId) -> Self {
        let plan = &side.plan;
        let row = &plan[id];
        let unit = plan[row.assembly].unit;
        let first = row.hole_ids().next();
        let pieces = first.map_or(&[][..], |hole| side.joints.stacks.at(hole));
        let joint = first.and_then(|hole| side.joints.at(hole));
        let mut stacks: Vec<u32> = row.hole_ids().map(|hole| side.joints.stacks.number(hole)).collect();
        stacks.sort_unstable();
        stacks.dedup();
        let layers: Vec<(String, String)> = pieces
            .iter()
            .map(|&piece| {
                let part = plan[piece].part;
                let thick =
                    plan[part].thickness.map_or_else(|| "thickness not known".to_owned(), |it| it.show(unit));
                let about = match plan.preparation(id, part) {
                    Preparation::Plain => thick,
                    how => format!("{thick}, {how}"),
                };
                (plan.piece_name(piece), about)
            })
            .collect();
        let whole: Option<Vec<_>> = pieces.iter().map(|&piece| plan[plan[piece].part].thickness).collect();
        let stack = whole.filter(|list| !list.is_empty()).map_or_else(String::new, |list| {
            let sum = list.iter().map(|it| it.nanometres()).sum();
            faying_standards::Length::from_nanometres(sum).show(unit)
        });
        let fastener = match (&row.called, row.rivet) {
            (Some(called), _) => called.to_string(),
            (None, Some(rivet)) => rivet.to_string(),
            (None, None) => "no fastener named".to_owned(),
        };
        Self {
            id,
            name: row_in_assembly(plan, id),
            count: row.count(),
            fastener,
            verdict: joint.map_or_else(|| not_reckoned(plan, id, pieces.len()), verdict),
            why: joint.and_then(|joint| joint.call_out.as_ref()).map_or_else(Vec::new, |it| it.why.clone()),
            working: joint.and_then(|joint| {
                let (Ok(seats), Ok(in_force)) = (&joint.seats, &joint.in_force) else { return None };
                let call_out = joint.call_out.as_ref()?;
                let dash = call_out.best.or(joint.called)?;
                Some(working(seats, in_force, dash, &side.joints.constants))
            }),
            layers,
            stack,
            stacks: stacks.len(),
            note: row.note.clone(),
            flush: row.rivet.is_some_and(|rivet| rivet.head == HeadStyle::Flush),
        }
    }

    /// The row as a line that could have been typed.
    #[must_use]
    pub fn line(&self) -> String {
        let names: Vec<&str> = self.layers.iter().map(|(name, _)| name.as_str()).collect();
        let mut line = format!("{} × {}", self.count, self.fastener);
        for more in [names.join(" to "), self.note.clone()] {
            if !more.is_empty() {
                line.push_str(", ");
                line.push_str(&more);
            }
        }
        line
    }
}

/// What the plan's length and the computed one come to.
fn verdict(joint: &Joint) -> String {
    let Some(call_out) = &joint.call_out else {
        let why = match (&joint.seats, &joint.in_force) {
            (Err(error), _) => error.to_string(),
            (_, Err(error)) => error.to_string(),
            _ => "no length is reckoned for it".to_owned(),
        };
        return format!("Not computed: {why}");
    };
    let best = call_out.best.map_or_else(|| "no length stands".to_owned(), |best| format!("computed {best}"));
    let Some(called) = joint.called else { return format!("No length called; {best}") };
    match call_out.called {
        Some(CalledVerdict::Stands) => format!("{called} stands"),
        Some(CalledVerdict::Coupon) => format!("{called}: prove on a coupon first"),
        Some(CalledVerdict::Short) => format!("{called} is too short; {best}"),
        Some(CalledVerdict::Fold) => format!("{called} is too long and folds; {best}"),
        None => format!("{called} is not weighed up; {best}"),
    }
}

fn not_reckoned(plan: &Plan, row: RowId, layers: usize) -> String {
    match (plan[row].rivet, layers) {
        (None, _) => "Not a solid rivet: its length is not computed here".to_owned(),
        (_, 0) => {
            "Counted only: name its layers, such as doubler to web, to have its length computed".to_owned()
        }
        (_, 1) => "One layer only: name the other".to_owned(),
        _ => "Not computed: write the thickness of every layer".to_owned(),
    }
}

/// What a typed row would be, before it is written.
#[derive(Clone, Debug)]
pub struct Preview {
    /// The row as it would be shown.
    pub row: RowShown,
    /// What would be found about it.
    pub findings: Vec<Finding>,
}

/// Reads a row as typed, against the plan as it is; nothing is written.
///
/// # Errors
/// [`EntryError`] says what cannot be read and what to write.
pub fn preview(world: &World, assembly: &str, row: &RowEntry) -> Result<Preview, EntryError> {
    let plan = world.plan();
    let id = named(plan, assembly)?;
    let file = plan_file(plan, id);
    let limits = plan.files.iter().find(|file| *file.name == *LIMITS_FILE);
    let (text, name) = add_row(&file.text, row)?;
    let mut texts = vec![SourceText { name: file.name.clone(), text: text.into() }];
    texts.extend(limits.cloned());
    let side = PlanSide::with(texts, world.side.missing_metal);
    let id = side
        .plan
        .row_named(&format!("{assembly}/{name}"))
        .ok_or_else(|| EntryError::typed("the file cannot be read as it is", "look at its findings first"))?;
    let place = side.plan.row_place(id);
    let findings = side
        .findings
        .iter()
        .filter(|it| it.place.as_ref().is_some_and(|it| it.line == place.line))
        .cloned()
        .collect();
    Ok(Preview { row: RowShown::of(&side, id), findings })
}

/// Makes an edit on the disk.
///
/// - `seen`: the mark of the text from which the page was made
///
/// # Errors
/// [`EntryError`] where it is refused; then the file is as it was.
pub fn write(build: &Build, assembly: &str, seen: &str, asked: &Edit) -> Result<Written, EntryError> {
    write_with(build, assembly, seen, |text| edited(text, assembly, asked))
}

/// One writer of plan files at a time: what is compared must still be there when it is replaced.
static WRITING: Mutex<()> = Mutex::new(());

pub(crate) fn write_with(
    build: &Build,
    assembly: &str,
    seen: &str,
    make: impl FnOnce(&str) -> Result<(String, String), EntryError>,
) -> Result<Written, EntryError> {
    let _alone = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
    build.refresh()?;
    let name = {
        let world = build.world();
        plan_file(world.plan(), named(world.plan(), assembly)?).name.to_string()
    };
    write_file(build, &name, None, seen, make)
}

/// Makes an edit of one file; the caller holds [`WRITING`].
///
/// - `start`: what the file begins with where there is none yet
fn write_file(
    build: &Build,
    name: &str,
    start: Option<&str>,
    seen: &str,
    make: impl FnOnce(&str) -> Result<(String, String), EntryError>,
) -> Result<Written, EntryError> {
    let path = build.folder().path().join(name);
    let bytes = match (std::fs::read(&path), start) {
        (Err(error), Some(start)) if error.kind() == std::io::ErrorKind::NotFound => {
            start.as_bytes().to_vec()
        }
        (read, _) => read.map_err(BuildError::file(&path))?,
    };
    let whole = String::from_utf8(bytes).map_err(|_| EntryError::NotText { file: name.to_owned() })?;
    // Some editors put a mark in front that says "UTF-8"; it stays.
    let (front, text) =
        whole.strip_prefix('\u{feff}').map_or(("", whole.as_str()), |text| ("\u{feff}", text));
    if mark(text) != seen {
        return Err(EntryError::Changed { file: name.to_owned() });
    }
    let (new, says) = make(text)?;
    replace(&path, &format!("{front}{new}"))?;
    build.refresh()?;
    Ok(Written { mark: mark(&new), says })
}

/// Puts a text in the place of a file: whole on the disk before it takes the name.
fn replace(path: &Path, text: &str) -> Result<(), BuildError> {
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or("plan.toml");
    // Hidden, so that a reader in the meantime does not take it for a plan file.
    let fresh = path.with_file_name(format!(".{name}.new"));
    let write = || -> std::io::Result<()> {
        let mut file = std::fs::File::create(&fresh)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        if let Ok(about) = std::fs::metadata(path) {
            std::fs::set_permissions(&fresh, about.permissions())?;
        }
        std::fs::rename(&fresh, path)
    };
    write().map_err(BuildError::file(path))?;
    sync_folder(path);
    Ok(())
}

/// The name itself is in the folder: a power cut must not bring the old file back. Not every system can.
fn sync_folder(path: &Path) {
    if let Some(folder) = path.parent().and_then(|folder| std::fs::File::open(folder).ok()) {
        let _ = folder.sync_all();
    }
}

/// The new text, and a sentence about it.
///
/// # Errors
/// [`EntryError`] where the edit cannot be made, or would make something of the file unusable.
pub fn edited(text: &str, assembly: &str, asked: &Edit) -> Result<(String, String), EntryError> {
    let (new, says) = match asked {
        Edit::AddPart { line, step } => {
            let plan = of_text(text);
            let unit = plan.assemblies.first().map_or(Unit::Inch, |assembly| assembly.unit);
            let part = part_line(line, unit)?;
            let mut new = edit::add_part(text, &part.name, &part.text)?;
            if !step.is_empty() {
                new = edit::extend_step(&new, step, std::slice::from_ref(&part.name), &[])?;
            }
            (new, format!("Part {} is in the plan.", part.name))
        }
        Edit::ChangePart { part, thickness, material } => {
            if thickness.trim().is_empty() && material.trim().is_empty() {
                return Err(EntryError::typed(
                    format!("nothing was typed for part {part}"),
                    "write its thickness, such as .040, or its material",
                ));
            }
            let change =
                PartText { thickness: thickness.clone(), material: material.clone(), ..PartText::default() };
            (edit::change_part(text, part, &change)?, format!("Part {part} is changed."))
        }
        Edit::AddRow(row) => {
            let (new, name) = add_row(text, row)?;
            (new, format!("Row {name} is in the plan."))
        }
        Edit::RemoveRow { row } => {
            let (plane, name) = match row.split_once('/') {
                Some((plane, name)) => (Some(plane), name),
                None => (None, row.as_str()),
            };
            let new = edit::remove_row(&edit::unset_row(text, row)?, plane, name)?;
            (new, format!("Row {row} is taken out of the plan."))
        }
        Edit::OneStep => one_step(text)?,
        Edit::IntoStep { step } => {
            let plan = of_text(text);
            let (parts, rows) = without_step(&plan, named(&plan, assembly)?);
            let new = edit::extend_step(text, step, &parts, &rows)?;
            (new, format!("{} is in step {step}.", words(&[parts, rows].concat())))
        }
    };
    match newly_wrong(text, &new) {
        Some(finding) => Err(EntryError::found(&finding)),
        None => Ok((new, says)),
    }
}

fn add_row(text: &str, entry: &RowEntry) -> Result<(String, String), EntryError> {
    let plan = of_text(text);
    let row = line::row_line(&plan, entry)?;
    let name = match entry.name.trim() {
        "" => plan.assemblies.first().map_or_else(|| "A".to_owned(), |_| next_row_name(&plan, AssemblyId(0))),
        name => name.to_owned(),
    };
    let mut new = edit::add_row(text, None, &name, &row)?;
    if !entry.step.is_empty() {
        new = edit::extend_step(&new, &entry.step, &[], std::slice::from_ref(&name))?;
    }
    Ok((new, name))
}

/// A step that sets everything that no step sets yet.
pub(crate) fn one_step(text: &str) -> Result<(String, String), EntryError> {
    let plan = of_text(text);
    let Some(assembly) = plan.assemblies.first() else {
        return Err(EntryError::typed("the file cannot be read as it is", "look at its findings first"));
    };
    let (adds, sets) = without_step(&plan, AssemblyId(0));
    if sets.is_empty() {
        return Err(EntryError::typed("there is no row that a step could set", "type a row first"));
    }
    let taken: Vec<&str> = assembly.steps.iter().map(|&step| plan[step].name.as_str()).collect();
    let name = edit::next_free("assemble", &taken);
    let step = StepText { adds, sets, ..StepText::default() };
    Ok((edit::add_step(text, &name, &step)?, format!("Step {name} sets every row; a run can be started.")))
}

/// The plan of one file alone.
fn of_text(text: &str) -> Plan {
    faying_plan::read(vec![SourceText { name: "this file".into(), text: text.into() }]).plan
}

/// The first thing of the new text that cannot be used and was not there before.
fn newly_wrong(old: &str, new: &str) -> Option<Finding> {
    all_newly_wrong("this file", old, new).into_iter().next()
}

/// All of them.
///
/// - `name`: the file's, by which the reader knows what it is
fn all_newly_wrong(name: &str, old: &str, new: &str) -> Vec<Finding> {
    let wrong = |text: &str| -> Vec<Finding> {
        let texts = vec![SourceText { name: name.into(), text: text.into() }];
        let side = PlanSide::of(texts);
        side.findings.into_iter().filter(|it| it.severity == Severity::Wrong).collect()
    };
    let before = wrong(old);
    let newly = |it: &Finding| !before.iter().any(|old| old.kind == it.kind && old.what == it.what);
    wrong(new).into_iter().filter(newly).collect()
}

fn named(plan: &Plan, id: &str) -> Result<AssemblyId, EntryError> {
    plan.assembly_named(id).ok_or_else(|| EntryError::NoAssembly { id: id.to_owned() })
}

fn words(names: &[String]) -> String {
    match names {
        [] => "nothing new".to_owned(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Makes the file of a new assembly; gives its id.
///
/// # Errors
/// [`EntryError`] where the short name cannot be one, or is taken.
pub fn new_assembly(build: &Build, id: &str, title: &str, units: &str) -> Result<String, EntryError> {
    let unit = match units {
        "mm" => Unit::Millimetre,
        _ => Unit::Inch,
    };
    create(build, id, |id| edit::new_assembly(id, title, unit))
}

/// Makes the file of the other hand of an assembly; gives its id.
///
/// # Errors
/// [`EntryError`] where there is no such assembly, it is itself the other hand
/// of one, or the short name cannot be one or is taken.
pub fn mirror(build: &Build, of: &str, id: &str, title: &str) -> Result<String, EntryError> {
    {
        let world = build.world();
        let plan = world.plan();
        let it = named(plan, of)?;
        if plan[it].mirrored {
            return Err(EntryError::typed(
                format!("{of} is itself the other hand of an assembly"),
                "mirror the assembly whose file it is made from",
            ));
        }
    }
    create(build, id, |id| {
        // The other hand has the unit of the file it is made from, so it says none.
        let text = edit::new_assembly(id, title, Unit::Inch);
        let kept: Vec<&str> = text.lines().filter(|line| !line.starts_with("units = ")).collect();
        format!("{}\nmirror = \"{of}\"\n", kept.join("\n"))
    })
}

fn create(build: &Build, id: &str, text: impl FnOnce(&str) -> String) -> Result<String, EntryError> {
    let _alone = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
    let id = id.trim();
    if id.is_empty() || !id.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_') {
        return Err(EntryError::typed(
            format!("\"{id}\" cannot be the short name of an assembly"),
            "use letters, digits, - and _, for example flap-right",
        ));
    }
    build.refresh()?;
    let name = format!("{PLAN_FOLDER}/{id}.toml");
    if build.world().plan().assembly_named(id).is_some() {
        return Err(EntryError::Taken { file: name });
    }
    let path: PathBuf = build.folder().path().join(&name);
    let mut file = match std::fs::File::create_new(&path) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            return Err(EntryError::Taken { file: name });
        }
        Err(error) => return Err(BuildError::file(path)(error).into()),
    };
    file.write_all(text(id).as_bytes()).and_then(|()| file.sync_all()).map_err(BuildError::file(&path))?;
    sync_folder(&path);
    build.refresh()?;
    Ok(id.to_owned())
}
