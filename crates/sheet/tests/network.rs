//! The network of steps and gates, as it came out: read back from the marks, from the SVG and from the PDF.
#![allow(
    clippy::disallowed_types,
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "the print is read by another program and one test takes the time; only tests do"
)]

mod common;
#[path = "common/network.rs"]
mod networks;

use std::collections::{BTreeMap, BTreeSet};
use std::io::Write as _;
use std::process::{Command, Stdio};

use common::{assert_legible, texts, well_formed};
use faying_sheet::marks::{Drawing, Fill, Group, Mark, Role, Segment, Shape};
use faying_sheet::network::{Arc, Network, Node, Path, Standing, lanes, rails, standing_drawing};
use faying_sheet::{Date, Document, pdf, svg, text};
use networks::Draw;
use proptest::prelude::*;

/// Left, top, right, bottom, px.
type Bounds = [f64; 4];
/// Rounding of places, px.
const HAIR: f64 = 1e-6;

/// A node as drawn.
struct Drawn {
    key: String,
    gate: bool,
    /// Its largest filled area: the box, or the row.
    area: Bounds,
    words: Vec<(String, Bounds)>,
    link: Option<String>,
    title: String,
}

fn bounds(shape: &Shape) -> Bounds {
    shape.points().fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |[a, b, c, d], [x, y]| {
        [a.min(x), b.min(y), c.max(x), d.max(y)]
    })
}

fn groups(drawing: &Drawing) -> Vec<&Group> {
    let mut groups = Vec::new();
    drawing.walk(&mut |mark| {
        if let Mark::Group(group) = mark {
            groups.push(group);
        }
    });
    groups
}

fn datum(group: &Group, name: &str) -> Option<String> {
    group.data.iter().find(|(key, _)| *key == name).map(|(_, value)| value.clone())
}

fn nodes(drawing: &Drawing) -> Vec<Drawn> {
    let area = |b: &Bounds| (b[2] - b[0]) * (b[3] - b[1]);
    groups(drawing)
        .into_iter()
        .filter_map(|group| {
            let key = datum(group, "step").or(datum(group, "gate"))?;
            let filled = group.marks.iter().filter_map(|mark| match mark {
                Mark::Path { shape, fill: Some(Fill::Flat(Role::Paper)), .. } => Some(bounds(shape)),
                _ => None,
            });
            let largest = filled.max_by(|a, b| area(a).total_cmp(&area(b))).expect("a node has a ground");
            let alone = Drawing { marks: group.marks.clone(), ..drawing.clone() };
            let words = texts(&alone).into_iter().map(|(text, bounds)| (text.text, bounds)).collect();
            Some(Drawn {
                key,
                gate: datum(group, "gate").is_some(),
                area: largest,
                words,
                link: group.link.clone(),
                title: group.title.clone().unwrap_or_default(),
            })
        })
        .collect()
}

/// An arc as drawn: its ends, and its corners joined by the straight stretches between them.
struct Line {
    from: String,
    to: String,
    /// All points of it, handles as well.
    points: Vec<[f64; 2]>,
    stretches: Vec<[[f64; 2]; 2]>,
}

fn lines(drawing: &Drawing) -> Vec<Line> {
    groups(drawing)
        .into_iter()
        .filter_map(|group| {
            let (from, to) = (datum(group, "from")?, datum(group, "to")?);
            let shape = group.marks.iter().find_map(|mark| match mark {
                Mark::Path { shape, fill: None, .. } => Some(shape),
                _ => None,
            });
            let shape = shape.expect("an arc has a line");
            let (mut stretches, mut at) = (Vec::new(), [0.0, 0.0]);
            for segment in &shape.0 {
                match *segment {
                    Segment::Move(to) => at = to,
                    Segment::Line(to) => {
                        stretches.push([at, to]);
                        at = to;
                    }
                    Segment::Cubic(_, _, to) => at = to,
                    Segment::Close => panic!("an arc is open"),
                }
            }
            Some(Line { from, to, points: shape.points().collect(), stretches })
        })
        .collect()
}

/// From and to along a track, px, and whose stretch it is.
type Stretch<'l> = (f64, f64, &'l Line);

