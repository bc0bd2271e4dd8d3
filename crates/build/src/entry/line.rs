//! What a typed line means: `web .040 2024-T3`, `26 × -5, doubler to web`.
//!
//! The import's lists read count, call-out and names; here the names are looked
//! up in the plan, and what the line leaves out comes from the usual rivet
//! chosen beside it. Words win over the choice.

use faying_import::lists;
use faying_plan::edit::{PartText, RowText};
use faying_plan::{PieceId, Plan, keys};
use faying_standards::{Fastener, HeadStyle, Length, Unit};

use super::{EntryError, RowEntry};

/// A part as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartLine {
    /// Its short name.
    pub name: String,
    /// What is written of it.
    pub text: PartText,
}

/// Reads a part: name, thickness, material, in this or another order behind the name.
///
/// - `unit`: of a bare thickness
///
/// # Errors
/// [`EntryError`] says what is missing and what to write.
pub fn part_line(line: &str, unit: Unit) -> Result<PartLine, EntryError> {
    const HOW: &str = "write name, thickness and material, for example: web .040 2024-T3";
    let words: Vec<&str> = line.split([' ', ',', ';', '\t']).filter(|word| !word.is_empty()).collect();
    let mut part = PartText::default();
    let mut name: Vec<&str> = Vec::new();
    let mut material: Vec<&str> = Vec::new();
    let mut at = 0;
    while let Some(&word) = words.get(at) {
        at += 1;
        let behind = words.get(at).copied().filter(|next| matches!(*next, "mm" | "in"));
        // A whole number is a thickness only where its unit is said or is millimetres: "rib 2" is a name.
        let sized = word.contains(['.', '/', '#'])
            || word.ends_with("mm")
            || behind.is_some()
            || unit == Unit::Millimetre;
        let begins = word.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '#'));
        let size = [behind.map_or_else(|| word.to_owned(), |unit| format!("{word} {unit}")), word.to_owned()];
        if name.is_empty() {
            name.push(word);
        } else if part.thickness.is_empty() && begins && sized && Length::read(&size[0], unit).is_ok() {
            part.thickness.clone_from(&size[0]);
            at += usize::from(behind.is_some());
        } else if matches!(word, "prime" | "primed") {
            "prime".clone_into(&mut part.finish);
        } else if let Some(count) = copies(word) {
            part.copies = (1..=count).map(|number| number.to_string()).collect();
        } else if part.thickness.is_empty() && material.is_empty() && !is_material(word) {
            name.push(word);
        } else {
            material.push(word);
        }
    }
    if name.is_empty() {
        return Err(EntryError::typed("nothing was typed for the part", HOW));
    }
    let written = name.join(" ");
    let name = name.join("-").to_lowercase();
    if !name.starts_with(|c: char| c.is_alphabetic()) {
        return Err(EntryError::typed(
            format!("the line begins with \"{}\", not with the name of a part", words[0]),
            HOW,
        ));
    }
    if written != name {
        part.title = written;
    }
    part.material = material.join(" ");
    Ok(PartLine { name, text: part })
}

/// `x4`: four copies.
fn copies(word: &str) -> Option<u32> {
    let count = word.strip_prefix(['x', 'X', '×'])?.parse().ok()?;
    (2..=99).contains(&count).then_some(count)
}

/// `2024-T3`, `6061-T6`, `4130`: an alloy number in front.
fn is_material(word: &str) -> bool {
    word.len() >= 4 && word.bytes().take(4).all(|b| b.is_ascii_digit())
}

