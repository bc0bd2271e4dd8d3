//! Edits of `tools.toml`: the rest of the file stays as it is, byte for byte.

use faying_plan::edit::EditError;
use faying_plan::edit::tools::{
    Field, Input, OTHER, Section, add, change, fields, listed, sections, take_out,
};
use faying_plan::keys::{self, Shape};
use faying_plan::tools::STARTER;
use faying_plan::{Plan, SourceText, read};
use faying_standards::inches;
use proptest::prelude::*;

/// As a builder may keep it: remarks, columns, a tool under a heading of its own.
const OWN: &str = "\
# bench of the garage\r
format = 1   # first\r
\r
[squeezers]\r
red  = { force = 2_400, turns_per_inch = 20 }   # second hand\r
# the one that leaks\r
blue = { force = 3000 , pressure = 90, note = \"ask # before\" }\r
\r
[yokes.c]   # welded\r
fits = \"red\"\r
throat = \"1 1/2\"  # measured\r
gap = 0.75\r
nose = { half_width = \"3/8\", height = 0.85 }\r
";

fn section(name: &str) -> Section {
    Section::named(name).expect("there is such a section")
}

fn pairs(values: &[(&str, &str)]) -> Vec<(String, String)> {
    values.iter().map(|(key, typed)| ((*key).to_owned(), (*typed).to_owned())).collect()
}

fn plan(text: &str) -> Plan {
    let reading = read(vec![SourceText { name: "tools.toml".into(), text: text.into() }]);
    assert!(reading.findings.is_empty(), "{}", reading.findings[0]);
    reading.plan
}

fn field<'a>(fields: &'a [Field], key: &str) -> &'a Field {
    fields.iter().find(|field| field.key == key).unwrap_or_else(|| panic!("no field {key}"))
}

#[test]
fn a_yoke_goes_behind_the_last_one_with_its_nose() {
    let values = pairs(&[
        ("title", "Long-nosed yoke"),
        ("fits", "hand-squeezer"),
        ("throat", "2 1/2"),
        ("gap", ".625"),
        ("nose.half_width", "5 mm"),
        ("nose.height", "1/2"),
        ("note", ""),
    ]);
    let (new, name) = add(STARTER, &section("yokes"), "", &values).unwrap();
    let line = concat!(
        r#"long-nosed-yoke = { title = "Long-nosed yoke", fits = ["hand-squeezer"], throat = "2 1/2", gap = 0.625, "#,
        r#"nose = { half_width = "5 mm", height = "1/2" } }"#,
        "\n"
    );
    assert_eq!(name, "long-nosed-yoke");
    let (before, after) = STARTER.split_once("\n\n# held_in:").unwrap();
    assert_eq!(new, format!("{before}\n{line}\n# held_in:{after}"));
    let plan = plan(&new);
    let yoke = plan.tools.yokes.iter().find(|yoke| yoke.name == name).unwrap();
    assert_eq!((yoke.throat, yoke.gap, yoke.squeezers.as_slice()), (inches(2.5), inches(0.625), &[1][..]));
}

