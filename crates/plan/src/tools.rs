//! `tools.toml`: the tools of the build, and the builder's own seconds.
//!
//! What a tool is called is the builder's business; what it can reach is
//! computed from the few figures here. A build without the file has the
//! [starter set](STARTER), whose figures are common practice or remembered
//! and say so; they hold no maker's name. Figures that are not written stay
//! unknown, and what depends on them says so.

use std::sync::LazyLock;

use faying_standards::rivet::Diameter;
use faying_standards::{Cited, Finding, Force, HeadStyle, Known, Length, figures};

use crate::draft::{Put, PutText, Reader, list};
use crate::keys::{self, nearest};
use crate::limits::diameter;
use crate::tree::{SourceText, Spot, Table, parse};

/// The starter set, as `tools.toml` of a new build.
pub const STARTER: &str = include_str!("tools_start.toml");

/// The tools of a build.
#[derive(Clone, Debug, PartialEq)]
pub struct Tools {
    /// Whether the builder wrote them; else they are the starter set.
    pub own: bool,
    /// Squeezers, in file order. Other tools name one by its position here.
    pub squeezers: Vec<Squeezer>,
    /// Yokes.
    pub yokes: Vec<Yoke>,
    /// Die pairs and sets.
    pub dies: Vec<Dies>,
    /// Rivet guns.
    pub guns: Vec<Gun>,
    /// Bucking bars.
    pub bars: Vec<Bar>,
    /// Back-riveting plates.
    pub plates: Vec<Plate>,
    /// Clecoes by the hole they fill.
    pub clecoes: Vec<Clecoes>,
    /// Clamps.
    pub clamps: Vec<Clamp>,
    /// Calipers and gauges.
    pub gauges: Vec<Gauge>,
    /// Whether there is a helper.
    pub helper: bool,
    /// How many places the bench has.
    pub bench: u32,
    /// The builder's own seconds.
    pub times: Times,
}

/// What drives a squeezer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Drive {
    /// Compressed air.
    Air,
    /// The builder's hands.
    Hand,
}

/// A squeezer.
#[derive(Clone, Debug, PartialEq)]
pub struct Squeezer {
    /// Short name.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// What drives it.
    pub drive: Drive,
    /// Force at the end of its stroke.
    pub force: Force,
    /// Air pressure for which the force is stated, psi.
    pub pressure_psi: Option<f64>,
    /// Travel of the ram.
    pub stroke: Option<Length>,
    /// How its set height is changed.
    pub adjust: Adjust,
    /// Repeatability of the set height, one standard deviation.
    pub repeatability: Option<Length>,
    /// A remark.
    pub note: String,
}

/// How the set height of a squeezer is changed.
#[derive(Clone, Debug, PartialEq)]
pub enum Adjust {
    /// A threaded ram: so many turns to the inch.
    Screw {
        /// Turns of the ram for one inch.
        turns_per_inch: f64,
    },
    /// Shims behind a die, by thickness, thinnest first; each is there once.
    Shims(Vec<Length>),
    /// Rams or dies of set lengths, shortest first.
    SetLengths(Vec<Length>),
    /// Not written.
    Unknown,
}

/// A yoke.
#[derive(Clone, Debug, PartialEq)]
pub struct Yoke {
    /// Short name.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// The squeezers it fits, positions in [`Tools::squeezers`].
    pub squeezers: Vec<usize>,
    /// Throat depth: from the axis of the dies to the bottom of the throat.
    pub throat: Length,
    /// Daylight between the jaws in the throat.
    pub gap: Length,
    /// Half the width of the jaw's end.
    pub nose_half_width: Length,
    /// Height of the jaw's end, from the face of the die to the back of the jaw.
    pub nose_height: Length,
    /// How much force opens it by an inch, lbf/in, where it was measured.
    pub stiffness_lbf_in: Option<f64>,
    /// A remark.
    pub note: String,
}

