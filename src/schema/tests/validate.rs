//! As much of JSON Schema, draft 7, as our schemas use. A keyword that is not known here is a fault of the schema.

use serde_json::{Map, Value as Json};

/// Where and how a value does not fit.
pub fn faults(schema: &Json, value: &Json) -> Vec<String> {
    let mut found = Vec::new();
    check(schema, schema, value, "", &mut found);
    found
}

fn check(root: &Json, schema: &Json, value: &Json, path: &str, found: &mut Vec<String>) {
    let fields = match schema {
        Json::Bool(true) => return,
        Json::Bool(false) => return found.push(format!("{path} may not be there")),
        Json::Object(fields) => fields,
        _ => return found.push(format!("{path}: the schema is not one")),
    };
    for (keyword, wanted) in fields {
        let fits = match keyword.as_str() {
            "$schema" | "title" | "description" | "definitions" | "required" | "additionalProperties" => true,
            "$ref" => {
                let pointer = wanted.as_str().and_then(|it| it.strip_prefix('#')).expect("references are local");
                check(root, root.pointer(pointer).expect("references lead somewhere"), value, path, found);
                true
            }
            "allOf" => {
                wanted.as_array().expect("a list").iter().for_each(|one| check(root, one, value, path, found));
                true
            }
            "anyOf" => any(root, wanted.as_array().expect("a list"), value, path, found),
            "enum" => wanted.as_array().expect("a list").contains(value),
            "type" => types(wanted, value),
            "minLength" => value.as_str().is_none_or(|it| it.chars().count() as u64 >= wanted.as_u64().unwrap()),
            "maxLength" => value.as_str().is_none_or(|it| it.chars().count() as u64 <= wanted.as_u64().unwrap()),
            "pattern" => value.as_str().is_none_or(|it| matches(wanted.as_str().unwrap(), it)),
            "minimum" => value.as_f64().is_none_or(|it| it >= wanted.as_f64().unwrap()),
            "exclusiveMinimum" => value.as_f64().is_none_or(|it| it > wanted.as_f64().unwrap()),
            "maximum" => value.as_f64().is_none_or(|it| it <= wanted.as_f64().unwrap()),
            "minItems" => value.as_array().is_none_or(|it| it.len() as u64 >= wanted.as_u64().unwrap()),
            "maxItems" => value.as_array().is_none_or(|it| it.len() as u64 <= wanted.as_u64().unwrap()),
            "items" => {
                for (item, n) in value.as_array().into_iter().flatten().zip(0..) {
                    check(root, wanted, item, &format!("{path}[{n}]"), found);
                }
                true
            }
            "properties" => {
                table(root, fields, value, path, found);
                true
            }
            other => panic!("the schema has the keyword `{other}`, which is not known here"),
        };
        if !fits {
            found.push(format!("{path}: {keyword} {wanted} does not hold for {value}"));
        }
    }
    if !fields.contains_key("properties") && fields.contains_key("additionalProperties") {
        table(root, fields, value, path, found);
    }
}

/// If no way fits, the faults of the one that comes nearest are told.
fn any(root: &Json, ways: &[Json], value: &Json, path: &str, found: &mut Vec<String>) -> bool {
    let tried = ways.iter().map(|way| {
        let mut found = Vec::new();
        check(root, way, value, path, &mut found);
        found
    });
    found.extend(tried.min_by_key(Vec::len).expect("there is a way"));
    true
}

fn types(wanted: &Json, value: &Json) -> bool {
    let is = |name: &Json| match name.as_str().expect("a type has a name") {
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        "boolean" => value.is_boolean(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        other => panic!("no type `{other}`"),
    };
    wanted.as_array().map_or_else(|| is(wanted), |names| names.iter().any(is))
}

fn table(root: &Json, schema: &Map<String, Json>, value: &Json, path: &str, found: &mut Vec<String>) {
    let Json::Object(fields) = value else { return };
    let none = Map::new();
    let known = schema.get("properties").and_then(Json::as_object).unwrap_or(&none);
    for (key, inner) in fields {
        let shape = known.get(key).or_else(|| schema.get("additionalProperties")).unwrap_or(&Json::Bool(true));
        check(root, shape, inner, &format!("{path}.{key}"), found);
    }
    for key in schema.get("required").and_then(Json::as_array).into_iter().flatten() {
        let key = key.as_str().expect("keys are texts");
        if !fields.contains_key(key) {
            found.push(format!("{path} has no `{key}`"));
        }
    }
}

/// The three patterns that our schemas use.
fn matches(pattern: &str, text: &str) -> bool {
    match pattern {
        " on " => text.contains(" on "),
        "^[a-z0-9][a-z0-9-]{0,39}$" => {
            let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit();
            text.len() <= 40 && text.starts_with(fits) && text.chars().all(|c| fits(c) || c == '-')
        }
        words => {
            let words = words.split_once('(').and_then(|(_, rest)| rest.split_once(')')).expect("a list of words").0;
            text.split('+').all(|part| words.split('|').any(|word| word == part.trim()))
        }
    }
}

#[test]
fn the_validator_tells_right_from_wrong() {
    let schema = serde_json::json!({
        "type": "object",
        "properties": { "n": { "type": "integer", "minimum": 1 }, "w": { "anyOf": [{ "enum": ["a"] }, { "type": "array", "items": { "$ref": "#/definitions/x" } }] } },
        "required": ["n"],
        "additionalProperties": false,
        "definitions": { "x": { "type": "string", "pattern": "^[a-z0-9][a-z0-9-]{0,39}$" } },
    });
    let count = |value: Json| faults(&schema, &value).len();
    assert_eq!(count(serde_json::json!({ "n": 1, "w": "a" })), 0);
    assert_eq!(count(serde_json::json!({ "n": 1, "w": ["ab-c"] })), 0);
    assert_eq!(count(serde_json::json!({ "n": 0 })), 1);
    assert_eq!(count(serde_json::json!({ "w": "a" })), 1);
    assert_eq!(count(serde_json::json!({ "n": 1, "w": ["A"] })), 1);
    assert_eq!(count(serde_json::json!({ "n": 1, "w": "b" })), 1);
    assert_eq!(count(serde_json::json!({ "n": 1, "z": 1 })), 1);
}
