//! The pose library: named poses, each built on another, read from TOML.

use std::collections::BTreeMap;
use std::ops::Range;

use toml::de::DeTable;

use crate::body::Side;
use crate::draw::motion::Posture;
use crate::draw::pose::{Adjust, End, Pose, PoseProblem, Reach, Rest, Target};
use crate::draw::read::{Reader, Value};
use crate::draw::skeleton::HandShape;

/// Poses by name, with every base worked in.
#[derive(Clone, Debug, Default)]
pub struct PoseLibrary {
    poses: BTreeMap<String, Pose>,
}

impl PoseLibrary {
    /// Reads a library file: one `[pose.name]` table for each pose.
    ///
    /// # Errors
    /// Everything that is wrong in the file, each with its bytes.
    pub fn parse(text: &str) -> Result<PoseLibrary, Vec<PoseProblem>> {
        let mut reader = Reader::default();
        let document = reader.document(text);
        let mut library = PoseLibrary::default();
        for (key, value) in document.iter() {
            match key.get_ref().as_ref() {
                "pose" => library.add(&mut reader, value),
                other => reader.unknown(key.span(), "table of a pose library", other, ["pose"]),
            }
        }
        if reader.problems.is_empty() { Ok(library) } else { Err(sorted(reader.problems)) }
    }
    /// The pose of this name.
    pub fn get(&self, name: &str) -> Option<&Pose> {
        self.poses.get(name)
    }
    /// Every name, in order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.poses.keys().map(String::as_str)
    }

    /// Adds the poses of one `pose` table; they may build on each other in any order.
    pub(crate) fn add(&mut self, reader: &mut Reader, poses: &Value) {
        let Some(table) = reader.table(poses) else {
            return;
        };
        let raw: BTreeMap<&str, &Value> = table.iter().map(|(key, value)| (key.get_ref().as_ref(), value)).collect();
        for name in raw.keys() {
            self.build(reader, &raw, name, &mut Vec::new());
        }
    }

    fn build<'a>(
        &mut self,
        reader: &mut Reader,
        raw: &BTreeMap<&'a str, &Value>,
        name: &'a str,
        chain: &mut Vec<&'a str>,
    ) {
        let Some((_, value)) = raw.get_key_value(name) else {
            return;
        };
        if chain.contains(&name) {
            reader.problem(value.span(), format!("pose `{name}` is built on itself"), None);
            return;
        }
        chain.push(name);
        let Some(table) = reader.table(value) else {
            return;
        };
        let mut pose = Pose::default();
        if let Some(base) = table.get("base")
            && let Some(base_name) = reader.text(base)
        {
            if let Some((own, _)) = raw.get_key_value(base_name)
                && *own != name
            {
                self.build(reader, raw, own, chain);
            }
            match self.poses.get(base_name) {
                Some(found) => pose = found.clone(),
                None if base_name == name => {
                    let help = "name another pose as its base, or take the line out";
                    reader.problem(base.span(), format!("pose `{name}` is built on itself"), Some(help.into()));
                }
                None => {
                    let known: Vec<&str> = self.poses.keys().map(String::as_str).chain(raw.keys().copied()).collect();
                    reader.unknown(base.span(), "pose", base_name, known);
                }
            }
        }
        apply(reader, &mut pose, table);
        self.poses.insert(name.to_owned(), pose);
        chain.pop();
    }
}

/// Problems in the order of the file, each once.
pub(crate) fn sorted(mut problems: Vec<PoseProblem>) -> Vec<PoseProblem> {
    problems.sort_by(|a, b| a.span.start.cmp(&b.span.start).then_with(|| a.message.cmp(&b.message)));
    problems.dedup();
    problems
}

pub(crate) const POSE_KEYS: [&str; 20] = [
    "base",
    "say",
    "posture",
    "rest",
    "lock",
    "free",
    "anchor",
    "anchor_at",
    "hold",
    "adjust",
    "reach",
    "left",
    "right",
    "both",
    "trunk",
    "lumbar",
    "thoracic",
    "neck",
    "head",
    "hand",
];
/// Ways in which the whole body turns.
pub(crate) const TRUNK_TURNS: [&str; 3] = ["lean", "tilt", "turn"];
pub(crate) const SHAPES: [(&str, HandShape); 4] =
    [("relaxed", HandShape::Relaxed), ("flat", HandShape::Flat), ("fist", HandShape::Fist), ("grip", HandShape::Grip)];

