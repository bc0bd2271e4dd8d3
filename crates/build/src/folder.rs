//! The text files of a build.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use faying_plan::SourceText;

use crate::error::BuildError;
use crate::start::start_tools;

/// The folder of plan files within a build.
pub const PLAN_FOLDER: &str = "plan";
/// The record's file within a build.
pub const RECORD_FILE: &str = "record.faying";
/// The builder's own values.
const LIMITS_FILE: &str = "limits.toml";

/// The tools of the build.
const TOOLS_FILE: &str = "tools.toml";

/// Who works on it, and when.
pub(crate) const PEOPLE_FILE: &str = "people.toml";

/// Gates of the whole build.
pub(crate) const GATES_FILE: &str = "gates.toml";

/// The text files beside the plan's own.
const BESIDE: [&str; 4] = [LIMITS_FILE, TOOLS_FILE, PEOPLE_FILE, GATES_FILE];

/// A build's folder.
#[derive(Clone, Debug)]
pub struct Folder {
    path: PathBuf,
}

/// What tells one state of the text files from another without reading them.
pub(crate) type Stamp = Vec<(String, u64, Option<SystemTime>)>;

impl Folder {
    /// A folder that holds a build.
    ///
    /// # Errors
    /// [`BuildError::NotABuild`] where there is no plan file in it.
    pub fn open(path: &Path) -> Result<Self, BuildError> {
        let folder = Self { path: path.to_owned() };
        if folder.plan_files()?.is_empty() {
            return Err(BuildError::NotABuild { path: path.to_owned() });
        }
        Ok(folder)
    }

    /// Makes a new build with these text files (`plan/flap.toml`, `limits.toml`).
    ///
    /// Where no `tools.toml` is among them, the starter set of tools is written, for the builder to change.
    ///
    /// # Errors
    /// [`BuildError::NotEmpty`] if the folder has anything in it.
    pub fn create(path: &Path, files: &[(&str, &str)]) -> Result<Self, BuildError> {
        let taken = std::fs::read_dir(path).is_ok_and(|mut entries| entries.next().is_some());
        if taken {
            return Err(BuildError::NotEmpty { path: path.to_owned() });
        }
        std::fs::create_dir_all(path.join(PLAN_FOLDER)).map_err(BuildError::file(path))?;
        let starter = Some((TOOLS_FILE, start_tools()));
        let starter = starter.filter(|_| files.iter().all(|(name, _)| *name != TOOLS_FILE));
        for &(name, text) in files.iter().chain(starter.as_ref()) {
            let file = path.join(name);
            std::fs::write(&file, text).map_err(BuildError::file(&file))?;
        }
        Ok(Self { path: path.to_owned() })
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The record's file.
    #[must_use]
    pub fn record(&self) -> PathBuf {
        self.path.join(RECORD_FILE)
    }

    /// Names of the text files, in the order in which they are read.
    fn plan_files(&self) -> Result<Vec<String>, BuildError> {
        let plan = self.path.join(PLAN_FOLDER);
        let entries = match std::fs::read_dir(&plan) {
            Ok(entries) => entries,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(BuildError::file(plan)(error)),
        };
        let mut names = Vec::new();
        for entry in entries {
            let name = entry.map_err(BuildError::file(&plan))?.file_name();
            // An editor's hidden copies are not part of the plan.
            if let Some(name) = name.to_str().filter(|name| name.ends_with(".toml") && !name.starts_with('.'))
            {
                names.push(format!("{PLAN_FOLDER}/{name}"));
            }
        }
        names.sort();
        Ok(names)
    }

    /// All text files.
    ///
    /// # Errors
    /// [`BuildError::File`] where one cannot be read.
    pub fn texts(&self) -> Result<Vec<SourceText>, BuildError> {
        let mut texts = Vec::new();
        for name in self.plan_files()? {
            texts.push(self.text(&name)?);
        }
        for name in BESIDE {
            if self.path.join(name).exists() {
                texts.push(self.text(name)?);
            }
        }
        Ok(texts)
    }

    /// Writes `gates.toml` by the practice of a country, asking for every assembly there is.
    ///
    /// # Errors
    /// [`BuildError::Failed`] where the file is there already or there is no such practice.
    pub fn start_gates(&self, practice: &str) -> Result<PathBuf, BuildError> {
        let file = self.path.join(GATES_FILE);
        if file.exists() {
            return Err(BuildError::Failed(format!(
                "{} is there already; change it by hand",
                file.display()
            )));
        }
        let plan = faying_plan::read(self.texts()?).plan;
        let assemblies: Vec<&str> = plan.assemblies.iter().map(|it| it.id.as_str()).collect();
        let text = faying_plan::practice::text(practice, &assemblies).ok_or_else(|| {
            let names: Vec<&str> = gate_practices().collect();
            BuildError::Failed(format!(
                "there is no practice \"{practice}\"; choose one of {}",
                names.join(", ")
            ))
        })?;
        std::fs::write(&file, text).map_err(BuildError::file(&file))?;
        Ok(file)
    }

    fn text(&self, name: &str) -> Result<SourceText, BuildError> {
        let path = self.path.join(name);
        let bytes = std::fs::read(&path).map_err(BuildError::file(&path))?;
        // A stray byte from another encoding becomes a visible mark, and a finding of the reader.
        let text = String::from_utf8_lossy(&bytes);
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
        Ok(SourceText { name: name.into(), text: text.into() })
    }

    pub(crate) fn stamp(&self) -> Result<Stamp, BuildError> {
        let mut names = self.plan_files()?;
        names.extend(BESIDE.map(str::to_owned));
        Ok(names
            .into_iter()
            .filter_map(|name| {
                let about = std::fs::metadata(self.path.join(&name)).ok()?;
                Some((name, about.len(), about.modified().ok()))
            })
            .collect())
    }
}

/// The countries whose practice [`Folder::start_gates`] knows.
pub fn gate_practices() -> impl Iterator<Item = &'static str> {
    faying_plan::practice::names()
}
