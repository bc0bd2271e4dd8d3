//! The question to whoever decides: one page whatever is asked, and nothing lost in silence.
#![allow(clippy::unwrap_used, reason = "tests")]

mod common;
#[path = "common/question.rs"]
mod question;

use std::sync::LazyLock;

use common::{Drawn, holes, texts};
use faying_plan::{Plan, Side};
use faying_sheet::marks::{Drawing, Fill, Mark, Role, Segment, Stroke};
use faying_sheet::page::MARGIN;
use faying_sheet::question::{Question, RuleLine};
use faying_sheet::{Paper, pdf};

static FLAP: LazyLock<Plan> = LazyLock::new(question::flap);

/// What stands for drawings that find no room at all.
const LEFT_OUT: &str = "The drawings are on the page of the fault.";

fn page(question: &Question<'_>, paper: Paper) -> Drawing {
    let mut document = question.page(paper).unwrap();
    assert_eq!(document.pages.len(), 1, "one page");
    document.pages.remove(0)
}

fn words(page: &Drawing) -> Vec<String> {
    texts(page).into_iter().map(|(text, _)| text.text).collect()
}

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

#[test]
fn it_is_one_page_and_no_text_falls_on_another_or_off_it() {
    for paper in Paper::ALL {
        for (name, question) in question::all(&FLAP) {
            let page = page(&question, paper);
            let [wide, high] = paper.px();
            assert_eq!([page.width, page.height], [wide, high]);
            let texts = texts(&page);
            for (index, (text, a)) in texts.iter().enumerate() {
                assert!(
                    a[0] >= MARGIN - 1.0
                        && a[2] <= wide - MARGIN + 1.0
                        && a[1] >= MARGIN - 1.0
                        && a[3] <= high - MARGIN + 1.0,
                    "{name}, {}: {:?} {a:?} leaves the margins",
                    paper.name(),
                    text.text
                );
                for (other, b) in &texts[index + 1..] {
                    let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
                    assert!(
                        apart,
                        "{name}, {}: {:?} {a:?} falls on {:?} {b:?}",
                        paper.name(),
                        text.text,
                        other.text
                    );
                }
            }
        }
    }
}

/// Room is kept for an answer by hand: ruled lines across the page, wide enough for handwriting.
#[test]
fn there_is_always_room_for_an_answer() {
    for paper in Paper::ALL {
        for (name, question) in question::all(&FLAP) {
            let page = page(&question, paper);
            let answer = texts(&page).into_iter().find(|(text, _)| text.text == "Answer").unwrap().0.at[1];
            let mut lines: Vec<f64> = Vec::new();
            page.walk(&mut |mark| {
                let Mark::Path { shape, stroke: Some(stroke), .. } = mark else { return };
                let points: Vec<[f64; 2]> = shape.points().collect();
                let [[left, y], [right, end]] = points[..] else { return };
                if *stroke == Stroke::solid(Role::Faint, 0.6)
                    && y == end
                    && y > answer
                    && right - left > 690.0
                {
                    lines.push(y);
                }
            });
            assert!(lines.len() >= 3, "{name}, {}: {} lines", paper.name(), lines.len());
            assert!(lines.windows(2).all(|pair| pair[1] - pair[0] >= 22.9), "{name}: {lines:?}");
            for field in ["Name", "Role", "Date", "Signature"] {
                assert!(words(&page).contains(&field.to_owned()), "{name}: no {field}");
            }
        }
    }
}

#[test]
fn every_character_is_in_the_typeface() {
    for paper in Paper::ALL {
        for (name, question) in question::all(&FLAP) {
            let replaced = pdf::substitute(&mut question.page(paper).unwrap());
            assert!(replaced.is_empty(), "{name}: {replaced:?}");
        }
    }
}

/// The writer keeps PDF/A-2b or refuses.
#[test]
fn the_fullest_page_can_be_kept() {
    let document = question::most(&FLAP).page(Paper::Letter).unwrap();
    let bytes = pdf::write(&document).unwrap();
    assert!(bytes.starts_with(b"%PDF-1.7"), "{:?}", &bytes[..8]);
    assert_eq!(document.title.split(':').next(), Some("Question to the inspector"));
}

