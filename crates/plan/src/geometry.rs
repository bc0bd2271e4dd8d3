//! Points and closed outlines, in whole nanometres.
//!
//! An outline is a loop of points; a point may carry the bulge of the arc to
//! the next one, as the drawing-exchange format DXF defines it: the tangent of
//! a quarter of the arc's angle, positive where the arc runs counter-clockwise.
//! What needs polygons takes [`Loop::flattened`] with its own tolerance.

use faying_standards::Length;

/// A point in a plane, seen from its near side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Point {
    /// Along the plane.
    pub x: Length,
    /// Across the plane.
    pub y: Length,
}

impl Point {
    /// A point.
    #[must_use]
    pub const fn new(x: Length, y: Length) -> Self {
        Self { x, y }
    }

    /// Both coordinates in inches, for computation.
    #[must_use]
    pub fn inches(self) -> [f64; 2] {
        [self.x.inches(), self.y.inches()]
    }
}

/// A corner of a [`Loop`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Where.
    pub at: Point,
    /// Bulge of the arc to the next corner; 0 is a straight edge.
    pub bulge: f64,
}

/// A closed outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Loop {
    corners: Vec<Corner>,
}

/// Corners that do not enclose anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("an outline needs at least three corners, or two with an arc between")]
pub struct OpenLoop;

impl Loop {
    /// A closed outline through these corners.
    ///
    /// # Errors
    /// [`OpenLoop`] if there are too few corners to enclose anything.
    pub fn new(corners: Vec<Corner>) -> Result<Self, OpenLoop> {
        let least = if corners.iter().any(|corner| corner.bulge != 0.0) { 2 } else { 3 };
        if corners.len() < least { Err(OpenLoop) } else { Ok(Self { corners }) }
    }

    /// An upright rectangle from its lower left corner.
    #[must_use]
    pub fn rectangle(x: Length, y: Length, width: Length, height: Length) -> Self {
        let corner = |x, y| Corner { at: Point::new(x, y), bulge: 0.0 };
        Self {
            corners: vec![
                corner(x, y),
                corner(x + width, y),
                corner(x + width, y + height),
                corner(x, y + height),
            ],
        }
    }

    /// A circle, as two half arcs.
    #[must_use]
    pub fn circle(centre: Point, diameter: Length) -> Self {
        let radius = Length::from_nanometres(diameter.nanometres() / 2);
        let corner = |x| Corner { at: Point::new(x, centre.y), bulge: 1.0 };
        Self { corners: vec![corner(centre.x - radius), corner(centre.x + radius)] }
    }

    /// Its corners.
    #[must_use]
    pub fn corners(&self) -> &[Corner] {
        &self.corners
    }

    /// The outline as straight edges, each arc no further than `tolerance_in` from its chords.
    ///
    /// # Units
    /// - `tolerance_in`: greatest distance of an arc from its chord, in
    /// - returns: corners in inches, the first not repeated
    #[must_use]
    pub fn flattened(&self, tolerance_in: f64) -> Vec<[f64; 2]> {
        let mut points = Vec::with_capacity(self.corners.len());
        for (index, corner) in self.corners.iter().enumerate() {
            let next = self.corners[(index + 1) % self.corners.len()].at.inches();
            points.push(corner.at.inches());
            if corner.bulge != 0.0 {
                push_arc(&mut points, corner.at.inches(), next, corner.bulge, tolerance_in);
            }
        }
        points
    }

    /// Lower left and upper right corner of the upright box around it, arcs included.
    ///
    /// # Units
    /// - returns: inches
    #[must_use]
    pub fn bounds(&self) -> [[f64; 2]; 2] {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        for point in self.flattened(1e-3) {
            for axis in 0..2 {
                low[axis] = low[axis].min(point[axis]);
                high[axis] = high[axis].max(point[axis]);
            }
        }
        [low, high]
    }
}

