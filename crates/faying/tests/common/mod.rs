//! What the black-box tests share: the program, the demo build in a folder of its own, a server.

#![allow(
    dead_code,
    clippy::unwrap_used,
    reason = "each test file uses its part, and a test may fail where it stands"
)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};
use tempfile::TempDir;

/// How a command ended.
#[derive(Debug)]
pub struct Ended {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ended {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}{}", self.out, self.err))
    }
}

/// The built program.
pub fn program() -> PathBuf {
    assert_cmd::cargo::cargo_bin!("faying").to_owned()
}

/// Runs a command in a folder.
pub fn faying_in(folder: &Path, arguments: &[&str]) -> Ended {
    let output = Command::new(program()).args(arguments).current_dir(folder).output().unwrap();
    Ended {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Runs a command that needs no folder, given as one line.
pub fn faying(line: &str) -> Ended {
    faying_in(Path::new("."), &line.split_whitespace().collect::<Vec<_>>())
}

/// The folder of this workspace.
pub fn workspace() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The demo plan laid out as a build, in a folder `kit` of its own.
pub fn demo() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let plan = folder.path().join("kit/plan");
    std::fs::create_dir_all(&plan).unwrap();
    for entry in std::fs::read_dir(workspace().join("plans/teasel")).unwrap() {
        let file = entry.unwrap().path();
        let name = file.file_name().unwrap();
        if file.extension().is_some_and(|it| it == "toml") {
            let beside = ["limits.toml", "tools.toml", "people.toml", "gates.toml"];
            let to = if beside.iter().any(|it| name == *it) {
                folder.path().join("kit").join(name)
            } else {
                plan.join(name)
            };
            std::fs::copy(&file, to).unwrap();
        }
    }
    folder
}

/// A build with one plan file, in a folder `kit` of its own.
pub fn build(text: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir_all(folder.path().join("kit/plan")).unwrap();
    std::fs::write(folder.path().join("kit/plan/tab.toml"), text).unwrap();
    folder
}

/// Findings of `faying check`, as JSON.
pub fn findings(folder: &Path) -> Vec<Value> {
    let ended = faying_in(folder, &["check", "kit", "--json"]);
    let findings = ended.json()["findings"].as_array().unwrap().clone();
    assert_eq!(ended.code, i32::from(!findings.is_empty()), "{}", ended.err);
    findings
}

/// A running server; it is killed when this goes out of use.
pub struct Server {
    pub child: Child,
    pub port: u16,
    // Held open: a server whose reader has gone away ends with a complaint.
    _out: BufReader<ChildStdout>,
}

impl Server {
    pub fn start(build: &Path, extra: &[&str]) -> Self {
        let mut command = Command::new(program());
        command.arg("serve").arg(build).args(["--port", "0"]).args(extra);
        Self::of(command)
    }

    /// Starts a command that serves, and waits for its port.
    pub fn of(mut command: Command) -> Self {
        let mut child =
            command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let mut line = String::new();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        out.read_line(&mut line).unwrap();
        let port = line
            .split("localhost:")
            .nth(1)
            .and_then(|rest| rest.split_whitespace().next()?.parse().ok())
            .unwrap_or_else(|| panic!("the server said {line:?}"));
        Self { child, port, _out: out }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// One request over a connection of its own, as a program on this machine sends it.
///
/// Gives status and body; an error where the server died meanwhile.
pub fn ask(port: u16, method: &str, path: &str, body: &str) -> std::io::Result<(u16, String)> {
    let mut stream = TcpStream::connect(("127.0.0.1", port))?;
    stream.set_read_timeout(Some(Duration::from_secs(60)))?;
    let request = format!(
        "{method} {path} HTTP/1.1\r\nHost: localhost:{port}\r\nConnection: close\r\n\
         Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.write_all(request.as_bytes())?;
    let mut answer = String::new();
    stream.read_to_string(&mut answer)?;
    let cut = || std::io::Error::from(std::io::ErrorKind::UnexpectedEof);
    let (head, body) = answer.split_once("\r\n\r\n").ok_or_else(cut)?;
    let status = head.split(' ').nth(1).and_then(|code| code.parse().ok()).ok_or_else(cut)?;
    Ok((status, body.to_owned()))
}

/// Sends acts; gives the answers, or an error where none came whole.
pub fn acts(port: u16, acts: &[Value]) -> std::io::Result<Value> {
    let (status, body) = ask(port, "POST", "/acts", &json!({ "acts": acts }).to_string())?;
    assert_eq!(status, 200, "{body}");
    serde_json::from_str(&body).map_err(|_| std::io::Error::from(std::io::ErrorKind::UnexpectedEof))
}