/// The lists of a question: what stands before each on the page, and the words of each item.
fn lists(question: &Question<'_>) -> Vec<(&'static str, Vec<Vec<String>>)> {
    let single = |items: &[String]| items.iter().map(|item| vec![item.clone()]).collect::<Vec<_>>();
    let compared = question.compared.iter();
    let options = question.options.iter();
    vec![
        (
            "What was planned, and what is there",
            compared.map(|it| vec![it.what.clone(), it.planned.clone(), it.there.clone()]).collect(),
        ),
        (
            "What the rules say",
            question
                .rules
                .iter()
                .map(|it| vec![it.rule.clone(), it.asks.clone(), it.reading.clone(), it.says.clone()])
                .collect(),
        ),
        ("Published otherwise", single(&question.published)),
        ("Not checked", single(&question.unchecked)),
        (
            "Strength, as built over as planned",
            question
                .strength
                .iter()
                .map(|it| {
                    let ratio = it.ratio.clone().unwrap_or_else(|| "no figure".to_owned());
                    vec![it.place.clone(), it.planned.clone(), it.built.clone(), ratio, it.left_out.clone()]
                })
                .collect(),
        ),
        ("Working", single(&question.working)),
        (
            "Options considered",
            options
                .map(|it| [&it.option, &it.hole, &it.edge, &it.pitch, &it.effect].map(Clone::clone).to_vec())
                .collect(),
        ),
        ("Repairs so far", single(&question.repairs)),
        ("Photographs", single(&question.photographs)),
        ("Answer", Vec::new()),
    ]
}

/// How many the mark of a cut says are missing or cut short.
fn missing_by_mark(section: &[String]) -> usize {
    let marks = section.iter().filter_map(|text| text.strip_suffix(" on the page of the fault"));
    let counts = marks.filter_map(|text| text.rsplit_once("… ").map(|(_, said)| said));
    counts.flat_map(str::split_whitespace).filter_map(|word| word.parse::<usize>().ok()).sum()
}

#[test]
fn every_sentence_is_there_or_its_list_says_how_many_are_not() {
    let mut cut = 0;
    for paper in Paper::ALL {
        for (name, question) in question::all(&FLAP) {
            let words = words(&page(&question, paper));
            let lists: Vec<_> = lists(&question)
                .into_iter()
                .filter(|(head, items)| *head == "Answer" || !items.is_empty())
                .collect();
            for pair in lists.windows(2) {
                let (head, items) = &pair[0];
                let from =
                    words.iter().position(|word| word == head).unwrap_or_else(|| panic!("{name}: {head}"));
                let to = words.iter().position(|word| *word == pair[1].0).unwrap();
                let section = &words[from..to];
                let flat = squeezed(&section.join(" "));
                let missing = items
                    .iter()
                    .filter(|cells| cells.iter().any(|cell| !flat.contains(&squeezed(cell))))
                    .count();
                assert_eq!(
                    missing,
                    missing_by_mark(section),
                    "{name}, {}: {head} has not all of its {}: {section:?}",
                    paper.name(),
                    items.len()
                );
                cut += missing;
            }
            let all = squeezed(&words.join(" "));
            let drawings_left_out = words.iter().any(|word| word == LEFT_OUT);
            let mut sentences = vec![&question.fault, &question.asks, &question.gate];
            if question.section.is_some() && !drawings_left_out {
                sentences.push(&question.section_says);
            }
            for sentence in sentences {
                let begins: String = squeezed(sentence).chars().take(20).collect();
                assert!(all.contains(&begins), "{name}: {sentence}");
                let more = words.iter().any(|word| word.ends_with("… more on the page of the fault"));
                assert!(all.contains(&squeezed(sentence)) || more, "{name}: {sentence}");
            }
        }
    }
    assert!(cut > 300, "only {cut} items were cut: the longest case is not long");
}