/// What goes wrong in a drawing of a network, whatever its layout.
fn faults(network: &Network, drawing: &Drawing, axis: usize) -> Result<(), String> {
    let (nodes, lines) = (nodes(drawing), lines(drawing));
    let shown: BTreeSet<&str> = nodes.iter().map(|node| node.key.as_str()).collect();
    let wanted: BTreeSet<&str> = network.nodes.iter().map(|node| node.key.as_str()).collect();
    if shown != wanted || nodes.len() != network.nodes.len() {
        return Err(format!("drawn are {} nodes of {}", nodes.len(), network.nodes.len()));
    }
    for (at, node) in nodes.iter().enumerate() {
        for other in &nodes[at + 1..] {
            let [a, b] = [node.area, other.area];
            let apart = (0..2).any(|axis| a[axis + 2] <= b[axis] + HAIR || b[axis + 2] <= a[axis] + HAIR);
            if !apart {
                return Err(format!("{} {a:?} lies on {} {b:?}", node.key, other.key));
            }
        }
        for (words, b) in &node.words {
            let a = node.area;
            if b[0] < a[0] - HAIR || b[1] < a[1] - HAIR || b[2] > a[2] + HAIR || b[3] > a[3] + HAIR {
                return Err(format!("{words:?} {b:?} leaves {} {a:?}", node.key));
            }
        }
    }
    for line in &lines {
        if line.points.windows(2).any(|pair| pair[1][axis] < pair[0][axis] - HAIR) {
            return Err(format!("{} to {} goes back", line.from, line.to));
        }
        for node in nodes.iter().filter(|node| node.key != line.from && node.key != line.to) {
            // The gates of a step stand before it: what goes to the step ends at their bar, not in their words.
            let a = node.area;
            for [from, to] in &line.stretches {
                let [low, high] =
                    [[from[0].min(to[0]), from[1].min(to[1])], [from[0].max(to[0]), from[1].max(to[1])]];
                if low[0] < a[2] - HAIR
                    && high[0] > a[0] + HAIR
                    && low[1] < a[3] - HAIR
                    && high[1] > a[1] + HAIR
                {
                    return Err(format!("{} to {} runs over {}", line.from, line.to, node.key));
                }
            }
        }
    }
    shared(&lines)?;
    told(network, &nodes, &lines)
}

/// Two arcs may lie on each other only where they come from one node, or side by side into one.
fn shared(lines: &[Line]) -> Result<(), String> {
    // Level and upright stretches by the place of their track.
    let mut tracks: BTreeMap<(usize, i64), Vec<Stretch<'_>>> = BTreeMap::new();
    for line in lines {
        for [from, to] in &line.stretches {
            let along = usize::from((from[0] - to[0]).abs() < HAIR);
            if (from[1 - along] - to[1 - along]).abs() > HAIR {
                return Err(format!("{} to {} slants", line.from, line.to));
            }
            let place = (from[1 - along] * 100.0).round() as i64;
            let (low, high) = (from[along].min(to[along]), from[along].max(to[along]));
            tracks.entry((along, place)).or_default().push((low, high, line));
        }
    }
    for ((along, place), stretches) in &tracks {
        for (at, (low, high, line)) in stretches.iter().enumerate() {
            for (other_low, other_high, other) in &stretches[at + 1..] {
                let meet = low + HAIR < *other_high && other_low + HAIR < *high;
                // Into one place (a node, or a gate and its step) several come on one level; no upright track is shared.
                let kin =
                    line.from == other.from || (*along == 0 && line.points.last() == other.points.last());
                if meet && !kin {
                    return Err(format!(
                        "{} to {} and {} to {} share a track {along} at {place}: {low} to {high}, {other_low} to {other_high}",
                        line.from, line.to, other.from, other.to
                    ));
                }
            }
        }
    }
    Ok(())
}

