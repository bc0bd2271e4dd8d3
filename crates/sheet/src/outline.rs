//! Which part of an outline is in view, and what of it lies in a window.
//!
//! Plain flat geometry in inches on flattened outlines. A layer hides what is
//! behind it where it has metal; along a common edge nothing is hidden, because
//! the same line is drawn once by either.

/// A layer as rings; a point in an odd number of them has metal.
pub struct Face {
    /// The outline and the cut-outs; empty for a piece that is everywhere.
    pub rings: Vec<Vec<[f64; 2]>>,
    /// Whether the piece has no outline and so covers the whole plane.
    pub everywhere: bool,
}

/// An upright window: low x, low y, high x, high y, in.
pub type Window = [f64; 4];

/// How far beside an edge is looked for metal, in; well under any sheet's thickness.
const BESIDE: f64 = 0.001;

impl Face {
    /// Whether it has metal at a point.
    pub fn has(&self, point: [f64; 2]) -> bool {
        let inside = self.rings.iter().filter(|ring| in_ring(point, ring)).count() % 2 == 1;
        // Without an outline the rings are cut-outs only.
        inside != self.everywhere
    }
}

fn in_ring([x, y]: [f64; 2], ring: &[[f64; 2]]) -> bool {
    let mut inside = false;
    for (a, b) in edges(ring) {
        if (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) {
            inside = !inside;
        }
    }
    inside
}

/// The edges of a ring.
pub fn edges(ring: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
    (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()]))
}

/// Parts of an edge with whether they are in view past the nearer layers.
pub fn in_view(from: [f64; 2], to: [f64; 2], nearer: &[Face]) -> Vec<([f64; 2], [f64; 2], bool)> {
    let along = [to[0] - from[0], to[1] - from[1]];
    let length = along[0].hypot(along[1]);
    if length == 0.0 {
        return Vec::new();
    }
    let mut cuts = vec![0.0, 1.0];
    for (a, b) in nearer.iter().flat_map(|face| &face.rings).flat_map(|ring| edges(ring)) {
        cuts.extend(crossings(from, along, length, a, b));
    }
    cuts.retain(|t| (0.0..=1.0).contains(t));
    cuts.sort_by(f64::total_cmp);
    let at = |t: f64| [from[0] + t * along[0], from[1] + t * along[1]];
    let beside = [-along[1] / length * BESIDE, along[0] / length * BESIDE];
    let mut parts: Vec<([f64; 2], [f64; 2], bool)> = Vec::new();
    for pair in cuts.windows(2) {
        if (pair[1] - pair[0]) * length < BESIDE / 10.0 {
            continue;
        }
        let middle = at(f64::midpoint(pair[0], pair[1]));
        let hidden = [1.0, -1.0].iter().all(|side| {
            let point = [middle[0] + side * beside[0], middle[1] + side * beside[1]];
            nearer.iter().any(|face| face.has(point))
        });
        match parts.last_mut() {
            Some(last) if last.2 != hidden => last.1 = at(pair[1]),
            _ => parts.push((at(pair[0]), at(pair[1]), !hidden)),
        }
    }
    parts
}

/// Where on an edge (0 to 1) another one crosses it, or ends on it.
fn crossings(from: [f64; 2], along: [f64; 2], length: f64, a: [f64; 2], b: [f64; 2]) -> Vec<f64> {
    let side = |p: [f64; 2]| (along[0] * (p[1] - from[1]) - along[1] * (p[0] - from[0])) / length;
    let place = |p: [f64; 2]| (along[0] * (p[0] - from[0]) + along[1] * (p[1] - from[1])) / (length * length);
    let (side_a, side_b) = (side(a), side(b));
    let touches = 1e-7;
    let mut found = Vec::new();
    for (point, off) in [(a, side_a), (b, side_b)] {
        if off.abs() < touches {
            found.push(place(point));
        }
    }
    if found.is_empty() && (side_a > 0.0) != (side_b > 0.0) {
        let t = side_a / (side_a - side_b);
        found.push(place([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]));
    }
    found
}

