//! Running other programs, and saying what is wrong when one cannot be run.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Why a step failed, and what to do.
#[derive(Debug)]
pub struct Fault {
    /// What was found.
    pub what: String,
    /// The next move.
    pub next: String,
}

impl Fault {
    /// A fault and the next move.
    pub fn new(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { what: what.into(), next: next.into() }
    }
}

/// One line for whoever watches; programs started by a step print to the same place.
#[expect(clippy::print_stdout, reason = "the one place where xtask prints")]
pub fn say(line: &str) {
    println!("{line}");
}

/// The top folder of the repository.
///
/// Cargo says where xtask is when it runs it. What it said when xtask was built
/// may be another clone, if both share one target folder.
pub fn top() -> PathBuf {
    let mut folder = std::env::var_os("CARGO_MANIFEST_DIR")
        .map_or_else(|| env!("CARGO_MANIFEST_DIR").into(), PathBuf::from);
    folder.pop();
    folder
}

/// Where cargo puts what it builds: `CARGO_TARGET_DIR` and cargo's own settings are heeded.
///
/// # Errors
/// If `cargo metadata` cannot read the workspace.
pub fn target() -> Result<PathBuf, Fault> {
    let metadata =
        cargo_metadata::MetadataCommand::new().current_dir(top()).no_deps().exec().map_err(|error| {
            Fault::new(format!("cargo metadata: {error}"), "mend the Cargo.toml it names")
        })?;
    Ok(metadata.target_directory.into_std_path_buf())
}

/// The cargo that runs this program.
pub fn cargo() -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(top());
    command
}

/// A program by name, run from the top folder.
pub fn program(name: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new(name);
    command.current_dir(top());
    command
}

/// Runs `command`, its output shown as it comes.
///
/// # Errors
/// `next` is what to do if it ends with anything but success.
pub fn run(command: &mut Command, next: &str) -> Result<(), Fault> {
    let shown = shown(command);
    say(&format!("$ {shown}"));
    let status = command
        .stdin(Stdio::null())
        .status()
        .map_err(|error| Fault::new(format!("`{shown}` cannot be run: {error}"), next))?;
    if status.success() { Ok(()) } else { Err(Fault::new(format!("`{shown}`: {status}"), next)) }
}

/// What `command` prints, or nothing if it cannot be run or fails: for asking whether a tool is there.
pub fn answer(command: &mut Command) -> Option<String> {
    let output = command.stdin(Stdio::null()).stderr(Stdio::null()).output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

/// A program of this name in PATH.
pub fn which(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).map(|folder| folder.join(name)).find(|file| is_program(file))
}

#[cfg(unix)]
fn is_program(file: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt as _;
    file.metadata().is_ok_and(|about| about.is_file() && about.permissions().mode() & 0o111 != 0)
}

#[cfg(not(unix))]
fn is_program(file: &Path) -> bool {
    file.is_file()
}

/// Is this a run by CI?
pub fn in_ci() -> bool {
    std::env::var_os("CI").is_some_and(|value| !value.is_empty() && value != "false")
}

/// Debian packages whose programs or files are missing, installed if this is Debian and we are root.
///
/// # Errors
/// Says which packages are missing and the command that installs them.
pub fn debian(missing: &[&str]) -> Result<(), Fault> {
    if missing.is_empty() {
        return Ok(());
    }
    let list = missing.join(" ");
    let by_hand = format!("as root: apt-get update && apt-get install --no-install-recommends {list}");
    let root = answer(program("id").arg("-u")).is_some_and(|id| id == "0");
    if which("apt-get").is_none() {
        return Err(Fault::new(
            format!("missing here: {list} (names of Debian packages)"),
            "this is not Debian: install the same programs as your system does, and put them in PATH",
        ));
    }
    if !root {
        return Err(Fault::new(format!("missing here: {list}"), by_hand));
    }
    let apt = || {
        let mut command = program("apt-get");
        command.env("DEBIAN_FRONTEND", "noninteractive").arg("-qq");
        command
    };
    // A new machine knows no package until it has asked once.
    run(apt().arg("update"), "look at the lines above: the machine's list of packages cannot be fetched")?;
    run(apt().args(["install", "--yes", "--no-install-recommends"]).args(missing), &by_hand)
}

/// A command line as it would be typed: programs by name, files from the top folder on.
fn shown(command: &Command) -> String {
    let top = format!("{}/", top().display());
    let program = Path::new(command.get_program());
    std::iter::once(program.file_name().unwrap_or(command.get_program()))
        .chain(command.get_args())
        .map(|word| word.to_string_lossy().replace(&top, ""))
        .collect::<Vec<_>>()
        .join(" ")
}