/// What a line says besides the names.
#[derive(Default)]
struct Said {
    head: Option<HeadStyle>,
    /// Preparation by layer, where a word stands behind its name.
    prep: Vec<(usize, &'static str)>,
}

/// Reads a row as typed, against a plan of one file.
pub fn row_line(plan: &Plan, entry: &RowEntry) -> Result<RowText, EntryError> {
    let line = with_capitals(&entry.line);
    let list = lists::read(&line);
    if let Some(finding) = list.findings.first() {
        return Err(EntryError::found(finding));
    }
    let Some(typed) = list.rows.into_iter().next() else {
        return Err(EntryError::typed(
            "nothing was typed for the row",
            "write for example: 26 x -5, doubler to web",
        ));
    };
    let mut said = Said::default();
    let mut layers: Vec<String> = Vec::new();
    for layer in &typed.layers {
        let bare = without_words(layer, layers.len(), &mut said);
        if !bare.is_empty() {
            layers.push(bare);
        }
    }
    let note = without_words(&typed.note, layers.len().saturating_sub(1), &mut said);
    let (through, of_name) = pieces(plan, &layers)?;
    for (layer, _) in &mut said.prep {
        *layer = of_name.get(*layer).copied().unwrap_or(*layer);
    }
    let mut row = RowText { count: Some(typed.count), through, note, ..RowText::default() };
    let rivet = called(&mut row, typed.called.as_deref(), entry, &said)?;
    if rivet == Some(HeadStyle::Flush) {
        row.prep = preparations(&row.through, &said, &entry.flush);
    } else if !said.prep.is_empty() {
        return Err(EntryError::typed(
            "layers are dimpled or countersunk for flush heads, and the rivet is not a flush one",
            "choose a flush rivet, or leave the word out",
        ));
    }
    Ok(row)
}

/// Call-outs in capitals, as a phone does not type them: `ad4-5` becomes `AD4-5`. Names of parts stay.
fn with_capitals(line: &str) -> String {
    let starts = |word: &str| {
        let code = word.trim_start_matches(|c: char| c.is_ascii_alphabetic());
        let letters = word[..word.len() - code.len()].to_ascii_lowercase();
        code.starts_with(|c: char| c.is_ascii_digit())
            && matches!(letters.as_str(), "a" | "ad" | "b" | "d" | "dd" | "e" | "ms" | "an" | "nas")
    };
    let words: Vec<String> = line
        .split(' ')
        .map(|word| {
            let (times, rest) = word.strip_prefix(['x', 'X', '×']).map_or(("", word), |rest| ("x", rest));
            if starts(rest) && rest.is_ascii() {
                format!("{times}{}", rest.to_ascii_uppercase())
            } else {
                word.to_owned()
            }
        })
        .collect();
    words.join(" ")
}

/// Takes the words of the trade out of a name: head style and preparation.
fn without_words(text: &str, layer: usize, said: &mut Said) -> String {
    let mut kept: Vec<&str> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        match word.trim_end_matches([',', ';', '.']).to_ascii_lowercase().as_str() {
            "flush" => said.head = Some(HeadStyle::Flush),
            "universal" => said.head = Some(HeadStyle::Universal),
            "dimpled" => said.prep.push((layer, "dimpled")),
            "countersunk" => said.prep.push((layer, "countersunk")),
            _ => kept.push(word),
        }
    }
    kept.join(" ")
}

/// The pieces that the names mean, as the plan names them, and for each name its piece's position.
fn pieces(plan: &Plan, layers: &[String]) -> Result<(Vec<String>, Vec<usize>), EntryError> {
    let known: Vec<String> =
        (0..plan.pieces.len()).map(|index| plan.piece_name(PieceId::from_index(index))).collect();
    let find = |name: &str| {
        let name = name.trim().to_lowercase().replace(' ', "-");
        known.iter().enumerate().find_map(|(index, piece)| {
            let part = &plan[plan.pieces[index].part];
            let title = part.title.to_lowercase().replace(' ', "-");
            let same = piece.to_lowercase() == name || (part.pieces.len() == 1 && title == name);
            same.then(|| piece.clone())
        })
    };
    let mut pieces = Vec::new();
    let mut of_name = Vec::new();
    let mut at = 0;
    while let Some(name) = layers.get(at) {
        // `rib/1` was read as two names: a stroke also stands between layers.
        let joined = layers.get(at + 1).and_then(|next| find(&format!("{name}/{next}")));
        let names = 1 + usize::from(joined.is_some());
        at += names;
        of_name.extend(std::iter::repeat_n(pieces.len(), names));
        match joined.or_else(|| find(name)) {
            Some(piece) => pieces.push(piece),
            None => return Err(unknown(plan, &known, name)),
        }
    }
    Ok((pieces, of_name))
}

fn unknown(plan: &Plan, known: &[String], name: &str) -> EntryError {
    let copied: Vec<&str> = known
        .iter()
        .map(String::as_str)
        .filter(|piece| piece.split_once('/').is_some_and(|(part, _)| part == name))
        .collect();
    if !copied.is_empty() {
        return EntryError::typed(
            format!("\"{name}\" is several pieces"),
            format!("write which: {}", copied.join(", ")),
        );
    }
    let what = format!("there is no part \"{name}\" yet");
    let next = match keys::nearest(name, known.iter().map(String::as_str)) {
        Some(near) => format!("did you mean {near}? Otherwise add it under Parts first"),
        None if plan.parts.is_empty() => "add it under Parts first".to_owned(),
        None => format!("add it under Parts first, or write one of {}", known.join(", ")),
    };
    EntryError::typed(what, next)
}

