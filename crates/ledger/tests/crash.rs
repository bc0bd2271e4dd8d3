//! What was acknowledged is there, whenever the process dies.
//!
//! The test program runs itself again as a child that appends rows and writes
//! `ack N` to its standard output after `append` has returned. It is killed at
//! every system call that it makes on the files, one after the other, and at
//! random moments, which find what nobody thought of; what comes about by luck
//! is not counted. No kill shows that the rows were on the disk and not only
//! with the system; the order of system calls, seen with strace, shows that.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail where it stands")]
#![cfg(unix)]

mod common;
#[cfg(target_os = "linux")]
#[path = "common/steps.rs"]
mod steps;

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use common::{SINCE, after, in_order, record, verify};
use faying_ledger::{Ledger, LedgerError, Reader, Row, RowHash};

/// Rows in one call of `append`; all of them or none must be there.
const TOGETHER: u64 = 3;

const FOLDER: &str = "FAYING_LEDGER_TEST_FOLDER";
const CALLS: &str = "FAYING_LEDGER_TEST_CALLS";
const NO_SYNC: &str = "FAYING_LEDGER_TEST_NO_SYNC";

/// Not a test of its own: the part that the child plays. Without its environment it has nothing to do.
#[test]
fn child() {
    let Ok(folder) = std::env::var(FOLDER) else { return };
    let calls: u64 = std::env::var(CALLS).unwrap().parse().unwrap();
    let path = record(Path::new(&folder));
    let mut ledger = if !path.exists() {
        Ledger::create(&path, SINCE).unwrap()
    } else if std::env::var(NO_SYNC).is_ok() {
        Ledger::open_without_sync(&path, SINCE).unwrap()
    } else {
        Ledger::open(&path, SINCE).unwrap()
    };
    // Written past the test program's own catching of output, in one system call.
    let mut out = std::io::stdout().lock();
    let (mut seq, mut prev) = ledger.heads().unwrap().first().map_or((0, RowHash::NONE), |h| (h.seq, h.hash));
    for _ in 0..calls {
        let mut rows: Vec<Row> = Vec::new();
        for _ in 0..TOGETHER {
            seq += 1;
            // Long enough that SQLite empties its journal into the file again and again.
            let row = Row::seal("bench", seq, prev, seq, format!("act-{seq}"), vec![b'x'; 1500]);
            prev = row.hash;
            rows.push(row);
        }
        ledger.append(&rows).unwrap();
        out.write_all(format!("ack {seq}\n").as_bytes()).unwrap();
        out.flush().unwrap();
    }
}

fn command(folder: &Path, calls: u64) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command
        .args(["--exact", "child", "--nocapture", "--test-threads=1"])
        .env(FOLDER, folder)
        .env(CALLS, calls.to_string())
        .stdin(Stdio::null());
    command
}

/// Kills a child that was started here, and only that.
fn kill(mut child: Child) -> bool {
    child.kill().unwrap();
    use std::os::unix::process::ExitStatusExt;
    child.wait().unwrap().signal() == Some(9)
}

/// Numbers that look random and are the same on every run (xorshift, Marsaglia 2003).
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % limit
    }
}

/// Lets some microseconds pass, so that the kill falls anywhere inside an append.
fn linger(micros: u64) {
    let start = Instant::now();
    while start.elapsed() < Duration::from_micros(micros) {
        std::hint::spin_loop();
    }
}

fn ack(line: &str) -> Option<u64> {
    // The test program writes its own words before the first, on the same line.
    line.rsplit_once("ack ")?.1.trim().parse().ok()
}

