//! A document as the bytes of a PDF.
//!
//! The second writer over the list of marks: px become points by three
//! quarters, text stays text, each font is embedded once, and the file keeps
//! PDF/A-2b (ISO 19005-2), so that it reads the same in thirty years. Hatching
//! is drawn as lines under a clip, in step with the SVG writer's. The same
//! document always gives the same bytes.
//!
//! A link is kept if it is a whole address; a path within the tool leads
//! nowhere from paper.

use krilla::action::{Action, LinkAction};
use krilla::annotation::{Annotation, LinkAnnotation, Target};
use krilla::color::rgb;
use krilla::configure::{Archival, ConfigurationBuilder};
use krilla::geom::{Path, PathBuilder, Point, Rect, Transform};
use krilla::metadata::{DateTime, Metadata};
use krilla::page::PageSettings;
use krilla::paint::{self, FillRule, LineJoin, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Document as Out, SerializeSettings};

use crate::document::Document;
use crate::marks::{
    Anchor, Drawing, Fill, HATCH_PITCH, HATCH_WIDTH, Lean, Mark, PX_PER_INCH, Role, Segment, Shape, Stroke,
    Text,
};
use crate::room::text_bounds;
use crate::typeface::{BOLD, REGULAR, Typeface};

/// Points to the px: 72 to the inch.
const POINTS: f64 = 72.0 / PX_PER_INCH;
/// Handle of a quarter circle as a cubic, radii: 4/3 (√2 − 1).
const QUARTER: f64 = 4.0 / 3.0 * (std::f64::consts::SQRT_2 - 1.0);
/// What stands where the typeface has no character.
pub const SUBSTITUTE: char = '☒';

/// A document that cannot be printed.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PdfError {
    /// The typeface has no such character, and a print must not leave one out in silence.
    #[error(
        "page {page}: the typeface has no {} for {text:?}; write it in Latin or Greek letters",
        quoted(letters)
    )]
    NoGlyph {
        /// The page, from 1.
        page: usize,
        /// The text.
        text: String,
        /// The characters that are missing.
        letters: Vec<char>,
    },
    /// A document without a page.
    #[error("{title:?} has no page to print")]
    NoPage {
        /// Title of the document.
        title: String,
    },
    /// A page without an area.
    #[error("page {page} is {width} × {height} px; a page needs an area")]
    NoArea {
        /// The page, from 1.
        page: usize,
        /// Width, px.
        width: f64,
        /// Height, px.
        height: f64,
    },
    /// The archive standard forbids something in it.
    #[error("{title:?} cannot be kept as PDF/A-2b: {reasons}")]
    NotArchivable {
        /// Title of the document.
        title: String,
        /// What the validator says.
        reasons: String,
    },
}

fn quoted(letters: &[char]) -> String {
    letters.iter().map(|letter| format!("{letter:?}")).collect::<Vec<_>>().join(", ")
}