/// What dies are held in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DiesFor {
    /// A squeezer: a pair.
    Squeezer,
    /// A gun: a set.
    Gun,
    /// A gun, to back-rivet: a set that holds the sheets together round the tail.
    Back,
}

/// A pair of dies, or a set.
#[derive(Clone, Debug, PartialEq)]
pub struct Dies {
    /// Short name.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// What holds them.
    pub held_in: DiesFor,
    /// The manufactured head they are for.
    pub head: HeadStyle,
    /// The diameter they are for; none where any will do.
    pub diameter: Option<Diameter>,
    /// Outside diameter of the one on the manufactured head (for back-riveting: round the tail).
    pub across: Length,
    /// Outside diameter of the one on the shop head; that of the other where it is not written.
    pub across_shop: Length,
    /// A remark.
    pub note: String,
}

impl Dies {
    /// Whether they are for this rivet.
    #[must_use]
    pub fn fit(&self, head: HeadStyle, diameter: Diameter) -> bool {
        self.head == head && self.diameter.is_none_or(|own| own == diameter)
    }
}

/// A rivet gun.
#[derive(Clone, Debug, PartialEq)]
pub struct Gun {
    /// Short name.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// Air pressure by rivet diameter, psi.
    pub pressure_psi: Vec<(Diameter, f64)>,
    /// A remark.
    pub note: String,
}

impl Gun {
    /// The pressure for a diameter, psi, where it is written.
    #[must_use]
    pub fn pressure(&self, diameter: Diameter) -> Option<f64> {
        self.pressure_psi.iter().find(|(own, _)| *own == diameter).map(|(_, psi)| *psi)
    }
}

/// A bucking bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// Short name.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// Weight, lb.
    pub weight_lb: Option<f64>,
    /// Smallest gap it enters.
    pub enters: Length,
    /// A remark.
    pub note: String,
}

/// A back-riveting plate.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// Short name.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// Its two sides.
    pub size: [Length; 2],
    /// A remark.
    pub note: String,
}

/// Clecoes of one size.
#[derive(Clone, Debug, PartialEq)]
pub struct Clecoes {
    /// Short name.
    pub name: String,
    /// Rivet diameter whose hole they fill.
    pub diameter: Diameter,
    /// How many there are.
    pub count: u32,
}

/// Clamps of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Clamp {
    /// Short name.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// How many there are.
    pub count: u32,
    /// How far from an edge they reach.
    pub reach: Option<Length>,
}

/// A caliper or a gauge.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// Short name.
    pub name: String,
    /// Name as shown.
    pub title: String,
    /// Standard uncertainty of a reading.
    pub uncertainty: Option<Length>,
    /// A remark.
    pub note: String,
}

/// What things take at the bench, in seconds.
#[derive(Clone, Debug, PartialEq)]
pub struct Times {
    /// Set a rivet with a squeezer.
    pub squeeze: Seconds,
    /// Set a rivet with gun and bar.
    pub gun: Seconds,
    /// Set a rivet by back-riveting.
    pub back: Seconds,
    /// Change of tool.
    pub tool: Seconds,
    /// Change of yoke.
    pub yoke: Seconds,
    /// Change of dies or set.
    pub dies: Seconds,
    /// Change of setting.
    pub setting: Seconds,
    /// Change of bag, with its check.
    pub bag: Seconds,
    /// Turning the part over.
    pub flip: Seconds,
    /// Proof on a coupon.
    pub coupon: Seconds,
    /// Moving a cleco.
    pub cleco: Seconds,
    /// Travel along the part, for each foot.
    pub foot: Seconds,
    /// Going from one plane to another.
    pub plane: Seconds,
    /// Removal of a rivet and setting another.
    pub removal: Seconds,
    /// Getting ready for a batch of finishing, and cleaning up after it.
    pub batch: Seconds,
}

/// A time, and how it is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Seconds {
    /// Seconds.
    pub value: f64,
    /// Whose it is.
    pub cited: Cited,
}