#[test]
fn fifty_kills_lose_no_acknowledged_row() {
    let folder = tempfile::tempdir().unwrap();
    let path = record(folder.path());
    drop(Ledger::create(&path, SINCE).unwrap());
    let mut dice = Dice(20_261_125);
    let (mut acknowledged, mut killed) = (0, 0);
    for round in 0..50 {
        let mut child =
            command(folder.path(), u64::MAX).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap());
        // Every tenth dies while it is still opening the file.
        let wait_for = if round % 10 == 9 { 0 } else { 1 + dice.below(30) };
        let mut seen = 0;
        let mut line = String::new();
        while seen < wait_for {
            line.clear();
            assert!(lines.read_line(&mut line).unwrap() > 0, "round {round}: the child ended by itself");
            if let Some(seq) = ack(&line) {
                assert!(seq > acknowledged, "round {round}: {seq} acknowledged after {acknowledged}");
                acknowledged = seq;
                seen += 1;
            }
        }
        linger(dice.below(if wait_for == 0 { 20_000 } else { 3_000 }));
        killed += u32::from(kill(child));
        // What it still managed to say before it died was acknowledged as well.
        let rest: Vec<String> = lines.lines().map(Result::unwrap).collect();
        acknowledged = rest.iter().filter_map(|line| ack(line)).chain([acknowledged]).max().unwrap();

        let ledger = Reader::open(&path).unwrap();
        let held = in_order(&ledger);
        let count = held.len() as u64;
        assert!(held.iter().enumerate().all(|(at, row)| row.seq == at as u64 + 1));
        assert!(count >= acknowledged, "round {round}: {acknowledged} acknowledged, {count} held");
        assert_eq!(count % TOGETHER, 0, "round {round}: a call was written in part");
        // Every row is hashed again in this; a fault that a round left would still be there in the fifth.
        if round % 5 == 4 {
            assert_eq!(verify(&ledger).faults, [], "round {round}");
        }
        acknowledged = count;
    }
    // They append without end: one that was not killed had failed.
    assert_eq!(killed, 50, "children that had ended before they were killed prove nothing");
    // And the ledger goes on.
    let mut ledger = Ledger::open(&path, SINCE).unwrap();
    let last = in_order(&ledger).pop().unwrap();
    ledger.append(&[after(&last, "after all", b"x")]).unwrap();
    assert_eq!(verify(&ledger).faults, []);
}

#[test]
fn a_kill_while_a_file_is_made_leaves_none_or_a_whole_one() {
    let mut dice = Dice(7);
    for round in 0..40 {
        let folder = tempfile::tempdir().unwrap();
        let path = record(folder.path());
        let mut child =
            command(folder.path(), 1).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        // Until it has begun: its lock file is the first it makes.
        while !folder.path().join("record.faying.lock").exists() {
            assert!(child.try_wait().unwrap().is_none(), "the child made no file");
            std::hint::spin_loop();
        }
        // The first ones at once, the later ones later. Which of them find a file is the machine's affair.
        linger(dice.below(1 + 400 * round));
        kill(child);
        none_or_whole(&path, &format!("round {round}"));
    }
}

/// What is there is a whole record that can be written on; where there is none, one can be made.
fn none_or_whole(path: &Path, at: &str) {
    let ledger = if path.exists() {
        // Read first, as `verify` would, by one that can clean nothing up.
        let faults = Reader::open(path).map(|reader| verify(&reader).faults);
        assert!(faults.as_ref().is_ok_and(Vec::is_empty), "{at}: {faults:?}");
        Ledger::open(path, SINCE)
    } else {
        Ledger::create(path, SINCE)
    };
    go_on(&mut ledger.unwrap_or_else(|error| panic!("{at}: {error:?}")), at);
}

/// A row more, and no fault.
fn go_on(ledger: &mut Ledger, at: &str) {
    let next = match in_order(ledger).last() {
        Some(last) => after(last, "after all", b"x"),
        None => Row::seal("bench", 1, RowHash::NONE, 1, "after all", b"x".to_vec()),
    };
    ledger.append(&[next]).unwrap_or_else(|error| panic!("{at}: {error:?}"));
    assert_eq!(verify(ledger).faults, [], "{at}");
}

/// Killing a child at each of its calls in turn.
#[cfg(target_os = "linux")]
mod at_every_step {
    use super::steps::{Look, Step, died, steps};
    use super::*;

    /// Everything that a ledger is made of and made from, and the folder.
    const FILES: &[&str] = &[
        "",
        "record.faying",
        "record.faying.lock",
        "record.faying.new",
        "record.faying.new-journal",
        "record.faying.new-wal",
        "record.faying.new-shm",
        "record.faying-journal",
        "record.faying-wal",
        "record.faying-shm",
    ];

    /// How a child ended.
    struct End {
        /// The number of the step that it did not live to take; the number of steps if it took them all.
        step: usize,
        /// The last row it acknowledged, or 0.
        acknowledged: u64,
    }

    impl End {
        /// For messages.
        fn at(&self, steps: &[Step]) -> String {
            format!("step {} of {}, {:?}", self.step, steps.len(), steps.get(self.step))
        }
    }

