//! Prints as another program sees them: poppler reads the text and its places, and renders the bars.
#![allow(
    clippy::disallowed_types,
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "the print is read by another program; only tests start one"
)]

mod common;
#[path = "common/prints.rs"]
mod prints;

use std::collections::{BTreeMap, BTreeSet};
use std::io::Write as _;
use std::process::{Command, Stdio};
use std::sync::LazyLock;

use common::{holes, texts, well_formed};
use faying_plan::Plan;
use faying_sheet::marks::{Dash, Drawing, Mark, Role, Text};
use faying_sheet::page::MARGIN;
use faying_sheet::{Document, Paper, pdf, svg};

static KIT: LazyLock<Plan> = LazyLock::new(prints::kit);

/// Half a point: less than the width of a stroke of the type.
const PLACE_PT: f64 = 0.5;
/// What the printer's check bar is trusted to.
const BAR: f64 = 0.002;
/// Depth of B612 below the base line, em, as the file's `hhea` has it: where poppler's boxes end.
const DEPTH: f64 = 0.25;

/// What one of poppler's programs makes of a PDF.
fn poppler(program: &str, words: &[&str], pdf: &[u8]) -> Vec<u8> {
    let mut child = Command::new(program)
        .args(words)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("{program} does not start ({error}): install poppler-utils"));
    let mut stdin = child.stdin.take().unwrap();
    let bytes = pdf.to_vec();
    let writer = std::thread::spawn(move || stdin.write_all(&bytes));
    let out = child.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    assert!(out.status.success(), "{program} {words:?} refuses the file");
    out.stdout
}

/// A word as poppler found it, pt.
#[derive(Clone, Debug)]
struct Word {
    text: String,
    left: f64,
    right: f64,
    bottom: f64,
}

/// The words of each page.
fn words(pdf: &[u8]) -> Vec<Vec<Word>> {
    let text = String::from_utf8(poppler("pdftotext", &["-bbox", "-", "-"], pdf)).unwrap();
    let mut pages = Vec::new();
    for line in text.lines().map(str::trim) {
        if line.starts_with("<page ") {
            pages.push(Vec::new());
        }
        let Some(rest) = line.strip_prefix("<word ") else { continue };
        let number = |name: &str| -> f64 {
            let from = rest.find(&format!("{name}=\"")).unwrap() + name.len() + 2;
            rest[from..].split('"').next().unwrap().parse().unwrap()
        };
        let text = rest.split('>').nth(1).unwrap().trim_end_matches("</word");
        pages.last_mut().unwrap().push(Word {
            text: unescaped(text),
            left: number("xMin"),
            right: number("xMax"),
            bottom: number("yMax"),
        });
    }
    pages
}