/// Each arc is drawn, written at both ends, or implied by a longer way.
fn told(network: &Network, nodes: &[Drawn], lines: &[Line]) -> Result<(), String> {
    let node = |key: &str| nodes.iter().find(|node| node.key == key).expect("a node that is drawn");
    let says = |key: &str, word: &str| node(key).words.iter().any(|(words, _)| words.starts_with(word));
    let drawn: BTreeSet<(&str, &str)> =
        lines.iter().map(|line| (line.from.as_str(), line.to.as_str())).collect();
    for arc in &network.arcs {
        let [from, to] = [arc.from, arc.to].map(|at| network.nodes[at].key.as_str());
        if drawn.contains(&(from, to)) || longer_way(network, arc.from, arc.to) {
            continue;
        }
        if !says(from, "then ") || !says(to, "after ") {
            return Err(format!("{from} to {to} is not told"));
        }
    }
    // Nothing is drawn that was not asked for.
    let asked: BTreeSet<(&str, &str)> = network
        .arcs
        .iter()
        .map(|arc| (network.nodes[arc.from].key.as_str(), network.nodes[arc.to].key.as_str()))
        .collect();
    if let Some(more) = drawn.difference(&asked).next() {
        return Err(format!("{more:?} is drawn and not in the plan"));
    }
    Ok(())
}

/// By plain search: from one node to another past a third.
fn longer_way(network: &Network, from: usize, to: usize) -> bool {
    let after = |node: usize| network.arcs.iter().filter(move |arc| arc.from == node).map(|arc| arc.to);
    let mut met = BTreeSet::new();
    let mut open: Vec<usize> = after(from).filter(|node| *node != to).collect();
    while let Some(node) = open.pop() {
        if node == to {
            return true;
        }
        if met.insert(node) {
            open.extend(after(node));
        }
    }
    false
}

fn both(network: &Network, width: f64) -> [(Drawing, usize); 2] {
    [(rails(network, width.min(700.0)), 1), (lanes(network, width.max(700.0)), 0)]
}

#[test]
fn the_kit_is_drawn_soundly() {
    for done in [0, 17, 49] {
        let network = networks::kit(done);
        for width in [360.0, 1000.0, 1280.0] {
            for (drawing, axis) in both(&network, width) {
                faults(&network, &drawing, axis).unwrap();
                assert_legible(&drawing);
                well_formed(&svg::write(&drawing)).unwrap();
            }
        }
    }
}

#[test]
fn three_hundred_steps_are_drawn_soundly() {
    let network = networks::made_up(300, 7);
    for (drawing, axis) in both(&network, 360.0).into_iter().chain(both(&network, 1280.0)) {
        faults(&network, &drawing, axis).unwrap();
        assert_legible(&drawing);
    }
}

/// The checks themselves must be able to fail.
#[test]
fn the_checks_see_what_is_broken() {
    let network = networks::kit(17);
    let sound = rails(&network, 360.0);
    // What is found when the groups of a step, or of the arcs from it, are changed.
    let found = |name: &'static str, change: &dyn Fn(&mut Group)| {
        let mut drawing = sound.clone();
        for mark in &mut drawing.marks {
            if let Mark::Group(group) = mark
                && group.data.contains(&(name, "wing-left/ribs".to_owned()))
            {
                change(group);
            }
        }
        faults(&network, &drawing, 1).err().unwrap_or_default()
    };
    let shift = |group: &mut Group, at: [f64; 2]| {
        for mark in &mut group.marks {
            *mark = mark.clone().placed(at, 1.0);
        }
    };
    assert_eq!(found("step", &|_| {}), "");
    assert!(found("step", &|group| shift(group, [0.0, 40.0])).contains("lies on"));
    assert!(found("step", &|group| group.data.clear()).contains("nodes of"));
    assert!(found("from", &|group| group.data.clear()).contains("not told"));
    assert!(found("from", &|group| shift(group, [150.0, 0.0])).contains("runs over"));
    // Each track takes the place of each other in turn: one of them must meet what runs there.
    let tracks: BTreeSet<i64> = lines(&sound)
        .iter()
        .flat_map(|line| &line.stretches)
        .filter(|[from, to]| (from[0] - to[0]).abs() < HAIR)
        .map(|[from, _]| (from[0] * 100.0).round() as i64)
        .collect();
    let met = tracks.iter().filter(|track| {
        let x = **track as f64 / 100.0;
        found("from", &|group| {
            for mark in &mut group.marks {
                if let Mark::Path { shape, fill: None, .. } = mark {
                    *shape = shape.clone().map(|[old, y]| [if old < 50.0 { x } else { old }, y]);
                }
            }
        })
        .contains("share a track")
    });
    assert!(met.count() > 0);
}

