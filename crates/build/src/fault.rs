//! One fault: what is there and what was planned, what every rule says, the way back, what it costs.
//!
//! The page of a fault, the question to the designer and the list of what is
//! owed all rest on this report. It decides nothing: what the record says of
//! it, open, asked or decided, is told as it is.

use faying_joint::examine::{Aspect, At, FieldKind, Reading, Readings, is_oversize};
use faying_joint::judge::{Measured, judge_every};
use faying_joint::ruling::{Judgement, Said};
use faying_joint::seats::ShopSeat;
use faying_joint::spacing::edge_distances;
use faying_joint::way_back::{Situation, Way, removal_steps, ways};
use faying_plan::{HoleId, PieceId, RowId};
use faying_record::{ActId, Asked, Decided, Event, Examined, HeadMeasured, HoleStatus};
use faying_sequence::stands;
use faying_standards::{Cited, Length, figures};

use crate::act::fault::readings_of;
use crate::cost::{Cost, Wrong};
use crate::look_back::Shared;
use crate::world::World;

/// How a fault stands in the record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FaultState {
    /// It never was one: what was read is inside, or no rule judges a size.
    None,
    /// It waits for a decision.
    Open,
    /// Somebody decided.
    Decided,
    /// What was done since has ended it: drilled out, read again.
    Over,
}

/// A fault with everything that is known of it.
#[derive(Clone, Debug)]
pub struct FaultReport {
    /// The act that found it.
    pub act: ActId,
    /// Its id.
    pub id: String,
    /// What it is: `Edge distance`, `Shop head`.
    pub title: String,
    /// What was looked at; none for a shop head, and for a fault in words.
    pub aspect: Option<Aspect>,
    /// Its holes, by the plan as it is now.
    pub holes: Vec<HoleId>,
    /// Where else, by its lasting name; empty for holes.
    pub at: String,
    /// When it was found.
    pub when: String,
    /// By whom.
    pub person: String,
    /// In words.
    pub words: String,
    /// With what it was measured.
    pub instrument: String,
    /// What was read: name and value.
    pub readings: Vec<(String, String)>,
    /// The distance that was read, of an edge or a pitch, from centre.
    pub distance: Option<Length>,
    /// How sure a length is, in words.
    pub uncertainty: Option<String>,
    /// What the limits said then, and which.
    pub then: (String, String),
    /// What every rule says now; none where no rule can be asked.
    pub judgement: Option<Judgement>,
    /// What the plan has there: name and value.
    pub planned: Vec<(String, String)>,
    /// What can be done.
    pub ways: Vec<Way>,
    /// How a rivet is taken out.
    pub removal: Vec<(String, Cited)>,
    /// Rivets of the pattern, and how many of them are oversize or were replaced.
    pub repairs: Repairs,
    /// What it costs.
    pub cost: Option<Cost>,
    /// Others that share something with it.
    pub shared: Vec<Shared>,
    /// How it stands.
    pub state: FaultState,
    /// Who was asked last, and when.
    pub asked: Option<(Asked, String)>,
    /// What was decided, and when.
    pub decided: Option<(Decided, String)>,
    /// The gate that it stands against first: its lasting name.
    pub gate: String,
}

/// What was repaired in a pattern so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Repairs {
    /// Rivets of the row.
    pub pattern: usize,
    /// Holes of it that were read oversize, or their countersinks too wide.
    pub oversize: usize,
    /// The most of those that lie side by side with this hole.
    pub adjacent: usize,
    /// How often a rivet was taken out of this hole.
    pub removals: usize,
}

