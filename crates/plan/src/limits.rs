//! `limits.toml`: the builder's own values, which win over the standards'.
//!
//! A value here is marked as the builder's own wherever it is used. What is
//! not written stays with the standards. A gauge is described here so that it
//! can be said what it would say of a head; it judges nothing.

use faying_standards::limits::ShopHeadLimits;
use faying_standards::rivet::Diameter;
use faying_standards::{Cited, Finding, Known, Length};

use crate::draft::{Put, Reader, list};
use crate::keys::{self, nearest};
use crate::tree::{SourceText, Table};

/// The builder's own values; nothing in it means "as the standards have it".
#[derive(Clone, Debug, Default)]
pub struct BuildLimits {
    /// Name of the set of shop-head limits in force.
    pub shop_head: Option<String>,
    /// Sets from the builder's own documents.
    pub own_sets: Vec<OwnSet>,
    /// Gauges for shop heads, as they lie on the bench.
    pub gauges: Vec<HeadGauge>,
    /// Height of the lip of a dimple over the flat, as measured.
    pub lips: Vec<(Diameter, Length)>,
    /// Hole diameter after dimpling, as measured.
    pub dimpled_holes: Vec<(Diameter, Length)>,
    /// Whether half lengths are in the store.
    pub half_sizes: bool,
    /// Standard uncertainty of the caliper.
    pub caliper: Option<Length>,
    /// Repeatability of the set height, one standard deviation.
    pub set_height: Option<Length>,
    /// Tolerance of the rivet length, plus or minus.
    pub rivet_length: Option<Length>,
    /// Primer film on one face.
    pub film: Option<Length>,
    /// Share of the metal that does not reach the head.
    pub missing_metal: Option<f64>,
}

/// A set of limits that the builder typed in from their own document.
#[derive(Clone, Debug)]
pub struct OwnSet {
    /// Its name in the build.
    pub name: String,
    /// Document, revision and table, in the builder's words.
    pub source: String,
    /// Whether it is the kit manual's, which comes before the builder's other sets.
    pub kit: bool,
    /// Limits by rivet diameter.
    pub heads: Vec<(Diameter, ShopHeadLimits)>,
}

/// A gauge for shop heads: a plate with a hole and a slot for each rivet diameter.
#[derive(Clone, Debug)]
pub struct HeadGauge {
    /// Its name in the build.
    pub name: String,
    /// Its hole and slot by rivet diameter.
    pub sizes: Vec<(Diameter, GaugeSize)>,
}

/// A gauge's hole and slot for one rivet diameter; at least one of them is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct GaugeSize {
    /// Diameter of the hole; a head that drops in is said to be too small.
    pub hole: Option<Length>,
    /// Height of the slot; a head that it passes over is said to be too low.
    pub slot: Option<Length>,
}

impl HeadGauge {
    /// Its hole and slot for a diameter, if it has them.
    #[must_use]
    pub fn at(&self, diameter: Diameter) -> Option<GaugeSize> {
        self.sizes.iter().find(|(own, _)| *own == diameter).map(|(_, size)| *size)
    }
}

impl OwnSet {
    /// The limits for a diameter, if the builder entered them.
    #[must_use]
    pub fn at(&self, diameter: Diameter) -> Option<&ShopHeadLimits> {
        self.heads.iter().find(|(own, _)| *own == diameter).map(|(_, limits)| limits)
    }
}

/// Reads `limits.toml`.
pub(crate) fn read_limits(files: &[SourceText], file: u16, table: &Table) -> (BuildLimits, Vec<Finding>) {
    let mut reader = Reader::new(files);
    reader.check_keys(table, &keys::LIMITS);
    reader.head_of_file(file, table, &keys::LIMITS);
    let own_sets = own_sets(&mut reader, table);
    let limits = BuildLimits {
        shop_head: shop_head(&mut reader, table, &own_sets),
        lips: by_diameter(&mut reader, table, "lip"),
        dimpled_holes: by_diameter(&mut reader, table, "dimpled_hole"),
        half_sizes: reader.flag(table, "half_sizes").unwrap_or(false),
        caliper: reader.size(table, "caliper").map(|put| put.value),
        set_height: reader.size(table, "set_height").map(|put| put.value),
        rivet_length: reader.size(table, "rivet_length").map(|put| put.value),
        film: reader.size(table, "film").map(|put| put.value),
        missing_metal: missing_metal(&mut reader, table),
        gauges: gauges(&mut reader, table),
        own_sets,
    };
    (limits, reader.findings)
}

