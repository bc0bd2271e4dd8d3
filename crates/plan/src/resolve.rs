//! Drafts to a checked [`Plan`]: names looked up, mirror images made, holes laid out.
//!
//! Nothing is thrown away in silence: what cannot be resolved is a finding,
//! and the rest of the plan stands without it. Findings are gathered over all
//! files, so that a builder mends a plan in one go.

mod gates;

use std::collections::{HashMap, HashSet};

use faying_standards::fastener::Fastener;
use faying_standards::rivet::{Dash, RivetType};
use faying_standards::{Finding, Length, Unit, inches};

use crate::draft::{AssemblyDraft, GateDraft, PlaneDraft, Put, PutText, Reader, RowDraft, list, spoken};
use crate::geometry::{Loop, Point};
use crate::keys::nearest;
use crate::limits::{BuildLimits, read_limits};
use crate::model::{
    Assembly, AssemblyId, Attach, Bay, BayId, Depth, Flange, HeadSide, Hold, Hole, Layer, Part, PartId,
    Piece, PieceId, Plan, Plane, PlaneId, PlaneSide, Preparation, Row, RowId, RowPart, Side, Stand, Step,
    StepId, Work, side_named,
};
use crate::people::read_people;
use crate::tools::{STARTER, read_tools};
use crate::tree::{SourceText, Spot, Table, Value, parse};

/// A plan, and everything that was found while it was read.
#[derive(Clone, Debug)]
pub struct Reading {
    /// What could be read.
    pub plan: Plan,
    /// What was found, in the order of files and lines.
    pub findings: Vec<Finding>,
}

/// Reads the files of a build: `plan/*.toml` and, by those names, `limits.toml`, `tools.toml`,
/// `people.toml` and `gates.toml`.
///
/// The texts are taken in the order given; a folder's files should come
/// sorted by name, so that the same folder gives the same plan everywhere.
///
/// ```
/// use faying_plan::{SourceText, read};
/// let text = r#"
/// format = 1
/// id = "tab"
/// [parts]
/// skin = { material = "2024-T3", thickness = 0.025, copies = ["upper", "lower"] }
/// [rows]
/// A = { count = 12, called = "MS20470AD4-4", through = ["skin/upper", "skin/lower"] }
/// "#;
/// let reading = read(vec![SourceText { name: "plan/tab.toml".into(), text: text.into() }]);
/// assert!(reading.findings.is_empty());
/// assert_eq!(reading.plan.holes.len(), 12);
/// ```
#[must_use]
pub fn read(files: Vec<SourceText>) -> Reading {
    let mut findings = Vec::new();
    let mut trees = Vec::new();
    let mut limits = BuildLimits::default();
    let mut tools = None;
    let mut people = None;
    let mut gates = None;
    for (index, file) in files.iter().enumerate() {
        let (tree, syntax) = parse(u16::try_from(index).unwrap_or(u16::MAX), file);
        findings.extend(syntax);
        if &*file.name == "limits.toml" {
            let (read, found) = read_limits(&files, u16::try_from(index).unwrap_or(u16::MAX), &tree);
            limits = read;
            findings.extend(found);
        } else if &*file.name == "tools.toml" {
            let (read, found) = read_tools(&files, u16::try_from(index).unwrap_or(u16::MAX), &tree);
            // As it came: nobody has measured anything yet.
            tools = (*file.text != *STARTER).then_some(read);
            findings.extend(found);
        } else if &*file.name == "people.toml" {
            let (read, found) = read_people(&files, u16::try_from(index).unwrap_or(u16::MAX), &tree);
            people = Some(read);
            findings.extend(found);
        } else if &*file.name == "gates.toml" {
            gates = Some((u16::try_from(index).unwrap_or(u16::MAX), tree));
        } else {
            trees.push((u16::try_from(index).unwrap_or(u16::MAX), tree));
        }
    }
    let mut reader = Reader::new(&files);
    let drafts = draft_assemblies(&mut reader, &trees);
    let whole_build = gates.map_or_else(Vec::new, |(file, tree)| reader.whole_build(file, &tree));
    let mut resolver = Resolver::new(reader, drafts, whole_build);
    resolver.run();
    let Resolver { reader, mut plan, .. } = resolver;
    findings.extend(reader.findings);
    sort_findings(&mut findings, &files);
    plan.limits = limits;
    if let Some(tools) = tools {
        plan.tools = tools;
    }
    plan.people = people.unwrap_or_default();
    plan.files = files;
    Reading { plan, findings }
}

/// In the order of files and lines; what a mirror image repeats is told once.
fn sort_findings(findings: &mut Vec<Finding>, files: &[SourceText]) {
    let order = |finding: &Finding| {
        finding
            .place
            .as_ref()
            .map(|place| (files.iter().position(|file| file.name == place.file), place.line, place.column))
    };
    findings.sort_by_key(order);
    // What the text cannot be read for is one finding, not also what is missing because of it.
    let unread: Vec<_> =
        findings.iter().filter(|f| f.kind == "syntax").filter_map(|f| f.place.clone()).collect();
    findings.retain(|finding| {
        let Some(place) = finding.place.as_ref().filter(|_| finding.kind != "syntax") else { return true };
        let reach = place.column..place.column + place.width;
        !unread.iter().any(|at| at.file == place.file && at.line == place.line && reach.contains(&at.column))
    });
    let mut told = HashSet::new();
    findings.retain(|finding| {
        let place = finding.place.as_ref().map(|place| (place.file.clone(), place.line, place.column));
        told.insert((place, finding.kind, finding.what.clone()))
    });
}

/// Reads every file as an assembly, mirror images from the file they mirror.
fn draft_assemblies(reader: &mut Reader<'_>, trees: &[(u16, Table)]) -> Vec<AssemblyDraft> {
    let mut drafts = Vec::with_capacity(trees.len());
    for (file, tree) in trees {
        let Some(mirror) = reader.put_text(tree, "mirror") else {
            drafts.extend(reader.assembly(*file, tree));
            continue;
        };
        let id_of = |tree: &Table| match tree.get("id").map(|node| &node.value) {
            Some(Value::Text(id)) => Some(id.trim().to_owned()),
            _ => None,
        };
        let original = trees.iter().find(|(_, other)| id_of(other).as_deref() == Some(&mirror.value));
        match original {
            Some((_, other)) if other.get("mirror").is_some() => {
                let what = format!("\"{}\" is itself a mirror image", mirror.value);
                reader.wrong(mirror.spot, "mirror", what, "mirror the assembly that it mirrors");
            }
            Some((_, other)) => drafts.extend(mirror_draft(reader, *file, tree, other)),
            None => {
                let ids: Vec<String> = trees.iter().filter_map(|(_, tree)| id_of(tree)).collect();
                let next = suggest(&mirror.value, ids.iter().map(String::as_str), "assembly");
                reader.wrong(
                    mirror.spot,
                    "unknown-name",
                    format!("there is no assembly \"{}\" to mirror", mirror.value),
                    next,
                );
            }
        }
    }
    drafts
}

fn mirror_draft(reader: &mut Reader<'_>, file: u16, own: &Table, original: &Table) -> Option<AssemblyDraft> {
    const OWN: [&str; 7] = ["format", "id", "title", "units", "mirror", "differs", "note"];
    for entry in &own.0 {
        if !OWN.contains(&entry.key.as_str()) {
            let what = format!("\"{}\" stands beside `mirror`", entry.key);
            let next = format!("what the other hand has differently goes under [differs.{}]", entry.key);
            reader.wrong(entry.key_spot, "mirror", what, next);
        }
    }
    // One file has one unit: the numbers of the original are read again for this hand.
    let unit_of = |table: &Table| match table.get("units").map(|node| &node.value) {
        Some(Value::Text(unit)) => unit.trim().to_owned(),
        _ => "in".to_owned(),
    };
    if let Some(units) = own.get("units")
        && unit_of(own) != unit_of(original)
    {
        let what = format!("\"units\" is not that of the assembly that is mirrored, {}", unit_of(original));
        let next = "leave it out, and write the unit behind the numbers of [differs], such as \"3.2 mm\"";
        reader.wrong(units.spot, "mirror", what, next);
    }
    let mut merged = original.clone();
    if let Some(differs) = reader.table(own, "differs") {
        let mut differs = differs.clone();
        for entry in &differs.0 {
            if OWN.contains(&entry.key.as_str()) {
                let what = format!("\"{}\" stands under [differs]", entry.key);
                let next = format!("write {} at the top of the file, beside `mirror`", entry.key);
                reader.wrong(entry.key_spot, "mirror", what, next);
            }
        }
        differs.0.retain(|entry| !OWN.contains(&entry.key.as_str()));
        merged.overlay(&differs);
    }
    let mut head = own.clone();
    head.0.retain(|entry| matches!(entry.key.as_str(), "format" | "id" | "title" | "mirror" | "note"));
    // The other hand's name and remark are its own, not a copy.
    merged.0.retain(|entry| !matches!(entry.key.as_str(), "format" | "id" | "title" | "note"));
    merged.overlay(&head);
    reader.assembly(file, &merged)
}

