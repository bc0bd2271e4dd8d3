//! A sketch as the text of one plane, to be put into a plan file.
//!
//! What was taken and what was left stands above it as comments. The trade
//! names of the sides are placeholders: a drawing does not know them.

use std::fmt::Write as _;

use faying_standards::{Finding, Unit};

use super::{Corner, Places, Row, Shape, Sketch};

impl Sketch {
    /// The text of a plane called `name`, for a plan file whose bare numbers are in `unit`.
    ///
    /// Lengths are rounded to .00001 in or .0001 mm. The part is given the
    /// plane's own name.
    #[must_use]
    pub fn to_toml(&self, name: &str, unit: Unit) -> String {
        let key = bare_or_quoted(name);
        let mut out = String::new();
        self.comments(&mut out, unit);
        let numbers = Numbers { unit };
        let _ = writeln!(out, "[planes.{key}]");
        out.push_str(
            "near = \"near\"   # write the trade names of the two sides: aft and forward, upper and lower\n",
        );
        out.push_str("far = \"far\"\n");
        let _ = writeln!(out, "layers = [{}]", quoted(name));
        let shapes = |shapes: &[Shape]| shapes.iter().map(|shape| numbers.shape(shape)).collect::<Vec<_>>();
        match &shapes(&self.outlines)[..] {
            [] => {}
            [one] => {
                let _ = writeln!(out, "outline.{key} = {one}");
            }
            several => {
                let _ = writeln!(out, "outline.{key} = [\n  {},\n]", several.join(",\n  "));
            }
        }
        match &shapes(&self.cuts)[..] {
            [] => {}
            cuts => {
                let _ = writeln!(out, "cut.{key} = [\n  {},\n]", cuts.join(",\n  "));
            }
        }
        let bends =
            self.bends.iter().map(|[from, to]| format!("[{}, {}]", numbers.list(from), numbers.list(to)));
        match &bends.collect::<Vec<_>>()[..] {
            [] => {}
            [one] => {
                let _ = writeln!(out, "bends = [{one}]");
            }
            several => {
                let _ = writeln!(out, "bends = [\n  {},\n]", several.join(",\n  "));
            }
        }
        if self.rows.is_empty() {
            return out;
        }
        let _ = writeln!(out, "[planes.{key}.rows]");
        for row in &self.rows {
            let _ = writeln!(out, "{} = {}   # {}", row.name, numbers.row(row), plain(&remark(row)));
        }
        out
    }

    fn comments(&self, out: &mut String, unit: Unit) {
        let _ = writeln!(
            out,
            "# Sketch from a DXF drawing (unit {}); numbers below are for a plan with units = \"{}\".",
            self.units.symbol(),
            unit.symbol()
        );
        // A part without a bend is the usual one: nothing is said of what it does not have.
        let bends = match self.bends.len() {
            0 => String::new(),
            count => format!(", {}", counted(count, "bend line")),
        };
        let _ = writeln!(
            out,
            "# Taken: {} in {}, {}, {}{bends}.",
            counted(self.holes(), "hole"),
            counted(self.rows.len(), "row"),
            counted(self.cuts.len(), "cut-out"),
            counted(self.outlines.len(), "outline")
        );
        for left in &self.left {
            let _ = writeln!(out, "# Left: {} {}, {}.", left.count, plain(&left.what), plain(&left.why));
        }
        for Finding { what, next, .. } in &self.findings {
            let _ = writeln!(out, "# Look: {}; {}.", plain(what), plain(next));
        }
    }
}

/// Layer, fastener and number of holes, for the end of a row's line.
fn remark(row: &Row) -> String {
    let suits = match &row.suits {
        Some(suits) => format!("suits {}", suits.fastener),
        None => "suits no usual fastener".to_owned(),
    };
    format!("layer {}; {suits}; {}", row.layer, counted(row.places.count(), "hole"))
}

fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

struct Numbers {
    unit: Unit,
}

impl Numbers {
    /// A length given in inches, in the unit of the plan.
    fn length(&self, inches: f64) -> String {
        match self.unit {
            Unit::Inch => trimmed(inches, 5),
            Unit::Millimetre => trimmed(inches * 25.4, 4),
        }
    }

    fn list(&self, inches: &[f64]) -> String {
        let numbers: Vec<String> = inches.iter().map(|&value| self.length(value)).collect();
        format!("[{}]", numbers.join(", "))
    }

    fn corner(&self, corner: &Corner) -> String {
        let bulge = trimmed(corner.bulge, 6);
        let (x, y) = (self.length(corner.x), self.length(corner.y));
        if bulge == "0" { format!("[{x}, {y}]") } else { format!("[{x}, {y}, {bulge}]") }
    }

    fn shape(&self, shape: &Shape) -> String {
        match shape {
            Shape::Rect(numbers) => format!("{{ rect = {} }}", self.list(numbers)),
            Shape::Circle(numbers) => format!("{{ circle = {} }}", self.list(numbers)),
            Shape::Path(path) => {
                let corners: Vec<String> = path.iter().map(|corner| self.corner(corner)).collect();
                format!("{{ path = [{}] }}", corners.join(", "))
            }
        }
    }

    fn row(&self, row: &Row) -> String {
        let places = match &row.places {
            Places::Line { from, to, count } => {
                format!("from = {}, to = {}, count = {count}", self.list(from), self.list(to))
            }
            Places::At(places) => {
                let places: Vec<String> = places.iter().map(|place| self.list(place)).collect();
                format!("at = [{}]", places.join(", "))
            }
        };
        format!("{{ {places}, hole = \"{}\" }}", self.hole(row))
    }

