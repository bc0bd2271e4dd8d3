//! From what is seen at a hole to the tools that set it, and the sentences.

use faying_joint::{Joint, force};
use faying_plan::tools::{Dies, DiesFor, Squeezer, Yoke};
use faying_plan::{HoleId, PartId, Plan, PlaneId, Side, StepId, Tools};
use faying_standards::{Cited, Fastener, HeadStyle, Length, RivetType, figures};

use super::ground::{Ground, Met, Stander, WayIn, at};
use super::{Basis, Means, Reach, Refused, Way};

/// Hundredths of an inch; what is shown, and what equal answers share.
type Hundredths = i32;

fn down(inches: f64) -> Hundredths {
    (inches * 100.0 + 1e-6).floor() as Hundredths
}

fn up(inches: f64) -> Hundredths {
    (inches * 100.0 - 1e-6).ceil() as Hundredths
}

/// As the trade writes a decimal: `.75`, `5.20`.
fn shown(hundredths: Hundredths) -> String {
    let text = format!("{:.2}", f64::from(hundredths) / 100.0);
    text.strip_prefix('0').unwrap_or(&text).to_owned()
}

fn inch(length: Length) -> String {
    length.decimal()
}

/// What a rivet takes up across the sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Standing {
    /// The sheets.
    sheets: Length,
    /// The manufactured head over them.
    head: Length,
    /// The tail over them, before it is formed.
    tail: Length,
    /// The shop head that is aimed at.
    width: Length,
}

impl Standing {
    /// What stands out at a hole; where the plan does not say, a tail of 1.5 d and no sheets.
    pub fn of(plan: &Plan, hole: HoleId, joint: Option<&Joint>) -> Self {
        let row = &plan[plan[hole].row];
        let Some(rivet) = row.rivet else {
            return Self {
                sheets: Length::ZERO,
                head: Length::ZERO,
                tail: Length::ZERO,
                width: Length::ZERO,
            };
        };
        let usual = Length::from_inches(rivet.diameter.length().inches() * 1.5);
        let sheets = joint.map_or(Length::ZERO, |joint| joint.sheets.iter().map(|it| it.thickness).sum());
        let head = match rivet.head {
            HeadStyle::Flush => Length::ZERO,
            HeadStyle::Universal => figures().rivet_size(rivet).map_or(Length::ZERO, |it| it.head_height),
        };
        let dash = joint.and_then(Joint::dash).or(match row.called {
            Some(Fastener::Solid { dash, .. }) => dash,
            _ => None,
        });
        let tail = dash.filter(|_| joint.is_some()).map_or(usual, |dash| dash.length() - sheets);
        let width =
            joint.and_then(|joint| joint.call_out.as_ref()?.candidate(dash?)?.head_at_mid).unwrap_or(usual);
        Self { sheets, head, tail: tail.max(Length::ZERO), width }
    }
}

/// How a yoke fares at a hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fares {
    /// It comes in.
    In { edge: Hundredths, over: Option<(Stander, Hundredths)> },
    /// Every free edge is too far.
    Deep { edge: Hundredths },
    /// Something beside the hole keeps its nose out.
    Nose { side: Side, what: Stander, distance: Hundredths },
    /// A lip over the hole is too low for its nose.
    Lip { side: Side, what: Stander, height: Hundredths },
    /// The only ways in are through the wall that carries the lip.
    Behind { what: Stander },
    /// What stands on the way does not pass between the jaws.
    Gap { what: Option<Stander>, height: Hundredths, needs: Hundredths },
}

/// What stands nearest, with its distance and height.
type Beside = Option<(Stander, Hundredths)>;

/// What is drawn of a hole.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Drawn {
    /// Nothing: it is counted or stacked.
    No,
    /// A part that is there has no outline, so where the sheet ends is not known.
    Open(PartId),
    /// All of it.
    Seen {
        /// Each yoke of the tools.
        yokes: Vec<Fares>,
        /// What stands nearest on the near and the far side.
        near: [Beside; 2],
        /// Lips near the hole, by side: how far and how high.
        lips: [Vec<(Stander, Hundredths, Hundredths)>; 2],
        /// Free width for a bar on the shop side.
        between: Option<Hundredths>,
        /// The nearest free edge.
        edge: Hundredths,
        /// Longest extent of what is there.
        long: Hundredths,
    },
}