/// What to write instead of an unknown name.
fn suggest<'t>(word: &str, known: impl Iterator<Item = &'t str>, sort: &str) -> String {
    let known: Vec<&str> = known.collect();
    match nearest(word, known.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if known.is_empty() => format!("there is no {sort} yet"),
        None if known.len() <= 12 => format!("write one of {}", list(known)),
        None => format!("write the name of one of the {} that there are", known.len()),
    }
}

struct Resolver<'a> {
    reader: Reader<'a>,
    drafts: Vec<AssemblyDraft>,
    plan: Plan,
    assembly_ids: HashMap<String, AssemblyId>,
    /// Rows written with `same`: their holes are those of another row.
    seeing: HashSet<RowId>,
    /// The gates of `gates.toml`.
    whole_build: Vec<GateDraft>,
}

impl<'a> Resolver<'a> {
    fn new(reader: Reader<'a>, drafts: Vec<AssemblyDraft>, whole_build: Vec<GateDraft>) -> Self {
        Self {
            reader,
            drafts,
            plan: Plan::default(),
            assembly_ids: HashMap::new(),
            seeing: HashSet::new(),
            whole_build,
        }
    }

    fn run(&mut self) {
        self.assemblies();
        self.mirrors();
        let drafts = std::mem::take(&mut self.drafts);
        for (index, draft) in drafts.iter().enumerate() {
            self.parts(AssemblyId::from_index(index), draft);
        }
        for (index, draft) in drafts.iter().enumerate() {
            self.planes(AssemblyId::from_index(index), draft);
        }
        for (index, draft) in drafts.iter().enumerate() {
            self.rows(AssemblyId::from_index(index), draft);
        }
        for (index, draft) in drafts.iter().enumerate() {
            self.same(AssemblyId::from_index(index), draft);
            self.bays(AssemblyId::from_index(index), draft);
        }
        for (index, draft) in drafts.iter().enumerate() {
            self.step_names(AssemblyId::from_index(index), draft);
        }
        for (index, draft) in drafts.iter().enumerate() {
            self.steps(AssemblyId::from_index(index), draft);
            self.stands(AssemblyId::from_index(index), draft);
            self.holds(AssemblyId::from_index(index), draft);
            self.gates(Some(AssemblyId::from_index(index)), &draft.gates);
        }
        let whole_build = std::mem::take(&mut self.whole_build);
        self.gates(None, &whole_build);
        self.closings();
        self.circles();
        self.unused();
    }

    fn assemblies(&mut self) {
        let mut kept = Vec::with_capacity(self.drafts.len());
        for draft in std::mem::take(&mut self.drafts) {
            if let Some(&other) = self.assembly_ids.get(&draft.id.value) {
                let file = self.reader.files[self.plan[other].file].name.clone();
                let what = format!("the id \"{}\" is already taken by {file}", draft.id.value);
                self.reader.wrong(draft.id.spot, "duplicate", what, "give one of the two another id");
                continue;
            }
            let id = AssemblyId::from_index(self.plan.assemblies.len());
            self.assembly_ids.insert(draft.id.value.clone(), id);
            self.plan.assemblies.push(Assembly {
                id: draft.id.value.clone(),
                title: draft.title.clone().unwrap_or_else(|| spoken(&draft.id.value)),
                unit: draft.unit,
                mirrored: draft.mirror.is_some(),
                mirror_of: None,
                file: usize::from(draft.file),
                note: draft.note.clone().unwrap_or_default(),
                planes: Vec::new(),
                parts: Vec::new(),
                rows: Vec::new(),
                steps: Vec::new(),
                bays: Vec::new(),
                gates: Vec::new(),
            });
            kept.push(draft);
        }
        self.drafts = kept;
    }

    fn mirrors(&mut self) {
        for (index, draft) in self.drafts.iter().enumerate() {
            if let Some(mirror) = &draft.mirror {
                self.plan.assemblies[index].mirror_of = self.assembly_ids.get(&mirror.value).copied();
            }
        }
    }

    /// The assembly that `name` means in a file: the other hand speaks of the other hand.
    fn assembly(&self, context: AssemblyId, name: &str, spot: Spot) -> Option<AssemblyId> {
        let named = self.assembly_ids.get(name).copied()?;
        let own = &self.plan[context];
        let copied = own.mirror_of.is_some() && usize::from(spot.file) != own.file;
        if !copied {
            return Some(named);
        }
        if own.mirror_of == Some(named) {
            return Some(context);
        }
        let image = self.plan.assemblies.iter().position(|other| other.mirror_of == Some(named));
        Some(image.map_or(named, AssemblyId::from_index))
    }

    fn parts(&mut self, assembly: AssemblyId, draft: &AssemblyDraft) {
        for part in &draft.parts {
            let id = PartId::from_index(self.plan.parts.len());
            let mut pieces = Vec::new();
            let mut copies: Vec<&str> = Vec::new();
            for copy in &part.copies {
                if copies.contains(&copy.value.as_str()) {
                    let what = format!("part {} has two copies called \"{}\"", part.name.value, copy.value);
                    self.reader.wrong(copy.spot, "duplicate", what, "give every copy a name of its own");
                } else {
                    copies.push(&copy.value);
                }
            }
            if copies.is_empty() {
                copies.push("");
            }
            for copy in copies {
                pieces.push(PieceId::from_index(self.plan.pieces.len()));
                self.plan.pieces.push(Piece { part: id, copy: copy.to_owned() });
            }
            if let Some(material) = &part.material {
                self.check_material(material);
            }
            self.plan.assemblies[assembly.index()].parts.push(id);
            self.plan.parts.push(Part {
                assembly,
                name: part.name.value.clone(),
                title: part.title.clone().unwrap_or_else(|| spoken(&part.name.value)),
                material: part.material.as_ref().map(|put| put.value.clone()).unwrap_or_default(),
                thickness: part.thickness.as_ref().map(|put| put.value),
                finish: part.finish.clone().unwrap_or_default(),
                number: part.number.clone().unwrap_or_default(),
                pieces,
                note: part.note.clone().unwrap_or_default(),
                spot: part.name.spot,
            });
        }
    }

    /// A material that is almost one of the standards' is a slip; any other is the builder's business.
    fn check_material(&mut self, material: &PutText) {
        let known = faying_standards::figures().sheet_alloys();
        if known.iter().any(|alloy| alloy.name == material.value) {
            return;
        }
        let Some(near) = nearest(&material.value, known.iter().map(|alloy| alloy.name.as_str())) else {
            return;
        };
        let alloy = |name: &str| name.chars().filter(char::is_ascii_digit).take(4).collect::<String>();
        if alloy(near) != alloy(&material.value) {
            let what = format!("no standard here knows the material \"{}\"", material.value);
            self.reader.look(material.spot, "unknown-material", what, format!("did you mean \"{near}\"?"));
        }
        // The same alloy in another temper is not a slip.
    }

    /// The part `name` means in a file: its own, or `assembly/part`.
    fn part(&self, context: AssemblyId, name: &str, spot: Spot) -> Option<PartId> {
        let own = |assembly: AssemblyId, name: &str| {
            self.plan[assembly].parts.iter().copied().find(|&part| self.plan[part].name == name)
        };
        own(context, name).or_else(|| {
            let (assembly, part) = name.split_once('/')?;
            own(self.assembly(context, assembly, spot)?, part)
        })
    }

