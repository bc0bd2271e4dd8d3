//! The rooms: ARCHITECTURE.md's table held against what the crates really use.
//!
//! The table stands between two `<!-- rooms -->` lines. Its columns `crate`,
//! `uses` and `pure` are read; the others are for people. `uses` names every
//! room that a crate's Cargo.toml may name among its normal dependencies;
//! tests may use more. xtask is no room.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use cargo_metadata::{DependencyKind, MetadataCommand};

use crate::Outcome;
use crate::shell::{Fault, say, top};

const MARK: &str = "<!-- rooms -->";
/// What the clippy.toml of a pure room must forbid, at the least.
const FORBIDDEN_TYPES: [&str; 7] = [
    "std::fs::File",
    "std::net::TcpStream",
    "std::net::TcpListener",
    "std::net::UdpSocket",
    "std::time::SystemTime",
    "std::time::Instant",
    "std::process::Command",
];
const FORBIDDEN_METHODS: [&str; 6] = [
    "std::fs::read",
    "std::fs::read_to_string",
    "std::fs::write",
    "std::time::SystemTime::now",
    "std::time::Instant::now",
    "std::env::var",
];

/// One room: which it uses, and whether it is pure.
#[derive(Debug, PartialEq, Eq)]
struct Room {
    uses: BTreeSet<String>,
    pure: bool,
}

/// Rooms by name, without the prefix of the packages.
type Rooms = BTreeMap<String, Room>;

/// Holds the table against the workspace.
pub fn check() -> Result<Outcome, Fault> {
    let found = differences(&top())?;
    if found.is_empty() {
        say("every crate keeps to the table of rooms in ARCHITECTURE.md");
        return Ok(Outcome::Passed);
    }
    Err(Fault::new(found.join("\n"), "change the crate; change the table only if the design has changed"))
}

fn differences(top: &Path) -> Result<Vec<String>, Fault> {
    let page = std::fs::read_to_string(top.join("ARCHITECTURE.md")).map_err(|error| {
        Fault::new(
            format!("ARCHITECTURE.md: {error}"),
            format!("write its table of rooms between {MARK} lines"),
        )
    })?;
    let table =
        read_table(&page).map_err(|what| Fault::new(what, "mend the table of rooms in ARCHITECTURE.md"))?;
    let mut found = compare(&table, &used(top)?);
    for (name, _) in table.iter().filter(|(_, room)| room.pure) {
        let text =
            std::fs::read_to_string(top.join("crates").join(name).join("clippy.toml")).unwrap_or_default();
        found.extend(missing_bans(&text).into_iter().map(|ban| {
            format!("{name} is marked pure, but crates/{name}/clippy.toml does not forbid {ban}")
        }));
    }
    Ok(found)
}

/// What each crate's normal dependencies are, rooms only.
fn used(top: &Path) -> Result<BTreeMap<String, BTreeSet<String>>, Fault> {
    let metadata =
        MetadataCommand::new().current_dir(top).no_deps().exec().map_err(|error| {
            Fault::new(format!("cargo metadata: {error}"), "mend the Cargo.toml it names")
        })?;
    let rooms: BTreeSet<&str> = metadata
        .workspace_packages()
        .into_iter()
        .map(|package| package.name.as_str())
        .filter(|name| *name != "xtask")
        .collect();
    Ok(metadata
        .workspace_packages()
        .into_iter()
        .filter(|package| rooms.contains(package.name.as_str()))
        .map(|package| {
            let uses = package
                .dependencies
                .iter()
                .filter(|dependency| dependency.kind == DependencyKind::Normal)
                .filter(|dependency| rooms.contains(dependency.name.as_str()))
                .map(|dependency| short(&dependency.name))
                .collect();
            (short(&package.name), uses)
        })
        .collect())
}

fn short(package: &str) -> String {
    package.strip_prefix("faying-").unwrap_or(package).to_owned()
}

fn compare(table: &Rooms, used: &BTreeMap<String, BTreeSet<String>>) -> Vec<String> {
    let mut found = Vec::new();
    for (name, uses) in used {
        let Some(room) = table.get(name) else {
            found.push(format!("{name} is not in the table"));
            continue;
        };
        found.extend(
            uses.difference(&room.uses)
                .map(|other| format!("{name} uses {other}; the table does not allow it")),
        );
    }
    for (name, room) in table {
        if !used.contains_key(name) {
            found.push(format!("the table has {name}, and there is no such crate"));
        }
        for other in &room.uses {
            match table.get(other) {
                None => found.push(format!("{name} is said to use {other}, which is not in the table")),
                Some(other_room) if room.pure && !other_room.pure => {
                    found.push(format!("{name} is marked pure and may use {other}, which is not"));
                }
                Some(_) => {}
            }
        }
    }
    found
}

