//! The SVG writer: whatever the texts, the result is well-formed and says what was meant.

mod common;

use common::well_formed;
use faying_sheet::marks::{Fill, Group, Lean, Mark, Role, Stroke, Text};
use faying_sheet::{Drawing, HoleLook, HoleState, svg, symbol};
use proptest::prelude::*;

fn drawing(key: &str, words: &str, link: Option<&str>) -> Drawing {
    Drawing {
        key: key.to_owned(),
        width: 100.0,
        height: 50.0,
        title: words.to_owned(),
        description: words.to_owned(),
        marks: vec![Mark::Group(Group {
            id: Some(words.to_owned()),
            link: link.map(str::to_owned),
            data: vec![("hole", words.to_owned())],
            title: Some(words.to_owned()),
            marks: vec![
                Mark::Text(Text::new([1.0, 2.0], 12.0, words).rimmed().heavy()),
                Mark::Target { centre: [5.0, 5.0], radius: 12.0 },
                Mark::Circle {
                    centre: [5.0, 5.0],
                    radius: 3.0,
                    fill: Some(Fill::Hatch(Role::Warn, Lean::Left)),
                    stroke: Some(Stroke::solid(Role::Ink, 1.0)),
                },
            ],
        })],
    }
}

/// The checker itself must be able to fail.
#[test]
fn the_checker_sees_what_is_broken() {
    for broken in [
        "<g>",
        "<g></a>",
        "<g a=1/>",
        "<g a=\"1\" a=\"2\"/>",
        "<g>&nbsp;</g>",
        "<g>a > b</g>",
        "<g a=\"<b>\"/>",
        "<g>\u{1}</g>",
    ] {
        assert!(well_formed(broken).is_err(), "{broken:?} passed");
    }
    assert!(well_formed("<g a=\"x &amp; y\">1 &lt; 2<b/></g>").is_ok());
}

proptest! {
    /// No text, key or link breaks the element it stands in, and every reference has its id.
    #[test]
    fn any_text_is_well_formed(words in any::<String>(), key in any::<String>(), link in proptest::option::of(any::<String>())) {
        let text = svg::write(&drawing(&key, &words, link.as_deref()));
        let (ids, refers) = well_formed(&text).map_err(TestCaseError::fail)?;
        for id in &refers {
            prop_assert!(ids.contains(id), "{id} is referred to and not there");
        }
        let mut once = ids.clone();
        once.sort();
        once.dedup();
        prop_assert_eq!(once.len(), ids.len());
    }

    /// What was escaped reads back as it was, but for what XML forbids and line ends.
    #[test]
    fn escaping_loses_nothing(words in "[ -~éß日]{0,40}") {
        let back = svg::escape(&words)
            .replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&#39;", "'")
            .replace("&amp;", "&");
        prop_assert_eq!(back, words);
    }
}

#[test]
fn two_drawings_on_a_page_share_no_id() {
    let both = svg::write(&drawing("near", "A", None)) + &svg::write(&drawing("far", "A", None));
    let (mut ids, _) = well_formed(&both).unwrap();
    let count = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), count);
}

/// Nothing inside an image can be reached by a screen reader or by keyboard.
#[test]
fn a_drawing_with_links_is_no_image() {
    assert!(svg::write(&drawing("a", "A 1", None)).contains("role=\"img\""));
    let linked = svg::write(&drawing("a", "A 1", Some("/hole?a=1&b=2")));
    assert!(linked.contains("role=\"group\"") && linked.contains("<a href=\"/hole?a=1&amp;b=2\""));
}

/// On a black and white print every colour is ink or paper: fill and strokes alone must differ.
#[test]
fn states_differ_without_colour() {
    let bare = |state| {
        let marks = HoleLook::plain(state).marks([0.0, 0.0], 7.0);
        let mut text = format!("{marks:?}");
        for role in ["Faint", "Accent", "Warn"] {
            text = text.replace(role, "Ink");
        }
        text
    };
    for (index, a) in HoleState::ALL.iter().enumerate() {
        for b in &HoleState::ALL[index + 1..] {
            assert_ne!(bare(*a), bare(*b), "{a:?} looks like {b:?}");
        }
    }
}

/// Marks of a hole keep within the reach that labels are kept out of.
#[test]
fn marks_keep_within_their_reach() {
    for state in HoleState::ALL {
        for emphasis in [false, true] {
            for radius in [2.4, 5.0, 8.0] {
                let look = HoleLook { state, letter: None, emphasis };
                let reach = look.reach(radius) + 0.01;
                for mark in look.marks([0.0, 0.0], radius) {
                    let out = match &mark {
                        Mark::Circle { radius, stroke, .. } => radius + stroke.map_or(0.0, |s| s.width / 2.0),
                        Mark::Path { shape, .. } => {
                            shape.points().flatten().fold(0.0, |m: f64, v| m.max(v.abs()))
                        }
                        _ => 0.0,
                    };
                    assert!(out <= reach, "{state:?} {emphasis} r {radius}: {out} beyond {reach}");
                }
            }
        }
    }
}

#[test]
fn the_quadrant_symbol_puts_each_text_in_its_quarter() {
    let quadrants = symbol::Quadrants {
        rivet: "BJ".into(),
        diameter_and_head: "4N".into(),
        preparation: "D".into(),
        length: "5".into(),
    };
    let drawing = quadrants.drawing("q", 14.0, "MS20470AD4-5, head near");
    common::assert_legible(&drawing);
    let [x, y] = [drawing.width / 2.0, drawing.height / 2.0];
    for (words, right, below) in
        [("BJ", false, false), ("4N", true, false), ("D", false, true), ("5", true, true)]
    {
        let texts = common::texts(&drawing);
        let (_, bounds) = texts.iter().find(|(text, _)| text.text == words).unwrap();
        assert!(if right { bounds[0] > x } else { bounds[2] < x }, "{words} {bounds:?}");
        assert!(if below { bounds[1] > y } else { bounds[3] < y }, "{words} {bounds:?}");
    }
}