    /// The pieces `name` means: a part, a copy of it, a whole assembly, or those of another assembly.
    fn pieces(&self, context: AssemblyId, name: &str, spot: Spot) -> Option<Vec<PieceId>> {
        if let Some(part) = self.part(context, name, spot) {
            return Some(self.plan[part].pieces.clone());
        }
        if let Some((part, copy)) = name.rsplit_once('/')
            && let Some(part) = self.part(context, part, spot)
        {
            let piece = self.plan[part].pieces.iter().copied().find(|&piece| self.plan[piece].copy == copy);
            return piece.map(|piece| vec![piece]);
        }
        let assembly = self.assembly(context, name, spot)?;
        if assembly == context {
            return None;
        }
        Some(self.plan[assembly].parts.iter().flat_map(|&part| self.plan[part].pieces.clone()).collect())
    }

    fn part_names(&self, assembly: AssemblyId) -> Vec<String> {
        let mut names = Vec::new();
        for &part in &self.plan[assembly].parts {
            names.push(self.plan[part].name.clone());
            names.extend(
                self.plan[part]
                    .pieces
                    .iter()
                    .filter(|&&p| !self.plan[p].copy.is_empty())
                    .map(|&p| self.plan.piece_name(p)),
            );
        }
        names
    }

    fn unknown_part(&mut self, assembly: AssemblyId, put: &PutText) {
        let names = self.part_names(assembly);
        let next = suggest(&put.value, names.iter().map(String::as_str), "part");
        self.reader.wrong(put.spot, "unknown-name", format!("there is no part \"{}\"", put.value), next);
    }

    fn planes(&mut self, assembly: AssemblyId, draft: &AssemblyDraft) {
        for plane in &draft.planes {
            let id = PlaneId::from_index(self.plan.planes.len());
            let near = plane.near.as_ref().map_or("near", |put| &put.value).to_owned();
            let far = plane.far.as_ref().map_or("far", |put| &put.value).to_owned();
            if near == far {
                let spot = plane.far.as_ref().map_or(plane.name.spot, |put| put.spot);
                let what = format!("both sides of plane {} are called \"{near}\"", plane.name.value);
                self.reader.wrong(
                    spot,
                    "wrong-name",
                    what,
                    "give the two sides different names, such as aft and forward",
                );
            }
            let layers = self.layers(assembly, plane);
            let flanges = self.flanges(assembly, plane, &near, &far);
            self.plan.assemblies[assembly.index()].planes.push(id);
            self.plan.planes.push(Plane {
                assembly,
                name: plane.name.value.clone(),
                title: plane.title.clone().unwrap_or_else(|| spoken(&plane.name.value)),
                near,
                far,
                layers,
                bends: plane.bends.iter().map(|bend| bend.line).collect(),
                flanges,
                stands: Vec::new(),
                rows: Vec::new(),
                note: plane.note.clone().unwrap_or_default(),
                spot: plane.name.spot,
            });
        }
    }

    /// The flanges of a plane's bends.
    fn flanges(&mut self, assembly: AssemblyId, plane: &PlaneDraft, near: &str, far: &str) -> Vec<Flange> {
        let mut flanges = Vec::new();
        for (index, bend) in plane.bends.iter().enumerate() {
            let pieces = match &bend.part {
                Some(part) => match self.pieces(assembly, &part.value, part.spot) {
                    Some(pieces) => pieces,
                    None => {
                        self.unknown_part(assembly, part);
                        continue;
                    }
                },
                None => Vec::new(),
            };
            let (Some(side), Some(height)) = (&bend.side, bend.height) else { continue };
            let Some(side) = self.side_of(side, &plane.name.value, near, far) else { continue };
            flanges.push(Flange { bend: index, pieces, side, height, lip: bend.lip });
        }
        flanges
    }

    /// The side of a plane that a key `side` names.
    fn side_of(&mut self, put: &PutText, plane: &str, near: &str, far: &str) -> Option<Side> {
        let side = side_named(&put.value, near, far);
        if side.is_none() {
            let what = format!("\"{}\" is not a side of plane {plane}", put.value);
            let next = format!("write side = \"{near}\" or side = \"{far}\"");
            self.reader.wrong(put.spot, "wrong-side", what, next);
        }
        side
    }

    /// What stands on the planes of an assembly; its steps are named by now.
    fn stands(&mut self, assembly: AssemblyId, draft: &AssemblyDraft) {
        let planes = self.plan[assembly].planes.clone();
        for (plane, id) in draft.planes.iter().zip(planes) {
            let (near, far) = (self.plan[id].near.clone(), self.plan[id].far.clone());
            let mut stands = Vec::new();
            for stand in &plane.stands {
                let from = stand.from.as_ref().and_then(|put| {
                    let step = self.step_id(assembly, &put.value, put.spot);
                    if step.is_none() {
                        self.unknown_step(assembly, put);
                    }
                    step
                });
                let Some(side) = self.side_of(&stand.side, &plane.name.value, &near, &far) else { continue };
                stands.push(Stand {
                    name: stand.name.value.clone(),
                    outline: stand.outline.clone(),
                    side,
                    height: stand.height,
                    from,
                    note: stand.note.clone().unwrap_or_default(),
                });
            }
            self.plan.planes[id.index()].stands = stands;
        }
    }

    fn layers(&mut self, assembly: AssemblyId, plane: &PlaneDraft) -> Vec<Layer> {
        let mut layers: Vec<Layer> = Vec::new();
        for name in &plane.layers {
            let Some(pieces) = self.pieces(assembly, &name.value, name.spot) else {
                self.unknown_part(assembly, name);
                continue;
            };
            if layers.iter().any(|layer| pieces.contains(&layer.piece)) {
                let what =
                    format!("\"{}\" stands twice among the layers of plane {}", name.value, plane.name.value);
                self.reader.wrong(name.spot, "duplicate", what, "name every layer once");
                continue;
            }
            let outlines = self.shapes_of(assembly, plane, &plane.outlines, &pieces, "outline", name);
            let cuts = self.shapes_of(assembly, plane, &plane.cuts, &pieces, "cut", name);
            for (index, &piece) in pieces.iter().enumerate() {
                let outline = if pieces.len() == 1 { outlines.first() } else { outlines.get(index) };
                layers.push(Layer {
                    piece,
                    outline: outline.cloned(),
                    // A lone piece has all the cut-outs; copies have one each, by number.
                    cuts: if pieces.len() == 1 {
                        cuts.clone()
                    } else {
                        cuts.get(index).cloned().into_iter().collect()
                    },
                });
            }
        }
        if plane.layers.is_empty() && !plane.rows.is_empty() {
            let what = format!("plane {} has rows and no layers", plane.name.value);
            self.reader.wrong(
                plane.name.spot,
                "no-layers",
                what,
                "write layers = [\"…\"], the parts from near to far",
            );
        }
        for (name, _) in plane.outlines.iter().chain(&plane.cuts) {
            // By the same name or one that means the same: the outline of "cap" is not that of "cap/upper".
            let known = self.pieces(assembly, &name.value, name.spot).is_some_and(|pieces| {
                plane
                    .layers
                    .iter()
                    .any(|layer| self.pieces(assembly, &layer.value, layer.spot).as_ref() == Some(&pieces))
            });
            if !known {
                let next =
                    suggest(&name.value, plane.layers.iter().map(|layer| layer.value.as_str()), "layer");
                let what = format!("\"{}\" is not a layer of plane {}", name.value, plane.name.value);
                self.reader.wrong(name.spot, "unknown-name", what, next);
            }
        }
        layers
    }

