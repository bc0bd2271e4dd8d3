//! Sections are to scale: what is drawn is measured back.

mod common;

use common::{assert_legible, texts, well_formed};
use faying_plan::Preparation;
use faying_sheet::marks::{Fill, Mark, Role};
use faying_sheet::{Drawing, SectionInput, SectionSheet, ShopHead, section_drawing, svg};
use faying_standards::HeadStyle;

fn sheet(name: &str, thickness_in: f64, preparation: Preparation) -> SectionSheet {
    SectionSheet { name: name.to_owned(), thickness_in, preparation }
}

/// A 1/8 in universal rivet, -5, through a doubler, a web and a cap.
fn universal(width: f64) -> SectionInput {
    SectionInput {
        key: "s".into(),
        width,
        title: "Hole A 18".into(),
        sheets: vec![
            sheet("doubler", 0.063, Preparation::Plain),
            sheet("web", 0.040, Preparation::Plain),
            sheet("cap/lower", 0.040, Preparation::Plain),
        ],
        head: HeadStyle::Universal,
        shank_in: 0.125,
        length_in: 0.3125,
        hole_in: 0.1285,
        head_dia_in: 0.250,
        head_height_in: 0.054,
        head_on_near: true,
        seat_to_seat_in: 0.143,
        shop_head: Some(ShopHead { width_in: 0.205, height_in: 0.060 }),
        near_name: "aft".into(),
        far_name: "forward".into(),
    }
}

/// A 3/32 in flush rivet, -3.5, in two dimpled sheets; the lip is that of the cone given.
fn flush(width: f64) -> SectionInput {
    let (head_dia_in, shank_in, head_height_in, hole_in) = (0.179, 0.09375, 0.036, 0.105);
    let lip = (head_dia_in - hole_in) / (head_dia_in - shank_in) * head_height_in;
    SectionInput {
        sheets: vec![
            sheet("skin", 0.025, Preparation::Dimpled),
            sheet("cap/upper", 0.032, Preparation::Dimpled),
        ],
        head: HeadStyle::Flush,
        shank_in,
        length_in: 0.21875,
        hole_in,
        head_dia_in,
        head_height_in,
        seat_to_seat_in: 0.057 + lip,
        shop_head: Some(ShopHead { width_in: 0.135, height_in: 0.045 }),
        ..universal(width)
    }
}

/// Boxes of the rivets (before, after) and of the halves of the sheets, px.
fn boxes(drawing: &Drawing) -> (Vec<[f64; 4]>, Vec<[f64; 4]>) {
    let (mut rivets, mut sheets) = (Vec::new(), Vec::new());
    drawing.walk(&mut |mark| {
        let Mark::Path { shape, fill: Some(fill), .. } = mark else { return };
        // Ends only: the handles of a curve lie outside it.
        let bounds = shape.0.iter().fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |b, segment| {
            use faying_sheet::marks::Segment::{Close, Cubic, Line, Move};
            let (Move([x, y]) | Line([x, y]) | Cubic(_, _, [x, y])) = *segment else {
                assert!(matches!(segment, Close));
                return b;
            };
            [b[0].min(x), b[1].min(y), b[2].max(x), b[3].max(y)]
        });
        match fill {
            Fill::Flat(Role::Wash) => rivets.push(bounds),
            Fill::Hatch(..) => sheets.push(bounds),
            Fill::Flat(_) => {}
        }
    });
    (rivets, sheets)
}

#[test]
fn lengths_and_thicknesses_are_to_one_scale() {
    for width in [344.0, 620.0, 1200.0] {
        for head_on_near in [true, false] {
            let input = SectionInput { head_on_near, ..universal(width) };
            let (rivets, sheets) = boxes(&section_drawing(&input));
            assert_eq!((rivets.len(), sheets.len()), (2, 12));
            // The head is as wide as given; everything else is measured with that.
            let scale = (rivets[0][2] - rivets[0][0]) / 0.250;
            let near = |px: f64, inches: f64| {
                assert!((px - inches * scale).abs() < 1e-6 * scale, "{} for {inches} in", px / scale);
            };
            near(rivets[0][3] - rivets[0][1], 0.054 + 0.3125);
            near(rivets[1][3] - rivets[1][1], 0.054 + 0.143 + 0.060);
            for half in &sheets[..2] {
                let thick = if head_on_near { 0.063 } else { 0.040 };
                near(half[3] - half[1], thick);
            }
            // The first sheet from the head touches the seat.
            let seat = if head_on_near { rivets[0][1] + 0.054 * scale } else { rivets[0][3] - 0.054 * scale };
            let face = if head_on_near { sheets[0][1] } else { sheets[0][3] };
            assert!((seat - face).abs() < 1e-6, "seat {seat}, face {face}");
        }
    }
}