/// The document as PDF/A-2b.
///
/// # Errors
/// [`PdfError::NoGlyph`] for the first text with a character that the typeface
/// has not (see [`substitute`] for printing nevertheless), and the others for a
/// document that has no area to print on or breaks the archive standard.
pub fn write(document: &Document) -> Result<Vec<u8>, PdfError> {
    let faces = Faces::read();
    if document.pages.is_empty() {
        return Err(PdfError::NoPage { title: document.title.clone() });
    }
    let title = || document.title.clone();
    let configuration = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A2_B)
        .finish()
        .expect("one validator contradicts no other");
    let mut out = Out::new_with(SerializeSettings {
        configuration,
        enable_tagging: false,
        ..SerializeSettings::default()
    });
    let fonts = [
        Font::new(REGULAR.to_vec().into(), 0).expect("the font in the program is a font"),
        Font::new(BOLD.to_vec().into(), 0).expect("the font in the program is a font"),
    ];
    for (index, drawing) in document.pages.iter().enumerate() {
        let number = index + 1;
        faces.check(drawing, number)?;
        let [width, height] = [drawing.width, drawing.height].map(|px| (px * POINTS) as f32);
        let settings = PageSettings::from_wh(width, height).ok_or(PdfError::NoArea {
            page: number,
            width: drawing.width,
            height: drawing.height,
        })?;
        let mut page = out.start_page_with(settings);
        let mut surface = page.surface();
        surface.push_transform(&Transform::from_scale(POINTS as f32, POINTS as f32));
        let mut links = Vec::new();
        Pen { surface: &mut surface, faces: &faces, fonts: &fonts, links: &mut links }.marks(&drawing.marks);
        surface.pop();
        surface.finish();
        for (rect, address, words) in links {
            let target = Target::Action(Action::Link(LinkAction::new(address)));
            page.add_annotation(Annotation::new_link(LinkAnnotation::new(rect, target), Some(words)));
        }
        page.finish();
    }
    let date = DateTime::new(document.date.year).month(document.date.month).day(document.date.day);
    let mut metadata = Metadata::new()
        .title(title())
        .language("en-GB".to_owned())
        .creator("faying".to_owned())
        .creation_date(date);
    if !document.author.is_empty() {
        metadata = metadata.authors(vec![document.author.clone()]);
    }
    out.set_metadata(metadata);
    out.finish().map_err(|error| PdfError::NotArchivable { title: title(), reasons: format!("{error:?}") })
}

/// Puts [`SUBSTITUTE`] where the typeface has no character; returns what was replaced, each once, in order.
///
/// For a caller who would rather print than refuse, and says so on the page.
pub fn substitute(document: &mut Document) -> Vec<char> {
    let faces = Faces::read();
    let mut replaced = Vec::new();
    for page in &mut document.pages {
        substitute_in(&mut page.marks, &faces, &mut replaced);
    }
    replaced.sort_unstable();
    replaced.dedup();
    replaced
}

fn substitute_in(marks: &mut [Mark], faces: &Faces, replaced: &mut Vec<char>) {
    for mark in marks {
        match mark {
            Mark::Group(group) => substitute_in(&mut group.marks, faces, replaced),
            Mark::Text(text) => {
                let missing = faces.missing(text);
                if !missing.is_empty() {
                    let swap = |letter| if missing.contains(&letter) { SUBSTITUTE } else { letter };
                    text.text = spaced(&text.text).map(swap).collect();
                    replaced.extend(missing);
                }
            }
            Mark::Path { .. } | Mark::Circle { .. } | Mark::Target { .. } => {}
        }
    }
}

/// The letters of a text as both writers take them: what moves the carriage is a space.
fn spaced(text: &str) -> impl Iterator<Item = char> + '_ {
    text.chars().map(|letter| if matches!(letter, '\t' | '\n' | '\r') { ' ' } else { letter })
}

/// The two weights.
struct Faces([Typeface; 2]);

impl Faces {
    fn read() -> Self {
        Self([REGULAR, BOLD].map(|file| Typeface::read(file).expect("the font in the program is a font")))
    }

    fn of(&self, text: &Text) -> &Typeface {
        &self.0[usize::from(text.bold)]
    }

    /// What a text has that the typeface has not, each once.
    fn missing(&self, text: &Text) -> Vec<char> {
        let face = self.of(text);
        let mut missing: Vec<char> =
            spaced(&text.text).filter(|letter| face.glyph(*letter).is_none()).collect();
        missing.sort_unstable();
        missing.dedup();
        missing
    }

    fn check(&self, drawing: &Drawing, page: usize) -> Result<(), PdfError> {
        let mut first = None;
        drawing.walk(&mut |mark| {
            if let (Mark::Text(text), None) = (mark, &first) {
                let letters = self.missing(text);
                if !letters.is_empty() {
                    first = Some(PdfError::NoGlyph { page, text: text.text.clone(), letters });
                }
            }
        });
        first.map_or(Ok(()), Err)
    }
}

struct Pen<'p, 's> {
    surface: &'p mut Surface<'s>,
    faces: &'p Faces,
    fonts: &'p [Font; 2],
    /// Where each link lies (pt), where it leads and what it is.
    links: &'p mut Vec<(Rect, String, String)>,
}

