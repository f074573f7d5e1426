//! Starting files for a new exercise, test, client or visit: sound as they stand, with a word on every line, and harmless
//! until somebody has made them their own.

use crate::ids::{ClientId, ExerciseId, Id, PhaseId, PositionId, StructureId, TestId};
use crate::library::Library;
use crate::library::exercise::{Exercise, Part};
use crate::library::planning::Felt;
use crate::library::vocabulary::{Method, State};
use crate::units::Unit;

use jiff::civil::Date;

/// A file to write: its path in the practice and its text.
pub type Blank = (String, String);

/// What is asked about a new exercise.
#[derive(Clone, Debug)]
pub struct NewExercise {
    /// Its id.
    pub id: ExerciseId,
    /// What the client reads as its name.
    pub title: String,
    /// When in a program it is done.
    pub phase: PhaseId,
    /// Whether it is done on one side at a time.
    pub one_side: bool,
    /// How the body is placed.
    pub position: PositionId,
    /// What it works on.
    pub structure: StructureId,
    /// What is amiss with that.
    pub state: State,
    /// How it works.
    pub method: Method,
}

/// What is asked about a new test.
#[derive(Clone, Debug)]
pub struct NewTest {
    /// Its id.
    pub id: TestId,
    /// What the client reads as its name.
    pub title: String,
    /// What its readings are in.
    pub unit: Unit,
    /// Whether each side is read.
    pub each_side: bool,
    /// What a poor reading points to.
    pub structure: StructureId,
    /// What is amiss with that.
    pub state: State,
}

/// What is asked about a new client.
#[derive(Clone, Debug)]
pub struct NewClient {
    /// The id; the name of the file.
    pub id: ClientId,
    /// Full name.
    pub name: String,
    /// The first goal, in the client's own words.
    pub goal: String,
    /// Minutes a day.
    pub minutes: u32,
    /// The day of the first visit.
    pub on: Date,
}

/// What is known about a visit before it begins.
#[derive(Clone, Debug)]
pub struct NewVisit {
    /// Whose.
    pub client: ClientId,
    /// Its day.
    pub on: Date,
    /// The readings of the visit before, as the record has them.
    pub readings: Vec<toml::Table>,
    /// What the client was given then.
    pub given: Vec<ExerciseId>,
}

/// Fills `{{gaps}}` of a template; what is filled in is never looked at again.
fn fill(template: &str, gaps: &[(&str, String)]) -> String {
    let mut text = String::new();
    let mut rest = template;
    while let Some((before, after)) = rest.split_once("<<") {
        let (gap, after) = after.split_once(">>").expect("every gap is closed");
        text.push_str(before);
        text.push_str(&gaps.iter().find(|(name, _)| *name == gap).expect("every gap is known").1);
        rest = after;
    }
    text + rest
}

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// The longest beginning of whole words that fits.
fn shortened(text: &str, most: usize) -> String {
    let mut short = String::new();
    for word in text.split_whitespace() {
        let room = most.saturating_sub(short.chars().count() + usize::from(!short.is_empty()));
        if word.chars().count() > room {
            if short.is_empty() {
                short = word.chars().take(most).collect();
            }
            break;
        }
        if !short.is_empty() {
            short.push(' ');
        }
        short.push_str(word);
    }
    // Nothing ends on a word that leads on.
    while let Some((before, _)) = short.rsplit_once(' ').filter(|(_, last)| LEADS_ON.contains(last)) {
        short.truncate(before.len());
    }
    short
}

const LEADS_ON: [&str; 14] = ["a", "an", "and", "at", "by", "for", "from", "in", "of", "on", "or", "the", "to", "with"];

fn method_key(method: Method) -> &'static str {
    Method::ALL.iter().find(|(_, known)| *known == method).expect("every method is listed").0
}

