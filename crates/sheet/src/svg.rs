//! A drawing as SVG text.
//!
//! Colours are custom properties with the print value behind them
//! (`var(--ink,#11171f)`), written as attributes, so that a page's dark mode
//! reaches them, a strict content policy allows them, and the file stands
//! alone. Ids carry the drawing's key.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use crate::marks::{
    Anchor, Drawing, Fill, Group, HATCH_PITCH, HATCH_WIDTH, Lean, Mark, Role, Segment, Shape, Stroke, Text,
};

/// The drawing as one `<svg>` element.
///
/// A drawing without links is an image to a screen reader; with links it is a
/// group, because nothing inside an image can be reached.
#[must_use]
pub fn write(drawing: &Drawing) -> String {
    let mut writer = Writer { out: String::new(), key: key(&drawing.key) };
    writer.drawing(drawing);
    writer.out
}

/// A text as it stands in an element or in a quoted attribute.
///
/// Characters that XML forbids become U+FFFD, so that no text breaks a page.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\0'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            other => out.push(other),
        }
    }
    out
}

/// An id that is safe in `url(#…)` and starts with a letter.
fn key(text: &str) -> String {
    let mut key: String =
        text.chars().map(|c| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' }).collect();
    if !key.starts_with(|c: char| c.is_ascii_alphabetic()) {
        key.insert(0, 'd');
    }
    key
}

/// A number with two decimals at most and no tail of noughts.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn colour(role: Role) -> String {
    let [red, green, blue] = role.print();
    format!("var({},#{red:02x}{green:02x}{blue:02x})", role.property())
}

struct Writer {
    out: String,
    key: String,
}

impl Writer {
    /// Writing to a `String` cannot fail, so the result is dropped here once.
    fn put(&mut self, text: std::fmt::Arguments<'_>) {
        let _ = self.out.write_fmt(text);
    }

