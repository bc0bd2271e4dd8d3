//! Seats: what counts of a stack between the two heads.
//!
//! Each sheet at a hole is plain, dimpled or countersunk. From that follow the
//! seat-to-seat length G, the face the shop head bears on, and how much of the
//! grip is a cylinder that the shank must fill. Theory chapter, "Seats".
//!
//! Sheets are given near to far and turned here so that the first one carries
//! the manufactured head. Out of scope: which side that is (the plan's word,
//! or the reasons of its own chapter), and how far a countersink was cut.

use faying_plan::Preparation;
use faying_standards::{
    Cited, Diameter, Finding, HeadStyle, HoleRole, HoleSize, Known, Length, RivetSize, RivetType, Working,
    figures,
};
use serde::Serialize;
use thiserror::Error;

use crate::constants::{Constants, Value};

/// One sheet of a stack at a hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Sheet {
    /// Its thickness.
    pub thickness: Length,
    /// What is done to it at the hole.
    pub preparation: Preparation,
}

/// Which sheet of a list carries the manufactured head.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum HeadOn {
    /// The first. It is also taken where only a stack is given: a flush head
    /// is named first by everybody who lists a skin and what lies under it.
    #[default]
    First,
    /// The last.
    Last,
}

/// What the shop head bears on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ShopSeat {
    /// A flat face.
    Flat,
    /// The lip of a dimple; a height is measured from there, never from the flat.
    Lip,
    /// A countersink that it fills.
    Cone,
}

/// The kind of joint, by which G is reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Joint {
    /// All plain, or countersunk with a flat far face.
    Flat,
    /// A dimpled skin in a countersunk part.
    Nested,
    /// All dimpled.
    Dimpled,
    /// Both heads flush.
    DoubleFlush,
}

/// The seats of a stack.
#[derive(Clone, Debug, PartialEq)]
pub struct Seats {
    /// The rivet.
    pub kind: RivetType,
    /// The sheets from the manufactured head to the shop head.
    pub sheets: Vec<Sheet>,
    /// The kind of joint.
    pub joint: Joint,
    /// Σt, the sheets alone.
    pub grip: Length,
    /// G, from the seat of the manufactured head to the face the shop head bears on.
    pub seat_to_seat: Length,
    /// g, the part of G that is a cylinder.
    pub cylinder: Length,
    /// Dh, the hole that the shank fills.
    pub hole: Length,
    /// ℓ, how far the lip of a dimple stands over the flat.
    pub lip: Option<Length>,
    /// What the shop head bears on.
    pub shop_seat: ShopSeat,
    /// What somebody should look at.
    pub notes: Vec<Finding>,
}

/// A stack whose seats cannot be reckoned.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum SeatsError {
    /// No sheet.
    #[error("no sheet is in the stack: a rivet needs something to hold")]
    Empty,
    /// A sheet of no thickness.
    #[error("sheet {number} of the stack is {} in thick: write its thickness", thickness.decimal())]
    Thickness {
        /// Which sheet, from 1.
        number: usize,
        /// What was given.
        thickness: Length,
    },
    /// No dimensions known.
    #[error("the dimensions of {kind} are not in the standards: its seats cannot be reckoned")]
    Size {
        /// The rivet.
        kind: RivetType,
    },
    /// No hole known.
    #[error("no hole for a {diameter} in rivet is in the standards: write the hole size")]
    Hole {
        /// The rivet's diameter.
        diameter: Diameter,
    },
    /// No dimpled hole known.
    #[error(
        "how wide a hole for a {diameter} in rivet is after dimpling is not in the standards: measure one and \
         write dimpled_hole in limits.toml"
    )]
    DimpledHole {
        /// The rivet's diameter.
        diameter: Diameter,
    },
}

