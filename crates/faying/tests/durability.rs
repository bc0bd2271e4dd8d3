//! What the server answered "taken" is in the record, whenever it dies.
//!
//! The server is killed at every system call on its journal and as it answers,
//! and fifty times at random under load, which finds what nobody thought of;
//! what comes about by luck is not counted. No kill shows that the rows were on
//! the disk and not only with the system. The order of system calls, seen with
//! strace, shows that; the same look at a server that does not sync is its control.

#![allow(clippy::unwrap_used, reason = "a test may fail")]
#![cfg(unix)]

mod common;
#[cfg(target_os = "linux")]
#[path = "../../ledger/tests/common/steps.rs"]
mod steps;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;
use std::sync::Mutex;
use std::thread::ScopedJoinHandle;
use std::time::{Duration, Instant};

use common::{Server, acts, build, faying_in, program};
use faying_build::room::HoleStatus;
use faying_build::{Build, Folder, verify};
use serde_json::{Value, json};

const PLAN: &str = "format = 1\nid = \"tab\"\n[rows]\nA = { count = 9000, called = \"MS20470AD4-4\" }\n";

fn set(id: &str, hole: &str) -> Value {
    json!({ "kind": "set", "id": id, "holes": [hole] })
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

/// Sends acts of its own, some alone and some in threes, until the server is gone; notes what was answered.
fn device(port: u16, round: u32, number: u32, taken: &Mutex<BTreeMap<String, String>>) {
    for turn in 0_u32.. {
        let count = if turn % 4 == 3 { 3 } else { 1 };
        let batch: Vec<(String, String)> = (0..count)
            .map(|place| {
                let hole = 1 + (round * 180 + number * 60 + (turn * 3 + place) % 60) % 9000;
                (format!("{round}-{number}-{turn}-{place}"), format!("tab/A/{hole}"))
            })
            .collect();
        let sent: Vec<Value> = batch.iter().map(|(id, hole)| set(id, hole)).collect();
        let Ok(answers) = acts(port, &sent) else { return };
        let mut taken = taken.lock().unwrap();
        for answer in answers["answers"].as_array().unwrap() {
            if answer["answer"] == "taken" {
                let id = answer["id"].as_str().unwrap();
                let (_, hole) = batch.iter().find(|(sent, _)| sent == id).unwrap();
                taken.insert(id.to_owned(), hole.clone());
            }
        }
    }
}

#[test]
fn fifty_kills_lose_no_answered_act() {
    use std::os::unix::process::ExitStatusExt;
    let folder = build(PLAN);
    let kit = folder.path().join("kit");
    let taken: Mutex<BTreeMap<String, String>> = Mutex::default();
    let mut dice = Dice(20_261_125);
    let mut killed = 0;
    for round in 0..50_u32 {
        let mut server = Server::start(&kit, &[]);
        let port = server.port;
        let before = taken.lock().unwrap().len();
        std::thread::scope(|scope| {
            let taken = &taken;
            let devices: Vec<_> =
                (0..3).map(|number| scope.spawn(move || device(port, round, number, taken))).collect();
            // Every tenth dies before it has answered anything, the others somewhere under load.
            let least = if round % 10 == 9 { 0 } else { 1 + dice.below(12) as usize };
            while taken.lock().unwrap().len() < before + least {
                // A device goes on as long as the server does; the scope waits for them all.
                if devices.iter().all(ScopedJoinHandle::is_finished) {
                    let _ = server.child.kill();
                    panic!("round {round}: no device is answered any more");
                }
                std::thread::yield_now();
            }
            let linger = Duration::from_micros(dice.below(4_000));
            let start = Instant::now();
            while start.elapsed() < linger {
                std::hint::spin_loop();
            }
            server.child.kill().unwrap();
            killed += u32::from(server.child.wait().unwrap().signal() == Some(9));
        });
        let taken = taken.lock().unwrap();
        let world = Build::read(&kit).unwrap();
        for (id, hole) in taken.iter() {
            assert!(
                world.state.act_with_id(id).is_some(),
                "round {round}: {id} was answered and is not held"
            );
            let hole = world.plan().hole_named(hole).unwrap();
            assert_eq!(world.state.status(hole), HoleStatus::Set);
        }
    }
    assert_eq!(killed, 50, "servers that had ended before they were killed prove nothing");
    let taken = taken.into_inner().unwrap();
    let report = verify(&Folder::open(&kit).unwrap()).unwrap();
    assert_eq!(report.faults, 0, "{:?}", report.lines);
    assert_eq!(faying_in(folder.path(), &["verify", "kit"]).code, 0);

    // A device that heard nothing sends again: each is had or taken, and none counts twice.
    let server = Server::start(&kit, &[]);
    let again: Vec<Value> = taken.iter().take(20).map(|(id, hole)| set(id, hole)).collect();
    let answers = acts(server.port, &again).unwrap();
    assert!(
        answers["answers"].as_array().unwrap().iter().all(|answer| answer["answer"] == "had-it"),
        "{answers}"
    );
}

/// Killing the server at chosen calls of its own.
#[cfg(target_os = "linux")]
mod at_every_step {
    use super::steps::{Look, Step};
    use super::*;

    const JOURNAL: &str = "record.faying-wal";

    /// Acts and their holes, in the order in which they are sent.
    const ACTS: [(&str, &str); 3] = [("one", "tab/A/2"), ("two", "tab/A/3"), ("three", "tab/A/4")];

    fn sent(acts: &[(&str, &str)]) -> Vec<Value> {
        acts.iter().map(|(id, hole)| set(id, hole)).collect()
    }

    /// A folder with `crashed`, a build as a killed server leaves it: its first act stands in the journal only.
    fn after_a_crash() -> tempfile::TempDir {
        let folder = build(PLAN);
        let kit = folder.path().join("kit");
        let server = Server::start(&kit, &[]);
        let answers = acts(server.port, &[set("zero", "tab/A/1")]).unwrap();
        assert_eq!(answers["answers"][0]["answer"], "taken", "{answers}");
        drop(server);
        assert!(kit.join(JOURNAL).metadata().unwrap().len() > 0);
        std::fs::rename(kit, folder.path().join("crashed")).unwrap();
        folder
    }

    fn copy(from: &Path, to: &Path) {
        std::fs::create_dir_all(to).unwrap();
        for entry in std::fs::read_dir(from).unwrap() {
            let entry = entry.unwrap();
            if entry.file_type().unwrap().is_dir() {
                copy(&entry.path(), &to.join(entry.file_name()));
            } else {
                std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
            }
        }
    }

    /// What became of a server.
    #[derive(Debug, PartialEq)]
    struct End {
        /// How many acts it answered.
        answered: usize,
        killed: bool,
    }

    /// Serves the crashed build, always in the same place, because a copy elsewhere is another
    /// writer; sends requests of so many acts until one is not answered. A server that answered
    /// them all is ended as by Ctrl-C.
    fn serve(folder: &Path, at_a_time: usize, strace: impl Fn(&Command) -> Command) -> End {
        use std::os::unix::process::ExitStatusExt;
        let kit = folder.join("kit");
        if kit.exists() {
            std::fs::remove_dir_all(&kit).unwrap();
        }
        copy(&folder.join("crashed"), &kit);
        let mut command = Command::new(program());
        command.arg("serve").arg(&kit).args(["--port", "0"]);
        let mut server = Server::of(strace(&command));
        let mut answered = 0;
        for request in ACTS.chunks(at_a_time) {
            let Ok(answers) = acts(server.port, &sent(request)) else { break };
            let answers = answers["answers"].as_array().unwrap();
            assert!(answers.iter().all(|answer| answer["answer"] == "taken"), "{answers:?}");
            answered += answers.len();
        }
        if answered == ACTS.len() {
            interrupt(&server, &kit);
        }
        let status = server.child.wait().unwrap();
        let killed = status.signal() == Some(9);
        assert!(killed || status.success(), "{status}");
        End { answered, killed }
    }

    /// How many acts are held after an end: the first ones, and every one that was answered.
    /// Sent again, each counts once.
    fn held(folder: &Path, end: &End, at: &str) -> usize {
        let kit = folder.join("kit");
        let world = Build::read(&kit).unwrap();
        let is_held = |id: &str| world.state.act_with_id(id).is_some();
        assert!(is_held("zero"), "{at}");
        let held = ACTS.iter().take_while(|(id, _)| is_held(id)).count();
        assert!(held >= end.answered, "{at}: {} answered, {held} held", end.answered);
        assert!(
            !ACTS[held..].iter().any(|(id, _)| is_held(id)),
            "{at}: one is held and one before it is not"
        );
        let report = verify(&Folder::open(&kit).unwrap()).unwrap();
        assert_eq!(report.faults, 0, "{at}: {:?}", report.lines);

        let server = Server::start(&kit, &[]);
        let answers = acts(server.port, &sent(&ACTS)).unwrap();
        for (number, answer) in answers["answers"].as_array().unwrap().iter().enumerate() {
            assert_eq!(answer["answer"], if number < held { "had-it" } else { "taken" }, "{at}: {answers}");
        }
        drop(server);
        let world = Build::read(&kit).unwrap();
        for (id, hole) in ACTS {
            assert_eq!(world.state.acts().iter().filter(|act| act.id == id).count(), 1, "{at}: {id}");
            assert_eq!(world.state.status(world.plan().hole_named(hole).unwrap()), HoleStatus::Set, "{at}");
        }
        held
    }

    #[test]
    fn a_kill_at_any_call_on_the_journal_loses_no_answered_act() {
        let folder = after_a_crash();
        let look = Look::at(&folder.path().join("kit"), &[JOURNAL], folder.path());
        // One act at a time: several of one request may come into one transaction or into two.
        let run = |death: Option<&Step>| {
            let end = serve(folder.path(), 1, |command| look.command(command, death));
            (end, look.steps())
        };
        let (end, steps) = run(None);
        assert_eq!(end, End { answered: ACTS.len(), killed: false });
        assert_eq!(held(folder.path(), &end, "to the end"), ACTS.len());

        let mut reached = Vec::new();
        for (at, step) in steps.iter().enumerate() {
            // The journal is opened before the server says that it serves.
            if step.call.starts_with("open") {
                continue;
            }
            let (end, taken) = run(Some(step));
            let at_step = format!("step {at}, {step:?}");
            assert!(end.killed, "{at_step}");
            // The same way up to here: so each step is one of those listed, and none is left out.
            assert_eq!(taken, steps[..=at], "{at_step}");
            reached.push((held(folder.path(), &end, &at_step), end.answered));
        }
        // From nothing to everything, and no way back; each act was for a moment held and not answered.
        assert!(reached.is_sorted(), "{reached:?}");
        reached.dedup();
        assert_eq!(reached, [(0, 0), (1, 0), (1, 1), (2, 1), (2, 2), (3, 2), (3, 3)]);
    }

    #[test]
    fn a_kill_before_the_answer_leaves_the_acts_held() {
        let folder = after_a_crash();
        let end = serve(folder.path(), ACTS.len(), |command| {
            let mut strace = Command::new("strace");
            // Nothing else goes to a socket before the first answer.
            let answers = "writev,sendto,sendmsg";
            strace.args(["-f", "-e", &format!("trace={answers}")]);
            strace.args(["-e", &format!("inject={answers}:signal=SIGKILL:when=1"), "-o"]);
            strace.arg(folder.path().join("trace")).arg(command.get_program()).args(command.get_args());
            strace
        });
        assert_eq!(end, End { answered: 0, killed: true });
        assert_eq!(held(folder.path(), &end, "at the answer"), ACTS.len());
    }
}

/// A system call that matters, in the order in which they returned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Call {
    WriteToJournal,
    SyncJournal,
    /// An answer that says "taken" goes to the socket.
    Answer,
}

