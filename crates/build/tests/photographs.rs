//! Photographs: kept as they came, found again by what they show, and missed when they are gone.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::path::PathBuf;

use faying_build::{Answer, Build, Disk, Folder, OriginalError, PHOTO_FOLDER, backup, verify};
use serde_json::{Value, json};
use tempfile::TempDir;

const PLAN: &str = r#"format = 1
id = "tab"
[rows]
K = { count = 4, called = "MS20470AD4-4" }
[steps.loose]
sets = ["K"]
[gates.close]
after = ["loose"]
needs = ["photograph:conduit", "photograph:spar"]
"#;

/// Begins as a JPEG file does; that is all that is asked of it.
const JPEG: &[u8] = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00 one";
const OTHER: &[u8] = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00 two";
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR";
const HEIC: &[u8] = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic";

struct Kit {
    folder: TempDir,
}

impl Kit {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Folder::create(&folder.path().join("kit"), &[("plan/tab.toml", PLAN)]).unwrap();
        Self { folder }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("kit")
    }

    fn open(&self) -> Build {
        Build::open_with(&self.path(), &Disk { sync: false, ..Disk::default() }).unwrap()
    }

    fn files(&self) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(self.path().join(PHOTO_FOLDER)) else { return Vec::new() };
        let mut names: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    /// What the check of the record says, and how many faults it counts.
    fn verify(&self) -> (String, usize) {
        let report = verify(&Folder::open(&self.path()).unwrap()).unwrap();
        (report.lines.join("\n"), report.faults)
    }
}

fn act(build: &Build, id: &str, at: &str, it: Value) {
    let mut whole = json!({ "id": id, "at": at });
    whole.as_object_mut().unwrap().extend(it.as_object().unwrap().clone());
    let answer = build.act(serde_json::from_value(whole).unwrap()).unwrap();
    assert!(matches!(answer, Answer::Taken { .. }), "{answer:?}");
}

fn photograph(build: &Build, id: &str, at: &str, bytes: &[u8], about: &[&str]) -> String {
    let file = build.keep_photograph(bytes).unwrap();
    act(build, id, at, json!({ "kind": "photograph", "file": file, "about": about, "words": id }));
    file
}

#[test]
fn the_bytes_come_back_and_twice_is_once() {
    let kit = Kit::new();
    let build = kit.open();
    let name = build.keep_photograph(JPEG).unwrap();
    assert_eq!(build.keep_photograph(JPEG).unwrap(), name);
    assert_eq!(kit.files(), std::slice::from_ref(&name));
    assert_eq!(build.photograph(&name).unwrap(), JPEG);
    // The name is what any program for this hash gives.
    assert_eq!(name, format!("{}.jpg", blake3::hash(JPEG).to_hex()));
    assert!(build.keep_photograph(PNG).unwrap().ends_with(".png"));
    let heic = build.keep_photograph(HEIC).unwrap();
    assert_eq!(heic.len(), 64, "a phone's own format is kept without an ending");
    assert_eq!(build.photograph(&heic).unwrap(), HEIC);
    assert_eq!(kit.files().len(), 3);
}

#[test]
fn what_is_no_picture_is_not_kept() {
    let kit = Kit::new();
    let build = kit.open();
    for bytes in [&b"<!doctype html><script>1</script>"[..], b"", b"%PDF-1.7"] {
        let error = build.keep_photograph(bytes).unwrap_err();
        assert!(matches!(error, OriginalError::NotAPicture), "{error}");
        assert!(!error.is_missing());
    }
    assert_eq!(kit.files(), Vec::<String>::new());
}

#[test]
fn what_is_not_there_is_told_from_what_has_changed() {
    let kit = Kit::new();
    let build = kit.open();
    let name = build.keep_photograph(JPEG).unwrap();
    for wrong in ["", "../record.faying", "a.jpg", &format!("{}.jpg", blake3::hash(OTHER).to_hex())] {
        assert!(build.photograph(wrong).unwrap_err().is_missing(), "{wrong}");
    }
    std::fs::write(kit.path().join(PHOTO_FOLDER).join(&name), OTHER).unwrap();
    let error = build.photograph(&name).unwrap_err();
    assert!(!error.is_missing());
    assert!(error.to_string().contains("not the bytes that were kept under this name"), "{error}");
}