impl World {
    /// Everything known of the fault that an act found; none where the act found nothing of the kind.
    #[must_use]
    pub fn fault_report(&self, id: &str) -> Option<FaultReport> {
        let act_id = self.state.act_with_id(id)?;
        let act = self.state.act(act_id);
        let now = |names: &[String]| -> Vec<HoleId> {
            let known = names.iter().map(|name| self.state.name_now(name.as_str(), act.revision));
            known.filter_map(|name| self.plan().hole_named(name)).collect()
        };
        let (title, aspect, holes, at) = match &act.event {
            Event::HeadMeasured(head) => {
                ("Shop head".to_owned(), None, now(std::slice::from_ref(&head.hole)), String::new())
            }
            Event::Examined(it) => {
                let aspect = Aspect::named(&it.aspect);
                let title = aspect.map_or_else(|| it.aspect.clone(), |aspect| aspect.title().to_owned());
                (title, aspect, now(&it.holes), String::new())
            }
            Event::FaultFound(it) => ("Fault".to_owned(), None, now(&it.holes), it.at.clone()),
            _ => return None,
        };
        let first = holes.first().copied();
        let mut report = FaultReport {
            act: act_id,
            id: id.to_owned(),
            title,
            aspect,
            at,
            when: act.at.clone(),
            person: act.person.clone(),
            words: String::new(),
            instrument: String::new(),
            readings: Vec::new(),
            distance: None,
            uncertainty: None,
            then: (String::new(), String::new()),
            judgement: None,
            planned: first.map_or_else(Vec::new, |hole| self.planned_at(hole)),
            ways: Vec::new(),
            removal: Vec::new(),
            repairs: first.map_or_else(Repairs::default, |hole| self.repairs_at(hole)),
            cost: None,
            shared: self.look_back(act_id),
            state: self.fault_state(act_id, &holes),
            asked: self.state.asked(id).map(|(by, asked)| (asked.clone(), self.state.act(by).at.clone())),
            decided: self.state.answer(id, "").and_then(|by| match &self.state.act(by).event {
                Event::Decided(decided) => Some((decided.clone(), self.state.act(by).at.clone())),
                _ => None,
            }),
            gate: String::new(),
            holes,
        };
        match &act.event {
            Event::HeadMeasured(head) => self.of_head(&mut report, head, first),
            Event::Examined(it) => self.of_examined(&mut report, it, first),
            Event::FaultFound(it) => report.words.clone_from(&it.what),
            _ => {}
        }
        if let Some(hole) = first {
            self.ways_back(&mut report, hole, &act.event);
            let name = self.plan().hole_name(hole);
            let hiding = self.gate_hiding(&self.progress(), &name);
            report.gate = hiding.map_or_else(String::new, |gate| self.plan().gate_name(gate));
        }
        Some(report)
    }

    fn of_head(&self, report: &mut FaultReport, head: &HeadMeasured, hole: Option<HoleId>) {
        let inches = |length: Length| format!("{} in", length.decimal());
        let height = if head.over_all.is_some() { "Height, from it" } else { "Height" };
        let named = [
            ("Width", head.width),
            ("Width across", head.width_across),
            ("Over-all thickness", head.over_all),
            (height, head.height),
        ];
        report.readings =
            named.into_iter().filter_map(|(name, length)| Some((name.to_owned(), inches(length?)))).collect();
        report.instrument.clone_from(&head.instrument);
        report.then = (head.verdict.clone(), head.limits.clone());
        let rivet = hole.and_then(|hole| self.plan()[self.plan()[hole].row].rivet);
        if let (Some(hole), Some(rivet)) = (hole, rivet) {
            let measured = self.measured_head(hole, head);
            let constants = &self.side.joints.constants;
            report.judgement = Some(judge_every(rivet, &measured, &self.plan().limits, constants));
        }
    }

    fn of_examined(&self, report: &mut FaultReport, it: &Examined, hole: Option<HoleId>) {
        report.readings = reading_words(it);
        report.words.clone_from(&it.words);
        report.instrument.clone_from(&it.instrument);
        report.then = (it.verdict.clone(), it.rule.clone());
        if let (Some(hole), Some(aspect)) = (hole, report.aspect) {
            report.judgement = self.examine(hole, aspect, &readings_of(it));
        }
    }

    /// A hole with others of its row, as typed: `8-12, 15`.
    ///
    /// # Errors
    /// A sentence that names what is no hole of the row.
    pub fn with_others(&self, hole: HoleId, also: &str) -> Result<Vec<HoleId>, String> {
        let plan = self.plan();
        let row = &plan[plan[hole].row];
        let of_row = |number: u32| row.hole_ids().find(|&it| plan[it].number == number);
        let mut holes = vec![hole];
        for part in also.split(|c: char| c == ',' || c.is_whitespace()).filter(|part| !part.is_empty()) {
            let wrong = || format!("\"{part}\" is no hole of row {}; write for example 8-12, 15", row.name);
            // A hole may be written with its row: A-7.
            let own = part.strip_prefix(row.name.as_str()).and_then(|rest| rest.strip_prefix('-'));
            let part = own.unwrap_or(part);
            let (from, to) = part.split_once(['-', '\u{2013}']).unwrap_or((part, part));
            let number = |text: &str| text.trim().parse::<u32>().map_err(|_| wrong());
            let (from, to) = (number(from)?, number(to)?);
            if from > to || of_row(from).is_none() || of_row(to).is_none() {
                return Err(wrong());
            }
            holes.extend((from..=to).filter_map(of_row));
        }
        holes.sort_unstable();
        holes.dedup();
        Ok(holes)
    }