#[test]
fn a_usual_fault_is_not_cut_on_either_paper() {
    for paper in Paper::ALL {
        for (name, question) in question::all(&FLAP) {
            if !name.starts_with("most") {
                let cut: Vec<String> =
                    words(&page(&question, paper)).into_iter().filter(|text| text.contains('…')).collect();
                assert!(cut.is_empty(), "{name}, {}: {cut:?}", paper.name());
            }
        }
    }
}

/// The readings and the ruling rule outlast everything else.
#[test]
fn what_an_answer_needs_most_is_cut_last() {
    for paper in Paper::ALL {
        let words = words(&page(&question::most(&FLAP), paper));
        for want in ["compared 1", "rule 17 – rules this build", "place 1", "option 1"] {
            assert!(words.iter().any(|word| word == want), "{want} is cut");
        }
        assert!(
            !words.iter().any(|word| word.starts_with("working 1 ")),
            "the working stands where readings are cut"
        );
    }
}

/// The page shows and computes; it never says of a part that it may fly.
#[test]
fn no_word_approves() {
    let never = [
        "ok",
        "okay",
        "safe",
        "safely",
        "approved",
        "approve",
        "approves",
        "approval",
        "acceptable",
        "accept",
        "accepted",
        "accepts",
        "legal",
        "airworthy",
        "permitted",
        "allowed",
        "passed",
        "pass",
        "good",
    ];
    for (name, question) in question::all(&FLAP) {
        let text = words(&page(&question, Paper::A4)).join(" ").to_lowercase();
        for word in text.split(|c: char| !c.is_alphabetic()) {
            assert!(!never.contains(&word), "{name}: {word:?} is on the page");
        }
    }
}

/// Black and white: nothing is told by a colour.
#[test]
fn nothing_is_coloured() {
    for (name, question) in question::all(&FLAP) {
        page(&question, Paper::A4).walk(&mut |mark| {
            let role = |stroke: &Option<Stroke>| stroke.map(|stroke| stroke.role);
            let fill = |fill: &Option<Fill>| match fill {
                Some(Fill::Flat(role) | Fill::Hatch(role, _)) => Some(*role),
                None => None,
            };
            let roles = match mark {
                Mark::Path { fill: area, stroke, .. } | Mark::Circle { fill: area, stroke, .. } => {
                    [fill(area), role(stroke)]
                }
                Mark::Text(text) => [Some(text.role), None],
                Mark::Target { .. } | Mark::Group(_) => [None, None],
            };
            let coloured = roles.iter().flatten().any(|role| matches!(role, Role::Accent | Role::Warn));
            assert!(!coloured, "{name}: {mark:?}");
        });
    }
}

#[test]
fn the_ruling_rule_is_first_and_alone_marked() {
    let question = Question {
        rules: ["first", "second", "third"]
            .map(|rule| RuleLine { rule: rule.to_owned(), ruling: rule == "third", ..RuleLine::default() })
            .to_vec(),
        ..question::counted(&FLAP)
    };
    let page = page(&question, Paper::A4);
    let rules: Vec<String> = words(&page)
        .into_iter()
        .filter(|word| ["first", "second", "third"].iter().any(|rule| word.starts_with(rule)))
        .collect();
    assert_eq!(rules, ["third – rules this build", "first", "second"]);
    let mut bars = 0;
    page.walk(&mut |mark| {
        bars += usize::from(matches!(mark, Mark::Path { stroke: Some(stroke), .. } if stroke.width == 3.0));
    });
    assert_eq!(bars, 1);
}

/// Px to the inch that the words below the cut-out promise.
fn scale_said(page: &Drawing) -> f64 {
    let all = words(page).join(" ");
    let said = all.split("Scale ").nth(1).unwrap().split(' ').next().unwrap().to_owned();
    let (paper, part) = said.split_once(':').unwrap();
    96.0 * paper.parse::<f64>().unwrap() / part.parse::<f64>().unwrap()
}

fn drawn<'d>(holes: &'d [Drawn], name: &str) -> &'d Drawn {
    holes.iter().find(|hole| hole.name == name).unwrap_or_else(|| panic!("{name} is not drawn"))
}

