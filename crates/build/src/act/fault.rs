//! Acts around a fault: what was measured or seen, and the question to whoever decides.

use std::collections::BTreeMap;

use faying_joint::examine::{self, Aspect, At, Reading, Readings};
use faying_joint::ruling::{Judgement, Said};
use faying_plan::{HoleId, Role};
use faying_record::{Asked, Event, Examined, ReadingTaken};

use super::Checked;
use crate::world::World;

pub(super) fn examine(
    world: &World,
    holes: &[String],
    aspect: &str,
    instrument: &str,
    words: &str,
    typed: &BTreeMap<String, String>,
) -> Checked {
    let aspect = Aspect::named(aspect)
        .ok_or_else(|| format!("\"{aspect}\" is nothing that is looked at here; load the page again"))?;
    let Some(first) = holes.first() else { return Err("no hole is named".to_owned()) };
    let first = super::find(world, first)?;
    for name in holes {
        let hole = super::find(world, name)?;
        if aspect.takes_rivet() && !world.is_set(hole) {
            return Err(format!("{name} has no fastener in it yet: there is none to look at"));
        }
    }
    let readings = examine::read(aspect, typed)?;
    let words = words.trim();
    if aspect.fields().is_empty() && !aspect.is_plain() && words.is_empty() {
        return Err("write what is wrong: what was done, what the plan has there".to_owned());
    }
    let judged = world.examine(first, aspect, &readings);
    let said = judged.as_ref().map_or(Said::NotJudged, |judgement| judgement.said);
    let ruling = judged.as_ref().and_then(|it| it.rulings.iter().find(|ruling| ruling.rules));
    let stands = said == Said::Outside || (said == Said::NotJudged && !aspect.is_size());
    let unjudged = "No rule here speaks of a hole that takes no solid rivet: it is written down and stands against \
                    nothing. Where it departs from the plan, put it down as a fault as well.";
    let says = [
        match &judged {
            None => unjudged.to_owned(),
            Some(_) => ruling.map_or_else(String::new, |ruling| ruling.words.clone()),
        },
        if stands {
            "It stands against every gate that hides it until somebody decides.".to_owned()
        } else {
            String::new()
        },
    ];
    let event = Examined {
        holes: holes.to_vec(),
        aspect: aspect.word().to_owned(),
        readings: readings.iter().map(taken).collect(),
        instrument: instrument.trim().to_owned(),
        rule: ruling.map_or_else(String::new, |ruling| ruling.rule.clone()),
        verdict: word(said).to_owned(),
        words: words.to_owned(),
        stands,
    };
    Ok((event.into(), says.join(" ").trim().to_owned()))
}

/// What a rule said, in the word that is kept.
const fn word(said: Said) -> &'static str {
    match said {
        Said::Inside => "inside",
        Said::Outside => "outside",
        Said::NotJudged => "not judged",
    }
}

fn taken((name, reading): (&String, &Reading)) -> ReadingTaken {
    let name = name.clone();
    match reading {
        Reading::Length(length) => ReadingTaken { name, length: Some(*length), ..ReadingTaken::default() },
        Reading::Count(count) => ReadingTaken { name, count: Some(*count), ..ReadingTaken::default() },
        Reading::Yes(yes) => {
            ReadingTaken { name, word: if *yes { "yes" } else { "no" }.to_owned(), ..ReadingTaken::default() }
        }
        Reading::Word(word) => ReadingTaken { name, word: word.clone(), ..ReadingTaken::default() },
    }
}

/// Readings as the record keeps them, as they are judged.
#[must_use]
pub fn readings_of(examined: &Examined) -> Readings {
    let reading = |it: &ReadingTaken| {
        let reading = match (it.length, it.count, it.word.as_str()) {
            (Some(length), ..) => Reading::Length(length),
            (_, Some(count), _) => Reading::Count(count),
            (.., "yes") => Reading::Yes(true),
            (.., "no") => Reading::Yes(false),
            (.., word) => Reading::Word(word.to_owned()),
        };
        (it.name.clone(), reading)
    };
    examined.readings.iter().map(reading).collect()
}

pub(super) fn ask(world: &World, about: &str, who: &str, role_word: &str, words: &str) -> Checked {
    if !world.is_open_fault(about) {
        return Err("there is no open fault to ask about; load the page again".to_owned());
    }
    let who = super::gate::filled(who, "who is asked")?;
    let role = super::gate::role(role_word)?;
    if !role.decides_on_structure() {
        return Err(format!(
            "this is structure; the {} does not decide on it alone. Ask the designer, the inspector or the authority",
            role.word()
        ));
    }
    let event = Asked {
        about: about.to_owned(),
        who,
        role: Role::word(role).to_owned(),
        words: words.trim().to_owned(),
    };
    Ok((event.into(), "It stays open until the answer is written down.".to_owned()))
}

impl World {
    /// What every rule says of readings at a hole; none where no solid rivet belongs there.
    #[must_use]
    pub fn examine(&self, hole: HoleId, aspect: Aspect, readings: &Readings) -> Option<Judgement> {
        let plan = self.plan();
        let rivet = plan[plan[hole].row].rivet?;
        let at = At { rivet, joint: self.side.joints.at(hole), limits: &plan.limits };
        Some(examine::examine(aspect, readings, &at, &self.side.joints.constants))
    }

    /// Whether an act found a fault that nobody has decided on.
    #[must_use]
    pub fn is_open_fault(&self, act: &str) -> bool {
        let Some(id) = self.state.act_with_id(act) else { return false };
        let is_fault = match &self.state.act(id).event {
            Event::FaultFound(_) => true,
            Event::HeadMeasured(head) => head.verdict == "outside",
            Event::Examined(examined) => examined.stands,
            _ => false,
        };
        is_fault && self.state.counts(id) && self.state.answer(act, "").is_none()
    }
}