/// Places counted by hand from the list of steps.
#[test]
fn a_zone_is_the_lane_and_the_longest_way() {
    let drawing = lanes(&networks::kit(17), 1280.0);
    let nodes = nodes(&drawing);
    let words = |key: &str| {
        let node = nodes.iter().find(|node| node.key == key).unwrap();
        node.words.iter().map(|(words, _)| words.clone()).collect::<Vec<_>>().join(" / ")
    };
    // Bell crank base, on the rib, on its pivot, stop, pivot gate: the lower skin is the eighth in lane F.
    assert!(words("wing-left/hatch-ring").contains("then F8"), "{}", words("wing-left/hatch-ring"));
    assert!(words("tailcone/fin").contains("then G11"), "{}", words("tailcone/fin"));
    assert!(words("aileron-left/gate/close").contains("after A4"), "{}", words("aileron-left/gate/close"));
    // Primed on the first place, three steps wait for it.
    for step in ["spar", "rear-spar", "hatch-ring"] {
        assert!(words(&format!("wing-left/{step}")).contains("cures 24 h, after F1"));
    }
}

#[test]
fn a_gate_stands_right_before_its_step() {
    let drawing = lanes(&networks::kit(0), 1280.0);
    let nodes = nodes(&drawing);
    let area = |key: &str| nodes.iter().find(|node| node.key == key).unwrap().area;
    for (gate, step) in
        [("fin/gate/close", "fin/skin-right"), ("wing-left/gate/close", "wing-left/skin-lower")]
    {
        let [gate, step] = [area(gate), area(step)];
        assert_eq!(gate[0], step[0]);
        assert!((0.0..12.0).contains(&(step[1] - gate[3])), "{gate:?} {step:?}");
    }
    // One of another assembly has its own place, farther left.
    assert!(area("bellcrank/gate/pivot")[2] < area("wing-left/skin-lower")[0]);
}

#[test]
fn a_row_takes_a_finger_and_leads_to_its_step() {
    let drawing = rails(&networks::kit(17), 360.0);
    let nodes = nodes(&drawing);
    for node in &nodes {
        assert!(node.area[3] - node.area[1] >= 44.0, "{} is {:?}", node.key, node.area);
        assert_eq!(node.link.as_deref(), Some(format!("/plan/{}", node.key).as_str()));
        // All words stand right of the band of rails.
        assert!(node.words.iter().all(|(_, bounds)| bounds[0] >= 84.0));
    }
    // Rails keep to the band.
    assert!(lines(&drawing).iter().flat_map(|line| &line.points).all(|[x, _]| (2.0..84.0).contains(x)));
}

#[test]
fn how_a_node_stands_is_told_in_words_and_to_ears() {
    let network = networks::kit(17);
    for (drawing, _) in both(&network, 1280.0) {
        for node in nodes(&drawing) {
            let it = network.nodes.iter().find(|it| it.key == node.key).unwrap();
            let words = it.stands.words();
            assert!(
                node.words.iter().any(|(text, _)| text.starts_with(words)),
                "{}: {:?}",
                node.key,
                node.words
            );
            assert_eq!(node.gate, it.stands.is_gate());
            let lane = &network.lanes[it.lane];
            assert!(node.title.starts_with(&format!("{}, {lane}: {words}", it.title)), "{}", node.title);
        }
    }
    let drawing = rails(&network, 360.0);
    let fit = nodes(&drawing).into_iter().find(|node| node.key == "flap-left/hinge-fit").unwrap();
    assert!(
        fit.title.ends_with(
            "; after Hinge brackets, Set the hinge line, bolt the fitting (Left wing, flap hinge bay)"
        ) || fit.title.ends_with("; after Set the hinge line, bolt the fitting (Left wing, flap hinge bay)"),
        "{}",
        fit.title
    );
}

