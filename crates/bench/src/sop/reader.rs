//! Reading the public text format of sequential-ordering instances.
//!
//! Lines of `KEY: value`, then `EDGE_WEIGHT_SECTION` and a full matrix, row by
//! row; the number of jobs may stand before the first row. In row i and column
//! j, -1 says that j comes before i. A bare matrix without any header, one row
//! to a line, is read as well: a part of the public collection is kept so.

use thiserror::Error;

use super::{LARGEST_COST, Problem, ProblemError};

/// The most jobs that are read: beyond, the matrix alone would fill the memory of a small machine.
const MOST_JOBS: usize = 10_000;

/// Why a file is not read.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ReadError {
    /// There is no matrix in it.
    #[error("there is no matrix of costs; it stands behind a line EDGE_WEIGHT_SECTION")]
    Empty,
    /// A header says something that is not read.
    #[error("line {line}: {key} is \"{found}\"; only {allowed} is read")]
    Header {
        /// Line, from 1.
        line: usize,
        /// The key.
        key: &'static str,
        /// Its value.
        found: String,
        /// What may stand there.
        allowed: &'static str,
    },
    /// A number of jobs that is none.
    #[error("line {line}: \"{found}\" is not a number of jobs; write a whole number, 1 to {MOST_JOBS}")]
    Dimension {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        found: String,
    },
    /// A cost that is none.
    #[error(
        "line {line}: \"{found}\" is not a cost; write a whole number, 0 to {LARGEST_COST}, or -1 where the \
         job of the column comes before the job of the row"
    )]
    Cost {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        found: String,
    },
    /// Too few or too many numbers.
    #[error("line {line}: {n} jobs want {} costs, and there are {found}; write {n} rows of {n}", n * n)]
    Count {
        /// The last line of the matrix, from 1.
        line: usize,
        /// How many jobs there are.
        n: usize,
        /// How many numbers were found.
        found: usize,
    },
    /// The numbers make no problem.
    #[error("{0}; jobs are counted from 0 in the order of the rows")]
    Problem(#[from] ProblemError),
}

/// Reads an instance in the public `.sop` format.
///
/// Jobs are counted from 0, in the order of the rows.
///
/// # Errors
/// [`ReadError`] says the line, what was found there and what may stand there.
///
/// ```
/// let text = "DIMENSION: 2\nEDGE_WEIGHT_SECTION\n2\n0 7\n-1 0\nEOF\n";
/// let problem = faying_bench::sop::read(text)?;
/// assert_eq!((problem.jobs(), problem.cost_of(&[0, 1])), (2, Some(7)));
/// # Ok::<(), faying_bench::sop::ReadError>(())
/// ```
pub fn read(text: &str) -> Result<Problem, ReadError> {
    let mut lines = text.lines().enumerate().map(|(at, line)| (at + 1, line.trim())).peekable();
    let mut dimension = None;
    let bare = lines
        .clone()
        .find(|(_, line)| !line.is_empty())
        .is_some_and(|(_, line)| line.split_whitespace().all(|word| word.parse::<i64>().is_ok()));
    if !bare {
        let mut found = false;
        for (line, text) in lines.by_ref() {
            if text == "EDGE_WEIGHT_SECTION" || text == "EDGE_WEIGHT_SECTION:" {
                found = true;
                break;
            }
            let Some((key, value)) = text.split_once(':') else { continue };
            let value = value.trim();
            let wants = |key, allowed| {
                if value == allowed {
                    Ok(())
                } else {
                    Err(ReadError::Header { line, key, found: value.to_owned(), allowed })
                }
            };
            match key.trim() {
                "DIMENSION" => dimension = Some(read_dimension(line, value)?),
                "TYPE" => wants("TYPE", "SOP")?,
                "EDGE_WEIGHT_TYPE" => wants("EDGE_WEIGHT_TYPE", "EXPLICIT")?,
                "EDGE_WEIGHT_FORMAT" => wants("EDGE_WEIGHT_FORMAT", "FULL_MATRIX")?,
                _ => {}
            }
        }
        if !found {
            return Err(ReadError::Empty);
        }
    }
    let mut costs: Vec<i32> = Vec::new();
    let (mut first_row, mut last_line) = (None, 0);
    for (line, text) in lines {
        if text == "EOF" || text.ends_with("_SECTION") {
            break;
        }
        if text.is_empty() {
            continue;
        }
        last_line = line;
        for word in text.split_whitespace() {
            let cost = word.parse().ok().filter(|cost| (-1..=LARGEST_COST).contains(cost));
            costs.push(cost.ok_or_else(|| ReadError::Cost { line, found: word.to_owned() })?);
        }
        first_row.get_or_insert((line, costs.len()));
        // A matrix that is far too long is not read to its end.
        if costs.len() > MOST_JOBS * MOST_JOBS + 1 {
            break;
        }
    }
    let Some((first_line, in_first_row)) = first_row else { return Err(ReadError::Empty) };
    // The number of jobs, alone on a line, stands before the rows of the older files.
    let alone = in_first_row == 1 && costs.len() > 1;
    let n = match (dimension, alone) {
        (Some(n), _) => n,
        (None, true) => read_dimension(first_line, &costs[0].to_string())?,
        (None, false) => read_dimension(first_line, &in_first_row.to_string())?,
    };
    if alone && usize::try_from(costs[0]) == Ok(n) {
        costs.remove(0);
    }
    if costs.len() != n * n {
        return Err(ReadError::Count { line: last_line, n, found: costs.len() });
    }
    let mut before = Vec::new();
    for i in 0..n {
        for j in 0..n {
            if i != j && costs[i * n + j] == -1 {
                before.push((j as u32, i as u32));
            }
        }
    }
    Ok(Problem::new(n, costs, &before)?)
}

fn read_dimension(line: usize, text: &str) -> Result<usize, ReadError> {
    text.parse()
        .ok()
        .filter(|n| (1..=MOST_JOBS).contains(n))
        .ok_or_else(|| ReadError::Dimension { line, found: text.to_owned() })
}
