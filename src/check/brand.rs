//! `layouts/brand.toml`.

use std::collections::BTreeMap;

use crate::brand::{ACCENT_CONTRAST, Brand, Coach, Colour, INK_CONTRAST, Lines};
use crate::diag::{Problem, Rule};
use crate::fields::{Fields, Value};
use crate::ids::{CoachId, Id};
use crate::print::{Ink, Paper, Type, Wishes};
use crate::units::System;

use super::picture::{self, Picture};

/// The words for unit systems in files.
const SYSTEMS: [(&str, System); 2] = [("metric", System::Metric), ("imperial", System::Imperial)];

/// Reads the table `print`: `paper`, `type`, `ink` and `units`, each of which may be left out.
pub fn print(fields: &Fields<'_>) -> (Wishes, Option<System>) {
    let Some(fields) = fields.get("print").and_then(|value| value.table()) else {
        return (Wishes::default(), None);
    };
    let units = fields.get("units").and_then(|v| v.one_of(&SYSTEMS));
    let wishes = Wishes {
        paper: fields.get("paper").and_then(|v| v.one_of(&Paper::ALL)),
        type_size: fields.get("type").and_then(|v| v.one_of(&Type::ALL)),
        ink: fields.get("ink").and_then(|v| v.one_of(&Ink::ALL)),
    };
    fields.done();
    (wishes, units)
}

fn colour(value: &Value<'_>, least: f64) -> Option<Colour> {
    let text = value.text(20)?;
    let Some(colour) = Colour::from_hex(&text.value) else {
        return value.refuse(
            Rule::BadValue,
            format!("`{}` is not a colour", text.value),
            "write six hex digits, such as \"#16242d\"",
        );
    };
    let ratio = colour.contrast(Colour::WHITE);
    if ratio < least {
        let near = colour.darkened_to(least).to_hex();
        return value.refuse(
            Rule::WeakContrast,
            format!(
                "{} has a contrast of {ratio:.1} to 1 on white, but needs {least} to 1 to be read with ease",
                text.value
            ),
            format!("the nearest darker shade that passes is {near}"),
        );
    }
    Some(colour)
}

pub fn read(fields: &Fields<'_>) -> Option<Brand> {
    let name = fields.need("name").and_then(|v| v.text(50));
    let logo = fields.get("logo").and_then(|v| v.text(60)).map(|at| at.value);
    let logo_alt = fields.get("logo_alt").and_then(|v| v.text(120)).map(|at| at.value);
    let ink = fields.need("ink").and_then(|v| colour(&v, INK_CONTRAST));
    let accent = fields.need("accent").and_then(|v| colour(&v, ACCENT_CONTRAST));
    let language = fields.need("language").and_then(|v| {
        let at = v.text(8)?;
        let plain = (2..=3).contains(&at.value.len()) && at.value.bytes().all(|b| b.is_ascii_lowercase());
        if plain {
            Some(at)
        } else {
            v.refuse(Rule::BadValue, "a language is two or three small letters", "write a code such as \"en\"")
        }
    });
    let region = fields.get("region").and_then(|v| {
        let at = v.text(8)?;
        let plain = at.value.len() == 2 && at.value.bytes().all(|b| b.is_ascii_uppercase());
        if plain {
            Some(at.value)
        } else {
            v.refuse(Rule::BadValue, "a region is two capital letters", "write a code such as \"GB\"")
        }
    });
    let (wishes, units) = print(fields);
    let lines = read_lines(fields);
    let mut coaches = BTreeMap::new();
    if let Some(table) = fields.need("coaches").and_then(|v| v.table()) {
        for (key, value) in table.entries() {
            match CoachId::new(&key.value) {
                Ok(id) => {
                    if let Some(coach) = value.table().and_then(|fields| read_coach(&fields)) {
                        coaches.insert(id, coach);
                    }
                }
                Err(bad) => fields.sink().report(Rule::BadId, key.span, bad.to_string(), "use a name like `maren`"),
            }
        }
    }
    let usual = fields.need("coach").and_then(|v| v.id::<CoachId>());
    let coach = usual.and_then(|id| super::known_id(fields.sink(), &id, coaches.keys()));
    if let (Some(_), None) = (&logo, &logo_alt) {
        fields.sink().report(
            Rule::MissingKey,
            0..0,
            "the logo has no `logo_alt`",
            "add what the logo shows, for those who cannot see it",
        );
    }
    Some(Brand {
        name: name?.value,
        logo,
        logo_alt: logo_alt.unwrap_or_default(),
        ink: ink?,
        accent: accent?,
        language: language?.value,
        region,
        units: units.unwrap_or(System::Metric),
        wishes,
        lines,
        coaches,
        coach: coach?,
    })
}

/// Standing lines, of the practice or of one coach.
fn read_lines(fields: &Fields<'_>) -> Lines {
    let line = |key: &str, limit: usize| fields.get(key).and_then(|v| v.text(limit)).map(|at| at.value);
    Lines {
        emergency_line: line("emergency_line", 40),
        out_of_hours: line("out_of_hours", 80),
        scope_note: line("scope_note", 300),
        privacy_line: line("privacy_line", 300),
    }
}

fn read_coach(fields: &Fields<'_>) -> Option<Coach> {
    let text = |key: &str, limit: usize| fields.need(key).and_then(|v| v.text(limit)).map(|at| at.value);
    let (name, role, phone, hours) = (text("name", 40), text("role", 40), text("phone", 30), text("hours", 60));
    let call = text("call", 20);
    let email = fields.get("email").and_then(|v| {
        let at = v.text(60)?;
        let looks_right = at.value.split_once('@').is_some_and(|(user, host)| {
            !user.is_empty() && host.contains('.') && !at.value.contains([' ', '<', '>', '"'])
        });
        if looks_right {
            Some(at.value)
        } else {
            v.refuse(
                Rule::BadValue,
                format!("`{}` is not a mail address", at.value),
                "correct it, or take the line out",
            )
        }
    });
    let lines = read_lines(fields);
    fields.done();
    Some(Coach { name: name?, call: call?, role: role?, phone: phone?, email, hours: hours?, lines })
}

/// The logo, checked like any picture.
pub fn logo(brand: &Brand, files: &BTreeMap<String, Vec<u8>>, problems: &mut Vec<Problem>) -> Option<Picture> {
    let name = brand.logo.as_ref()?;
    match files.get(name) {
        Some(bytes) => picture::check(name, bytes, "layouts", problems),
        None => {
            problems.push(
                Problem::about(
                    Rule::BadPicture,
                    format!("layouts/{name}"),
                    "the brand's logo is not there, so sheets are printed without it",
                )
                .help("add the SVG or PNG file, or take `logo` out of layouts/brand.toml"),
            );
            None
        }
    }
}
