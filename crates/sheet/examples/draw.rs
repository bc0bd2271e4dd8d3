//! Prints a drawing of the example flap as SVG: `draw web 360 far`, `draw upper 1180`, `draw section flush`;
//! with `stdin` a plan of your own: `draw stdin web 1180 < plan/tab.toml`;
//! `draw questions FOLDER` writes the questions of the tests as PDF.

#[path = "../tests/common/mod.rs"]
mod common;
#[path = "../tests/common/question.rs"]
mod question;

use faying_plan::Preparation;
use faying_plan::{PlaneId, Side, SourceText, read};
use faying_sheet::{
    HoleLook, HoleState, Paper, PlaneOptions, SectionInput, SectionSheet, ShopHead, pdf, plane_drawing,
    section_drawing, svg,
};
use faying_standards::HeadStyle;

#[allow(clippy::print_stdout, reason = "an example that prints")]
fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if let [first, folder] = words.as_slice()
        && first == "questions"
    {
        questions(std::path::Path::new(folder));
        return;
    }
    let has = |word: &str| words.iter().any(|w| w == word);
    if has("section") {
        let width = words.iter().find_map(|word| word.parse().ok()).unwrap_or(420.0);
        println!("{}", svg::write(&section_drawing(&section(has("flush"), !has("far"), width))));
        return;
    }
    let text = if has("stdin") {
        std::io::read_to_string(std::io::stdin()).unwrap_or_default()
    } else {
        include_str!("../tests/data/flap-left.toml").to_owned()
    };
    let plan = read(vec![SourceText { name: "plan/flap-left.toml".into(), text: text.into() }]).plan;
    let Some(plane) = plan.planes.iter().position(|plane| has(&plane.name)).map(PlaneId::from_index) else {
        println!("name a plane: {:?}", plan.planes.iter().map(|plane| &plane.name).collect::<Vec<_>>());
        return;
    };
    let look = |hole: faying_plan::HoleId| {
        let number = plan[hole].number;
        let state = match number {
            14 | 16 => HoleState::SetMeasured,
            15 => HoleState::Set,
            19 => HoleState::Fault,
            18 | 20 | 22 => HoleState::Now,
            5..=7 | 30..=32 => HoleState::Open,
            1..=3 | 36.. => HoleState::Other,
            _ => HoleState::ToDo,
        };
        HoleLook { state, letter: (number == 6).then_some('H'), emphasis: number == 27 }
    };
    let mut options = PlaneOptions {
        width: words.iter().find_map(|word| word.parse().ok()).unwrap_or(1180.0),
        touch: true,
        letters: vec![('H', "hold".to_owned())],
        revision: "4".to_owned(),
        date: "12 May".to_owned(),
        sheet: "F-2, step 3".to_owned(),
        ..PlaneOptions::default()
    };
    if has("window") {
        options.window = Some([14.0, -0.5, 34.0, 5.0]);
        options.title_block = false;
    }
    if has("later") {
        let rib = |piece: &faying_plan::PieceId| plan.piece_name(*piece).starts_with("rib");
        options.later = plan[plane].layers.iter().map(|layer| layer.piece).filter(rib).collect();
    }
    if has("touch") {
        options.least_pitch = 24.0;
    }
    let side = if has("far") { Side::Far } else { Side::Near };
    println!("{}", svg::write(&plane_drawing(&plan, plane, side, &look, &options)));
}

#[allow(
    clippy::disallowed_types,
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "an example that writes files"
)]
fn questions(folder: &std::path::Path) {
    let plan = question::flap();
    for paper in Paper::ALL {
        for (name, question) in question::all(&plan) {
            let document = question.page(paper).unwrap();
            let file = format!("question-{name}-{}.pdf", paper.name().to_lowercase());
            std::fs::write(folder.join(file), pdf::write(&document).unwrap()).unwrap();
        }
    }
}

/// The numbers are for the look of the drawing only; they are no advice on a joint.
fn section(flush: bool, head_on_near: bool, width: f64) -> SectionInput {
    let sheet = |name: &str, thickness_in, preparation| SectionSheet {
        name: name.to_owned(),
        thickness_in,
        preparation,
    };
    let common = SectionInput {
        key: "section".to_owned(),
        width,
        title: "Hole A 18".to_owned(),
        sheets: vec![
            sheet("doubler", 0.063, Preparation::Plain),
            sheet("web", 0.040, Preparation::Plain),
            sheet("cap/lower", 0.040, Preparation::Plain),
        ],
        head: HeadStyle::Universal,
        shank_in: 0.125,
        length_in: 0.3125,
        hole_in: 0.1285,
        head_dia_in: 0.250,
        head_height_in: 0.054,
        head_on_near,
        seat_to_seat_in: 0.143,
        shop_head: Some(ShopHead { width_in: 0.205, height_in: 0.060 }),
        near_name: "aft".to_owned(),
        far_name: "forward".to_owned(),
    };
    if !flush {
        return common;
    }
    SectionInput {
        sheets: vec![
            sheet("skin", 0.025, Preparation::Dimpled),
            sheet("cap/upper", 0.040, Preparation::Dimpled),
        ],
        head: HeadStyle::Flush,
        shank_in: 0.09375,
        length_in: 0.21875,
        hole_in: 0.105,
        head_dia_in: 0.179,
        head_height_in: 0.036,
        seat_to_seat_in: 0.096,
        shop_head: Some(ShopHead { width_in: 0.135, height_in: 0.045 }),
        near_name: "upper".to_owned(),
        far_name: "lower".to_owned(),
        ..common
    }
}
