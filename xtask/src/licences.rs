//! Licences and sources of every dependency, by the lists in deny.toml.
//!
//! cargo-deny takes long to build, so it is optional; the two rules that
//! matter most are held here as well, with the same file: every licence is on
//! the list, and every package comes from crates.io. An expression is read as
//! SPDX writes it, and the old `/` as OR.

use std::collections::BTreeSet;

use cargo_metadata::MetadataCommand;

use crate::Outcome;
use crate::shell::{Fault, answer, cargo, run, say, top};

/// Whether a source, as cargo writes it into a lock file, is the registry of crates.io.
fn is_crates_io(source: &str) -> bool {
    source.starts_with("registry+") && source.ends_with("/crates.io-index")
}

/// Our own rules, then cargo-deny's if it is installed.
pub fn check() -> Result<Outcome, Fault> {
    let found = unlisted()?;
    if !found.is_empty() {
        return Err(Fault::new(
            found.join("\n"),
            "use another crate; add a licence to deny.toml only if it lets a binary be given away",
        ));
    }
    say("every dependency comes from crates.io under a licence of deny.toml's list");
    if answer(cargo().args(["deny", "--version"])).is_none() {
        return Ok(Outcome::LeftOut(
            "duplicates of one crate (cargo-deny is not installed: cargo install --locked cargo-deny)".into(),
        ));
    }
    run(
        cargo().args(["deny", "check", "licenses", "bans", "sources"]),
        "deny.toml says what is allowed and why",
    )?;
    Ok(Outcome::Passed)
}

fn unlisted() -> Result<Vec<String>, Fault> {
    let allowed = allowed()?;
    let metadata =
        MetadataCommand::new().current_dir(top()).other_options(["--locked".to_owned()]).exec().map_err(
            |error| {
                Fault::new(format!("cargo metadata: {error}"), "run: cargo check, then commit Cargo.lock")
            },
        )?;
    let own: BTreeSet<_> = metadata.workspace_members.iter().collect();
    let mut found = Vec::new();
    for package in metadata.packages.iter().filter(|package| !own.contains(&package.id)) {
        let name = format!("{} {}", package.name, package.version);
        match &package.license {
            None => found.push(format!("{name} names no licence")),
            Some(expression) => match satisfied(expression, &allowed) {
                None => found.push(format!("{name}: the licence {expression:?} cannot be read")),
                Some(false) => found.push(format!("{name}: the licence {expression:?} is not on the list")),
                Some(true) => {}
            },
        }
        match &package.source {
            Some(source) if is_crates_io(&source.repr) => {}
            source => found.push(format!(
                "{name} comes from {}",
                source.as_ref().map_or("a folder outside the workspace", |source| &source.repr)
            )),
        }
    }
    Ok(found)
}

fn allowed() -> Result<BTreeSet<String>, Fault> {
    let fault = |what: String| Fault::new(what, "deny.toml needs [licenses] with a list \"allow\"");
    let text = std::fs::read_to_string(top().join("deny.toml")).map_err(|error| fault(error.to_string()))?;
    let table: toml::Table = text.parse().map_err(|error| fault(format!("deny.toml: {error}")))?;
    let list =
        table.get("licenses").and_then(|licenses| licenses.get("allow")).and_then(toml::Value::as_array);
    let list = list.ok_or_else(|| fault("deny.toml has no list of licences".into()))?;
    Ok(list.iter().filter_map(|licence| Some(licence.as_str()?.to_owned())).collect())
}

/// May a package under this SPDX expression be used? Nothing if it cannot be read.
fn satisfied(expression: &str, allowed: &BTreeSet<String>) -> Option<bool> {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let mut words = spaced.split_whitespace().peekable();
    let answer = any(&mut words, allowed)?;
    words.next().is_none().then_some(answer)
}

type Words<'a> = std::iter::Peekable<std::str::SplitWhitespace<'a>>;

/// `a OR b`, which binds loosest.
fn any(words: &mut Words<'_>, allowed: &BTreeSet<String>) -> Option<bool> {
    let mut answer = all(words, allowed)?;
    while words.next_if_eq(&"OR").is_some() {
        answer |= all(words, allowed)?;
    }
    Some(answer)
}

/// `a AND b`.
fn all(words: &mut Words<'_>, allowed: &BTreeSet<String>) -> Option<bool> {
    let mut answer = one(words, allowed)?;
    while words.next_if_eq(&"AND").is_some() {
        answer &= one(words, allowed)?;
    }
    Some(answer)
}

/// A licence, one with an exception, or an expression in brackets.
fn one(words: &mut Words<'_>, allowed: &BTreeSet<String>) -> Option<bool> {
    match words.next()? {
        "(" => {
            let answer = any(words, allowed)?;
            (words.next()? == ")").then_some(answer)
        }
        ")" | "OR" | "AND" | "WITH" => None,
        licence => {
            // An exception only permits more; it must still be listed as written.
            let whole = match words.next_if_eq(&"WITH") {
                Some(_) => format!("{licence} WITH {}", words.next()?),
                None => licence.to_owned(),
            };
            Some(allowed.contains(&whole))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_expressions() {
        let allowed = BTreeSet::from(["MIT".to_owned(), "Unicode-3.0".to_owned()]);
        let read = |text| satisfied(text, &allowed);
        for yes in
            ["MIT", "GPL-3.0-only OR MIT", "Zlib/MIT", "(MIT OR Zlib) AND Unicode-3.0", "Zlib AND X OR MIT"]
        {
            assert_eq!(read(yes), Some(true), "{yes}");
        }
        for no in ["Zlib", "MIT AND Zlib", "(MIT OR Zlib) AND X", "MIT WITH Some-exception"] {
            assert_eq!(read(no), Some(false), "{no}");
        }
        for unreadable in ["", "MIT OR", "(MIT", "MIT)", "MIT MIT", "AND MIT"] {
            assert_eq!(read(unreadable), None, "{unreadable:?}");
        }
    }
}