    /// The shapes that a plane gives for these pieces, one for each copy.
    fn shapes_of(
        &mut self,
        assembly: AssemblyId,
        plane: &PlaneDraft,
        shapes: &[(PutText, Vec<Loop>)],
        pieces: &[PieceId],
        key: &str,
        layer: &PutText,
    ) -> Vec<Loop> {
        let mut found = Vec::new();
        for (name, loops) in shapes {
            if self.pieces(assembly, &name.value, name.spot).as_deref() == Some(pieces) {
                if key == "outline" && loops.len() != pieces.len() && !loops.is_empty() {
                    let what = if pieces.len() == 1 {
                        format!(
                            "{} has one copy and {} outlines in plane {}",
                            layer.value,
                            loops.len(),
                            plane.name.value
                        )
                    } else {
                        let outlines = if loops.len() == 1 {
                            "one outline".to_owned()
                        } else {
                            format!("{} outlines", loops.len())
                        };
                        format!(
                            "{} has {} copies and {outlines} in plane {}",
                            layer.value,
                            pieces.len(),
                            plane.name.value
                        )
                    };
                    self.reader.wrong(
                        name.spot,
                        "copies",
                        what,
                        "write one outline for each copy, in the order of copies",
                    );
                }
                found.extend(loops.iter().cloned());
            }
        }
        found
    }

    fn rows(&mut self, assembly: AssemblyId, draft: &AssemblyDraft) {
        let plane_ids = self.plan[assembly].planes.clone();
        for (plane, &id) in draft.planes.iter().zip(&plane_ids) {
            for row in &plane.rows {
                if row.same.is_some() {
                    let others = ["from", "to", "at", "pitch", "like", "shift", "count"];
                    one_of_two(&mut self.reader, row, "same", &others);
                }
            }
            let mut laid = Laid::new(&plane.rows, draft.unit);
            for (index, row) in plane.rows.iter().enumerate() {
                let positions =
                    if row.same.is_some() { Vec::new() } else { laid.positions(&mut self.reader, index) };
                self.row(assembly, Some((id, plane)), row, draft, Places::At(positions));
            }
        }
        for row in &draft.rows {
            if draft.planes.iter().any(|plane| plane.name.value == row.name.value) {
                let what = format!("row {} has the name of a plane", row.name.value);
                let next = "give it another name: web/3 would be a hole of the one and a row of the other";
                self.reader.wrong(row.name.spot, "duplicate", what, next);
                continue;
            }
            if let Some((key, spot)) =
                positions_of(row).into_iter().find_map(|(key, spot)| Some((key, spot?)))
            {
                let what = format!("row {} has `{key}` and lies in no plane", row.name.value);
                let next = "move the row into [planes.NAME.rows], or give its count only";
                self.reader.wrong(spot, "no-plane", what, next);
            }
            let count = row.count.as_ref().map_or(0, |put| put.value);
            if row.count.is_none() && !row.faulty {
                let what = format!("row {} does not say how many holes it has", row.name.value);
                self.reader.wrong(row.name.spot, "no-count", what, "write count = 12");
            }
            self.row(assembly, None, row, draft, Places::Counted(count));
        }
    }

    fn row(
        &mut self,
        assembly: AssemblyId,
        plane: Option<(PlaneId, &PlaneDraft)>,
        row: &RowDraft,
        draft: &AssemblyDraft,
        places: Places,
    ) {
        let id = RowId::from_index(self.plan.rows.len());
        let first = u32::try_from(self.plan.holes.len()).unwrap_or(u32::MAX);
        match places {
            Places::At(points) => self.plan.holes.extend((1..).zip(points).map(|(number, at)| Hole {
                row: id,
                number,
                at: Some(at),
            })),
            Places::Counted(count) => {
                self.plan.holes.extend((1..=count).map(|number| Hole { row: id, number, at: None }));
            }
        }
        if row.same.is_some() {
            self.seeing.insert(id);
        }
        let holes = first..u32::try_from(self.plan.holes.len()).unwrap_or(u32::MAX);
        let through = row.through.as_ref().map(|put| self.through(assembly, put));
        let (rivet, called) = self.fastener(row, draft);
        let depth = match (plane, &through) {
            (Some(_), _) => Depth::Drawn,
            (None, Some(_)) => Depth::Stacked,
            (None, None) => Depth::Counted,
        };
        let name = match plane {
            Some((_, plane)) => format!("{}/{}/{}", draft.id.value, plane.name.value, row.name.value),
            None => format!("{}/{}", draft.id.value, row.name.value),
        };
        let resolved = Row {
            assembly,
            plane: plane.map(|(id, _)| id),
            name: row.name.value.clone(),
            depth,
            holes,
            rivet,
            called,
            head: self.head(plane.map(|(id, _)| id), through.as_deref(), row, draft),
            prep: self.prep(assembly, plane.map(|(id, _)| id), through.as_deref(), row, draft),
            through,
            hole_size: row.hole.or(draft.usual.hole),
            clearance: row.clearance,
            hold: None,
            attach: self.attach(row),
            same: None,
            note: row.note.clone().unwrap_or_default(),
            spot: row.name.spot,
        };
        self.plan.rows.push(resolved);
        self.plan.rows_by_name.insert(name, id);
        self.plan.assemblies[assembly.index()].rows.push(id);
        if let Some((plane, _)) = plane {
            self.plan.planes[plane.index()].rows.push(id);
        }
    }

    fn through(&mut self, assembly: AssemblyId, put: &Put<Vec<PutText>>) -> Vec<PieceId> {
        let mut through = Vec::new();
        for name in &put.value {
            match self.pieces(assembly, &name.value, name.spot).as_deref() {
                Some(&[piece]) => through.push(piece),
                Some(several) if !several.is_empty() => {
                    let names: Vec<String> =
                        several.iter().map(|&piece| self.plan.piece_name(piece)).collect();
                    let what = format!("\"{}\" is several pieces", name.value);
                    let next = format!("write which: {}", list(names.iter().map(String::as_str)));
                    self.reader.wrong(name.spot, "copies", what, next);
                }
                _ => self.unknown_part(assembly, name),
            }
        }
        through
    }

    /// The rivet and the call-out of a row, its own before the usual.
    fn fastener(&mut self, row: &RowDraft, draft: &AssemblyDraft) -> (Option<RivetType>, Option<Fastener>) {
        let named = row.rivet.as_ref().or(draft.usual.rivet.as_ref());
        let rivet = named.and_then(|put| self.read_fastener(put));
        let mut kind = rivet.as_ref().and_then(Fastener::rivet);
        let mut called = match &rivet {
            // `rivet = "MS20470AD4-5"` is a call-out with its length.
            Some(Fastener::Solid { dash: None, .. }) | None => None,
            other => other.clone(),
        };
        let unreadable = named.is_some() && rivet.is_none();
        let Some(put) = &row.called else {
            if rivet.is_none() && named.is_none() && row.same.is_none() {
                let what = format!("row {} has no fastener", row.name.value);
                self.reader.look(
                    row.name.spot,
                    "no-fastener",
                    what,
                    "write rivet = \"MS20470AD4\", or called = with a part number",
                );
            }
            return (kind, called);
        };
        if put.value.starts_with('-') {
            match (kind, Dash::read(&put.value)) {
                (Some(kind), Some(dash)) => {
                    let whole = Put { value: format!("{kind}{dash}"), spot: put.spot };
                    called = self.read_fastener(&whole);
                }
                (_, None) => {
                    let what = format!("\"{}\" is not a rivet length", put.value);
                    self.reader.wrong(
                        put.spot,
                        "wrong-call-out",
                        what,
                        "write sixteenths of an inch behind a dash: -5, or -3.5 for a half size",
                    );
                }
                // The rivet is named and could not be read: that has been said.
                (None, Some(_)) if unreadable => {}
                (None, Some(_)) => {
                    let what = format!("\"{}\" is a length, and no solid rivet is named", put.value);
                    self.reader.wrong(
                        put.spot,
                        "wrong-call-out",
                        what,
                        "write rivet = \"MS20470AD4\" as well, or the whole part number",
                    );
                }
            }
        } else if let Some(fastener) = self.read_fastener(put) {
            match (fastener.rivet(), kind) {
                (Some(written), Some(other)) if written != other && row.rivet.is_some() => {
                    let what = format!("row {} names {other} and calls {fastener}", row.name.value);
                    self.reader.wrong(
                        put.spot,
                        "wrong-call-out",
                        what,
                        "leave one of the two out, or make them agree",
                    );
                }
                (Some(written), _) => kind = Some(written),
                (None, _) => kind = None,
            }
            called = match fastener {
                Fastener::Solid { dash: None, .. } => None,
                other => Some(other),
            };
        }
        (kind, called)
    }