/// The seats of a stack.
///
/// # Units
/// - `sheets`: near to far
/// - `hole`: the hole as drilled where the plan gives one, else the usual one
///
/// # Errors
/// [`SeatsError`] where a figure is missing that nothing may stand in for.
///
/// # Source
/// Theory chapter, "Seats".
pub fn seats(
    kind: RivetType,
    sheets: &[Sheet],
    head_on: HeadOn,
    hole: Option<Length>,
    constants: &Constants,
) -> Result<Seats, SeatsError> {
    if sheets.is_empty() {
        return Err(SeatsError::Empty);
    }
    if let Some(index) = sheets.iter().position(|sheet| sheet.thickness <= Length::ZERO) {
        return Err(SeatsError::Thickness { number: index + 1, thickness: sheets[index].thickness });
    }
    let mut sheets = sheets.to_vec();
    if head_on == HeadOn::Last {
        sheets.reverse();
    }
    let size = figures().rivet_size(kind).ok_or(SeatsError::Size { kind })?;
    let diameter = kind.diameter;
    let drilled = hole
        .or_else(|| usual_hole(diameter).and_then(|row| row.nominal))
        .ok_or(SeatsError::Hole { diameter })?;
    let joint = joint(kind.head, &sheets);
    let grip: Length = sheets.iter().map(|sheet| sheet.thickness).sum();
    let films = constants.film.value * (2 * i64::try_from(sheets.len()).expect("a stack is short"));

    let mut seats = Seats {
        kind,
        joint,
        grip,
        seat_to_seat: grip + films,
        cylinder: grip + films,
        hole: drilled,
        lip: None,
        shop_seat: ShopSeat::Flat,
        notes: Vec::new(),
        sheets,
    };
    if kind.head == HeadStyle::Flush {
        if matches!(joint, Joint::Dimpled | Joint::Nested) {
            let dimpled = constants.dimpled_hole(diameter).ok_or(SeatsError::DimpledHole { diameter })?;
            seats.hole = dimpled.value.max(drilled);
        }
        // A flush head fills its own cone, down to where the cone is as wide as the hole.
        seats.cylinder = (seats.seat_to_seat - cone_depth(size, seats.hole)).max(Length::ZERO);
    }
    match joint {
        Joint::Flat => {}
        Joint::Dimpled => {
            let lip = constants.lip(diameter).map_or_else(|| cone_depth(size, seats.hole), |own| own.value);
            seats.lip = Some(lip);
            seats.cylinder = seats.seat_to_seat;
            seats.seat_to_seat += lip;
            seats.shop_seat = ShopSeat::Lip;
        }
        Joint::Nested => seats.hole = mean_hole(&seats, drilled),
        Joint::DoubleFlush => {
            // The shop head's own cone is no cylinder either; its angle is taken to be the same.
            seats.cylinder = (seats.cylinder - far_cone(kind, drilled)).max(Length::ZERO);
            seats.shop_seat = ShopSeat::Cone;
        }
    }
    seats.notes = notes(&seats, size, drilled, constants);
    Ok(seats)
}

/// The hole drilled for a rivet today, else the one that strength figures rest on.
pub(crate) fn usual_hole(diameter: Diameter) -> Option<&'static HoleSize> {
    figures().usual_hole(diameter).or_else(|| figures().listed_hole(diameter))
}

/// Depth of a flush head's cone down to where it is as wide as a hole: (A − Dh)/(2 tan(angle/2)).
pub(crate) fn cone_depth(size: &RivetSize, hole: Length) -> Length {
    let half_angle = size.countersink_deg.unwrap_or(FLUSH_DEG).to_radians() / 2.0;
    let depth = (size.head_diameter - hole).inches() / (2.0 * half_angle.tan());
    Length::from_inches(depth.max(0.0))
}

/// Included angle of an MS20426 head, by its very name "countersunk 100°".
pub(crate) const FLUSH_DEG: f64 = 100.0;

/// Depth of the cone that a flush shop head of this diameter fills.
fn far_cone(kind: RivetType, hole: Length) -> Length {
    let flush = RivetType { head: HeadStyle::Flush, ..kind };
    figures().rivet_size(flush).map_or(Length::ZERO, |size| cone_depth(size, hole))
}

/// One hole that takes as much metal as the dimpled skin's wide one and the part's drilled one together.
fn mean_hole(seats: &Seats, drilled: Length) -> Length {
    let cylinder = seats.cylinder.inches();
    if cylinder <= 0.0 {
        return seats.hole;
    }
    let skins: f64 = dimpled(&seats.sheets).map(|sheet| sheet.thickness.inches()).sum();
    let skins = skins.min(cylinder);
    let squares = skins * seats.hole.inches().powi(2) + (cylinder - skins) * drilled.inches().powi(2);
    Length::from_inches((squares / cylinder).sqrt())
}

fn dimpled(sheets: &[Sheet]) -> impl Iterator<Item = &Sheet> {
    sheets.iter().filter(|sheet| sheet.preparation == Preparation::Dimpled)
}