    fn drawing(&mut self, drawing: &Drawing) {
        let (width, height) = (number(drawing.width), number(drawing.height));
        let role = if drawing.has_links() { "group" } else { "img" };
        let key = self.key.clone();
        self.put(format_args!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
             height=\"{height}\" role=\"{role}\" aria-labelledby=\"{key}-title {key}-desc\" \
             font-family=\"B612, sans-serif\" font-variant-numeric=\"tabular-nums\">\n"
        ));
        self.put(format_args!("<title id=\"{key}-title\">{}</title>\n", escape(&drawing.title)));
        self.put(format_args!("<desc id=\"{key}-desc\">{}</desc>\n", escape(&drawing.description)));
        self.hatches(drawing);
        for mark in &drawing.marks {
            self.mark(mark);
        }
        self.out.push_str("</svg>\n");
    }

    fn hatches(&mut self, drawing: &Drawing) {
        let mut hatches = BTreeSet::new();
        drawing.walk(&mut |mark| {
            if let Mark::Path { fill: Some(Fill::Hatch(role, lean)), .. }
            | Mark::Circle { fill: Some(Fill::Hatch(role, lean)), .. } = mark
            {
                hatches.insert((*role, *lean));
            }
        });
        if hatches.is_empty() {
            return;
        }
        self.out.push_str("<defs>\n");
        for (role, lean) in hatches {
            let (id, pitch) = (self.hatch_id(role, lean), number(HATCH_PITCH));
            let turn = match lean {
                Lean::Right => 45,
                Lean::Left => -45,
            };
            let (paper, line, width) = (colour(Role::Paper), colour(role), number(HATCH_WIDTH));
            let middle = number(HATCH_PITCH / 2.0);
            self.put(format_args!(
                "<pattern id=\"{id}\" width=\"{pitch}\" height=\"{pitch}\" patternUnits=\"userSpaceOnUse\" \
                 patternTransform=\"rotate({turn})\"><path d=\"M0 0H{pitch}V{pitch}H0Z\" fill=\"{paper}\"/>\
                 <path d=\"M{middle} 0V{pitch}\" stroke=\"{line}\" stroke-width=\"{width}\"/></pattern>\n"
            ));
        }
        self.out.push_str("</defs>\n");
    }

    fn hatch_id(&self, role: Role, lean: Lean) -> String {
        let lean = match lean {
            Lean::Right => "right",
            Lean::Left => "left",
        };
        format!("{}-hatch{}-{lean}", self.key, &role.property()[1..])
    }

    fn mark(&mut self, mark: &Mark) {
        match mark {
            Mark::Path { shape, fill, stroke } => {
                self.out.push_str("<path d=\"");
                self.shape(shape);
                self.out.push('"');
                if fill.is_some() {
                    self.out.push_str(" fill-rule=\"evenodd\"");
                }
                self.style(*fill, *stroke);
                self.out.push_str("/>\n");
            }
            Mark::Circle { centre, radius, fill, stroke } => {
                self.circle(*centre, *radius);
                self.style(*fill, *stroke);
                self.out.push_str("/>\n");
            }
            Mark::Target { centre, radius } => {
                self.circle(*centre, *radius);
                self.out.push_str(" fill=\"none\" pointer-events=\"all\"/>\n");
            }
            Mark::Text(text) => self.text(text),
            Mark::Group(group) => self.group(group),
        }
    }

    fn circle(&mut self, centre: [f64; 2], radius: f64) {
        let [x, y] = centre.map(number);
        self.put(format_args!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{}\"", number(radius)));
    }

    fn shape(&mut self, shape: &Shape) {
        for segment in &shape.0 {
            match segment {
                Segment::Move([x, y]) => self.put(format_args!("M{} {}", number(*x), number(*y))),
                Segment::Line([x, y]) => self.put(format_args!("L{} {}", number(*x), number(*y))),
                Segment::Cubic(a, b, to) => {
                    let [ax, ay] = a.map(number);
                    let [bx, by] = b.map(number);
                    let [x, y] = to.map(number);
                    self.put(format_args!("C{ax} {ay} {bx} {by} {x} {y}"));
                }
                Segment::Close => self.out.push('Z'),
            }
        }
    }

    fn style(&mut self, fill: Option<Fill>, stroke: Option<Stroke>) {
        match fill {
            None => self.out.push_str(" fill=\"none\""),
            Some(Fill::Flat(role)) => self.put(format_args!(" fill=\"{}\"", colour(role))),
            Some(Fill::Hatch(role, lean)) => {
                let id = self.hatch_id(role, lean);
                self.put(format_args!(" fill=\"url(#{id})\""));
            }
        }
        let Some(stroke) = stroke else { return };
        self.put(format_args!(
            " stroke=\"{}\" stroke-width=\"{}\"",
            colour(stroke.role),
            number(stroke.width)
        ));
        let lengths = stroke.dash.lengths();
        if !lengths.is_empty() {
            let lengths: Vec<String> = lengths.iter().map(|&length| number(length)).collect();
            self.put(format_args!(" stroke-dasharray=\"{}\"", lengths.join(" ")));
        }
    }

    fn text(&mut self, text: &Text) {
        let [x, y] = text.at.map(number);
        self.put(format_args!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" fill=\"{}\"",
            number(text.size),
            colour(text.role)
        ));
        match text.anchor {
            Anchor::Start => {}
            Anchor::Middle => self.out.push_str(" text-anchor=\"middle\""),
            Anchor::End => self.out.push_str(" text-anchor=\"end\""),
        }
        if text.bold {
            self.out.push_str(" font-weight=\"700\"");
        }
        if text.rim {
            self.put(format_args!(
                " stroke=\"{}\" stroke-width=\"3\" stroke-linejoin=\"round\" paint-order=\"stroke\"",
                colour(Role::Paper)
            ));
        }
        self.put(format_args!(">{}</text>\n", escape(&text.text)));
    }

    fn group(&mut self, group: &Group) {
        let tag = if group.link.is_some() { "a" } else { "g" };
        self.put(format_args!("<{tag}"));
        if let Some(link) = &group.link {
            self.put(format_args!(" href=\"{}\"", escape(link)));
            if let Some(title) = &group.title {
                self.put(format_args!(" aria-label=\"{}\"", escape(title)));
            }
        }
        if let Some(id) = &group.id {
            let id = key(id);
            self.put(format_args!(" id=\"{}-{id}\"", self.key.clone()));
        }
        for (name, value) in &group.data {
            self.put(format_args!(" data-{name}=\"{}\"", escape(value)));
        }
        self.out.push('>');
        if let Some(title) = &group.title {
            self.put(format_args!("<title>{}</title>", escape(title)));
        }
        for mark in &group.marks {
            self.mark(mark);
        }
        self.put(format_args!("</{tag}>\n"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        for (value, want) in
            [(1.0, "1"), (1.5, "1.5"), (-0.001, "0"), (0.126, "0.13"), (100.0, "100"), (-2.25, "-2.25")]
        {
            assert_eq!(number(value), want);
        }
    }

    #[test]
    fn a_small_drawing_is_written_as_meant() {
        let drawing = Drawing {
            key: "7/web".into(),
            width: 40.0,
            height: 20.0,
            title: "Web & cap".into(),
            description: "one hole".into(),
            marks: vec![Mark::Group(Group {
                data: vec![("hole", "flap/web/A/1".into())],
                title: Some("A 1, to do".into()),
                marks: vec![Mark::Circle {
                    centre: [10.0, 10.125],
                    radius: 4.0,
                    fill: Some(Fill::Hatch(Role::Ink, Lean::Right)),
                    stroke: Some(Stroke::solid(Role::Ink, 1.4)),
                }],
                ..Group::default()
            })],
        };
        insta::assert_snapshot!(write(&drawing), @r##"
        <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20" width="40" height="20" role="img" aria-labelledby="d7-web-title d7-web-desc" font-family="B612, sans-serif" font-variant-numeric="tabular-nums">
        <title id="d7-web-title">Web &amp; cap</title>
        <desc id="d7-web-desc">one hole</desc>
        <defs>
        <pattern id="d7-web-hatch-ink-right" width="4" height="4" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0H4V4H0Z" fill="var(--paper,#ffffff)"/><path d="M2 0V4" stroke="var(--ink,#11171f)" stroke-width="1.2"/></pattern>
        </defs>
        <g data-hole="flap/web/A/1"><title>A 1, to do</title><circle cx="10" cy="10.12" r="4" fill="url(#d7-web-hatch-ink-right)" stroke="var(--ink,#11171f)" stroke-width="1.4"/>
        </g>
        </svg>
        "##);
    }
}