impl Pen<'_, '_> {
    fn marks(&mut self, marks: &[Mark]) {
        for mark in marks {
            match mark {
                Mark::Path { shape, fill, stroke } => {
                    self.path(&path(shape), points_of(shape), *fill, *stroke);
                }
                Mark::Circle { centre, radius, fill, stroke } => {
                    let round = circle(*centre, *radius);
                    self.path(&path(&round), points_of(&round), *fill, *stroke);
                }
                Mark::Text(text) => self.text(text),
                Mark::Target { .. } => {}
                Mark::Group(group) => {
                    if let Some(link) = group.link.as_ref().filter(|link| is_address(link)) {
                        self.link(&group.marks, link, group.title.as_ref().unwrap_or(link));
                    }
                    self.marks(&group.marks);
                }
            }
        }
    }

    fn link(&mut self, marks: &[Mark], link: &str, words: &str) {
        let Some([left, top, right, bottom]) = bounds(marks) else { return };
        let points = [left, top, right, bottom].map(|px| (px * POINTS) as f32);
        if let Some(rect) = Rect::from_ltrb(points[0], points[1], points[2], points[3]) {
            self.links.push((rect, link.to_owned(), words.to_owned()));
        }
    }

    fn path(
        &mut self,
        path: &Option<Path>,
        area: Option<[f64; 4]>,
        fill: Option<Fill>,
        stroke: Option<Stroke>,
    ) {
        let Some(path) = path else { return };
        match fill {
            None => {}
            Some(Fill::Flat(role)) => self.draw(path, Some(flat(role)), None),
            Some(Fill::Hatch(role, lean)) => {
                self.draw(path, Some(flat(Role::Paper)), None);
                let mut lines = Shape::default();
                for ends in area.map_or(Vec::new(), |area| hatch(area, lean)) {
                    lines.run(&ends);
                }
                if let Some(lines) = self::path(&lines) {
                    self.surface.push_clip_path(path, &FillRule::EvenOdd);
                    self.draw(&lines, None, Some(line(Stroke::solid(role, HATCH_WIDTH))));
                    self.surface.pop();
                }
            }
        }
        if let Some(stroke) = stroke {
            self.draw(path, None, Some(line(stroke)));
        }
    }

    fn draw(&mut self, path: &Path, fill: Option<paint::Fill>, stroke: Option<paint::Stroke>) {
        self.surface.set_fill(fill);
        self.surface.set_stroke(stroke);
        self.surface.draw_path(path);
    }

    fn text(&mut self, text: &Text) {
        let face = self.faces.of(text);
        let words: String = spaced(&text.text).collect();
        let wide = face.width(&words) * text.size;
        let left = match text.anchor {
            Anchor::Start => text.at[0],
            Anchor::Middle => text.at[0] - wide / 2.0,
            Anchor::End => text.at[0] - wide,
        };
        let glyphs: Vec<KrillaGlyph> = words
            .char_indices()
            .filter_map(|(at, letter)| {
                let glyph = face.glyph(letter)?;
                let range = at..at + letter.len_utf8();
                let id = GlyphId::new(u32::from(glyph.id));
                Some(KrillaGlyph::new(id, glyph.advance as f32, 0.0, 0.0, 0.0, range, None))
            })
            .collect();
        if glyphs.is_empty() {
            return;
        }
        let font = self.fonts[usize::from(text.bold)].clone();
        let start = Point::from_xy(left as f32, text.at[1] as f32);
        if text.rim {
            // As outlines: as text it would be found twice.
            let rim = paint::Stroke { line_join: LineJoin::Round, ..line(Stroke::solid(Role::Paper, 3.0)) };
            self.surface.set_fill(None);
            self.surface.set_stroke(Some(rim));
            self.surface.draw_glyphs(start, &glyphs, font.clone(), &words, text.size as f32, true);
        }
        self.surface.set_fill(Some(flat(text.role)));
        self.surface.set_stroke(None);
        self.surface.draw_glyphs(start, &glyphs, font, &words, text.size as f32, false);
    }
}

fn is_address(link: &str) -> bool {
    link.starts_with("http://") || link.starts_with("https://")
}

