//! `people.toml`: who works on the build, what they are to it, and the hours of a week.
//!
//! A build without the file has a builder and the week of the standards, which
//! is a guess and says so.

use std::sync::LazyLock;

use faying_standards::{Cited, Finding, Known, figures};

use crate::draft::{Reader, spoken};
use crate::keys::{self, ROLES};
use crate::tree::{SourceText, Table};

/// The keys of a week's days, Monday first.
pub const DAYS: [&str; 7] = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

/// What somebody is to a build.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Who builds it.
    #[default]
    Builder,
    /// Who lends a hand.
    Helper,
    /// Who looks at it for an authority or an association.
    Inspector,
    /// Who designed the kit.
    Designer,
    /// The authority.
    Authority,
}

impl Role {
    /// All of them, in the order of [`ROLES`].
    pub const ALL: [Self; 5] =
        [Self::Builder, Self::Helper, Self::Inspector, Self::Designer, Self::Authority];

    /// The word by which a file and the record name it.
    #[must_use]
    pub fn word(self) -> &'static str {
        ROLES[self as usize]
    }

    /// The role that a word means.
    #[must_use]
    pub fn read(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }

    /// Whether this person's word may let something pass that is structure.
    #[must_use]
    pub const fn decides_on_structure(self) -> bool {
        matches!(self, Self::Inspector | Self::Designer | Self::Authority)
    }
}

/// Somebody.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// Short name, by which the record names them.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// What they are to this build.
    pub role: Role,
    /// A remark.
    pub note: String,
}

/// Who works on a build, and when.
#[derive(Clone, Debug, PartialEq)]
pub struct People {
    /// Everybody who is named, in file order.
    pub people: Vec<Person>,
    /// Hours at the bench by day of the week, Monday first.
    pub week: [f64; 7],
    /// Where the week comes from.
    pub week_cited: Cited,
}

impl Default for People {
    fn default() -> Self {
        static WEEK: LazyLock<([f64; 7], Cited)> = LazyLock::new(|| {
            let mut week = [0.0; 7];
            for (day, hours) in [(1, "week-tuesday"), (3, "week-thursday"), (5, "week-saturday")] {
                week[day] = figures().constant(hours).value;
            }
            (week, figures().constant("week-tuesday").cited.clone())
        });
        Self { people: Vec::new(), week: WEEK.0, week_cited: WEEK.1.clone() }
    }
}

impl People {
    /// Hours of a week.
    #[must_use]
    pub fn hours_a_week(&self) -> f64 {
        self.week.iter().sum()
    }
}

/// Reads `people.toml`.
pub(crate) fn read_people(files: &[SourceText], file: u16, table: &Table) -> (People, Vec<Finding>) {
    let mut reader = Reader::new(files);
    reader.check_keys(table, &keys::PEOPLE);
    reader.head_of_file(file, table, &keys::PEOPLE);
    let mut people = People::default();
    for (name, table) in reader.named(table, "people", "a person") {
        reader.check_keys(table, &keys::PERSON);
        let role = reader.word(table, "role", ROLES).and_then(Role::read);
        if table.get("role").is_none() {
            let what = format!("{} has no role", name.value);
            let next = format!("write role = \"{}\" or another of {}", ROLES[0], ROLES.join(", "));
            reader.look(name.spot, "person", what, next);
        }
        people.people.push(Person {
            title: reader.text(table, "title").unwrap_or_else(|| spoken(&name.value)),
            role: role.unwrap_or_default(),
            note: reader.text(table, "note").unwrap_or_default(),
            name: name.value,
        });
    }
    if let Some(week) = reader.table(table, "week") {
        reader.check_keys(week, &keys::WEEK);
        people.week = [0.0; 7];
        for (hours, key) in people.week.iter_mut().zip(DAYS) {
            let read = reader.number(week, key).unwrap_or(0.0);
            if read > 24.0 {
                let spot = week.get(key).map_or(table.0[0].key_spot, |node| node.spot);
                let what = format!("{read} hours do not fit into a {key}");
                reader.wrong(spot, "week", what, "write the hours that are worked on that day, such as 2.5");
                continue;
            }
            *hours = read;
        }
        people.week_cited = Cited::new("people.toml", "week", Known::Own);
    }
    (people, reader.findings)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;

    fn people(text: &str) -> (People, Vec<String>) {
        let reading = read(vec![SourceText { name: "people.toml".into(), text: text.into() }]);
        let found = reading.findings.into_iter().map(|it| format!("{}; {}", it.what, it.next)).collect();
        (reading.plan.people, found)
    }

    #[test]
    fn a_build_without_the_file_has_the_week_of_the_standards() {
        let people = read(Vec::new()).plan.people;
        assert_eq!(people.hours_a_week(), 8.0);
        assert_eq!(people.week_cited.known, Known::Memory);
    }

    #[test]
    fn people_and_week_are_read() {
        let (people, found) =
            people("format = 1\n[people.ann]\ntitle = \"Ann\"\nrole = \"inspector\"\n[week]\nfriday = 2.5\n");
        assert!(found.is_empty(), "{found:?}");
        assert_eq!(people.people[0].role, Role::Inspector);
        assert!(people.people[0].role.decides_on_structure());
        assert_eq!(people.week, [0.0, 0.0, 0.0, 0.0, 2.5, 0.0, 0.0]);
    }

    #[test]
    fn slips_are_told() {
        let (_, found) = people("format = 1\n[people.ann]\nrole = \"inspecter\"\n[week]\nfriday = 25\n");
        assert_eq!(
            found,
            [
                "\"role\" cannot be \"inspecter\"; did you mean \"inspector\"?",
                "25 hours do not fit into a friday; write the hours that are worked on that day, such as 2.5",
            ]
        );
    }
}
