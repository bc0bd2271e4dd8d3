//! Files made to break the reader: noise, damaged drawings, blocks that multiply.
//!
//! The promise is a finding instead of a panic, and an end; a test that hangs is ended by the time
//! limit that every test has.

use std::path::Path;
use std::sync::OnceLock;

use faying_import::dxf::MOST_COPIES;
use faying_import::sketch::{Options, Reading, Sketch};
use faying_import::{Drawing, DrawingUnits, read};
use proptest::prelude::*;

fn all_of_it(bytes: &[u8]) -> Drawing {
    let drawing = read(bytes);
    let sketch = Sketch::of(&drawing, &Options::new(DrawingUnits::Inch));
    let _ = sketch.to_toml("web", faying_standards::Unit::Inch);
    let _ = Reading::of(&drawing, Some(DrawingUnits::Millimetre));
    drawing
}

fn kinds(drawing: &Drawing) -> Vec<&str> {
    drawing.findings.iter().map(|finding| finding.kind).collect()
}

fn file(blocks: &str, entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )
}

const HOLE: &str = "0\nCIRCLE\n8\n0\n10\n0\n20\n0\n40\n1\n";

fn block(name: &str, body: &str) -> String {
    format!("0\nBLOCK\n2\n{name}\n10\n0\n20\n0\n{body}0\nENDBLK\n")
}

fn insert(name: &str, more: &str) -> String {
    format!("0\nINSERT\n2\n{name}\n10\n0\n20\n0\n{more}")
}

#[test]
fn an_array_of_four_thousand_million_stops_at_the_limit() {
    let text = file(&block("A", HOLE), &insert("A", "44\n2\n45\n2\n70\n32767\n71\n131072\n"));
    let drawing = all_of_it(text.as_bytes());
    assert_eq!(kinds(&drawing), ["no-units", "too-many-copies"]);
    // Each copy is one visit for the copy, one for the circle; the reference is the first.
    assert_eq!(drawing.circles.len(), (MOST_COPIES - 1) / 2);
}

#[test]
fn empty_blocks_count_as_well() {
    let text = file(&block("A", ""), &insert("A", "44\n2\n70\n2000000000\n"));
    assert_eq!(kinds(&read(text.as_bytes())), ["no-units", "too-many-copies"]);
}

#[test]
fn blocks_that_double_at_each_level_stop_at_the_limit() {
    let mut blocks = block("L0", HOLE);
    for level in 1..31 {
        let below = insert(&format!("L{}", level - 1), "");
        blocks += &block(&format!("L{level}"), &format!("{below}{below}"));
    }
    let drawing = read(file(&blocks, &insert("L30", "")).as_bytes());
    assert_eq!(kinds(&drawing), ["no-units", "too-many-copies"]);
}

#[test]
fn blocks_nested_too_deep_and_in_themselves() {
    let mut blocks = block("L0", HOLE);
    for level in 1..100 {
        blocks += &block(&format!("L{level}"), &insert(&format!("L{}", level - 1), ""));
    }
    let drawing = read(file(&blocks, &insert("L99", "")).as_bytes());
    assert_eq!((kinds(&drawing), drawing.circles.len()), (vec!["no-units", "nested-too-deep"], 0));

    let round = block("A", &format!("{HOLE}{}", insert("B", ""))) + &block("B", &insert("a", ""));
    let drawing = read(file(&round, &insert("A", "")).as_bytes());
    assert_eq!((kinds(&drawing), drawing.circles.len()), (vec!["no-units", "block-in-itself"], 1));
}

/// Lines that all meet in one corner, five thousand circles in one line, circles round one centre.
#[test]
fn crowds_come_to_an_end() {
    use std::fmt::Write as _;
    let mut text = String::new();
    for at in 0..5_000 {
        let (x, y) = (f64::from(at % 200), f64::from(at / 200));
        write!(text, "0\nLINE\n10\n0\n20\n0\n11\n{x}\n21\n{y}\n").unwrap();
        write!(text, "0\nLINE\n10\n{x}\n20\n{y}\n11\n{}\n21\n{y}\n", x + 1.0).unwrap();
        write!(text, "0\nCIRCLE\n10\n{at}\n20\n-5\n40\n.06\n").unwrap();
        write!(text, "0\nCIRCLE\n10\n0\n20\n-50\n40\n{}\n", 0.01 + f64::from(at) * 1e-4).unwrap();
    }
    let drawing = all_of_it(file("", &text).as_bytes());
    assert_eq!(drawing.circles.len(), 10_000);
    let sketch = Sketch::of(&drawing, &Options::new(DrawingUnits::Inch));
    assert!(sketch.rows.iter().any(|row| row.places.count() == 5_000));
}