impl Tools {
    /// The starter set.
    #[must_use]
    pub fn starter() -> &'static Self {
        static SET: LazyLock<Tools> = LazyLock::new(|| {
            let files = [SourceText { name: "tools.toml".into(), text: STARTER.into() }];
            let (table, _) = parse(0, &files[0]);
            let (tools, _) = read_tools(&files, 0, &table);
            let mut tools = Tools { own: false, ..tools };
            // A time that stands in the starter set is nobody's own.
            tools.times = Times::standard();
            tools
        });
        &SET
    }

    /// What the tool with this short name is called, whatever kind of tool it is.
    #[must_use]
    pub fn title_of(&self, name: &str) -> Option<&str> {
        let all = (self.squeezers.iter().map(|it| (&it.name, &it.title)))
            .chain(self.yokes.iter().map(|it| (&it.name, &it.title)))
            .chain(self.dies.iter().map(|it| (&it.name, &it.title)))
            .chain(self.guns.iter().map(|it| (&it.name, &it.title)))
            .chain(self.bars.iter().map(|it| (&it.name, &it.title)))
            .chain(self.plates.iter().map(|it| (&it.name, &it.title)))
            .chain(self.clamps.iter().map(|it| (&it.name, &it.title)))
            .chain(self.gauges.iter().map(|it| (&it.name, &it.title)));
        all.into_iter().find(|(own, _)| *own == name).map(|(_, title)| title.as_str())
    }

    /// Where a figure of a tool comes from.
    ///
    /// # Units
    /// - `place`: the tool in the file, such as `yokes.deep`
    #[must_use]
    pub fn cited(&self, place: impl Into<String>) -> Cited {
        if self.own {
            Cited::new("tools.toml", place, Known::Own)
        } else {
            Cited::new("tools.toml", format!("starter set, {}", place.into()), Known::Memory)
        }
    }
}

impl Default for Tools {
    fn default() -> Self {
        Self::starter().clone()
    }
}

impl Times {
    /// The defaults of `standards/constants.csv`.
    #[must_use]
    pub fn standard() -> Self {
        let of = |name: &str| {
            let constant = figures().constant(name);
            Seconds { value: constant.value, cited: constant.cited.clone() }
        };
        Self {
            squeeze: of("time-squeeze"),
            gun: of("time-gun"),
            back: of("time-back"),
            tool: of("time-tool"),
            yoke: of("time-yoke"),
            dies: of("time-dies"),
            setting: of("time-setting"),
            bag: of("time-bag"),
            flip: of("time-flip"),
            coupon: of("time-coupon"),
            cleco: of("time-cleco"),
            foot: of("time-foot"),
            plane: of("time-plane"),
            removal: of("time-removal"),
            batch: of("time-batch"),
        }
    }

    /// Every time with its key, for the reader.
    fn by_key(&mut self) -> [(&'static str, &mut Seconds); 15] {
        [
            ("squeeze", &mut self.squeeze),
            ("gun", &mut self.gun),
            ("back", &mut self.back),
            ("tool", &mut self.tool),
            ("yoke", &mut self.yoke),
            ("dies", &mut self.dies),
            ("setting", &mut self.setting),
            ("bag", &mut self.bag),
            ("flip", &mut self.flip),
            ("coupon", &mut self.coupon),
            ("cleco", &mut self.cleco),
            ("foot", &mut self.foot),
            ("plane", &mut self.plane),
            ("removal", &mut self.removal),
            ("batch", &mut self.batch),
        ]
    }
}

/// Reads `tools.toml`.
pub(crate) fn read_tools(files: &[SourceText], file: u16, table: &Table) -> (Tools, Vec<Finding>) {
    let mut reader = Reader::new(files);
    reader.check_keys(table, &keys::TOOLS);
    reader.head_of_file(file, table, &keys::TOOLS);
    let mut read = ToolReader { reader, taken: Vec::new() };
    let squeezers = read.squeezers(table);
    let tools = Tools {
        own: true,
        yokes: read.yokes(table, &squeezers),
        squeezers: squeezers.list.into_iter().flatten().collect(),
        dies: read.dies(table),
        guns: read.guns(table),
        bars: read.bars(table),
        plates: read.plates(table),
        clecoes: read.clecoes(table),
        clamps: read.clamps(table),
        gauges: read.gauges(table),
        helper: read.reader.flag(table, "helper").unwrap_or(false),
        bench: read.reader.count(table, "bench").map_or(1, |put| put.value),
        times: read.times(table),
    };
    (tools, read.reader.findings)
}

struct ToolReader<'a> {
    reader: Reader<'a>,
    /// Short names so far, whatever the kind: the record names a tool by its short name alone.
    taken: Vec<String>,
}

