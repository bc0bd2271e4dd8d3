//! Plane drawings: every hole once, on the right side, and nothing on top of anything.

mod common;

use std::collections::BTreeSet;

use common::{Drawn, FLAP, assert_legible, holes, plan_of, plane_named, to_do, well_formed};
use faying_plan::{Plan, PlaneId, Side};
use faying_sheet::marks::{Dash, Mark};
use faying_sheet::{Drawing, HoleLook, HoleState, PlaneOptions, Scale, plane_drawing, svg};

const MIRRORED: &str = "format = 1\nid = \"flap-right\"\nmirror = \"flap-left\"\n";

fn draw(plan: &Plan, plane: PlaneId, side: Side, options: &PlaneOptions<'_>) -> Drawing {
    plane_drawing(plan, plane, side, &to_do, options)
}

fn web(options: &PlaneOptions<'_>) -> Drawing {
    let plan = plan_of(&[FLAP]);
    draw(&plan, plane_named(&plan, "flap-left", "web"), Side::Near, options)
}

fn at(holes: &[Drawn], name: &str) -> [f64; 2] {
    holes.iter().find(|hole| hole.name == name).unwrap_or_else(|| panic!("{name} is missing")).centre
}

/// A mix of every state, letters and ticks.
fn mixed(plan: &Plan) -> impl Fn(faying_plan::HoleId) -> HoleLook + '_ {
    |hole| {
        let number = plan[hole].number;
        let state = HoleState::ALL[number as usize % HoleState::ALL.len()];
        HoleLook {
            state,
            letter: number.is_multiple_of(9).then_some('H'),
            emphasis: number.is_multiple_of(8),
        }
    }
}

#[test]
fn every_hole_is_drawn_once_and_inside() {
    let want: BTreeSet<String> = ["A", "B"]
        .iter()
        .flat_map(|row| (1..=37).map(move |number| format!("flap-left/web/{row}/{number}")))
        .collect();
    for width in [320.0, 360.0, 768.0, 1180.0] {
        for touch in [false, true] {
            for scale in [Scale::Fit, Scale::OneTo(1.0), Scale::OneTo(4.0)] {
                let options = PlaneOptions { width, touch, scale, ..PlaneOptions::default() };
                let drawing = web(&options);
                let drawn = holes(&drawing);
                assert_eq!(drawn.len(), 74, "{width} px, {scale:?}");
                assert_eq!(drawn.iter().map(|hole| hole.name.clone()).collect::<BTreeSet<_>>(), want);
                for hole in &drawn {
                    for (axis, size) in [drawing.width, drawing.height].into_iter().enumerate() {
                        let middle = hole.centre[axis];
                        assert!(middle >= hole.radius && middle <= size - hole.radius, "{hole:?} of {size}");
                    }
                }
                assert!(drawing.width <= width + 1.0, "{} px wide of {width}", drawing.width);
            }
        }
    }
}

#[test]
fn the_far_side_is_turned_over_and_up_stays_up() {
    let plan = plan_of(&[FLAP]);
    let plane = plane_named(&plan, "flap-left", "web");
    let options = PlaneOptions::default();
    let near = holes(&draw(&plan, plane, Side::Near, &options));
    let far = holes(&draw(&plan, plane, Side::Far, &options));
    assert!(at(&near, "flap-left/web/A/1")[0] < at(&near, "flap-left/web/A/37")[0]);
    assert!(at(&far, "flap-left/web/A/1")[0] > at(&far, "flap-left/web/A/37")[0]);
    for view in [&near, &far] {
        // B lies 3.5 in above A.
        assert!(at(view, "flap-left/web/B/1")[1] < at(view, "flap-left/web/A/1")[1]);
    }
    let sum = at(&near, "flap-left/web/A/7")[0] + at(&far, "flap-left/web/A/7")[0];
    for hole in &near {
        let other = at(&far, &hole.name);
        assert!((hole.centre[0] + other[0] - sum).abs() < 1e-6, "{hole:?} {other:?}");
        assert!((hole.centre[1] - other[1]).abs() < 1e-6);
    }
}

/// The right hand from aft looks like the left hand from forward, and the other way round.
#[test]
fn the_other_hand_is_turned_over_again() {
    let plan = plan_of(&[FLAP, MIRRORED]);
    let (left, right) = (plane_named(&plan, "flap-left", "web"), plane_named(&plan, "flap-right", "web"));
    let options = PlaneOptions::default();
    let places = |plane, side| -> Vec<[f64; 2]> {
        holes(&draw(&plan, plane, side, &options)).iter().map(|hole| hole.centre).collect()
    };
    assert_eq!(places(right, Side::Near), places(left, Side::Far));
    assert_eq!(places(right, Side::Far), places(left, Side::Near));
    assert_ne!(places(right, Side::Near), places(left, Side::Near));
}