/// Puts rivet and call-out into the row; gives the head where it is a solid rivet.
fn called(
    row: &mut RowText,
    called: Option<&str>,
    entry: &RowEntry,
    said: &Said,
) -> Result<Option<HeadStyle>, EntryError> {
    let usual = entry.rivet.trim();
    let read = |text: &str| {
        Fastener::read(text).map(|read| read.fastener).map_err(|error| {
            let text = error.to_string();
            let (what, next) = text
                .rsplit_once("; ")
                .or_else(|| text.rsplit_once(": "))
                .unwrap_or((&text, "compare with your plans"));
            EntryError::typed(what, next)
        })
    };
    let usual_kind = if usual.is_empty() { None } else { read(usual)?.rivet() };
    let head = said.head.or(usual_kind.map(|kind| kind.head)).unwrap_or(HeadStyle::Universal);
    let whole = match called {
        None if usual.is_empty() => return Ok(None),
        None => usual_kind.map_or_else(
            || usual.to_owned(),
            |kind| faying_standards::RivetType { head, ..kind }.to_string(),
        ),
        Some(dash) if dash.starts_with('-') => match usual_kind {
            Some(kind) => format!("{}{dash}", faying_standards::RivetType { head, ..kind }),
            None => {
                return Err(EntryError::typed(
                    format!("\"{dash}\" is a length, and no rivet is chosen"),
                    "choose the rivet, or write the whole part number",
                ));
            }
        },
        // `AD4-5`: alloy, diameter and length; the head is chosen.
        Some(short) if is_short(short) => format!("{}{short}", head.number()),
        Some(part) => part.to_owned(),
    };
    match read(&whole)? {
        Fastener::Solid { kind, dash: None } => {
            row.rivet = kind.to_string();
            Ok(Some(kind.head))
        }
        fastener => {
            row.called = fastener.to_string();
            Ok(fastener.rivet().map(|kind| kind.head))
        }
    }
}

/// `AD4-5`, `D5-6.5`: a code of letters and a diameter, without the family in front.
fn is_short(text: &str) -> bool {
    let letters: String = text.chars().take_while(char::is_ascii_alphabetic).collect();
    matches!(letters.as_str(), "A" | "AD" | "B" | "D" | "DD" | "E")
}

/// How the layers are prepared, near to far.
fn preparations(through: &[String], said: &Said, way: &str) -> Vec<(String, String)> {
    let last = through.len().saturating_sub(1);
    // A word behind the last name alone speaks of the whole row.
    let by_layer = said.prep.len() > 1 || said.prep.iter().any(|(layer, _)| *layer != last);
    let of_layer = |at: usize| -> &str {
        if by_layer {
            return said.prep.iter().find(|(layer, _)| *layer == at).map_or("", |(_, how)| how);
        }
        let way = said.prep.first().map_or(way, |(_, how)| how);
        match way {
            "dimpled" => "dimpled",
            "countersunk" if at == 0 => "countersunk",
            "nested" if at == last => "countersunk",
            "nested" => "dimpled",
            _ => "",
        }
    };
    through
        .iter()
        .enumerate()
        .map(|(at, piece)| (piece, of_layer(at)))
        .filter(|(_, how)| !how.is_empty())
        // Preparation is a matter of the part; its copies are alike.
        .map(|(piece, how)| (piece.split('/').next().unwrap_or(piece).to_owned(), how.to_owned()))
        .fold(Vec::new(), |mut list, (part, how)| {
            if !list.iter().any(|(known, _)| *known == part) {
                list.push((part, how));
            }
            list
        })
}

/// How the layers are prepared by a key of [`flush_ways`](super::flush_ways) alone.
pub fn preparations_by_way(layers: &[String], way: &str) -> Vec<(String, String)> {
    preparations(layers, &Said::default(), way)
}

#[cfg(test)]
mod tests {
    use faying_plan::SourceText;

    use super::*;

    const FLAP: &str = "format = 1\nid = \"flap\"\n[parts]\nweb = {}\ndoubler = {}\nskin-upper = { title = \"Upper skin\" }\nrib = { copies = [\"1\", \"2\"] }\n";

    fn read(line: &str, rivet: &str, flush: &str) -> Result<RowText, String> {
        let plan = faying_plan::read(vec![SourceText { name: "flap".into(), text: FLAP.into() }]).plan;
        let entry =
            RowEntry { line: line.into(), rivet: rivet.into(), flush: flush.into(), ..RowEntry::default() };
        row_line(&plan, &entry).map_err(|error| error.to_string())
    }

