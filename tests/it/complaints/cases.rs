//! What to break, and a piece of what must be said then.

use std::fs;

use kinleaf::pipeline::Which;

use super::{ANA, Small, Through};

/// In a file, the first of one text is replaced by another.
pub const EDITS: &[(&str, &str, &str, &str)] = &[
    // Reading of every kind of file.
    (CLIENT, "name = \"Ana Silva\"", "name = \"Ana Silva", "this is not TOML"),
    (CLIENT, "minutes_a_day = 20", "minutes_per_day = 20", "has no `minutes_a_day`"),
    (CLIENT, "minutes_a_day", "zebra = 1\nminutes_a_day", "may have:"),
    (CLIENT, "minutes_a_day", "minute_a_day = 1\nminutes_a_day", "did you mean `minutes_a_day`?"),
    (CLIENT, "\"Ana Silva\"", "7", "a text in quotes"),
    (CLIENT, "\"Ana Silva\"", "\"  \"", "`name` is empty"),
    (CLIENT, "\"Ana Silva\"", "\"Ana\\u0007\"", "control character U+0007"),
    (CLIENT, "\"Ana Silva\"", LONG, "but at most 80 fit"),
    (CLIENT, "side = \"right\"", "side = 3", "a word in quotes"),
    (CLIENT, "side = \"right\"", "side = \"rihgt\"", "did you mean `right`? "),
    (CLIENT, "exercise = \"knee-to-wall\"", "exercise = 3", "the name of one exercise in quotes"),
    (CLIENT, "exercise = \"knee-to-wall\"", "exercise = \"Knee to wall\"", "use a name like `knee-to-wall`"),
    (CLIENT, "minutes_a_day = 20", "minutes_a_day = 20.5", "a whole number"),
    (CLIENT, "minutes_a_day = 20", "minutes_a_day = 500", "must lie between 1 and 120"),
    (CLIENT, "right = 6", "right = true", "a number, or a number with its unit in quotes"),
    (CLIENT, "on = 2026-11-20", "on = \"2026-11-20\"", "a date like 2026-11-24, without quotes"),
    (CLIENT, "on = 2026-11-20", "on = 2026-11-20\nnext = \"soon\"", "a date and time like"),
    (CLIENT, "goals = [\"Climb the stairs with ease.\"]", "goals = \"Climb\"", "a list in square brackets"),
    (CLIENT, "screening = { yes = [] }", "screening = 3", "must be a table"),
    (EXERCISE, "effect = 0.55", "effect = \"much\"", "a number"),
    (EXERCISE, "effect = 0.55", "effect = 7", "must be a number between 0 and 1"),
    (TEST, "min = 0", "min = nan", "must be a number between"),
    (VOCABULARY, "sided = false", "sided = \"no\"", "true or false"),
    (WORDS, "weekdays_two = [", "weekdays_two = [\"Xx\", ", "must have 7"),
    // The brand.
    (BRAND, "ink = \"#16242d\"", "ink = \"dark\"", "write six hex digits"),
    (BRAND, "ink = \"#16242d\"", "ink = \"16242d\"", "is not a colour"),
    (BRAND, "accent = \"#0b5a68\"", "accent = \"#ffd400\"", "but needs 7 to 1 to be read with ease"),
    (BRAND, "accent = \"#0b5a68\"", "accent = \"#ffd400\"", "the nearest darker shade that passes is"),
    (BRAND, "language = \"en\"", "language = \"EN\"", "a language is two or three small letters"),
    (BRAND, "language = \"en\"", "language = \"fr\"", "the brand's language has no standing texts"),
    (BRAND, "region = \"GB\"", "region = \"gb\"", "a region is two capital letters"),
    (BRAND, "[coaches.tomas]", "[coaches.\"Tomas!\"]", "use a name like `maren`"),
    (BRAND, "logo_alt", "# logo_alt", "the logo has no `logo_alt`"),
    (BRAND, "maren@ternandtide.example", "maren at home", "is not a mail address"),
    (BRAND, "logo = \"logo.svg\"", "logo = \"lego.svg\"", "the brand's logo is not there"),
    (BRAND, "coach = \"maren\"", "coach = \"mara\"", "there is no coach `mara`"),
    // The record.
    (CLIENT, "born = 1980-05-04", "born = 2030-05-04", "nobody here was born on"),
    (CLIENT, "[\"Climb the stairs with ease.\"]", "[]", "there are 0 goals"),
    (CLIENT, "minutes_a_day", "days = []\nminutes_a_day", "the client has no day at all"),
    (CLIENT, "[[visits]]", "[[visits]]\non = 2026-11-20\n[[visits]]", "two visits are dated"),
    (CLIENT, "on = 2026-11-20", "on = 2026-11-26", "which is after 2026-11-25"),
    (CLIENT, "[[visits]]", OVERRIDE, "which no coach can set aside"),
    (CLIENT, "[[visits]]", "[[referrals]]\nclosed = 2027-01-01\n[[visits]]", "the answer to a referral"),
    (CLIENT, "[[visits]]", REFERRAL, "is before the referral on"),
    (CLIENT, "on = 2026-11-20", "on = 2026-11-20\nstart = 2026-11-19", "is before the visit on"),
    (CLIENT, "right = 6 }", "right = 6 }, { test = \"knee-to-wall\", left = 9 }", "is read twice at one visit"),
    (CLIENT, "program", "bans = []\nprogram", "pins and bans are for a program that the tool chooses"),
    (
        CLIENT,
        "side = \"right\" }",
        "side = \"right\" }, { exercise = \"knee-to-wall\", side = \"each\" }",
        "stands twice",
    ),
    (CLIENT, "yes = []", "yes = [], blood_pressure = \"high\"", "is not a blood pressure"),
    (CLIENT, "right = 6", "right = \"six\"", "write a number, in cm"),
    (CLIENT, "right = 6", "right = \"3 deg\"", "is read in cm"),
    (CLIENT, "right = 6", "right = 99999999999999999", "correct the number"),
    (CLIENT, "right = 6", "right = 400", "cannot be right for `knee-to-wall`: it lies between"),
    (CLIENT, "side = \"right\"", "side = \"both\"", "is not done on the side `both`"),
    (CLIENT, "side = \"right\"", "side = \"right\", dose = { lower_s = 3 }", "in its dose"),
    (CLIENT, "side = \"right\"", "side = \"right\", dose = { reps = 99 }", "but this rung of"),
    (CLIENT, "loves = [\"rowing\"]", "loves = [\"rowing\", \"flying\"]", "known: "),
    (TEST, "structure = \"calf\"", "structure = \"calve\"", "has an error of its own"),
    (TEST, "structure = \"calf\"", "structure = \"zzzzzzzz\"", "look for it in the library, or add it there"),
    // Exercises.
    (EXERCISE, "feel = \"A mild", "feel = \"{{ sid }} A mild", "side, other_side, goal, tool, coach, own(...)"),
    (SQUAT, "feel = \"Work", "feel = \"{{ side }} Work", "there is no side here"),
    (EXERCISE, "feel = \"", ENDLESS, "a text may name:"),
    (EXERCISE, "sides = [\"left\", \"right\", \"each\"]", "sides = []", "the exercise has no sides"),
    (EXERCISE, "steps = [", "step = [", "the exercise has 0 usable steps"),
    (
        EXERCISE,
        "[[effects]]",
        "[[pictures]]\nfile = \"a.svg\"\nalt = \"A.\"\n[[effects]]",
        "there is no usable picture",
    ),
    (EXERCISE, EFFECTS, "", "the exercise acts on nothing"),
    (EXERCISE, RUNGS, "", "the exercise has 1 rungs"),
    (EXERCISE, "min = 1, start = 2", "min = 2, start = 1", "must rise from min over start to max"),
    (EXERCISE, "reps = { min = 6, start = 8, max = 10 }\nhold_s", "hold", "the dose has neither `reps` nor `hold_s`"),
    (EXERCISE, "effort = { start = 3, max = 4 }", "effort = { start = 5, max = 4 }", "effort starts above its most"),
    // Tests.
    (TEST, "low = 9\nhigh = 13\n", "", "a usual range has neither `low` nor `high`"),
    (TEST, "low = 9", "low = 19", "`low` is above `high`"),
    (TEST, "possible = { min = 0, max = 25 }", "possible = { min = 25, max = 0 }", "must rise from min to max"),
    (TEST, "step = 4", "step = 5", "`scale` must go from min to max in whole steps"),
    (TEST, "  \"Lay the tape measure", "]\nmore = [\n  \"Lay the tape measure", "the home check has 0 steps"),
    (NECK, "motion = \"neck.rotation\"", "motion = \"neck.turn\"", "there is no joint motion"),
    (TEST, "id = \"arch-drops\"", "id = \"heel-lifts\"", "two signs are called"),
    (TEST, "limited = \"Your", "limits = \"Your", "the words for one side are missing"),
    (GRADED, "\"bends in the back\", ", "", "a graded test needs three grades"),
    // The vocabulary.
    (VOCABULARY, "[activities.rowing]", "[activities.\"Rowing!\"]", "use a name like `loop-band`"),
    (VOCABULARY, "level = \"emergency\"", "level = \"modify\"", "a screening question must stop the program"),
    (VOCABULARY, "ankle-dorsiflexion = \"In the boat", "\"Ankle!\" = \"In the boat", "use the name of a structure"),
    (VOCABULARY, "ease_to = 5", "ease_to = 2", "`ease_to` must be more than `fine_to`"),
    (VOCABULARY, "tell = \"Go lightly here.", "local_tell = \"Go lightly here.", "a caution has no `tell`"),
    // The order of work and the planning.
    (PHASES, "id = \"stretch\"", "id = \"loosen\"", "two phases are called"),
    (PLANNING, "usual = 5", "usual = 9", "`usual`, `warn_above` and `never_above` must rise"),
    (PLANNING, "usual_weeks = 4", "usual_weeks = 2", "weeks are not between 3 and 12"),
    (PLANNING, "phase = \"put-to-use\"", "phase = \"loosen\"", "does not come before the phase that waits for it"),
    (PLANNING, "steps = 1", "steps = 0.5", "`steps` must be a whole number of rungs"),
    // Pictures against what is declared.
    (SQUAT, "positions = [\"standing\"]", "positions = [\"sitting\"]", "the position `standing`"),
    (SQUAT_POSES, "neck.flexion = -14", "neck.rotation = 84", "the tag `end-range-neck` ("),
    (POSES, "rungs = [1]", "rungs = [7]", "a frame shows rung 7, but there are 3"),
    (SIGNS, "sign = \"heel-lifts\"", "sign = \"zzzzzzzzzzzz\"", "take the line out, or name a sign of the test"),
    // Reading of poses.
    (POSES, "authored = \"right\"", "authored = \"rigth\"", "did you mean `right`?"),
    (POSES, "authored", "zebra = 1\nauthored", "key of a picture"),
    (POSES, "say = \"Standing", "say = 3 # ", "found integer where text belongs"),
    (POSES, "distance = 16.4", "distance = \"far\"", "a number between -10000 and 10000"),
    (POSES, "view = \"right\"", "view = [1]", "this list must hold 2 numbers"),
    (POSES, "at = [-22, 4]", "at = [1, 2, 3, 4]", "a place has at most three coordinates"),
    (POSES, "site = \"right.knee\"", "site = \"knee\"", "`knee` needs a side"),
    (POSES, "site = \"right.knee\"", "site = \"right.crown\"", "`crown` has no sides"),
    (POSES, "site = \"right.knee\"", "site = \"right.kneecap\"", "place on the body"),
    (POSES, "left.knee.flexion = 12", "trunk.hop = 12", "motion of the trunk"),
    (POSES, "left.knee.flexion = 12", "knee.flexion = 12", "key of a pose"),
    (
        POSES,
        "allow = [\"both.forearm.pronation\"]",
        "allow = [\"forearm.pronation\"]",
        "write `both.forearm.pronation`",
    ),
    (POSES, "feel = [\"right.calf_low\"]", "ghost = 99", "there is no frame 99; there are 6"),
    (POSES, "view = \"right\"", "view = \"right\"\ncrop = { zebra = 1, site = \"head\" }", "key of `crop`"),
    (POSES, "pose = \"back\"\n", "", "a frame needs a pose"),
    (POSES, "kind = \"wall\"", "kind = \"wall\", name = \"window\"", "needs a `wall`, but the picture has none"),
    (POSES, "caption", "distance = [{ zebra = 1 }]\ncaption", "key of `distance`"),
    (POSES, "caption", "distance = [{ label = \"gap\" }]\ncaption", "a distance needs a place to measure from"),
    (POSES, "caption", "zebra = 1\ncaption", "key of a frame"),
    (POSES, "caption", "distance = [{ from = \"right.toe\" }]\ncaption", "a distance needs words to print at it"),
    (POSES, "caption", WORDY, "say it shorter"),
    (POSES, "view = \"right\"", "view = \"right\"\ncrop = { site = \"head\", radius = 1 }", "a close-up reaches"),
    (POSES, "\"right.heel on floor\"", "\"right.heel on floor\", \"right.heel on book\"", "at once"),
    (
        POSES,
        "rungs = [3]\nallow = [\"both.forearm.pronation\"]\ncaption = \"Knee",
        "rungs = [3]\narrow = [{ site = \"right.knee\" }]\ncaption = \"Knee",
        "an arrow of the last frame leads nowhere",
    ),
    (POSES, "arrow = [{ site", "arrow = [{ zebra = 1, site", "key of a mark"),
    (POSES, "arrow = [{ site = \"right.knee\", off", "arrow = [{ off", "a mark needs a site"),
    (POSES, "\"right.calf_low\"", "\"calf_low\"", "is not a muscle as written"),
    (POSES, "{ kind = \"wall\", distance", "{ distance", "a prop needs a kind"),
    (POSES, "kind = \"wall\"", "kind = \"well\"", "kind of prop"),
    (POSES, "faces = \"south\"", "faces = \"up\"", "way to face"),
    (POSES, "faces = \"south\"", "zebra = 1", "key of a prop"),
    (POSES, "distance = 16.4, ", "", "a wall needs `distance`"),
    (POSES, "height = 1.3", "height = -1", "is not between 0 and 400 percent of stature"),
    (SQUAT_POSES, "path = [[-27.5, 0, 28.8]", "path = [\"left.knee +up\"", "a shift is a direction and a number"),
    (BASES, "[pose.standing]", "[zebra]\n[pose.standing]", "table of a pose library"),
    (POSES, "[pose.start]", "[pose.start]\nbase = \"start\"", "is built on itself"),
    (POSES, "lock = [\"lean\"]", "hold = \"arm\"", "part that can hold the posture"),
    (POSES, "lock = [\"lean\"]", "lock = [\"slant\"]", "way to turn"),
    (POSES, "\"right.heel on floor\"", "\"right.heel at floor\"", "does not say what rests where"),
    (SQUAT_POSES, "range = 30", "zebra = 30", "key of `adjust`"),
    (SQUAT_POSES, "joint = \"both.knee.flexion\", ", "", "`adjust` needs `joint` and `until`"),
    (POSES, "heel = 14", "zebra = 14", "key of `reach`"),
    (POSES, "limb = \"left.foot\", ", "", "`reach` needs a limb"),
];