fn joint(head: HeadStyle, sheets: &[Sheet]) -> Joint {
    let how = |index: usize| sheets[index].preparation;
    let last = sheets.len() - 1;
    let far_countersink = how(last) == Preparation::Countersunk
        && (last > 0 && how(last - 1) != Preparation::Dimpled || head == HeadStyle::Universal);
    if far_countersink {
        return Joint::DoubleFlush;
    }
    if head == HeadStyle::Universal {
        return Joint::Flat;
    }
    match dimpled(sheets).count() {
        0 => Joint::Flat,
        count if count == sheets.len() => Joint::Dimpled,
        _ => Joint::Nested,
    }
}

fn notes(seats: &Seats, size: &RivetSize, drilled: Length, constants: &Constants) -> Vec<Finding> {
    let (kind, sheets) = (seats.kind, seats.sheets.as_slice());
    let mut notes = Vec::new();
    if sheets.len() < 2 {
        notes.push(Finding::look(
            "one-layer",
            "only one sheet is in the stack",
            "a rivet joins two or more; say what else lies at this hole",
        ));
    }
    match kind.head {
        HeadStyle::Universal if dimpled(sheets).next().is_some() => notes.push(Finding::wrong(
            "protruding-in-dimple",
            format!("{kind} has a protruding head, and a sheet of the stack is dimpled"),
            "a dimple takes a flush rivet: say which is meant; the length is reckoned as if all were plain",
        )),
        HeadStyle::Flush if sheets.iter().all(|sheet| sheet.preparation == Preparation::Plain) => {
            notes.push(Finding::wrong(
                "flush-in-plain",
                format!("{kind} is flush, and no sheet of the stack is dimpled or countersunk"),
                "say how each sheet is prepared; the length is reckoned as if the first were countersunk",
            ));
        }
        HeadStyle::Flush if sheets[0].preparation == Preparation::Plain => notes.push(Finding::wrong(
            "flush-on-plain",
            format!("the manufactured head of {kind} lies on a plain sheet"),
            "the sheet under a flush head is dimpled or countersunk: is the head on the other side?",
        )),
        _ => {}
    }
    for pair in sheets.windows(2) {
        let (above, below) = (pair[0].preparation, pair[1].preparation);
        if below == Preparation::Dimpled && above != Preparation::Dimpled {
            notes.push(Finding::wrong(
                "cannot-nest",
                format!("a dimpled sheet lies under a {above} one and has nothing to nest with"),
                "dimple the sheet above it as well, or say that the head is on the other side",
            ));
        }
        if above == Preparation::Dimpled && below == Preparation::Plain {
            notes.push(Finding::wrong(
                "cannot-nest",
                "a dimpled sheet lies on a plain one, and its dimple has nowhere to go",
                "dimple or countersink the sheet below it",
            ));
        }
    }
    notes.extend(thin_countersinks(seats, size, drilled, constants));
    if seats.joint == Joint::Dimpled && constants.lip(kind.diameter).is_none() {
        let stretch = constants.dimple_thickness_most.value - 1.0;
        let more = Length::from_inches(seats.grip.inches() * stretch);
        notes.push(Finding::look(
            "lip-not-measured",
            format!(
                "the seat of the shop head rests on a reckoned lip of {} in; with sheets that kept their \
                 thickness across the cone it would be up to {} in farther out",
                in_thousandths(seats.lip.unwrap_or_default()),
                in_thousandths(more)
            ),
            "measure the lip once for this die and stack and write lip in limits.toml",
        ));
    }
    notes
}