    fn read_fastener(&mut self, put: &PutText) -> Option<Fastener> {
        match Fastener::read(&put.value) {
            Ok(read) => {
                for note in read.notes {
                    self.reader.look(
                        put.spot,
                        "call-out-note",
                        note,
                        "nothing needs to be changed; compare with your bag and your plans",
                    );
                }
                Some(read.fastener)
            }
            Err(error) => {
                let text = error.to_string();
                let (what, next) = text
                    .rsplit_once("; ")
                    .or_else(|| text.rsplit_once(": "))
                    .unwrap_or((&text, "compare with your plans"));
                self.reader.wrong(put.spot, "wrong-call-out", what, next);
                None
            }
        }
    }

    fn head(
        &mut self,
        plane: Option<PlaneId>,
        through: Option<&[PieceId]>,
        row: &RowDraft,
        draft: &AssemblyDraft,
    ) -> Option<HeadSide> {
        let usual = row.head.is_none();
        let put = row.head.as_ref().or(draft.usual.head.as_ref())?;
        if let Some(plane) = plane {
            if let Some(side) = self.plan[plane].side(&put.value) {
                return Some(HeadSide::Side(side));
            }
            if !usual {
                let plane = &self.plan[plane];
                let what = format!("\"{}\" is not a side of plane {}", put.value, plane.name);
                let next = format!("write head = \"{}\" or head = \"{}\"", plane.near, plane.far);
                self.reader.wrong(put.spot, "wrong-side", what, next);
            }
            return None;
        }
        if usual {
            return None;
        }
        // Of a listed stack, the head may be said to lie on its first or last part.
        if let (Some(&first), Some(&last)) = (through.and_then(<[_]>::first), through.and_then(<[_]>::last)) {
            let on = |piece: PieceId| {
                self.plan.piece_name(piece) == put.value || self.plan[self.plan[piece].part].name == put.value
            };
            if put.value == "near" || on(first) {
                return Some(HeadSide::Side(Side::Near));
            }
            if put.value == "far" || on(last) {
                return Some(HeadSide::Side(Side::Far));
            }
        }
        Some(HeadSide::Words(put.value.clone()))
    }

    fn prep(
        &mut self,
        assembly: AssemblyId,
        plane: Option<PlaneId>,
        through: Option<&[PieceId]>,
        row: &RowDraft,
        draft: &AssemblyDraft,
    ) -> Vec<(PartId, Preparation)> {
        let there = |plan: &Plan, part: PartId| match (plane, through) {
            (_, Some(through)) => through.iter().any(|&piece| plan[piece].part == part),
            (Some(plane), None) => plan[plane].layers.iter().any(|layer| plan[layer.piece].part == part),
            (None, None) => false,
        };
        let mut prep: Vec<(PartId, Preparation)> = Vec::new();
        for (own, (name, how)) in
            row.prep.iter().map(|p| (true, p)).chain(draft.usual.prep.iter().map(|p| (false, p)))
        {
            let Some(part) = self.part(assembly, &name.value, name.spot) else {
                self.unknown_part(assembly, name);
                continue;
            };
            if !there(&self.plan, part) {
                if own {
                    let what = format!(
                        "row {} prepares {}, which is not one of its layers",
                        row.name.value, name.value
                    );
                    let next = if plane.is_none() && through.is_none() {
                        "name the layers as well, through = [\"…\"], or leave `prep` out"
                    } else {
                        "add the part to the layers, or leave it out here"
                    };
                    self.reader.wrong(name.spot, "wrong-layer", what, next);
                }
                continue;
            }
            if !prep.iter().any(|(other, _)| *other == part) {
                prep.push((part, *how));
            }
        }
        prep
    }

    fn attach(&mut self, row: &RowDraft) -> Option<Attach> {
        let draft = row.attach.as_ref()?;
        let Some(rivet) = &draft.rivet else {
            self.reader.wrong(
                draft.spot,
                "no-fastener",
                "the rivets of the nutplate are not named",
                "write attach = { rivet = \"MS20426AD3-4\", each = 2 }",
            );
            return None;
        };
        Some(Attach { called: self.read_fastener(rivet)?, each: draft.each.unwrap_or(2) })
    }

    /// Points `same` rows at the row they see.
    fn same(&mut self, assembly: AssemblyId, draft: &AssemblyDraft) {
        for plane in &draft.planes {
            for row in &plane.rows {
                let Some(same) = &row.same else { continue };
                let Some(id) =
                    self.row_id(assembly, &format!("{}/{}", plane.name.value, row.name.value), same.spot)
                else {
                    continue;
                };
                match self.row_id(assembly, &same.value, same.spot) {
                    Some(other) if other == id => {
                        let what = format!("row {} is said to be the same as itself", row.name.value);
                        self.reader.wrong(same.spot, "unknown-name", what, "name the row of the other plane");
                    }
                    Some(other) if self.sees_another(other) => {
                        let what = format!("row {} has no holes of its own either", same.value);
                        let next = "name the row in which the holes are declared";
                        self.reader.wrong(same.spot, "unknown-name", what, next);
                    }
                    Some(other) => self.plan.rows[id.index()].same = Some(other),
                    None => self.unknown_row(assembly, same),
                }
            }
        }
    }

    /// Whether a row is itself a view of another plane's row.
    fn sees_another(&self, row: RowId) -> bool {
        self.seeing.contains(&row)
    }

    /// The row `name` means in a file: `A` or `web/A` of its own, or with the assembly before it.
    fn row_id(&self, context: AssemblyId, name: &str, spot: Spot) -> Option<RowId> {
        let own = format!("{}/{name}", self.plan[context].id);
        if let Some(&row) = self.plan.rows_by_name.get(&own) {
            return Some(row);
        }
        let (assembly, rest) = name.split_once('/')?;
        let assembly = self.assembly(context, assembly, spot)?;
        self.plan.rows_by_name.get(&format!("{}/{rest}", self.plan[assembly].id)).copied()
    }

    fn unknown_row(&mut self, assembly: AssemblyId, put: &PutText) {
        /// Past so many findings nobody reads on, and looking for the nearest name
        /// each time is the square of the plan: ten seconds for four thousand rows.
        const MANY: usize = 200;
        let rows = &self.plan[assembly].rows;
        let next = if self.reader.findings.len() < MANY {
            let own = format!("{}/", self.plan[assembly].id);
            let names: Vec<String> = rows
                .iter()
                .map(|&row| self.plan.row_name(row))
                .map(|name| name.strip_prefix(&own).map_or(name.clone(), ToOwned::to_owned))
                .collect();
            suggest(&put.value, names.iter().map(String::as_str), "row")
        } else {
            format!("write the name of one of the {} that there are", rows.len())
        };
        self.reader.wrong(put.spot, "unknown-name", format!("there is no row \"{}\"", put.value), next);
    }

    /// `web: aft`, or `flap-left/web: aft`.
    fn plane_side(&mut self, context: AssemblyId, put: &PutText) -> Option<PlaneSide> {
        let Some((name, side)) = put.value.split_once(':').map(|(name, side)| (name.trim(), side.trim()))
        else {
            let what = format!("\"{}\" does not say which side", put.value);
            self.reader.wrong(
                put.spot,
                "wrong-side",
                what,
                "write \"plane: side\", such as \"web: aft\", or bay:NAME",
            );
            return None;
        };
        let (assembly, plane) = match name.split_once('/') {
            Some((assembly, plane)) => (self.assembly(context, assembly, put.spot), plane),
            None => (Some(context), name),
        };
        let found = assembly.and_then(|assembly| {
            self.plan[assembly].planes.iter().copied().find(|&id| self.plan[id].name == plane)
        });
        let Some(found) = found else {
            let names: Vec<String> = match assembly {
                Some(assembly) if assembly != context => {
                    self.plan[assembly].planes.iter().map(|&id| self.plan.plane_name(id)).collect()
                }
                _ => self.plan[context].planes.iter().map(|&id| self.plan[id].name.clone()).collect(),
            };
            let next = suggest(name, names.iter().map(String::as_str), "plane");
            self.reader.wrong(put.spot, "unknown-name", format!("there is no plane \"{name}\""), next);
            return None;
        };
        let plane = &self.plan[found];
        let Some(side) = plane.side(side) else {
            let what = format!("\"{side}\" is not a side of plane {name}");
            let next = format!("write \"{name}: {}\" or \"{name}: {}\"", plane.near, plane.far);
            self.reader.wrong(put.spot, "wrong-side", what, next);
            return None;
        };
        Some((found, side))
    }

