//! Spacing of a plane and of a hole, as pages show it.
//!
//! What the rules say is the joint's business; here distances get their words:
//! inches to the thousandth, diameters, and what they go to.

use faying_joint::spacing::{Asked, Group, Shortfall, Spaced, Survey, To, at_hole};
use faying_plan::{HoleId, PlaneId, RowId};
use faying_standards::{Cited, Length};
use serde::Serialize;

use crate::report::cited;
use crate::world::World;

/// What of a plane is under a rule.
#[derive(Clone, Debug, Serialize)]
pub struct SpacingReport {
    /// Holes that were held against the rules.
    pub compared: usize,
    /// Holes for something other than a solid rivet.
    pub not_compared: usize,
    /// Rows with a hole that is under a rule, the one with the worst first.
    pub rows: Vec<SpacingRow>,
    /// Holes that are under the rule that rules this build.
    pub under_ruling: usize,
    /// Holes that are under another rule only.
    pub under_another: usize,
    /// What could not be held against a rule, as sentences.
    pub not_known: Vec<String>,
    /// Documents whose rules were asked, each once.
    pub documents: Vec<String>,
}

/// A row of a plane with what is under a rule.
#[derive(Clone, Debug, Serialize)]
pub struct SpacingRow {
    /// Its name in the plane.
    pub name: String,
    /// What is under a rule, the worst first.
    pub lines: Vec<SpacingLine>,
    /// Which row.
    #[serde(skip)]
    pub row: RowId,
}

/// Holes of a row that are too near to the same thing.
#[derive(Clone, Debug, Serialize)]
pub struct SpacingLine {
    /// The worst of them.
    pub worst: SpacedReport,
    /// How all of them stand.
    pub stands: Stands,
    /// Number of the worst in its row.
    pub number: u32,
    /// The other holes in words, with the greatest distance among them; empty where it is the only one.
    pub others: String,
    /// All of them.
    #[serde(skip)]
    pub holes: Vec<HoleId>,
}

/// How a distance stands against the rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stands {
    /// Under the rule that rules this build.
    UnderRuling,
    /// Under another rule only.
    UnderAnother,
    /// Under no rule that has a figure.
    UnderNone,
}

impl From<Shortfall> for Stands {
    fn from(shortfall: Shortfall) -> Self {
        match shortfall {
            Shortfall::Ruling => Self::UnderRuling,
            Shortfall::Another => Self::UnderAnother,
            Shortfall::None => Self::UnderNone,
        }
    }
}

/// One distance of a hole with every rule on it.
#[derive(Clone, Debug, Serialize)]
pub struct SpacedReport {
    /// Name of the hole.
    pub hole: String,
    /// To what, in words: `the edge of spar`.
    pub to: String,
    /// The distance, in; blank where the plan does not draw it.
    pub distance_in: Option<f64>,
    /// The same in words: `.190 in`, with its diameters where it is a distance in the plane.
    pub words: String,
    /// How it stands against the rules.
    pub stands: Stands,
    /// Every rule on it, the ruling one first.
    pub rules: Vec<SpacingRuleReport>,
    /// Which hole.
    #[serde(skip)]
    pub id: HoleId,
    /// Where it ends, in, as seen from the near side; none where it is no distance in the plane.
    #[serde(skip)]
    pub end: Option<[f64; 2]>,
}

/// One rule on a distance.
#[derive(Clone, Debug, Serialize)]
pub struct SpacingRuleReport {
    /// The rule in words.
    pub rule: String,
    /// The least it asks, in; blank where its figure is not known here.
    pub least_in: Option<f64>,
    /// The same in words.
    pub least: String,
    /// Whether the distance is under it; blank where either figure is.
    pub under: Option<bool>,
    /// Whether it is the one that rules this build.
    pub rules: bool,
    /// Where it comes from, in words.
    pub source: String,
    /// Where it comes from.
    pub cited: Cited,
}