#[test]
fn a_place_shows_what_is_tied_to_all_of_it_newest_first() {
    let kit = Kit::new();
    let build = kit.open();
    photograph(&build, "evening", "2026-05-12T21:00:00+02:00", JPEG, &["tab/K/2"]);
    photograph(&build, "conduit", "2026-05-13T20:00:00+02:00", OTHER, &["tab/close", "photograph:conduit"]);
    // Waited in a phone overnight; 18:30 in London is half past seven in Paris.
    photograph(&build, "late", "2026-05-12T18:30:00+01:00", PNG, &["tab/K/2", "tab/loose"]);
    let world = build.world();
    let words = |about: &[&str]| -> Vec<String> {
        let about: Vec<String> = about.iter().map(|it| (*it).to_owned()).collect();
        world.photographs(&about).into_iter().map(|it| it.words).collect()
    };
    assert_eq!(words(&["tab/K/2"]), ["evening", "late"]);
    assert_eq!(words(&["tab/loose"]), ["late"]);
    assert_eq!(words(&["tab/K/1"]), Vec::<String>::new());
    assert_eq!(words(&["tab/close", "photograph:conduit"]), ["conduit"]);
    assert_eq!(words(&["tab/close", "photograph:spar"]), Vec::<String>::new());
    assert_eq!(words(&[]), ["conduit", "evening", "late"]);
    let conduit = world.photographs(&["tab/close".into()]).remove(0);
    let pages = [("tab/close", "/gate/tab/close"), ("conduit", "")];
    assert_eq!(conduit.about, pages.map(|(name, page)| (name.to_owned(), page.to_owned())));
    assert!(conduit.shown);
}

#[test]
fn one_that_was_taken_back_is_not_shown_any_more() {
    let kit = Kit::new();
    let build = kit.open();
    photograph(&build, "blurred", "2026-05-12T21:00:00+02:00", JPEG, &["tab/K/2"]);
    act(&build, "sorry", "2026-05-12T21:01:00+02:00", json!({ "kind": "undo", "act": "blurred" }));
    assert_eq!(build.world().photographs(&[]), []);
}

#[test]
fn the_check_misses_a_photograph_that_the_record_names() {
    let kit = Kit::new();
    let build = kit.open();
    let one = photograph(&build, "one", "2026-05-12T21:00:00+02:00", JPEG, &["tab/K/2"]);
    let other = photograph(&build, "other", "2026-05-12T21:05:00+02:00", PNG, &["tab/K/2"]);
    // Taken back, and still part of what happened.
    act(&build, "back", "2026-05-12T21:06:00+02:00", json!({ "kind": "undo", "act": "one" }));
    drop(build);
    let (lines, faults) = kit.verify();
    assert_eq!(faults, 0, "{lines}");
    assert!(lines.contains("4 rows and 2 photographs checked, nothing wrong found."), "{lines}");

    let path = kit.path().join(PHOTO_FOLDER).join(&one);
    std::fs::remove_file(&path).unwrap();
    let (lines, faults) = kit.verify();
    assert_eq!(faults, 1, "{lines}");
    assert!(lines.contains(&format!("photograph {one}: not in the folder")), "{lines}");

    // Other bytes under its name are no photograph of it.
    std::fs::write(&path, OTHER).unwrap();
    std::fs::remove_file(kit.path().join(PHOTO_FOLDER).join(&other)).unwrap();
    let (lines, faults) = kit.verify();
    assert_eq!(faults, 2, "{lines}");
    assert!(
        lines.contains(&format!("photograph {one}: its bytes have changed since it was kept")),
        "{lines}"
    );
    assert!(lines.contains(&format!("photograph {other}: not in the folder")), "{lines}");

    // The camera's own file, put back.
    std::fs::write(&path, JPEG).unwrap();
    std::fs::write(kit.path().join(PHOTO_FOLDER).join(&other), PNG).unwrap();
    assert_eq!(kit.verify().1, 0);
}

#[test]
fn one_whose_act_never_came_is_mentioned_and_no_fault() {
    let kit = Kit::new();
    let build = kit.open();
    photograph(&build, "one", "2026-05-12T21:00:00+02:00", JPEG, &["tab/K/2"]);
    build.keep_photograph(OTHER).unwrap();
    drop(build);
    let (lines, faults) = kit.verify();
    assert_eq!(faults, 0, "{lines}");
    assert!(lines.contains("1 photograph is kept that no act names: its sending was broken off."), "{lines}");
}

#[test]
fn a_backup_says_that_the_photographs_are_not_in_it() {
    let kit = Kit::new();
    let build = kit.open();
    act(&build, "note", "2026-05-12T21:00:00+02:00", json!({ "kind": "note", "text": "began" }));
    let folder = Folder::open(&kit.path()).unwrap();
    assert!(!backup(&folder).unwrap().contains("photograph"));
    photograph(&build, "one", "2026-05-12T21:00:00+02:00", JPEG, &["tab/K/2"]);
    build.keep_photograph(OTHER).unwrap();
    std::fs::remove_dir_all(kit.path().join("backups")).unwrap();
    let said = backup(&folder).unwrap();
    assert!(
        said.ends_with("The 2 photographs in photos/ are not in it; copy that folder as well."),
        "{said}"
    );
}
