//! Networks for tests and for looking at: the demonstration kit half built, and builds of any size made up from a seed.
//!
//! The kit's steps are those of `plans/teasel` as of the day this was written, in words only: what a plan file
//! holds is another room's matter.
#![allow(dead_code, reason = "each user takes its part")]

use std::collections::BTreeMap;

use faying_sheet::network::{Arc, Network, Node, Path, Standing};

const LANES: [(&str, &str); 7] = [
    ("aileron-left", "Left aileron"),
    ("bellcrank", "Bell crank"),
    ("fin", "Fin"),
    ("flap-left", "Left flap"),
    ("tailcone", "Tailcone"),
    ("wing-left", "Left wing, flap hinge bay"),
    ("build", "The whole build"),
];

/// Steps: name, title, note, what they follow.
const STEPS: [(&str, &str, &str, &str); 40] = [
    ("wing-left/prime-1", "Prime spars, ribs and fittings", "6 h", ""),
    ("wing-left/spar", "Main spar", "10 rows · 8 h", "wing-left/prime-1"),
    ("wing-left/rear-spar", "Rear spar doubler", "1 row · 1 h", "wing-left/prime-1"),
    ("wing-left/ribs", "Main and nose ribs", "6 rows · 3.5 h", "wing-left/spar wing-left/rear-spar"),
    ("wing-left/hinge", "Flap hinge fitting, clamped", "0.5 h", "wing-left/ribs"),
    ("wing-left/bellcrank", "Bell crank base on rib 2", "1 row · 1 h", "wing-left/ribs bellcrank/base"),
    (
        "wing-left/hinge-line",
        "Set the hinge line, bolt the fitting",
        "1 row · 2 h",
        "wing-left/hinge flap-left/brackets",
    ),
    ("wing-left/skin-upper", "Upper skin", "5 rows · 6 h", "wing-left/ribs"),
    ("wing-left/le-skin", "Leading edge", "8 rows · 6 h", "wing-left/skin-upper"),
    ("wing-left/hatch-ring", "Hatch ring on the lower skin", "1 row · 1.5 h", "wing-left/prime-1"),
    (
        "wing-left/skin-lower",
        "Lower skin",
        "4 rows · 7 h",
        "wing-left/le-skin wing-left/hatch-ring wing-left/hinge-line bellcrank/stop",
    ),
    (
        "wing-left/controls",
        "Connect the aileron controls, close rib 2",
        "1 row · 2 h",
        "wing-left/skin-lower",
    ),
    ("wing-left/hatch", "Hatch", "1 row · 1 h", "wing-left/controls"),
    ("bellcrank/base", "Cheeks on the base", "2 rows · 1 h", ""),
    ("bellcrank/pivot", "Bell crank on its pivot", "1 row · 0.5 h", "bellcrank/base wing-left/bellcrank"),
    ("bellcrank/stop", "Travel stop", "1 row · 0.5 h", "bellcrank/pivot"),
    ("flap-left/prime-1", "Prime spar, ribs and brackets", "3.5 h", ""),
    ("flap-left/doublers", "Doublers on the spar", "2 rows · 1 h", "flap-left/prime-1"),
    ("flap-left/ribs", "Ribs on the spar", "3 rows · 2 h", "flap-left/doublers"),
    ("flap-left/brackets", "Hinge brackets", "5 rows · 2 h", "flap-left/ribs"),
    ("flap-left/skin-upper", "Upper skin on the ribs", "5 rows · 2.5 h", "flap-left/ribs"),
    (
        "flap-left/hinge-fit",
        "Fit the hinge pin on the wing",
        "1 row · 1.5 h",
        "flap-left/brackets wing-left/hinge-line",
    ),
    (
        "flap-left/nose-skin",
        "Nose skin, upper side",
        "4 rows · 3 h",
        "flap-left/skin-upper flap-left/hinge-fit",
    ),
    ("flap-left/skin-lower", "Lower skin and trailing edge", "10 rows · 4 h", "flap-left/nose-skin"),
    ("aileron-left/prime-1", "Prime spar, ribs and brackets", "2.5 h", ""),
    ("aileron-left/spar", "Doublers and end ribs on the spar", "4 rows · 1.5 h", "aileron-left/prime-1"),
    (
        "aileron-left/brackets",
        "Hinge brackets and balance weight plate",
        "2 rows · 1.5 h",
        "aileron-left/spar",
    ),
    ("aileron-left/skin-upper", "Upper skin", "5 rows · 3 h", "aileron-left/brackets"),
    (
        "aileron-left/hang",
        "Hang the aileron on the wing",
        "1 row · 1.5 h",
        "aileron-left/brackets wing-left/hinge-line",
    ),
    ("aileron-left/skin-lower", "Lower skin", "1 row · 3 h", "aileron-left/skin-upper aileron-left/hang"),
    ("fin/prime-1", "Prime spar, ribs and nose channel", "4 h", ""),
    ("fin/spar", "Spar", "8 rows · 3 h", "fin/prime-1"),
    ("fin/hinges", "Rudder hinge brackets", "2 rows · 1 h", "fin/spar"),
    ("fin/ribs", "Ribs and nose channel", "4 rows · 1.5 h", "fin/spar"),
    ("fin/skin-left", "Left skin", "7 rows · 6 h", "fin/ribs"),
    ("fin/rudder-fit", "Fit the rudder", "1 row · 1.5 h", "fin/hinges"),
    ("fin/skin-right", "Right skin", "7 rows · 7 h", "fin/skin-left fin/rudder-fit"),
    ("tailcone/frames", "Frames and longerons", "4 rows · 4 h", ""),
    ("tailcone/skins", "Skins", "2 rows · 6 h", "tailcone/frames"),
    ("tailcone/fin", "Fin on the tailcone", "1 row · 1.5 h", "tailcone/skins fin/skin-right"),
];