/// Reads what `strace -f -y` wrote; a call that another thread interrupts stands in two lines.
fn calls(trace: &str) -> Vec<Call> {
    let mut begun: BTreeMap<&str, String> = BTreeMap::new();
    let mut calls = Vec::new();
    for line in trace.lines() {
        let (process, rest) = line.split_once(' ').unwrap_or(("", line));
        let rest = rest.trim_start();
        // An answer is out of our hands when its call begins; a sync counts when it has ended.
        let answers = |text: &str| {
            let name = text.split('(').next().unwrap_or_default();
            matches!(name, "write" | "writev" | "sendto" | "sendmsg") && text.contains("\\\"taken\\\"")
        };
        let whole = if let Some(start) = rest.strip_suffix("<unfinished ...>") {
            if answers(start) {
                calls.push(Call::Answer);
            }
            begun.insert(process, start.to_owned());
            continue;
        } else if let Some((_, end)) = rest.split_once("resumed>") {
            let start = begun.remove(process).unwrap_or_default();
            if answers(&start) {
                continue;
            }
            start + end
        } else {
            rest.to_owned()
        };
        let journal = whole.contains("record.faying-wal>");
        match whole.split('(').next().unwrap_or_default() {
            "pwrite64" | "write" if journal => calls.push(Call::WriteToJournal),
            "fsync" | "fdatasync" if journal => {
                assert!(whole.contains("= 0"), "a sync failed: {whole}");
                calls.push(Call::SyncJournal);
            }
            _ if answers(&whole) => calls.push(Call::Answer),
            _ => {}
        }
    }
    calls
}

