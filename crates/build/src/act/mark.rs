//! Marks of work: what is done piece by piece, torque, photographs and hours.

use faying_plan::{HoleId, PieceId};
use faying_record::{ClockStarted, Event, Photographed, Torqued, WorkDone, Worked, seconds_of};

use super::Checked;
use crate::world::World;

pub(super) fn work_done(world: &World, step: &str, parts: &[String], rows: &[String], note: &str) -> Checked {
    let plan = world.plan();
    let id = plan.step_named(step).ok_or_else(|| format!("the plan has no step {step}"))?;
    super::may_begin(world, id)?;
    let work = world.side.sequence.work(id);
    if work.pieces.is_empty() && work.worked.is_empty() {
        return Err(format!("step {step} is not done piece by piece; set its holes, or mark it as done"));
    }
    let all = parts.is_empty() && rows.is_empty();
    let mut pieces: Vec<PieceId> = Vec::new();
    for name in parts {
        let piece = work.pieces.iter().copied().find(|&it| plan.piece_full_name(it) == *name);
        pieces.push(piece.ok_or_else(|| format!("{name} is no part of step {step}; load the page again"))?);
    }
    let mut holes: Vec<HoleId> = Vec::new();
    for name in rows {
        let row = plan.row_named(name).ok_or_else(|| format!("the plan has no row {name}"))?;
        let before = holes.len();
        holes.extend(work.worked.iter().copied().filter(|&hole| plan[hole].row == row));
        if holes.len() == before {
            return Err(format!("row {name} is no part of step {step}; load the page again"));
        }
    }
    if all {
        pieces.clone_from(&work.pieces);
        holes.clone_from(&work.worked);
    }
    pieces.retain(|&piece| world.state.worked(step, piece).is_none());
    holes.retain(|&hole| world.state.worked_hole(step, hole).is_none());
    if pieces.is_empty() && holes.is_empty() {
        return Err("this is done already".to_owned());
    }
    let event = WorkDone {
        step: step.to_owned(),
        work: plan[id].work.word().to_owned(),
        parts: pieces.into_iter().map(|piece| plan.piece_full_name(piece)).collect(),
        holes: holes.into_iter().map(|hole| plan.hole_name(hole)).collect(),
        note: note.trim().to_owned(),
    };
    Ok((event.into(), String::new()))
}

pub(super) fn torque(
    world: &World,
    names: &[String],
    torque: &str,
    drag: &str,
    wrench: &str,
    note: &str,
) -> Checked {
    let mut holes = Vec::with_capacity(names.len());
    for name in names {
        let hole = super::find(world, name)?;
        if !world.plan().is_bolt(hole) {
            return Err(format!("{name} takes no bolt"));
        }
        if !world.is_set(hole) {
            return Err(format!("{name} has no bolt in it yet; set it first"));
        }
        holes.push(name.clone());
    }
    if holes.is_empty() {
        return Err("no bolt is named".to_owned());
    }
    let inch_pounds = inch_pounds(torque)?.ok_or("write the torque, such as 25 in-lb")?;
    let event = Torqued {
        holes,
        inch_pounds,
        drag_inch_pounds: inch_pounds_of_drag(drag)?,
        wrench: wrench.trim().to_owned(),
        note: note.trim().to_owned(),
    };
    Ok((event.into(), String::new()))
}

fn inch_pounds_of_drag(text: &str) -> Result<Option<f64>, String> {
    inch_pounds(text).map_err(|why| format!("drag: {why}"))
}

/// A torque as typed, in in-lb; nothing typed is nothing measured.
fn inch_pounds(text: &str) -> Result<Option<f64>, String> {
    /// 1 lbf is 4.448 221 615 260 5 N and 1 in .0254 m, both exact by definition.
    const NEWTON_METRES: f64 = 0.112_984_829_027_616_7;
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let number = text.trim_end_matches(|c: char| !c.is_ascii_digit());
    let unit: String = text[number.len()..].chars().filter(|c| c.is_alphabetic()).collect();
    let wrong = || format!("\"{text}\" is no torque; write 25 in-lb, 3 ft-lb or 2.8 N·m");
    let value: f64 = number.replace(',', ".").parse().map_err(|_| wrong())?;
    let value = match unit.to_ascii_lowercase().as_str() {
        "" | "inlb" | "inlbs" | "lbin" | "inlbf" => value,
        "ftlb" | "ftlbs" | "lbft" | "ftlbf" => value * 12.0,
        "nm" => value / NEWTON_METRES,
        _ => return Err(wrong()),
    };
    // AC 43.13-1B, table 7-1, ends far below this.
    if value > 0.0 && value < 100_000.0 { Ok(Some(value)) } else { Err(wrong()) }
}

pub(super) fn photograph(file: &str, about: &[String], words: &str) -> Checked {
    let name = file.strip_suffix(".jpg").or_else(|| file.strip_suffix(".png")).unwrap_or(file);
    if name.len() != 64 || !name.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Err("the photograph was not kept; take it again".to_owned());
    }
    let event = Photographed {
        file: file.to_owned(),
        about: about.iter().filter(|it| !it.is_empty()).cloned().collect(),
        words: words.trim().to_owned(),
    };
    Ok((event.into(), String::new()))
}