impl World {
    /// What of a plane is under a rule of spacing; reckoned when it is asked for, of that plane alone.
    #[must_use]
    pub fn spacing(&self, plane: PlaneId) -> SpacingReport {
        let plan = self.plan();
        let survey = Survey::of(plan, &self.side.joints, plane);
        let mut rows: Vec<SpacingRow> = Vec::new();
        let mut stands: Vec<(HoleId, Stands)> = Vec::new();
        for group in &survey.groups {
            stands.extend(group.holes.iter().map(|&hole| (hole, group.shortfall.into())));
            let line = self.spacing_line(group);
            match rows.last_mut().filter(|row| row.row == group.row) {
                Some(row) => row.lines.push(line),
                None => {
                    let name = plan[group.row].name.clone();
                    rows.push(SpacingRow { name, lines: vec![line], row: group.row });
                }
            }
        }
        // A hole may be under several; the hardest word counts once.
        stands.sort_unstable();
        stands.dedup_by_key(|(hole, _)| *hole);
        let count = |wanted| stands.iter().filter(|(_, stands)| *stands == wanted).count();
        let mut not_known = Vec::new();
        if !survey.no_edge.is_empty() {
            let names: Vec<String> = survey.no_edge.iter().map(|&piece| plan.piece_name(piece)).collect();
            not_known.push(format!(
                "No outline of {} is drawn: the distance to its edge is not known.",
                names.join(", ")
            ));
        }
        if survey.dimpled {
            not_known.push(
                "How far the die of a dimple reaches beyond it is in no document read here: that room is not checked. \
                 The foot is reckoned as wide as the rivet's head; a bend's radius is not counted."
                    .to_owned(),
            );
        }
        if survey.not_compared > 0 {
            let holes = if survey.not_compared == 1 {
                "1 hole is"
            } else {
                &format!("{} holes are", survey.not_compared)
            };
            not_known.push(format!(
                "{holes} for something other than a solid rivet: no rule here speaks of them."
            ));
        }
        SpacingReport {
            compared: survey.compared,
            not_compared: survey.not_compared,
            under_ruling: count(Stands::UnderRuling),
            under_another: count(Stands::UnderAnother),
            documents: survey.asked.iter().map(cited).collect(),
            rows,
            not_known,
        }
    }

    fn spacing_line(&self, group: &Group) -> SpacingLine {
        let plan = self.plan();
        let others: Vec<HoleId> =
            group.holes.iter().copied().filter(|&hole| hole != group.worst.hole).collect();
        let others = if others.is_empty() {
            String::new()
        } else {
            let most = if Some(group.most) == group.worst.distance {
                "at the same".to_owned()
            } else {
                format!("up to {}", thousandths(group.most))
            };
            format!("{}, {most}", plan.hole_range(&others))
        };
        SpacingLine {
            worst: self.spaced(&group.worst),
            stands: group.shortfall.into(),
            number: plan[group.worst.hole].number,
            others,
            holes: group.holes.clone(),
        }
    }

    /// Every distance of a hole with every rule on it; empty where it is not drawn or holds no solid rivet.
    #[must_use]
    pub fn hole_spacing(&self, hole: HoleId) -> Vec<SpacedReport> {
        at_hole(self.plan(), &self.side.joints, hole).iter().map(|spaced| self.spaced(spaced)).collect()
    }

    fn spaced(&self, spaced: &Spaced) -> SpacedReport {
        let plan = self.plan();
        let to = match spaced.to {
            To::Edge(piece) => format!("the edge of {}", plan.piece_name(piece)),
            To::Bend => "the bend line".to_owned(),
            To::Hole(other) => format!("hole {}-{}", plan[plan[other].row].name, plan[other].number),
            To::Row(row) => format!("the line of row {}", plan[row].name),
            To::Sheet(piece) => format!("thickness of {}, countersunk", plan.piece_name(piece)),
        };
        let words = match (spaced.distance, spaced.diameters()) {
            (None, _) => "not drawn".to_owned(),
            (Some(thickness), _) if matches!(spaced.to, To::Sheet(_)) => {
                format!("{} in", thickness.decimal())
            }
            (Some(distance), diameters) => {
                format!("{}, {:.2} d", thousandths(distance), diameters.unwrap_or_default())
            }
        };
        SpacedReport {
            hole: plan.hole_name(spaced.hole),
            to,
            distance_in: spaced.distance.map(rounded),
            words,
            stands: spaced.shortfall().into(),
            rules: spaced.asked.iter().map(|asked| rule(spaced, asked)).collect(),
            id: spaced.hole,
            end: spaced.end,
        }
    }
}

fn rule(spaced: &Spaced, asked: &Asked) -> SpacingRuleReport {
    SpacingRuleReport {
        rule: asked.rule.clone(),
        least_in: asked.least.map(rounded),
        least: asked.least.map_or_else(|| "not known".to_owned(), |least| format!("{} in", fine(least))),
        under: spaced.under(asked),
        rules: asked.rules,
        source: cited(&asked.cited),
        cited: asked.cited.clone(),
    }
}

/// To the thousandth to which a plan is drawn.
fn thousandths(length: Length) -> String {
    let text = format!("{:.3}", length.inches());
    format!("{} in", text.strip_prefix('0').unwrap_or(&text))
}

/// A printed figure as it is, a reckoned one without its noise.
fn fine(length: Length) -> String {
    Length::from_inches((length.inches() * 1e4).round() / 1e4).decimal()
}

fn rounded(length: Length) -> f64 {
    (length.inches() * 1e6).round() / 1e6
}
