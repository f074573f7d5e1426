//! `layouts/brand.toml`.

use std::collections::{BTreeMap, BTreeSet};

use typst::foundations::Bytes;
use typst::text::Font;

use crate::brand::contrast::{Chosen, nearest, weakest};
use crate::brand::{Brand, Coach, Colour, Lines};
use crate::diag::{Problem, Rule, meant};
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

fn colour(value: &Value<'_>) -> Option<Colour> {
    let text = value.text(20)?;
    Colour::from_hex(&text.value).or_else(|| {
        value.refuse(
            Rule::BadValue,
            format!("`{}` is not a colour", text.value),
            "write six hex digits, such as \"#16242d\"",
        )
    })
}

/// Ink and accent, if everything that the pages make of them can be read.
fn colours(fields: &Fields<'_>) -> Option<(Colour, Colour)> {
    let need = |key: &str, example: &str| {
        let value = fields.get(key);
        if value.is_none() {
            let help = format!("add a line such as `{key} = \"{example}\"`: six hex digits, dark enough to read");
            fields.sink().report(Rule::MissingKey, fields.span(), format!("the brand has no `{key}`"), help);
        }
        value
    };
    let (ink_value, accent_value) = (need("ink", "#16242d"), need("accent", "#0b5a68"));
    let ink = ink_value.as_ref().and_then(colour);
    let accent = accent_value.as_ref().and_then(colour);
    let (ink_value, accent_value, ink, accent) = (ink_value?, accent_value?, ink?, accent?);
    let mut sound = Some((ink, accent));
    for (chosen, value, own) in [(Chosen::Ink, &ink_value, ink), (Chosen::Accent, &accent_value, accent)] {
        let Some(weak) = weakest(chosen, ink, accent) else { continue };
        let near = nearest(chosen, ink, accent).to_hex();
        sound = value.refuse(
            Rule::WeakContrast,
            format!(
                "with {} the contrast of {} is {:.1} to 1, but to be read with ease it needs {} to 1",
                own.to_hex(),
                weak.what,
                // Rounded down, so that what falls short never looks as if it did not.
                (weak.ratio * 10.0).floor() / 10.0,
                weak.least
            ),
            format!("the nearest darker shade that passes is {near}"),
        );
    }
    sound
}

/// A language code such as `en`.
pub fn language_code(value: &Value<'_>) -> Option<String> {
    let text = value.text(8)?.value;
    if (2..=3).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_lowercase()) {
        return Some(text);
    }
    value.refuse(Rule::BadValue, "a language is two or three small letters", "write a code such as \"en\"")
}

/// A region code such as `GB`, if there is one.
pub fn region(fields: &Fields<'_>) -> Option<String> {
    let value = fields.get("region")?;
    let text = value.text(8)?.value;
    if text.len() == 2 && text.bytes().all(|b| b.is_ascii_uppercase()) {
        return Some(text);
    }
    value.refuse(Rule::BadValue, "a region is two capital letters", "write a code such as \"GB\"")
}

