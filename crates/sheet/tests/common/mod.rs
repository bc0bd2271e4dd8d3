//! What several tests of drawings need.
#![allow(dead_code, reason = "each test file uses its part")]

use faying_plan::{HoleId, Plan, PlaneId, SourceText, read};
use faying_sheet::marks::{Anchor, Drawing, Mark, Text};
use faying_sheet::{HoleLook, HoleState, text};
use faying_standards::Severity;

pub const FLAP: &str = include_str!("../data/flap-left.toml");

/// A plan from texts of `plan/0.toml`, `plan/1.toml` and so on.
pub fn plan_of(texts: &[&str]) -> Plan {
    let files = texts
        .iter()
        .enumerate()
        .map(|(index, text)| SourceText { name: format!("plan/{index}.toml").into(), text: (*text).into() })
        .collect();
    let reading = read(files);
    let wrong: Vec<_> = reading.findings.iter().filter(|found| found.severity == Severity::Wrong).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    reading.plan
}

pub fn plane_named(plan: &Plan, assembly: &str, plane: &str) -> PlaneId {
    let id = plan.assembly_named(assembly).expect("the assembly is in the plan");
    plan[id].planes.iter().copied().find(|&id| plan[id].name == plane).expect("the plane is in it")
}

pub fn to_do(_: HoleId) -> HoleLook {
    HoleLook::plain(HoleState::ToDo)
}

/// A hole as it came out: its name, its circle.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    pub name: String,
    pub centre: [f64; 2],
    pub radius: f64,
}

/// Every group that says which hole it is.
pub fn holes(drawing: &Drawing) -> Vec<Drawn> {
    let mut holes = Vec::new();
    drawing.walk(&mut |mark| {
        let Mark::Group(group) = mark else { return };
        let Some((_, name)) = group.data.iter().find(|(key, _)| *key == "hole") else { return };
        let circle = group.marks.iter().find_map(|mark| match mark {
            Mark::Circle { centre, radius, .. } => Some((*centre, *radius)),
            _ => None,
        });
        let (centre, radius) = circle.expect("a hole has a circle");
        holes.push(Drawn { name: name.clone(), centre, radius });
    });
    holes
}

/// Texts with the box they take: width by the typeface, height from a capital to a tail.
pub fn texts(drawing: &Drawing) -> Vec<(Text, [f64; 4])> {
    let mut texts = Vec::new();
    drawing.walk(&mut |mark| {
        let Mark::Text(text) = mark else { return };
        let wide = text::width(&text.text, text.size);
        let left = match text.anchor {
            Anchor::Start => text.at[0],
            Anchor::Middle => text.at[0] - wide / 2.0,
            Anchor::End => text.at[0] - wide,
        };
        // Without the tail: figures have none, and a word's is thin.
        texts.push((text.clone(), [left, text.at[1] - text::CAPITAL * text.size, left + wide, text.at[1]]));
    });
    texts
}

/// Fails if two texts fall on each other, a text falls on a hole, or one leaves the drawing.
pub fn assert_legible(drawing: &Drawing) {
    let texts = texts(drawing);
    for (index, (text, a)) in texts.iter().enumerate() {
        assert!(
            a[0] >= 0.0 && a[1] >= 0.0 && a[2] <= drawing.width && a[3] <= drawing.height,
            "{:?} leaves the drawing: {a:?} in {} × {}",
            text.text,
            drawing.width,
            drawing.height
        );
        for (other, b) in &texts[index + 1..] {
            let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
            assert!(apart, "{:?} {a:?} falls on {:?} {b:?}", text.text, other.text);
        }
        for hole in holes(drawing) {
            let [x, y] = hole.centre;
            let (dx, dy) = (x - x.clamp(a[0], a[2]), y - y.clamp(a[1], a[3]));
            assert!(dx.hypot(dy) >= hole.radius, "{:?} {a:?} falls on hole {hole:?}", text.text);
        }
    }
}

/// Reads SVG as strictly as XML: every element closed in turn, every attribute
/// quoted and once, every `&` an entity. Returns the ids and what refers to one.
pub fn well_formed(text: &str) -> Result<(Vec<String>, Vec<String>), String> {
    let (mut ids, mut refers, mut open) = (Vec::new(), Vec::new(), Vec::<String>::new());
    let mut rest = text;
    let entities = |text: &str| -> Result<(), String> {
        for part in text.split('&').skip(1) {
            let known = ["amp;", "lt;", "gt;", "quot;", "#39;"];
            if !known.iter().any(|name| part.starts_with(name)) {
                return Err(format!("stray & before {part:?}"));
            }
        }
        match text.chars().find(|c| c.is_control() && !"\n\u{7f}".contains(*c) && (*c as u32) < 0x80) {
            Some(c) => Err(format!("control character {c:?}")),
            None => Ok(()),
        }
    };
    while let Some(at) = rest.find('<') {
        entities(&rest[..at])?;
        if rest[..at].contains('>') {
            return Err(format!("stray > in {:?}", &rest[..at]));
        }
        // An attribute is quoted and escaped, so the next > ends the tag.
        let end = rest[at..].find('>').ok_or("a tag without an end")? + at;
        let tag = &rest[at + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            match open.pop() {
                Some(last) if last == name => continue,
                last => return Err(format!("</{name}> closes {last:?}")),
            }
        }
        let (tag, alone) = tag.strip_suffix('/').map_or((tag, false), |tag| (tag, true));
        let (name, mut attributes) = tag.split_once(' ').unwrap_or((tag, ""));
        if !name.chars().all(|c| c.is_ascii_alphabetic()) || name.is_empty() {
            return Err(format!("odd element {name:?}"));
        }
        let mut seen = Vec::new();
        while !attributes.trim().is_empty() {
            let (key, after) =
                attributes.trim_start().split_once("=\"").ok_or("an attribute without a value")?;
            let (value, after) = after.split_once('"').ok_or("an open quote")?;
            entities(value)?;
            if seen.contains(&key) || !key.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == ':')
            {
                return Err(format!("odd or repeated attribute {key:?}"));
            }
            match key {
                "id" => ids.push(value.to_owned()),
                "aria-labelledby" => refers.extend(value.split(' ').map(str::to_owned)),
                _ => {
                    if let Some(id) = value.strip_prefix("url(#").and_then(|v| v.strip_suffix(')')) {
                        refers.push(id.to_owned());
                    }
                }
            }
            seen.push(key);
            attributes = after;
        }
        if !alone {
            open.push(name.to_owned());
        }
    }
    if open.is_empty() { Ok((ids, refers)) } else { Err(format!("left open: {open:?}")) }
}