/// Everything that the answer for a hole depends on.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Facts {
    pub rivet: RivetType,
    pub standing: Standing,
    pub head: Option<Side>,
    pub plane: Option<PlaneId>,
    pub clearance: Option<Length>,
    /// The step that has closed the near and the far side before.
    pub closed: [Option<StepId>; 2],
    pub drawn: Drawn,
}

/// A lip further from a hole than this is over no die and no jaw, in.
const LIP_SEEN_IN: f64 = 2.0;

fn margin() -> f64 {
    figures().constant("reach-margin").value
}

impl Drawn {
    /// What is seen from a hole.
    pub fn seen(plan: &Plan, ground: &Ground, hole: [f64; 2], facts: &Facts) -> Self {
        let directions: Vec<([f64; 2], f64)> =
            ground.directions(hole).into_iter().map(|along| (along, ground.edge(hole, along, 0.0))).collect();
        let sides = [Side::Near, Side::Far];
        let near = sides.map(|side| ground.nearest(hole, side));
        let yokes =
            plan.tools.yokes.iter().map(|yoke| fares(yoke, ground, hole, &directions, near, facts)).collect();
        let edge = directions.iter().map(|(_, edge)| *edge).min_by(f64::total_cmp);
        Self::Seen {
            yokes,
            near: near.map(|met| met.map(|met| (met.what, down(met.distance)))),
            lips: sides.map(|side| {
                let lips = ground.lips_within(hole, side, LIP_SEEN_IN);
                lips.map(|lip| (lip.what, down(lip.distance), down(lip.height))).collect()
            }),
            between: ground.width_between(hole, facts.shop_side()).map(down),
            edge: up(edge.unwrap_or(0.0)),
            long: up(ground.long),
        }
    }
}

fn fares(
    yoke: &Yoke,
    ground: &Ground,
    hole: [f64; 2],
    directions: &[([f64; 2], f64)],
    near: [Option<Met>; 2],
    facts: &Facts,
) -> Fares {
    let margin = margin();
    let radius = yoke.nose_half_width.inches() + margin;
    let under = yoke.nose_height.inches() + margin;
    let throat = yoke.throat.inches() - margin;
    // A strip goes no less far than its middle line, so most directions need no more than that.
    let ways: Vec<WayIn> = directions
        .iter()
        .filter(|(_, middle)| *middle <= throat)
        .map(|&(along, _)| (along, ground.edge(hole, along, radius)))
        .filter(|(_, edge)| *edge <= throat)
        .map(|(along, edge)| ground.way_in(hole, along, radius, under, edge))
        .collect();
    if ways.is_empty() {
        let edges = directions.iter().map(|&(along, _)| ground.edge(hole, along, radius));
        return Fares::Deep { edge: up(edges.min_by(f64::total_cmp).unwrap_or(0.0)) };
    }
    for side in [Side::Near, Side::Far] {
        if let Some(met) = near[at(side)].filter(|met| met.distance < radius) {
            return Fares::Nose { side, what: met.what, distance: down(met.distance) };
        }
        if let Some(lip) = ground.lip_within(hole, side, radius).filter(|lip| lip.height < under) {
            return Fares::Lip { side, what: lip.what, height: down(lip.height) };
        }
    }
    let open = ways.iter().filter(|way| way.through_lip == [false; 2]);
    // Head and tail stand on their sides; what is higher there counts.
    let [head, shop] = [facts.head_side(), facts.shop_side()];
    let needs = |way: &&WayIn| {
        let on =
            |side: Side, rivet: Length| way.over[at(side)].map_or(0.0, |met| met.height).max(rivet.inches());
        on(head, facts.standing.head)
            + on(shop, facts.standing.tail)
            + facts.standing.sheets.inches()
            + margin
    };
    let Some(best) =
        open.min_by(|a, b| (needs(a), a.edge).partial_cmp(&(needs(b), b.edge)).expect("lengths are numbers"))
    else {
        let what = [Side::Near, Side::Far]
            .into_iter()
            .find_map(|side| ground.lip_within(hole, side, radius))
            .map_or(Stander::Flange(0), |lip| lip.what);
        return Fares::Behind { what };
    };
    let over = best.over.iter().flatten().max_by(|a, b| a.height.total_cmp(&b.height));
    if needs(&best) > yoke.gap.inches() {
        return Fares::Gap {
            what: over.map(|met| met.what),
            height: over.map_or(0, |met| up(met.height)),
            needs: up(needs(&best)),
        };
    }
    Fares::In { edge: up(best.edge), over: over.map(|met| (met.what, up(met.height))) }
}