#[test]
fn every_kind_of_tool_can_be_added_to_an_empty_file() {
    let mut text = "format = 1\nhelper = true\n".to_owned();
    let tools: [(&str, &[(&str, &str)]); 8] = [
        (
            "squeezers",
            &[("title", "Air"), ("drive", "air"), ("force", "3000"), ("shims", "1/64, .010, 1 mm")],
        ),
        (
            "yokes",
            &[
                ("title", "C"),
                ("throat", "3"),
                ("gap", "3/4"),
                ("nose.half_width", "3/8"),
                ("nose.height", "1"),
            ],
        ),
        ("dies", &[("title", "Cup"), ("held_in", "squeezer"), ("head", "universal"), ("across", "3/8")]),
        ("guns", &[("title", "Gun"), ("pressure.1/8", "35"), ("pressure.5/32", "50")]),
        ("bars", &[("title", "Bar"), ("weight", "2"), ("enters", "1 1/4")]),
        ("plates", &[("title", "Plate"), ("size", "12 × 8 1/2")]),
        ("clamps", &[("title", "Clamp"), ("count", "4")]),
        ("gauges", &[("title", "Caliper"), ("uncertainty", ".001")]),
    ];
    for (name, values) in tools {
        text = add(&text, &section(name), "", &pairs(values)).unwrap().0;
        assert!(plan(&text).tools.own);
    }
    let tools = plan(&text).tools;
    assert_eq!(tools.plates[0].size, [inches(12.0), inches(8.5)]);
    assert_eq!(tools.guns[0].pressure_psi.len(), 2);
    assert!(tools.helper, "what stood under no heading still does");
    // In the order of the kinds, whatever order they came in.
    let headings: Vec<&str> = text.lines().filter(|line| line.starts_with('[')).collect();
    let order = ["squeezers", "yokes", "dies", "guns", "bars", "plates", "clamps", "gauges"];
    assert_eq!(headings, order.map(|name| format!("[{name}]")));
}

#[test]
fn only_what_is_named_changes() {
    let text = OWN;
    let yoke = section("yokes");
    let values = pairs(&[("throat", "1.75"), ("nose.height", "7/16"), ("stiffness", "80000")]);
    let new = change(text, &yoke, Some("c"), &values).unwrap();
    let want = text
        .replace("throat = \"1 1/2\"  # measured", "throat = 1.75  # measured")
        .replace("height = 0.85 }\r\n", "height = \"7/16\" }\r\nstiffness = 80000\r\n");
    assert_eq!(new, want);

    let new =
        change(text, &section("squeezers"), Some("blue"), &pairs(&[("pressure", ""), ("stroke", "1/2")]));
    let want = text.replace(
        "{ force = 3000 , pressure = 90, note = \"ask # before\" }",
        "{ force = 3000 , note = \"ask # before\", stroke = \"1/2\" }",
    );
    assert_eq!(new.unwrap(), want);
}

#[test]
fn the_last_key_of_a_line_and_the_only_one_go_without_a_comma() {
    let text = "format = 1\n[gauges]\na = { title = \"A\", uncertainty = 0.001 }\nb = { title = \"B\" }\n";
    let gauges = section("gauges");
    let new = change(text, &gauges, Some("a"), &pairs(&[("uncertainty", " ")])).unwrap();
    assert_eq!(new, text.replace(", uncertainty = 0.001", ""));
    let new = change(text, &gauges, Some("b"), &pairs(&[("title", "")])).unwrap();
    assert_eq!(plan(&new).tools.gauges[1].title, "b");
}

/// A table of a tool comes with its first value and goes with its last.
#[test]
fn a_table_in_a_tool_comes_and_goes() {
    let text = "format = 1\n[guns]\ng = { title = \"G\" } # loud\n";
    let guns = section("guns");
    let with =
        change(text, &guns, Some("g"), &pairs(&[("pressure.1/8", "35"), ("pressure.3/32", "25")])).unwrap();
    assert_eq!(
        with,
        "format = 1\n[guns]\ng = { title = \"G\", pressure = { \"3/32\" = 25, \"1/8\" = 35 } } # loud\n"
    );
    let one = change(&with, &guns, Some("g"), &pairs(&[("pressure.3/32", "")])).unwrap();
    assert!(one.contains("pressure = { \"1/8\" = 35 }"), "{one}");
    assert_eq!(change(&one, &guns, Some("g"), &pairs(&[("pressure.1/8", "")])).unwrap(), text);
}

