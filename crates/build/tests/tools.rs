//! The tools typed in, on the disk: `tools.toml` before and after, and what is refused.

use faying_build::entry::tools::{self as edit, Standing, ToolEdit};
use faying_build::entry::{self, EntryError};
use faying_build::room::tools::{STARTER, Tools};
use faying_build::{Build, Folder, start_text};

struct Bench {
    build: Build,
    folder: tempfile::TempDir,
}

impl Bench {
    /// A build as `faying new` makes it: with the starter set.
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("build");
        Folder::create(&path, &[("plan/first.toml", &start_text("first", "in"))]).expect("a new build");
        Self { build: Build::open(&path).expect("it opens"), folder }
    }

    /// A build from before there was a `tools.toml`.
    fn without_file() -> Self {
        let bench = Self::new();
        std::fs::remove_file(bench.path()).expect("it was there");
        bench.build.refresh().expect("it is read again");
        bench
    }

    fn path(&self) -> std::path::PathBuf {
        self.folder.path().join("build/tools.toml")
    }

    fn text(&self) -> String {
        std::fs::read_to_string(self.path()).expect("tools.toml is there")
    }

    fn mark(&self, section: &str) -> String {
        edit::form(self.build.world().plan(), section, None).expect("a form").mark
    }

    fn write(&self, section: &str, asked: &ToolEdit) -> Result<(String, String), EntryError> {
        edit::write(&self.build, section, &self.mark(section), asked)
            .map(|(written, name)| (name, written.says))
    }

    fn standing(&self) -> Standing {
        edit::listing(self.build.world().plan()).standing
    }

    fn tools(&self) -> Tools {
        self.build.world().plan().tools.clone()
    }
}

fn pairs(values: &[(&str, &str)]) -> Vec<(String, String)> {
    values.iter().map(|(key, typed)| ((*key).to_owned(), (*typed).to_owned())).collect()
}

fn change(tool: Option<&str>, values: &[(&str, &str)]) -> ToolEdit {
    ToolEdit::Change { tool: tool.map(str::to_owned), values: pairs(values) }
}

fn yoke(title: &str, throat: &str) -> ToolEdit {
    let values = pairs(&[
        ("title", title),
        ("throat", throat),
        ("gap", "3/4"),
        ("nose.half_width", "5/16"),
        ("nose.height", "0.7"),
    ]);
    ToolEdit::Add { name: String::new(), values }
}

#[test]
fn a_yoke_more_is_in_the_file_and_in_the_open_build_at_once() {
    let bench = Bench::new();
    assert_eq!(bench.standing(), Standing::AsItCame);
    let (name, says) = bench.write("yokes", &yoke("Long yoke", "5 1/2")).unwrap();
    assert_eq!((name.as_str(), says.as_str()), ("long-yoke", "The yoke long-yoke is in tools.toml."));
    let line = concat!(
        r#"long-yoke = { title = "Long yoke", throat = "5 1/2", gap = "3/4", "#,
        r#"nose = { half_width = "5/16", height = 0.7 } }"#,
        "\n"
    );
    // The line is the whole difference.
    assert_eq!(bench.text().replace(line, ""), STARTER);
    let tools = bench.tools();
    let yoke = tools.yokes.last().unwrap();
    assert_eq!((yoke.name.as_str(), yoke.throat.inches()), ("long-yoke", 5.5));
    assert_eq!(yoke.squeezers, [0, 1], "it fits every squeezer where none is named");
    assert_eq!(bench.standing(), Standing::Own);
}

#[test]
fn the_first_edit_of_a_build_without_the_file_writes_the_starter_set_with_it() {
    let bench = Bench::without_file();
    assert_eq!(bench.standing(), Standing::Missing);
    assert!(!bench.tools().own);
    bench.write("clecoes", &change(None, &[("1/8", "90")])).unwrap();
    assert_eq!(bench.text(), STARTER.replace("\"1/8\" = 150", "\"1/8\" = 90"));
    assert!(bench.tools().own);
    assert_eq!(bench.tools().clecoes[1].count, 90);
    assert_eq!(bench.standing(), Standing::Own);
}

#[test]
fn a_refused_first_edit_leaves_no_file_behind() {
    let bench = Bench::without_file();
    bench.write("clecoes", &change(None, &[("1/8", "many")])).unwrap_err();
    assert!(!bench.path().exists());
    assert_eq!(bench.standing(), Standing::Missing);
}

/// A form that was made while there was no file is not written over one that came meanwhile.
#[test]
fn a_file_that_changed_or_came_meanwhile_is_left_alone() {
    let bench = Bench::without_file();
    let seen = bench.mark("yokes");
    let theirs = "format = 1\n[clecoes]\n\"1/8\" = 3\n";
    std::fs::write(bench.path(), theirs).unwrap();
    let error = edit::write(&bench.build, "yokes", &seen, &yoke("Long yoke", "5")).unwrap_err();
    assert!(matches!(error, EntryError::Changed { .. }));
    assert_eq!(bench.text(), theirs);
    // Sent again from what is there now, it is taken.
    bench.write("yokes", &yoke("Long yoke", "5")).unwrap();
    assert!(bench.text().starts_with("format = 1\n[yokes]\nlong-yoke = "), "{}", bench.text());
    assert!(bench.text().ends_with("[clecoes]\n\"1/8\" = 3\n"), "{}", bench.text());
}