fn unescaped(text: &str) -> String {
    [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")]
        .iter()
        .fold(text.to_owned(), |text, (from, to)| text.replace(from, to))
}

/// A text as the SVG has it: the attributes as written, px.
#[derive(Debug)]
struct Written {
    text: String,
    at: [f64; 2],
    size: f64,
    anchor: String,
}

fn svg_texts(page: &Drawing) -> Vec<Written> {
    let svg = svg::write(page);
    svg.match_indices("<text ")
        .map(|(at, _)| {
            let element = &svg[at..svg[at..].find("</text>").unwrap() + at];
            let (head, text) = element.split_once('>').unwrap();
            let attribute = |name: &str| {
                let from = head.find(&format!(" {name}=\""))? + name.len() + 3;
                head[from..].split('"').next().map(str::to_owned)
            };
            let number = |name: &str| attribute(name).unwrap().parse::<f64>().unwrap();
            Written {
                text: unescaped(text),
                at: [number("x"), number("y")],
                size: number("font-size"),
                anchor: attribute("text-anchor").unwrap_or_else(|| "start".to_owned()),
            }
        })
        .collect()
}

/// How far the PDF puts a text from where the SVG puts it, pt; none if its words are not there.
fn off(written: &Written, words: &[Word]) -> Option<f64> {
    let [x, y] = written.at.map(|px| px * 0.75);
    let (first, last) =
        (written.text.split_whitespace().next()?, written.text.split_whitespace().next_back()?);
    let down = |word: &Word| (word.bottom - DEPTH * written.size * 0.75 - y).abs();
    let near = |wanted: String| words.iter().filter(move |word| word.text == wanted && down(word) < 2.0);
    let starts = || near(first.to_owned());
    let ends = || near(last.to_owned());
    let least = |offs: &mut dyn Iterator<Item = f64>| {
        offs.fold(None, |least: Option<f64>, off| Some(least.map_or(off, |least| least.min(off))))
    };
    match written.anchor.as_str() {
        "start" => least(&mut starts().map(|word| (word.left - x).abs().max(down(word)))),
        "end" => least(&mut ends().map(|word| (word.right - x).abs().max(down(word)))),
        _ => least(&mut starts().flat_map(|first| {
            ends().map(move |last| {
                (f64::midpoint(first.left, last.right) - x).abs().max(down(first)).max(down(last))
            })
        })),
    }
}

#[test]
fn texts_stand_in_the_pdf_where_they_stand_in_the_svg() {
    for (name, document) in [
        ("card", prints::card(&KIT, Paper::A4).pages(Paper::A4).unwrap()),
        ("labels", prints::labels(&KIT).pages(Paper::Letter).unwrap()),
        ("full size", prints::full(&KIT, "wing-left", "spar", Paper::A4)),
    ] {
        let pages = words(&pdf::write(&document).unwrap());
        assert_eq!(pages.len(), document.pages.len());
        let mut compared = 0;
        for (page, words) in document.pages.iter().zip(&pages) {
            for written in svg_texts(page) {
                let off = off(&written, words)
                    .unwrap_or_else(|| panic!("{name}, {}: {written:?} is not in the PDF", page.title));
                assert!(off <= PLACE_PT, "{name}, {}: {written:?} is {off:.2} pt off", page.title);
                compared += 1;
            }
        }
        assert!(compared > 80, "only {compared} texts of {name} were compared");
    }
}

/// The comparison itself must be able to fail.
#[test]
fn a_text_that_moves_by_a_point_is_seen() {
    let document = prints::labels(&KIT).pages(Paper::A4).unwrap();
    let pages = words(&pdf::write(&document).unwrap());
    let mut written = svg_texts(&document.pages[0]);
    for (axis, text) in written.iter_mut().take(2).enumerate() {
        assert!(off(text, &pages[0]).unwrap() <= PLACE_PT);
        text.at[axis] += 1.0 / 0.75;
        assert!(off(text, &pages[0]).unwrap() > PLACE_PT);
        text.text.push('x');
        assert_eq!(off(text, &pages[0]), None);
    }
}

/// A rendered page: width and grey values, row by row.
fn rendered(pdf: &[u8], page: usize, dpi: u32) -> (usize, Vec<u8>) {
    let (page, dpi) = (page.to_string(), dpi.to_string());
    let pgm = poppler("pdftoppm", &["-gray", "-r", &dpi, "-f", &page, "-l", &page, "-"], pdf);
    let mut at = 0;
    let mut fields = Vec::new();
    while fields.len() < 4 {
        let end = at + pgm[at..].iter().position(u8::is_ascii_whitespace).unwrap();
        fields.push(String::from_utf8(pgm[at..end].to_vec()).unwrap());
        at = end + 1;
    }
    assert_eq!(fields[0], "P5");
    (fields[1].parse().unwrap(), pgm[at..].to_vec())
}

/// Lengths of the dark runs that start at the left margin, px of the rendering.
fn runs_from_margin((width, grey): &(usize, Vec<u8>), margin: f64) -> Vec<f64> {
    let from = margin.round() as usize;
    grey.chunks(*width)
        .filter_map(|row| {
            let dark = |x: &usize| row[*x] < 128;
            let start = (from - 3..from + 3).find(dark)?;
            Some((start..*width).take_while(dark).count() as f64)
        })
        .collect()
}

#[test]
fn the_bars_are_as_long_as_they_say_on_every_sheet() {
    for paper in Paper::ALL {
        let document = prints::full(&KIT, "wing-left", "spar", paper);
        let bytes = pdf::write(&document).unwrap();
        let dpi = 300.0;
        for page in 1..=document.pages.len() {
            let runs = runs_from_margin(&rendered(&bytes, page, 300), MARGIN / 96.0 * dpi);
            for (words, inches) in [("100 mm", 100.0 / 25.4), ("4 in", 4.0)] {
                let want = inches * dpi;
                let near = runs.iter().copied().filter(|run| (run / want - 1.0).abs() < BAR);
                // The upper and the lower edge of the frame, each some three px thick.
                assert!(
                    (4..=10).contains(&near.clone().count()),
                    "{}, page {page}: no bar of {words} ({want:.1} px) among {:?}",
                    paper.name(),
                    runs.iter().filter(|run| **run > 900.0).collect::<BTreeSetOfRuns>()
                );
            }
        }
    }
}

/// Distinct runs, for a message.
#[derive(Debug)]
struct BTreeSetOfRuns(#[allow(dead_code, reason = "shown in a message")] BTreeSet<i64>);

impl<'a> FromIterator<&'a f64> for BTreeSetOfRuns {
    fn from_iter<I: IntoIterator<Item = &'a f64>>(runs: I) -> Self {
        Self(runs.into_iter().map(|run| *run as i64).collect())
    }
}

/// How often each hole of a plane is named.
fn named(document: &Document) -> BTreeMap<String, usize> {
    let mut named = BTreeMap::new();
    for hole in document.pages.iter().flat_map(holes) {
        *named.entry(hole.name).or_default() += 1;
    }
    named
}

fn holes_of(plan: &Plan, assembly: &str, plane: &str) -> BTreeSet<String> {
    let plane = common::plane_named(plan, assembly, plane);
    let rows = plan[plane].rows.iter();
    rows.flat_map(|row| plan[*row].hole_ids()).map(|hole| plan.hole_name(hole)).collect()
}

#[test]
fn every_hole_is_in_full_on_one_sheet() {
    for paper in Paper::ALL {
        for plane in ["spar", "upper", "lower"] {
            let document = prints::full(&KIT, "wing-left", plane, paper);
            let named = named(&document);
            assert_eq!(named.keys().cloned().collect::<BTreeSet<_>>(), holes_of(&KIT, "wing-left", plane));
            assert!(named.values().all(|count| *count == 1), "{named:?}");
        }
    }
    // Some of them do lie in an overlap, or the rule was never tried.
    let upper = prints::full(&KIT, "wing-left", "upper", Paper::A4);
    let mut faint = 0;
    for page in &upper.pages {
        page.walk(&mut |mark| {
            let dashed = |stroke: &faying_sheet::marks::Stroke| {
                stroke.role == Role::Faint && !stroke.dash.lengths().is_empty()
            };
            faint += usize::from(matches!(mark, Mark::Circle { stroke: Some(stroke), .. } if dashed(stroke)));
        });
    }
    assert!(faint > 3, "{faint} holes lie in an overlap");
}

/// Cutting along the lines of joining cuts no name off its hole.
#[test]
fn a_name_stands_on_the_same_side_of_a_join_as_its_hole() {
    let document = prints::full(&KIT, "wing-left", "upper", Paper::Letter);
    let mut near = 0;
    for page in &document.pages {
        let mut joins: Vec<[[f64; 2]; 2]> = Vec::new();
        let mut named: Vec<([f64; 2], [f64; 2], String)> = Vec::new();
        page.walk(&mut |mark| match mark {
            Mark::Path { shape, stroke: Some(stroke), .. }
                if stroke.dash == Dash::Chain && stroke.width == 0.8 =>
            {
                let points: Vec<[f64; 2]> = shape.points().collect();
                joins.push([points[0], points[1]]);
            }
            Mark::Group(group) => {
                let hole = group.marks.iter().find_map(|mark| match mark {
                    Mark::Circle { centre, .. } => Some(*centre),
                    _ => None,
                });
                let text = group.marks.iter().find_map(|mark| match mark {
                    Mark::Text(text) => Some(text.clone()),
                    _ => None,
                });
                named.extend(hole.zip(text).map(|(hole, text)| (hole, text.at, text.text)));
            }
            _ => {}
        });
        for [from, to] in joins {
            let axis = usize::from((from[0] - to[0]).abs() > 1.0);
            for (hole, text, words) in &named {
                near += usize::from((hole[axis] - from[axis]).abs() < 24.0);
                let same = (hole[axis] <= from[axis]) == (text[axis] <= from[axis]);
                assert!(same, "{}: {words} is cut off its hole", page.title);
            }
        }
    }
    assert!(near > 3, "{near} holes are near a line");
}

/// What can be read off the paper, not what the marks say: each name once over all sheets.
#[test]
fn every_name_is_read_once_on_the_full_size_sheets() {
    let document = prints::full(&KIT, "wing-left", "spar", Paper::A4);
    let text = poppler("pdftotext", &["-raw", "-", "-"], &pdf::write(&document).unwrap());
    let text = String::from_utf8(text).unwrap();
    let words: Vec<&str> = text.split_whitespace().collect();
    for name in holes_of(&KIT, "wing-left", "spar") {
        let mut parts = name.rsplit('/');
        let (number, row) = (parts.next().unwrap(), parts.next().unwrap());
        let count = words.windows(2).filter(|pair| pair == &[row, number]).count();
        assert_eq!(count, 1, "{name} is read {count} times");
    }
}

#[test]
fn full_size_is_full_size_and_sheets_fit_each_other() {
    for side in [faying_plan::Side::Near, faying_plan::Side::Far] {
        let plane = common::plane_named(&KIT, "wing-left", "upper");
        let document = faying_sheet::full_size::pages(
            &faying_sheet::FullSize {
                plan: &KIT,
                plane,
                side,
                hole: &|_| faying_sheet::FullSizeHole { diameter_in: Some(0.1), open: false },
                revision: "4".to_owned(),
                date: prints::day(),
                sheet: String::new(),
                author: String::new(),
            },
            Paper::A4,
        );
        let at: BTreeMap<String, [f64; 2]> = KIT[plane]
            .rows
            .iter()
            .flat_map(|row| KIT[*row].hole_ids())
            .filter_map(|hole| Some((KIT.hole_name(hole), KIT[hole].at?.inches())))
            .collect();
        let turn = if side == faying_plan::Side::Far { -1.0 } else { 1.0 };
        let mut corners = Vec::new();
        for page in &document.pages {
            let drawn = holes(page);
            let Some(first) = drawn.first() else { continue };
            let place = |name: &str| [turn * at[name][0] * 96.0, -at[name][1] * 96.0];
            let corner = [0, 1].map(|axis| place(&first.name)[axis] - first.centre[axis]);
            for hole in &drawn {
                assert!((hole.radius - 4.8).abs() < 1e-9, "0.1 in is 9.6 px across");
                for (axis, from) in corner.iter().enumerate() {
                    let off = place(&hole.name)[axis] - hole.centre[axis] - from;
                    assert!(off.abs() < 1e-6, "{} is {off} px off on {}", hole.name, page.title);
                }
            }
            corners.push((page, corner));
        }
        // Marks of joining: each lies on its like on exactly one other sheet.
        let mut marks: BTreeMap<[i64; 2], usize> = BTreeMap::new();
        for (page, corner) in &corners {
            page.walk(&mut |mark| {
                if let Mark::Circle { centre, radius: 5.0, fill: None, .. } = mark {
                    let key = [0, 1].map(|axis| ((centre[axis] + corner[axis]) * 100.0).round() as i64);
                    *marks.entry(key).or_default() += 1;
                }
            });
        }
        let alone = marks.values().filter(|count| **count != 2).count();
        let sheets_without_holes = document.pages.len() - corners.len();
        assert!(marks.len() > 20, "{} marks", marks.len());
        assert!(alone <= 8 * sheets_without_holes, "{alone} marks of joining have no like: {marks:?}");
    }
}

#[test]
fn the_map_of_a_card_has_every_hole_once_with_its_set_up() {
    for paper in Paper::ALL {
        let card = prints::card(&KIT, paper);
        for map in &card.maps {
            let drawn = holes(map);
            assert_eq!(
                drawn.iter().map(|hole| hole.name.clone()).collect::<BTreeSet<_>>(),
                holes_of(&KIT, "wing-left", "spar")
            );
            assert_eq!(drawn.len(), 112);
            let mut numbers: BTreeMap<String, u32> = BTreeMap::new();
            map.walk(&mut |mark| {
                let Mark::Group(group) = mark else { return };
                for mark in &group.marks {
                    if let Mark::Text(text) = mark {
                        *numbers.entry(text.text.clone()).or_default() += 1;
                    }
                }
            });
            let want: BTreeMap<String, u32> =
                card.set_ups.iter().map(|set_up| (set_up.number.to_string(), set_up.holes)).collect();
            assert_eq!(numbers, want);
        }
    }
}

/// Texts on texts and texts off the paper, anywhere on a print; a number in a hole is meant to be there.
fn assert_tidy(name: &str, document: &Document) {
    for page in &document.pages {
        let texts: Vec<(Text, [f64; 4])> = texts(page);
        for (index, (text, a)) in texts.iter().enumerate() {
            let [wide, high] = [page.width, page.height];
            assert!(
                a[0] >= MARGIN - 26.0
                    && a[2] <= wide - MARGIN + 1.0
                    && a[1] >= MARGIN - 8.0
                    && a[3] <= high - MARGIN + 1.0,
                "{name}, {}: {:?} {a:?} leaves the margins",
                page.title,
                text.text
            );
            for (other, b) in &texts[index + 1..] {
                let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
                assert!(
                    apart,
                    "{name}, {}: {:?} {a:?} falls on {:?} {b:?}",
                    page.title, text.text, other.text
                );
            }
        }
        let svg = svg::write(page);
        let (ids, refers) = well_formed(&svg).unwrap();
        assert!(refers.iter().all(|id| ids.contains(id)), "{name}: an id is missing");
        assert_eq!(ids.len(), ids.iter().collect::<BTreeSet<_>>().len(), "{name}: an id is there twice");
    }
}

#[test]
fn no_text_falls_on_another() {
    for paper in Paper::ALL {
        for (name, document) in prints::all(&KIT, paper) {
            assert_tidy(name, &document);
        }
        for (name, card) in prints::awkward(&KIT) {
            let document = card.pages(paper).unwrap();
            assert_tidy(name, &document);
            pdf::write(&document).unwrap();
        }
    }
}

#[test]
fn fonts_are_in_the_file_once() {
    let document = prints::full(&KIT, "wing-left", "upper", Paper::A4);
    let bytes = pdf::write(&document).unwrap();
    let list = String::from_utf8(poppler("pdffonts", &["-"], &bytes)).unwrap();
    let fonts: Vec<Vec<&str>> = list.lines().skip(2).map(|line| line.split_whitespace().collect()).collect();
    assert_eq!(fonts.len(), 2, "{list}");
    for weight in ["Bold", "Regular"] {
        assert!(fonts.iter().any(|font| font[0].contains(&format!("B612-{weight}"))), "{list}");
    }
    // Embedded, a subset, and with its characters named, so that text can be found and copied.
    assert_eq!(list.matches("yes yes yes").count(), 2, "{list}");
    assert!(bytes.len() < 400_000, "{} bytes", bytes.len());
}

#[test]
fn the_file_says_what_it_is() {
    let document = prints::card(&KIT, Paper::Letter).pages(Paper::Letter).unwrap();
    let bytes = pdf::write(&document).unwrap();
    let info = String::from_utf8(poppler("pdfinfo", &["-"], &bytes)).unwrap();
    for want in ["Run card: Left wing, flap hinge bay, spar: Main spar", "612 x 792 pts (letter)", "May 12"] {
        assert!(info.contains(want), "{want:?} is not in {info}");
    }
    let metadata = String::from_utf8(poppler("pdfinfo", &["-meta", "-"], &bytes)).unwrap();
    let squeezed: String = metadata.split_whitespace().collect();
    assert!(
        squeezed.contains("<pdfaid:part>2<") && squeezed.contains("<pdfaid:conformance>B<"),
        "{metadata}"
    );
    let count = document.pages.len();
    let text = String::from_utf8(poppler("pdftotext", &["-layout", "-", "-"], &bytes)).unwrap();
    for number in 1..=count {
        assert!(text.contains(&format!("{number} of {count}")), "page {number} is not numbered");
    }
}

/// Modules of a drawn code, dark ones as `#`, read at their middles.
fn modules(mark: &Mark, count: usize) -> Vec<String> {
    let Mark::Path { shape, .. } = mark else { panic!("a code is a path") };
    let points: Vec<[f64; 2]> = shape.points().collect();
    let rings: Vec<[f64; 4]> =
        points.chunks(4).map(|ring| [ring[0][0], ring[0][1], ring[2][0], ring[2][1]]).collect();
    let low = [0, 1].map(|axis| rings.iter().map(|ring| ring[axis]).fold(f64::INFINITY, f64::min));
    let high = rings.iter().map(|ring| ring[2]).fold(f64::NEG_INFINITY, f64::max);
    let module = (high - low[0]) / count as f64;
    (0..count)
        .map(|row| {
            (0..count)
                .map(|column| {
                    let [x, y] =
                        [low[0] + (column as f64 + 0.5) * module, low[1] + (row as f64 + 0.5) * module];
                    let dark = rings.iter().any(|r| r[0] <= x && x <= r[2] && r[1] <= y && y <= r[3]);
                    if dark { '#' } else { '.' }
                })
                .collect()
        })
        .collect()
}

/// The modules of the card's code, of which `reference/read_codes.py` (OpenCV) reads the address it names.
#[test]
fn the_code_is_the_one_that_was_read() {
    let read = include_str!("reference/code.txt");
    let (head, want) = read.split_once('\n').unwrap();
    assert_eq!(head, format!("read by OpenCV as {}", prints::ADDRESS));
    let card = prints::card(&KIT, Paper::A4).pages(Paper::A4).unwrap();
    let code = card.pages[0].marks.iter().max_by_key(|mark| match mark {
        Mark::Path { shape, .. } => shape.0.len(),
        _ => 0,
    });
    assert_eq!(modules(code.unwrap(), want.lines().count()), want.lines().collect::<Vec<_>>());
}