/// 1.25 in from hole to hole and 3.5 in from row to row, whatever is shown: one scale for both axes.
#[test]
fn a_window_keeps_the_scale_and_the_neighbours() {
    let whole = web(&PlaneOptions::default());
    let window = Some([14.0, -0.5, 34.0, 5.0]);
    let part = web(&PlaneOptions { window, width: 360.0, least_pitch: 1.0, ..PlaneOptions::default() });
    for drawing in [&whole, &part] {
        let holes = holes(drawing);
        let (a, b) = (at(&holes, "flap-left/web/A/14"), at(&holes, "flap-left/web/A/15"));
        let up = at(&holes, "flap-left/web/B/14");
        let scale = (b[0] - a[0]) / 1.25;
        assert!((a[1] - up[1] - 3.5 * scale).abs() < 1e-6, "{a:?} {up:?} at {scale} px/in");
    }
    // x of hole n is 1 + 1.25 (n − 1): from 14 to 34 in lie numbers 12 to 27.
    let names: BTreeSet<String> = holes(&part).into_iter().map(|hole| hole.name).collect();
    let want: BTreeSet<String> = ["A", "B"]
        .iter()
        .flat_map(|row| (12..=27).map(move |number| format!("flap-left/web/{row}/{number}")))
        .collect();
    assert_eq!(names, want);
}

#[test]
fn full_size_is_full_size() {
    let holes = holes(&web(&PlaneOptions { scale: Scale::OneTo(1.0), ..PlaneOptions::default() }));
    let (a, b) = (at(&holes, "flap-left/web/A/1"), at(&holes, "flap-left/web/A/2"));
    // 1.25 in at 96 px to the inch.
    assert!((b[0] - a[0] - 120.0).abs() < 1e-6);
}

/// In a narrow page the plane is broken until a finger finds a hole without its neighbour.
#[test]
fn holes_are_far_enough_apart_for_a_finger() {
    let options = PlaneOptions { width: 360.0, touch: true, least_pitch: 24.0, ..PlaneOptions::default() };
    let drawing = web(&options);
    let holes = holes(&drawing);
    for (index, a) in holes.iter().enumerate() {
        for b in &holes[index + 1..] {
            let apart = (a.centre[0] - b.centre[0]).hypot(a.centre[1] - b.centre[1]);
            assert!(apart >= 24.0, "{a:?} {b:?}: {apart:.1} px");
        }
    }
    let mut targets = 0;
    drawing.walk(&mut |mark| {
        if let Mark::Target { radius, .. } = mark {
            targets += 1;
            assert!(*radius >= 12.0);
        }
    });
    assert_eq!(targets, 74);
}

#[test]
fn no_text_falls_on_a_hole_or_on_another_text() {
    let plan = plan_of(&[FLAP, MIRRORED]);
    for (assembly, name) in [("flap-left", "web"), ("flap-left", "upper"), ("flap-right", "web")] {
        let plane = plane_named(&plan, assembly, name);
        for width in [320.0, 360.0, 768.0, 1180.0] {
            for side in [Side::Near, Side::Far] {
                for touch in [false, true] {
                    let options = PlaneOptions {
                        width,
                        touch,
                        letters: vec![('H', "hold".into())],
                        revision: "4".into(),
                        date: "12 May".into(),
                        sheet: "F-2, step 3".into(),
                        ..PlaneOptions::default()
                    };
                    assert_legible(&plane_drawing(&plan, plane, side, &to_do, &options));
                    assert_legible(&plane_drawing(&plan, plane, side, &mixed(&plan), &options));
                }
            }
        }
    }
}

/// Six names in one entry of the legend are more than a narrow page is wide.
#[test]
fn a_long_legend_is_broken_into_lines() {
    let text = FLAP.replace("doubler", "hinge-bracket-doubler");
    let plan = plan_of(&[&text]);
    let plane = plane_named(&plan, "flap-left", "web");
    let layers = plan[plane].layers.iter().map(|layer| layer.piece);
    let later: Vec<_> = layers.filter(|&piece| plan.piece_name(piece) != "web").collect();
    let drawing =
        draw(&plan, plane, Side::Near, &PlaneOptions { later, width: 320.0, ..PlaneOptions::default() });
    assert_legible(&drawing);
    let words: Vec<String> = common::texts(&drawing).into_iter().map(|(text, _)| text.text).collect();
    assert!(words.iter().any(|text| text.starts_with("part of a later step: cap/lower,")), "{words:?}");
}

/// Each row's name and the numbers of its ends are there when there is room for them.
#[test]
fn rows_are_named_and_their_ends_numbered() {
    let texts: Vec<String> =
        common::texts(&web(&PlaneOptions::default())).into_iter().map(|(text, _)| text.text).collect();
    for (words, count) in [("A", 1), ("B", 1), ("1", 2), ("10", 2), ("20", 2), ("30", 2), ("37", 2)] {
        assert_eq!(texts.iter().filter(|text| *text == words).count(), count, "{words}: {texts:?}");
    }
}