    fn bays(&mut self, assembly: AssemblyId, draft: &AssemblyDraft) {
        for bay in &draft.bays {
            let sides = bay.sides.iter().filter_map(|side| self.plane_side(assembly, side)).collect();
            let id = BayId::from_index(self.plan.bays.len());
            self.plan.bays.push(Bay { assembly, name: bay.name.value.clone(), sides });
            self.plan.assemblies[assembly.index()].bays.push(id);
        }
    }

    /// Sides behind `web: aft`, `bay:spar` or `bay:wing-left/tip`.
    fn closed(&mut self, assembly: AssemblyId, put: &PutText) -> Vec<PlaneSide> {
        let Some(name) = put.value.strip_prefix("bay:").map(str::trim) else {
            return self.plane_side(assembly, put).into_iter().collect();
        };
        let (owner, short) = match name.split_once('/') {
            Some((owner, short)) => (self.assembly(assembly, owner, put.spot), short),
            None => (Some(assembly), name),
        };
        let found = self.plan.bays.iter().find(|bay| Some(bay.assembly) == owner && bay.name == short);
        if let Some(bay) = found {
            return bay.sides.clone();
        }
        let names: Vec<String> = self
            .plan
            .bays
            .iter()
            .filter(|bay| bay.assembly == assembly)
            .map(|bay| format!("bay:{}", bay.name))
            .collect();
        let next = suggest(&put.value, names.iter().map(String::as_str), "bay");
        self.reader.wrong(put.spot, "unknown-name", format!("there is no bay \"{name}\""), next);
        Vec::new()
    }

    fn step_names(&mut self, assembly: AssemblyId, draft: &AssemblyDraft) {
        for step in &draft.steps {
            let id = StepId::from_index(self.plan.steps.len());
            self.plan.assemblies[assembly.index()].steps.push(id);
            self.plan.steps.push(Step {
                assembly,
                name: step.name.value.clone(),
                title: step.title.clone().unwrap_or_else(|| spoken(&step.name.value)),
                sheet: step.sheet.clone().unwrap_or_default(),
                adds: Vec::new(),
                sets: Vec::new(),
                closes: Vec::new(),
                after: Vec::new(),
                hours: step.hours,
                work: step.work.unwrap_or_default(),
                parts: Vec::new(),
                rows: Vec::new(),
                people: step.people.unwrap_or(1),
                tools: step.tools.iter().map(|put| put.value.clone()).collect(),
                cure_hours: step.cure_hours,
                bench: step.bench,
                note: step.note.clone().unwrap_or_default(),
                spot: step.name.spot,
            });
        }
    }

    /// The step `name` means in a file: its own, or `assembly/step`.
    fn step_id(&self, context: AssemblyId, name: &str, spot: Spot) -> Option<StepId> {
        let own = |assembly: AssemblyId, name: &str| {
            self.plan[assembly].steps.iter().copied().find(|&step| self.plan[step].name == name)
        };
        own(context, name).or_else(|| {
            let (assembly, step) = name.split_once('/')?;
            own(self.assembly(context, assembly, spot)?, step)
        })
    }

    fn unknown_step(&mut self, assembly: AssemblyId, put: &PutText) {
        let names: Vec<&str> =
            self.plan[assembly].steps.iter().map(|&step| self.plan[step].name.as_str()).collect();
        let next = suggest(&put.value, names.into_iter(), "step");
        self.reader.wrong(put.spot, "unknown-name", format!("there is no step \"{}\"", put.value), next);
    }

    fn steps(&mut self, assembly: AssemblyId, draft: &AssemblyDraft) {
        let ids = self.plan[assembly].steps.clone();
        for (step, id) in draft.steps.iter().zip(ids) {
            let adds = self.all_pieces(assembly, &step.adds);
            let parts = self.all_pieces(assembly, &step.parts);
            let sets: Vec<RowPart> =
                step.sets.iter().flat_map(|name| self.row_parts(assembly, name)).collect();
            let rows: Vec<RowPart> =
                step.rows.iter().flat_map(|name| self.row_parts(assembly, name)).collect();
            let closes = step.closes.iter().flat_map(|put| self.closed(assembly, put)).collect();
            let mut after = Vec::new();
            for name in &step.after {
                match self.step_id(assembly, &name.value, name.spot) {
                    Some(other) => after.push(other),
                    None => self.unknown_step(assembly, name),
                }
            }
            let work = step.work.unwrap_or_else(|| self.usual_work(&adds, &sets));
            let resolved = &mut self.plan.steps[id.index()];
            resolved.work = work;
            resolved.parts = parts;
            resolved.rows = rows;
            resolved.adds = adds;
            resolved.sets = sets;
            resolved.closes = closes;
            resolved.after = after;
        }
    }

    fn all_pieces(&mut self, assembly: AssemblyId, names: &[PutText]) -> Vec<PieceId> {
        let mut all = Vec::new();
        for name in names {
            match self.pieces(assembly, &name.value, name.spot) {
                Some(pieces) => all.extend(pieces),
                None => self.unknown_part(assembly, name),
            }
        }
        all
    }

    /// What kind of work a step is that does not say so.
    fn usual_work(&self, adds: &[PieceId], sets: &[RowPart]) -> Work {
        let is_bolts = |part: &RowPart| matches!(self.plan[part.row].called, Some(Fastener::Bolt { .. }));
        match (adds, sets) {
            ([], []) => Work::Other,
            (_, []) => Work::Assemble,
            (_, sets) if sets.iter().all(is_bolts) => Work::Bolt,
            _ => Work::Set,
        }
    }

    /// `web/A`, `web/B/1-20`, `web/B/7`, or a plane for all its rows.
    fn row_parts(&mut self, assembly: AssemblyId, put: &PutText) -> Vec<RowPart> {
        // Holes are set where they are declared, whichever plane they are named from.
        let whole = |plan: &Plan, row: RowId| {
            let row = plan[row].same.unwrap_or(row);
            RowPart { row, first: 1, last: plan[row].count() }
        };
        if let Some(row) = self.row_id(assembly, &put.value, put.spot) {
            return vec![whole(&self.plan, row)];
        }
        if let Some(&plane) = self.plan[assembly].planes.iter().find(|&&id| self.plan[id].name == put.value) {
            return self.plan[plane].rows.iter().map(|&row| whole(&self.plan, row)).collect();
        }
        let part = put.value.rsplit_once('/').and_then(|(row, range)| {
            let (first, last) = range.split_once('-').unwrap_or((range, range));
            Some((
                self.row_id(assembly, row, put.spot).map(|row| self.plan[row].same.unwrap_or(row))?,
                first.trim().parse::<u32>().ok()?,
                last.trim().parse::<u32>().ok()?,
            ))
        });
        let Some((row, first, last)) = part else {
            self.unknown_row(assembly, put);
            return Vec::new();
        };
        let count = self.plan[row].count();
        if first < 1 || last < first || last > count {
            let what =
                format!("row {} has the holes 1 to {count}, not {first} to {last}", self.plan[row].name);
            self.reader.wrong(
                put.spot,
                "wrong-range",
                what,
                format!("write numbers from 1 to {count}, the smaller first"),
            );
            return Vec::new();
        }
        vec![RowPart { row, first, last }]
    }