/// What of a straight line lies in a window (Liang and Barsky, 1984).
pub fn clip_line(from: [f64; 2], to: [f64; 2], window: Window) -> Option<([f64; 2], [f64; 2])> {
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let run = to[axis] - from[axis];
        let (least, most) = (window[axis], window[axis + 2]);
        if run == 0.0 {
            if from[axis] < least || from[axis] > most {
                return None;
            }
            continue;
        }
        let (enter, leave) = ((least - from[axis]) / run, (most - from[axis]) / run);
        low = low.max(enter.min(leave));
        high = high.min(enter.max(leave));
    }
    let at = |t: f64| [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])];
    (low < high).then(|| (at(low), at(high)))
}

/// What of a ring's area lies in a window (Sutherland and Hodgman, 1974); for filling, not for outlines.
pub fn clip_ring(ring: &[[f64; 2]], window: Window) -> Vec<[f64; 2]> {
    let mut points = ring.to_vec();
    for (axis, bound, keep_above) in
        [(0, window[0], true), (0, window[2], false), (1, window[1], true), (1, window[3], false)]
    {
        let inside = |p: &[f64; 2]| if keep_above { p[axis] >= bound } else { p[axis] <= bound };
        let mut kept = Vec::with_capacity(points.len() + 4);
        for (a, b) in edges(&points) {
            if inside(&a) {
                kept.push(a);
            }
            if inside(&a) != inside(&b) {
                let t = (bound - a[axis]) / (b[axis] - a[axis]);
                kept.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
            }
        }
        points = kept;
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Vec<[f64; 2]> {
        vec![[x, y], [x + side, y], [x + side, y + side], [x, y + side]]
    }

    fn face(rings: Vec<Vec<[f64; 2]>>) -> Face {
        Face { rings, everywhere: false }
    }

    #[test]
    fn an_edge_is_hidden_where_a_nearer_layer_has_metal() {
        let nearer = [face(vec![square(2.0, -1.0, 4.0)])];
        let parts = in_view([0.0, 0.0], [10.0, 0.0], &nearer);
        let want = [
            ([0.0, 0.0], [2.0, 0.0], true),
            ([2.0, 0.0], [6.0, 0.0], false),
            ([6.0, 0.0], [10.0, 0.0], true),
        ];
        assert_eq!(parts, want);
    }

    #[test]
    fn it_is_seen_through_a_cut_out() {
        let nearer = [face(vec![square(-5.0, -5.0, 20.0), square(2.0, -1.0, 4.0)])];
        let seen: Vec<bool> = in_view([0.0, 0.0], [10.0, 0.0], &nearer).iter().map(|part| part.2).collect();
        assert_eq!(seen, [false, true, false]);
    }

    #[test]
    fn a_common_edge_stays_in_view() {
        let nearer = [face(vec![square(0.0, 0.0, 4.0)])];
        assert_eq!(in_view([0.0, 0.0], [4.0, 0.0], &nearer), [([0.0, 0.0], [4.0, 0.0], true)]);
        let seen: Vec<bool> = in_view([2.0, 4.0], [8.0, 4.0], &nearer).iter().map(|part| part.2).collect();
        assert!(seen.iter().all(|seen| *seen));
    }

    #[test]
    fn a_piece_without_an_outline_hides_everything_behind_it() {
        let nearer = [Face { rings: Vec::new(), everywhere: true }];
        assert!(!in_view([0.0, 0.0], [1.0, 0.0], &nearer)[0].2);
        // But for its cut-outs.
        let nearer = [Face { rings: vec![square(2.0, -1.0, 4.0)], everywhere: true }];
        let seen: Vec<bool> = in_view([0.0, 0.0], [10.0, 0.0], &nearer).iter().map(|part| part.2).collect();
        assert_eq!(seen, [false, true, false]);
    }

    #[test]
    fn clipping_keeps_what_is_in_the_window() {
        let window = [0.0, 0.0, 2.0, 1.0];
        assert_eq!(clip_line([-1.0, 0.5], [3.0, 0.5], window), Some(([0.0, 0.5], [2.0, 0.5])));
        assert_eq!(clip_line([-1.0, 2.0], [3.0, 2.0], window), None);
        let clipped = clip_ring(&square(1.0, -1.0, 5.0), window);
        let area: f64 = edges(&clipped).map(|(a, b)| (a[0] * b[1] - b[0] * a[1]) / 2.0).sum();
        assert!((area - 1.0).abs() < 1e-12, "1 × 1 in of it lies in the window, not {area}");
    }
}