/// Lays the keys of one pose table over a pose.
pub(crate) fn apply(reader: &mut Reader, pose: &mut Pose, table: &DeTable) {
    // Named sides and regions win over the words that stand for several.
    for early in ["both", "trunk", "hand"] {
        if let Some((key, value)) = table.get_key_value(early) {
            angles(reader, pose, early, &key.span(), value);
        }
    }
    for (key, value) in table.iter() {
        let name = key.get_ref().as_ref();
        match name {
            "base" | "both" | "trunk" | "hand" => {}
            "say" => pose.say = reader.text(value).map(str::to_owned),
            "posture" => {
                if let Some(posture) = reader.choice(value, "posture", &Posture::NAMES) {
                    pose.posture = posture;
                }
            }
            "rest" => rests(reader, pose, value),
            "lock" => pose.locked = freedoms(reader, value),
            "free" => pose.freed = freedoms(reader, value),
            "anchor" => pose.anchor = reader.site(value),
            "anchor_at" => {
                let at = reader.coordinates(value);
                pose.anchor_at = at.map(|it| it.unwrap_or(0.0));
            }
            "hold" => {
                let held =
                    reader.choice(value, "part that can hold the posture", &[("chest", true), ("pelvis", false)]);
                pose.hold_chest = held.unwrap_or(false);
            }
            "adjust" => {
                let list = reader.list(value);
                pose.adjust = list.iter().filter_map(|it| adjust(reader, it)).collect();
            }
            "reach" => {
                let list = reader.list(value);
                pose.reach = list.iter().filter_map(|it| reach(reader, it)).collect();
            }
            "left" | "right" | "lumbar" | "thoracic" | "neck" | "head" | "lean" | "tilt" | "turn" => {
                angles(reader, pose, name, &key.span(), value)
            }
            other => reader.unknown(key.span(), "key of a pose", other, POSE_KEYS.into_iter().chain(TRUNK_TURNS)),
        }
    }
}

fn freedoms(reader: &mut Reader, value: &Value) -> Vec<String> {
    let names = TRUNK_TURNS.map(|name| (name, name));
    reader.list(value).iter().filter_map(|it| reader.choice(it, "way to turn", &names)).map(str::to_owned).collect()
}

/// Reads angles and hand shapes below a dotted name, whose last part stands at `at`.
fn angles(reader: &mut Reader, pose: &mut Pose, name: &str, at: &Range<usize>, value: &Value) {
    if let Some(table) = value.get_ref().as_table() {
        for (key, inner) in table.iter() {
            angles(reader, pose, &format!("{name}.{}", key.get_ref()), &key.span(), inner);
        }
        return;
    }
    if let Some(whose) = name.strip_suffix("hand.shape") {
        let Some(shape) = reader.choice(value, "hand shape", &SHAPES) else {
            return;
        };
        match whose {
            "left." => pose.hands[Side::Left.index()] = shape,
            "right." => pose.hands[Side::Right.index()] = shape,
            _ => pose.hands = [shape; 2],
        }
        return;
    }
    let joints = reader.joints(name, at.clone());
    if let Some(angle) = reader.number(value) {
        reader.in_range(&joints, angle, value.span());
        for (joint, share) in joints {
            pose.angles.insert(joint, share * angle);
        }
    }
}

/// Splits `site on surface`.
fn split_rest(reader: &mut Reader, text: &str, span: Range<usize>) -> Option<(String, String)> {
    let parts = text.split_once(" on ");
    if parts.is_none() {
        reader.problem(
            span,
            format!("`{text}` does not say what rests where"),
            Some("write `left.heel on floor`".into()),
        );
    }
    parts.map(|(site, surface)| (site.trim().to_owned(), surface.trim().to_owned()))
}

fn rests(reader: &mut Reader, pose: &mut Pose, value: &Value) {
    pose.rest.clear();
    pose.head_on = None;
    for item in reader.list(value) {
        let Some(text) = reader.text(item) else {
            continue;
        };
        let Some((site, surface)) = split_rest(reader, text, item.span()) else {
            continue;
        };
        if site == "head" {
            pose.head_on = Some(surface);
            continue;
        }
        // One lowest point over two buttocks would let the body roll; each is a support of its own.
        let site = if site == "seat" { "both.glute" } else { &site };
        for site in reader.sites(site, item.span()) {
            pose.rest.push(Rest { site, surface: surface.clone() });
        }
    }
}

