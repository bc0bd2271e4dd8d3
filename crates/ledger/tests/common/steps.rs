//! Death at a chosen system call, by strace.
//!
//! A program is run once to its end, and the calls it makes on the files looked
//! at are written down. Then it is run again for each of them and killed as it
//! enters that call, which is not carried out any more. No clock and no luck:
//! every state that these calls leave on the disk comes about once.
//!
//! A call that is cut in its middle is not among them; a killed process leaves
//! a write to a local file whole or not begun.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail where it stands")]
#![allow(dead_code, reason = "each test file uses its own part")]

use std::collections::HashMap;
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// The calls that make, change, sync or remove a file. Those with `?` are not known on every processor.
const CALLS: &str = "?open,openat,?creat,write,writev,pwrite64,pwritev,ftruncate,fallocate,fsync,fdatasync,\
    ?rename,?renameat,renameat2,?link,linkat,?unlink,unlinkat,?mkdir,mkdirat";

/// One call on one of the files.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// Its name, as `pwrite64`.
    pub call: String,
    /// The first file it names, without the folder; empty for the folder itself.
    pub file: String,
    /// How many calls of this name its thread has made on the files, this one counted; from 1.
    pub nth: usize,
}

/// Where one program is looked at: a folder and the files in it.
pub struct Look {
    folder: PathBuf,
    trace: PathBuf,
    files: &'static [&'static str],
}

impl Look {
    /// Looks at `files` in `folder`; an empty name is the folder itself. The trace is written into `beside`.
    ///
    /// Neither the folder nor the files need be there yet.
    pub fn at(folder: &Path, files: &'static [&'static str], beside: &Path) -> Self {
        // Opened files are traced by their real names.
        let parent = folder.parent().expect("a folder in another").canonicalize().unwrap();
        let folder = parent.join(folder.file_name().expect("a folder with a name"));
        Self { folder, trace: beside.join("trace"), files }
    }

    /// The command under strace; with `death` it is killed as it enters that call.
    pub fn command(&self, command: &Command, death: Option<&Step>) -> Command {
        let mut strace = Command::new("strace");
        strace.args(["-f", "-y", "-e", &format!("trace={CALLS}"), "-o"]).arg(&self.trace);
        // Only calls on these are counted, so that what the threads do elsewhere moves no number.
        for file in self.files {
            let path = if file.is_empty() { self.folder.clone() } else { self.folder.join(file) };
            strace.arg("-P").arg(path);
        }
        if let Some(step) = death {
            strace.args(["-e", &format!("inject={}:signal=SIGKILL:when={}", step.call, step.nth)]);
        }
        strace.arg(command.get_program()).args(command.get_args());
        for (name, value) in command.get_envs() {
            match value {
                Some(value) => strace.env(name, value),
                None => strace.env_remove(name),
            };
        }
        strace.stdin(Stdio::null());
        strace
    }

    /// Runs the command to its end or its death.
    pub fn run(&self, command: &Command, death: Option<&Step>) -> Output {
        match self.command(command, death).output() {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                panic!("strace is not installed: apt-get install strace")
            }
            output => output.unwrap(),
        }
    }

    /// The calls of the last run, in the order in which they began.
    pub fn steps(&self) -> Vec<Step> {
        steps(&std::fs::read_to_string(&self.trace).unwrap(), &self.folder.display().to_string())
    }
}

/// Whether a run was killed. strace ends as the program did that it ran.
pub fn died(output: &Output) -> bool {
    output.status.signal() == Some(9)
}

/// Reads what `strace -f -y` wrote about a folder.
pub fn steps(trace: &str, folder: &str) -> Vec<Step> {
    let mut made: HashMap<(&str, &str), usize> = HashMap::new();
    let mut steps = Vec::new();
    for line in trace.lines() {
        let (thread, rest) = line.split_once(' ').unwrap_or(("", line));
        // A call that another thread interrupts stands in two lines; the first one counts.
        let rest = rest.trim_start();
        if rest.starts_with(['+', '-', '<']) {
            continue;
        }
        let Some((call, arguments)) = rest.split_once('(') else { continue };
        let behind = arguments.split_once(folder).map_or("", |(_, behind)| behind);
        let file = behind.split(['"', '>']).next().unwrap_or_default().trim_start_matches('/');
        let nth = made.entry((thread, call)).or_default();
        *nth += 1;
        steps.push(Step { call: call.to_owned(), file: file.to_owned(), nth: *nth });
    }
    steps
}
