//! The ways in which one riveted hole can give way.
//!
//! The rivet shears, a sheet bears, the strip between two holes tears, the
//! metal behind the hole shears out. For rivets with protruding heads in plain
//! sheet each is computed on the listed hole: a larger hole earns nothing, and
//! over its limit there is no figure. For a flush joint shear and bearing come
//! together from a row of tests, or are blank; they are never computed.
//!
//! A mode without a figure is named with its reason, and then the lowest of
//! the others is no more than an upper limit. The factors for thin sheet and
//! for double shear are not known here.

use faying_plan::Preparation;
use faying_standards::strength::{RivetShear, SheetStrength};
use faying_standards::{
    Area, Cited, Diameter, Force, HeadStyle, HoleRole, Length, RivetType, Working, figures,
};
use serde::Serialize;

use super::{figure, theory};

/// Pounds per square inch in a ksi.
const KSI: f64 = 1e3;

/// One load-bearing sheet at a hole.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Its alloy as the plan names it; `None` where the plan says nothing.
    pub alloy: Option<String>,
    /// Its thickness.
    pub thickness: Length,
    /// What was done to it at this hole.
    pub preparation: Preparation,
}

/// The shop head against the handbook's least, 1.3 d wide and .3 d high, on which its values rest.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Head {
    /// At least that.
    Within,
    /// Less than that.
    Under,
    /// Not measured; taken to be within, and said.
    #[default]
    NotMeasured,
}

/// A hole, as planned or as built.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    /// The rivet in it; `None` for an empty hole.
    pub rivet: Option<RivetType>,
    /// The hole as drilled.
    pub diameter: Length,
    /// Hole centre to the nearest edge towards which the load pulls, the least of all sheets.
    pub edge_distance: Option<Length>,
    /// Distance to the next hole of the row.
    pub pitch: Option<Length>,
    /// The sheets that carry, near to far.
    pub sheets: Vec<Sheet>,
    /// The shop head.
    pub head: Head,
    /// Whether there are two shear planes.
    pub double_shear: bool,
}

/// A way to give way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ModeName {
    /// The rivet shears.
    RivetShear,
    /// A sheet bears on the rivet.
    Bearing,
    /// A flush joint as tabulated: shear and bearing in one.
    FlushJoint,
    /// The strip between two holes tears.
    NetSection,
    /// The metal behind the hole shears out.
    ShearOut,
}

impl ModeName {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::RivetShear => "rivet shear",
            Self::Bearing => "bearing",
            Self::FlushJoint => "flush joint",
            Self::NetSection => "net section",
            Self::ShearOut => "shear-out",
        }
    }
}

/// One mode of one hole; bearing, net section and shear-out once for each sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    /// Which.
    pub name: ModeName,
    /// The sheet, from 0, where it is about one.
    pub sheet: Option<usize>,
    /// The load at which it gives way, ultimate; `None` where it is not known.
    pub ultimate: Option<Force>,
    /// Whether the figure is an upper limit, because a factor is left out of it.
    pub at_most: bool,
    /// Why there is no figure, or what is left out of it; empty where nothing is.
    pub left_out: String,
    /// What it rests on, for two holes to be set side by side: the same but for this number.
    pub(crate) measure: Measure,
}

impl Mode {
    /// `rivet shear`, `bearing of sheet 2`.
    #[must_use]
    pub fn words(&self) -> String {
        match self.sheet {
            Some(sheet) => format!("{} of sheet {}", self.name.words(), sheet + 1),
            None => self.name.words().to_owned(),
        }
    }
}

/// What a mode is proportional to while alloy, rivet and sheets stay what they are.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Measure {
    /// The number; `None` where it is not known.
    pub value: Option<f64>,
    /// What must be the same on both sides for two numbers to be compared.
    pub of: String,
    /// Everything the mode rests on: where that is the same on both sides, nothing of it was lost.
    /// `None` where the question is for the designer, whatever was planned.
    pub all: Option<String>,
}

impl Measure {
    const ASK: Self = Self { value: None, of: String::new(), all: None };
}

