//! Records of a DXF file: header, layers, blocks and entities, as they stand in it.
//!
//! Nothing is placed, scaled or chained here. A record that cannot be
//! understood is kept as [`Shape::Broken`] or [`Shape::Other`], so that every
//! record of the drawing is accounted for later.

use std::collections::HashMap;
use std::sync::Arc;

use super::groups::{Group, Groups, Slip};
use super::space::{UP, Vector};

/// A corner of a polyline: place and bulge of the piece to the next corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Knot {
    pub at: Vector,
    pub bulge: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Insert {
    pub block: String,
    pub at: Vector,
    pub scale: Vector,
    pub rotation: f64,
    pub normal: Vector,
    pub columns: u32,
    pub rows: u32,
    pub column_spacing: f64,
    pub row_spacing: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shape {
    Circle {
        centre: Vector,
        radius: f64,
        normal: Vector,
    },
    Arc {
        centre: Vector,
        radius: f64,
        normal: Vector,
        start: f64,
        end: f64,
    },
    Line {
        from: Vector,
        to: Vector,
    },
    Polyline {
        knots: Vec<Knot>,
        closed: bool,
        normal: Vector,
        light: bool,
    },
    Insert(Insert),
    /// A kind that holds no hole and no outline we can take.
    Other,
    /// A kind we take, with a value that is missing or is no number.
    Broken {
        at: usize,
        code: i32,
    },
}

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Entity {
    /// Name of the record, such as `CIRCLE`.
    pub name: Arc<str>,
    pub layer: Arc<str>,
    /// Empty where the layer's own applies.
    pub linetype: String,
    pub invisible: bool,
    pub paper: bool,
    pub shape: Shape,
}

#[derive(Clone, Debug, Default)]
pub(super) struct Layer {
    /// Switched off: what is on it is not shown.
    pub off: bool,
    /// Frozen: nor is what a block reference on it brings in.
    pub frozen: bool,
    pub linetype: String,
}

#[derive(Clone, Debug, Default)]
pub(super) struct Block {
    pub base: Vector,
    /// Kept in another file.
    pub external: bool,
    pub entities: Vec<Entity>,
}

#[derive(Debug, Default)]
pub(super) struct Document {
    pub version: Option<String>,
    /// `$INSUNITS`.
    pub units: Option<i64>,
    /// `$MEASUREMENT`: 1 for a metric template. A hint only.
    pub metric: Option<bool>,
    /// By name in lower case: DXF names do not mind the case.
    pub layers: HashMap<String, Layer>,
    pub blocks: HashMap<String, Block>,
    pub entities: Vec<Entity>,
    pub binary: bool,
    /// Records of drawn things that stand outside ENTITIES and BLOCKS.
    pub stray: usize,
    /// Whether the file had a section at all.
    pub sections: usize,
    pub ended: bool,
    pub slips: Vec<Slip>,
}

#[derive(Clone, Copy, PartialEq)]
enum Section {
    None,
    Tables,
    Blocks,
    Entities,
    Passed,
}

/// Names of kinds that are taken: only these can be `stray`.
const TAKEN: [&[u8]; 6] = [b"CIRCLE", b"ARC", b"LINE", b"LWPOLYLINE", b"POLYLINE", b"INSERT"];

impl Document {
    pub fn read(bytes: &[u8]) -> Self {
        let mut groups = Groups::of(bytes);
        let mut reader = Reader {
            document: Self { binary: groups.is_binary(), ..Self::default() },
            section: Section::None,
            block: None,
            polyline: false,
            names: HashMap::new(),
        };
        let mut record: Vec<Group<'_>> = Vec::new();
        for group in groups.by_ref() {
            // Comments may stand anywhere.
            if group.code == 999 {
                continue;
            }
            if group.code == 0 {
                if reader.record(&record) {
                    record.clear();
                    break;
                }
                record.clear();
            }
            record.push(group);
        }
        reader.record(&record);
        reader.end_block();
        let mut document = reader.document;
        document.slips = groups.slips().to_vec();
        document
    }
}

struct Reader {
    document: Document,
    section: Section,
    block: Option<(String, Block)>,
    /// The last entity is an old polyline that still takes corners.
    polyline: bool,
    /// Names of layers and kinds, each held once.
    names: HashMap<String, Arc<str>>,
}

impl Reader {
    /// Takes one record; true at the end of the file.
    fn record(&mut self, record: &[Group<'_>]) -> bool {
        let Some((head, body)) = record.split_first() else { return false };
        if head.code != 0 {
            return false;
        }
        let name = head.bytes();
        match name {
            b"EOF" => {
                self.document.ended = true;
                return true;
            }
            b"SECTION" => {
                let title = body.iter().find(|group| group.code == 2).map_or(&b""[..], Group::bytes);
                self.document.sections += 1;
                self.section = match title {
                    b"TABLES" => Section::Tables,
                    b"BLOCKS" => Section::Blocks,
                    b"ENTITIES" => Section::Entities,
                    _ => Section::Passed,
                };
                if title == b"HEADER" {
                    self.header(body);
                }
            }
            b"ENDSEC" => {
                self.end_block();
                self.section = Section::None;
            }
            _ => match self.section {
                Section::Tables if name == b"LAYER" => self.layer(body),
                Section::Tables | Section::Passed => {}
                Section::Blocks if name == b"BLOCK" => self.begin_block(body),
                Section::Blocks if name == b"ENDBLK" => self.end_block(),
                Section::Blocks | Section::Entities => self.entity(head, body),
                Section::None if TAKEN.contains(&name) => self.document.stray += 1,
                Section::None => {}
            },
        }
        false
    }

    fn header(&mut self, body: &[Group<'_>]) {
        for pair in body.windows(2) {
            let [variable, value] = pair else { continue };
            if variable.code != 9 {
                continue;
            }
            match variable.bytes() {
                b"$ACADVER" => self.document.version = Some(value.text()),
                b"$INSUNITS" => self.document.units = value.whole(),
                b"$MEASUREMENT" => self.document.metric = value.whole().map(|code| code == 1),
                _ => {}
            }
        }
    }

    fn layer(&mut self, body: &[Group<'_>]) {
        let mut layer = Layer::default();
        let mut name = String::new();
        for group in body.iter().take_while(|group| group.code < 1000) {
            match group.code {
                2 => name = group.text().to_lowercase(),
                6 => layer.linetype = group.text(),
                // Bit 1 of the flags: frozen. A colour below zero: switched off.
                70 => layer.frozen |= group.whole().is_some_and(|flags| flags & 1 != 0),
                62 => layer.off |= group.whole().is_some_and(|colour| colour < 0),
                _ => {}
            }
        }
        self.document.layers.insert(name, layer);
    }

    fn begin_block(&mut self, body: &[Group<'_>]) {
        self.end_block();
        let fields = Fields::of(body);
        let external = fields.whole(70).is_some_and(|flags| flags & (4 | 8) != 0);
        let base = fields.point(10).unwrap_or_default();
        let name = fields.text(2).to_lowercase();
        self.block = Some((name, Block { base, external, entities: Vec::new() }));
        self.polyline = false;
    }

    fn end_block(&mut self) {
        self.polyline = false;
        if let Some((name, block)) = self.block.take() {
            self.document.blocks.entry(name).or_insert(block);
        }
    }

    fn name(&mut self, text: String) -> Arc<str> {
        if let Some(name) = self.names.get(&text) {
            return Arc::clone(name);
        }
        let name: Arc<str> = text.as_str().into();
        self.names.insert(text, Arc::clone(&name));
        name
    }

    fn entity(&mut self, head: &Group<'_>, body: &[Group<'_>]) {
        let name = head.bytes();
        let fields = Fields::of(body);
        if name == b"VERTEX" && self.polyline {
            self.corner(&fields, head.at);
            return;
        }
        self.polyline = false;
        if name == b"SEQEND" || name == b"VERTEX" {
            return;
        }
        let shape = match shape(name, &fields) {
            Ok(shape) => shape,
            Err(Missing { at, code }) => Shape::Broken { at: at.unwrap_or(head.at), code },
        };
        self.polyline = matches!(shape, Shape::Polyline { light: false, .. });
        let layer = match fields.text(8) {
            text if text.is_empty() => "0".to_owned(),
            text => text,
        };
        let linetype = fields.text(6);
        let entity = Entity {
            name: self.name(head.text()),
            layer: self.name(layer),
            linetype: if linetype.eq_ignore_ascii_case("BYLAYER") { String::new() } else { linetype },
            invisible: fields.whole(60) == Some(1),
            paper: fields.whole(67) == Some(1),
            shape,
        };
        self.entities().push(entity);
    }

    fn entities(&mut self) -> &mut Vec<Entity> {
        match &mut self.block {
            Some((_, block)) => &mut block.entities,
            None => &mut self.document.entities,
        }
    }

    /// A corner of the old polyline that was begun last.
    fn corner(&mut self, fields: &Fields<'_, '_>, at: usize) {
        // 16: a control point of a fitted curve, not on it. 128 alone: a face of a mesh.
        let flags = fields.whole(70).unwrap_or(0);
        if flags & 16 != 0 {
            return;
        }
        let knot = fields.point(10).and_then(|place| Ok(Knot { at: place, bulge: fields.real_or(42, 0.0)? }));
        let Some(entity) = self.entities().last_mut() else { return };
        match (knot, &mut entity.shape) {
            (Ok(knot), Shape::Polyline { knots, .. }) => knots.push(knot),
            (Err(missing), shape) => {
                *shape = Shape::Broken { at: missing.at.unwrap_or(at), code: missing.code };
            }
            _ => {}
        }
    }
}

fn shape(name: &[u8], fields: &Fields<'_, '_>) -> Result<Shape, Missing> {
    Ok(match name {
        b"CIRCLE" => {
            Shape::Circle { centre: fields.point(10)?, radius: fields.real(40)?, normal: fields.normal()? }
        }
        b"ARC" => Shape::Arc {
            centre: fields.point(10)?,
            radius: fields.real(40)?,
            normal: fields.normal()?,
            start: fields.real(50)?,
            end: fields.real(51)?,
        },
        b"LINE" => Shape::Line { from: fields.point(10)?, to: fields.point(11)? },
        b"LWPOLYLINE" => light_polyline(fields)?,
        b"POLYLINE" => {
            // 8: in space; 16 and 64: meshes, which hold no outline.
            let flags = fields.whole(70).unwrap_or(0);
            if flags & (16 | 64) != 0 {
                return Ok(Shape::Other);
            }
            let normal = if flags & 8 != 0 { UP } else { fields.normal()? };
            Shape::Polyline { knots: Vec::new(), closed: flags & 1 != 0, normal, light: false }
        }
        b"INSERT" => {
            // A scale of zero is read as one, a count below one as one: other readers do the same.
            let scale = |code| fields.real_or(code, 1.0).map(|scale| if scale == 0.0 { 1.0 } else { scale });
            let count = |code, spacing: f64| match fields.whole(code) {
                Some(count) if spacing != 0.0 => u32::try_from(count.max(1)).unwrap_or(u32::MAX),
                // Copies without a spacing lie on top of each other: one is enough.
                _ => 1,
            };
            let (column_spacing, row_spacing) = (fields.real_or(44, 0.0)?, fields.real_or(45, 0.0)?);
            Shape::Insert(Insert {
                block: fields.text(2).to_lowercase(),
                at: fields.point(10)?,
                scale: [scale(41)?, scale(42)?, scale(43)?],
                rotation: fields.real_or(50, 0.0)?,
                normal: fields.normal()?,
                columns: count(70, column_spacing),
                rows: count(71, row_spacing),
                column_spacing,
                row_spacing,
            })
        }
        _ => Shape::Other,
    })
}

fn light_polyline(fields: &Fields<'_, '_>) -> Result<Shape, Missing> {
    let elevation = fields.real_or(38, 0.0)?;
    let mut knots: Vec<Knot> = Vec::new();
    let mut x: Option<f64> = None;
    for group in &fields.groups {
        match group.code {
            10 => {
                if x.is_some() {
                    return Err(Missing { at: Some(group.at), code: 20 });
                }
                x = Some(fields.number(group)?);
            }
            20 => {
                let x = x.take().ok_or(Missing { at: Some(group.at), code: 10 })?;
                knots.push(Knot { at: [x, fields.number(group)?, elevation], bulge: 0.0 });
            }
            42 => {
                let bulge = fields.number(group)?;
                if let Some(knot) = knots.last_mut() {
                    knot.bulge = bulge;
                }
            }
            _ => {}
        }
    }
    if x.is_some() {
        return Err(Missing { at: None, code: 20 });
    }
    let closed = fields.whole(70).unwrap_or(0) & 1 != 0;
    Ok(Shape::Polyline { knots, closed, normal: fields.normal()?, light: true })
}

/// A value that a shape cannot do without.
struct Missing {
    at: Option<usize>,
    code: i32,
}

/// The groups of one record that belong to the shape itself.
struct Fields<'r, 'a> {
    groups: Vec<&'r Group<'a>>,
}

impl<'r, 'a> Fields<'r, 'a> {
    /// Leaves out what other programs hung on: extended data, `{ … }` lists, embedded objects.
    fn of(body: &'r [Group<'a>]) -> Self {
        let mut depth = 0_u32;
        let mut groups = Vec::with_capacity(body.len());
        for group in body {
            match group.code {
                101 | 1000.. => break,
                102 if group.bytes().starts_with(b"{") => depth += 1,
                102 => depth = depth.saturating_sub(1),
                _ if depth == 0 => groups.push(group),
                _ => {}
            }
        }
        Self { groups }
    }

    fn find(&self, code: i32) -> Option<&Group<'a>> {
        self.groups.iter().copied().find(|group| group.code == code)
    }

    fn text(&self, code: i32) -> String {
        self.find(code).map(Group::text).unwrap_or_default()
    }

    fn whole(&self, code: i32) -> Option<i64> {
        self.find(code)?.whole()
    }

    fn number(&self, group: &Group<'_>) -> Result<f64, Missing> {
        group.real().ok_or(Missing { at: Some(group.at), code: group.code })
    }

    fn real(&self, code: i32) -> Result<f64, Missing> {
        self.number(self.find(code).ok_or(Missing { at: None, code })?)
    }

    fn real_or(&self, code: i32, otherwise: f64) -> Result<f64, Missing> {
        self.find(code).map_or(Ok(otherwise), |group| self.number(group))
    }

    /// x, y and, where there is one, z.
    fn point(&self, code: i32) -> Result<Vector, Missing> {
        Ok([self.real(code)?, self.real(code + 10)?, self.real_or(code + 20, 0.0)?])
    }

    fn normal(&self) -> Result<Vector, Missing> {
        Ok([self.real_or(210, UP[0])?, self.real_or(220, UP[1])?, self.real_or(230, UP[2])?])
    }
}
