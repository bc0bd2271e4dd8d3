//! The JSON Schema of the plan files.
//!
//! The outside check is `reference/check_schema.py`: the Python package
//! `jsonschema` (4.26.0, Draft 2020-12) takes the schema printed by
//! [`prints_the_schemas`] and judges the example plan and limits of this folder, and the starter set of tools,
//! as Python's own TOML reader gives them, and files with one slip each. With
//! Python 3.11.7 the answer was "8 taken, 16 refused, 0 wrong".
//!
//! What is here holds the parts together that the outside check cannot see.

use faying_plan::keys::{self, Kind, Shape};
use faying_plan::schema;
use serde_json::Value;

/// Walks a kind and its schema side by side.
fn same_keys(kind: &'static Kind, schema: &Value) {
    assert_eq!(schema["type"], "object", "{}", kind.name);
    assert_eq!(schema["additionalProperties"], false, "{} takes any key", kind.name);
    let properties = schema["properties"].as_object().expect("a table has properties");
    assert_eq!(properties.len(), kind.keys.len(), "{}", kind.name);
    for key in kind.keys {
        let property = &properties[key.name];
        assert_eq!(property["description"], key.doc, "{}, {}", kind.name, key.name);
        match key.shape {
            Shape::Table(inner) => same_keys(inner, property),
            Shape::Named(inner) => same_keys(inner, &property["additionalProperties"]),
            _ => {
                assert!(property.as_object().is_some_and(|says| says.len() > 1), "{} says nothing", key.name);
            }
        }
    }
}

#[test]
fn every_key_is_in_the_schema_with_its_word() {
    for kind in [&keys::ASSEMBLY, &keys::LIMITS, &keys::TOOLS, &keys::PEOPLE, &keys::GATES] {
        let schema = schema(kind);
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
        same_keys(kind, &schema);
    }
}

/// Every key of the example, followed through the schema by name.
#[test]
fn every_key_of_the_example_is_in_the_schema() {
    fn follow(table: &toml::Table, schema: &Value, path: &str) {
        for (key, value) in table {
            let path = format!("{path}.{key}");
            let inner = match &schema["properties"][key] {
                Value::Null => &schema["additionalProperties"],
                property => property,
            };
            assert!(inner.is_object(), "{path} is not in the schema");
            // Shapes offer one or a list of them: which, is the outside check's business.
            if let (toml::Value::Table(table), Value::Null) = (value, &inner["anyOf"]) {
                follow(table, inner, &path);
            }
        }
    }
    let files = [
        (include_str!("flap-left.toml"), &keys::ASSEMBLY),
        (include_str!("limits.toml"), &keys::LIMITS),
        (faying_plan::tools::STARTER, &keys::TOOLS),
        (include_str!("../../../plans/teasel/people.toml"), &keys::PEOPLE),
        (include_str!("../../../plans/teasel/gates.toml"), &keys::GATES),
    ];
    for (text, kind) in files {
        follow(&text.parse().unwrap(), &schema(kind), "");
    }
}

/// For the outside check: one line for each kind of file.
#[test]
fn prints_the_schemas() {
    println!("assembly\t{}", schema(&keys::ASSEMBLY));
    println!("limits\t{}", schema(&keys::LIMITS));
    println!("tools\t{}", schema(&keys::TOOLS));
}
