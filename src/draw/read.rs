//! Reading spanned TOML: every step that finds something wrong records it and carries on.

use std::collections::BTreeSet;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::body::Side;
use crate::draw::motion::{Joint, MOTIONS, Motion};
use crate::draw::pose::{Direction, NearSite, PoseProblem, Word};
use crate::draw::sites::{Site, site_names};
use crate::draw::vector::V3;

/// A value with the bytes it came from.
pub(crate) type Value<'i> = Spanned<DeValue<'i>>;

/// Collects problems while values are read.
#[derive(Debug, Default)]
pub(crate) struct Reader {
    pub problems: Vec<PoseProblem>,
    /// Joint motions that some frame allows to leave their range.
    pub allowed: BTreeSet<String>,
}

/// The known name with the fewest changed letters, if it is close enough to be a slip.
pub(crate) fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        let d = distance(name, candidate);
        if d <= name.len().max(candidate.len()) / 2 && best.is_none_or(|(least, _)| d < least) {
            best = Some((d, candidate));
        }
    }
    best.map(|(_, name)| name)
}

fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = corner + usize::from(ca != *cb);
            corner = row[j + 1];
            row[j + 1] = change.min(corner + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

impl Reader {
    /// Records a problem.
    pub fn problem(&mut self, span: Range<usize>, message: impl Into<String>, help: Option<String>) {
        self.problems.push(PoseProblem { span, message: message.into(), help });
    }
    /// Records an angle that no joint has; of two sides or parts one message is enough.
    pub fn in_range(&mut self, joints: &[(Joint, f64)], angle: f64, span: Range<usize>) {
        let beyond = |(joint, share): &&(Joint, f64)| {
            let [least, most] = joint.motion.range();
            !(least..=most).contains(&(share * angle)) && !self.allowed.contains(&joint.name())
        };
        if let Some((joint, share)) = joints.iter().find(beyond) {
            let ([least, most], name) = (joint.motion.range().map(|it| (it / share).trunc()), joint.motion.name());
            let message = format!("an angle of {angle} degrees, but `{name}` goes from {least} to {most}");
            self.problem(span, message, Some("write an angle that a body has; look with `kinleaf draw`".to_owned()));
        }
    }
    /// Records an unknown name, with the nearest known one or all of them as help.
    pub fn unknown<'a>(
        &mut self,
        span: Range<usize>,
        what: &str,
        name: &str,
        known: impl IntoIterator<Item = &'a str>,
    ) {
        let known: Vec<&str> = known.into_iter().collect();
        let help = match nearest(name, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("known: {}", known.join(", ")),
        };
        self.problem(span, format!("no {what} is called `{name}`"), Some(help));
    }
    fn wrong_type(&mut self, value: &Value, wanted: &str) {
        let found = value.get_ref().type_str();
        self.problem(value.span(), format!("found {found} where {wanted} belongs"), None);
    }

    /// The whole file as a table; empty if it is no TOML.
    pub fn document<'i>(&mut self, text: &'i str) -> DeTable<'i> {
        match DeTable::parse(text) {
            Ok(table) => table.into_inner(),
            Err(error) => {
                self.problem(error.span().unwrap_or(0..text.len()), error.message(), None);
                DeTable::new()
            }
        }
    }
    /// A finite number of moderate size.
    pub fn number(&mut self, value: &Value) -> Option<f64> {
        let parsed = match value.get_ref() {
            DeValue::Integer(it) if it.radix() == 10 => it.as_str().parse::<f64>().ok(),
            DeValue::Float(it) => it.as_str().parse::<f64>().ok(),
            _ => None,
        };
        let number = parsed.filter(|it| it.is_finite() && it.abs() < 1e4);
        if number.is_none() {
            self.wrong_type(value, "a number between -10000 and 10000");
        }
        number
    }
    /// Text.
    pub fn text<'a>(&mut self, value: &'a Value) -> Option<&'a str> {
        let text = value.get_ref().as_str();
        if text.is_none() {
            self.wrong_type(value, "text");
        }
        text
    }
    /// True or false; false if it is neither.
    pub fn flag(&mut self, value: &Value) -> bool {
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            self.wrong_type(value, "true or false");
        }
        flag.unwrap_or(false)
    }
    /// A list; empty if it is none.
    pub fn list<'a, 'i>(&mut self, value: &'a Value<'i>) -> &'a [Value<'i>] {
        match value.get_ref().as_array() {
            Some(list) => list,
            None => {
                self.wrong_type(value, "a list");
                &[]
            }
        }
    }
    /// A table.
    pub fn table<'a, 'i>(&mut self, value: &'a Value<'i>) -> Option<&'a DeTable<'i>> {
        let table = value.get_ref().as_table();
        if table.is_none() {
            self.wrong_type(value, "a table");
        }
        table
    }
    /// A list of exactly `N` numbers.
    pub fn numbers<const N: usize>(&mut self, value: &Value) -> Option<[f64; N]> {
        let list = self.list(value);
        let numbers: Vec<f64> = list.iter().filter_map(|it| self.number(it)).collect();
        let found = <[f64; N]>::try_from(numbers).ok();
        if found.is_none() {
            self.problem(value.span(), format!("this list must hold {N} numbers"), None);
        }
        found
    }
    /// Coordinates; `"keep"` or a missing one leaves that direction alone.
    pub fn coordinates(&mut self, value: &Value) -> [Option<f64>; 3] {
        let mut out = [None; 3];
        let list = self.list(value);
        if list.len() > 3 {
            self.problem(value.span(), "a place has at most three coordinates", None);
        }
        for (slot, item) in out.iter_mut().zip(list) {
            if item.get_ref().as_str() != Some("keep") {
                *slot = self.number(item);
            }
        }
        out
    }
    /// One of the named values.
    pub fn choice<T: Copy>(&mut self, value: &Value, what: &str, names: &[(&str, T)]) -> Option<T> {
        let text = self.text(value)?;
        let found = names.iter().find(|row| row.0 == text).map(|row| row.1);
        if found.is_none() {
            self.unknown(value.span(), what, text, names.iter().map(|row| row.0));
        }
        found
    }

    /// A direction word.
    pub fn word(&mut self, text: &str, span: Range<usize>) -> Option<Word> {
        let found = Word::NAMES.iter().find(|row| row.0 == text).map(|row| row.1);
        if found.is_none() {
            self.unknown(span, "direction", text, Word::NAMES.iter().map(|row| row.0));
        }
        found
    }
    /// Direction words joined with `+`, or a vector.
    pub fn direction(&mut self, value: &Value) -> Option<Direction> {
        if value.get_ref().is_array() {
            return self.numbers(value).map(|it| Direction::Vector(V3(it)));
        }
        let text = self.text(value)?;
        let words = text.split('+').filter_map(|word| self.word(word.trim(), value.span())).collect();
        Some(Direction::Words(words))
    }

    /// The sites a name stands for: `both.heel` is two of them, and so is `seat`.
    pub fn sites(&mut self, text: &str, span: Range<usize>) -> Vec<Site> {
        if let Some(name) = text.strip_prefix("both.") {
            return Side::BOTH
                .iter()
                .filter_map(|side| self.sided_site(name, Some(*side), text, span.clone()))
                .collect();
        }
        let (side, name) = split_side(text);
        self.sided_site(name, side, text, span).into_iter().collect()
    }
    fn sided_site(&mut self, name: &str, side: Option<Side>, whole: &str, span: Range<usize>) -> Option<Site> {
        match site_names().find(|row| row.0 == name) {
            Some((name, sided)) if sided == side.is_some() => Some(Site { name, side }),
            Some((_, true)) => {
                self.problem(span, format!("`{whole}` needs a side"), Some(format!("write `left.{name}`")));
                None
            }
            Some((_, false)) => {
                self.problem(span, format!("`{name}` has no sides"), Some(format!("write `{name}`")));
                None
            }
            None => {
                self.unknown(span, "place on the body", name, site_names().map(|row| row.0));
                None
            }
        }
    }
    /// A place on the body; the first of two.
    pub fn site(&mut self, value: &Value) -> Option<Site> {
        let text = self.text(value)?;
        self.sites(text, value.span()).first().copied()
    }
    /// A place on the body, which may be told from the limb: `same.thigh`.
    pub fn near_site(&mut self, text: &str, span: Range<usize>) -> Option<NearSite> {
        for (prefix, other) in [("same.", false), ("other.", true)] {
            if let Some(name) = text.strip_prefix(prefix) {
                let site = self.sided_site(name, Some(Side::Left), text, span)?;
                return Some(if other { NearSite::Other(site.name) } else { NearSite::Same(site.name) });
            }
        }
        self.sites(text, span).first().map(|site| NearSite::Fixed(*site))
    }
    /// The joints a name stands for, with the share of the angle that each takes.
    pub fn joints(&mut self, text: &str, span: Range<usize>) -> Vec<(Joint, f64)> {
        if let Some(motion) = text.strip_prefix("trunk.") {
            let row = TRUNK.iter().find(|row| row.0 == motion);
            if row.is_none() {
                self.unknown(span, "motion of the trunk", motion, TRUNK.iter().map(|row| row.0));
            }
            return row.map_or(Vec::new(), |(_, parts)| {
                parts.iter().map(|(motion, share)| (Joint::new(*motion, None), *share)).collect()
            });
        }
        let (sides, name): (Vec<Option<Side>>, &str) = match text.strip_prefix("both.") {
            Some(name) => (Side::BOTH.map(Some).to_vec(), name),
            None => {
                let (side, name) = split_side(text);
                (vec![side], name)
            }
        };
        match MOTIONS.iter().find(|row| row.1 == name) {
            Some((motion, _, sided, _)) if *sided == sides[0].is_some() => {
                sides.into_iter().map(|side| (Joint::new(*motion, side), 1.0)).collect()
            }
            Some((_, _, true, _)) => {
                self.problem(span, format!("`{name}` needs a side"), Some(format!("write `both.{name}`")));
                Vec::new()
            }
            _ => {
                self.unknown(span, "joint motion", name, MOTIONS.iter().map(|row| row.1));
                Vec::new()
            }
        }
    }
}

type Shares = [(Motion, f64); 2];

/// How the trunk shares its motion out between the loins and the rib cage.
pub(crate) const TRUNK: [(&str, Shares); 3] = [
    ("flexion", [(Motion::LumbarFlexion, 0.55), (Motion::ThoracicFlexion, 0.45)]),
    ("side", [(Motion::LumbarSide, 0.45), (Motion::ThoracicSide, 0.55)]),
    ("rotation", [(Motion::LumbarRotation, 0.2), (Motion::ThoracicRotation, 0.8)]),
];

fn split_side(text: &str) -> (Option<Side>, &str) {
    for side in Side::BOTH {
        if let Some(name) = text.strip_prefix(side.key()).and_then(|rest| rest.strip_prefix('.')) {
            return (Some(side), name);
        }
    }
    (None, text)
}