fn colour(role: Role) -> rgb::Color {
    let [red, green, blue] = role.print();
    rgb::Color::new(red, green, blue)
}

fn flat(role: Role) -> paint::Fill {
    paint::Fill { paint: colour(role).into(), rule: FillRule::EvenOdd, ..paint::Fill::default() }
}

fn line(stroke: Stroke) -> paint::Stroke {
    let lengths = stroke.dash.lengths();
    paint::Stroke {
        paint: colour(stroke.role).into(),
        width: stroke.width as f32,
        // As SVG has it where nothing is said.
        miter_limit: 4.0,
        dash: (!lengths.is_empty()).then(|| StrokeDash {
            array: lengths.iter().map(|length| *length as f32).collect(),
            offset: 0.0,
        }),
        ..paint::Stroke::default()
    }
}

fn path(shape: &Shape) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for segment in &shape.0 {
        match *segment {
            Segment::Move([x, y]) => builder.move_to(x as f32, y as f32),
            Segment::Line([x, y]) => builder.line_to(x as f32, y as f32),
            Segment::Cubic(a, b, to) => {
                let [[ax, ay], [bx, by], [x, y]] = [a, b, to].map(|point| point.map(|v| v as f32));
                builder.cubic_to(ax, ay, bx, by, x, y);
            }
            Segment::Close => builder.close(),
        }
    }
    builder.finish()
}

/// A circle as four cubics; out of round by less than 0.03 % of its radius.
fn circle([x, y]: [f64; 2], radius: f64) -> Shape {
    let handle = QUARTER * radius;
    let at = |dx: f64, dy: f64| [x + dx, y + dy];
    Shape(vec![
        Segment::Move(at(radius, 0.0)),
        Segment::Cubic(at(radius, handle), at(handle, radius), at(0.0, radius)),
        Segment::Cubic(at(-handle, radius), at(-radius, handle), at(-radius, 0.0)),
        Segment::Cubic(at(-radius, -handle), at(-handle, -radius), at(0.0, -radius)),
        Segment::Cubic(at(handle, -radius), at(radius, -handle), at(radius, 0.0)),
        Segment::Close,
    ])
}

/// Hatch lines that cross an area, at the places where the SVG writer's pattern has them.
fn hatch([left, top, right, bottom]: [f64; 4], lean: Lean) -> Vec<[[f64; 2]; 2]> {
    let turn = match lean {
        Lean::Right => std::f64::consts::FRAC_PI_4,
        Lean::Left => -std::f64::consts::FRAC_PI_4,
    };
    let (sin, cos) = turn.sin_cos();
    // The pattern's own axes: lines run along v and stand at u = pitch / 2 + n · pitch.
    let corners = [[left, top], [right, top], [left, bottom], [right, bottom]];
    let u = corners.map(|[x, y]| x * cos + y * sin);
    let v = corners.map(|[x, y]| y * cos - x * sin);
    let least = |of: [f64; 4]| of.into_iter().fold(f64::INFINITY, f64::min);
    let most = |of: [f64; 4]| of.into_iter().fold(f64::NEG_INFINITY, f64::max);
    let first = ((least(u) - HATCH_PITCH / 2.0) / HATCH_PITCH).floor() as i64;
    let last = ((most(u) - HATCH_PITCH / 2.0) / HATCH_PITCH).ceil() as i64;
    (first..=last)
        .map(|n| {
            let across = HATCH_PITCH / 2.0 + n as f64 * HATCH_PITCH;
            [least(v), most(v)].map(|along| [across * cos - along * sin, across * sin + along * cos])
        })
        .collect()
}

fn points_of(shape: &Shape) -> Option<[f64; 4]> {
    join(shape.points().map(|[x, y]| [x, y, x, y]))
}

fn join(boxes: impl Iterator<Item = [f64; 4]>) -> Option<[f64; 4]> {
    boxes.reduce(|a, b| [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])])
}