/// An exercise, and its pictures if its position has a base pose.
pub fn exercise(new: &NewExercise, library: &Library) -> Vec<Blank> {
    let vocabulary = &library.vocabulary;
    let structure = &vocabulary.structures[&new.structure];
    let region = &vocabulary.regions[&structure.region];
    let stance = Stance::of(new.position.as_str());
    let list = |items: &[&str]| format!("[{}]", items.iter().map(|it| quoted(it)).collect::<Vec<_>>().join(", "));
    let known = |items: &[&'static str], has: &dyn Fn(&str) -> bool| {
        list(&items.iter().copied().filter(|item| has(item)).collect::<Vec<_>>())
    };
    let (dose, source) = dose(new, library);
    let (tags, kit) = stance.as_ref().map_or((&[][..], &[][..]), |stance| (stance.tags, stance.kit));
    let bears = stance.as_ref().map_or(&[][..], |stance| stance.bears);
    let bears: String = bears
        .iter()
        .filter(|(region, _)| vocabulary.regions.contains_key(*region))
        .map(|(region, side)| format!("\n[[bears]]\nregion = \"{region}\"\nside = \"{side}\"\n"))
        .collect();
    let mut positions = vec![new.position.as_str()];
    for also in stance.iter().flat_map(|stance| stance.also) {
        if vocabulary.positions.contains_key(*also) && !positions.contains(also) {
            positions.push(also);
        }
    }
    let (sides, first) = if new.one_side {
        ("[\"left\", \"right\", \"each\"]", "<Move your {{ side }} side, as far as is easy.>")
    } else {
        ("[\"both\"]", "<Move as far as is easy.>")
    };
    let text = fill(
        include_str!("blank/exercise.toml"),
        &[
            ("id", new.id.to_string()),
            ("title", quoted(&new.title)),
            ("short", quoted(&shortened(&new.title, 13))),
            ("region", region.clone()),
            ("sides", sides.to_owned()),
            ("method", quoted(method_key(new.method))),
            ("regions", list(&[structure.region.as_str()])),
            ("positions", list(&positions)),
            ("tags", known(tags, &|tag| vocabulary.tags.keys().any(|known| known.as_str() == tag))),
            ("kit", known(kit, &|thing| vocabulary.equipment.keys().any(|known| known.as_str() == thing))),
            ("first", quoted(first)),
            ("dose", dose),
            ("source", quoted(&source)),
            ("bears", bears),
            ("structure", quoted(new.structure.as_str())),
            ("state", quoted(new.state.key())),
        ],
    );
    let mut files = vec![(format!("exercises/{}/{}.toml", new.phase, new.id), text)];
    if let Some(stance) = stance {
        files.push((format!("exercises/poses/{}.toml", new.id), stance.pictures(new.one_side)));
    }
    files
}

/// A dose range of the library's own for the same method, so that no figure is made up, and where it comes from.
fn dose(new: &NewExercise, library: &Library) -> (String, String) {
    let same = |exercise: &&Exercise| exercise.features.methods.iter().eq([&new.method]);
    let alike = library.exercises.values().filter(same);
    let Some(model) = alike.clone().find(|exercise| exercise.phase == new.phase).or_else(|| alike.clone().next())
    else {
        let dose = "sets = { min = 1, start = 1, max = 1 }\nreps = { min = 1, start = 1, max = 1 }\ndays = { min = 1, start = 1, max = 1 }";
        return (dose.to_owned(), "Not set yet".to_owned());
    };
    let range = model.rungs[0].dose;
    let mut lines: Vec<String> = Part::ALL
        .into_iter()
        .filter_map(|(part, key, ..)| {
            let span = range.part(part)?;
            Some(format!("{key} = {{ min = {}, start = {}, max = {} }}", span.min, span.start, span.max))
        })
        .collect();
    lines.push(format!("rep_s = {}", range.rep_s));
    lines.push(format!("effort = {{ start = {}, max = {} }}", range.effort.0, range.effort.1));
    (lines.join("\n"), shortened(&format!("As for {}: {}", model.id, model.source_dose), 200))
}