/// Adds the points of an arc between its ends, which are not repeated.
fn push_arc(points: &mut Vec<[f64; 2]>, from: [f64; 2], to: [f64; 2], bulge: f64, tolerance_in: f64) {
    let angle = 4.0 * bulge.atan();
    let chord = [to[0] - from[0], to[1] - from[1]];
    let length = chord[0].hypot(chord[1]);
    if length == 0.0 || !angle.is_finite() {
        return;
    }
    let radius = length / (2.0 * (angle / 2.0).sin().abs());
    // Sagitta r(1 − cos(a/2)) ≤ tolerance, at most a thousand chords: a plan is not a mesh.
    let step = 2.0 * (1.0 - (tolerance_in / radius).min(1.0)).acos();
    let count = (angle.abs() / step.max(1e-9)).ceil().clamp(1.0, 1000.0) as usize;
    // The centre lies on the chord's perpendicular: left of the travel for a bulge between 0 and 1.
    let offset = (1.0 - bulge * bulge) / (4.0 * bulge);
    let centre = [
        f64::midpoint(from[0], to[0]) - chord[1] * offset,
        f64::midpoint(from[1], to[1]) + chord[0] * offset,
    ];
    let start = (from[1] - centre[1]).atan2(from[0] - centre[0]);
    for part in 1..count {
        let at = start + angle * part as f64 / count as f64;
        points.push([centre[0] + radius * at.cos(), centre[1] + radius * at.sin()]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use faying_standards::inches;
    use proptest::prelude::*;

    fn area(points: &[[f64; 2]]) -> f64 {
        (0..points.len())
            .map(|i| {
                let (a, b) = (points[i], points[(i + 1) % points.len()]);
                (a[0] * b[1] - b[0] * a[1]) / 2.0
            })
            .sum()
    }

    #[test]
    fn a_circle_has_its_area_and_its_box() {
        let circle = Loop::circle(Point::new(inches(1.0), inches(2.0)), inches(3.0));
        let exact = std::f64::consts::PI * 2.25;
        assert!((area(&circle.flattened(1e-5)) - exact).abs() < 1e-3);
        let [low, high] = circle.bounds();
        for (got, want) in [(low[0], -0.5), (low[1], 0.5), (high[0], 2.5), (high[1], 3.5)] {
            assert!((got - want).abs() < 2e-3, "{got} for {want}");
        }
    }

    #[test]
    fn a_quarter_arc_bulges_to_the_left_of_its_travel() {
        // From (1,0) to (0,1) round the origin, counter-clockwise: tan(90°/4).
        let bulge = (std::f64::consts::FRAC_PI_8).tan();
        let corner = |x, y, bulge| Corner { at: Point::new(inches(x), inches(y)), bulge };
        let shape =
            Loop::new(vec![corner(0.0, 0.0, 0.0), corner(1.0, 0.0, bulge), corner(0.0, 1.0, 0.0)]).unwrap();
        for point in &shape.flattened(1e-4)[1..] {
            assert!((point[0].hypot(point[1]) - 1.0).abs() < 1e-9, "{point:?} is off the circle");
        }
        assert!((area(&shape.flattened(1e-6)) - std::f64::consts::FRAC_PI_4).abs() < 1e-4);
    }

    proptest! {
        /// Flattened arcs keep within the tolerance of the true circle, whatever the bulge.
        #[test]
        fn arcs_stay_on_their_circle(bulge in -3.0_f64..3.0, x in 0.1_f64..40.0) {
            prop_assume!(bulge.abs() > 1e-3);
            let corners = vec![
                Corner { at: Point::new(Length::ZERO, Length::ZERO), bulge },
                Corner { at: Point::new(inches(x), Length::ZERO), bulge: 0.0 },
            ];
            let points = Loop::new(corners).unwrap().flattened(1e-3);
            let chord = x / 2.0;
            let radius = chord * (1.0 + bulge * bulge) / (2.0 * bulge.abs());
            let centre_y = x * (1.0 - bulge * bulge) / (4.0 * bulge);
            for p in &points {
                prop_assert!(((p[0] - chord).hypot(p[1] - centre_y) - radius).abs() < 1e-6 * radius.max(1.0));
            }
        }
    }
}
