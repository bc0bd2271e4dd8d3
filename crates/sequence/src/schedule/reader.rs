//! Reading the public text format of project-scheduling instances, one way of doing each job.
//!
//! A head with lines of `name : value`, then three tables, each under its
//! title: what comes after each job, how long each takes and what it wants of
//! each resource, and what there is of each resource. A row starts with a
//! digit; other lines of a table are headings and rules. Jobs are numbered from 1.

use thiserror::Error;

use super::{Activity, LARGEST_CAPACITY, LONGEST, Link, Problem, ProblemError};

/// The most jobs that are read.
const MOST_JOBS: usize = 10_000;
/// The most resources that are read.
const MOST_RESOURCES: usize = 100;

/// Why a file is not read.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ReadError {
    /// A line that must be there is not.
    #[error("there is no line \"{wanted}\"; the file is not whole, or not of this format")]
    Missing {
        /// How the line starts.
        wanted: &'static str,
    },
    /// A number in the head that is none, or that is out of range.
    #[error("line {line}: \"{found}\" is no number of {what}; write a whole number, {least} to {most}")]
    Head {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        found: String,
        /// What is counted.
        what: &'static str,
        /// The smallest that is read.
        least: usize,
        /// The largest that is read.
        most: usize,
    },
    /// A word of a row that is no number, or that is out of range.
    #[error("line {line}: \"{found}\" is no {what}; write a whole number, {least} to {most}")]
    Word {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        found: String,
        /// What should stand there.
        what: &'static str,
        /// The smallest that is read.
        least: u32,
        /// The largest that is read.
        most: u32,
    },
    /// A row with too few or too many words.
    #[error("line {line}: {found} numbers; write {wanted}: {what}")]
    Row {
        /// Line, from 1.
        line: usize,
        /// How many there are.
        found: usize,
        /// How many there should be.
        wanted: usize,
        /// What they are.
        what: &'static str,
    },
    /// A job for which one table has no row.
    #[error("job {job} has no row under \"{table}\"; write one for each of the {jobs} jobs")]
    NoRow {
        /// The job, from 1.
        job: usize,
        /// Title of the table.
        table: &'static str,
        /// How many jobs there are.
        jobs: usize,
    },
    /// A job for which one table has two rows.
    #[error("line {line}: job {job} has a row already; write one row for each job, and one way of doing it")]
    Twice {
        /// Line, from 1.
        line: usize,
        /// The job, from 1.
        job: u32,
    },
    /// The numbers make no problem.
    #[error("{0}; activity 0 is job 1 of the file, resource 0 is R 1")]
    Problem(#[from] ProblemError),
}

const AFTER: &str = "PRECEDENCE RELATIONS:";
const WORK: &str = "REQUESTS/DURATIONS:";
const THERE: &str = "RESOURCEAVAILABILITIES:";

/// Reads an instance in the public `.sm` format.
///
/// Activities are counted from 0: activity 0 is job 1 of the file.
///
/// # Errors
/// [`ReadError`] says the line, what was found there and what may stand there.
///
/// ```
/// let text = "\
/// jobs (incl. supersource/sink ):  2
///   - renewable                 :  1   R
/// PRECEDENCE RELATIONS:
///    1        1          1           2
///    2        1          0
/// REQUESTS/DURATIONS:
///   1      1     3       1
///   2      1     4       2
/// RESOURCEAVAILABILITIES:
///   R 1
///     2
/// ";
/// let problem = faying_sequence::schedule::read(text)?;
/// assert_eq!(problem.end_of(&[0, 3]), Some(7));
/// # Ok::<(), faying_sequence::schedule::ReadError>(())
/// ```
pub fn read(text: &str) -> Result<Problem, ReadError> {
    let lines = || text.lines().enumerate().map(|(at, line)| (at + 1, line.trim()));
    for wanted in [AFTER, WORK, THERE] {
        if !lines().any(|(_, line)| line.starts_with(wanted)) {
            return Err(ReadError::Missing { wanted });
        }
    }
    let (line, value) = head(lines(), "jobs")?;
    let jobs = counted(line, value, "jobs", 1, MOST_JOBS)?;
    let (line, value) = head(lines(), "- renewable")?;
    let resources = counted(line, value, "renewable resources", 0, MOST_RESOURCES)?;
    for (name, what) in [
        ("- nonrenewable", "resources that are used up; none are read"),
        ("- doubly constrained", "resources that are used up and shared; none are read"),
    ] {
        if let Ok((line, value)) = head(lines(), name) {
            counted(line, value, what, 0, 0)?;
        }
    }

    let mut links = vec![];
    let mut seen = vec![false; jobs];
    for row in rows(lines(), AFTER) {
        let (job, rest) =
            job_of(&row, jobs, &mut seen, "job, ways of doing it, successors, and the successors")?;
        let successors = row.number(2, "number of successors", 0, jobs as u32)? as usize;
        if rest != successors + 2 {
            let what = "job, ways of doing it, how many successors, and so many of them";
            return Err(ReadError::Row { line: row.line, found: rest + 1, wanted: successors + 3, what });
        }
        for at in 0..successors {
            links.push(Link::after(job - 1, row.number(3 + at, "job", 1, jobs as u32)? - 1));
        }
    }
    every(&seen, AFTER)?;

    let mut activities = vec![Activity { duration: 0, demands: vec![] }; jobs];
    seen.fill(false);
    for row in rows(lines(), WORK) {
        let what = "job, way of doing it, duration, and a demand for each resource";
        let (job, rest) = job_of(&row, jobs, &mut seen, what)?;
        if rest != resources + 2 {
            return Err(ReadError::Row { line: row.line, found: rest + 1, wanted: resources + 3, what });
        }
        let duration = row.number(2, "duration", 0, LONGEST)?;
        let demand = |r| row.number(3 + r, "demand", 0, LARGEST_CAPACITY);
        let demands = (0..resources).map(demand).collect::<Result<_, _>>()?;
        activities[job as usize - 1] = Activity { duration, demands };
    }
    every(&seen, WORK)?;

    let mut capacities = vec![];
    for row in rows(lines(), THERE) {
        for at in 0..row.words.len() {
            capacities.push(row.number(at, "capacity", 0, LARGEST_CAPACITY)?);
        }
        if capacities.len() > resources {
            let what = "what there is of each resource";
            return Err(ReadError::Row { line: row.line, found: capacities.len(), wanted: resources, what });
        }
    }
    if capacities.len() < resources {
        let line = lines().find(|(_, line)| line.starts_with(THERE)).map_or(0, |(line, _)| line);
        let what = "what there is of each resource";
        return Err(ReadError::Row { line, found: capacities.len(), wanted: resources, what });
    }
    Ok(Problem::new(&capacities, &activities, &links, None)?)
}