/// Reads the brand; `fonts` are the files of `layouts/fonts`.
pub fn read(fields: &Fields<'_>, fonts: &BTreeMap<String, Vec<u8>>) -> Option<Brand> {
    let name = fields.need("name").and_then(|v| v.text(50));
    let logo = fields.get("logo").and_then(|v| v.text(60)).map(|at| at.value);
    let logo_alt = fields.get("logo_alt").and_then(|v| v.text(120)).map(|at| at.value);
    let colours = colours(fields);
    let typefaces = typefaces(fields, fonts);
    let language = fields.need("language").and_then(|v| language_code(&v));
    let written_in = fields.get("written_in").and_then(|v| language_code(&v));
    let languages: Vec<String> =
        fields.get("languages").and_then(|v| v.list()).unwrap_or_default().iter().filter_map(language_code).collect();
    let region = region(fields);
    let (wishes, units) = print(fields);
    let lines = read_lines(fields);
    let (mut coaches, mut broken) = (BTreeMap::new(), BTreeSet::new());
    if let Some(table) = fields.need("coaches").and_then(|v| v.table()) {
        for (key, value) in table.entries() {
            match CoachId::new(&key.value) {
                Ok(id) => match value.table().and_then(|fields| read_coach(&fields)) {
                    Some(coach) => {
                        coaches.insert(id, coach);
                    }
                    None => {
                        broken.insert(id);
                    }
                },
                Err(bad) => fields.sink().report(Rule::BadId, key.span, bad.to_string(), "use a name like `maren`"),
            }
        }
    }
    let usual = fields.need("coach").and_then(|v| v.id::<CoachId>());
    // What is wrong with a coach has been told; that there is none would mislead.
    let usual = usual.filter(|id| !broken.contains(&id.value));
    let coach = usual.and_then(|id| super::known_id(fields.sink(), &id, coaches.keys()));
    if let (Some(language), false) = (&language, languages.is_empty())
        && !languages.contains(language)
    {
        fields.sink().report(
            Rule::BadValue,
            fields.get("languages").map_or(0..0, |v| v.span),
            format!("`languages` does not hold `{language}`, which clients get who choose none"),
            "add it to the list",
        );
    }
    if let (Some(_), None) = (&logo, &logo_alt) {
        fields.sink().report(
            Rule::MissingKey,
            0..0,
            "the logo has no `logo_alt`",
            "add what the logo shows, for those who cannot see it",
        );
    }
    let (ink, accent) = colours?;
    Some(Brand {
        name: name?.value,
        logo,
        logo_alt: logo_alt.unwrap_or_default(),
        ink,
        accent,
        typefaces,
        languages: if languages.is_empty() { vec![language.clone()?] } else { languages },
        written_in: written_in.or_else(|| language.clone())?,
        language: language?,
        region,
        units: units.unwrap_or(System::Metric),
        wishes,
        lines,
        coaches,
        coach: coach?,
    })
}

/// Typefaces of the practice's own, each of them among its font files.
fn typefaces(fields: &Fields<'_>, fonts: &BTreeMap<String, Vec<u8>>) -> Vec<String> {
    let wanted = fields.texts("typefaces", 60);
    if wanted.is_empty() {
        return Vec::new(); // fonts are not read for nothing
    }
    let there: BTreeSet<String> = fonts
        .values()
        .flat_map(|bytes| Font::iter(Bytes::new(bytes.clone())))
        .map(|font| font.info().family.clone())
        .collect();
    // A practice without any font at all is told so once, by the typesetter.
    let known = |name: &str| there.is_empty() || there.contains(name);
    let (found, missing): (Vec<_>, Vec<_>) = wanted.into_iter().partition(|name| known(&name.value));
    for name in missing {
        let help = meant(&name.value, there.iter().map(String::as_str), || {
            let names: Vec<&str> = there.iter().map(String::as_str).collect();
            format!("put its font files into layouts/fonts; there are: {}", names.join(", "))
        });
        let message = format!("no font in layouts/fonts is called `{}`", name.value);
        fields.sink().report(Rule::UnknownName, name.span, message, help);
    }
    found.into_iter().map(|name| name.value).collect()
}

/// Standing lines, of the practice or of one coach.
fn read_lines(fields: &Fields<'_>) -> Lines {
    let line = |key: &str, limit: usize| fields.get(key).and_then(|v| v.text(limit)).map(|at| at.value);
    let whom = |key: &str, limit: usize| {
        let value = fields.get(key)?;
        let line = value.text(limit)?.value;
        whom_alone(key, &value, line)
    };
    Lines {
        emergency_line: whom("emergency_line", 40),
        out_of_hours: whom("out_of_hours", 80),
        scope_note: line("scope_note", 300),
        privacy_line: line("privacy_line", 300),
        address: line("address", 90),
    }
}

/// A line of whom to call, refused if it is a sentence of its own.
pub(super) fn whom_alone(key: &str, value: &Value<'_>, line: String) -> Option<String> {
    if !is_sentence(&line) {
        return Some(line);
    }
    let message = format!("`{key}` is a sentence, but it goes into one: “... call {line} ...”");
    let help = "write only whom to call, such as \"112\" or \"the night nurse, 01632 960 155\"";
    value.refuse(Rule::BadValue, message, help)
}

/// Whether what should be whom to call is a whole sentence.
fn is_sentence(line: &str) -> bool {
    const ORDERS: [&str; 8] = ["call", "dial", "ring", "phone", "llame", "llama", "marque", "marca"];
    let first = line.split_whitespace().next().unwrap_or_default().to_lowercase();
    line.ends_with(['.', '!', '?']) || ORDERS.contains(&first.as_str())
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