/// The answer as it grows.
struct Answer<'p> {
    plan: &'p Plan,
    tools: &'p Tools,
    facts: &'p Facts,
    choices: Vec<(Rank, Way)>,
    refused: Vec<Refused>,
}

/// Best first: few people, then squeezer, plate, gun; then far from its rating; then a short throat.
type Rank = (u8, u8, bool, Length, u32, usize);

impl Facts {
    fn head_side(&self) -> Side {
        self.head.unwrap_or(Side::Near)
    }

    fn shop_side(&self) -> Side {
        self.head_side().other()
    }

    /// The tools that set a hole with these facts, and why the others do not.
    pub fn reach(&self, plan: &Plan) -> Reach {
        let mut answer =
            Answer { plan, tools: &plan.tools, facts: self, choices: Vec::new(), refused: Vec::new() };
        let basis = if matches!(self.drawn, Drawn::Seen { .. }) { Basis::Drawn } else { Basis::ForceOnly };
        let mut notes = Vec::new();
        match self.drawn {
            Drawn::No => notes.push(
                "not drawn: decided by force and dies only; whether the tool gets there is not known".to_owned(),
            ),
            Drawn::Open(part) => notes.push(format!(
                "the outline of {} is not drawn: decided by force and dies only; whether the tool gets there is not known",
                plan[part].name
            )),
            Drawn::Seen { .. } => {}
        }
        if self.head.is_none() && basis == Basis::Drawn {
            let side = self.plane.map_or("near", |plane| plan[plane].side_name(Side::Near)).to_owned();
            notes.push(format!("the side of the manufactured head is not known: taken as {side}"));
        }
        match answer.closed() {
            Some(reason) => answer.refused.push(Refused { tool: "every tool".to_owned(), reason }),
            None => {
                answer.squeezers();
                answer.back_riveting();
                answer.gun_and_bar();
            }
        }
        answer.choices.sort_by_key(|(rank, _)| *rank);
        let choices = answer.choices.into_iter().map(|(_, way)| way).collect();
        Reach { basis, choices, refused: answer.refused, notes }
    }
}