#[test]
fn the_cut_out_is_to_the_scale_it_says() {
    for paper in Paper::ALL {
        for (side, turn) in [(Side::Near, 1.0), (Side::Far, -1.0)] {
            let page = page(&question::short_edge(&FLAP, side), paper);
            let scale = scale_said(&page);
            let holes = holes(&page);
            let first = drawn(&holes, "flap-left/web/K/1");
            // The holes round it as well, or nothing is compared.
            drawn(&holes, "flap-left/web/K/2");
            drawn(&holes, "flap-left/web/D/1");
            for hole in &holes {
                let at = |name: &str| FLAP[FLAP.hole_named(name).unwrap()].at.unwrap().inches();
                let [a, b] = [at(&first.name), at(&hole.name)];
                let want = [turn * (b[0] - a[0]) * scale, -(b[1] - a[1]) * scale];
                for axis in [0, 1] {
                    let got = hole.centre[axis] - first.centre[axis];
                    assert!(
                        (got - want[axis]).abs() < 1e-6,
                        "{} is {got} px off K 1, not {}",
                        hole.name,
                        want[axis]
                    );
                }
                assert!((hole.radius - 0.1285 / 2.0 * scale).abs() < 1e-6, "{}", hole.name);
            }
        }
    }
}

#[test]
fn only_the_fault_is_ringed() {
    for (question, want) in [(question::short_edge(&FLAP, Side::Near), 1), (question::overdriven(&FLAP), 12)]
    {
        let page = page(&question, Paper::A4);
        let mut ringed = 0;
        page.walk(&mut |mark| {
            if let Mark::Group(group) = mark {
                let ring = |mark: &Mark| matches!(mark, Mark::Circle { fill: None, stroke: Some(stroke), .. } if stroke.width == 2.0);
                ringed += usize::from(group.marks.iter().any(ring));
            }
        });
        assert_eq!(ringed, want);
    }
}

/// Tips of the arrowheads, px: filled triangles, the tip first.
fn tips(page: &Drawing) -> Vec<[f64; 2]> {
    let mut tips = Vec::new();
    page.walk(&mut |mark| {
        if let Mark::Path { shape, fill: Some(Fill::Flat(Role::Ink)), stroke: None } = mark
            && let [Segment::Move(tip), Segment::Line(_), Segment::Line(_), Segment::Close] = shape.0[..]
        {
            tips.push(tip);
        }
    });
    tips
}

/// From K 1 to the doubler's edge the plan has .35 in, to K 2 .9 in: read off the plan's own numbers.
#[test]
fn arrows_stand_as_far_apart_as_the_plan_has_it() {
    let page = page(&question::short_edge(&FLAP, Side::Near), Paper::A4);
    let scale = scale_said(&page);
    let tips = tips(&page);
    assert_eq!(tips.len(), 4);
    let lengths: Vec<f64> =
        tips.chunks(2).map(|pair| (pair[0][0] - pair[1][0]).hypot(pair[0][1] - pair[1][1]) / scale).collect();
    for (got, want) in lengths.iter().zip([0.35, 0.9]) {
        assert!((got - want).abs() < 1e-6, "{got} in between the tips, not {want}");
    }
}

/// A dimension that finds no room, or lies beyond the frame, is said below the drawing.
#[test]
fn no_dimension_is_lost() {
    for paper in Paper::ALL {
        for (name, question) in question::all(&FLAP) {
            let Some(cut_out) = &question.cut_out else { continue };
            let all = words(&page(&question, paper)).join(" ");
            if all.contains(LEFT_OUT) {
                assert_eq!(name, "most-thick");
                continue;
            }
            for dimension in &cut_out.dimensions {
                for (word, value) in [("planned", &dimension.planned), ("there", &dimension.there)] {
                    assert!(
                        value.is_empty() || all.contains(&format!("{word} {value}")),
                        "{name}: {dimension:?}"
                    );
                }
            }
        }
    }
}

/// Where the plan draws nothing there is no drawing, and the words are set larger for it.
#[test]
fn a_counted_row_has_no_drawing_and_more_room() {
    let size = |question: &Question<'_>| {
        let page = page(question, Paper::A4);
        texts(&page).into_iter().find(|(text, _)| text.text == "not set").unwrap().0.size
    };
    let counted = question::counted(&FLAP);
    assert!(holes(&page(&counted, Paper::A4)).is_empty());
    assert!(size(&counted) > size(&question::short_edge(&FLAP, Side::Near)));
}