    /// A head of the record as the limits judge it: on a flat joint it was measured from the flat.
    #[must_use]
    pub fn measured_head(&self, hole: HoleId, head: &HeadMeasured) -> Measured {
        let joint = self.side.joints.at(hole);
        let flat = joint
            .and_then(|joint| joint.seats.as_ref().ok())
            .is_some_and(|seats| seats.shop_seat == ShopSeat::Flat);
        let seat = match head.seat.as_str() {
            "flat" => Some(ShopSeat::Flat),
            "lip" => Some(ShopSeat::Lip),
            _ => flat.then_some(ShopSeat::Flat),
        };
        let over_all = head.over_all.map(|read| self.over_all(hole, read));
        Measured {
            diameter: head.width,
            second_diameter: head.width_across,
            // Over-all, the height is what follows from it; it has the joint's own uncertainty.
            height: head.height.filter(|_| over_all.is_none()),
            over_all,
            seat: seat.filter(|_| over_all.is_none()),
            ..Measured::default()
        }
    }

    fn fault_state(&self, id: ActId, holes: &[HoleId]) -> FaultState {
        let act = self.state.act(id);
        if self.state.answer(&act.id, "").is_some() {
            return FaultState::Decided;
        }
        if !self.state.counts(id) {
            return FaultState::Over;
        }
        match &act.event {
            Event::FaultFound(_) => FaultState::Open,
            Event::HeadMeasured(head) if head.verdict != "outside" => FaultState::None,
            Event::HeadMeasured(_) => {
                let newest = |&hole: &HoleId| self.state.measured(hole).is_some_and(|it| it.act == id);
                if holes.iter().any(newest) { FaultState::Open } else { FaultState::Over }
            }
            Event::Examined(it) if !it.stands => FaultState::None,
            Event::Examined(it) => {
                let known = holes.len() == it.holes.len();
                let open = !known || holes.iter().any(|&hole| stands(&self.state, id, it, hole));
                if open { FaultState::Open } else { FaultState::Over }
            }
            _ => FaultState::None,
        }
    }

    /// What the plan has at a hole, name and value, as the question to the designer tells it.
    fn planned_at(&self, hole: HoleId) -> Vec<(String, String)> {
        let plan = self.plan();
        let row = &plan[plan[hole].row];
        let joint = self.side.joints.at(hole);
        let mut planned: Vec<(String, String)> = Vec::new();
        let mut add = |name: &str, value: String| planned.push((name.to_owned(), value));
        add("Fastener", faying_bench::need(plan, &self.side.joints, hole).fastener);
        let layers = self.side.joints.stacks.at(hole);
        if !layers.is_empty() {
            let sheet = |&piece: &PieceId| {
                let part = &plan[plan[piece].part];
                let how = plan.preparation(plan[hole].row, plan[piece].part).to_string();
                let how = if how == "plain" { String::new() } else { format!(", {how}") };
                let thickness = part.thickness.map_or_else(|| "?".to_owned(), Length::decimal);
                format!("{} {thickness} {}{how}", part.name, part.material).trim().to_owned()
            };
            add("Stack", layers.iter().map(sheet).collect::<Vec<_>>().join(" / "));
        }
        if let Some(joint) = joint {
            let side = row.plane.map_or_else(
                || format!("{:?}", joint.head.side).to_lowercase(),
                |plane| plan[plane].side_name(joint.head.side).to_owned(),
            );
            add("Manufactured head", side);
        }
        let usual = row.rivet.and_then(|rivet| figures().usual_hole(rivet.diameter));
        if let Some((usual, size)) = usual.and_then(|usual| Some((usual, usual.nominal?))) {
            add("Hole", format!("{} ({} in)", usual.drill, size.decimal()));
        }
        let edges = edge_distances(plan, hole, &self.side.joints.stacks);
        let least = edges.into_iter().flatten().min_by(f64::total_cmp);
        if let Some((piece, edge)) = self.nearest_edge(hole).zip(least) {
            let diameters = row.rivet.map_or_else(String::new, |rivet| {
                format!(", {:.2} d", edge / rivet.diameter.length().inches())
            });
            let edge = Length::from_inches((edge * 1e3).round() / 1e3).decimal();
            add("Edge distance as drawn", format!("{edge} in{diameters}, of {}", plan.piece_name(piece)));
        }
        if let Some(pitch) = self.pitch_at(hole) {
            let pitch = Length::from_inches((pitch * 1e3).round() / 1e3).decimal();
            add("Pitch as drawn", format!("{pitch} in"));
        }
        planned
    }