/// How a position is drawn to begin with.
struct Stance {
    base: &'static str,
    view: &'static str,
    props: &'static str,
    /// What the base pose is changed by to begin with.
    start: &'static str,
    /// What moves, for one side and for both.
    moves: [&'static str; 2],
    /// Other positions that the picture shows.
    also: &'static [&'static str],
    /// What the safety rules must know of it.
    tags: &'static [&'static str],
    kit: &'static [&'static str],
    bears: &'static [(&'static str, &'static str)],
    say: &'static str,
}

impl Stance {
    fn of(position: &str) -> Option<Self> {
        let mat = "{ kind = \"mat\" }";
        let arms = ["right.shoulder.flexion = 60", "both.shoulder.flexion = 60"];
        // A pose that rests its hands on something must let go of it first.
        let free = [
            "reach = [{ limb = \"both.foot\", to = \"floor\" }]\nright.shoulder.flexion = 60",
            "reach = [{ limb = \"both.foot\", to = \"floor\" }]\nboth.shoulder.flexion = 60",
        ];
        let kneeling = [
            "reach = [{ limb = \"left.foot\", to = \"floor\", at = [26] }]\nright.shoulder.flexion = 60",
            "reach = [{ limb = \"left.foot\", to = \"floor\", at = [26] }]\nboth.shoulder.flexion = 60",
        ];
        let none = Self {
            base: "standing",
            view: "\"right\"",
            props: "",
            start: "",
            moves: arms,
            also: &[],
            tags: &[],
            kit: &[],
            bears: &[],
            say: "Standing tall",
        };
        Some(match position {
            "standing" => Self { tags: &["free-standing"], ..none },
            "sitting" => Self {
                base: "seated",
                props: "{ kind = \"chair\" }",
                moves: free,
                kit: &["chair"],
                say: "Sitting tall on a chair",
                ..none
            },
            "supine" | "floor" => Self {
                base: "hook-lying",
                view: "[-78, 14]",
                props: mat,
                also: &["supine", "floor"],
                tags: &["lying-flat"],
                kit: &["mat"],
                say: "Lying on the back, knees bent",
                ..none
            },
            "prone" => Self {
                base: "prone",
                view: "[-72, 16]",
                props: mat,
                start: "both.ankle.dorsiflexion = -46\n",
                moves: ["right.knee.flexion = 60", "both.knee.flexion = 60"],
                also: &["floor"],
                kit: &["mat"],
                say: "Lying face down",
                ..none
            },
            "side-lying" => Self {
                base: "side-lying",
                view: "[-8, 42]",
                props: "{ kind = \"pillow\", under = \"head\", depth = 20, width = 24 }, { kind = \"mat\" }",
                moves: ["left.shoulder.flexion = 80", "left.shoulder.flexion = 80"],
                also: &["floor"],
                kit: &["mat", "pillow"],
                say: "Lying on the right side, head on a pillow, knees bent",
                ..none
            },
            "hands-and-knees" => Self {
                base: "quadruped",
                view: "[-72, 14]",
                props: mat,
                moves: ["both.hip.flexion = 90\nboth.knee.flexion = 96"; 2],
                also: &["floor"],
                tags: &["wrist-load", "knee-pressure"],
                kit: &["mat"],
                bears: &[("wrist", "both"), ("knee", "both")],
                say: "On hands and knees",
                ..none
            },
            "half-kneeling" => Self {
                base: "half-kneel",
                view: "[-64, 14]",
                props: mat,
                moves: kneeling,
                also: &["floor"],
                tags: &["knee-pressure"],
                kit: &["mat"],
                bears: &[("knee", "same")],
                say: "Kneeling on the right knee, left foot in front",
                ..none
            },
            _ => return None,
        })
    }

    fn pictures(&self, one_side: bool) -> String {
        fill(
            include_str!("blank/poses.toml"),
            &[
                ("authored", if one_side { "authored = \"right\"\n".to_owned() } else { String::new() }),
                ("view", self.view.to_owned()),
                ("props", self.props.to_owned()),
                ("base", self.base.to_owned()),
                ("say", self.say.to_owned()),
                ("start", self.start.to_owned()),
                ("moves", self.moves[usize::from(!one_side)].to_owned()),
            ],
        )
    }
}