    /// Runs the child in a prepared folder to its end, then once more for each step it took, and looks at what is left.
    fn for_each(calls: u64, prepare: impl Fn(&Path), look: impl Fn(&Path, &[Step], &End)) -> Vec<Step> {
        let run = |death: Option<&Step>| {
            let (folder, beside) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
            prepare(folder.path());
            let strace = Look::at(folder.path(), FILES, beside.path());
            let output = strace.run(&command(folder.path(), calls), death);
            let said = String::from_utf8(output.stdout.clone()).unwrap();
            let acknowledged = said.lines().filter_map(ack).max().unwrap_or(0);
            (folder, strace.steps(), output, acknowledged)
        };
        let (folder, steps, output, acknowledged) = run(None);
        assert!(output.status.success(), "{output:?}");
        look(folder.path(), &steps, &End { step: steps.len(), acknowledged });

        for (at, step) in steps.iter().enumerate() {
            let (folder, taken, output, acknowledged) = run(Some(step));
            assert!(died(&output), "step {at}, {step:?}: {output:?}");
            // The same way up to here: so each step is one of those listed, and none is left out.
            assert_eq!(taken, steps[..=at], "step {at}");
            look(folder.path(), &steps, &End { step: at, acknowledged });
        }

        // One call more than there are kills nobody: the list is whole.
        let last = steps.last().expect("the child took steps");
        let count = steps.iter().filter(|step| step.call == last.call).count();
        let (folder, taken, output, acknowledged) = run(Some(&Step { nth: count + 1, ..last.clone() }));
        assert!(output.status.success(), "{output:?}");
        assert_eq!(taken, steps);
        look(folder.path(), &steps, &End { step: steps.len(), acknowledged });
        steps
    }

    #[test]
    fn making_a_file_leaves_none_or_a_whole_one() {
        let named = |steps: &[Step]| {
            steps
                .iter()
                .position(|step| step.call.starts_with("rename") && step.file == "record.faying.new")
                .expect("a new file gets its name by one call")
        };
        let steps = for_each(
            0,
            |_| {},
            |folder, steps, end| {
                let path = record(folder);
                let at = end.at(steps);
                assert_eq!(path.exists(), end.step > named(steps), "{at}");
                none_or_whole(&path, &at);
            },
        );
        // Both kinds came about.
        assert!((1..steps.len()).contains(&named(&steps)), "{steps:?}");
    }

    /// One call of `append` to a record of one call, killed at every step: all of it or nothing.
    ///
    /// `prepare` is given the open record and the folder to lay a copy into.
    fn append(prepare: impl Fn(&Ledger, &Path), read_before_opened: bool) {
        let held_at = std::cell::RefCell::new(Vec::new());
        let steps = for_each(
            1,
            |folder| {
                let source = tempfile::tempdir().unwrap();
                let mut ledger = Ledger::create(&record(source.path()), SINCE).unwrap();
                let mut rows: Vec<Row> =
                    vec![Row::seal("bench", 1, RowHash::NONE, 1, "act-1", b"x".to_vec())];
                while (rows.len() as u64) < TOGETHER {
                    let last = rows.last().expect("never empty");
                    rows.push(after(last, &format!("act-{}", last.seq + 1), b"x"));
                }
                ledger.append(&rows).unwrap();
                prepare(&ledger, folder);
            },
            |folder, steps, end| {
                let at = end.at(steps);
                let path = record(folder);
                if read_before_opened {
                    assert_eq!(verify(&Reader::open(&path).unwrap()).faults, [], "{at}");
                }
                let mut ledger = Ledger::open(&path, SINCE).unwrap_or_else(|error| panic!("{error:?}, {at}"));
                let held = ledger.count().unwrap();
                assert!(held == TOGETHER || held == 2 * TOGETHER, "{held} rows, {at}");
                assert!(held >= end.acknowledged, "{} acknowledged, {held} held, {at}", end.acknowledged);
                assert_eq!(verify(&ledger).faults, [], "{at}");
                go_on(&mut ledger, &at);
                held_at.borrow_mut().push((end.step, held, end.acknowledged));
            },
        );
        let mut held_at = held_at.into_inner();
        held_at.sort_unstable();
        // Nothing of the call before the first step, all of it behind the last, and no way back in between.
        assert_eq!(held_at[0], (0, TOGETHER, 0), "{held_at:?}");
        assert_eq!(held_at[held_at.len() - 1], (steps.len(), 2 * TOGETHER, 2 * TOGETHER), "{held_at:?}");
        assert!(held_at.is_sorted_by_key(|&(_, held, acknowledged)| (held, acknowledged)), "{held_at:?}");
        // The sync of the journal stands between what is written and what is acknowledged.
        let ahead: Vec<&Step> =
            held_at.iter().filter(|end| end.1 > TOGETHER && end.2 == 0).map(|end| &steps[end.0]).collect();
        assert!(
            ahead.iter().any(|step| step.call.ends_with("sync") && step.file == "record.faying-wal"),
            "{ahead:?}"
        );
    }