    /// The layer whose edge is nearest to a hole; none where none is drawn.
    #[must_use]
    pub fn nearest_edge(&self, hole: HoleId) -> Option<PieceId> {
        let stacks = &self.side.joints.stacks;
        let edges = edge_distances(self.plan(), hole, stacks);
        let known = stacks.at(hole).iter().zip(edges).filter_map(|(&piece, edge)| Some((piece, edge?)));
        known.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(piece, _)| piece)
    }

    /// The hole of its row that is nearest to one; none where the plan draws none.
    #[must_use]
    pub fn nearest_hole(&self, hole: HoleId) -> Option<HoleId> {
        let plan = self.plan();
        let at = plan[hole].at?.inches();
        let others = plan[plan[hole].row].hole_ids().filter(|&other| other != hole);
        let distance = |other: HoleId| {
            let [x, y] = plan[other].at?.inches();
            Some((other, (x - at[0]).hypot(y - at[1])))
        };
        others.filter_map(distance).min_by(|a, b| a.1.total_cmp(&b.1)).map(|(other, _)| other)
    }

    /// From a hole to the nearest of its row, in; none where the plan draws none.
    pub(crate) fn pitch_at(&self, hole: HoleId) -> Option<f64> {
        let plan = self.plan();
        let ([x, y], [other_x, other_y]) =
            (plan[hole].at?.inches(), plan[self.nearest_hole(hole)?].at?.inches());
        Some((x - other_x).hypot(y - other_y))
    }

    /// How the rivet of a hole is taken out; nothing where no solid rivet belongs there.
    #[must_use]
    pub fn removal_at(&self, hole: HoleId) -> Vec<(String, Cited)> {
        let rivet = self.plan()[self.plan()[hole].row].rivet;
        rivet.map_or_else(Vec::new, |rivet| removal_steps(rivet, self.side.joints.at(hole)))
    }

    /// What the rules say of a hole as it was read since its rivet was taken out; none where it was not read.
    #[must_use]
    pub fn hole_read_since_opened(&self, hole: HoleId) -> Option<Judgement> {
        let opened = self.state.opened_by(hole)?;
        let (_, read) =
            self.state.examined(hole).take_while(|(id, _)| *id > opened).find(|(_, it)| {
                matches!(Aspect::named(&it.aspect), Some(Aspect::Hole | Aspect::FigureEight))
            })?;
        self.examine(hole, Aspect::named(&read.aspect)?, &readings_of(read))
    }

    /// What was repaired so far in the row of a hole.
    #[must_use]
    pub fn repairs_at(&self, hole: HoleId) -> Repairs {
        let plan = self.plan();
        let row: RowId = plan[hole].row;
        let holes: Vec<HoleId> = plan[row].hole_ids().collect();
        let is_oversize: Vec<bool> = holes.iter().map(|&it| it != hole && self.is_oversize(it)).collect();
        let here = holes.iter().position(|&it| it == hole).unwrap_or(0);
        let run = |mut it: Box<dyn Iterator<Item = usize> + '_>| {
            let mut count = 0;
            while it.next().is_some_and(|at| is_oversize[at]) {
                count += 1;
            }
            count
        };
        let adjacent = run(Box::new((0..here).rev())) + run(Box::new(here + 1..holes.len()));
        Repairs {
            pattern: holes.len(),
            oversize: is_oversize.iter().filter(|&&it| it).count(),
            adjacent,
            removals: self.state.removals(hole),
        }
    }

    /// Whether a hole was read larger than its rules ask, or its countersink wider.
    fn is_oversize(&self, hole: HoleId) -> bool {
        let plan = self.plan();
        let Some(rivet) = plan[plan[hole].row].rivet else { return false };
        let at = At { rivet, joint: self.side.joints.at(hole), limits: &plan.limits };
        [Aspect::Hole, Aspect::Countersink, Aspect::FigureEight].into_iter().any(|aspect| {
            let newest = self.state.examined(hole).find(|(_, it)| it.aspect == aspect.word());
            newest.is_some_and(|(_, it)| {
                is_oversize(aspect, &readings_of(it), &at, &self.side.joints.constants)
            })
        })
    }

    fn ways_back(&self, report: &mut FaultReport, hole: HoleId, event: &Event) {
        let plan = self.plan();
        let Some(rivet) = plan[plan[hole].row].rivet else { return };
        let joint = self.side.joints.at(hole);
        let readings = match event {
            Event::Examined(it) => readings_of(it),
            _ => Readings::new(),
        };
        let length = |name: &str| match readings.get(name) {
            Some(Reading::Length(length)) => Some(*length),
            _ => None,
        };
        let is = |aspect| report.aspect == Some(aspect);
        let head = match event {
            Event::HeadMeasured(head) => smaller(head.width, head.width_across).zip(head.height),
            _ => None,
        };
        // A head is only pressed again where nothing else is known of it that forbids that.
        let defects = self.state.examined(hole).any(|(id, it)| {
            let forbids = matches!(
                Aspect::named(&it.aspect),
                Some(
                    Aspect::Cracks
                        | Aspect::Tilt
                        | Aspect::Clinched
                        | Aspect::Gap
                        | Aspect::Loose
                        | Aspect::Offset
                )
            );
            forbids && it.verdict != "inside" && stands(&self.state, id, it, hole)
        });
        let read_hole = self.state.examined(hole).find_map(|(_, it)| match Aspect::named(&it.aspect) {
            Some(Aspect::Hole) => it.readings.iter().find(|it| it.name == "diameter")?.length,
            Some(Aspect::FigureEight) => it.readings.iter().find(|it| it.name == "long")?.length,
            _ => None,
        });
        let drawn = edge_distances(plan, hole, &self.side.joints.stacks).into_iter().flatten();
        let drawn = drawn.min_by(f64::total_cmp).map(Length::from_inches);
        let measured_edge = length("centre").or_else(|| {
            let half = read_hole.or_else(|| figures().usual_hole(rivet.diameter)?.nominal)?;
            Some(length("rim")? + Length::from_inches(half.inches() / 2.0))
        });
        let situation = Situation {
            at: At { rivet, joint, limits: &plan.limits },
            aspect: report.aspect,
            said: report.judgement.as_ref().map_or(Said::NotJudged, |it| it.said),
            head,
            defects,
            hole: read_hole,
            edge: measured_edge.filter(|_| is(Aspect::Edge)).or(drawn),
            pitch: length("centres").or_else(|| self.pitch_at(hole).map(Length::from_inches)),
            pattern: report.repairs.pattern,
            oversize: report.repairs.oversize,
            adjacent: report.repairs.adjacent,
            removals: report.repairs.removals,
        };
        report.ways = ways(&situation, &self.side.joints.constants);
        report.distance = measured_edge.filter(|_| is(Aspect::Edge)).or_else(|| length("centres"));
        let u = &self.side.joints.constants.caliper_u;
        report.uncertainty = Some(format!("u = {} in", u.value.decimal()));
        let wrong = match (report.aspect, head) {
            (Some(aspect), _) => Wrong::examined(aspect, &readings, measured_edge),
            (None, Some((width, height))) => Wrong::head(width, height),
            (None, None) => Wrong::default(),
        };
        report.cost = self.cost(&report.holes, &wrong);
        if self.state.status(hole) == HoleStatus::Set {
            report.removal = removal_steps(rivet, joint);
        }
    }
}