#[test]
fn the_legend_has_the_states_present_and_no_others() {
    let plan = plan_of(&[FLAP]);
    let plane = plane_named(&plan, "flap-left", "web");
    let look = |hole: faying_plan::HoleId| {
        HoleLook::plain(if plan[hole].number == 3 { HoleState::Fault } else { HoleState::Set })
    };
    let drawing = plane_drawing(&plan, plane, Side::Near, &look, &PlaneOptions::default());
    let texts: Vec<String> = common::texts(&drawing).into_iter().map(|(text, _)| text.text).collect();
    for state in HoleState::ALL {
        let present = matches!(state, HoleState::Set | HoleState::Fault);
        assert_eq!(texts.iter().any(|text| text == state.words()), present, "{state:?}");
    }
    insta::assert_snapshot!(drawing.title, @"Flap, left, Web, seen from aft");
    insta::assert_snapshot!(drawing.description, @"74 holes: 72 set; 2 fault.");
}

/// From aft the doubler is in front of the web and the caps behind it; from forward the other way round.
#[test]
fn what_is_behind_is_dashed() {
    let dashed = |drawing: &Drawing| -> String {
        common::texts(drawing)
            .into_iter()
            .map(|(text, _)| text.text)
            .find(|text| text.starts_with("behind"))
            .unwrap_or_default()
    };
    let plan = plan_of(&[FLAP]);
    let plane = plane_named(&plan, "flap-left", "web");
    let near = draw(&plan, plane, Side::Near, &PlaneOptions::default());
    let far = draw(&plan, plane, Side::Far, &PlaneOptions::default());
    insta::assert_snapshot!(dashed(&near), @"behind: cap/lower, cap/upper");
    insta::assert_snapshot!(dashed(&far), @"behind: doubler, rib/1, rib/2");
    let all = plan[plane].layers.iter().map(|layer| layer.piece).collect();
    let later = PlaneOptions { later: all, ..PlaneOptions::default() };
    let mut kinds = Vec::new();
    draw(&plan, plane, Side::Near, &later).walk(&mut |mark| {
        if let Mark::Path { stroke: Some(stroke), .. } = mark {
            kinds.push(stroke.dash);
        }
    });
    assert!(kinds.contains(&Dash::Phantom) && !kinds.contains(&Dash::Hidden));
}

#[test]
fn bends_and_cut_outs_are_drawn() {
    let text = r#"
format = 1
id = "tab"
units = "in"
[parts]
rib = { material = "2024-T3", thickness = 0.025 }
[planes.web]
near = "left"
far = "right"
layers = ["rib"]
outline.rib = { rect = [0, 0, 10, 4] }
cut.rib = { circle = [5, 2, 2] }
bends = [[[0, 0.5], [10, 0.5]]]
[planes.web.rows]
A = { from = [1, 1], to = [9, 1], count = 9, rivet = "MS20470AD4", head = "left" }
"#;
    let plan = plan_of(&[text]);
    let plane = plane_named(&plan, "tab", "web");
    assert_eq!(plan[plane].bends.len() + plan[plane].layers[0].cuts.len(), 2, "the example has both");
    let drawing = draw(&plan, plane, Side::Near, &PlaneOptions::default());
    let mut chains = 0;
    drawing.walk(&mut |mark| {
        if let Mark::Path { stroke: Some(stroke), .. } = mark {
            chains += usize::from(stroke.dash == Dash::Chain);
        }
    });
    // The line itself and its sample in the legend.
    assert_eq!(chains, 2);
    assert_legible(&drawing);
}

#[test]
fn a_plane_with_nothing_in_it_says_so() {
    let text = "format = 1\nid = \"tab\"\n[parts]\nrib = { material = \"2024-T3\", thickness = 0.025 }\n[planes.web]\nnear = \"left\"\nfar = \"right\"\nlayers = [\"rib\"]\n";
    let plan = plan_of(&[text]);
    let drawing = draw(&plan, plane_named(&plan, "tab", "web"), Side::Near, &PlaneOptions::default());
    assert_legible(&drawing);
    assert!(common::texts(&drawing).iter().any(|(text, _)| text.text.starts_with("No hole or outline")));
}

#[test]
fn the_whole_is_well_formed_and_says_which_hole_is_where() {
    let plan = plan_of(&[FLAP]);
    let plane = plane_named(&plan, "flap-left", "web");
    let link = |hole| format!("/hole/{}", plan.hole_name(hole));
    let options =
        PlaneOptions { key: "web".into(), link: Some(&link), touch: true, ..PlaneOptions::default() };
    let text = svg::write(&plane_drawing(&plan, plane, Side::Far, &mixed(&plan), &options));
    let (mut ids, refers) = well_formed(&text).unwrap();
    assert!(refers.iter().all(|id| ids.contains(id)));
    let count = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), count);
    assert_eq!(text.matches("data-hole=\"flap-left/web/A/7\"").count(), 1);
    assert!(text.contains("href=\"/hole/flap-left/web/A/7\""));
}