#[test]
fn clecoes_are_counted_and_times_set_and_cleared() {
    let clecoes = section("clecoes");
    let new =
        change(STARTER, &clecoes, None, &pairs(&[("1/8", "120"), ("3/16", ""), ("1/4", "10")])).unwrap();
    let want = STARTER
        .replace("\"1/8\" = 150", "\"1/8\" = 120")
        .replace("\"3/16\" = 25\n\n[clamps]", "\"1/4\" = 10\n\n[clamps]");
    assert_eq!(new, want);
    let times = section("times");
    let new = change(STARTER, &times, None, &pairs(&[("squeeze", "6.5"), ("flip", "40")])).unwrap();
    assert_eq!(new, format!("{STARTER}squeeze = 6.5\nflip = 40\n"));
    assert_eq!(plan(&new).tools.times.squeeze.value, 6.5);
    assert_eq!(change(&new, &times, None, &pairs(&[("squeeze", ""), ("flip", "")])).unwrap(), STARTER);
    // Where there is no such heading it comes behind what stands before it.
    let new = change(OWN, &times, None, &pairs(&[("squeeze", "7")])).unwrap();
    assert_eq!(new, format!("{OWN}[times]\r\nsqueeze = 7\r\n"));
    let other = section(OTHER);
    let new = change(OWN, &other, None, &pairs(&[("helper", "true")])).unwrap();
    assert_eq!(new, OWN.replace("# first\r\n", "# first\r\nhelper = true\r\n"));
    let new = change(STARTER, &other, None, &pairs(&[("helper", "false")])).unwrap();
    assert_eq!(new, STARTER.replace("helper = true ", "helper = false "));
}

#[test]
fn a_tool_is_taken_out_and_its_remarks_stay() {
    let new = take_out(OWN, &section("squeezers"), "blue").unwrap();
    let want = OWN.replace("blue = { force = 3000 , pressure = 90, note = \"ask # before\" }\r\n", "");
    assert_eq!(new, want);
    let new = take_out(OWN, &section("yokes"), "c").unwrap();
    assert_eq!(new, OWN.split_once("[yokes.c]").unwrap().0);
}

#[test]
fn what_another_tool_names_is_not_taken_out() {
    let error = take_out(OWN, &section("squeezers"), "red").unwrap_err();
    insta::assert_snapshot!(error, @"the yoke c, under fits, names squeezer red; change that first, or take it out too");
    let error = take_out(STARTER, &section("squeezers"), "air-squeezer").unwrap_err();
    insta::assert_snapshot!(error, @"the yoke deep, under fits, names squeezer air-squeezer; change that first, or take it out too");
    // Nobody names the other one; a yoke that names none fits what there is.
    let new = take_out(STARTER, &section("squeezers"), "hand-squeezer").unwrap();
    assert_eq!(plan(&new).tools.yokes[0].squeezers, [0]);
}

#[test]
fn what_cannot_be_done_says_why() {
    let yokes = section("yokes");
    insta::assert_snapshot!(
        add(STARTER, &yokes, "deep", &[]).unwrap_err(),
        @"there is already a yoke \"deep\"; write another name, for example deep-2"
    );
    insta::assert_snapshot!(
        add(STARTER, &yokes, "too deep", &[]).unwrap_err(),
        @"the name \"too deep\" has a blank or one of / : \" \\ in it; use letters, digits, - and _, for example rib-2"
    );
    insta::assert_snapshot!(
        change(STARTER, &yokes, Some("dep"), &[]).unwrap_err(),
        @"there is no yoke \"dep\" in this file; did you mean \"deep\"?"
    );
    let broken = format!("{STARTER}[yokes\n");
    assert!(matches!(take_out(&broken, &yokes, "deep"), Err(EditError::Unreadable(_))));
}

/// A name that a title makes is free among all tools: a run names its tools by that word alone.
#[test]
fn a_title_makes_a_name_that_no_tool_has() {
    let bars = section("bars");
    for (title, name) in [("Slim", "slim-2"), ("  Öl  und  Bar! ", "öl-und-bar"), ("Bar", "bar")] {
        let values = pairs(&[("title", title), ("enters", "1")]);
        assert_eq!(add(STARTER, &bars, "", &values).unwrap().1, name);
    }
    let error = add(STARTER, &bars, "", &pairs(&[("title", "!"), ("enters", "1")])).unwrap_err();
    assert!(matches!(error, EditError::Name { .. }), "{error}");
}