fn smaller(one: Option<Length>, other: Option<Length>) -> Option<Length> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    }
}

/// Readings of something examined, by the labels of their fields.
#[must_use]
pub fn reading_words(examined: &Examined) -> Vec<(String, String)> {
    let fields = Aspect::named(&examined.aspect).map_or(&[][..], Aspect::fields);
    let word = |it: &faying_record::ReadingTaken| {
        let field = fields.iter().find(|field| field.name == it.name);
        let label = field.map_or(it.name.as_str(), |field| field.label);
        // What stands behind a comma tells how it is written, and an `or` that it is one of two.
        let label = label.split(',').next().unwrap_or(label).trim_start_matches("or ");
        let label = first_upper(label);
        let value = match (it.length, it.count) {
            (Some(length), _) => format!("{} in", length.decimal()),
            (_, Some(count)) => count.to_string(),
            _ => match field.map(|field| field.kind) {
                Some(FieldKind::Choice(words)) => words
                    .iter()
                    .find(|(word, _)| *word == it.word)
                    .map_or(it.word.as_str(), |(_, words)| *words)
                    .to_owned(),
                _ => it.word.clone(),
            },
        };
        (label, value)
    };
    // As the form asks for them, whatever the order in which they are kept.
    let mut readings: Vec<&faying_record::ReadingTaken> = examined.readings.iter().collect();
    readings.sort_by_key(|it| fields.iter().position(|field| field.name == it.name));
    readings.into_iter().map(word).collect()
}

fn first_upper(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