const CLIENT: &str = "clients/ana.toml";
const BRAND: &str = "layouts/brand.toml";
const WORDS: &str = "layouts/words/en.toml";
const VOCABULARY: &str = "exercises/vocabulary.toml";
const PHASES: &str = "exercises/phases.toml";
const PLANNING: &str = "exercises/planning.toml";
const EXERCISE: &str = "exercises/stretch/knee-to-wall.toml";
const SQUAT: &str = "exercises/put-to-use/chair-squat.toml";
const TEST: &str = "exercises/tests/knee-to-wall.toml";
const NECK: &str = "exercises/tests/neck-turn.toml";
const GRADED: &str = "exercises/tests/bend-and-lift-look.toml";
const BASES: &str = "exercises/poses/library.toml";
const POSES: &str = "exercises/poses/knee-to-wall.toml";
const SQUAT_POSES: &str = "exercises/poses/chair-squat.toml";
const SIGNS: &str = "exercises/poses/tests/knee-to-wall.toml";

const WORDY: &str =
    "distance = [{ from = \"right.toe\", label = \"as far as you can go today without any effort at all\" }]\ncaption";
const CROWD: &[u8] = b"[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n[[frames]]\npose = \"standing\"\n";
const LONG: &str = "\"Ana Silva Ana Silva Ana Silva Ana Silva Ana Silva Ana Silva Ana Silva Ana Silva Ana\"";
const OVERRIDE: &str =
    "[[overrides]]\nquestion = \"chest-pain\"\nby = \"maren\"\non = 2026-11-20\nwhy = \"x\"\n[[visits]]";
