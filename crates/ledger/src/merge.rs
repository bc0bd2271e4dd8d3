//! Putting two copies of a ledger together.
//!
//! The rows of a writer hang together by their hashes, so a merge is the union
//! of two sets of rows: where one chain is the beginning of the other, the
//! longer one results; where they part, both stay, the later known one as a
//! branch of its own. That makes the result the same whichever is merged into
//! which, in whatever order, however often. Only positions and branch numbers
//! differ from file to file; they are no part of a row.

use std::collections::HashMap;

use crate::ledger::{
    Ledger, LedgerError, Place, Position, Reader, Refusal, Writing, check_alone, position_of_act,
};
use crate::row::{Fork, Row, RowHash};

/// What a merge did.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MergeReport {
    /// Rows taken over.
    pub taken: u64,
    /// Rows of the other file that were here already.
    pub already_held: u64,
    /// Chains that were found to part; only those that this merge found.
    pub forks: Vec<Fork>,
    /// Acts of rows taken over that are now held in two rows: both copies had taken the same act.
    pub acts_held_twice: Vec<ActHeldTwice>,
    /// Rows of the other file that were left there, because they are damaged or hang on a damaged one.
    pub not_taken: Vec<NotTaken>,
}

/// One act in two rows, each in its own chain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ActHeldTwice {
    /// The act.
    pub act: String,
    /// The row that was here first.
    pub first: Position,
    /// The row taken over now.
    pub again: Position,
}

/// Rows that follow each other and were not taken over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotTaken {
    /// Whose rows.
    pub writer: String,
    /// The number of the first.
    pub first: u64,
    /// The number of the last that hangs on it.
    pub last: u64,
    /// How many.
    pub count: u64,
    /// What is wrong with the first.
    pub why: Refusal,
}

impl Ledger {
    /// Takes over every row of another copy that is not here yet, in one transaction.
    ///
    /// The other file is only read. Merging it again takes nothing.
    ///
    /// # Errors
    /// [`LedgerError::UnreadableRow`] or [`LedgerError::Damaged`] if the other
    /// file cannot be read to its end, [`LedgerError::DiskFull`]; nothing is
    /// taken over then.
    pub fn merge(&mut self, other: &Reader) -> Result<MergeReport, LedgerError> {
        let path = self.path().to_owned();
        let at = LedgerError::at(&path);
        let transaction = self.transaction()?;
        let mut writing = Writing::new(&transaction);
        let mut report = MergeReport::default();
        // Hash of a row left out -> the run in the report that its followers belong to.
        let mut left_out: HashMap<RowHash, usize> = HashMap::new();

        for held in other.rows_since(Position::START) {
            let row = held?.row;
            if writing.holds(&row).map_err(&at)? {
                report.already_held += 1;
                continue;
            }
            let place = match check_alone(&row) {
                Ok(()) => writing.place(&row).map_err(&at)?,
                Err(refusal) => Err(refusal),
            };
            let branch = match place {
                Ok(Place::Continues(branch)) => branch,
                Ok(Place::Parts) => {
                    let branch = writing.new_branch(&row.writer).map_err(&at)?;
                    report.forks.push(Fork { writer: row.writer.clone(), branch, seq: row.seq });
                    branch
                }
                Err(why) => {
                    leave_out(&mut report.not_taken, &mut left_out, &row, why);
                    continue;
                }
            };
            let first = position_of_act(&transaction, &row.act).map_err(&at)?;
            let again = writing.put(&row, branch).map_err(&at)?;
            if let Some(first) = first {
                report.acts_held_twice.push(ActHeldTwice { act: row.act, first, again });
            }
            report.taken += 1;
        }
        transaction.commit().map_err(&at)?;
        Ok(report)
    }
}

fn leave_out(runs: &mut Vec<NotTaken>, left_out: &mut HashMap<RowHash, usize>, row: &Row, why: Refusal) {
    let run = match left_out.get(&row.prev) {
        Some(&run) if runs[run].writer == row.writer => {
            runs[run].last = runs[run].last.max(row.seq);
            runs[run].count += 1;
            run
        }
        _ => {
            runs.push(NotTaken { writer: row.writer.clone(), first: row.seq, last: row.seq, count: 1, why });
            runs.len() - 1
        }
    };
    left_out.insert(row.hash, run);
}