#[test]
fn an_address_that_no_phone_reads_is_refused() {
    let address = format!("http://bench.example/{}", "x".repeat(700));
    let error = Question { address, ..question::least() }.page(Paper::A4).unwrap_err().to_string();
    assert!(error.ends_with("shorten the address"), "{error}");
}

/// What is read, from the top: the fault, the facts, the rules, the numbers, the options, the answer.
#[test]
fn the_order_is_that_of_an_answer() {
    let page = page(&question::counted(&FLAP), Paper::A4);
    insta::assert_snapshot!(words(&page).join("\n"), @r"
    Question to the designer
    2026-05-12
    The hole at the lower inboard corner of the inboard doubler was drilled too near the
    doubler's lower edge.
    May the hole be filled as it is, or what is to be done about it? Nothing is set in this row yet.
    Page of the fault, with the photographs: http://bench.local:4780/fault/flap-left/web/K/1
    Holes
    web K 1
    Build
    Teasel Two, number 7
    Assembly
    Left flap
    Plane
    Spar web, seen from aft
    Sheet
    FL-1, step 2
    Plan revision
    4
    What was planned, and what is there
    Planned
    There
    Fastener
    MS20470AD4-4.5, manufactured head
    aft
    not set
    Stack, aft to forward
    spar .040 2024-T3, doubler .071
    2024-T3
    as planned, looked at
    Hole
    #30, .1285 in
    .129 in ± .001, pin gauges
    Edge distance, doubler
    .350 in, 2.8 d
    .210 in ± .010, steel rule; 1.68 d
    Edge distance, spar
    .600 in, 4.8 d
    .460 in ± .010, steel rule; 3.68 d
    Pitch to K 2
    .900 in, 7.2 d
    1.040 in ± .010, steel rule; 8.32 d
    What the rules say
    Rule
    Asks
    Reading
    Says
    Kit manual, 5-3 – rules this
    build
    2 d, or ask
    .210 in, 1.68 d
    short by .040 in: ask
    AC 43.13-1B, 4-57
    2 d for a protruding head
    .210 in, 1.68 d
    short by .040 in
    Published otherwise
    MIL-HDBK-5H gives bearing at 1.5 d as well as at 2 d; below 1.5 d it gives none.
    Not checked
    Fatigue.  ·  Whether the lower hole edge was reamed or deburred on the faying side.
    Strength, as built over as planned
    Where
    As planned
    As built
    Built / planned
    Left out
    Hole K 1
    388 lb, rivet shear
    388 lb, rivet shear
    1.00
    bearing of the doubler interpolated
    Ends of the
    doubler, 6 holes
    2328 lb
    no figure
    the load of the bracket is not in the
    plan
    Working
    Rivet shear 30 000 psi × .01297 in² = 389 lb.
    Bearing .1285 × .040 × Fbr at e/D 1.68 from the table's 1.5 and 2.0.
    Options considered
    Option
    Hole
    Edge distance
    Pitch
    Effect
    Leave it, set as called
    #30
    1.68 d
    8.3 d
    edge distance stays short
    Next size, MS20470AD5
    #21, .159 in
    1.34 d
    6.7 d
    edge distance in diameters falls further;
    under 1.5 d no bearing value is published
    A second rivet beside it
    #30
    1.68 d
    4.1 d
    the short hole stays; a new hole between K
    1 and K 2
    New doubler
    #30
    2.8 d
    7.2 d
    six holes to match-drill again; the spar's
    hole is already off its place
    Repairs so far
    0 of 6 holes of this pattern were repaired; nothing was set or removed in this hole.
    Photographs
    flap-left-K1-01.jpg  ·  flap-left-K1-02.jpg
    Answer
    Name
    Role
    Date
    Signature
    To be written down at this fault, with the name and the role of whoever answers; until then it stands against the gate closing the left
    flap.
    What was planned, measured and reckoned. Nothing here says that the part may stay as it is: that is for the designer to say.
    ");
}