    fn holds(&mut self, assembly: AssemblyId, draft: &AssemblyDraft) {
        let in_planes = draft.planes.iter().flat_map(|plane| {
            plane.rows.iter().map(move |row| (format!("{}/{}", plane.name.value, row.name.value), row))
        });
        for (name, row) in in_planes.chain(draft.rows.iter().map(|row| (row.name.value.clone(), row))) {
            let Some(hold) = &row.hold else { continue };
            let Some(&id) = self.plan.rows_by_name.get(&format!("{}/{name}", draft.id.value)) else {
                continue;
            };
            let until = hold.until.as_ref().and_then(|put| {
                let step = self.step_id(assembly, &put.value, put.spot);
                if step.is_none() {
                    self.unknown_step(assembly, put);
                }
                step
            });
            if hold.until.is_none() {
                let what = format!("row {} is held without saying until when", row.name.value);
                self.reader.look(
                    hold.spot,
                    "hold",
                    what,
                    "write until = the step at which it is filled, so that it is not forgotten",
                );
            }
            if hold.why.as_deref().unwrap_or("").is_empty() {
                let what = format!("row {} is held without a reason", row.name.value);
                self.reader.look(hold.spot, "hold", what, "write why = \"…\"; in a year nobody remembers");
            }
            self.plan.rows[id.index()].hold = Some(Hold { until, why: hold.why.clone().unwrap_or_default() });
        }
    }

    /// Steps that wait for one another.
    fn circles(&mut self) {
        #[derive(Clone, Copy, PartialEq)]
        enum Mark {
            New,
            Open,
            Done,
        }
        let mut marks = vec![Mark::New; self.plan.steps.len()];
        let mut circles: Vec<Vec<StepId>> = Vec::new();
        // Depth first with its own stack: a plan may chain hundreds of steps.
        for start in 0..self.plan.steps.len() {
            if marks[start] != Mark::New {
                continue;
            }
            let mut path: Vec<(usize, usize)> = vec![(start, 0)];
            marks[start] = Mark::Open;
            while let Some((step, next)) = path.last_mut() {
                let Some(&before) = self.plan.steps[*step].after.get(*next) else {
                    marks[*step] = Mark::Done;
                    path.pop();
                    continue;
                };
                *next += 1;
                match marks[before.index()] {
                    Mark::New => {
                        marks[before.index()] = Mark::Open;
                        path.push((before.index(), 0));
                    }
                    Mark::Open => {
                        let from = path.iter().position(|(step, _)| *step == before.index()).unwrap_or(0);
                        circles
                            .push(path[from..].iter().map(|(step, _)| StepId::from_index(*step)).collect());
                    }
                    Mark::Done => {}
                }
            }
        }
        for circle in circles {
            let mut names: Vec<String> = circle.iter().map(|&step| self.plan[step].name.clone()).collect();
            names.push(names[0].clone());
            let spot = self.plan[circle[0]].spot;
            let what = match circle.as_slice() {
                [_] => format!("step {} waits for itself", names[0]),
                _ => format!("these steps wait for one another: {}", names.join(" after ")),
            };
            self.reader.wrong(spot, "circle", what, "take one of them out of an `after`");
        }
    }

    /// Parts that lie nowhere, parts that no step brings in, rows that no step sets.
    fn unused(&mut self) {
        let mut placed = vec![false; self.plan.parts.len()];
        for plane in &self.plan.planes {
            for layer in &plane.layers {
                placed[self.plan[layer.piece].part.index()] = true;
            }
        }
        for row in &self.plan.rows {
            for &piece in row.through.iter().flatten() {
                placed[self.plan[piece].part.index()] = true;
            }
        }
        let added: HashSet<PieceId> =
            self.plan.steps.iter().flat_map(|step| step.adds.iter().copied()).collect();
        let set: HashSet<RowId> =
            self.plan.steps.iter().flat_map(|step| step.sets.iter().map(|part| part.row)).collect();
        let mut left: Vec<Left> = Vec::new();
        for assembly in &self.plan.assemblies {
            let owned = |names: &[String]| {
                let names: Vec<String> = names.iter().map(|name| format!("{}/{name}", assembly.id)).collect();
                list(names.iter().map(String::as_str))
            };
            for &id in &assembly.parts {
                let part = &self.plan[id];
                let copied = assembly.mirror_of.is_some() && usize::from(part.spot.file) != assembly.file;
                let mut push = |kind, names: &[String], sort, does, next| {
                    left.push(Left {
                        spot: part.spot,
                        kind,
                        what: format!("{sort}{} {does}", list(names.iter().map(String::as_str))),
                        of_this_hand: copied.then(|| format!("{sort}{} {does}", owned(names))),
                        next,
                    });
                };
                if !assembly.planes.is_empty() && !placed[id.index()] {
                    let next = "add it to the layers of a plane, or to `through` of a row";
                    push("no-plane", std::slice::from_ref(&part.name), "part ", "lies in no plane", next);
                }
                let missing: Vec<PieceId> =
                    part.pieces.iter().copied().filter(|piece| !added.contains(piece)).collect();
                if assembly.steps.is_empty() || missing.is_empty() {
                    continue;
                }
                let next = "add it to `adds` of the step that brings it";
                if missing.len() == part.pieces.len() {
                    let name = std::slice::from_ref(&part.name);
                    push("never-added", name, "part ", "comes in at no step", next);
                } else {
                    let names: Vec<String> =
                        missing.iter().map(|&piece| self.plan.piece_name(piece)).collect();
                    let does = if names.len() == 1 { "comes in at no step" } else { "come in at no step" };
                    push("never-added", &names, "", does, next);
                }
            }
            for &id in &assembly.rows {
                if assembly.steps.is_empty() || self.seeing.contains(&id) || set.contains(&id) {
                    continue;
                }
                let row = &self.plan[id];
                let copied = assembly.mirror_of.is_some() && usize::from(row.spot.file) != assembly.file;
                left.push(Left {
                    spot: row.spot,
                    kind: "never-set",
                    what: format!("row {} is set at no step", row.name),
                    of_this_hand: copied.then(|| format!("row {} is set at no step", self.plan.row_name(id))),
                    next: "add it to `sets` of a step",
                });
            }
        }
        // The line stands in the file of the other hand: say which hand is meant, unless both are.
        let both: HashSet<(Spot, &'static str)> = left
            .iter()
            .filter(|left| left.of_this_hand.is_none())
            .map(|left| (left.spot, left.kind))
            .collect();
        for left in left {
            match left.of_this_hand {
                Some(_) if both.contains(&(left.spot, left.kind)) => {}
                Some(what) => self.reader.look(left.spot, left.kind, what, left.next),
                None => self.reader.look(left.spot, left.kind, left.what, left.next),
            }
        }
    }
}

/// Something that nothing uses.
struct Left {
    spot: Spot,
    kind: &'static str,
    what: String,
    /// The same with the assembly's name, where the line is that of the assembly it mirrors.
    of_this_hand: Option<String>,
    next: &'static str,
}

enum Places {
    At(Vec<Point>),
    Counted(u32),
}

/// Keys of a row that say where it is, each with its place where it is written.
fn positions_of(row: &RowDraft) -> [(&'static str, Option<Spot>); 7] {
    [
        ("from", row.from.as_ref().map(|put| put.spot)),
        ("to", row.to.as_ref().map(|put| put.spot)),
        ("at", row.at.as_ref().map(|put| put.spot)),
        ("pitch", row.pitch.as_ref().map(|put| put.spot)),
        ("like", row.like.as_ref().map(|put| put.spot)),
        ("shift", row.shift.as_ref().map(|put| put.spot)),
        ("same", row.same.as_ref().map(|put| put.spot)),
    ]
}

/// Says that two keys of a row say the same thing twice. `kept` names the one that is read.
fn one_of_two(reader: &mut Reader<'_>, row: &RowDraft, kept: &str, others: &[&str]) {
    let count = ("count", row.count.as_ref().map(|put| put.spot));
    for (key, spot) in positions_of(row).into_iter().chain([count]) {
        if let Some(spot) = spot
            && others.contains(&key)
        {
            let what = format!("row {} has both `{kept}` and `{key}`", row.name.value);
            reader.wrong(spot, "row", what, "keep one of the two");
        }
    }
}

/// Positions of the rows of one plane, `like` followed.
struct Laid<'d> {
    rows: &'d [RowDraft],
    unit: Unit,
    done: Vec<Option<Vec<Point>>>,
}

impl<'d> Laid<'d> {
    fn new(rows: &'d [RowDraft], unit: Unit) -> Self {
        Self { rows, unit, done: vec![None; rows.len()] }
    }