/// What is known of the strength of one hole.
#[derive(Clone, Debug, PartialEq)]
pub struct Strength {
    /// Every mode, with or without a figure.
    pub modes: Vec<Mode>,
    /// The lowest figure; with a mode left out, the hole may be weaker.
    pub lowest: Option<Force>,
    /// The mode that governs: the lowest. `None` where a mode or a factor is left out that could be lower.
    pub governs: Option<ModeName>,
    /// What is left out, each as a sentence.
    pub left_out: Vec<String>,
    /// By which convention the rivet's shear is reckoned, and what others say.
    pub convention: Vec<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// Formula, numbers, result, source.
    pub working: Working,
}

/// Rivet shear, force: planes·A·F. Any consistent units.
#[must_use]
pub fn rivet_shear(area: f64, stress: f64, planes: f64) -> f64 {
    planes * area * stress
}

/// Bearing of one sheet, force: d·t·F. Any consistent units.
#[must_use]
pub fn bearing(diameter: f64, thickness: f64, stress: f64) -> f64 {
    diameter * thickness * stress
}

/// Tearing of the strip left between holes, force: (p − dh)·t·F. Any consistent units.
#[must_use]
pub fn net_section(pitch: f64, hole: f64, thickness: f64, stress: f64) -> f64 {
    (pitch - hole) * thickness * stress
}

/// Shear-out behind a hole, the conservative form, force: 2·t·(e − dh/2)·F. Any consistent units.
#[must_use]
pub fn shear_out(edge: f64, hole: f64, thickness: f64, stress: f64) -> f64 {
    2.0 * thickness * (edge - hole / 2.0) * stress
}

/// The largest hole for which there is a figure: the band quoted for the rivet, else the listed hole as its
/// drill may leave it.
#[must_use]
pub fn largest_hole(diameter: Diameter) -> Option<(Length, Cited)> {
    let band = figures().holes_for(diameter).find(|hole| hole.role == HoleRole::Band);
    if let Some((most, cited)) = band.and_then(|hole| Some((hole.max?, hole.cited.clone()))) {
        return Some((most, cited));
    }
    let listed = figures().listed_hole(diameter)?.nominal?;
    let over = figures().constant("hole-over");
    Some((listed + over.length()?, over.cited.clone()))
}

/// The ways in which a hole can give way, each with its figure or why there is none.
///
/// # Units
/// - `hole`: lengths
/// - returns: ultimate loads on one hole, lbf; net section for one pitch of the row
///
/// # Source
/// Theory chapter, "Strength"; `mil-hdbk-5h` 8.1.2 for the listed hole and the
/// lower of shear and bearing. Most values of rivet and sheet are from memory.
#[must_use]
pub fn modes(hole: &Hole) -> Strength {
    let mut found = Finder { hole, working: Working::default(), modes: Vec::new(), assumed: Vec::new() };
    let mut convention = Vec::new();
    match hole.rivet {
        None => found.empty(),
        Some(rivet) => {
            if hole.head == Head::NotMeasured {
                found.assumed.push(
                    "the shop head is taken to be at least 1.3 d wide and .3 d high; it was not measured"
                        .to_owned(),
                );
            }
            found.with_rivet(rivet, &mut convention);
        }
    }
    for sheet in 0..hole.sheets.len() {
        found.net_section(sheet);
        found.shear_out(sheet);
    }
    if hole.sheets.is_empty() {
        let why = "the sheets are not known";
        for name in [ModeName::Bearing, ModeName::NetSection, ModeName::ShearOut] {
            found.leave_out(name, None, why, Measure::ASK);
        }
    }
    let Finder { modes, working, assumed, .. } = found;
    let lowest = modes
        .iter()
        .filter_map(|mode| Some((mode.ultimate?, mode.name)))
        .min_by(|one, other| one.0.lbf().total_cmp(&other.0.lbf()));
    let left_out: Vec<String> = modes
        .iter()
        .filter(|mode| !mode.left_out.is_empty())
        .map(|mode| format!("{}: {}", mode.words(), mode.left_out))
        .collect();
    Strength {
        lowest: lowest.map(|it| it.0),
        governs: lowest.filter(|_| left_out.is_empty()).map(|it| it.1),
        modes,
        left_out,
        convention,
        assumed,
        working,
    }
}

struct Finder<'a> {
    hole: &'a Hole,
    modes: Vec<Mode>,
    working: Working,
    assumed: Vec<String>,
}

