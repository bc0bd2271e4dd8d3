//! Draws from the distributions of the forecast.

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Normal draws in pairs, and what is made of them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Normals {
    spare: Option<f64>,
}

impl Normals {
    /// Between 0 and 1.
    pub(crate) fn uniform(rng: &mut ChaCha8Rng) -> f64 {
        rng.random::<f64>()
    }

    /// Mean 0, standard deviation 1, by the polar method (Marsaglia and Bray 1964).
    pub(crate) fn next(&mut self, rng: &mut ChaCha8Rng) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        loop {
            let (x, y) = (2.0 * rng.random::<f64>() - 1.0, 2.0 * rng.random::<f64>() - 1.0);
            let square = x * x + y * y;
            if square > 0.0 && square < 1.0 {
                let scale = (-2.0 * square.ln() / square).sqrt();
                self.spare = Some(y * scale);
                return x * scale;
            }
        }
    }

    /// Gamma with a shape of at least 1 and rate 1, by Marsaglia and Tsang's method of 2000.
    pub(crate) fn gamma(&mut self, rng: &mut ChaCha8Rng, shape: f64) -> f64 {
        debug_assert!(shape >= 1.0, "the method is for shapes from 1");
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.next(rng);
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && (rng.random::<f64>()).ln() < x * x / 2.0 + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }

    /// Beta with two shapes of at least 1.
    pub(crate) fn beta(&mut self, rng: &mut ChaCha8Rng, [yes, no]: [f64; 2]) -> f64 {
        let (yes, no) = (self.gamma(rng, yes), self.gamma(rng, no));
        yes / (yes + no)
    }
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use statrs::distribution::{Beta, ContinuousCDF, Gamma, Normal};

    use super::*;

    /// Largest distance between 40,000 draws and the distribution, against what chance gives once
    /// in a thousand times: 1.95 over the root of the number (Kolmogorov).
    fn agrees(cdf: impl Fn(f64) -> f64, mut draw: impl FnMut() -> f64) {
        const DRAWS: usize = 40_000;
        let mut drawn: Vec<f64> = std::iter::repeat_with(&mut draw).take(DRAWS).collect();
        drawn.sort_by(f64::total_cmp);
        let n = DRAWS as f64;
        let far = drawn
            .iter()
            .enumerate()
            .map(|(at, &x)| (cdf(x) - at as f64 / n).abs().max((cdf(x) - (at + 1) as f64 / n).abs()))
            .fold(0.0, f64::max);
        assert!(far < 1.95 / n.sqrt(), "{far}");
    }

    #[test]
    fn draws_have_the_distribution_they_are_named_after() {
        let mut rng = ChaCha8Rng::seed_from_u64(4);
        let mut normals = Normals::default();
        let normal = Normal::new(0.0, 1.0).unwrap();
        agrees(|x| normal.cdf(x), || normals.next(&mut rng));
        for shape in [1.5, 3.0, 60.0] {
            let gamma = Gamma::new(shape, 1.0).unwrap();
            agrees(|x| gamma.cdf(x), || normals.gamma(&mut rng, shape));
        }
        for shapes in [[1.5, 13.5], [2.0, 2.0], [40.0, 11.0]] {
            let beta = Beta::new(shapes[0], shapes[1]).unwrap();
            agrees(|x| beta.cdf(x), || normals.beta(&mut rng, shapes));
        }
    }
}