    /// Follows `like` from row to row to the one that has positions, then comes back shifting.
    ///
    /// With a list of its own rather than by calling itself: a file may chain more rows than a stack holds.
    fn positions(&mut self, reader: &mut Reader<'_>, index: usize) -> Vec<Point> {
        let mut chain = Vec::new();
        let mut at = index;
        let mut points = loop {
            if let Some(points) = &self.done[at] {
                break points.clone();
            }
            let row = &self.rows[at];
            chain.push(at);
            // Until it is done a row of the chain counts as empty, so that a circle ends here.
            self.done[at] = Some(Vec::new());
            let Some(like) = &row.like else { break own_positions(reader, row, self.unit) };
            one_of_two(reader, row, "like", &["from", "to", "at", "pitch", "count"]);
            match self.rows.iter().position(|other| other.name.value == like.value) {
                Some(other) if chain.contains(&other) => {
                    let what = if other == at {
                        format!("row {} is like itself", row.name.value)
                    } else {
                        format!(
                            "row {} is like {}, which is like {}",
                            row.name.value, like.value, row.name.value
                        )
                    };
                    reader.wrong(like.spot, "circle", what, "give one of the rows its own positions");
                    break Vec::new();
                }
                Some(other) if self.rows[other].same.is_some() => {
                    let what = format!("row {} has no positions of its own in this plane", like.value);
                    let next = "be like a row that has them, or write from, to and count";
                    reader.wrong(like.spot, "row", what, next);
                    break Vec::new();
                }
                Some(other) => at = other,
                None => {
                    let next =
                        suggest(&like.value, self.rows.iter().map(|row| row.name.value.as_str()), "row");
                    let what = format!("there is no row \"{}\" in this plane", like.value);
                    reader.wrong(like.spot, "unknown-name", what, next);
                    break Vec::new();
                }
            }
        };
        for &row in chain.iter().rev() {
            if self.rows[row].like.is_some()
                && let Some(shift) = self.rows[row].shift.as_ref().map(|put| put.value)
            {
                for point in &mut points {
                    *point = Point::new(point.x + shift.x, point.y + shift.y);
                }
            }
            self.done[row] = Some(points.clone());
        }
        points
    }
}

/// Positions from `at`, or from `from`, `to` and `count` or `pitch`.
fn own_positions(reader: &mut Reader<'_>, row: &RowDraft, unit: Unit) -> Vec<Point> {
    if row.faulty {
        // What is missing may be what could not be read: one slip, one finding.
        return row.at.as_ref().map_or_else(Vec::new, |at| at.value.clone());
    }
    if let Some(shift) = &row.shift {
        let what = format!("row {} has `shift` and is like no other row", row.name.value);
        reader.wrong(shift.spot, "row", what, "write like = the row that is moved, or leave shift out");
    }
    if let Some(at) = &row.at {
        one_of_two(reader, row, "at", &["from", "to", "pitch"]);
        if let Some(count) = &row.count
            && count.value as usize != at.value.len()
        {
            let what = format!(
                "row {} has {} in `at`, and a count of {}",
                row.name.value,
                holes(at.value.len()),
                count.value
            );
            reader.wrong(count.spot, "row", what, "leave count out, or write the holes that are missing");
        }
        return at.value.clone();
    }
    let Some(from) = &row.from else {
        let what = format!("row {} does not say where it is", row.name.value);
        reader.wrong(
            row.name.spot,
            "row",
            what,
            "write from, to and count, or at = [[x, y], …], or like = another row",
        );
        return Vec::new();
    };
    let Some(to) = &row.to else {
        if row.pitch.is_none() && row.count.as_ref().is_none_or(|count| count.value == 1) {
            return vec![from.value];
        }
        let what = format!("row {} does not say where it ends", row.name.value);
        reader.wrong(row.name.spot, "row", what, "write to = [x, y], its last hole");
        return vec![from.value];
    };
    let one = row.count.as_ref().is_some_and(|count| count.value == 1);
    if from.value == to.value && !one {
        let what = format!("row {} starts and ends at the same place", row.name.value);
        reader.wrong(
            to.spot,
            "row",
            what,
            "write to = [x, y], its last hole; for one hole write at = [[x, y]]",
        );
        return vec![from.value];
    }
    match (&row.count, &row.pitch) {
        (Some(count), _) if one && from.value != to.value => {
            let what = format!("row {} has two ends and one hole", row.name.value);
            reader.wrong(count.spot, "row", what, "write how many holes it has, both ends included");
            vec![from.value]
        }
        (Some(count), pitch) => {
            let points = spread(from.value, to.value, count.value);
            if let Some(pitch) = pitch {
                check_pitch(reader, row, &points, pitch, unit);
            }
            points
        }
        (None, Some(pitch)) => by_pitch(reader, row, from.value, to.value, pitch, unit),
        (None, None) => {
            let what = format!("row {} does not say how many holes it has", row.name.value);
            reader.wrong(row.name.spot, "no-count", what, "write count = 12, or pitch = 1.25");
            vec![from.value, to.value]
        }
    }
}

/// `1 hole`, `12 holes`.
fn holes(count: usize) -> String {
    if count == 1 { "1 hole".to_owned() } else { format!("{count} holes") }
}

/// `count` holes from end to end, each to the nearest nanometre.
fn spread(from: Point, to: Point, count: u32) -> Vec<Point> {
    let spaces = i128::from(count.max(2) - 1);
    let between = |from: Length, to: Length, index: u32| {
        let (from, to) = (i128::from(from.nanometres()), i128::from(to.nanometres()));
        let moved = (to - from) * i128::from(index);
        let rounded = (2 * moved + spaces * moved.signum()) / (2 * spaces);
        Length::from_nanometres(i64::try_from(from + rounded).unwrap_or(i64::MAX))
    };
    (0..count).map(|index| Point::new(between(from.x, to.x, index), between(from.y, to.y, index))).collect()
}

/// How far a row may miss its pitch and still be called even: the print of a plan, not a measurement.
const EVEN: f64 = 0.002;

fn distance_in(from: Point, to: Point) -> f64 {
    let ([x0, y0], [x1, y1]) = (from.inches(), to.inches());
    (x1 - x0).hypot(y1 - y0)
}

fn by_pitch(
    reader: &mut Reader<'_>,
    row: &RowDraft,
    from: Point,
    to: Point,
    pitch: &Put<Length>,
    unit: Unit,
) -> Vec<Point> {
    let (length, step) = (distance_in(from, to), pitch.value.inches());
    let spaces = (length / step).round().max(1.0);
    if spaces > 100_000.0 {
        reader.wrong(
            pitch.spot,
            "wrong-number",
            format!("a pitch of {} makes more than 100000 holes", pitch.value.show(unit)),
            "is the unit right? write the pitch with its unit, such as \"1 1/4 in\" or \"30 mm\"",
        );
        return vec![from, to];
    }
    if (length - spaces * step).abs() <= EVEN {
        return spread(from, to, spaces as u32 + 1);
    }
    let whole = (length / step).floor();
    let what = format!(
        "row {} is {} long, and a pitch of {} leaves {} over",
        row.name.value,
        inches(length).show(unit),
        pitch.value.show(unit),
        inches(length - whole * step).show(unit)
    );
    reader.look(
        pitch.spot,
        "pitch",
        what,
        format!("give count = {} for even spaces, or move an end", spaces as u32 + 1),
    );
    spread(from, to, spaces as u32 + 1)
}

fn check_pitch(reader: &mut Reader<'_>, row: &RowDraft, points: &[Point], pitch: &Put<Length>, unit: Unit) {
    let [first, second, ..] = points else { return };
    let found = distance_in(*first, *second);
    if (found - pitch.value.inches()).abs() > EVEN {
        let what = format!(
            "row {} has {} {} apart, and a pitch of {} is written",
            row.name.value,
            holes(points.len()),
            inches(found).show(unit),
            pitch.value.show(unit)
        );
        reader.wrong(pitch.spot, "pitch", what, "keep count or pitch, whichever the drawing gives");
    }
}