pub(super) fn clock(world: &World, step: &str) -> Checked {
    if !step.is_empty() && world.plan().step_named(step).is_none() {
        return Err(format!("the plan has no step {step}"));
    }
    if let Some((_, running)) = world.clock_running() {
        let on = if running.step.is_empty() { "the build" } else { &running.step };
        return Err(format!("the clock runs already, on {on}; stop it first"));
    }
    Ok((ClockStarted { step: step.to_owned() }.into(), String::new()))
}

pub(super) fn worked(world: &World, step: &str, time: &str, people: &str, note: &str, at: &str) -> Checked {
    /// Nobody works longer at a stretch: a clock that ran on was forgotten.
    const LONGEST: f64 = 14.0 * 60.0;
    let people = match people.trim() {
        "" => 1,
        text => text
            .parse::<u32>()
            .ok()
            .filter(|count| (1..=20).contains(count))
            .ok_or_else(|| format!("\"{text}\" is no number of people; write 1 or 2"))?,
    };
    let running = world.clock_running();
    let (step, minutes, clock) = match (minutes(time)?, running) {
        (Some(minutes), None) => (step.to_owned(), minutes, String::new()),
        (written, Some((id, running))) => {
            let begun = &world.state.act(id).at;
            let ran = seconds_of(at).zip(seconds_of(begun)).map(|(end, begun)| end - begun);
            #[expect(clippy::cast_precision_loss, reason = "seconds of an evening")]
            let ran = ran.map(|seconds| seconds as f64 / 60.0);
            let minutes = match (written, ran) {
                (Some(written), _) => written,
                (None, Some(ran)) if (0.0..=LONGEST).contains(&ran) => ran,
                _ => return Err("the clock ran on; write how long it was, such as 2:15".to_owned()),
            };
            (running.step.clone(), minutes, world.state.act(id).id.clone())
        }
        (None, None) => return Err("the clock does not run; write how long it was, such as 1.5".to_owned()),
    };
    if !step.is_empty() && world.plan().step_named(&step).is_none() {
        return Err(format!("the plan has no step {step}"));
    }
    if minutes > LONGEST * f64::from(people) {
        return Err(format!("{time}: that is longer than a day's work; write it day by day"));
    }
    Ok((Worked { step, minutes, people, clock, note: note.trim().to_owned() }.into(), String::new()))
}

/// A time as typed, in minutes: `1.5` and `1,5` hours, `1:30`, `90 min`, `2 h`.
fn minutes(text: &str) -> Result<Option<f64>, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let wrong = || format!("\"{text}\" is no time; write 1.5, 1:30 or 90 min");
    if let Some((hours, minutes)) = text.split_once(':') {
        let read = |text: &str| text.trim().parse::<u32>().map_err(|_| wrong());
        let (hours, minutes) = (read(hours)?, read(minutes)?);
        if minutes >= 60 || hours > 100 {
            return Err(wrong());
        }
        return Ok(Some(f64::from(hours * 60 + minutes)));
    }
    let number = text.trim_end_matches(|c: char| c.is_alphabetic() || c.is_whitespace() || c == '.');
    let value: f64 = number.replace(',', ".").parse().map_err(|_| wrong())?;
    let minutes = match text[number.len()..].trim().trim_end_matches('.') {
        "" | "h" | "hr" | "hrs" | "hour" | "hours" => value * 60.0,
        "min" | "mins" | "minutes" | "m" => value,
        _ => return Err(wrong()),
    };
    if minutes > 0.0 && minutes.is_finite() { Ok(Some(minutes)) } else { Err(wrong()) }
}

impl World {
    /// The clock that runs now, if one does: its act and on which step.
    #[must_use]
    pub fn clock_running(&self) -> Option<(faying_record::ActId, &ClockStarted)> {
        self.state.of_kind("clock-started").rev().find_map(|(id, act)| match &act.event {
            Event::ClockStarted(started) if self.state.answer(&act.id, "").is_none() => Some((id, started)),
            _ => None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_torque_as_it_is_written() {
        assert_eq!(inch_pounds("25").unwrap(), Some(25.0));
        assert_eq!(inch_pounds(" 25 in-lb").unwrap(), Some(25.0));
        assert_eq!(inch_pounds("3 ft-lb").unwrap(), Some(36.0));
        assert_eq!(inch_pounds("").unwrap(), None);
        // 1 N·m is 8.850 7 in-lb (NIST SP 811, appendix B.8, by 1 lbf·in = 1.129 848 E-01 N·m).
        assert!((inch_pounds("1 N·m").unwrap().unwrap() - 8.850_7).abs() < 1e-4);
        for text in ["tight", "-3", "0", "25 kg", "1e9"] {
            assert!(inch_pounds(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_time_as_it_is_written() {
        for (text, expected) in
            [("1.5", 90.0), ("1,5 h", 90.0), ("1:30", 90.0), ("90 min", 90.0), ("2 h", 120.0)]
        {
            assert_eq!(minutes(text).unwrap(), Some(expected), "{text}");
        }
        for text in ["1:75", "soon", "-1", "0", "nan"] {
            assert!(minutes(text).is_err(), "{text}");
        }
    }
}