fn adjust(reader: &mut Reader, value: &Value) -> Option<Adjust> {
    let table = reader.table(value)?;
    let (mut joints, mut until, mut range) = (Vec::new(), None, 40.0);
    for (key, inner) in table.iter() {
        match key.get_ref().as_ref() {
            "joint" => {
                let text = reader.text(inner)?;
                joints = reader.joints(text, inner.span());
            }
            "until" => {
                let text = reader.text(inner)?;
                let (site, surface) = split_rest(reader, text, inner.span())?;
                let site = reader.sites(&site, inner.span()).first().copied()?;
                until = Some(Rest { site, surface });
            }
            "range" => range = reader.number(inner)?,
            other => reader.unknown(key.span(), "key of `adjust`", other, ["joint", "until", "range"]),
        }
    }
    if until.is_none() || joints.is_empty() {
        reader.problem(value.span(), "`adjust` needs `joint` and `until`", None);
    }
    Some(Adjust { joints, until: until?, range })
}

pub(crate) const REACH_KEYS: [&str; 14] =
    ["limb", "to", "at", "from", "by", "side", "fingers", "palm", "bend", "toes", "clear", "heel", "lift", "turnout"];

fn reach(reader: &mut Reader, value: &Value) -> Option<Reach> {
    let table = reader.table(value)?;
    let mut limb = None;
    let mut reach = Reach {
        end: End::Hand,
        sides: Vec::new(),
        to: Target::Point,
        at: [None; 3],
        from: None,
        by: Vec::new(),
        side: None,
        fingers: None,
        palm: None,
        bend: None,
        toes: None,
        clear: 2.0,
        heel: 0.0,
        lift: 0.0,
        turnout: 0.0,
    };
    for (key, inner) in table.iter() {
        match key.get_ref().as_ref() {
            "limb" => limb = reader.choice(inner, "limb", &LIMBS),
            "to" => {
                let text = reader.text(inner)?;
                let is_site = text.contains('.') || crate::draw::sites::site_names().any(|row| row.0 == text);
                reach.to = if is_site {
                    Target::Site(reader.near_site(text, inner.span())?)
                } else {
                    Target::Surface(text.to_owned())
                };
            }
            "at" => reach.at = reader.coordinates(inner),
            "from" => {
                let text = reader.text(inner)?;
                reach.from = reader.near_site(text, inner.span());
            }
            "by" => {
                for (word, amount) in reader.table(inner)?.iter() {
                    if let (Some(word), Some(amount)) =
                        (reader.word(word.get_ref(), word.span()), reader.number(amount))
                    {
                        reach.by.push((word, amount));
                    }
                }
                reach.by.sort_by_key(|row| row.0);
            }
            "side" => reach.side = reader.direction(inner),
            "fingers" => reach.fingers = reader.direction(inner),
            "palm" => reach.palm = reader.direction(inner),
            "bend" => reach.bend = reader.direction(inner),
            "toes" => reach.toes = reader.direction(inner),
            "clear" => reach.clear = reader.number(inner)?,
            "heel" => reach.heel = reader.number(inner)?,
            "lift" => reach.lift = reader.number(inner)?,
            "turnout" => reach.turnout = reader.number(inner)?,
            other => reader.unknown(key.span(), "key of `reach`", other, REACH_KEYS),
        }
    }
    let Some((end, sides)) = limb else {
        reader.problem(value.span(), "`reach` needs a limb", Some("write `limb = \"left.hand\"`".into()));
        return None;
    };
    reach.end = end;
    reach.sides = sides.to_vec();
    Some(reach)
}

pub(crate) const LIMBS: [(&str, (End, &[Side])); 6] = [
    ("left.hand", (End::Hand, &[Side::Left])),
    ("right.hand", (End::Hand, &[Side::Right])),
    ("both.hand", (End::Hand, &Side::BOTH)),
    ("left.foot", (End::Foot, &[Side::Left])),
    ("right.foot", (End::Foot, &[Side::Right])),
    ("both.foot", (End::Foot, &Side::BOTH)),
];