/// The value behind the colon of the first line that starts so.
fn head<'t>(
    mut lines: impl Iterator<Item = (usize, &'t str)>,
    name: &'static str,
) -> Result<(usize, &'t str), ReadError> {
    lines
        .find_map(|(line, text)| Some((line, text.strip_prefix(name)?.split_once(':')?.1.trim())))
        .ok_or(ReadError::Missing { wanted: name })
}

/// The first word of a value, as a number.
fn counted(
    line: usize,
    value: &str,
    what: &'static str,
    least: usize,
    most: usize,
) -> Result<usize, ReadError> {
    let found = value.split_whitespace().next().unwrap_or_default();
    found.parse().ok().filter(|number| (least..=most).contains(number)).ok_or_else(|| ReadError::Head {
        line,
        found: found.to_owned(),
        what,
        least,
        most,
    })
}

struct Row<'t> {
    line: usize,
    words: Vec<&'t str>,
}

impl Row<'_> {
    fn number(&self, at: usize, what: &'static str, least: u32, most: u32) -> Result<u32, ReadError> {
        // Called for words that may be missing only where the row is refused for that just before.
        let found = self.words.get(at).copied().unwrap_or_default();
        found.parse().ok().filter(|number| (least..=most).contains(number)).ok_or_else(|| ReadError::Word {
            line: self.line,
            found: found.to_owned(),
            what,
            least,
            most,
        })
    }
}

/// The rows of a table: up to the next title, the lines that start with a digit.
fn rows<'t>(lines: impl Iterator<Item = (usize, &'t str)>, title: &'static str) -> Vec<Row<'t>> {
    lines
        .skip_while(|(_, line)| !line.starts_with(title))
        .skip(1)
        .take_while(|(_, line)| ![AFTER, WORK, THERE].iter().any(|title| line.starts_with(title)))
        .filter(|(_, line)| line.starts_with(|first: char| first.is_ascii_digit()))
        .map(|(line, text)| Row { line, words: text.split_whitespace().collect() })
        .collect()
}

/// The job of a row, done in one way, and how many words come after its number.
fn job_of(
    row: &Row<'_>,
    jobs: usize,
    seen: &mut [bool],
    what: &'static str,
) -> Result<(u32, usize), ReadError> {
    let job = row.number(0, "job", 1, jobs as u32)?;
    if row.words.len() < 3 {
        return Err(ReadError::Row { line: row.line, found: row.words.len(), wanted: 3, what });
    }
    row.number(1, "way of doing it that is read: jobs with one way each are", 1, 1)?;
    if std::mem::replace(&mut seen[job as usize - 1], true) {
        return Err(ReadError::Twice { line: row.line, job });
    }
    Ok((job, row.words.len() - 1))
}

fn every(seen: &[bool], table: &'static str) -> Result<(), ReadError> {
    match seen.iter().position(|seen| !seen) {
        Some(at) => Err(ReadError::NoRow { job: at + 1, table, jobs: seen.len() }),
        None => Ok(()),
    }
}