const REFERRAL: &str =
    "[[referrals]]\nregion = \"ankle\"\nto = \"Dr Lee\"\nwhy = \"x\"\non = 2026-11-10\nclosed = 2026-11-09\n[[visits]]";
const ENDLESS: &str = "feel = \"{% for a in range(9999) %}{% for b in range(9999) %}x{% endfor %}{% endfor %}";
const EFFECTS: &str = "[[effects]]
structure = \"ankle-dorsiflexion\"
state = \"stiff\"
effect = 0.55
[[effects]]
structure = \"calf\"
state = \"short\"
effect = 0.35
";
const RUNGS: &str = "[[rungs]]
name = \"Weight on the front foot\"
how = \"Put most of your weight on your {{ side }} foot.\"
[[rungs]]
name = \"Front of the foot on a book\"
how = \"Put the front half of your {{ side }} foot on a thin book.\"
";

/// Files that are added or replaced as a whole.
pub const FILES: &[(&str, &[u8], &str)] = &[
    (CLIENT, b"name = \"Ana\xff\"", "line 1 is not UTF-8 text"),
    (PHASES, b"", "there are no phases here"),
    ("exercises/put-to-use/knee-to-wall.toml", b"", "another exercise has this name"),
    ("exercises/stretch/Heel.toml", b"", "rename the file; lower case only"),
    ("exercises/poses/wall-walk.toml", b"[[frames]]\npose = \"standing\"", "there is no usable exercise `wall-walk`"),
    (POSES, CROWD, "pictures stand side by side here"),
    (POSES, b"view = \"right\"", "a picture needs at least one frame"),
    (POSES, b"[[frames]]\npose = \"standing\"\nrungs = [2]", "a rung has no frame that shows it"),
    ("exercises/pictures/a.svg", &[b' '; (1 << 20) + 1], "simplify its paths"),
    ("exercises/pictures/a.svg", b"\xff", "this drawing is not UTF-8 text"),
    ("exercises/pictures/a.svg", b"<!DOCTYPE svg><svg/>", "this drawing declares a document type or entities"),
    ("exercises/pictures/a.svg", b"<svg>", "this drawing is not well-formed"),
    ("exercises/pictures/a.svg", b"<svg><script/></svg>", "this drawing holds a `script` element"),
    ("exercises/pictures/a.svg", b"<svg><text>a</text></svg>", "this drawing holds text, which needs a font"),
    (
        "exercises/pictures/a.svg",
        b"<svg><a href='http://x.example'/></svg>",
        "refers to something outside itself: `href`",
    ),
    ("exercises/pictures/a.svg", b"<svg><style>@import 'a.css';</style></svg>", "the style of this drawing refers"),
    ("exercises/pictures/a.svg", EMPTY, "this drawing is empty"),
    ("exercises/pictures/a.svg", UNSIZED, "this drawing cannot be drawn"),
    ("exercises/pictures/a.png", b"not a picture", "this is neither a PNG nor a JPEG picture"),
    ("exercises/pictures/a.png", b"\x89PNG\r\n\x1a\n", "this picture cannot be read"),
    ("exercises/pictures/a.png", &png(9000, 9000), "which is more than paper can use"),
    ("exercises/pictures/a.png", &png(90, 90), "would print blurred"),
    ("exercises/pictures/a.png", &png(900, 900), "this picture is damaged"),
    ("clients/ben.toml", &[b'#'; (4 << 20) + 1], "is 4 MB large, but at most 4 MB are read"),
];

