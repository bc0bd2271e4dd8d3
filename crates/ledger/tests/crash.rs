//! What was acknowledged is there, whenever the process dies.
//!
//! The test program runs itself again as a child that appends rows and writes
//! `ack N` to its standard output after `append` has returned. Killing it at
//! random moments shows that no order of events inside the process loses an
//! acknowledged row. It cannot show that the rows were on the disk and not only
//! with the system; the order of system calls, seen with strace, shows that.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail where it stands")]
#![cfg(unix)]

mod common;

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use common::{SINCE, after, in_order, record, verify};
use faying_ledger::{Ledger, Reader, Row, RowHash};

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
    let (mut acknowledged, mut killed, mut ahead) = (0, 0, 0);
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
        assert_eq!(verify(&ledger).faults, [], "round {round}");
        ahead += u32::from(count > acknowledged);
        acknowledged = count;
    }
    assert_eq!(killed, 50, "children that had ended before they were killed prove nothing");
    assert!(
        acknowledged > 500,
        "only {acknowledged} rows: the children were killed before they did anything"
    );
    // Some kills must have fallen between the commit and its acknowledgement, or they were not random.
    assert!(ahead > 0, "no kill fell inside an append");
    // And the ledger goes on.
    let mut ledger = Ledger::open(&path, SINCE).unwrap();
    let last = in_order(&ledger).pop().unwrap();
    ledger.append(&[after(&last, "after all", b"x")]).unwrap();
    assert_eq!(verify(&ledger).faults, []);
}

#[test]
fn a_kill_while_a_file_is_made_leaves_none_or_a_whole_one() {
    let mut dice = Dice(7);
    let (mut none, mut whole) = (0, 0);
    for round in 0..40 {
        let folder = tempfile::tempdir().unwrap();
        let path = record(folder.path());
        let child = command(folder.path(), 1).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        // Until it has begun: its lock file is the first it makes.
        let start = Instant::now();
        while !folder.path().join("record.faying.lock").exists() {
            assert!(start.elapsed() < Duration::from_secs(60), "the child made no file");
            std::hint::spin_loop();
        }
        // The first ones at once, the later ones later, so that both outcomes come about.
        linger(dice.below(1 + 400 * round));
        kill(child);
        let ledger = if path.exists() {
            whole += 1;
            Ledger::open(&path, SINCE).unwrap()
        } else {
            none += 1;
            Ledger::create(&path, SINCE).unwrap()
        };
        assert_eq!(verify(&ledger).faults, []);
    }
    assert!(none > 0 && whole > 0, "{none} without a file, {whole} with one: the kills missed the making");
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
