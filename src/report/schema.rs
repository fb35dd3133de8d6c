//! The JSON Schema (draft 2020-12) of everything that `--json` prints.

use super::figures;
use super::first::FirstAnswer;
use super::json::{AdviceReport, ErrorReport, InspectReport, MeasureReport, TurnReport};
use super::map::DirectionMap;
use crate::words::capital;
use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

/// Definitions whose numbers may be `null`: figures that have no finite value.
const MAY_BE_NULL: [&str; 13] = [
    "MapDirection",
    "Figures",
    "Bridge",
    "CeilingHole",
    "Island",
    "Slender",
    "SupportMarks",
    "BodyRow",
    "Note",
    "Remedy",
    "LayerProfile",
    "Line",
    "Found",
];

/// The schema as a document: each object that `--json` prints is one of `oneOf`.
pub fn document() -> Value {
    let mut generator = SchemaSettings::draft2020_12()
        .for_serialize()
        .into_generator();
    let kinds = [
        generator.subschema_for::<AdviceReport>(),
        generator.subschema_for::<FirstAnswer>(),
        generator.subschema_for::<MeasureReport>(),
        generator.subschema_for::<InspectReport>(),
        generator.subschema_for::<TurnReport>(),
        generator.subschema_for::<ErrorReport>(),
        generator.subschema_for::<DirectionMap>(),
    ];
    let mut definitions = generator.take_definitions(true);
    for name in MAY_BE_NULL {
        if let Some(definition) = definitions.get_mut(name) {
            allow_null(definition);
        }
    }
    for figure in figures::TABLE.iter() {
        let says = definitions.get_mut("Figures").and_then(|d| {
            d["properties"]
                .get_mut(figure.key.name())?
                .get_mut("description")
        });
        if let Some(Value::String(says)) = says {
            *says = format!("{}. {says}", capital(&figure.label));
        }
    }
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Output of wayup --json",
        "description": "advise prints one Advice a line for each part, or a FirstAnswer where --seconds left no time to \
            measure one pose; measure, inspect and turn print one object; \
            library prints one Advice or FirstAnswer (without seconds) or Unread a line; \
            advise --map writes one Map. \
            Lengths are mm, areas mm², volumes mm³, angles degrees, masses g. \
            A number that has no finite value is null. Only `seconds` differs between two runs.",
        "oneOf": kinds.map(schemars::Schema::to_value),
        "$defs": Value::Object(definitions.into_iter().collect::<Map<_, _>>()),
    })
}

/// The document as text, indented, with a line break at its end.
pub fn text() -> String {
    // `{:#}` of a value is its indented JSON.
    format!("{:#}\n", document())
}

/// Lets every floating-point number below a definition be `null`.
fn allow_null(schema: &mut Value) {
    match schema {
        Value::Object(map) => {
            let float = map
                .get("format")
                .is_some_and(|f| f == "double" || f == "float");
            if float && map.get("type").is_some_and(|t| t == "number") {
                map.insert("type".into(), json!(["number", "null"]));
            }
            map.values_mut().for_each(allow_null);
        }
        Value::Array(list) => list.iter_mut().for_each(allow_null),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reference_leads_somewhere() {
        fn walk(value: &Value, definitions: &Map<String, Value>, seen: &mut usize) {
            match value {
                Value::Object(map) => {
                    if let Some(Value::String(to)) = map.get("$ref") {
                        let name = to
                            .strip_prefix("#/$defs/")
                            .unwrap_or_else(|| panic!("{to} leads out"));
                        assert!(definitions.contains_key(name), "{to} leads nowhere");
                        *seen += 1;
                    }
                    map.values().for_each(|v| walk(v, definitions, seen));
                }
                Value::Array(list) => list.iter().for_each(|v| walk(v, definitions, seen)),
                _ => {}
            }
        }
        let document = document();
        let definitions = document["$defs"].as_object().expect("definitions");
        let mut seen = 0;
        walk(&document, definitions, &mut seen);
        assert!(seen > 10, "only {seen} references");
        for name in MAY_BE_NULL {
            assert!(definitions.contains_key(name), "{name} is not defined");
        }
    }

    #[test]
    fn figures_may_be_null_but_counts_may_not() {
        let document = document();
        let figures = &document["$defs"]["Figures"]["properties"];
        assert_eq!(figures["sway_mm_per_n"]["type"], json!(["number", "null"]));
        assert_eq!(figures["layers"]["type"], json!("integer"));
    }

    #[test]
    fn every_property_is_explained() {
        let document = document();
        for (name, definition) in document["$defs"].as_object().expect("definitions") {
            let Some(properties) = definition["properties"].as_object() else {
                continue;
            };
            for (key, property) in properties {
                assert!(
                    property["description"].is_string(),
                    "{name}.{key} has no description"
                );
            }
        }
    }
}