const EMPTY: &[u8] = b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'></svg>";

const UNSIZED: &[u8] = b"<svg xmlns='http://www.w3.org/2000/svg' width='0' height='9'></svg>";

/// The head of a PNG of that size, and no pixels after it.
const fn png(width: u32, height: u32) -> [u8; 41] {
    let mut bytes = *b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR____....\x08\x02\0\0\0CRC!\0\0\0\x09IDAT";
    let sizes = [width.to_be_bytes(), height.to_be_bytes()];
    let mut i = 0;
    while i < 8 {
        bytes[16 + i] = sizes[i / 4][i % 4];
        i += 1;
    }
    let crc = crc(&bytes).to_be_bytes();
    i = 0;
    while i < 4 {
        bytes[29 + i] = crc[i];
        i += 1;
    }
    bytes
}

/// The checksum of the head, from its name to its last field (PNG, third edition, annex D).
const fn crc(bytes: &[u8; 41]) -> u32 {
    let (mut crc, mut i) = (u32::MAX, 12);
    while i < 29 {
        crc ^= bytes[i] as u32;
        let mut bit = 0;
        while bit < 8 {
            crc = if crc & 1 == 1 { 0xedb8_8320 ^ (crc >> 1) } else { crc >> 1 };
            bit += 1;
        }
        i += 1;
    }
    !crc
}

