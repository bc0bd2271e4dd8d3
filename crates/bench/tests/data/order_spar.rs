// Spars drawn by chance, for the tests and the measurement of the order of a run.
//
// Everything here is invented: a spar has cap rows above and below, columns of
// web holes, doublers that give stretches of the caps another setting, and a
// row of flush holes on the other face. Costs are round figures for the tests
// and are not said to be anybody's.

use faying_bench::order::{Costs, Family, Job, Problem, Proof};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Parts of a family here: tool, yoke, dies, setting, bag, face.
const CHANGE_S: [f64; 6] = [60.0, 180.0, 90.0, 45.0, 15.0, 40.0];

pub fn costs() -> Costs {
    Costs {
        change: CHANGE_S.to_vec(),
        proofs: vec![Proof { parts: vec![0, 1, 2, 3], seconds: 120.0 }],
        seconds_per_inch: 0.4,
        between_places: 30.0,
    }
}

struct Drawing {
    problem: Problem,
    /// Jobs of each family, to hang precedence on.
    stretches: Vec<Stretch>,
}

struct Stretch {
    family: u16,
    from_in: f64,
    to_in: f64,
    jobs: Vec<u32>,
}

impl Drawing {
    fn hole(&mut self, family: u16, at: [f64; 2], place: u16, seconds: f64) -> u32 {
        self.problem.jobs.push(Job { family, at, place, seconds });
        self.problem.jobs.len() as u32 - 1
    }

    /// A row from point to point; a new stretch begins wherever the family changes.
    fn row(&mut self, xs: &[f64], y_in: f64, place: u16, family: impl Fn(f64) -> u16) {
        let mut from = 0;
        while from < xs.len() {
            let its = family(xs[from]);
            let to = (from..xs.len()).find(|&i| family(xs[i]) != its).unwrap_or(xs.len());
            let jobs: Vec<u32> =
                xs[from..to].iter().map(|&x| self.hole(its, [x, y_in], place, 9.0)).collect();
            self.passes(&jobs);
            self.stretches.push(Stretch { family: its, from_in: xs[from], to_in: xs[to - 1], jobs });
            from = to;
        }
    }

    /// Every other hole first, then those between.
    fn passes(&mut self, jobs: &[u32]) {
        for first in jobs.iter().step_by(2) {
            for then in jobs.iter().skip(1).step_by(2) {
                self.problem.before.push((*first, *then));
            }
        }
    }
}

/// A spar with just so many holes and 3 to 9 families.
pub fn spar(seed: u64, holes: usize) -> Problem {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    // tool, yoke, dies, setting, bag, face
    let mut families = vec![[0, 0, 0, 0, 0, 0], [0, 1, 0, 1, 1, 0], [0, 0, 2, 2, 2, 1]];
    let doublers = rng.random_range(0..=4_u16).min(holes as u16 / 12);
    for setting in 0..doublers {
        let longer = rng.random_range(0..3_u16);
        families.push([0, 0, 0, 3 + setting, 3 + longer, 0]);
    }
    let guns = holes > 60 && rng.random_bool(0.5);
    if guns {
        families.push([1, 9, 1, 9, 1, 0]);
    }
    if rng.random_bool(0.4) {
        families.push([0, 0, 2, 8, 8, 1]);
    }
    let names = families.len() as u16;
    let second_flush = (families[usize::from(names) - 1][3] == 8).then(|| names - 1);
    let families = families.into_iter().map(|parts| Family { parts: parts.to_vec() }).collect();
    let problem = Problem { families, jobs: vec![], before: vec![], costs: costs(), start: None };
    let mut it = Drawing { problem, stretches: vec![] };

    let double_rows = holes >= 160 && rng.random_bool(0.6);
    let rows: &[f64] = if double_rows { &[0.5, 1.1, 6.9, 7.5] } else { &[0.5, 7.5] };
    let columns = (holes / 30).clamp(1, 12);
    let in_column = if holes < 24 { 2 } else { 5 };
    let flush = holes / 6;
    let in_rows = holes.saturating_sub(columns * in_column + flush);
    let pitch = [0.75, 1.0, 1.25][rng.random_range(0..3)];
    let each = in_rows / rows.len();
    let length = each as f64 * pitch;

    // Doublers lie over the root end and shorten step by step, or stand somewhere.
    let stepped = rng.random_bool(0.5);
    let places: Vec<(f64, f64)> = (0..doublers)
        .map(|i| {
            if stepped {
                let step = length * 0.6 / f64::from(doublers);
                (f64::from(i) * step, f64::from(i + 1) * step)
            } else {
                let at = rng.random_range(0.0..length * 0.8);
                (at, at + length * rng.random_range(0.08..0.2))
            }
        })
        .collect();
    let gun_from = length * rng.random_range(0.7..0.9);
    let of_cap = |x: f64, lower: bool| {
        let doubler = places.iter().rposition(|&(from, to)| x >= from && x < to);
        match doubler {
            Some(i) => 3 + i as u16,
            None if guns && lower && x > gun_from => 3 + doublers,
            None => 0,
        }
    };
    for (row, &y_in) in rows.iter().enumerate() {
        let more = if row == 0 { in_rows - each * rows.len() } else { 0 };
        let shift = if row % 2 == 1 && double_rows { pitch / 2.0 } else { 0.0 };
        let xs: Vec<f64> = (0..each + more).map(|i| i as f64 * pitch + shift).collect();
        it.row(&xs, y_in, 0, |x| of_cap(x, y_in < 4.0));
    }
    for column in 0..columns {
        let x = length * (column as f64 + 0.5) / columns as f64;
        let jobs: Vec<u32> = (0..in_column).map(|i| it.hole(1, [x, 2.0 + i as f64 * 0.9], 0, 11.0)).collect();
        it.passes(&jobs);
        it.stretches.push(Stretch { family: 1, from_in: x, to_in: x, jobs });
    }
    let xs: Vec<f64> = (0..flush).map(|i| (i as f64 + 0.5) * length / flush as f64).collect();
    it.row(&xs, 0.0, 1, |x| second_flush.filter(|_| x > length * 0.5).unwrap_or(2));

    // A doubler covers web holes, and some flush stretches foul what stands out below them.
    let covered = rng.random_bool(0.7);
    let fouls = rng.random_bool(0.4);
    let mut more = Vec::new();
    for over in &it.stretches {
        for under in &it.stretches {
            let meet = under.from_in <= over.to_in && over.from_in <= under.to_in;
            let doubler = over.family >= 3 && over.family < 3 + doublers;
            let covers = covered && doubler && under.family == 1;
            let foul = fouls && guns && over.family == 3 + doublers && under.family == 2;
            if meet && (covers || foul) {
                more.extend(under.jobs.iter().flat_map(|&u| over.jobs.iter().map(move |&o| (u, o))));
            }
        }
    }
    it.problem.before.extend(more);
    it.problem
}
