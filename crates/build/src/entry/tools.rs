//! The tools of a build typed in: `tools.toml` edited as an assembly's file is.
//!
//! A build without the file goes by the starter set; its first edit writes
//! that set with the edit in it. Whether a tool was measured by anybody cannot
//! be seen in a file, only that its words are still those of the starter set.

use std::sync::PoisonError;

use faying_plan::edit::tools::{self as edit, Section};
use faying_plan::{Plan, SourceText};
use faying_standards::{Finding, Unit};

use super::{EntryError, WRITING, Written, all_newly_wrong, mark, write_file};
use crate::start::start_tools;
use crate::writer::Build;

pub use faying_plan::edit::tools::{Field, Input, Listed, OTHER};

/// The file.
const TOOLS_FILE: &str = "tools.toml";

/// Where the tools of a build stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// There is no file: the build goes by the starter set.
    Missing,
    /// The file is the starter set as it came.
    AsItCame,
    /// The builder has written in it.
    Own,
}

/// The tools as a page lists them.
#[derive(Clone, Debug)]
pub struct Listing {
    /// Where they stand.
    pub standing: Standing,
    /// Sections in the order of the file.
    pub sections: Vec<SectionListed>,
    /// What is wrong with the file, if it cannot be edited here.
    pub unreadable: Option<String>,
}

/// A section with what is in it.
#[derive(Clone, Debug)]
pub struct SectionListed {
    /// Its key: `yokes`.
    pub name: &'static str,
    /// One of what it holds: `yoke`.
    pub one: &'static str,
    /// Whether it holds tools by name, rather than values.
    pub of_tools: bool,
    /// What is in it.
    pub entries: Vec<Listed>,
}

/// What a page asks of a tool.
#[derive(Clone, Debug)]
pub struct Form {
    /// The section's key.
    pub section: &'static str,
    /// One of what it holds: `yoke`; what it is about, for a section of values.
    pub one: &'static str,
    /// Whether the section holds tools by name.
    pub of_tools: bool,
    /// The tool's short name; none where it is new, and for a section of values.
    pub tool: Option<String>,
    /// Whether it is still the starter set's, word for word.
    pub starter: bool,
    /// What is asked.
    pub fields: Vec<Field>,
    /// What bare numbers are in.
    pub unit: Unit,
    /// Where the tools stand.
    pub standing: Standing,
    /// What tells this text from another.
    pub mark: String,
}

/// What a page asks to be written.
#[derive(Clone, Debug)]
pub enum ToolEdit {
    /// A tool more; an empty name makes one of its title.
    Add {
        /// Short name.
        name: String,
        /// By the keys of the fields, as typed.
        values: Vec<(String, String)>,
    },
    /// Values of a tool, or of a section of values; what is empty is taken out.
    Change {
        /// Short name; none for a section of values.
        tool: Option<String>,
        /// By the keys of the fields, as typed.
        values: Vec<(String, String)>,
    },
    /// A tool less.
    TakeOut {
        /// Short name.
        tool: String,
    },
}

/// The text that edits apply to.
fn text(plan: &Plan) -> (&str, Standing) {
    let file: Option<&SourceText> = plan.files.iter().find(|file| *file.name == *TOOLS_FILE);
    match file {
        None => (start_tools(), Standing::Missing),
        Some(file) if *file.text == *start_tools() => (&file.text, Standing::AsItCame),
        Some(file) => (&file.text, Standing::Own),
    }
}

fn section(name: &str) -> Result<Section, EntryError> {
    Section::named(name).ok_or_else(|| {
        EntryError::typed(format!("tools.toml has no section \"{name}\""), "go to Tools and choose one")
    })
}