/// Sheets that are countersunk though they are thinner than the least sheet for it.
fn thin_countersinks<'a>(
    seats: &'a Seats,
    size: &'a RivetSize,
    drilled: Length,
    constants: &'a Constants,
) -> impl Iterator<Item = Finding> + 'a {
    let diameter = seats.kind.diameter;
    seats.sheets.iter().enumerate().filter_map(move |(index, sheet)| {
        if sheet.preparation != Preparation::Countersunk {
            return None;
        }
        let skins: Length = seats.sheets[..index]
            .iter()
            .rev()
            .take_while(|above| above.preparation == Preparation::Dimpled)
            .map(|above| above.thickness)
            .sum();
        let (least, why) = if skins > Length::ZERO && seats.kind.head == HeadStyle::Flush {
            let deeper = Length::from_inches(skins.inches() * (constants.dimple_thickness_most.value - 1.0));
            let least = cone_depth(size, drilled) + deeper + constants.countersink_land.value;
            (least, format!("under {} in of dimpled skin the cone goes deeper", skins.decimal()))
        } else {
            let row = figures().countersink_minimum(diameter)?;
            (row.least_sheet?, format!("{}, {}", row.cited.source, row.cited.place))
        };
        (sheet.thickness < least).then(|| {
            Finding::look(
                "thin-countersink",
                format!(
                    "a sheet of {} in is countersunk for a {diameter} in rivet; the least sheet is {} in ({why})",
                    sheet.thickness.decimal(),
                    in_thousandths(least)
                ),
                "a thinner sheet is dimpled, or the plan says otherwise: then ask the kit's designer",
            )
        })
    })
}

/// To the nearest thousandth: a reckoned length is not known better.
pub(crate) fn in_thousandths(length: Length) -> String {
    Length::from_inches((length.inches() * 1e3).round() / 1e3).decimal()
}

fn list(sheets: &[Sheet]) -> String {
    sheets.iter().map(|sheet| sheet.thickness.decimal()).collect::<Vec<_>>().join(" + ")
}

impl Seats {
    /// Height of a shop head from the over-all thickness of the set joint,
    /// outer face of the flush head to the top of the shop head.
    ///
    /// It is the easier measurement on a dimple, where a tab gauge misreads.
    #[must_use]
    pub fn height_from_over_all(&self, over_all: Length) -> Option<Length> {
        (self.kind.head == HeadStyle::Flush).then(|| over_all - self.seat_to_seat)
    }

    /// The lines by which grip, hole and seat to seat were reckoned.
    #[must_use]
    pub fn working(&self, constants: &Constants) -> Working {
        let mut working = Working::default();
        let theory = || Cited::theory("seats");
        let inch = |length: Length| format!("{} in", length.decimal());
        working.add("grip", "Σt", list(&self.sheets), inch(self.grip), theory());
        let counted = self.sheets.len() * 2;
        if constants.film.value > Length::ZERO {
            let film = &constants.film;
            working.add(
                "films",
                "2·n·f",
                format!("{counted} × {}", film.value.decimal()),
                inch(film.value * i64::try_from(counted).expect("a stack is short")),
                film.cited.clone(),
            );
        }
        working.add("hole", "Dh", self.hole_in_words(), inch(self.hole), self.hole_cited(constants));
        if let Some(lip) = self.lip {
            let own = constants.lip(self.kind.diameter);
            let (formula, put_in, cited) = match own {
                Some(Value { cited, .. }) => (String::new(), String::new(), cited.clone()),
                None => ("(A − Dd)/(2·tan 50°)".to_owned(), self.lip_put_in(), theory()),
            };
            working.add("lip", formula, put_in, inch(lip), cited);
        }
        let (formula, put_in) = match (self.joint, self.lip) {
            (Joint::Dimpled, Some(lip)) => {
                ("Σt + films + ℓ", format!("{} + {}", (self.seat_to_seat - lip).decimal(), lip.decimal()))
            }
            (Joint::Nested, _) => {
                ("Σt + films + stand-off", format!("{} + .000", self.seat_to_seat.decimal()))
            }
            _ => ("Σt + films", self.seat_to_seat.decimal()),
        };
        working.add("seat to seat", formula, put_in, inch(self.seat_to_seat), theory());
        working.add(
            "cylinder",
            "what of G is not cone",
            format!("{} − {}", self.seat_to_seat.decimal(), (self.seat_to_seat - self.cylinder).decimal()),
            inch(self.cylinder),
            theory(),
        );
        working
    }

    fn hole_in_words(&self) -> String {
        match self.joint {
            Joint::Dimpled => "after dimpling".to_owned(),
            Joint::Nested => "dimpled skin and drilled part as one".to_owned(),
            Joint::Flat | Joint::DoubleFlush => "as drilled".to_owned(),
        }
    }

