//! The steps that only call one tool: formatting, spelling, lints, documentation, tests.

use std::path::Path;

use crate::Outcome;
use crate::shell::{Fault, answer, cargo, debian, in_ci, program, run, say, target, which};

/// The release of typos that is used: a newer one knows other words.
const TYPOS: &str = "1.52.0";

/// `cargo fmt`, checking only.
pub fn fmt() -> Result<Outcome, Fault> {
    component("fmt", "rustfmt")?;
    run(cargo().args(["fmt", "--all", "--check", "--", "--files-with-diff"]), "run: cargo fmt --all")?;
    Ok(Outcome::Passed)
}

/// Clippy over every target of every crate, warnings refused.
pub fn lint() -> Result<Outcome, Fault> {
    component("clippy", "clippy")?;
    let next = "mend what clippy names above; a lint that is wrong here gets #[expect(…, reason = \"…\")]";
    run(cargo().args(["clippy", "--workspace", "--all-targets", "--", "-D", "warnings"]), next)?;
    Ok(Outcome::Passed)
}

/// Rustdoc of our own crates, warnings refused: a broken link is one.
pub fn docs() -> Result<Outcome, Fault> {
    let mut command = cargo();
    command.args(["doc", "--workspace", "--no-deps"]);
    command.env("RUSTDOCFLAGS", "-D warnings");
    run(&mut command, "mend the documentation that rustdoc names above")?;
    Ok(Outcome::Passed)
}

/// Every test, with nextest where it is installed; then the examples in the documentation.
pub fn unit() -> Result<Outcome, Fault> {
    // The order of the record's system calls is looked at with strace, printed pages with poppler.
    let programs = [("strace", "strace"), ("pdftotext", "poppler-utils")];
    let missing: Vec<&str> =
        programs.iter().filter(|(name, _)| which(name).is_none()).map(|(_, package)| *package).collect();
    if !missing.is_empty() {
        debian(&missing)?;
    }
    let next = "mend the test that failed above, or what it tests";
    if answer(cargo().args(["nextest", "--version"])).is_some() {
        let profile = if in_ci() { "ci" } else { "default" };
        run(cargo().args(["nextest", "run", "--workspace", "--profile", profile]), next)?;
    } else {
        say("cargo-nextest is not installed: cargo test runs the same tests, one crate after another");
        run(cargo().args(["test", "--workspace", "--lib", "--bins", "--tests", "--examples"]), next)?;
    }
    // Nextest does not run these.
    run(cargo().args(["test", "--workspace", "--doc"]), next)?;
    Ok(Outcome::Passed)
}

/// Spelling. The checker comes from PyPI, into a folder of its own below the target folder.
pub fn typos() -> Result<Outcome, Fault> {
    let venv = target()?.join("tools").join("typos");
    let binary = venv.join("bin").join("typos");
    let installed = answer(program(&binary).arg("--version"));
    if installed.as_deref() != Some(&format!("typos-cli {TYPOS}"))
        && let Err(fault) = install_typos(&venv)
    {
        return Ok(Outcome::LeftOut(format!("spelling ({}; {})", fault.what, fault.next)));
    }
    let next = "mend the spelling, or give the word to typos.toml if it belongs to the trade";
    run(program(&binary).args(["--config", "typos.toml", "."]), next)?;
    Ok(Outcome::Passed)
}

fn install_typos(venv: &Path) -> Result<(), Fault> {
    if which("python3").is_none() {
        debian(&["python3", "python3-venv"])?;
    }
    let pip = || {
        let next = "typos is not to be had from PyPI just now";
        run(program("python3").args(["-m", "venv", "--clear"]).arg(venv), next)?;
        let mut install = program(venv.join("bin").join("python3"));
        install.args(["-m", "pip", "install", "--quiet", "--only-binary", ":all:"]);
        run(install.arg(format!("typos=={TYPOS}")), next)
    };
    // Debian's own Python comes without what makes a venv.
    pip().or_else(|_| debian(&["python3-venv"]).and_then(|()| pip()))
}

/// A part of the Rust toolchain that a minimal installation lacks.
fn component(subcommand: &str, name: &str) -> Result<(), Fault> {
    match answer(cargo().args([subcommand, "--version"])) {
        Some(_) => Ok(()),
        None => {
            Err(Fault::new(format!("{name} is not installed"), format!("run: rustup component add {name}")))
        }
    }
}