/// The tools of a build, section by section.
#[must_use]
pub fn listing(plan: &Plan) -> Listing {
    let (text, standing) = text(plan);
    let mut unreadable = None;
    let sections = edit::sections()
        .into_iter()
        .map(|section| {
            let entries = edit::listed(text, &section).unwrap_or_else(|error| {
                unreadable = Some(error.to_string());
                Vec::new()
            });
            SectionListed {
                name: section.name,
                one: section.one(),
                of_tools: section.kind.is_some(),
                entries,
            }
        })
        .collect();
    Listing { standing, sections, unreadable }
}

/// The form for a tool, a new one, or a section of values.
///
/// # Errors
/// [`EntryError`] where there is no such section or tool, or the file cannot be read.
pub fn form(plan: &Plan, of: &str, tool: Option<&str>) -> Result<Form, EntryError> {
    let (text, standing) = text(plan);
    let section = section(of)?;
    let tool = tool.filter(|_| section.kind.is_some());
    let starter = tool.is_some_and(|tool| {
        let listed = edit::listed(text, &section).unwrap_or_default();
        listed.iter().any(|it| it.name == tool && it.starter)
    });
    Ok(Form {
        section: section.name,
        one: section.one(),
        of_tools: section.kind.is_some(),
        tool: tool.map(str::to_owned),
        starter,
        fields: edit::fields(text, &section, tool)?,
        unit: edit::unit(text),
        standing,
        mark: mark(text),
    })
}

/// Whether what was typed says something else than what the form showed.
#[must_use]
pub fn differs(field: &Field, showed: &str, typed: &str) -> bool {
    match field.input {
        // A box that is not ticked says no, as a key that is not there does.
        Input::Flag => (showed == "true") != (typed == "true"),
        // Ticked boxes have no order.
        Input::Names(_) => {
            let sorted = |list: &str| {
                let mut names: Vec<String> = list.split(',').map(|name| name.trim().to_owned()).collect();
                names.sort();
                names
            };
            sorted(showed) != sorted(typed)
        }
        _ => showed.trim() != typed.trim(),
    }
}

/// Makes an edit on the disk, and gives the short name of the tool it was about.
///
/// - `seen`: the mark of the text from which the page was made
///
/// # Errors
/// [`EntryError`] where it is refused; then the file is as it was, or not there as it was.
pub fn write(build: &Build, of: &str, seen: &str, asked: &ToolEdit) -> Result<(Written, String), EntryError> {
    let section = section(of)?;
    let _alone = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
    build.refresh()?;
    let mut about = String::new();
    let written = write_file(build, TOOLS_FILE, Some(start_tools()), seen, |text| {
        let (new, name, says) = edited(text, &section, asked)?;
        about = name;
        Ok((new, says))
    })?;
    Ok((written, about))
}

/// The new text, the short name it is about, and a sentence.
fn edited(text: &str, section: &Section, asked: &ToolEdit) -> Result<(String, String, String), EntryError> {
    let one = section.one();
    let (new, name, says) = match asked {
        ToolEdit::Add { name, values } => {
            let titled = values.iter().any(|(key, typed)| key == "title" && !typed.trim().is_empty());
            if name.trim().is_empty() && !titled {
                return Err(EntryError::typed(
                    format!("nothing says what the {one} is called"),
                    "write its name as shown, or its short name",
                ));
            }
            let (new, name) = edit::add(text, section, name, values)?;
            let says = format!("The {one} {name} is in {TOOLS_FILE}.");
            (new, name, says)
        }
        ToolEdit::Change { tool, values } => {
            let new = edit::change(text, section, tool.as_deref(), values)?;
            let says = match tool {
                Some(tool) => format!("The {one} {tool} is changed."),
                None => format!("{TOOLS_FILE} is changed."),
            };
            (new, tool.clone().unwrap_or_default(), says)
        }
        ToolEdit::TakeOut { tool } => {
            (edit::take_out(text, section, tool)?, tool.clone(), format!("The {one} {tool} is taken out."))
        }
    };
    let findings: Vec<Finding> = all_newly_wrong(TOOLS_FILE, text, &new);
    if findings.is_empty() { Ok((new, name, says)) } else { Err(EntryError::Found { findings }) }
}