fn shop_head(reader: &mut Reader<'_>, table: &Table, own: &[OwnSet]) -> Option<String> {
    let put = reader.put_text(table, "shop_head")?;
    let standard = faying_standards::figures().limit_sets().iter().map(|set| set.key.as_str());
    let names: Vec<&str> = standard.chain(own.iter().map(|set| set.name.as_str())).collect();
    if names.contains(&put.value.as_str()) {
        return Some(put.value);
    }
    let next = nearest(&put.value, names.iter().copied()).map_or_else(
        || format!("write one of {}", list(names.iter().copied())),
        |near| format!("did you mean \"{near}\"?"),
    );
    reader.wrong(put.spot, "unknown-limits", format!("there is no set of limits \"{}\"", put.value), next);
    None
}

fn own_sets(reader: &mut Reader<'_>, table: &Table) -> Vec<OwnSet> {
    let mut sets: Vec<OwnSet> = Vec::new();
    for (name, set) in reader.named(table, "shop_heads", "a set of limits") {
        reader.check_keys(set, &keys::OWN_SET);
        if faying_standards::figures().limit_sets().iter().any(|standard| standard.key == name.value) {
            let what = format!("\"{}\" is the name of a set that is already here", name.value);
            let next = "give your own set a name of its own, so that a verdict says which one judged";
            reader.wrong(name.spot, "duplicate", what, next);
            continue;
        }
        let source = reader.text(set, "source").unwrap_or_default();
        if source.is_empty() {
            let next = "write source = \"document, revision, table\", as it stands on your copy";
            reader.look(
                name.spot,
                "no-source",
                format!("the set \"{}\" does not say where it comes from", name.value),
                next,
            );
        }
        let Some(heads) = reader.table(set, "heads") else {
            let next = "write heads.\"1/8\" = { min_width = 0.163, min_height = 0.050, max_height = 0.070 }";
            reader.wrong(name.spot, "no-limits", format!("the set \"{}\" has no limits", name.value), next);
            continue;
        };
        let mut own = Vec::new();
        for entry in &heads.0 {
            let spot = entry.key_spot;
            let Some(diameter) = diameter(reader, &Put { value: entry.key.clone(), spot }) else { continue };
            if own.iter().any(|(other, _)| *other == diameter) {
                let what = format!("the set \"{}\" has the diameter {diameter} twice", name.value);
                reader.wrong(spot, "duplicate", what, "keep the one that stands on your copy");
                continue;
            }
            let Some(head) = reader.table(heads, &entry.key) else { continue };
            reader.check_keys(head, &keys::OWN_HEAD);
            let (Some(min_width), Some(min_height)) =
                (reader.size(head, "min_width"), reader.size(head, "min_height"))
            else {
                let next =
                    "write min_width and min_height; max_width and max_height where the document has them";
                reader.wrong(
                    spot,
                    "no-limits",
                    format!("the limits for {} lack a least width or height", entry.key),
                    next,
                );
                continue;
            };
            let limits = ShopHeadLimits {
                min_width: min_width.value,
                max_width: reader.size(head, "max_width").map(|put| put.value),
                min_height: min_height.value,
                max_height: reader.size(head, "max_height").map(|put| put.value),
                cited: Cited::new(source.clone(), format!("limits.toml, {}", name.value), Known::Own),
                note: String::new(),
            };
            if limits.max_width.is_some_and(|most| most < limits.min_width)
                || limits.max_height.is_some_and(|most| most < limits.min_height)
            {
                let next = "the greatest value must be above the least; compare with your copy";
                reader.wrong(
                    spot,
                    "wrong-number",
                    format!("the limits for {} leave nothing between", entry.key),
                    next,
                );
                continue;
            }
            own.push((diameter, limits));
        }
        let kit = reader.flag(set, "kit").unwrap_or(false);
        let other = sets
            .iter()
            .find(|other| kit && other.kit && own.iter().any(|(diameter, _)| other.at(*diameter).is_some()));
        if let Some(other) = other {
            let what = format!(
                "\"{}\" and \"{}\" are both the kit manual's, for the same diameter: the one above rules",
                other.name, name.value
            );
            reader.look(name.spot, "duplicate", what, "write kit = true where the kit's last word stands");
        }
        sets.push(OwnSet { name: name.value, source, kit, heads: own });
    }
    sets
}