/// Gates: name, title, note, what they follow, the step they stand before.
const GATES: [(&str, &str, &str, &str, &str); 9] = [
    (
        "wing-left/gate/leading-edge",
        "Main spar, before the leading edge",
        "2 asked for",
        "wing-left/skin-upper",
        "wing-left/le-skin",
    ),
    (
        "wing-left/gate/close",
        "Centre bay, before the lower skin",
        "3 asked for",
        "wing-left/le-skin wing-left/hatch-ring wing-left/hinge-line",
        "wing-left/skin-lower",
    ),
    ("bellcrank/gate/pivot", "Bell crank pivot", "1 asked for", "bellcrank/stop", "wing-left/skin-lower"),
    (
        "flap-left/gate/nose",
        "Spar and brackets, before the nose skin",
        "2 asked for",
        "flap-left/skin-upper flap-left/hinge-fit",
        "flap-left/nose-skin",
    ),
    ("flap-left/gate/close", "Flap box", "3 asked for", "flap-left/nose-skin", "flap-left/skin-lower"),
    (
        "aileron-left/gate/close",
        "Aileron",
        "3 asked for",
        "aileron-left/skin-upper aileron-left/hang",
        "aileron-left/skin-lower",
    ),
    ("fin/gate/close", "Fin box", "3 asked for", "fin/skin-left fin/rudder-fit", "fin/skin-right"),
    ("tailcone/gate/fin", "Tailcone, before the fin", "2 asked for", "tailcone/skins", "tailcone/fin"),
    (
        "build/gate/weighing",
        "Weighing",
        "owed",
        "wing-left/hatch flap-left/skin-lower aileron-left/skin-lower tailcone/fin",
        "",
    ),
];

/// The demonstration kit with so many of its nodes done.
pub fn kit(done: usize) -> Network {
    let mut nodes = Vec::new();
    let mut put = |key: &str, title: &str, note: &str, stands: Standing| {
        let of = key.split('/').next().unwrap_or("");
        nodes.push(Node {
            key: key.to_owned(),
            link: Some(format!("/plan/{key}")),
            title: title.to_owned(),
            note: note.to_owned(),
            lane: LANES.iter().position(|(name, _)| *name == of).expect("an assembly of the kit"),
            stands,
        });
    };
    for (key, title, note, _) in STEPS {
        put(key, title, note, Standing::Blocked);
    }
    for (key, title, note, ..) in GATES {
        put(key, title, note, Standing::Shut);
    }
    let at = |key: &str| nodes.iter().position(|node| node.key == key).expect("a node of the kit");
    let mut arcs = Vec::new();
    for (key, _, _, after) in STEPS {
        for before in after.split_whitespace() {
            let wait = if before == "wing-left/prime-1" { "cures 24 h" } else { "" };
            arcs.push(Arc { from: at(before), to: at(key), wait: wait.to_owned() });
        }
    }
    for (key, _, _, after, before) in GATES {
        arcs.extend(after.split_whitespace().map(|from| Arc::after(at(from), at(key))));
        arcs.extend(before.split_whitespace().map(|to| Arc::after(at(key), at(to))));
    }
    let mut network = Network {
        key: "network".to_owned(),
        title: "Teasel Two".to_owned(),
        lanes: LANES.iter().map(|(_, title)| (*title).to_owned()).collect(),
        nodes,
        arcs,
        path: None,
        revision: "4".to_owned(),
        date: "2026-05-12".to_owned(),
    };
    advance(&mut network, done);
    network
}