/// A case that takes more than one change, or more than reading to be noticed.
pub struct Deeper {
    pub through: Through,
    pub breaks: fn(&Small),
    pub expected: &'static str,
}

const fn deeper(through: Through, breaks: fn(&Small), expected: &'static str) -> Deeper {
    Deeper { through, breaks, expected }
}

/// The line of Ana's program.
const PROGRAM: &str = "program = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n";
const TWO: &str = "program = [{ exercise = \"knee-to-wall\", side = \"right\" }, { exercise = \"chair-squat\" }]\n";
const COUNT: &str = "usual = 5\nwarn_above = 6\nnever_above = 8";

pub const DEEPER: &[Deeper] = &[
    deeper(Through::Files, |p| fs::remove_dir_all(p.root()).unwrap(), "name a practice folder with `--practice`"),
    deeper(Through::Files, |p| fs::remove_file(p.root().join(CLIENT)).unwrap(), "there are no client records here"),
    deeper(Through::Files, |p| fs::remove_file(p.root().join(BRAND)).unwrap(), "this file is missing"),
    deeper(
        Through::Files,
        |p| {
            fs::remove_dir_all(p.root().join("exercises/poses/tests")).unwrap();
            p.write("exercises/poses/tests", "a file where a folder should be");
        },
        "cannot be read: not a directory",
    ),
    #[cfg(unix)]
    deeper(
        Through::Files,
        |p| std::os::unix::fs::symlink("/etc/hostname", p.root().join("clients/ben.toml")).unwrap(),
        "this link leads out of the practice folder",
    ),
    #[cfg(unix)]
    deeper(
        Through::Files,
        |p| std::os::unix::fs::symlink("nothing.toml", p.root().join("clients/ben.toml")).unwrap(),
        "this link leads to nothing",
    ),
    #[cfg(target_os = "linux")]
    deeper(
        Through::Files,
        |p| {
            use std::os::unix::ffi::OsStrExt;
            let name = std::ffi::OsStr::from_bytes(b"ana\xff.toml");
            fs::write(p.root().join("clients").join(name), "").unwrap();
        },
        "holds a file name that is not UTF-8",
    ),
    deeper(
        Through::Files,
        |p| p.replace(SIGNS, "sign = \"heel-lifts\"", "sign = \"heel-lift\""),
        "there is no sign `heel-lift` in what this file shows",
    ),
    deeper(
        Through::Files,
        |p| {
            p.replace(PHASES, "id = \"stretch\"", "id = \"lengthen\"");
            p.replace(PLANNING, "\"stretch\"", "\"lengthen\"");
        },
        "the folder `stretch` is not a phase",
    ),
    deeper(
        Through::Files,
        |p| {
            p.replace(SQUAT_POSES, "both.shoulder.flexion = 28", "both.shoulder.flexion = 170");
            p.replace(SQUAT_POSES, "reach = [{ limb = \"both.hand\", to = \"breastbone\"", "reach = []\n# ");
        },
        "the tag `overhead`",
    ),
    deeper(Through::Check, |p| p.write("clients/Ana.toml", ANA), "is not a usable name"),
    // Planning.
    deeper(
        Through::Check,
        |p| p.replace(CLIENT, "[[visits]]", "no_positions = [\"standing\"]\n[[visits]]"),
        "`knee-to-wall` is not for Ana",
    ),
    deeper(
        Through::Check,
        |p| p.replace(CLIENT, "[[visits]]", "no_equipment = [\"wall\"]\n[[visits]]"),
        "`knee-to-wall` is not for Ana",
    ),
    deeper(
        Through::Check,
        |p| p.replace(EXERCISE, "[[effects]]", "[[asks]]\ntest = \"knee-to-wall\"\nat_least = 20\n[[effects]]"),
        "`knee-to-wall` is not for Ana",
    ),
    deeper(
        Through::Check,
        |p| {
            p.replace(CLIENT, PROGRAM, "");
            p.replace(CLIENT, "[[visits]]", "no_equipment = [\"wall\", \"chair\"]\n[[visits]]");
        },
        "there is work to do, but nothing in the library is for Ana",
    ),
    deeper(
        Through::Check,
        |p| {
            p.replace(CLIENT, PROGRAM, "");
            p.replace(CLIENT, "right = 6 }", "right = 6 }, { test = \"neck-turn\", left = 20, right = 20 }");
        },
        "nothing in the library works on",
    ),
    deeper(
        Through::Check,
        |p| {
            p.replace(CLIENT, PROGRAM, TWO);
            p.replace(PLANNING, COUNT, "usual = 1\nwarn_above = 1\nnever_above = 1");
        },
        "nobody keeps up more than 1",
    ),
    deeper(
        Through::Check,
        |p| {
            p.replace(CLIENT, PROGRAM, TWO);
            p.replace(PLANNING, COUNT, "usual = 1\nwarn_above = 1\nnever_above = 8");
        },
        "people keep up 1 or fewer better",
    ),
    deeper(
        Through::Check,
        |p| {
            let before = format!("[[visits]]\non = 2026-10-20\nscreening = {{ yes = [] }}\n{PROGRAM}\n[[visits]]\non");
            p.replace(CLIENT, "[[visits]]\non", &before);
            p.replace(CLIENT, "6 }]\nprogram = [{ exercise", "6 }]\nprogram = [{ rung = 2, exercise");
            p.replace(PLANNING, "per_region = 1", "per_region = 0");
        },
        "go up a rung at once",
    ),
    deeper(
        Through::Check,
        |p| p.replace(CLIENT, "on = 2026-11-20", "on = 2026-11-20\nnext = 2027-05-20"),
        "agree an earlier day",
    ),
    deeper(
        Through::Check,
        |p| p.replace(CLIENT, "minutes_a_day = 20", "minutes_a_day = 1"),
        "minutes on its fullest day, but Ana has 1",
    ),
    deeper(
        Through::Check,
        |p| {
            p.replace(EXERCISE, "reps = { min = 6, start = 8, max = 10 }\n", "");
            p.replace(EXERCISE, "state = \"stiff\"\neffect = 0.55", "state = \"short\"\neffect = 0.25");
            p.replace(PLANNING, "least_s = 300\nenough_s = 600", "least_s = 7000\nenough_s = 7000");
        },
        "s of stretch a week",
    ),
    deeper(
        Through::Check,
        |p| p.replace(CLIENT, "yes = []", "asked_on = 2026-11-01, yes = []"),
        "the health questions were last asked on 2026-11-01",
    ),
    deeper(
        Through::Check,
        |p| p.replace(POSES, "right.knee.flexion = 32", "right.knee.flexion = -32"),
        "correct the pose, or name the joint under `allow` in its frame",
    ),
    // Printing.
    deeper(
        Through::Print(Which::Due),
        |p| p.replace("layouts/handout.typ", "#show: base", "#show: base\n#nothing-like-this"),
        "unknown variable",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| p.replace("layouts/plan.typ", "par(m.sub) })", "par(block(m.sub)) })"),
        "block may not occur inside of a paragraph",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| p.replace("layouts/plan.typ", "par(m.sub) })", "[] })"),
        "this text did not reach the paper",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| p.replace("layouts/plan.typ", "par(m.sub) })", "place(dx: 150mm, box(m.sub)) })"),
        "this does not fit the paper",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| {
            let layout = fs::read_to_string(p.root().join("layouts/handout.typ")).unwrap();
            p.write("layouts/handout.typ", format!("{layout}\n#figure(image(\"logo.svg\"))"));
        },
        "alt",
    ),
    deeper(Through::Print(Which::Due), |p| p.replace(CLIENT, "Climb the", "Climb 🧗 the"), "🧗"),
    deeper(
        Through::Print(Which::Due),
        |p| p.write("out", "a file where a folder should be"),
        "check the folder and print again",
    ),
    deeper(Through::Print(Which::Again), |_| {}, "no sheet has been issued yet"),
    deeper(
        Through::Print(Which::Due),
        |p| p.write("clients/ana.sheets.toml", "zebra = 1"),
        "this record of sheets was changed by hand",
    ),
    deeper(
        Through::Print(Which::Again),
        |p| {
            assert_eq!(p.print(Which::Due), []);
            p.replace(CLIENT, "Climb the stairs with ease.", "Row.");
        },
        "sheet 1 cannot be made again as it was issued",
    ),
    deeper(
        Through::Print(Which::Due),
        |p| {
            assert_eq!(p.print(Which::Due), []);
            p.replace(CLIENT, "Climb the stairs with ease.", "Row.");
        },
        "renew",
    ),
];
