//! The problems of a check as SARIF 2.1.0, which build servers and editors show beside the lines.

use serde_json::{Value as Json, json};

use crate::diag::{Problem, Rule, Severity};

/// Where the standard's own schema is published.
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// A whole log file with one run.
pub fn log(problems: &[Problem]) -> Json {
    let rules: Vec<Json> = Rule::ALL.iter().map(|rule| descriptor(*rule)).collect();
    let results: Vec<Json> = problems.iter().map(result).collect();
    json!({
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": { "name": "kinleaf", "version": env!("CARGO_PKG_VERSION"), "rules": rules } },
            "columnKind": "unicodeCodePoints",
            "results": results,
        }],
    })
}

fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Warning => "warning",
        Severity::Error => "error",
    }
}

fn descriptor(rule: Rule) -> Json {
    json!({
        "id": rule.code(),
        "shortDescription": { "text": rule.about() },
        "fullDescription": { "text": rule.why() },
        "defaultConfiguration": { "level": level(rule.severity()) },
    })
}

fn result(problem: &Problem) -> Json {
    let index = Rule::ALL.iter().position(|rule| *rule == problem.rule);
    let text = match &problem.help {
        Some(help) => format!("{}; {help}", problem.message),
        None => problem.message.clone(),
    };
    let mut result = json!({
        "ruleId": problem.rule.code(),
        "ruleIndex": index,
        "level": level(problem.severity()),
        "message": { "text": text },
    });
    if let Some(file) = problem.file() {
        let mut physical = json!({ "artifactLocation": { "uri": uri(file) } });
        if let Some(place) = &problem.place {
            let ((line, column), (end_line, end_column)) = (place.line_column(), place.end_line_column());
            physical["region"] =
                json!({ "startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column });
        }
        result["locations"] = json!([{ "physicalLocation": physical }]);
    }
    if let Some(client) = &problem.client {
        result["properties"] = json!({ "client": client.to_string() });
    }
    result
}

/// A path as a relative reference (RFC 3986): what has a meaning there is written as a percent sign and its number.
fn uri(path: &str) -> String {
    let mut uri = String::new();
    for byte in path.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) {
            uri.push(char::from(byte));
        } else {
            uri.push_str(&format!("%{byte:02X}"));
        }
    }
    uri
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::diag::SourceFile;
    use crate::ids::{ClientId, Id};

    #[test]
    fn a_problem_has_rule_level_words_and_place() {
        let file = Arc::new(SourceFile { path: "clients/ana.toml".into(), text: "a = 1\nnäme = 2\n".into() });
        let problem = Problem::at(Rule::UnknownKey, &file, 6..11, "this file has no key `näme`")
            .help("did you mean `name`?")
            .client(&ClientId::new("ana").unwrap());
        let log = log(&[problem, Problem::about(Rule::OverTime, "a folder/ü", "long")]);
        let run = &log["runs"][0];
        assert_eq!(log["version"], "2.1.0");
        let first = &run["results"][0];
        assert_eq!(
            (&first["ruleId"], &first["level"], &first["message"]["text"]),
            (&"unknown-key".into(), &"error".into(), &"this file has no key `näme`; did you mean `name`?".into())
        );
        let index = usize::try_from(first["ruleIndex"].as_u64().unwrap()).unwrap();
        assert_eq!(run["tool"]["driver"]["rules"][index]["id"], "unknown-key");
        let place = &first["locations"][0]["physicalLocation"];
        assert_eq!(place["artifactLocation"]["uri"], "clients/ana.toml");
        // Columns count characters, and the end is one past the last.
        let region = json!({ "startLine": 2, "startColumn": 1, "endLine": 2, "endColumn": 5 });
        assert_eq!(place["region"], region);
        let second = &run["results"][1];
        assert_eq!(second["level"], "warning");
        let place = &second["locations"][0]["physicalLocation"];
        assert_eq!(place, &json!({ "artifactLocation": { "uri": "a%20folder/%C3%BC" } }));
    }

    /// The parts that the standard asks for (SARIF 2.1.0, 3.13 to 3.49), rule by rule.
    #[test]
    fn every_rule_is_described() {
        let log = log(&[]);
        let driver = &log["runs"][0]["tool"]["driver"];
        assert!(driver["name"].is_string() && log["runs"][0]["results"].is_array());
        let rules = driver["rules"].as_array().unwrap();
        assert_eq!(rules.len(), Rule::ALL.len());
        for rule in rules {
            for text in ["shortDescription", "fullDescription"] {
                assert!(rule[text]["text"].as_str().is_some_and(|text| text.ends_with('.')), "{rule}");
            }
            assert!(["error", "warning"].contains(&rule["defaultConfiguration"]["level"].as_str().unwrap()));
        }
    }
}