    /// The drill by its mark where the hole is drawn at its size, else the diameter as drawn.
    fn hole(&self, row: &Row) -> String {
        /// Half a thousandth: how a drill's size is usually rounded on a drawing.
        const ROUNDED: f64 = 0.0005;
        match &row.suits {
            // A letter alone is no length; number drills are.
            Some(suits)
                if suits.drill.starts_with('#') && (suits.hole_in - row.diameter_in).abs() <= ROUNDED =>
            {
                suits.drill.clone()
            }
            _ => self.length(row.diameter_in),
        }
    }
}

/// A decimal with at most `places` places, without trailing zeros or a negative nothing.
fn trimmed(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A text that cannot leave its comment.
fn plain(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}

fn bare_or_quoted(name: &str) -> String {
    let bare = !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-' || b == b'_');
    if bare { name.to_owned() } else { quoted(name) }
}

fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' | '\\' => out.extend(['\\', letter]),
            letter if letter.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(letter));
            }
            letter => out.push(letter),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use crate::dxf::{DrawingUnits, Left};
    use crate::sketch::suits;

    use super::*;

    fn small() -> Sketch {
        let row = |name: &str, diameter_in, places| Row {
            name: name.to_owned(),
            diameter_in,
            suits: suits(diameter_in),
            layer: "HOLES\u{1}30".into(),
            places,
        };
        let corner = |x, y, bulge| Corner { x, y, bulge };
        Sketch {
            units: DrawingUnits::Inch,
            outlines: vec![Shape::Path(vec![
                corner(0.0, 0.0, 0.0),
                corner(47.0, 0.0, 0.414_213_56),
                corner(47.0, 4.5, 0.0),
            ])],
            cuts: vec![Shape::Circle([12.0, 2.0, 1.5]), Shape::Rect([1.0, 1.0, 0.5, -0.0])],
            rows: vec![
                row("A", 0.1285, Places::Line { from: [1.0, 0.5], to: [46.0, 0.5], count: 37 }),
                row("B", 0.257, Places::At(vec![[1.0, 2.0], [3.0, 1.0 / 3.0]])),
                row("C", 0.112, Places::At(vec![[5.0, 2.0]])),
            ],
            bends: vec![[[0.0, 0.35], [47.0, 0.35]]],
            left: vec![Left { what: "ARC".into(), count: 1, why: "bend line".into() }],
            findings: vec![Finding::look("x", "2 holes lie outside", "look")],
        }
    }

    #[test]
    fn the_text_of_a_plane() {
        insta::assert_snapshot!(small().to_toml("web", Unit::Inch), @r##"
        # Sketch from a DXF drawing (unit in); numbers below are for a plan with units = "in".
        # Taken: 40 holes in 3 rows, 2 cut-outs, 1 outline, 1 bend line.
        # Left: 1 ARC, bend line.
        # Look: 2 holes lie outside; look.
        [planes.web]
        near = "near"   # write the trade names of the two sides: aft and forward, upper and lower
        far = "far"
        layers = ["web"]
        outline.web = { path = [[0, 0], [47, 0, 0.414214], [47, 4.5]] }
        cut.web = [
          { circle = [12, 2, 1.5] },
          { rect = [1, 1, 0.5, 0] },
        ]
        bends = [[[0, 0.35], [47, 0.35]]]
        [planes.web.rows]
        A = { from = [1, 0.5], to = [46, 0.5], count = 37, hole = "#30" }   # layer HOLES 30; suits 1/8; 37 holes
        B = { at = [[1, 2], [3, 0.33333]], hole = "0.257" }   # layer HOLES 30; suits 1/4; 2 holes
        C = { at = [[5, 2]], hole = "0.112" }   # layer HOLES 30; suits no usual fastener; 1 hole
        "##);
    }

    #[test]
    fn a_metric_plan_has_millimetres_and_odd_names_are_quoted() {
        let text = small().to_toml("left \"web\"", Unit::Millimetre);
        assert!(text.contains("[planes.\"left \\\"web\\\"\"]"), "{text}");
        assert!(
            text.contains("from = [25.4, 12.7], to = [1168.4, 12.7], count = 37, hole = \"#30\""),
            "{text}"
        );
        assert!(text.contains("hole = \"6.5278\""), "{text}");
        assert!(text.contains("bends = [[[0, 8.89], [1193.8, 8.89]]]"), "{text}");
    }

    #[test]
    fn several_bends_stand_on_a_line_each_and_none_is_not_spoken_of() {
        let bends = vec![[[0.0, 0.35], [47.0, 0.35]], [[0.0, 4.0], [47.0, 4.25]]];
        let text = Sketch { bends, ..small() }.to_toml("web", Unit::Inch);
        assert!(
            text.contains(
                "bends = [\n  [[0, 0.35], [47, 0.35]],\n  [[0, 4], [47, 4.25]],\n]\n[planes.web.rows]"
            ),
            "{text}"
        );
        assert!(text.contains(", 1 outline, 2 bend lines."), "{text}");
        let text = Sketch { bends: Vec::new(), ..small() }.to_toml("web", Unit::Inch);
        assert!(text.contains(", 1 outline.\n") && !text.contains("bends"), "{text}");
    }
}
