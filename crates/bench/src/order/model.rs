//! The problem as the search wants it: classes of jobs, and the cost of a step.

use std::collections::HashMap;

use super::{Changed, Family, Problem, distance};

/// Jobs by number, with two more: where things stand before the first job, and the end.
///
/// A class is a family at a place. Inside a class a step costs the way only.
pub(super) struct Model {
    /// Jobs.
    pub n: usize,
    /// Classes of jobs; the start is one more, the end another.
    pub classes: usize,
    /// Class of each job, of the start and of the end.
    pub class: Vec<u16>,
    at: Vec<[f64; 2]>,
    /// Changes, proofs and going to another place between two classes, s.
    switch: Vec<f64>,
    /// What an inch costs between two classes: nothing unless both are in one place.
    per_inch: Vec<f64>,
    /// What an inch costs inside a class.
    pub seconds_per_inch: f64,
    /// Doing all jobs, s.
    pub doing: f64,
}

impl Model {
    pub fn of(problem: &Problem) -> Self {
        let n = problem.jobs.len();
        let mut number = HashMap::new();
        let mut kinds: Vec<(&Family, u16)> = Vec::new();
        let mut class = Vec::with_capacity(n + 2);
        for job in &problem.jobs {
            // Two families with the same parts are one: nothing is changed between them.
            let kind = (&problem.families[usize::from(job.family)], job.place);
            class.push(*number.entry(kind).or_insert_with(|| {
                kinds.push(kind);
                u16::try_from(kinds.len() - 1).expect("a run has fewer classes than 65,536")
            }));
        }
        let classes = kinds.len();
        let tag = |class: usize| u16::try_from(class).expect("a run has fewer classes than 65,536");
        class.push(tag(classes));
        class.push(tag(classes + 1));

        let mut at: Vec<[f64; 2]> = problem.jobs.iter().map(|job| job.at).collect();
        at.push(problem.start.as_ref().map_or([0.0; 2], |start| start.at));
        at.push([0.0; 2]);

        kinds.extend(problem.start.as_ref().map(|start| (&start.family, start.place)));
        let width = classes + 2;
        let (mut switch, mut per_inch) = (vec![0.0; width * width], vec![0.0; width * width]);
        for (a, from) in kinds.iter().enumerate() {
            for (b, to) in kinds.iter().enumerate() {
                let changed = Changed { costs: &problem.costs, from: from.0, to: to.0 };
                switch[a * width + b] = changed.seconds();
                if from.1 == to.1 {
                    per_inch[a * width + b] = problem.costs.seconds_per_inch;
                } else {
                    switch[a * width + b] += problem.costs.between_places;
                }
            }
        }
        Self {
            n,
            classes,
            class,
            at,
            switch,
            per_inch,
            seconds_per_inch: problem.costs.seconds_per_inch,
            doing: problem.jobs.iter().map(|job| job.seconds).sum(),
        }
    }

    /// The number that stands for the start.
    pub fn start(&self) -> u32 {
        u32::try_from(self.n).expect("jobs are numbered by u32")
    }

    /// The number that stands for the end.
    pub fn end(&self) -> u32 {
        self.start() + 1
    }

    /// Going from `a` to `b`, s; to the end, and from a start that is not given, nothing.
    pub fn step(&self, a: u32, b: u32) -> f64 {
        let (a, b) = (a as usize, b as usize);
        let pair = usize::from(self.class[a]) * (self.classes + 2) + usize::from(self.class[b]);
        let per_inch = self.per_inch[pair];
        if per_inch == 0.0 {
            self.switch[pair]
        } else {
            self.switch[pair] + per_inch * distance(self.at[a], self.at[b])
        }
    }

    /// The way between two jobs of one class, s.
    pub fn way(&self, a: u32, b: u32) -> f64 {
        self.seconds_per_inch * distance(self.at[a as usize], self.at[b as usize])
    }

    /// Costs between classes, the start last: `classes + 1` rows and columns.
    pub fn switching(&self) -> Vec<f64> {
        let (width, wide) = (self.classes + 1, self.classes + 2);
        (0..width * width).map(|i| self.switch[i / width * wide + i % width]).collect()
    }

    /// Whether a job of class `a` is in the place of class `b`.
    pub fn same_place(&self, a: u16, b: u16) -> bool {
        self.per_inch[usize::from(a) * (self.classes + 2) + usize::from(b)] > 0.0
    }
}