fn bounds(marks: &[Mark]) -> Option<[f64; 4]> {
    join(marks.iter().filter_map(|mark| match mark {
        Mark::Path { shape, .. } => points_of(shape),
        Mark::Circle { centre: [x, y], radius, .. } | Mark::Target { centre: [x, y], radius } => {
            Some([x - radius, y - radius, x + radius, y + radius])
        }
        Mark::Text(text) => Some(text_bounds(text)),
        Mark::Group(group) => bounds(&group.marks),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Date;
    use crate::marks::Group;

    fn document(marks: Vec<Mark>) -> Document {
        let page = Drawing {
            key: "page".into(),
            width: 300.0,
            height: 200.0,
            title: String::new(),
            description: String::new(),
            marks,
        };
        Document {
            title: "Trial".into(),
            author: String::new(),
            date: Date { year: 2026, month: 5, day: 12 },
            pages: vec![page],
        }
    }

    fn words(words: &str) -> Mark {
        Mark::Text(Text::new([20.0, 40.0], 12.0, words).rimmed())
    }

    #[test]
    fn the_same_document_gives_the_same_bytes() {
        let trial = document(vec![words("A 7"), words("½ in, Ø 3.2 mm")]);
        let bytes = write(&trial).unwrap();
        assert_eq!(bytes, write(&trial).unwrap());
        assert!(bytes.starts_with(b"%PDF-1.7"));
        assert_ne!(bytes, write(&document(vec![words("A 8")])).unwrap());
    }

    #[test]
    fn a_missing_character_is_named_and_can_be_replaced() {
        let nested = Mark::Group(Group { marks: vec![words("Flügel Жу")], ..Group::default() });
        let mut trial = document(vec![words("web"), nested]);
        insta::assert_snapshot!(
            write(&trial).unwrap_err().to_string(),
            @r#"page 1: the typeface has no 'Ж', 'у' for "Flügel Жу"; write it in Latin or Greek letters"#
        );
        assert_eq!(substitute(&mut trial), ['Ж', 'у']);
        let Mark::Group(group) = &trial.pages[0].marks[1] else { panic!("a group stays one") };
        assert_eq!(group.marks, [words("Flügel ☒☒")]);
        write(&trial).unwrap();
    }

    #[test]
    fn nothing_to_print_is_said() {
        let mut empty = document(Vec::new());
        empty.pages[0].height = 0.0;
        insta::assert_snapshot!(
            write(&empty).unwrap_err().to_string(),
            @"page 1 is 300 × 0 px; a page needs an area"
        );
        empty.pages.clear();
        insta::assert_snapshot!(write(&empty).unwrap_err().to_string(), @r#""Trial" has no page to print"#);
    }

    #[test]
    fn a_text_of_spaces_or_nothing_is_no_error() {
        write(&document(vec![words(""), words(" \t\n")])).unwrap();
    }

    #[test]
    fn only_a_whole_address_becomes_a_link() {
        let link = |to: &str| {
            let group = Group { link: Some(to.into()), marks: vec![words("run")], ..Group::default() };
            let bytes = write(&document(vec![Mark::Group(group)])).unwrap();
            String::from_utf8_lossy(&bytes).matches("/Subtype/Link").count()
        };
        assert_eq!((link("http://bench.example/run/1"), link("/run/1"), link("javascript:1")), (1, 0, 0));
    }

    /// The pattern is turned by 45°, so that its lines cross the x axis every 4 √2 px, the first at 2 √2.
    #[test]
    fn hatch_lines_stand_where_the_pattern_has_them() {
        for (lean, slope) in [(Lean::Right, -1.0), (Lean::Left, 1.0)] {
            let lines = hatch([10.0, 20.0, 30.0, 30.0], lean);
            // 20 × 10 px are 30 / √2 = 21.2 px across the lines.
            assert!((5..=8).contains(&lines.len()), "{} lines", lines.len());
            for [[ax, ay], [bx, by]] in lines {
                assert!(((by - ay) / (bx - ax) - slope).abs() < 1e-9, "{lean:?} leans the other way");
                let crosses = ax - ay / slope;
                let count = crosses / (4.0 * std::f64::consts::SQRT_2) - 0.5;
                assert!((count - count.round()).abs() < 1e-9, "a line crosses at {crosses}");
            }
        }
    }
}