#[test]
fn what_would_not_be_usable_is_refused_in_the_words_of_the_check() {
    let bench = Bench::new();
    for (section, asked, want) in [
        ("yokes", change(Some("deep"), &[("throat", "far")]), "\"far\" is not a length"),
        ("yokes", change(Some("deep"), &[("throat", "")]), "\"deep\" does not say its throat depth"),
        ("squeezers", change(Some("air-squeezer"), &[("force", "0")]), "\"force\" is not more than nothing"),
        ("dies", change(Some("cup-4"), &[("diameter", "1/7")]), "is not a rivet diameter"),
        ("yokes", change(Some("deep"), &[("fits", "air")]), "there is no squeezer \"air\""),
        ("clecoes", change(None, &[("1/8", "-3")]), "1/8"),
        ("times", change(None, &[("flip", "long")]), "flip"),
        (
            "bars",
            ToolEdit::Add { name: "deep".into(), values: pairs(&[("enters", "1")]) },
            "another tool is called \"deep\" already",
        ),
    ] {
        let error = bench.write(section, &asked).unwrap_err();
        assert!(matches!(error, EntryError::Found { .. }), "{error}");
        let said = error.to_string();
        assert!(said.contains(want), "{want}: {said}");
        assert!(said.contains("; "), "it says what to do next: {said}");
        assert_eq!(bench.text(), STARTER, "{want}");
    }
    // Nothing says what it is called.
    let nameless = ToolEdit::Add { name: " ".into(), values: pairs(&[("enters", "1")]) };
    let said = bench.write("bars", &nameless).unwrap_err().to_string();
    assert_eq!(said, "nothing says what the bar is called; write its name as shown, or its short name");
}

/// What was wrong before does not stand in the way of mending something else.
#[test]
fn a_fault_that_was_there_does_not_refuse_another_edit() {
    let bench = Bench::new();
    let faulty = STARTER.replace("throat = 4,", "throat = \"far\",");
    std::fs::write(bench.path(), &faulty).unwrap();
    bench.build.refresh().unwrap();
    bench.write("times", &change(None, &[("flip", "40")])).unwrap();
    assert_eq!(bench.text(), format!("{faulty}flip = 40\n"));
    bench.write("yokes", &change(Some("deep"), &[("throat", "4 1/8")])).unwrap();
    assert_eq!(bench.tools().yokes.len(), 3, "it can be used again");
}

#[test]
fn a_squeezer_that_a_yoke_names_is_not_taken_out() {
    let bench = Bench::new();
    let out = |tool: &str| ToolEdit::TakeOut { tool: tool.into() };
    let said = bench.write("squeezers", &out("air-squeezer")).unwrap_err().to_string();
    assert_eq!(
        said,
        "the yoke deep, under fits, names squeezer air-squeezer; change that first, or take it out too"
    );
    assert_eq!(bench.text(), STARTER);
    bench.write("yokes", &out("deep")).unwrap();
    let (name, says) = bench.write("squeezers", &out("air-squeezer")).unwrap();
    assert_eq!((name.as_str(), says.as_str()), ("air-squeezer", "The squeezer air-squeezer is taken out."));
    assert_eq!(bench.tools().squeezers.len(), 1);
}

#[test]
fn a_file_that_cannot_be_read_says_so_and_is_left() {
    let bench = Bench::new();
    let broken = format!("{STARTER}[yokes\n");
    std::fs::write(bench.path(), &broken).unwrap();
    bench.build.refresh().unwrap();
    let listing = edit::listing(bench.build.world().plan());
    assert!(listing.unreadable.is_some());
    assert!(edit::form(bench.build.world().plan(), "yokes", None).is_err());
    let asked = change(None, &[("flip", "40")]);
    edit::write(&bench.build, "times", &entry::mark(&broken), &asked).unwrap_err();
    assert_eq!(bench.text(), broken);
}

#[test]
fn what_is_the_starter_sets_is_told_apart_tool_by_tool() {
    let bench = Bench::new();
    bench.write("yokes", &change(Some("slim"), &[("throat", "1.8")])).unwrap();
    let listing = edit::listing(bench.build.world().plan());
    let yokes = listing.sections.iter().find(|section| section.name == "yokes").unwrap();
    let marks: Vec<(&str, bool, bool)> =
        yokes.entries.iter().map(|it| (it.name.as_str(), it.starter, it.partly)).collect();
    assert_eq!(marks, [("standard", true, true), ("deep", true, true), ("slim", false, true)]);
    let form = edit::form(bench.build.world().plan(), "yokes", Some("slim")).unwrap();
    let starter: Vec<&str> =
        form.fields.iter().filter(|field| field.starter).map(|field| field.key.as_str()).collect();
    assert_eq!(starter, ["gap", "nose.half_width", "nose.height"]);
}

/// A mark in front that says "UTF-8" stays, as other editors leave it.
#[test]
fn the_editors_mark_in_front_stays() {
    let bench = Bench::new();
    std::fs::write(bench.path(), format!("\u{feff}{STARTER}")).unwrap();
    bench.build.refresh().unwrap();
    bench.write("times", &change(None, &[("flip", "40")])).unwrap();
    assert_eq!(bench.text(), format!("\u{feff}{STARTER}flip = 40\n"));
}