/// The shop head is as wide as given at its widest: the curve is followed, not its handles.
#[test]
fn the_shop_head_has_its_width_and_height() {
    let drawing = section_drawing(&universal(620.0));
    let (rivets, _) = boxes(&drawing);
    let scale = (rivets[0][2] - rivets[0][0]) / 0.250;
    let mut widest: Vec<(f64, f64)> = Vec::new();
    drawing.walk(&mut |mark| {
        let Mark::Path { shape, fill: Some(Fill::Flat(Role::Wash)), .. } = mark else { return };
        let mut from = [0.0; 2];
        let mut most = (f64::MIN, 0.0);
        for segment in &shape.0 {
            use faying_sheet::marks::Segment::{Close, Cubic, Line, Move};
            match *segment {
                Move(to) | Line(to) => from = to,
                Cubic(a, b, to) => {
                    for step in 0..=200 {
                        let t = f64::from(step) / 200.0;
                        let at = |axis: usize| {
                            (1.0 - t).powi(3) * from[axis]
                                + 3.0 * (1.0 - t).powi(2) * t * a[axis]
                                + 3.0 * (1.0 - t) * t * t * b[axis]
                                + t.powi(3) * to[axis]
                        };
                        // Below the manufactured head only.
                        if at(1) > 100.0 && at(0) > most.0 {
                            most = (at(0), at(1));
                        }
                    }
                    from = to;
                }
                Close => {}
            }
        }
        widest.push(most);
    });
    let axis = f64::midpoint(rivets[1][0], rivets[1][2]);
    assert!(((widest[1].0 - axis) * 2.0 / scale - 0.205).abs() < 1e-4, "{:?}", widest[1]);
}

/// Dimples nest: each cone starts where the one above it ends, and the shop head sits on the lip.
#[test]
fn dimples_nest_and_carry_the_shop_head() {
    let input = flush(620.0);
    let (rivets, sheets) = boxes(&section_drawing(&input));
    let scale = (rivets[0][2] - rivets[0][0]) / input.head_dia_in;
    let lip = input.seat_to_seat_in - 0.057;
    for (half, thick) in sheets[..4].iter().zip([0.025, 0.025, 0.032, 0.032]) {
        assert!(((half[3] - half[1]) / scale - (thick + lip)).abs() < 1e-9, "{half:?}");
    }
    assert!(((sheets[2][1] - sheets[0][1]) / scale - 0.025).abs() < 1e-9);
    let seat = rivets[1][3] - 0.045 * scale;
    assert!((seat - sheets[6][3]).abs() < 1e-6, "the shop head floats");
}

/// A countersink deeper than its sheet leaves a knife edge, and is drawn as one.
#[test]
fn a_countersink_through_the_sheet_is_a_knife_edge() {
    let with = |thickness_in| SectionInput {
        sheets: vec![
            sheet("skin", thickness_in, Preparation::Countersunk),
            sheet("rib", 0.040, Preparation::Plain),
        ],
        seat_to_seat_in: thickness_in + 0.040,
        ..flush(620.0)
    };
    let bore = |input: &SectionInput| {
        let (rivets, sheets) = boxes(&section_drawing(input));
        let axis = f64::midpoint(rivets[0][0], rivets[0][2]);
        (sheets[0][0] - axis) / ((rivets[0][2] - rivets[0][0]) / input.head_dia_in) * 2.0
    };
    assert!((bore(&with(0.050)) - 0.105).abs() < 1e-9);
    assert!(bore(&with(0.020)) > 0.11);
}

#[test]
fn nothing_falls_on_anything() {
    let thin = SectionInput {
        sheets: (1..=6).map(|n| sheet(&format!("shim number {n}"), 0.016, Preparation::Plain)).collect(),
        seat_to_seat_in: 0.096,
        length_in: 0.25,
        ..universal(0.0)
    };
    let short = SectionInput { length_in: 0.125, shop_head: None, ..universal(0.0) };
    for input in [universal(0.0), flush(0.0), thin, short] {
        for width in [320.0, 344.0, 480.0, 620.0, 1200.0] {
            for head_on_near in [true, false] {
                let input = SectionInput { width, head_on_near, ..input.clone() };
                let drawing = section_drawing(&input);
                assert_legible(&drawing);
                well_formed(&svg::write(&drawing)).unwrap();
                let (rivets, sheets) = boxes(&drawing);
                for [left, top, right, bottom] in rivets.into_iter().chain(sheets) {
                    assert!(left >= 0.0 && top >= 0.0 && right <= drawing.width && bottom <= drawing.height);
                }
            }
        }
    }
}

#[test]
fn the_words_say_what_is_drawn() {
    let drawing = section_drawing(&universal(620.0));
    insta::assert_snapshot!(drawing.description, @"From aft to forward: doubler .063 in, web .040 in, cap/lower .040 in. Manufactured head aft, grip .143 in, length .3125 in, shop head .205 in wide and .060 in high.");
    let words: Vec<String> = texts(&drawing).into_iter().map(|(text, _)| text.text).collect();
    for want in ["aft side", "forward side", "doubler", ".063 in", ".143", ".1695", "width .205 in", ".060"] {
        assert!(words.iter().any(|word| word == want), "{want} is missing: {words:?}");
    }
}