impl Finder<'_> {
    fn give(&mut self, name: ModeName, sheet: Option<usize>, ultimate: Force, measure: Measure) {
        self.modes.push(Mode {
            name,
            sheet,
            ultimate: Some(ultimate),
            at_most: false,
            left_out: String::new(),
            measure,
        });
    }

    fn leave_out(&mut self, name: ModeName, sheet: Option<usize>, why: impl Into<String>, measure: Measure) {
        self.modes.push(Mode { name, sheet, ultimate: None, at_most: false, left_out: why.into(), measure });
    }

    fn empty(&mut self) {
        self.working.add("empty hole", "", "", "carries nothing", theory());
        let measure = Measure { value: Some(0.0), of: String::new(), all: None };
        self.give(ModeName::RivetShear, None, Force::from_lbf(0.0), measure);
    }

    fn with_rivet(&mut self, rivet: RivetType, convention: &mut Vec<String>) {
        let flush = rivet.head == HeadStyle::Flush
            || self.hole.sheets.iter().any(|sheet| sheet.preparation != Preparation::Plain);
        let names: &[ModeName] =
            if flush { &[ModeName::FlushJoint] } else { &[ModeName::RivetShear, ModeName::Bearing] };
        let nothing = |found: &mut Self, why: &str| {
            for name in names {
                found.leave_out(*name, None, why, Measure::ASK);
            }
        };
        if self.hole.head == Head::Under {
            return nothing(
                self,
                "the head is under 1.3 d wide or .3 d high, and the values rest on that: ask",
            );
        }
        let listed = figures().listed_hole(rivet.diameter).and_then(|row| row.nominal.zip(Some(&row.cited)));
        let Some((listed, listed_cited)) = listed else {
            return nothing(self, "no listed hole is known for this rivet");
        };
        let Some((limit, limit_cited)) = largest_hole(rivet.diameter) else {
            return nothing(self, "no largest hole is known for this rivet");
        };
        if self.hole.diameter > limit {
            self.working.add("largest hole", "", "", format!("{} in", limit.decimal()), limit_cited);
            let why = format!(
                "the hole, {} in, is over {} in, the largest with a figure: ask",
                self.hole.diameter.decimal(),
                limit.decimal()
            );
            return nothing(self, &why);
        }
        // A larger hole earns nothing; one that is smaller leaves less metal in shear.
        let effective = listed.min(self.hole.diameter);
        self.working.add(
            "hole reckoned with",
            "the lesser of hole and listed hole",
            format!("{} and {}", self.hole.diameter.decimal(), listed.decimal()),
            format!("{} in", effective.decimal()),
            listed_cited.clone(),
        );
        if flush {
            self.flush_joint(rivet);
            return;
        }
        self.rivet_shear(rivet, effective, convention);
        for sheet in 0..self.hole.sheets.len() {
            self.bearing(rivet, sheet, effective);
        }
    }

    fn rivet_shear(&mut self, rivet: RivetType, effective: Length, convention: &mut Vec<String>) {
        let area = Area::of_circle(effective).square_inches();
        let thinnest = self.hole.sheets.iter().map(|sheet| sheet.thickness).min();
        let of = format!("{rivet} {} {thinnest:?}", self.hole.double_shear);
        let measure = Measure { value: Some(area), all: Some(format!("{of} {effective:?}")), of };
        let Some(row) = figures().rivet_shear(rivet.alloy) else {
            let why = format!("no shear stress is known for alloy {}", rivet.alloy);
            return self.leave_out(ModeName::RivetShear, None, why, measure);
        };
        convention.extend(figures().rivet_shears(rivet.alloy).map(stated));
        let single = rivet_shear(area, row.stress_ksi * KSI, 1.0);
        self.working.add(
            "rivet shear, one plane",
            "π/4·dh²·Fs",
            format!("π/4·{}²·{:.0}", effective.decimal(), row.stress_ksi * KSI),
            format!("{single:.0} lbf"),
            row.cited.clone(),
        );
        if self.hole.double_shear {
            let why = "the factor for double shear is not known here";
            return self.leave_out(ModeName::RivetShear, None, why, measure);
        }
        let whole_from = figures().constant("shear-whole-t-d");
        let thin = thinnest
            .filter(|t| t.inches() / rivet.diameter.length().inches() < whole_from.value - 1e-9)
            .map(|t| t.inches() / rivet.diameter.length().inches());
        let left_out = thin.map(|ratio| {
            self.working.add(
                "sheet over diameter",
                "t/d",
                format!("{}/{}", thinnest.unwrap_or_default().decimal(), rivet.diameter),
                format!("{ratio:.2}; no reduction is known from {:.2} up", whole_from.value),
                whole_from.cited.clone(),
            );
            "the factor for thin sheet is not known here: the figure is at most this".to_owned()
        });
        self.modes.push(Mode {
            name: ModeName::RivetShear,
            sheet: None,
            ultimate: Some(Force::from_lbf(single)),
            at_most: left_out.is_some(),
            left_out: left_out.unwrap_or_default(),
            measure,
        });
    }

    /// The sheet's own figures, or why there are none.
    fn strength_of(&self, sheet: usize) -> Result<&'static SheetStrength, String> {
        let it = &self.hole.sheets[sheet];
        let alloy = it.alloy.as_deref().ok_or_else(|| "the alloy of the sheet is not known".to_owned())?;
        figures()
            .sheet_strength(alloy, it.thickness)
            .ok_or_else(|| format!("no strength is known for {alloy} in {} in", it.thickness.decimal()))
    }

    fn bearing(&mut self, rivet: RivetType, sheet: usize, effective: Length) {
        let name = ModeName::Bearing;
        let t = self.hole.sheets[sheet].thickness.inches();
        let d = effective.inches();
        let Sheet { alloy, thickness, .. } = &self.hole.sheets[sheet];
        let of = format!("{} {alloy:?}", rivet.diameter);
        let all = Some(format!("{of} {thickness:?} {effective:?} {:?}", self.hole.edge_distance));
        let unknown = Measure { value: None, of: of.clone(), all: all.clone() };
        let row = match self.strength_of(sheet) {
            Ok(row) => row,
            Err(why) => return self.leave_out(name, Some(sheet), why, unknown),
        };
        let Some((at_least, at_full)) = row.bearing_ultimate_ksi else {
            return self.leave_out(name, Some(sheet), "no bearing value is known for this sheet", unknown);
        };
        let Some(edge) = self.hole.edge_distance else {
            return self.leave_out(name, Some(sheet), "the edge distance is not known", unknown);
        };
        let constant = |name: &str| figures().constant(name);
        let (least, full) = (constant("bearing-least-e-d"), constant("bearing-full-e-d"));
        let thin = constant("bearing-least-t-d");
        let (e_d, t_d) = (edge.inches() / d, t / d);
        if e_d < least.value - 1e-9 {
            self.working.add(
                "edge distance over hole",
                "e/dh",
                format!("{}/{}", edge.decimal(), effective.decimal()),
                format!("{e_d:.2}; no value under {}", least.value),
                least.cited.clone(),
            );
            let why = format!("e/dh is {e_d:.2}, and under {} there is no bearing value: ask", least.value);
            return self.leave_out(name, Some(sheet), why, unknown);
        }
        if t_d < thin.value - 1e-9 {
            self.working.add(
                "sheet over hole",
                "t/dh",
                format!("{t}/{}", effective.decimal()),
                format!("{t_d:.2}; no value under {}", thin.value),
                thin.cited.clone(),
            );
            let why = format!("t/dh is {t_d:.2}, and under {} bearing needs a test: ask", thin.value);
            return self.leave_out(name, Some(sheet), why, unknown);
        }
        let part = ((e_d.min(full.value) - least.value) / (full.value - least.value)).max(0.0);
        let stress = at_least + part * (at_full - at_least);
        let force = bearing(d, t, stress * KSI);
        self.working.add(
            format!("bearing stress of sheet {}", sheet + 1),
            format!("straight between e/dh {} and {}", least.value, full.value),
            format!(
                "e/dh {}/{} = {e_d:.3}; {at_least} and {at_full} ksi",
                edge.decimal(),
                effective.decimal()
            ),
            format!("{} ksi", figure(stress, 4)),
            row.cited.clone(),
        );
        self.working.add(
            format!("bearing of sheet {}", sheet + 1),
            "dh·t·Fbr",
            format!(
                "{}·{}·{:.0}",
                effective.decimal(),
                self.hole.sheets[sheet].thickness.decimal(),
                stress * KSI
            ),
            format!("{force:.0} lbf"),
            theory(),
        );
        let measure = Measure { value: Some(force), of, all };
        self.give(name, Some(sheet), Force::from_lbf(force), measure);
    }

    fn flush_joint(&mut self, rivet: RivetType) {
        let name = ModeName::FlushJoint;
        let of = self
            .hole
            .sheets
            .iter()
            .map(|it| format!("{:?} {} {:?}", it.alloy, it.thickness.decimal(), it.preparation))
            .fold(rivet.to_string(), |all, one| format!("{all}; {one}"));
        let all = Some(format!("{of} {:?} {}", self.hole.edge_distance, self.hole.double_shear));
        let measure = Measure { value: None, of, all };
        if self.hole.double_shear {
            return self.leave_out(name, None, "no row of tests is known in double shear", measure);
        }
        let row = self.flush_row(rivet);
        let Some(row) = row else {
            return self.leave_out(
                name,
                None,
                "no row of tests is known for this rivet, sheet and preparation, and it is never computed",
                measure,
            );
        };
        let full = figures().constant("bearing-full-e-d").value;
        let least = rivet.diameter.length().inches() * full;
        match self.hole.edge_distance {
            None => return self.leave_out(name, None, "the edge distance is not known", measure),
            Some(edge) if edge.inches() < least - 1e-9 => {
                let why = format!(
                    "the edge distance, {} in, is under {full} d, for which the row is taken: ask",
                    edge.decimal()
                );
                return self.leave_out(name, None, why, measure);
            }
            Some(_) => {}
        }
        self.assumed.push(format!(
            "the row of tests is quoted without its edge distance, and taken for {full} d and more"
        ));
        self.working.add(
            "flush joint, as tabulated",
            "",
            format!("{} {} in {} of {} in", rivet, row.preparation, row.sheet, row.thickness.decimal()),
            format!("{:.0} lbf ultimate, {:.0} lbf yield", row.ultimate.lbf(), row.yields.lbf()),
            row.cited.clone(),
        );
        let measure = Measure { value: Some(row.ultimate.lbf()), ..measure };
        let note = row.note.clone();
        self.give(name, None, row.ultimate, measure);
        if !note.is_empty() {
            self.assumed.push(format!("the row says: {note}"));
        }
    }

    /// The row of tests: same rivet, all sheets of the alloy of the tests, and the thinner of sheets that are
    /// prepared alike; a countersunk sheet may lie on a plain one. A dimple in a countersink has no row.
    fn flush_row(&self, rivet: RivetType) -> Option<&'static faying_standards::strength::FlushJoint> {
        let (first, rest) = self.hole.sheets.split_first()?;
        let word = match first.preparation {
            Preparation::Dimpled => "dimpled",
            Preparation::Countersunk => "countersunk",
            Preparation::Plain => return None,
        };
        let alike = rest.iter().all(|it| match first.preparation {
            Preparation::Dimpled => it.preparation == Preparation::Dimpled,
            _ => it.preparation == Preparation::Plain,
        });
        let alloy = |sheet: &Sheet| {
            sheet.alloy.as_deref().and_then(|name| figures().sheet_alloy(name)).map(|it| it.name.as_str())
        };
        // The row is of the sheet under the head; a thinner one behind it could give way first.
        let thinnest = self.hole.sheets.iter().map(|it| it.thickness).min()?;
        let under_head = if first.preparation == Preparation::Dimpled { thinnest } else { first.thickness };
        figures().flush_joints().iter().find(|row| {
            alike
                && row.diameter == rivet.diameter
                && row.alloy == rivet.alloy
                && rivet.head == HeadStyle::Flush
                && row.preparation == word
                && row.thickness == under_head
                && thinnest >= under_head
                && self.hole.sheets.iter().all(|it| alloy(it) == Some(row.sheet.as_str()))
        })
    }

    /// What a mode of a sheet alone rests on, beside `room`, the pitch or the edge distance.
    fn all_of_sheet(&self, sheet: usize, room: Option<Length>) -> Option<String> {
        Some(format!("{:?} {:?} {room:?}", self.hole.sheets[sheet], self.hole.diameter))
    }

    fn net_section(&mut self, sheet: usize) {
        let name = ModeName::NetSection;
        let Sheet { thickness, alloy, .. } = &self.hole.sheets[sheet];
        let t = thickness.inches();
        let strip = self.hole.pitch.map(|pitch| (pitch - self.hole.diameter).inches());
        let measure = Measure {
            value: strip.map(|strip| strip * t),
            of: format!("{alloy:?}"),
            all: self.all_of_sheet(sheet, self.hole.pitch),
        };
        if self.hole.sheets[sheet].preparation == Preparation::Countersunk {
            // What a countersink takes from the strip depends on its depth, which is not asked for here.
            let why = "the metal that the countersink takes is not known";
            return self.leave_out(name, Some(sheet), why, Measure { value: None, ..measure });
        }
        let Some(pitch) = self.hole.pitch else {
            return self.leave_out(name, Some(sheet), "the pitch is not known", measure);
        };
        if pitch <= self.hole.diameter {
            return self.leave_out(name, Some(sheet), "the holes meet: ask", Measure::ASK);
        }
        let row = match self.strength_of(sheet) {
            Ok(row) => row,
            Err(why) => return self.leave_out(name, Some(sheet), why, measure),
        };
        let Some(ftu) = row.ftu_ksi else {
            return self.leave_out(name, Some(sheet), "no tension is known for this sheet", measure);
        };
        let force = net_section(pitch.inches(), self.hole.diameter.inches(), t, ftu * KSI);
        let (p, dh) = (pitch.decimal(), self.hole.diameter.decimal());
        let put_in = format!("({p} − {dh})·{}·{:.0}", thickness.decimal(), ftu * KSI);
        self.working.add(
            format!("net section of sheet {}, one pitch", sheet + 1),
            "(p − dh)·t·Ftu",
            put_in,
            format!("{force:.0} lbf"),
            row.cited.clone(),
        );
        self.give(name, Some(sheet), Force::from_lbf(force), measure);
    }

    fn shear_out(&mut self, sheet: usize) {
        let name = ModeName::ShearOut;
        let Sheet { thickness, alloy, .. } = &self.hole.sheets[sheet];
        let t = thickness.inches();
        let behind = self.hole.edge_distance.map(|e| e.inches() - self.hole.diameter.inches() / 2.0);
        let measure = Measure {
            value: behind.map(|it| it * t),
            of: format!("{alloy:?}"),
            all: self.all_of_sheet(sheet, self.hole.edge_distance),
        };
        if self.hole.sheets[sheet].preparation == Preparation::Countersunk {
            let why = "the metal that the countersink takes is not known";
            return self.leave_out(name, Some(sheet), why, Measure { value: None, ..measure });
        }
        let Some(edge) = self.hole.edge_distance else {
            return self.leave_out(name, Some(sheet), "the edge distance is not known", measure);
        };
        if behind.is_some_and(|it| it <= 0.0) {
            return self.leave_out(name, Some(sheet), "the hole breaks the edge: ask", Measure::ASK);
        }
        let row = match self.strength_of(sheet) {
            Ok(row) => row,
            Err(why) => return self.leave_out(name, Some(sheet), why, measure),
        };
        let Some(fsu) = row.fsu_ksi else {
            return self.leave_out(name, Some(sheet), "no shear strength is known for this sheet", measure);
        };
        let force = shear_out(edge.inches(), self.hole.diameter.inches(), t, fsu * KSI);
        let (e, dh) = (edge.decimal(), self.hole.diameter.decimal());
        let put_in = format!("2·{}·({e} − {dh}/2)·{:.0}", thickness.decimal(), fsu * KSI);
        self.working.add(
            format!("shear-out of sheet {}", sheet + 1),
            "2·t·(e − dh/2)·Fsu",
            put_in,
            format!("{force:.0} lbf"),
            row.cited.clone(),
        );
        self.give(name, Some(sheet), Force::from_lbf(force), measure);
    }
}

/// One convention as a sentence.
fn stated(row: &RivetShear) -> String {
    let title = figures().source(&row.cited.source).map_or("", |source| source.title.as_str());
    let used = if row.computes { "computed with" } else { "also said" };
    format!(
        "{used}: {} ksi on {} for {}, {} ({})",
        figure(row.stress_ksi, 3),
        row.area.words(),
        row.designation,
        title.split(':').next().unwrap_or(title),
        row.cited.known
    )
}