/// The form has every key of every tool; a shape that it cannot ask for would be missing here.
#[test]
fn every_key_of_every_tool_is_asked() {
    fn asked(fields: &[Field], keys: &'static [keys::Key], before: &str) {
        for key in keys {
            let name = format!("{before}{}", key.name);
            match key.shape {
                Shape::Table(inner) => asked(fields, inner.keys, &format!("{name}.")),
                Shape::NamedNumbers | Shape::NamedCounts | Shape::NamedLengths => {
                    assert!(fields.iter().any(|field| field.key.starts_with(&format!("{name}."))), "{name}");
                }
                _ => assert!(!field(fields, &name).label.is_empty(), "{name}"),
            }
        }
    }
    for section in sections() {
        let fields = fields(STARTER, &section, None).unwrap();
        match section.kind {
            Some(kind) => asked(&fields, kind.keys, ""),
            None if section.name == "times" => asked(&fields, keys::TIMES.keys, ""),
            None => assert!(!fields.is_empty(), "{}", section.name),
        }
    }
    // And every key of the file is a section, is asked among the rest, or says how the file is read.
    let others = fields(STARTER, &section(OTHER), None).unwrap();
    for key in keys::TOOLS.keys.iter().filter(|key| !["format", "units"].contains(&key.name)) {
        let known = sections().iter().any(|it| it.name == key.name);
        assert!(known || others.iter().any(|field| field.key == key.name), "{}", key.name);
    }
}

/// What the reader cannot do without is what the form calls needed.
#[test]
fn needed_fields_are_those_that_the_reader_misses() {
    for (name, want) in [
        ("squeezers", "force"),
        ("yokes", "throat gap nose.half_width nose.height"),
        ("dies", "held_in head across"),
        ("guns", ""),
        ("bars", "enters"),
        ("plates", "size"),
        ("clamps", ""),
        ("gauges", ""),
        ("clecoes", ""),
        ("times", ""),
    ] {
        let fields = fields(STARTER, &section(name), None).unwrap();
        let needed: Vec<&str> = fields.iter().filter(|it| it.needed).map(|it| it.key.as_str()).collect();
        assert_eq!(needed.join(" "), want, "{name}");
    }
}

#[test]
fn fields_show_what_the_file_says_as_it_says_it() {
    let text = OWN;
    let yokes = fields(text, &section("yokes"), Some("c")).unwrap();
    let throat = field(&yokes, "throat");
    assert_eq!((throat.label.as_str(), throat.value.as_str()), ("throat depth, in", "1 1/2"));
    assert_eq!(throat.hint, "from the axis of the dies to the bottom of the throat");
    let fits = field(&yokes, "fits");
    assert_eq!(fits.input, Input::Names(vec!["red".into(), "blue".into()]));
    assert_eq!((fits.value.as_str(), fits.label.as_str()), ("red", "squeezers it fits"));
    let nose = field(&yokes, "nose.height");
    assert_eq!((nose.value.as_str(), nose.group.as_deref()), ("0.85", Some("the end of its slimmer jaw")));
    let squeezers = fields(text, &section("squeezers"), Some("red")).unwrap();
    assert_eq!(field(&squeezers, "force").value, "2_400");
    assert_eq!(field(&squeezers, "force").label, "force at the end of its stroke, lbf");
    let metric = fields("format = 1\nunits = \"mm\"\n", &section("bars"), None).unwrap();
    assert_eq!(field(&metric, "enters").label, "smallest gap it enters, mm");
    let plates = fields(STARTER, &section("plates"), Some("plate")).unwrap();
    assert_eq!(field(&plates, "size").value, "12 × 12");
    // A diameter as the file spells it, the others as they are called.
    let clecoes = fields("format = 1\n[clecoes]\n\"0.125\" = 8\n", &section("clecoes"), None).unwrap();
    let keys: Vec<&str> = clecoes.iter().map(|it| it.key.as_str()).collect();
    assert_eq!(keys[..4], ["1/16", "3/32", "0.125", "5/32"]);
}