    fn shown(line: &str, rivet: &str, flush: &str) -> String {
        let row = read(line, rivet, flush).unwrap();
        let prep: Vec<String> = row.prep.iter().map(|(part, how)| format!("{part} {how}")).collect();
        let rivet = if row.called.is_empty() { format!("{} without length", row.rivet) } else { row.called };
        format!(
            "{} {rivet} [{}] ({}) {}",
            row.count.unwrap(),
            row.through.join(", "),
            prep.join(", "),
            row.note
        )
    }

    #[test]
    fn a_row_is_what_the_line_says_and_the_choice_beside_it() {
        for (line, rivet, flush, want) in [
            ("26 × -5, doubler to web", "MS20470AD4", "", "26 MS20470AD4-5 [doubler, web] () "),
            ("26 x ad4-5 doubler to web", "MS20470AD3", "", "26 MS20470AD4-5 [doubler, web] () "),
            (
                "12 AD3-3.5 skin-upper to rib/1 flush dimpled",
                "MS20470AD4",
                "",
                "12 MS20426AD3-3.5 [skin-upper, rib/1] (skin-upper dimpled, rib dimpled) ",
            ),
            (
                "12 -4 upper skin dimpled to web countersunk; by hand",
                "MS20426AD3",
                "dimpled",
                "12 MS20426AD3-4 [skin-upper, web] (skin-upper dimpled, web countersunk) by hand",
            ),
            (
                "8 -4 skin-upper to web",
                "MS20426AD3",
                "nested",
                "8 MS20426AD3-4 [skin-upper, web] (skin-upper dimpled, web countersunk) ",
            ),
            (
                "8 -4 skin-upper to web",
                "MS20426AD3",
                "countersunk",
                "8 MS20426AD3-4 [skin-upper, web] (skin-upper countersunk) ",
            ),
            ("8 -4 skin-upper to web", "MS20426AD3", "", "8 MS20426AD3-4 [skin-upper, web] () "),
            ("4 AN3-5A, hinge bracket", "MS20470AD4", "", "4 AN3-5A [] () hinge bracket"),
            ("4", "MS20470AD4", "", "4 MS20470AD4 without length [] () "),
            ("6 AN470AD4-6 Web / Doubler", "", "", "6 MS20470AD4-6 [web, doubler] () "),
        ] {
            assert_eq!(shown(line, rivet, flush), want, "{line:?}");
        }
    }

    #[test]
    fn what_cannot_be_read_says_what_to_write() {
        for (line, rivet, want) in [
            (
                "26 -5 dubler to web",
                "MS20470AD4",
                "there is no part \"dubler\" yet; did you mean doubler? Otherwise add it under Parts first",
            ),
            ("26 -5 rib to web", "MS20470AD4", "\"rib\" is several pieces; write which: rib/1, rib/2"),
            (
                "26 -5 doubler to web",
                "",
                "\"-5\" is a length, and no rivet is chosen; choose the rivet, or write the whole part number",
            ),
            ("", "MS20470AD4", "nothing was typed for the row; write for example: 26 x -5, doubler to web"),
            (
                "26 -5 doubler to web dimpled",
                "MS20470AD4",
                "layers are dimpled or countersunk for flush heads, and the rivet is not a flush one; choose a flush rivet, or leave the word out",
            ),
        ] {
            assert_eq!(read(line, rivet, "").unwrap_err(), want);
        }
    }

    #[test]
    fn a_part_is_name_thickness_material() {
        let part = |line: &str, unit| {
            let PartLine { name, text } = part_line(line, unit).unwrap();
            [name, text.title, text.thickness, text.material, text.finish, text.copies.join(" ")].join("|")
        };
        for (line, unit, want) in [
            ("web .040 2024-T3", Unit::Inch, "web||.040|2024-T3||"),
            ("Spar web 2024-T3 .040 prime", Unit::Inch, "spar-web|Spar web|.040|2024-T3|prime|"),
            ("skin 0.8 mm 6061 T6", Unit::Inch, "skin||0.8 mm|6061 T6||"),
            ("skin 1 2024-T3", Unit::Millimetre, "skin||1|2024-T3||"),
            ("rib 2 1/32, 2024-T3", Unit::Inch, "rib-2|rib 2|1/32|2024-T3||"),
            ("rib .025 2024-T3 x4", Unit::Inch, "rib||.025|2024-T3||1 2 3 4"),
            ("hinge", Unit::Inch, "hinge|||||"),
        ] {
            assert_eq!(part(line, unit), want, "{line:?}");
        }
        assert_eq!(
            part_line(".040 web", Unit::Inch).unwrap_err().to_string(),
            "the line begins with \".040\", not with the name of a part; write name, thickness and material, for example: web .040 2024-T3"
        );
    }
}