    /// The record is found as a crash left it: its rows stand in the journal only.
    #[test]
    fn appending_behind_a_crash_writes_all_or_nothing() {
        append(
            |ledger, folder| {
                let from = ledger.path();
                for behind in ["", "-wal"] {
                    let name = format!("record.faying{behind}");
                    std::fs::copy(from.with_file_name(&name), folder.join(&name)).unwrap();
                }
            },
            true,
        );
    }

    /// A backup put in the record's place has no journal, and gets one at its first opening.
    ///
    /// Not read first: that change is undone by who may write.
    #[test]
    fn appending_to_a_backup_put_back_writes_all_or_nothing() {
        append(
            |ledger, folder| {
                let backup = ledger.backup_to(folder, "2026-11-25").unwrap();
                std::fs::rename(&backup.path, record(folder)).unwrap();
            },
            false,
        );
    }

    #[test]
    fn the_look_at_a_trace_counts_each_thread_by_itself() {
        let trace = "\
10 openat(AT_FDCWD</x/y>, \"/t/record.faying.new\", O_RDWR|O_CREAT, 0644) = 4</t/record.faying.new>
10 pwrite64(4</t/record.faying.new>, \"..\", 4096, 0) = 4096
11 pwrite64(5</t/record.faying-wal>, \"..\", 32, 0 <unfinished ...>
10 fsync(6</t>) = 0
11 <... pwrite64 resumed>) = 32
10 pwrite64(4</t/record.faying.new>, \"..\", 4096, 4096) = 4096
10 rename(\"/t/record.faying.new\", \"/t/record.faying\" <unfinished ...>) = ?
10 +++ killed by SIGKILL +++
";
        let steps: Vec<(String, String, usize)> =
            steps(trace, "/t").into_iter().map(|step| (step.call, step.file, step.nth)).collect();
        let expected = [
            ("openat", "record.faying.new", 1),
            ("pwrite64", "record.faying.new", 1),
            ("pwrite64", "record.faying-wal", 1),
            ("fsync", "", 1),
            ("pwrite64", "record.faying.new", 2),
            ("rename", "record.faying.new", 1),
        ];
        assert_eq!(steps, expected.map(|(call, file, nth)| (call.to_owned(), file.to_owned(), nth)));
    }
}

/// A file that died inside a change is taken for ours by its marks only: nobody else's is cleaned up.
#[test]
fn a_file_of_another_program_that_died_in_a_change_is_left_alone() {
    let (source, folder) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (from, path) = (record(source.path()), record(folder.path()));
    let other = rusqlite::Connection::open(&from).unwrap();
    // So small a memory that the change reaches the file before it is finished, its journal synced first.
    other
        .execute_batch(
            "PRAGMA cache_size = 1; CREATE TABLE t (a); INSERT INTO t VALUES (zeroblob(50000));
             BEGIN; UPDATE t SET a = randomblob(50000); INSERT INTO t VALUES (zeroblob(50000));",
        )
        .unwrap();
    let both = ["", "-journal"].map(|behind| format!("record.faying{behind}"));
    for name in &both {
        std::fs::copy(source.path().join(name), folder.path().join(name)).unwrap();
    }
    let held = || both.each_ref().map(|name| std::fs::read(folder.path().join(name)).unwrap());
    let before = held();
    let error = Ledger::open(&path, SINCE).unwrap_err();
    assert!(matches!(error, LedgerError::NotALedger { .. }), "{error:?}");
    assert!(held() == before, "the files were changed");
    // It was such a file indeed: whoever may write it rolls it back by looking at it.
    let rows = |row: &rusqlite::Row<'_>| row.get::<_, i64>(0);
    let other = rusqlite::Connection::open(&path).unwrap();
    assert_eq!(other.query_row("SELECT count(*) FROM t", [], rows).unwrap(), 1);
    assert!(!folder.path().join(&both[1]).exists());
}

/// One system call that matters, in the order in which they returned.
#[derive(Debug, PartialEq)]
enum Call {
    WriteToJournal,
    SyncJournal,
    Acknowledge(u64),
}

/// Reads what `strace -f -y` wrote; a call that another thread interrupts stands in two lines.
fn calls(trace: &str) -> Vec<Call> {
    let mut begun: std::collections::HashMap<&str, String> = std::collections::HashMap::new();
    let mut calls = Vec::new();
    for line in trace.lines() {
        let (process, rest) = line.split_once(' ').unwrap_or(("", line));
        let rest = rest.trim_start();
        let whole = if let Some(start) = rest.strip_suffix("<unfinished ...>") {
            begun.insert(process, start.to_owned());
            continue;
        } else if let Some((_, end)) = rest.split_once("resumed>") {
            begun.remove(process).unwrap_or_default() + end
        } else {
            rest.to_owned()
        };
        let journal = whole.contains("record.faying-wal>");
        let name = whole.split('(').next().unwrap_or_default();
        match name {
            "pwrite64" | "write" if journal => calls.push(Call::WriteToJournal),
            "fsync" | "fdatasync" if journal => {
                assert!(whole.contains("= 0"), "a sync failed: {whole}");
                calls.push(Call::SyncJournal);
            }
            "write" => {
                let said = whole.split("\"ack ").nth(1).and_then(|rest| rest.split("\\n").next());
                calls.extend(said.and_then(|seq| seq.parse().ok()).map(Call::Acknowledge));
            }
            _ => {}
        }
    }
    calls
}

/// The acknowledgements before which something written to the journal was not synced.
fn acknowledged_too_early(calls: &[Call]) -> Vec<u64> {
    let mut early = Vec::new();
    // Nothing written counts as not synced: the rows must have gone somewhere.
    let mut synced = false;
    for call in calls {
        match call {
            Call::WriteToJournal => synced = false,
            Call::SyncJournal => synced = true,
            Call::Acknowledge(seq) => {
                if !synced {
                    early.push(*seq);
                }
                synced = false;
            }
        }
    }
    early
}

/// Runs the child under strace and returns the calls that matter.
#[cfg(target_os = "linux")]
fn traced(no_sync: bool) -> Vec<Call> {
    let folder = tempfile::tempdir().unwrap();
    drop(Ledger::create(&record(folder.path()), SINCE).unwrap());
    let trace = folder.path().join("trace");
    let child = command(folder.path(), 20);
    let mut strace = Command::new("strace");
    strace
        .args(["-f", "-y", "-e", "trace=fsync,fdatasync,pwrite64,write", "-o"])
        .arg(&trace)
        .arg(child.get_program())
        .args(child.get_args())
        .env(FOLDER, folder.path())
        .env(CALLS, "20")
        .stdout(Stdio::null());
    if no_sync {
        strace.env(NO_SYNC, "1");
    }
    let status = match strace.status() {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            panic!("strace is not installed: apt-get install strace")
        }
        status => status.unwrap(),
    };
    assert!(status.success(), "strace or the child failed: {status}");
    calls(&std::fs::read_to_string(&trace).unwrap())
}

#[cfg(target_os = "linux")]
#[test]
fn rows_are_synced_before_they_are_acknowledged() {
    let expected: Vec<u64> = (1..=20).map(|call| call * TOGETHER).collect();
    let acknowledged = |calls: &[Call]| -> Vec<u64> {
        calls
            .iter()
            .filter_map(|call| if let Call::Acknowledge(seq) = call { Some(*seq) } else { None })
            .collect()
    };
    let with_sync = traced(false);
    assert_eq!(acknowledged(&with_sync), expected, "the trace does not show the acknowledgements");
    assert_eq!(acknowledged_too_early(&with_sync), [], "{with_sync:?}");

    // The control: without syncing the same look must find every one of them too early.
    let without = traced(true);
    assert_eq!(acknowledged(&without), expected);
    assert_eq!(acknowledged_too_early(&without), expected);
}

#[test]
fn the_look_at_a_trace_sees_what_is_wrong() {
    let trace = "\
10 pwrite64(5</x/record.faying-wal>, \"..\", 4096, 32) = 4096
10 fdatasync(5</x/record.faying-wal> <unfinished ...>
11 write(1</dev/null>, \"ack 1\\n\", 6) = 6
10 <... fdatasync resumed>) = 0
11 write(1</dev/null>, \"ack 2\\n\", 6) = 6
10 pwrite64(5</x/record.faying-wal>, \"..\", 4096, 32) = 4096
10 fdatasync(4</x/record.faying>) = 0
11 write(1</dev/null>, \"ack 3\\n\", 6) = 6
";
    use Call::{Acknowledge, SyncJournal, WriteToJournal};
    let calls = calls(trace);
    assert_eq!(
        calls,
        [WriteToJournal, Acknowledge(1), SyncJournal, Acknowledge(2), WriteToJournal, Acknowledge(3)]
    );
    assert_eq!(acknowledged_too_early(&calls), [1, 3]);
}