/// How many answers there were, and how many before what they answer was synced.
fn answered_too_early(calls: &[Call]) -> (usize, usize) {
    let (mut answered, mut early) = (0, 0);
    // Nothing written counts as not synced: the rows must have gone somewhere.
    let mut synced = false;
    for call in calls {
        match call {
            Call::WriteToJournal => synced = false,
            Call::SyncJournal => synced = true,
            Call::Answer => {
                answered += 1;
                early += usize::from(!synced);
                synced = false;
            }
        }
    }
    (answered, early)
}

/// Serves a build under strace, sends acts one after the other, and gives the calls that matter.
#[cfg(target_os = "linux")]
fn traced(count: u32, extra: &[&str]) -> Vec<Call> {
    let folder = build(PLAN);
    let kit = folder.path().join("kit");
    let trace = folder.path().join("trace");
    let mut strace = Command::new("strace");
    strace
        .args([
            "-f",
            "-y",
            "-s",
            "2000",
            "-e",
            "trace=fsync,fdatasync,pwrite64,write,writev,sendto,sendmsg",
            "-o",
        ])
        .arg(&trace)
        .arg(program())
        .arg("serve")
        .arg(&kit)
        .args(["--port", "0"])
        .args(extra);
    if let Err(error) = Command::new("strace").arg("-V").output() {
        panic!("strace is not installed ({error}): apt-get install strace");
    }
    let mut server = Server::of(strace);
    for number in 1..=count {
        let answers =
            acts(server.port, &[set(&format!("act-{number}"), &format!("tab/A/{number}"))]).unwrap();
        assert_eq!(answers["answers"][0]["answer"], "taken", "{answers}");
    }
    end_gently(&mut server, &kit);
    calls(&std::fs::read_to_string(&trace).unwrap())
}