/// The marks of standings differ by their shapes, without any colour.
#[test]
fn no_two_standings_look_alike_in_black_and_white() {
    let shapes: Vec<String> = Standing::ALL
        .iter()
        .map(|stands| {
            let mut drawing = standing_drawing("it", *stands);
            for mark in &mut drawing.marks {
                if let Mark::Path { fill, stroke, .. } = mark {
                    if let Some(Fill::Flat(role)) = fill
                        && *role != Role::Paper
                    {
                        *role = Role::Ink;
                    }
                    if let Some(stroke) = stroke {
                        stroke.role = Role::Ink;
                    }
                }
            }
            format!("{:?}", drawing.marks)
        })
        .collect();
    assert_eq!(shapes.iter().collect::<BTreeSet<_>>().len(), Standing::ALL.len());
    // Begun is never taken for done or untouched.
    let filled = |share: f64| {
        let drawing = standing_drawing("it", Standing::Begun(share));
        let Some(Mark::Path { shape, .. }) = drawing.marks.last() else { panic!("no fill") };
        let b = bounds(shape);
        b[3] - b[1]
    };
    assert!(filled(0.0) > 2.0 && filled(1.0) < 11.0 && filled(0.3) < filled(0.6));
}

fn all_words(drawing: &Drawing) -> String {
    texts(drawing).into_iter().map(|(text, _)| text.text).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_legend_is_on_the_sheet_and_has_no_more_than_is_used() {
    let network = networks::with_path(networks::kit(17), 41);
    assert_eq!(network.nodes[41].key, "wing-left/gate/close");
    let words = all_words(&lanes(&network, 1280.0));
    for wanted in [
        "ready to be begun",
        "begun, filled to its share",
        "blocked by what leads to it",
        "done",
        "gate, not passed",
        "leads to, in one assembly",
        "leads to, in another assembly",
        "on the path to Centre bay, before the lower skin",
        "a time to wait",
        "line not drawn: leads to the zone named, or comes from it",
        "Plan revision",
        "40 steps, 9 gates",
    ] {
        assert!(words.lines().any(|line| line == wanted), "no {wanted:?}");
    }
    let left_out = network.arcs.iter().filter(|arc| longer_way(&network, arc.from, arc.to)).count();
    // A wait is shown even where a longer way implies it; in the kit none is.
    assert!(words.contains(&format!("{left_out} lines that longer ways imply are left out")), "{left_out}");
    let plain =
        Network { nodes: network.nodes[..1].to_vec(), arcs: Vec::new(), path: None, ..network.clone() };
    let words = all_words(&rails(&plain, 360.0));
    assert!(!words.contains("leads to,") && !words.contains("a time to wait") && !words.contains("left out"));
}

#[test]
fn the_path_alone_is_drawn_on_rails_and_set_off_in_lanes() {
    let network = networks::with_path(networks::kit(17), 41);
    let on: BTreeSet<String> =
        network.path.as_ref().unwrap().nodes.iter().map(|at| network.nodes[*at].key.clone()).collect();
    let drawing = rails(&network, 360.0);
    assert_eq!(nodes(&drawing).into_iter().map(|node| node.key).collect::<BTreeSet<_>>(), on);
    assert!(all_words(&drawing).contains(&format!("{} more", 49 - on.len())));
    let drawing = lanes(&network, 1280.0);
    assert_eq!(nodes(&drawing).len(), 49);
    for group in groups(&drawing) {
        let (Some(from), Some(to)) = (datum(group, "from"), datum(group, "to")) else { continue };
        let heavy = group.marks.iter().any(|mark| {
            matches!(mark, Mark::Path { stroke: Some(stroke), fill: None, .. } if stroke.role == Role::Accent)
        });
        assert_eq!(heavy, on.contains(&from) && on.contains(&to), "{from} to {to}");
    }
}

fn node(key: &str, lane: usize, stands: Standing) -> Node {
    Node { key: key.to_owned(), link: None, title: key.to_owned(), note: String::new(), lane, stands }
}

#[test]
fn nothing_a_ring_and_ends_that_are_not_there() {
    for (drawing, _) in both(&Network::default(), 1000.0) {
        assert!(all_words(&drawing).contains("There is no step or gate to draw."));
    }
    let network = Network {
        nodes: vec![
            node("a", 0, Standing::Blocked),
            node("b", 0, Standing::Blocked),
            node("c", 9, Standing::Shut),
        ],
        arcs: vec![Arc::after(0, 1), Arc::after(1, 2), Arc::after(2, 0), Arc::after(7, 1), Arc::after(1, 1)],
        path: Some(Path { to: "c".to_owned(), nodes: vec![0, 1, 2, 88] }),
        ..Network::default()
    };
    for (drawing, _) in both(&network, 1000.0) {
        assert_eq!(nodes(&drawing).len(), 3);
        assert!(all_words(&drawing).contains("3 lines are not drawn: they lead round in a ring, or nowhere"));
        assert_legible(&drawing);
    }
}

/// What cannot be written in the room there is says so: by an ellipsis, or by a count.
#[test]
fn words_that_find_no_room_are_cut_openly() {
    let mut network = networks::kit(0);
    let long = "Countersink the upper and lower spar caps for the leading-edge skin from the root to the tip rib, \
                then dimple the skin to match and deburr both before the primer goes on";
    network.nodes[1].title = long.to_owned();
    for (drawing, axis) in both(&network, 360.0) {
        faults(&network, &drawing, axis).unwrap();
        let node = nodes(&drawing).into_iter().find(|node| node.key == "wing-left/spar").unwrap();
        let seen = node.words.iter().map(|(words, _)| words.as_str()).collect::<Vec<_>>().join(" ");
        assert!(seen.contains('…') || seen.contains(long), "{seen}");
        assert!(node.title.contains(long), "in full for a pointer at rest");
    }
    // One step that forty wait for, far away.
    let mut hub = Network { lanes: vec!["Fin".to_owned()], ..Network::default() };
    for at in 0..90 {
        hub.nodes.push(node(&format!("step with a longish name {at}"), 0, Standing::Blocked));
        if at > 0 {
            hub.arcs.push(Arc::after(if at < 50 { at - 1 } else { 0 }, at));
        }
    }
    let drawing = rails(&hub, 360.0);
    faults(&hub, &drawing, 1).unwrap();
    assert!(all_words(&drawing).contains("more"), "{}", all_words(&drawing));
}

/// A network of up to sixty nodes in no good order, with gates, waits and texts of any length.
fn network_of(count: usize, seed: u64, crowd: usize) -> Network {
    let mut draw = Draw(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    let lane_count = 1 + draw.below(6);
    let words = ["rib", "skin", "leading-edge", "countersinking", "of", "the", "Spar", "W", "3/32", "a·b"];
    let text = |draw: &mut Draw, most: usize| {
        let count = 1 + draw.below(most);
        (0..count).map(|_| words[draw.below(words.len())]).collect::<Vec<_>>().join(" ")
    };
    // Numbers in an order of their own, so that places in the list say nothing.
    let mut number: Vec<usize> = (0..count).collect();
    for at in (1..count).rev() {
        number.swap(at, draw.below(at + 1));
    }
    let mut nodes = Vec::new();
    for at in 0..count {
        let stands = Standing::ALL[draw.below(Standing::ALL.len())];
        nodes.push(Node {
            key: format!("n{at}"),
            link: (draw.below(2) == 0).then(|| format!("/n{at}")),
            title: text(&mut draw, 14),
            note: if draw.below(3) == 0 { String::new() } else { text(&mut draw, 6) },
            lane: draw.below(lane_count),
            stands,
        });
    }
    let mut arcs = Vec::new();
    for _ in 0..count * crowd {
        let (a, b) = (draw.below(count), draw.below(count));
        if a < b && (draw.below(3) > 0 || b - a < 5) {
            let wait = if draw.below(9) == 0 { "cures 24 h".to_owned() } else { String::new() };
            arcs.push(Arc { from: number[a], to: number[b], wait });
        }
    }
    let lanes = (0..lane_count).map(|_| text(&mut draw, 5)).collect();
    Network { key: "any".to_owned(), title: "Any".to_owned(), lanes, nodes, arcs, ..Network::default() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_network_is_drawn_soundly(count in 1..60_usize, seed in any::<u64>(), crowd in 0..5_usize, width in 300.0..1700.0_f64) {
        let network = network_of(count, seed, crowd);
        for (drawing, axis) in both(&network, width) {
            faults(&network, &drawing, axis).map_err(TestCaseError::fail)?;
            assert_legible(&drawing);
        }
    }
}

/// A word as poppler found it, pt.
struct Word {
    text: String,
    left: f64,
    bottom: f64,
}

fn words_of_pdf(bytes: &[u8]) -> Vec<Word> {
    let mut child = Command::new("pdftotext")
        .args(["-bbox", "-", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("pdftotext does not start ({error}): install poppler-utils"));
    let mut stdin = child.stdin.take().unwrap();
    let bytes = bytes.to_vec();
    let writer = std::thread::spawn(move || stdin.write_all(&bytes));
    let out = child.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    assert!(out.status.success());
    String::from_utf8(out.stdout)
        .unwrap()
        .lines()
        .filter_map(|line| line.trim().strip_prefix("<word "))
        .map(|rest| {
            let number = |name: &str| -> f64 {
                let from = rest.find(&format!("{name}=\"")).unwrap() + name.len() + 2;
                rest[from..].split('"').next().unwrap().parse().unwrap()
            };
            let text = rest.split('>').nth(1).unwrap().trim_end_matches("</word").to_owned();
            Word { text, left: number("xMin"), bottom: number("yMax") }
        })
        .collect()
}

/// Depth of B612 below the base line, em, where poppler's boxes end.
const DEPTH: f64 = 0.25;

#[test]
fn texts_stand_in_the_pdf_where_they_stand_in_the_svg() {
    let network = networks::kit(17);
    for (drawing, _) in both(&network, 1280.0) {
        let svg = svg::write(&drawing);
        let document = Document {
            title: drawing.title.clone(),
            author: String::new(),
            date: Date { year: 2026, month: 5, day: 12 },
            pages: vec![drawing],
        };
        let words = words_of_pdf(&pdf::write(&document).unwrap());
        let mut compared = 0;
        for (at, _) in svg.match_indices("<text ") {
            let element = &svg[at..at + svg[at..].find("</text>").unwrap()];
            let (head, said) = element.split_once('>').unwrap();
            let attribute = |name: &str| -> Option<&str> {
                let from = head.find(&format!(" {name}=\""))? + name.len() + 3;
                head[from..].split('"').next()
            };
            if attribute("text-anchor").is_some() {
                continue;
            }
            let number = |name: &str| attribute(name).unwrap().parse::<f64>().unwrap();
            let [x, y, size] = ["x", "y", "font-size"].map(|name| number(name) * 0.75);
            let first = said.split_whitespace().next().unwrap();
            let off = words
                .iter()
                .filter(|word| word.text == first)
                .map(|word| (word.left - x).abs().max((word.bottom - DEPTH * size - y).abs()))
                .fold(f64::MAX, f64::min);
            assert!(off <= 0.5, "{said:?} is {off:.2} pt off");
            compared += 1;
        }
        assert!(compared > 120, "only {compared} texts were compared");
    }
}

/// Twenty milliseconds is the aim of an optimised build: `cargo run --release --example network big time` says how
/// it stands. An unoptimised one on a busy machine takes some hundred times that; a search that runs away, more.
#[test]
fn three_hundred_steps_are_placed_at_once() {
    let network = networks::made_up(300, 11);
    for draw in [rails as fn(&Network, f64) -> Drawing, lanes] {
        let start = std::time::Instant::now();
        let drawing = draw(&network, 1280.0);
        assert!(start.elapsed().as_secs_f64() < 10.0, "{:?}", start.elapsed());
        assert_eq!(nodes(&drawing).len(), network.nodes.len());
    }
}

/// Widths are those of the typeface, so the checks above hold on a page.
#[test]
fn the_words_of_this_room_are_in_the_typeface() {
    for stands in Standing::ALL {
        let document = Document {
            title: "words".to_owned(),
            author: String::new(),
            date: Date { year: 2026, month: 5, day: 12 },
            pages: vec![Drawing {
                marks: vec![Mark::Text(faying_sheet::marks::Text::new(
                    [4.0, 20.0],
                    12.0,
                    format!("{} · …", stands.words()),
                ))],
                width: 300.0,
                height: 40.0,
                ..standing_drawing("it", stands)
            }],
        };
        assert!(pdf::write(&document).is_ok());
        assert!(text::width(stands.words(), 12.0) > 20.0);
    }
}