fn read_table(page: &str) -> Result<Rooms, String> {
    let mut parts = page.split(MARK);
    let (Some(_), Some(table), Some(_), None) = (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Err(format!("ARCHITECTURE.md must hold {MARK} twice, before and after the table of rooms"));
    };
    let mut lines = table.lines().map(str::trim).filter(|line| line.starts_with('|'));
    let header = cells(lines.next().ok_or("there is no table between the two marks")?);
    let column = |name: &str| {
        header
            .iter()
            .position(|cell| *cell == name)
            .ok_or_else(|| format!("the table has no column {name:?}"))
    };
    let (name_at, uses_at, pure_at) = (column("crate")?, column("uses")?, column("pure")?);
    let mut rooms = Rooms::new();
    // The line under the header is the rule.
    for line in lines.skip(1) {
        let row = cells(line);
        if row.len() != header.len() {
            return Err(format!("this row has {} cells, the header {}: {line}", row.len(), header.len()));
        }
        let name = short(row[name_at].trim_matches('`'));
        let pure = match row[pure_at] {
            "yes" | "pure" => true,
            "no" | "–" | "-" | "" => false,
            other => return Err(format!("{name}: {other:?} in the column \"pure\"; write yes or no")),
        };
        let uses = match row[uses_at] {
            "–" | "-" | "" => BTreeSet::new(),
            list => list.split(',').map(|word| short(word.trim().trim_matches('`'))).collect(),
        };
        if rooms.insert(name.clone(), Room { uses, pure }).is_some() {
            return Err(format!("the table has {name} twice"));
        }
    }
    Ok(rooms)
}

fn cells(line: &str) -> Vec<&str> {
    line.trim_matches('|').split('|').map(str::trim).collect()
}

/// Which of the bans of a pure room this clippy.toml lacks.
fn missing_bans(text: &str) -> Vec<&'static str> {
    let settings: toml::Table = text.parse().unwrap_or_default();
    let banned = |key: &str, path: &str| {
        settings.get(key).and_then(toml::Value::as_array).is_some_and(|list| {
            list.iter().any(|entry| {
                entry.as_str().or_else(|| entry.get("path").and_then(toml::Value::as_str)) == Some(path)
            })
        })
    };
    let types = FORBIDDEN_TYPES.into_iter().filter(|path| !banned("disallowed-types", path));
    let methods = FORBIDDEN_METHODS.into_iter().filter(|path| !banned("disallowed-methods", path));
    types.chain(methods).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: &str = "\
        Words before, with a | in them.\n<!-- rooms -->\n\n\
        | crate | holds | must not | uses | pure |\n\
        |---|---|---|---|---|\n\
        | `standards` | figures | know any other room | – | yes |\n\
        | `plan` | files | open a file | standards | yes |\n\
        | `web` | pages | compute | `plan`, standards | no |\n\
        \n<!-- rooms -->\nafter\n";

    fn uses(list: &[(&str, &[&str])]) -> BTreeMap<String, BTreeSet<String>> {
        list.iter()
            .map(|(name, uses)| ((*name).to_owned(), uses.iter().map(|other| (*other).to_owned()).collect()))
            .collect()
    }

    /// The workspace as it is.
    #[test]
    fn every_crate_keeps_to_the_table() {
        let found = differences(&top()).unwrap_or_else(|fault| vec![fault.what, fault.next]);
        assert!(found.is_empty(), "{}", found.join("\n"));
    }

    #[test]
    fn reads_the_table() {
        let rooms = read_table(PAGE).unwrap();
        assert_eq!(rooms.len(), 3);
        assert_eq!(rooms["standards"], Room { uses: BTreeSet::new(), pure: true });
        assert_eq!(rooms["web"].uses, BTreeSet::from(["plan".to_owned(), "standards".to_owned()]));
        assert!(!rooms["web"].pure);
    }

    #[test]
    fn a_table_that_cannot_be_read_is_said() {
        assert!(read_table("no marks").unwrap_err().contains("twice"));
        assert!(read_table(&PAGE.replace("| uses |", "| use |")).unwrap_err().contains("no column \"uses\""));
        assert!(read_table(&PAGE.replace("| no |", "| maybe |")).unwrap_err().contains("write yes or no"));
        assert!(read_table(&PAGE.replace("`web`", "`plan`")).unwrap_err().contains("plan twice"));
        assert!(read_table(&PAGE.replace("| pages ", "")).unwrap_err().contains("4 cells, the header 5"));
    }

    #[test]
    fn differences_are_found() {
        let table = read_table(PAGE).unwrap();
        let sound = uses(&[("standards", &[]), ("plan", &["standards"]), ("web", &["plan"])]);
        assert_eq!(compare(&table, &sound), Vec::<String>::new());

        let upward = uses(&[("standards", &["plan"]), ("plan", &[]), ("web", &[])]);
        assert_eq!(compare(&table, &upward), ["standards uses plan; the table does not allow it"]);

        let extra = uses(&[("standards", &[]), ("plan", &[]), ("web", &[]), ("shop", &[])]);
        assert_eq!(compare(&table, &extra), ["shop is not in the table"]);

        let gone = uses(&[("standards", &[]), ("plan", &[])]);
        assert_eq!(compare(&table, &gone), ["the table has web, and there is no such crate"]);
    }

    #[test]
    fn a_pure_room_uses_pure_rooms_only() {
        let table = read_table(&PAGE.replace("know any other room | – | yes", "x | – | no")).unwrap();
        let used = uses(&[("standards", &[]), ("plan", &[]), ("web", &[])]);
        assert_eq!(compare(&table, &used), ["plan is marked pure and may use standards, which is not"]);
    }

    #[test]
    fn a_ban_that_is_missing_is_found() {
        assert_eq!(missing_bans("").len(), FORBIDDEN_TYPES.len() + FORBIDDEN_METHODS.len());
        let list = |paths: &[&str]| {
            paths.iter().map(|path| format!("{{ path = \"{path}\", reason = \"r\" }},")).collect::<String>()
        };
        let text = format!(
            "disallowed-types = [{}]\ndisallowed-methods = [{}]",
            list(&FORBIDDEN_TYPES[1..]),
            list(&FORBIDDEN_METHODS)
        );
        assert_eq!(missing_bans(&text), ["std::fs::File"]);
    }
}
