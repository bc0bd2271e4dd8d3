//! Places in space: object coordinates, block references, and the view from above.
//!
//! DXF keeps flat things in a coordinate system of their own, given by the
//! direction they are extruded in; the axes follow from that direction by the
//! "arbitrary axis algorithm" of the DXF reference. A hole drawn from the back
//! (extrusion −Z) therefore has its x mirrored.

/// A point or direction, drawing units.
pub(super) type Vector = [f64; 3];

pub(super) const UP: Vector = [0.0, 0.0, 1.0];

fn cross(a: Vector, b: Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn unit(a: Vector) -> Option<Vector> {
    let length = dot(a, a).sqrt();
    (length > 0.0 && length.is_finite()).then(|| a.map(|part| part / length))
}

/// An affine map: the images of the three axes, and of the origin.
#[derive(Clone, Copy, Debug)]
pub(super) struct Map {
    pub x: Vector,
    pub y: Vector,
    pub z: Vector,
    pub origin: Vector,
}

impl Map {
    pub const SAME: Self = Self { x: [1.0, 0.0, 0.0], y: [0.0, 1.0, 0.0], z: UP, origin: [0.0; 3] };

    /// From the object coordinates of something extruded along `normal`.
    ///
    /// A direction without a length is taken as +Z, as other readers do.
    pub fn object(normal: Vector) -> Self {
        let z = unit(normal).unwrap_or(UP);
        // Limit and choice of axis: the DXF reference, "Arbitrary Axis Algorithm".
        const NEAR: f64 = 1.0 / 64.0;
        let helper = if z[0].abs() < NEAR && z[1].abs() < NEAR { [0.0, 1.0, 0.0] } else { UP };
        let x = unit(cross(helper, z)).unwrap_or([1.0, 0.0, 0.0]);
        Self { x, y: cross(z, x), z, origin: [0.0; 3] }
    }

    pub fn shift(origin: Vector) -> Self {
        Self { origin, ..Self::SAME }
    }

    pub fn scale([x, y, z]: Vector) -> Self {
        Self { x: [x, 0.0, 0.0], y: [0.0, y, 0.0], z: [0.0, 0.0, z], origin: [0.0; 3] }
    }

    /// Turned about z.
    ///
    /// # Units
    /// - `degrees`: counter-clockwise, degrees
    pub fn turn(degrees: f64) -> Self {
        // Quarter turns are exact, so that a rotated block stays square.
        let quarters = degrees / 90.0;
        let (sin, cos) = if quarters.fract() == 0.0 {
            [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)][quarters.rem_euclid(4.0) as usize & 3]
        } else {
            degrees.to_radians().sin_cos()
        };
        Self { x: [cos, sin, 0.0], y: [-sin, cos, 0.0], ..Self::SAME }
    }

    pub fn direction(&self, v: Vector) -> Vector {
        std::array::from_fn(|i| self.x[i] * v[0] + self.y[i] * v[1] + self.z[i] * v[2])
    }

    pub fn point(&self, v: Vector) -> Vector {
        let turned = self.direction(v);
        std::array::from_fn(|i| turned[i] + self.origin[i])
    }

    /// First `inner`, then this.
    pub fn after(&self, inner: &Self) -> Self {
        Self {
            x: self.direction(inner.x),
            y: self.direction(inner.y),
            z: self.direction(inner.z),
            origin: self.point(inner.origin),
        }
    }

    /// What this map makes of flat shapes, seen along z.
    pub fn view(&self) -> View {
        const SLACK: f64 = 1e-9;
        let (xx, yy, xy) = (dot(self.x, self.x), dot(self.y, self.y), dot(self.x, self.y));
        let larger = xx.max(yy);
        if !(larger > 0.0 && larger.is_finite()) {
            return View::Nothing;
        }
        let flat = self.x[2].abs().max(self.y[2].abs()) <= SLACK.sqrt() * larger.sqrt() * 1e-2;
        let even = (xx - yy).abs() <= 1e-6 * larger && xy.abs() <= 1e-6 * larger;
        let scale = larger.sqrt();
        let mirrored = self.x[0] * self.y[1] - self.x[1] * self.y[0] < 0.0;
        match (even, flat) {
            (false, _) => View::Squashed { flat },
            (true, false) => View::Tilted { scale },
            (true, true) => View::Even { scale, mirrored },
        }
    }
}

/// What becomes of a flat shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum View {
    /// Circles stay circles, in the plane of the drawing.
    Even { scale: f64, mirrored: bool },
    /// Circles stay circles, but lie in another plane than that of the drawing.
    Tilted { scale: f64 },
    /// Circles become ellipses.
    Squashed { flat: bool },
    /// Everything falls into a point, or off the number line.
    Nothing,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: Vector, b: Vector) {
        assert!(a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-12), "{a:?} is not {b:?}");
    }

    #[test]
    fn seen_from_the_back_x_is_mirrored() {
        near(Map::object([0.0, 0.0, -1.0]).point([3.0, 2.0, 1.0]), [-3.0, 2.0, -1.0]);
        near(Map::object(UP).point([3.0, 2.0, 1.0]), [3.0, 2.0, 1.0]);
    }

    /// Extruded along +X: by the rule, x of the object is Z × X = Y and y is X × Y = Z.
    #[test]
    fn extruded_along_x() {
        near(Map::object([2.0, 0.0, 0.0]).point([3.0, 2.0, 1.0]), [1.0, 3.0, 2.0]);
    }

    #[test]
    fn order_of_a_reference_is_scale_turn_shift() {
        let map = Map::shift([10.0, 0.0, 0.0]).after(&Map::turn(90.0)).after(&Map::scale([2.0, 2.0, 2.0]));
        near(map.point([1.0, 0.0, 0.0]), [10.0, 2.0, 0.0]);
        assert_eq!(map.view(), View::Even { scale: 2.0, mirrored: false });
        assert_eq!(Map::scale([-1.0, 1.0, 1.0]).view(), View::Even { scale: 1.0, mirrored: true });
        assert_eq!(Map::scale([2.0, 1.0, 1.0]).view(), View::Squashed { flat: true });
        assert_eq!(Map::object([1.0, 0.0, 0.0]).view(), View::Tilted { scale: 1.0 });
        assert_eq!(Map::scale([0.0, 0.0, 0.0]).view(), View::Nothing);
    }
}