#[test]
fn what_nobody_has_measured_is_told_apart() {
    let yokes = section("yokes");
    let starter = |text: &str, section: &Section| -> Vec<bool> {
        listed(text, section).unwrap().into_iter().map(|it| it.starter).collect()
    };
    assert_eq!(starter(STARTER, &yokes), [true, true, true]);
    let new = change(STARTER, &yokes, Some("deep"), &pairs(&[("throat", "4.1")])).unwrap();
    assert_eq!(starter(&new, &yokes), [true, false, true]);
    // The other figures of that yoke are still those of the starter set, and each says so.
    let partly =
        |text: &str| -> Vec<bool> { listed(text, &yokes).unwrap().into_iter().map(|it| it.partly).collect() };
    let whose = |text: &str| -> Vec<String> {
        let fields = fields(text, &yokes, Some("deep")).unwrap();
        fields.into_iter().filter(|field| field.starter).map(|field| field.key).collect()
    };
    assert_eq!(partly(&new), [true, true, true]);
    assert_eq!(whose(&new), ["gap", "nose.half_width", "nose.height"]);
    let measured = pairs(&[("gap", "1.2"), ("nose.half_width", ".44"), ("nose.height", "1.05")]);
    let new = change(&new, &yokes, Some("deep"), &measured).unwrap();
    assert_eq!(partly(&new), [true, false, true]);
    assert_eq!(whose(&new), [""; 0]);
    let metric = new.replace("units = \"in\"", "units = \"mm\"");
    assert_eq!(starter(&metric, &yokes), [false, false, false]);
    assert_eq!(partly(&metric), [false, false, false]);
    let new = change(STARTER, &section("clecoes"), None, &pairs(&[("3/32", "180")])).unwrap();
    assert_eq!(starter(&new, &section("clecoes")), [false, true, true, true]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever is typed, it is refused, or stands in the file as typed and in nobody else's place.
    #[test]
    fn typed_is_written_or_refused(
        values in prop::collection::vec((0_usize..40, ".{0,12}"), 1..5),
        at in 0_usize..12,
    ) {
        let section = sections()[at % sections().len()];
        let tool = section.kind.map(|_| listed(STARTER, &section).unwrap()[0].name.clone());
        let asked = fields(STARTER, &section, tool.as_deref()).unwrap();
        let mut values: Vec<(String, String)> =
            values.into_iter().map(|(n, typed)| (asked[n % asked.len()].key.clone(), typed)).collect();
        values.sort();
        values.dedup_by(|a, b| a.0 == b.0);
        if let Ok(new) = change(STARTER, &section, tool.as_deref(), &values) {
            let got = fields(&new, &section, tool.as_deref()).unwrap();
            for (key, typed) in &values {
                let field = field(&got, key);
                if field.input == Input::Text && field.key != "fits" {
                    let typed: String = typed.trim().chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
                    prop_assert_eq!(&field.value, &typed);
                }
            }
            for other in sections().into_iter().filter(|other| other.name != section.name && other.name != OTHER) {
                prop_assert_eq!(listed(&new, &other).unwrap(), listed(STARTER, &other).unwrap());
            }
        }
        if let (Some(tool), Ok((new, name))) = (&tool, add(STARTER, &section, "x-new", &values)) {
            prop_assert_eq!(take_out(&new, &section, &name).unwrap(), STARTER);
            prop_assert_ne!(&name, tool);
        }
    }
}