/// Ends the traced server as Ctrl-C does, so that strace writes everything down.
#[cfg(target_os = "linux")]
fn end_gently(server: &mut Server, kit: &Path) {
    interrupt(server, kit);
    assert!(server.child.wait().unwrap().success());
}

/// Ctrl-C for the traced server.
#[cfg(target_os = "linux")]
fn interrupt(server: &Server, kit: &Path) {
    // The server's own number stands in its lock file; it is a child of the strace started here.
    let lock = std::fs::read_to_string(kit.join("record.faying.lock")).unwrap();
    let children =
        std::fs::read_to_string(format!("/proc/{0}/task/{0}/children", server.child.id())).unwrap();
    let traced: BTreeSet<&str> = children.split_whitespace().collect();
    let process = lock
        .split(|c: char| !c.is_ascii_digit())
        .find(|number| traced.contains(number))
        .unwrap_or_else(|| panic!("{lock:?} names none of {children:?}"));
    // The shell's own `kill`: a bare Debian has no program of that name.
    assert!(Command::new("sh").args(["-c", &format!("kill -INT {process}")]).status().unwrap().success());
}

#[cfg(target_os = "linux")]
#[test]
fn an_answer_leaves_after_the_disk_has_the_act() {
    let with_sync = traced(15, &[]);
    assert_eq!(answered_too_early(&with_sync), (15, 0), "{with_sync:?}");
    // The control: without syncing the same look must find every one of them too early.
    let without = traced(15, &["--without-sync"]);
    assert_eq!(answered_too_early(&without), (15, 15), "{without:?}");
}

#[test]
fn the_look_at_a_trace_sees_what_is_wrong() {
    let trace = r#"
10 pwrite64(5</x/record.faying-wal>, "..", 4096, 32) = 4096
10 fdatasync(5</x/record.faying-wal> <unfinished ...>
11 sendto(9<socket:[1]>, "HTTP {\"answer\":\"taken\"}", 6 <unfinished ...>
10 <... fdatasync resumed>) = 0
11 <... sendto resumed>, MSG_NOSIGNAL, NULL, 0) = 6
11 writev(9<socket:[1]>, [{iov_base="{\"answer\":\"taken\"}", iov_len=6}], 1) = 6
10 pwrite64(5</x/record.faying-wal>, "..", 4096, 32) = 4096
10 fdatasync(4</x/record.faying>) = 0
11 sendto(9<socket:[1]>, "HTTP {\"answer\":\"refused\"}", 6, MSG_NOSIGNAL, NULL, 0) = 6
11 sendto(9<socket:[1]>, "HTTP {\"answer\":\"taken\"}", 6, MSG_NOSIGNAL, NULL, 0) = 6
"#;
    use Call::{Answer, SyncJournal, WriteToJournal};
    let calls = calls(trace);
    assert_eq!(calls, [WriteToJournal, Answer, SyncJournal, Answer, WriteToJournal, Answer]);
    assert_eq!(answered_too_early(&calls), (3, 2));
}