/// Ends of the number line, in every place a number can stand.
#[test]
fn numbers_beyond_any_drawing() {
    for number in
        ["1e308", "-1e308", "1e-308", "5e-324", "0", "-0", "1e12", "NaN", "inf", "99999999999999999999"]
    {
        let text = file(
            &block("A", &HOLE.replace("40\n1\n", &format!("40\n{number}\n"))),
            &format!(
                "{}0\nLINE\n10\n{number}\n20\n1\n11\n0\n21\n{number}\n0\nARC\n10\n{number}\n20\n0\n40\n{number}\n50\n{number}\n51\n7\n\
                 0\nLWPOLYLINE\n70\n1\n10\n0\n20\n0\n42\n{number}\n10\n{number}\n20\n1\n10\n5\n20\n{number}\n",
                insert(
                    "A",
                    &format!(
                        "41\n{number}\n42\n{number}\n43\n{number}\n50\n{number}\n44\n{number}\n70\n3\n210\n{number}\n220\n0\n230\n1\n"
                    )
                )
            ),
        );
        let drawing = all_of_it(text.as_bytes());
        assert!(
            drawing.circles.iter().all(|c| c.x.is_finite() && c.y.is_finite() && c.diameter > 0.0),
            "{number}"
        );
    }
}

/// Our own drawings, read from the disk once.
fn drawings() -> &'static [Vec<u8>] {
    static ALL: OnceLock<Vec<Vec<u8>>> = OnceLock::new();
    ALL.get_or_init(|| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data");
        let mut paths: Vec<_> = std::fs::read_dir(folder)
            .expect("tests/data is part of the project")
            .filter_map(|entry| Some(entry.ok()?.path()))
            .filter(|path| path.extension().is_some_and(|end| end == "dxf"))
            .collect();
        paths.sort();
        assert_eq!(paths.len(), 13, "drawings in tests/data");
        paths.iter().map(|path| std::fs::read(path).expect("a file that was just listed")).collect()
    })
}

proptest! {
    #[test]
    fn noise_never_panics(bytes in proptest::collection::vec(any::<u8>(), 0..2000)) {
        let _ = all_of_it(&bytes);
        let mut binary = b"AutoCAD Binary DXF\r\n\x1a\0".to_vec();
        binary.extend(bytes);
        let _ = all_of_it(&binary);
    }

    /// Bytes changed, taken out and put in twice, in whole drawings.
    #[test]
    fn damaged_drawings_never_panic(
        which in 0..64_usize,
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0..4_u8), 1..20),
    ) {
        let all = drawings();
        let mut bytes = all[which % all.len()].clone();
        for (place, byte, sort) in changes {
            if bytes.is_empty() {
                break;
            }
            let at = place.index(bytes.len());
            match sort {
                0 => bytes[at] = byte,
                1 => { bytes.remove(at); }
                2 => bytes.insert(at, b"0123456789-.e\n"[usize::from(byte) % 14]),
                _ => {
                    let end = (at + usize::from(byte)).min(bytes.len());
                    let piece = bytes[at..end].to_vec();
                    bytes.splice(at..at, piece);
                }
            }
        }
        let _ = all_of_it(&bytes);
    }

    /// Records of the right kinds in any order, with any numbers.
    #[test]
    fn made_up_records_never_panic(
        records in proptest::collection::vec(
            (0..8_usize, proptest::collection::vec((0..18_usize, -9.0..9.0_f64), 0..14)),
            0..40,
        ),
    ) {
        use std::fmt::Write as _;
        const NAMES: [&str; 8] = ["CIRCLE", "ARC", "LINE", "LWPOLYLINE", "POLYLINE", "VERTEX", "INSERT", "SEQEND"];
        const CODES: [i32; 18] = [10, 20, 30, 11, 21, 40, 41, 42, 43, 44, 50, 51, 70, 71, 210, 220, 230, 38];
        let mut body = String::new();
        for (name, groups) in records {
            write!(body, "0\n{}\n2\nA\n10\n1\n20\n2\n40\n1\n", NAMES[name]).unwrap();
            for (code, number) in groups {
                let number = if code == 12 || code == 13 { number.round() } else { number };
                write!(body, "{}\n{number}\n", CODES[code]).unwrap();
            }
        }
        let _ = all_of_it(file(&block("A", &body.replace("INSERT", "LINE")), &body).as_bytes());
    }
}