    fn hole_cited(&self, constants: &Constants) -> Cited {
        let diameter = self.kind.diameter;
        if self.joint == Joint::Dimpled
            && let Some(dimpled) = constants.dimpled_hole(diameter).filter(|own| own.value == self.hole)
        {
            return dimpled.cited.clone();
        }
        if self.joint == Joint::Nested {
            return Cited::theory("seats");
        }
        match usual_hole(diameter).filter(|row| row.nominal == Some(self.hole)) {
            Some(HoleSize { drill, role: HoleRole::Usual | HoleRole::Listed, cited, .. }) => {
                Cited { place: format!("{}: {drill}", cited.place), ..cited.clone() }
            }
            _ => Cited::new("plan", "hole", Known::Own),
        }
    }

    fn lip_put_in(&self) -> String {
        let head = figures().rivet_size(self.kind).map_or(Length::ZERO, |size| size.head_diameter);
        format!("({} − {})/(2·tan 50°)", head.decimal(), self.hole.decimal())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Preparation::{Countersunk, Dimpled, Plain};
    use faying_standards::inches;

    fn stack(sheets: &[(f64, Preparation)]) -> Vec<Sheet> {
        sheets
            .iter()
            .map(|&(thickness, preparation)| Sheet { thickness: inches(thickness), preparation })
            .collect()
    }

    fn of(kind: &str, sheets: &[(f64, Preparation)]) -> Seats {
        seats(kind.parse().unwrap(), &stack(sheets), HeadOn::First, None, &Constants::standard()).unwrap()
    }

    fn kinds(seats: &Seats) -> Vec<&str> {
        seats.notes.iter().map(|note| note.kind).collect()
    }

    /// The worked example of the method: 1/8 universal, .063 + .040 + .040.
    #[test]
    fn plain_sheets_count_whole() {
        let seats = of("MS20470AD4", &[(0.063, Plain), (0.040, Plain), (0.040, Plain)]);
        assert_eq!(
            (seats.grip, seats.seat_to_seat, seats.cylinder),
            (inches(0.143), inches(0.143), inches(0.143))
        );
        assert_eq!((seats.hole, seats.shop_seat), (inches(0.1285), ShopSeat::Flat));
        assert!(seats.notes.is_empty());
    }

    /// ℓ is .031 and .038 in for 3/32 and 1/8 (method, section 1).
    #[test]
    fn dimpled_sheets_add_the_lip() {
        let three = of("MS20426AD3", &[(0.025, Dimpled), (0.032, Dimpled)]);
        assert!((three.lip.unwrap().inches() - 0.031).abs() < 5e-4);
        assert_eq!(three.seat_to_seat, three.grip + three.lip.unwrap());
        assert_eq!((three.shop_seat, three.hole), (ShopSeat::Lip, inches(0.105)));
        let four = of("MS20426AD4", &[(0.032, Dimpled), (0.032, Dimpled)]);
        assert!((four.lip.unwrap().inches() - 0.038).abs() < 5e-4);
    }

    #[test]
    fn a_dimple_nests_in_a_countersink_and_leaves_the_far_face_flat() {
        let seats = of("MS20426AD3", &[(0.025, Dimpled), (0.063, Countersunk)]);
        assert_eq!(seats.joint, Joint::Nested);
        assert_eq!((seats.seat_to_seat, seats.shop_seat), (inches(0.088), ShopSeat::Flat));
        assert!(seats.hole > inches(0.098) && seats.hole < inches(0.105));
        assert!(seats.notes.is_empty(), "{:?}", seats.notes);
    }

    #[test]
    fn a_countersink_on_the_far_side_makes_a_double_flush_joint() {
        for sheets in [[(0.063, Countersunk), (0.063, Countersunk)], [(0.063, Plain), (0.063, Countersunk)]] {
            assert_eq!(of("MS20426AD3", &sheets).shop_seat, ShopSeat::Cone);
            assert_eq!(of("MS20470AD3", &sheets).shop_seat, ShopSeat::Cone);
        }
        assert_eq!(of("MS20426AD3", &[(0.063, Countersunk), (0.040, Plain)]).shop_seat, ShopSeat::Flat);
    }

    /// Turning the list and naming the other end comes to the same.
    #[test]
    fn the_head_turns_the_stack() {
        let (kind, constants) = ("MS20426AD3".parse().unwrap(), Constants::standard());
        let sheets = stack(&[(0.063, Countersunk), (0.025, Dimpled)]);
        let turned = seats(kind, &sheets, HeadOn::Last, None, &constants).unwrap();
        assert_eq!(turned, of("MS20426AD3", &[(0.025, Dimpled), (0.063, Countersunk)]));
    }

    #[test]
    fn a_stack_that_cannot_lie_together_is_noted() {
        let flush = |sheets: &[(f64, Preparation)]| {
            let seats = of("MS20426AD3", sheets);
            kinds(&seats).into_iter().map(str::to_owned).collect::<Vec<_>>()
        };
        assert_eq!(flush(&[(0.025, Plain), (0.032, Dimpled)]), ["flush-on-plain", "cannot-nest"]);
        assert_eq!(flush(&[(0.025, Dimpled), (0.032, Plain)]), ["cannot-nest"]);
        assert_eq!(flush(&[(0.050, Countersunk), (0.032, Dimpled)]), ["cannot-nest"]);
        assert_eq!(flush(&[(0.025, Plain), (0.032, Plain)]), ["flush-in-plain"]);
        assert_eq!(flush(&[(0.032, Countersunk), (0.032, Plain)]), ["thin-countersink"]);
        assert_eq!(flush(&[(0.025, Dimpled), (0.032, Dimpled)]), ["lip-not-measured"]);
        assert_eq!(
            kinds(&of("MS20470AD3", &[(0.025, Dimpled), (0.032, Plain)])),
            ["protruding-in-dimple", "cannot-nest"]
        );
        assert_eq!(kinds(&of("MS20470AD3", &[(0.025, Plain)])), ["one-layer"]);
    }

    /// About .050 for 3/32 under .025 and .058 for 1/8 under .032 (method, section 10).
    #[test]
    fn under_a_dimpled_skin_the_least_sheet_is_thicker() {
        let thin = |kind: &str, skin: f64, sheet: f64| {
            kinds(&of(kind, &[(skin, Dimpled), (sheet, Countersunk)])).contains(&"thin-countersink")
        };
        assert!(thin("MS20426AD3", 0.025, 0.049) && !thin("MS20426AD3", 0.025, 0.0505));
        assert!(thin("MS20426AD4", 0.032, 0.0575) && !thin("MS20426AD4", 0.032, 0.059));
    }

    #[test]
    fn what_is_not_known_is_asked_for() {
        let constants = Constants::standard();
        let error = |kind: &str, sheets: &[(f64, Preparation)]| {
            seats(kind.parse().unwrap(), &stack(sheets), HeadOn::First, None, &constants)
                .unwrap_err()
                .to_string()
        };
        insta::assert_snapshot!(
            error("MS20426AD5", &[(0.032, Dimpled), (0.032, Dimpled)]),
            @"how wide a hole for a 5/32 in rivet is after dimpling is not in the standards: measure one and write dimpled_hole in limits.toml"
        );
        insta::assert_snapshot!(
            error("MS20470AD4", &[(0.032, Plain), (0.0, Plain)]),
            @"sheet 2 of the stack is .000 in thick: write its thickness"
        );
        insta::assert_snapshot!(error("MS20470AD4", &[]), @"no sheet is in the stack: a rivet needs something to hold");
    }

    #[test]
    fn the_builders_own_lip_wins_and_is_marked() {
        let mut constants = Constants::standard();
        let three = Diameter::from_dash(3).unwrap();
        let own = Cited::new("limits.toml", "lip", Known::Own);
        constants.lips.push((three, Value::new(inches(0.036), own)));
        let sheets = stack(&[(0.025, Dimpled), (0.032, Dimpled)]);
        let seats = seats("MS20426AD3".parse().unwrap(), &sheets, HeadOn::First, None, &constants).unwrap();
        assert_eq!(seats.seat_to_seat, inches(0.093));
        assert!(seats.notes.is_empty());
        let working = seats.working(&constants);
        let lip = working.figures().iter().find(|line| line.name == "lip").unwrap();
        assert_eq!((lip.source.known, lip.result.as_str()), (Known::Own, ".036 in"));
        assert_eq!(seats.height_from_over_all(inches(0.133)), Some(inches(0.040)));
    }

    #[test]
    fn films_count_on_both_faces_of_every_sheet() {
        let mut constants = Constants::standard();
        constants.film.value = inches(0.001);
        let sheets = stack(&[(0.032, Plain), (0.032, Plain)]);
        let seats = seats("MS20470AD4".parse().unwrap(), &sheets, HeadOn::First, None, &constants).unwrap();
        assert_eq!((seats.grip, seats.seat_to_seat), (inches(0.064), inches(0.068)));
    }
}