impl Answer<'_> {
    fn refuse(&mut self, tool: &str, reason: String) {
        self.refused.push(Refused { tool: tool.to_owned(), reason });
    }

    fn side(&self, side: Side) -> &str {
        match self.facts.plane {
            Some(plane) => self.plan[plane].side_name(side),
            None => {
                if side == Side::Near {
                    "near"
                } else {
                    "far"
                }
            }
        }
    }

    /// Why no tool at all gets there, where a side is closed already.
    fn closed(&self) -> Option<String> {
        [Side::Near, Side::Far].into_iter().find_map(|side| {
            let step = self.facts.closed[at(side)]?;
            let closing = self.plan.step_name(step);
            Some(format!("the {} side is closed since step {closing}", self.side(side)))
        })
    }

    /// What stands, in words: `the flange on the aft side (.70 in high)`.
    fn stander(&self, what: Stander) -> String {
        let Some(plane) = self.facts.plane.map(|plane| &self.plan[plane]) else {
            return "what stands there".to_owned();
        };
        let (name, side, height) = match what {
            Stander::Flange(n) => match plane.flanges.get(n) {
                Some(flange) if flange.lip.is_some() => {
                    ("the return flange".to_owned(), flange.side, flange.height)
                }
                Some(flange) => ("the flange".to_owned(), flange.side, flange.height),
                None => return "the flange".to_owned(),
            },
            Stander::Stand(n) => match plane.stands.get(n) {
                Some(stand) => (stand.name.clone(), stand.side, stand.height),
                None => return "what stands there".to_owned(),
            },
        };
        format!("{name} on the {} side ({} in high)", plane.side_name(side), inch(height))
    }

    fn fitting(&self, held_in: DiesFor) -> Vec<(usize, &Dies)> {
        let rivet = self.facts.rivet;
        let all = self.tools.dies.iter().enumerate();
        all.filter(|(_, it)| it.held_in == held_in && it.fit(rivet.head, rivet.diameter)).collect()
    }

    /// Why a set does not sit on the side on which it is driven, if so.
    fn sits(&self, side: Side, across: Length, title: &str) -> Option<String> {
        let Drawn::Seen { near, lips, .. } = &self.facts.drawn else { return None };
        let radius = across.inches() / 2.0 + margin();
        if let Some((what, distance)) = near[at(side)]
            && f64::from(distance) / 100.0 < radius
        {
            return Some(format!(
                "{} is {} in across and needs {} in to what stands beside it; {} is {} in from the hole",
                lower(title),
                inch(across),
                shown(up(radius)),
                self.stander(what),
                shown(distance)
            ));
        }
        // A set is driven straight down, so nothing may lie over it.
        let (what, ..) =
            lips[at(side)].iter().find(|(_, distance, _)| f64::from(*distance) / 100.0 < radius)?;
        Some(format!("{} comes straight down, and {} lies over the hole", lower(title), self.stander(*what)))
    }

    fn squeezers(&mut self) {
        let rivet = self.facts.rivet;
        let width = self.facts.standing.width;
        let need = force::to_form(rivet.alloy, rivet.diameter.length(), width);
        for (number, squeezer) in self.tools.squeezers.iter().enumerate() {
            let Some(need) = need else {
                let reason = format!("the force to form {} is not known here", rivet.alloy.code());
                self.refuse(&squeezer.title, reason);
                continue;
            };
            let loading = force::loading(need, squeezer.force);
            let needs = format!(
                "a head {} in wide takes about {:.0} lbf, and the {} has {:.0} lbf at the end of its stroke{} ({:.0} %)",
                inch(width),
                need.lbf(),
                lower(&squeezer.title),
                squeezer.force.lbf(),
                squeezer.pressure_psi.map_or_else(String::new, |psi| format!(" at {psi:.0} psi")),
                loading.share * 100.0
            );
            if loading.share > 1.0 {
                self.refuse(&squeezer.title, needs);
                continue;
            }
            self.yokes(number, squeezer, loading, &needs);
        }
    }

    fn yokes(&mut self, number: usize, squeezer: &Squeezer, loading: force::Loading, needs: &str) {
        let rivet = self.facts.rivet;
        let pairs: Vec<(usize, Length, Length, String)> = self
            .fitting(DiesFor::Squeezer)
            .into_iter()
            .map(|(n, it)| (n, it.across, it.across_shop, it.title.clone()))
            .collect();
        if pairs.is_empty() {
            let reason = format!("no pair of dies for {} {} is among the tools", rivet.diameter, rivet.head);
            self.refuse(&squeezer.title, reason);
            return;
        }
        let (head, shop) = (self.facts.head_side(), self.facts.shop_side());
        let none = |pair: &(usize, Length, Length, String)| {
            self.die_against(head, pair.1, &pair.3).or_else(|| self.die_against(shop, pair.2, &pair.3))
        };
        let dies = pairs.iter().find(|pair| none(pair).is_none()).map(|pair| pair.0);
        let against = pairs.first().and_then(none);
        let yokes: Vec<(usize, Yoke)> = self
            .tools
            .yokes
            .iter()
            .enumerate()
            .filter(|(_, yoke)| yoke.squeezers.contains(&number))
            .map(|(n, yoke)| (n, yoke.clone()))
            .collect();
        if yokes.is_empty() {
            self.refuse(&squeezer.title, "no yoke among the tools fits it".to_owned());
        }
        for (index, yoke) in yokes {
            let tool = format!("{} with the {}", squeezer.title, lower(&yoke.title));
            let fares = match &self.facts.drawn {
                Drawn::Seen { yokes, .. } => yokes.get(index).copied(),
                _ => None,
            };
            let said = fares.map(|fares| self.fares_said(&yoke, fares));
            let comes_in = match (said, dies) {
                (Some(Err(reason)), _) => {
                    self.refuse(&tool, reason);
                    continue;
                }
                (_, None) => {
                    self.refuse(&tool, against.clone().unwrap_or_default());
                    continue;
                }
                (said, Some(dies)) => (said.and_then(Result::ok), dies),
            };
            let (words, dies) = comes_in;
            let why = words.map_or_else(|| needs.to_owned(), |words| format!("{words}; {needs}"));
            let way = Way {
                means: Means::Squeezer { squeezer: number, yoke: index },
                dies,
                force_share: Some(loading.share),
                warn: loading.warn,
                people: 1,
                why,
                notes: self.squeezer_notes(loading.warn),
                cited: vec![
                    self.tools.cited(format!("squeezers.{}", squeezer.name)),
                    self.tools.cited(format!("yokes.{}", yoke.name)),
                    Cited::theory("force to form"),
                    figures().constant("squeezer-warn").cited.clone(),
                    figures().constant("reach-margin").cited.clone(),
                ],
            };
            let share = (loading.share * 1000.0) as u32;
            self.choices.push(((1, 0, loading.warn, yoke.throat, share, self.choices.len()), way));
        }
    }

    /// Why a squeezer's die does not sit beside what stands there; a lip is the business of the nose.
    fn die_against(&self, side: Side, across: Length, title: &str) -> Option<String> {
        let Drawn::Seen { near, .. } = &self.facts.drawn else { return None };
        let radius = across.inches() / 2.0 + margin();
        let (what, distance) =
            near[at(side)].filter(|(_, distance)| f64::from(*distance) / 100.0 < radius)?;
        Some(format!(
            "the die of {} is {} in across on the {} side and needs {} in beside the hole; {} is {} in away",
            lower(title),
            inch(across),
            self.side(side),
            shown(up(radius)),
            self.stander(what),
            shown(distance)
        ))
    }

    fn squeezer_notes(&self, warn: bool) -> Vec<String> {
        let mut notes = Vec::new();
        if warn {
            notes
                .push("near the end of its force: full air pressure, and look at the first heads".to_owned());
        }
        if self.facts.rivet.diameter.dash() >= 5 {
            let percent = |name: &str| figures().constant(name).value * 100.0;
            notes.push(format!(
                "the force is {:.0} to {:.0} % low on 5/32, and not measured above",
                percent("squeeze-low-5/32-least"),
                percent("squeeze-low-5/32-most")
            ));
        }
        if let Drawn::Seen { near, .. } = &self.facts.drawn
            && near.iter().all(|it| it.is_some_and(|(_, distance)| distance < BOTH_CROWDED))
        {
            notes.push("something stands near on both sides: try the jaw of the ram first".to_owned());
        }
        notes
    }

    fn fares_said(&self, yoke: &Yoke, fares: Fares) -> Result<String, String> {
        let title = lower(&yoke.title);
        match fares {
            Fares::In { edge, over: None } => Ok(format!(
                "the {title} comes in over the edge {} in away, its throat is {} in",
                shown(edge),
                inch(yoke.throat)
            )),
            Fares::In { edge, over: Some((what, _)) } => Ok(format!(
                "the {title} comes in over the edge {} in away, its throat is {} in, and its gap of {} in passes {}",
                shown(edge),
                inch(yoke.throat),
                inch(yoke.gap),
                self.stander(what)
            )),
            Fares::Deep { edge } => Err(format!(
                "the {title} reaches {} in less {} in of room; the nearest free edge is {} in away",
                inch(yoke.throat),
                shown(down(margin())),
                shown(edge)
            )),
            Fares::Nose { side, what, distance } => Err(format!(
                "the nose of the {title} needs {} in beside the hole on the {} side; {} is {} in away",
                shown(up(yoke.nose_half_width.inches() + margin())),
                self.side(side),
                self.stander(what),
                shown(distance)
            )),
            Fares::Lip { side, what, height } => Err(format!(
                "{} lies over the hole on the {} side and leaves {} in; the nose of the {title} needs {} in",
                self.stander(what),
                self.side(side),
                shown(height),
                shown(up(yoke.nose_height.inches() + margin()))
            )),
            Fares::Behind { what } => Err(format!(
                "{} lies over the hole, and the {title} reaches no other edge",
                self.stander(what)
            )),
            Fares::Gap { what: Some(what), needs, .. } => Err(format!(
                "{} stands between the hole and the edge: the jaws must be {} in apart, and the gap of the {title} is {} in",
                self.stander(what),
                shown(needs),
                inch(yoke.gap)
            )),
            Fares::Gap { what: None, needs, .. } => Err(format!(
                "sheets and rivet need {} in between the jaws, and the gap of the {title} is {} in",
                shown(needs),
                inch(yoke.gap)
            )),
        }
    }

    fn gun_and_bar(&mut self) {
        let tools = self.tools;
        let (head, shop) = (self.facts.head_side(), self.facts.shop_side());
        let rivet = self.facts.rivet;
        let bar = self.bar(shop);
        let sets: Vec<(usize, Length, String)> =
            self.fitting(DiesFor::Gun).into_iter().map(|(n, it)| (n, it.across, it.title.clone())).collect();
        let mut set = Err(format!("no set for {} {} is among the tools", rivet.diameter, rivet.head));
        for (number, across, title) in sets {
            match self.sits(head, across, &title) {
                None => {
                    set = Ok((number, title));
                    break;
                }
                Some(reason) => set = Err(reason),
            }
        }
        for (number, gun) in tools.guns.iter().enumerate() {
            let (dies, title, bar_number, bar_words) = match (&set, &bar) {
                (Err(reason), _) | (_, Err(reason)) => {
                    let tool = format!("{} and bar", gun.title);
                    self.refuse(&tool, reason.clone());
                    continue;
                }
                (Ok((dies, title)), Ok((bar, words))) => (*dies, title.clone(), *bar, words.clone()),
            };
            let arm = figures().constant("reach-arm");
            let mut notes = Vec::new();
            let (people, reach) = match &self.facts.drawn {
                Drawn::Seen { edge, .. } => {
                    let alone = f64::from(*edge) / 100.0 <= arm.value;
                    let words = format!(
                        "the nearest edge is {} in away, and an arm reaches {:.0} in",
                        shown(*edge),
                        arm.value
                    );
                    (if alone { 1 } else { 2 }, words)
                }
                _ => (1, "whether one person reaches both sides is not known".to_owned()),
            };
            if people > 1 {
                notes.push(
                    "two people: the helper's first rivets are looked at from outside before going on"
                        .to_owned(),
                );
                if !tools.helper {
                    notes.push("tools.toml says that there is no helper".to_owned());
                }
            }
            match gun.pressure(rivet.diameter) {
                Some(psi) => notes.push(format!("{psi:.0} psi to start with, tried on scrap")),
                None => {
                    notes.push(format!("the pressure for {} is not written in tools.toml", rivet.diameter));
                }
            }
            let why = format!("{} sits clear; {bar_words}; {reach}", lower(&title));
            let way = Way {
                means: Means::GunAndBar { gun: number, bar: bar_number },
                dies,
                force_share: None,
                warn: false,
                people,
                why,
                notes,
                cited: vec![
                    tools.cited(format!("guns.{}", gun.name)),
                    tools.cited(format!("bars.{}", tools.bars[bar_number].name)),
                    arm.cited.clone(),
                    figures().constant("reach-margin").cited.clone(),
                ],
            };
            self.choices.push(((people, 2, false, Length::ZERO, 0, self.choices.len()), way));
        }
    }

    /// The heaviest bar that gets at the tail, or why none does.
    fn bar(&self, shop: Side) -> Result<(usize, String), String> {
        let mut by_weight: Vec<usize> = (0..self.tools.bars.len()).collect();
        by_weight.sort_by(|&a, &b| {
            let weight = |n: usize| self.tools.bars[n].weight_lb.unwrap_or(0.0);
            weight(b).total_cmp(&weight(a)).then(a.cmp(&b))
        });
        let mut reason = "no bar is among the tools".to_owned();
        let tail = self.facts.standing.width.inches() / 2.0 + margin();
        if let Drawn::Seen { near, .. } = &self.facts.drawn
            && let Some((what, distance)) = near[at(shop)]
            && f64::from(distance) / 100.0 < tail
        {
            return Err(format!(
                "no bar comes squarely on the tail: {} is {} in from the hole, and half the shop head with its room is {} in",
                self.stander(what),
                shown(distance),
                shown(up(tail))
            ));
        }
        for number in by_weight {
            let bar = &self.tools.bars[number];
            match self.bar_met(shop, bar.enters) {
                None => {
                    let words = format!("the {} enters from {} in", lower(&bar.title), inch(bar.enters));
                    return Ok((number, words));
                }
                Some(met) => {
                    reason = format!("the {} needs {} in; {met}", lower(&bar.title), inch(bar.enters));
                }
            }
        }
        Err(reason)
    }

    /// What a bar of this size meets on the shop side.
    fn bar_met(&self, shop: Side, enters: Length) -> Option<String> {
        if let Some(clearance) = self.facts.clearance.filter(|room| *room < enters) {
            return Some(format!("the plan gives {} in before the shop head", inch(clearance)));
        }
        let Drawn::Seen { between, lips, .. } = &self.facts.drawn else { return None };
        let narrow = |hundredths: Hundredths| f64::from(hundredths) / 100.0 + 1e-9 < enters.inches();
        if let Some(width) = between.filter(|width| narrow(*width)) {
            return Some(format!(
                "what stands on the {} side leaves {} in between",
                self.side(shop),
                shown(width)
            ));
        }
        let low = |&&(_, distance, height): &&(Stander, Hundredths, Hundredths)| {
            narrow(height) && f64::from(distance) / 100.0 < enters.inches()
        };
        let (what, _, height) = lips[at(shop)].iter().find(low)?;
        Some(format!("{} lies over it and leaves {} in", self.stander(*what), shown(*height)))
    }

    fn back_riveting(&mut self) {
        const TOOL: &str = "back-riveting";
        let tools = self.tools;
        let (head, shop) = (self.facts.head_side(), self.facts.shop_side());
        if self.facts.rivet.head != HeadStyle::Flush {
            return self.refuse(TOOL, "only flush heads lie on the plate".to_owned());
        }
        if tools.plates.is_empty() {
            return self.refuse(TOOL, "no plate is among the tools".to_owned());
        }
        if tools.guns.is_empty() {
            return self.refuse(TOOL, "no gun is among the tools".to_owned());
        }
        // Without a drawing, nobody knows whether that side lies flat.
        let Drawn::Seen { near, long, .. } = &self.facts.drawn else {
            return self.refuse(TOOL, "whether the part lies flat on the plate is not drawn".to_owned());
        };
        let (near, long) = (*near, *long);
        let sets: Vec<(usize, Length, String)> =
            self.fitting(DiesFor::Back).into_iter().map(|(n, it)| (n, it.across, it.title.clone())).collect();
        let mut set = Err("no back-riveting set is among the tools".to_owned());
        for (number, across, title) in sets {
            match self.sits(shop, across, &title) {
                None => {
                    set = Ok((number, title));
                    break;
                }
                Some(reason) => set = Err(reason),
            }
        }
        let (dies, title) = match set {
            Ok(set) => set,
            Err(reason) => return self.refuse(TOOL, reason),
        };
        for (number, plate) in tools.plates.iter().enumerate() {
            let half = plate.size[0].min(plate.size[1]).inches() / 2.0;
            if let Some((what, distance)) = near[at(head)]
                && f64::from(distance) / 100.0 < half
            {
                let reason = format!(
                    "the {} side does not lie flat on the {}, {} by {} in: {} is {} in from the hole",
                    self.side(head),
                    lower(&plate.title),
                    inch(plate.size[0]),
                    inch(plate.size[1]),
                    self.stander(what),
                    shown(distance)
                );
                self.refuse(TOOL, reason);
                continue;
            }
            let mut notes = vec![
                format!(
                    "the {} under every rivet, head down: move it along with the row",
                    lower(&plate.title)
                ),
                "tape over the heads holds them in their holes".to_owned(),
            ];
            let limit = figures().constant("reach-long");
            if f64::from(long) / 100.0 > limit.value {
                notes.push(format!(
                    "the part is {} in long: a helper keeps it flat on the plate",
                    shown(long)
                ));
            }
            let way = Way {
                means: Means::BackRiveting { gun: 0, plate: number },
                dies,
                force_share: None,
                warn: false,
                people: 1,
                why: format!(
                    "flush, and nothing stands on the {} side within the {}; {} sits clear",
                    self.side(head),
                    lower(&plate.title),
                    lower(&title)
                ),
                notes,
                cited: vec![
                    tools.cited(format!("plates.{}", plate.name)),
                    limit.cited.clone(),
                    figures().constant("reach-margin").cited.clone(),
                ],
            };
            self.choices.push(((1, 1, false, Length::ZERO, 0, self.choices.len()), way));
        }
    }
}

/// Within this of a hole on both sides, a slim fixed jaw helps on one of them only, hundredths of an inch.
const BOTH_CROWDED: Hundredths = 50;

/// A title within a sentence.
fn lower(title: &str) -> String {
    let mut chars = title.chars();
    match chars.next() {
        Some(first) if !chars.clone().next().is_some_and(char::is_uppercase) => {
            first.to_lowercase().chain(chars).collect()
        }
        _ => title.to_owned(),
    }
}