/// A test.
pub fn test(new: &NewTest, library: &Library) -> Vec<Blank> {
    let structure = &library.vocabulary.structures[&new.structure];
    let grades = new.unit == Unit::Grade;
    let [whose, limited] = if new.each_side {
        [
            "each",
            "limited = \"You have room to do more on the {{ side }}\" # one side, at most 60 characters\nmeaning = \"Your {{ side }} side does less here than it could.\" # what that may mean, in plain words\n",
        ]
    } else {
        ["none", ""]
    };
    let (possible, scale, resolution) = match new.unit {
        Unit::Grade => ("{ min = 0, max = 2 }", "{ min = 0, max = 2, step = 1 }", "1"),
        Unit::Centimetre | Unit::Kilogram => ("{ min = 0, max = 100 }", "{ min = 0, max = 100, step = 25 }", "0.5"),
        Unit::Degree => ("{ min = 0, max = 180 }", "{ min = 0, max = 180, step = 45 }", "1"),
        Unit::Second | Unit::Count => ("{ min = 0, max = 60 }", "{ min = 0, max = 60, step = 15 }", "1"),
    };
    let text = fill(
        include_str!("blank/test.toml"),
        &[
            ("id", new.id.to_string()),
            ("title", quoted(&new.title)),
            ("unit", quoted(new.unit.key())),
            ("sides", quoted(whose)),
            ("resolution", resolution.to_owned()),
            ("possible", possible.to_owned()),
            ("scale", scale.to_owned()),
            ("regions", format!("[{}]", quoted(structure.region.as_str()))),
            ("structure", quoted(new.structure.as_str())),
            ("state", quoted(new.state.key())),
            ("limited", limited.to_owned()),
            (
                "grades",
                if grades {
                    "\n[grades]\nnames = [\"hardly\", \"in part\", \"well\"] # worst first\n".to_owned()
                } else {
                    String::new()
                },
            ),
        ],
    );
    vec![(format!("exercises/tests/{}.toml", new.id), text)]
}

/// A client.
pub fn client(new: &NewClient) -> Vec<Blank> {
    let text = fill(
        include_str!("blank/client.toml"),
        &[
            ("id", new.id.to_string()),
            ("name", quoted(&new.name)),
            ("goal", quoted(&new.goal)),
            ("minutes", new.minutes.to_string()),
            ("on", new.on.to_string()),
        ],
    );
    vec![(format!("clients/{}.toml", new.id), text)]
}

/// A further visit, to stand at the end of a record.
pub fn visit(new: &NewVisit) -> String {
    let line = |table: &toml::Table| {
        let mut keys: Vec<(&String, &toml::Value)> = table.iter().collect();
        keys.sort_by_key(|(key, _)| *key != "test");
        let keys: Vec<String> = keys.into_iter().map(|(key, value)| format!("{key} = {value}")).collect();
        format!("  # {{ {} }},\n", keys.join(", "))
    };
    let felt: Vec<&str> = Felt::ALL.iter().map(|(word, _)| *word).collect();
    let went = |id: &ExerciseId| {
        format!("#   {{ exercise = {}, days = 0, discomfort = 0, felt = \"right\" }},\n", quoted(id.as_str()))
    };
    let diary = match &new.given[..] {
        [] => String::new(),
        given => format!(
            "# From the client's diary: days done, worst discomfort of 10, how it felt ({}). Take the marks away.\n\
             # diary = [\n{}# ]\n",
            felt.join(", "),
            given.iter().map(went).collect::<String>()
        ),
    };
    fill(
        include_str!("blank/visit.toml"),
        &[
            ("id", new.client.to_string()),
            ("on", new.on.to_string()),
            ("diary", diary),
            ("readings", new.readings.iter().map(line).collect()),
        ],
    )
}

#[cfg(test)]
mod tests;