impl ToolReader<'_> {
    /// The tools of one kind, those whose name is free.
    fn named<'t>(
        &mut self,
        table: &'t Table,
        key: &str,
        kind: &'static keys::Kind,
    ) -> Vec<(PutText, &'t Table)> {
        let mut named = self.reader.named(table, key, kind.name);
        named.retain(|(name, table)| {
            self.reader.check_keys(table, kind);
            if self.taken.contains(&name.value) {
                let what = format!("another tool is called \"{}\" already", name.value);
                let next = "give one of the two another name: a run names its tools by that word alone";
                self.reader.wrong(name.spot, "duplicate", what, next);
                return false;
            }
            self.taken.push(name.value.clone());
            true
        });
        named
    }

    fn title(&mut self, name: &PutText, table: &Table) -> String {
        let title = self.reader.text(table, "title").filter(|title| !title.is_empty());
        title.unwrap_or_else(|| name.value.replace(['-', '_'], " "))
    }

    fn note(&mut self, table: &Table) -> String {
        self.reader.text(table, "note").unwrap_or_default()
    }

    /// A length without which nothing can be said of a tool.
    fn needed(
        &mut self,
        name: &PutText,
        table: &Table,
        key: &str,
        is: &str,
        example: &str,
    ) -> Option<Length> {
        if table.get(key).is_some() {
            return self.reader.size(table, key).map(|put| put.value);
        }
        self.lacks(name, key, is, example);
        None
    }

    fn lacks(&mut self, name: &PutText, key: &str, is: &str, example: &str) {
        let what = format!("\"{}\" does not say its {is}", name.value);
        self.reader.wrong(name.spot, "no-figure", what, format!("write {key} = {example}"));
    }

    /// A number above nothing.
    fn positive(&mut self, table: &Table, key: &str) -> Option<f64> {
        let number = self.reader.number(table, key)?;
        if number > 0.0 {
            return Some(number);
        }
        let spot = table.get(key)?.spot;
        let what = format!("\"{key}\" is not more than nothing");
        self.reader.wrong(spot, "wrong-number", what, "write a number above 0");
        None
    }

    /// Squeezers with holes where one could not be read, so that a yoke may still name it.
    fn squeezers(&mut self, table: &Table) -> Squeezers {
        let mut squeezers = Squeezers::default();
        for (name, table) in self.named(table, "squeezers", &keys::SQUEEZER) {
            squeezers.names.push(name.value.clone());
            squeezers.list.push(self.squeezer(name, table));
        }
        squeezers
    }

    fn squeezer(&mut self, name: PutText, table: &Table) -> Option<Squeezer> {
        if table.get("force").is_none() {
            self.lacks(&name, "force", "force", "3000, in lbf at the end of its stroke");
        }
        let pressure_psi = self.positive(table, "pressure");
        let drive = match self.reader.word(table, "drive", keys::DRIVES) {
            Some("air") => Drive::Air,
            Some(_) => Drive::Hand,
            // Only air has a pressure.
            None if pressure_psi.is_some() => Drive::Air,
            None => Drive::Hand,
        };
        let adjust = self.adjust(&name, table);
        let stroke = self.reader.size(table, "stroke").map(|put| put.value);
        let repeatability = self.reader.size(table, "repeatability").map(|put| put.value);
        Some(Squeezer {
            title: self.title(&name, table),
            drive,
            force: Force::from_lbf(self.positive(table, "force")?),
            pressure_psi,
            stroke,
            adjust,
            repeatability,
            note: self.note(table),
            name: name.value,
        })
    }

    fn adjust(&mut self, name: &PutText, table: &Table) -> Adjust {
        const WAYS: [&str; 3] = ["turns_per_inch", "shims", "set_lengths"];
        let written: Vec<&str> = WAYS.into_iter().filter(|key| table.get(key).is_some()).collect();
        if let [first, second, ..] = written[..] {
            let spot = table.get(second).map_or(name.spot, |node| node.spot);
            let what = format!("\"{}\" is set by both `{first}` and `{second}`", name.value);
            self.reader.wrong(spot, "duplicate", what, "keep the one of the two that is used");
        }
        let mut sorted = |key: &str| {
            let mut lengths = self.reader.lengths(table, key)?.value;
            lengths.sort_unstable();
            (!lengths.is_empty()).then_some(lengths)
        };
        match written.first() {
            Some(&"shims") => sorted("shims").map_or(Adjust::Unknown, Adjust::Shims),
            Some(&"set_lengths") => sorted("set_lengths").map_or(Adjust::Unknown, Adjust::SetLengths),
            Some(key) => self
                .positive(table, key)
                .map_or(Adjust::Unknown, |turns_per_inch| Adjust::Screw { turns_per_inch }),
            None => Adjust::Unknown,
        }
    }

    fn yokes(&mut self, table: &Table, squeezers: &Squeezers) -> Vec<Yoke> {
        let mut yokes = Vec::new();
        for (name, table) in self.named(table, "yokes", &keys::YOKE) {
            let throat = self.needed(&name, table, "throat", "throat depth", "3");
            let gap = self.needed(&name, table, "gap", "gap", "\"3/4\"");
            let nose = self.nose(&name, table);
            let fits = self.fits(table, squeezers);
            let stiffness_lbf_in = self.positive(table, "stiffness");
            let (title, note) = (self.title(&name, table), self.note(table));
            if let (Some(throat), Some(gap), Some([nose_half_width, nose_height])) = (throat, gap, nose) {
                yokes.push(Yoke {
                    name: name.value,
                    title,
                    squeezers: fits,
                    throat,
                    gap,
                    nose_half_width,
                    nose_height,
                    stiffness_lbf_in,
                    note,
                });
            }
        }
        yokes
    }

    fn nose(&mut self, name: &PutText, table: &Table) -> Option<[Length; 2]> {
        const EXAMPLE: &str = "{ half_width = \"5/16\", height = \"3/4\" }";
        if table.get("nose").is_none() {
            self.lacks(name, "nose", "nose", EXAMPLE);
            return None;
        }
        let nose = self.reader.table(table, "nose")?;
        self.reader.check_keys(nose, &keys::NOSE);
        let half_width = self.needed(name, nose, "half_width", "nose's half width", "\"5/16\"");
        let height = self.needed(name, nose, "height", "nose's height", "\"3/4\"");
        Some([half_width?, height?])
    }

    /// Positions of the squeezers that a yoke fits.
    fn fits(&mut self, table: &Table, squeezers: &Squeezers) -> Vec<usize> {
        if table.get("fits").is_none() {
            return squeezers.all();
        }
        let mut fits = Vec::new();
        for put in self.reader.texts(table, "fits") {
            if squeezers.names.contains(&put.value) {
                fits.extend(squeezers.position(&put.value));
                continue;
            }
            let next = nearest(&put.value, squeezers.names.iter().map(String::as_str)).map_or_else(
                || match squeezers.names.as_slice() {
                    [] => "write it under [squeezers] first".to_owned(),
                    [only] => format!("write \"{only}\""),
                    names => format!("write one of {}", list(names.iter().map(String::as_str))),
                },
                |near| format!("did you mean \"{near}\"?"),
            );
            let what = format!("there is no squeezer \"{}\"", put.value);
            self.reader.wrong(put.spot, "unknown-name", what, next);
        }
        fits.sort_unstable();
        fits.dedup();
        fits
    }

    fn dies(&mut self, table: &Table) -> Vec<Dies> {
        let mut dies = Vec::new();
        for (name, table) in self.named(table, "dies", &keys::DIES) {
            for (key, is, words) in [("held_in", "holder", keys::HELD_IN), ("head", "head", keys::HEADS)] {
                if table.get(key).is_none() {
                    self.lacks(&name, key, is, &format!("\"{}\"", words.join("\" or \"")));
                }
            }
            let held_in = self.reader.word(table, "held_in", keys::HELD_IN).map(|word| match word {
                "squeezer" => DiesFor::Squeezer,
                "gun" => DiesFor::Gun,
                _ => DiesFor::Back,
            });
            let head = self.reader.word(table, "head", keys::HEADS).map(|word| match word {
                "flush" => HeadStyle::Flush,
                _ => HeadStyle::Universal,
            });
            let across = self.needed(&name, table, "across", "outside diameter", "\"3/8\"");
            let across_shop = self.reader.size(table, "across_shop").map(|put| put.value);
            let size = self.diameter(table);
            let (title, note) = (self.title(&name, table), self.note(table));
            if let (Some(held_in), Some(head), Some(across), Some(diameter)) = (held_in, head, across, size) {
                let across_shop = across_shop.unwrap_or(across);
                dies.push(Dies {
                    name: name.value,
                    title,
                    held_in,
                    head,
                    diameter,
                    across,
                    across_shop,
                    note,
                });
            }
        }
        dies
    }

    /// The diameter of dies: any where none is written; nothing where it cannot be read.
    fn diameter(&mut self, table: &Table) -> Option<Option<Diameter>> {
        if table.get("diameter").is_none() {
            return Some(None);
        }
        let put = self.reader.size(table, "diameter")?;
        let found = Diameter::from_length(put.value);
        if found.is_none() {
            let all: Vec<String> = Diameter::ALL.iter().map(ToString::to_string).collect();
            let what = format!("{} is not a rivet diameter", put.value.show(self.reader.unit));
            let next = format!("write one of {}", list(all.iter().map(String::as_str)));
            self.reader.wrong(put.spot, "wrong-number", what, next);
        }
        found.map(Some)
    }

    fn guns(&mut self, table: &Table) -> Vec<Gun> {
        let mut guns = Vec::new();
        for (name, table) in self.named(table, "guns", &keys::GUN) {
            let mut pressure_psi: Vec<(Diameter, f64)> = Vec::new();
            if let Some(pressures) = self.reader.table(table, "pressure") {
                for entry in &pressures.0 {
                    let Some(size) = self.key_diameter(&entry.key, entry.key_spot, &pressure_psi) else {
                        continue;
                    };
                    if let Some(psi) = self.positive(pressures, &entry.key) {
                        pressure_psi.push((size, psi));
                    }
                }
            }
            let (title, note) = (self.title(&name, table), self.note(table));
            guns.push(Gun { name: name.value, title, pressure_psi, note });
        }
        guns
    }

    /// A diameter that stands as a key, and is not there yet.
    fn key_diameter<T>(&mut self, key: &str, spot: Spot, known: &[(Diameter, T)]) -> Option<Diameter> {
        let size = diameter(&mut self.reader, &Put { value: key.to_owned(), spot })?;
        if known.iter().any(|(other, _)| *other == size) {
            let what = format!("the diameter {size} stands here twice");
            self.reader.wrong(spot, "duplicate", what, "keep one of the two");
            return None;
        }
        Some(size)
    }

    fn bars(&mut self, table: &Table) -> Vec<Bar> {
        let mut bars = Vec::new();
        for (name, table) in self.named(table, "bars", &keys::BAR) {
            let enters = self.needed(&name, table, "enters", "smallest gap", "\"3/4\"");
            let weight_lb = self.positive(table, "weight");
            let (title, note) = (self.title(&name, table), self.note(table));
            if let Some(enters) = enters {
                bars.push(Bar { name: name.value, title, weight_lb, enters, note });
            }
        }
        bars
    }

    fn plates(&mut self, table: &Table) -> Vec<Plate> {
        let mut plates = Vec::new();
        for (name, table) in self.named(table, "plates", &keys::PLATE) {
            if table.get("size").is_none() {
                self.lacks(&name, "size", "size", "[12, 12], its two sides");
            }
            let size = self.reader.point(table, "size");
            let (title, note) = (self.title(&name, table), self.note(table));
            let Some(size) = size else { continue };
            if size.value.x <= Length::ZERO || size.value.y <= Length::ZERO {
                let what = "\"size\" is not more than nothing";
                self.reader.wrong(size.spot, "wrong-number", what, "write two lengths above 0");
                continue;
            }
            plates.push(Plate { name: name.value, title, size: [size.value.x, size.value.y], note });
        }
        plates
    }

    fn clecoes(&mut self, table: &Table) -> Vec<Clecoes> {
        let Some(counts) = self.reader.table(table, "clecoes") else { return Vec::new() };
        let mut known: Vec<(Diameter, u32)> = Vec::new();
        let mut clecoes = Vec::new();
        for entry in &counts.0 {
            let Some(diameter) = self.key_diameter(&entry.key, entry.key_spot, &known) else { continue };
            let Some(count) = self.reader.count(counts, &entry.key) else { continue };
            known.push((diameter, count.value));
            clecoes.push(Clecoes { name: entry.key.clone(), diameter, count: count.value });
        }
        clecoes
    }

    fn clamps(&mut self, table: &Table) -> Vec<Clamp> {
        let mut clamps = Vec::new();
        for (name, table) in self.named(table, "clamps", &keys::CLAMP) {
            let count = self.reader.count(table, "count").map_or(1, |put| put.value);
            let reach = self.reader.size(table, "reach").map(|put| put.value);
            self.reader.text(table, "note");
            clamps.push(Clamp { title: self.title(&name, table), name: name.value, count, reach });
        }
        clamps
    }

    fn gauges(&mut self, table: &Table) -> Vec<Gauge> {
        let mut gauges = Vec::new();
        for (name, table) in self.named(table, "gauges", &keys::GAUGE) {
            let uncertainty = self.reader.size(table, "uncertainty").map(|put| put.value);
            let (title, note) = (self.title(&name, table), self.note(table));
            gauges.push(Gauge { name: name.value, title, uncertainty, note });
        }
        gauges
    }

    fn times(&mut self, table: &Table) -> Times {
        let mut times = Times::standard();
        let Some(own) = self.reader.table(table, "times") else { return times };
        self.reader.check_keys(own, &keys::TIMES);
        for (key, seconds) in times.by_key() {
            if let Some(value) = self.reader.number(own, key) {
                *seconds =
                    Seconds { value, cited: Cited::new("tools.toml", format!("times.{key}"), Known::Own) };
            }
        }
        times
    }
}

/// Squeezers as they are read: a name keeps its place even where its squeezer cannot be used.
#[derive(Default)]
struct Squeezers {
    names: Vec<String>,
    list: Vec<Option<Squeezer>>,
}

impl Squeezers {
    /// Position among those that can be used.
    fn position(&self, name: &str) -> Option<usize> {
        self.list.iter().flatten().position(|squeezer| squeezer.name == name)
    }

    fn all(&self) -> Vec<usize> {
        (0..self.list.iter().flatten().count()).collect()
    }
}