fn gauges(reader: &mut Reader<'_>, table: &Table) -> Vec<HeadGauge> {
    let mut gauges = Vec::new();
    for (name, gauge) in reader.named(table, "gauges", "a gauge with its sizes") {
        let mut sizes: Vec<(Diameter, GaugeSize)> = Vec::new();
        for entry in &gauge.0 {
            let spot = entry.key_spot;
            let Some(diameter) = diameter(reader, &Put { value: entry.key.clone(), spot }) else { continue };
            if sizes.iter().any(|(other, _)| *other == diameter) {
                let what = format!("the gauge \"{}\" has the diameter {diameter} twice", name.value);
                reader.wrong(spot, "duplicate", what, "keep the one that was measured last");
                continue;
            }
            let Some(size) = reader.table(gauge, &entry.key) else { continue };
            reader.check_keys(size, &keys::GAUGE_SIZE);
            let mut read = |key: &str| reader.size(size, key).map(|put| put.value);
            let (hole, slot) = (read("hole"), read("slot"));
            if hole.is_none() && slot.is_none() {
                let what =
                    format!("the gauge \"{}\" has neither hole nor slot for {}", name.value, entry.key);
                let next = "measure it and write \"1/8\" = { hole = 0.183, slot = 0.060 }";
                reader.wrong(spot, "no-limits", what, next);
                continue;
            }
            sizes.push((diameter, GaugeSize { hole, slot }));
        }
        gauges.push(HeadGauge { name: name.value, sizes });
    }
    gauges
}

fn by_diameter(reader: &mut Reader<'_>, table: &Table, key: &str) -> Vec<(Diameter, Length)> {
    let Some(named) = reader.table(table, key) else { return Vec::new() };
    let mut values = Vec::new();
    for entry in &named.0 {
        let put = Put { value: entry.key.clone(), spot: entry.key_spot };
        if let (Some(diameter), Some(value)) = (diameter(reader, &put), reader.size(named, &entry.key)) {
            if values.iter().any(|(other, _)| *other == diameter) {
                let what = format!("\"{key}\" has the diameter {diameter} twice");
                reader.wrong(put.spot, "duplicate", what, "keep the one that was measured last");
                continue;
            }
            values.push((diameter, value.value));
        }
    }
    values
}

/// A rivet diameter written as a fraction.
pub(crate) fn diameter(reader: &mut Reader<'_>, put: &Put<String>) -> Option<Diameter> {
    let found = Length::read(&put.value, faying_standards::Unit::Inch).ok().and_then(Diameter::from_length);
    if found.is_none() {
        let all: Vec<String> = Diameter::ALL.iter().map(ToString::to_string).collect();
        let next = format!("write one of {}", list(all.iter().map(String::as_str)));
        reader.wrong(put.spot, "wrong-number", format!("\"{}\" is not a rivet diameter", put.value), next);
    }
    found
}

fn missing_metal(reader: &mut Reader<'_>, table: &Table) -> Option<f64> {
    let share = reader.number(table, "missing_metal")?;
    if share < 0.5 {
        return Some(share);
    }
    let spot = table.get("missing_metal")?.spot;
    reader.wrong(
        spot,
        "wrong-number",
        format!("{share} of the metal cannot be missing from a head"),
        "write a share, for example 0.15 for 15 %",
    );
    None
}