/// Lets nodes be done in an order that their arcs allow; the two after that are begun where they can be.
pub fn advance(network: &mut Network, done: usize) {
    let count = network.nodes.len();
    let mut is_done = vec![false; count];
    let free =
        |node: usize, is_done: &[bool]| network.arcs.iter().all(|arc| arc.to != node || is_done[arc.from]);
    for _ in 0..done {
        let next = (0..count).find(|node| !is_done[*node] && free(*node, &is_done));
        let Some(next) = next else { break };
        is_done[next] = true;
    }
    let mut begun = 0;
    let stands: Vec<Standing> = (0..count)
        .map(|node| {
            let gate = network.nodes[node].stands.is_gate();
            match (gate, is_done[node], free(node, &is_done)) {
                (true, true, _) => Standing::Passed,
                (true, _, true) => Standing::Clear,
                (true, ..) => Standing::Shut,
                (_, true, _) => Standing::Done,
                (_, _, true) if begun < 2 => {
                    begun += 1;
                    Standing::Begun(0.35 * f64::from(begun))
                }
                (_, _, true) => Standing::Ready,
                _ => Standing::Blocked,
            }
        })
        .collect();
    for (node, stands) in network.nodes.iter_mut().zip(stands) {
        node.stands = stands;
    }
}

/// The same network with what leads to a node for its path.
pub fn with_path(mut network: Network, to: usize) -> Network {
    let mut on = vec![false; network.nodes.len()];
    on[to] = true;
    loop {
        let more: Vec<usize> =
            network.arcs.iter().filter(|arc| on[arc.to] && !on[arc.from]).map(|arc| arc.from).collect();
        if more.is_empty() {
            break;
        }
        more.into_iter().for_each(|node| on[node] = true);
    }
    let nodes = (0..on.len()).filter(|node| on[*node]).collect();
    network.path = Some(Path { to: network.nodes[to].title.clone(), nodes });
    network
}

/// A small generator with a seed (xorshift), so that pictures and tests are the same everywhere.
pub struct Draw(pub u64);

impl Draw {
    pub fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as usize % bound.max(1)
    }
}

/// A build of so many steps in ten assemblies, a gate before every fifteenth step or so.
pub fn made_up(steps: usize, seed: u64) -> Network {
    const WORK: [&str; 15] = [
        "Final drill",
        "Deburr and dimple the ribs",
        "Prime spars, ribs and brackets",
        "Main spar",
        "Ribs on the spar",
        "Doublers on the spar",
        "Hinge brackets",
        "Upper skin on the ribs",
        "Leading edge",
        "Nose skin, upper side",
        "Lower skin and trailing edge",
        "Fit the tip",
        "Set the hinge line, bolt the fitting",
        "Countersink the spar caps for the leading-edge skin",
        "Hatch ring",
    ];
    const PLACES: [&str; 10] = [
        "Fin",
        "Rudder",
        "Tailplane",
        "Left elevator",
        "Left flap",
        "Right flap",
        "Left aileron",
        "Left wing, flap hinge bay",
        "Right wing, flap hinge bay",
        "Tailcone",
    ];
    let mut draw = Draw(seed | 1);
    let each = steps.div_ceil(PLACES.len());
    let mut network = Network {
        key: "big".to_owned(),
        title: "A build of three hundred steps".to_owned(),
        lanes: PLACES.iter().map(|place| (*place).to_owned()).collect(),
        revision: "12".to_owned(),
        date: "2026-05-12".to_owned(),
        ..Network::default()
    };
    for at in 0..steps {
        let (lane, number) = (at / each, at % each);
        let title = WORK[number % WORK.len()];
        let again = number / WORK.len();
        network.nodes.push(Node {
            key: format!("{lane}/{number}"),
            link: Some(format!("/step/{lane}/{number}")),
            title: if again == 0 { title.to_owned() } else { format!("{title}, part {}", again + 1) },
            note: format!("{} to set · {} h", draw.below(120), 1 + draw.below(8)),
            lane,
            stands: Standing::Blocked,
        });
        let mut before: BTreeMap<usize, ()> = BTreeMap::new();
        if number > 0 {
            for _ in 0..1 + draw.below(2) {
                before.insert(at - 1 - draw.below(number.min(4)), ());
            }
        }
        // Another assembly must have come about as far.
        if lane > 0 && draw.below(12) == 0 {
            before.insert(draw.below(lane) * each + number.saturating_sub(draw.below(4)), ());
        }
        network.arcs.extend(before.keys().map(|from| Arc::after(*from, at)));
        if number % 15 == 11 {
            let gate = usize::MAX - at;
            network.arcs.extend(before.keys().map(|from| Arc::after(*from, gate)));
            network.arcs.push(Arc::after(gate, at));
        }
    }
    let gates: Vec<usize> = network.arcs.iter().filter(|arc| arc.from > steps).map(|arc| arc.to).collect();
    for at in gates {
        let (gate, lane) = (network.nodes.len(), network.nodes[at].lane);
        for arc in &mut network.arcs {
            for end in [&mut arc.from, &mut arc.to] {
                if *end == usize::MAX - at {
                    *end = gate;
                }
            }
        }
        network.nodes.push(Node {
            key: format!("{lane}/gate/{at}"),
            link: Some(format!("/gate/{at}")),
            title: format!("Close: {}", network.nodes[at].title),
            note: "3 asked for".to_owned(),
            lane,
            stands: Standing::Shut,
        });
    }
    advance(&mut network, steps / 3);
    network
}
