//! One text of a file to replace, and a piece of what must be said then.

/// A file, what to replace in it, by what, and a piece of what must be said then.
pub type Edit = (&'static str, &'static str, &'static str, &'static str);

/// A visit two weeks earlier, and the diary of the days since then.
macro_rules! since {
    ($diary:literal) => {
        concat!(
            "[[visits]]\non = 2026-11-06\nscreening = { yes = [] }\n",
            "program = [{ exercise = \"knee-to-wall\", side = \"right\" }]\n\n",
            "[[visits]]\non = 2026-11-20\ndiary = [",
            $diary,
            "]\n"
        )
    };
}

/// The mark of an angle, before a caption.
macro_rules! angle {
    ($keys:literal) => {
        concat!("angle = [{ ", $keys, " }]\ncaption")
    };
}

pub const EDITS: &[Edit] = &[
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
    (
        CLIENT,
        "exercise = \"knee-to-wall\"",
        "exercise = \"Knee to wall\"",
        "small letters: did you mean `knee-to-wall`?",
    ),
    (CLIENT, "exercise = \"knee-to-wall\"", "exercise = \"?!\"", "use a name like `knee-to-wall`"),
    (CLIENT, "right = 6", "right = 6,5", "write numbers with a point"),
    (CLIENT, "on = 2026-11-20", "on = 20/11/2026", "write dates as year-month-day"),
    (CLIENT, "goals = [", "referrals = [\"knee\"]\ngoals = [", "a table in braces"),
    (CLIENT, "goals = [", "referrals = [\"knee\"]\ngoals = [", "each in braces with its keys"),
    (CLIENT, "loves = [\"rowing\"]", "loves = [\"zebras\"]", "; exercises/vocabulary.toml takes more"),
    (CLIENT, "left = 10, right = 6", "value = 6", "`knee-to-wall` is read on each side"),
    (CLIENT, "left = 10, right = 6", "value = 6", "write `left = ...` and `right = ...`"),
    (CLIENT, "\"knee-to-wall\", left = 10, right = 6", "\"bend-and-lift-look\", left = 1", "has no sides"),
    (
        CLIENT,
        "\"knee-to-wall\", left = 10, right = 6",
        "\"bend-and-lift-look\", left = 1",
        "and `signs` without a side",
    ),
    (CLIENT, "minutes_a_day = 20", "minutes_a_day = 20.5", "a whole number"),
    (SQUAT, "bend your knees slowly.", "bend your knees.", "and 0 of the steps say “slowly”"),
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
    (WORDS, "\nwall = ", "\nwal = ", "`pictures.props` has no `wall`"),
    (WORDS, "\nwall = ", "\nwal = ", "no picture shows `wal`"),
    (WORDS, "seat = \"the", "seat = \"the {{ side }}", "`seat` must name nothing"),
    (
        WORDS,
        "calf_low = \"the {{ side }} lower calf",
        "calf_low = \"the lower calf",
        "`calf_low` must name the side, and nothing else",
    ),
    (WORDS, "[\"left\", \"right\"]", "[\"left\"]", "a form of left and right must hold two words"),
    // The brand.
    (BRAND, "ink = \"#16242d\"", "ink = \"dark\"", "write six hex digits"),
    (BRAND, "ink = \"#16242d\"", "ink = \"16242d\"", "is not a colour"),
    (BRAND, "accent = \"#0b5a68\"", "accent = \"#ffd400\"", "but to be read with ease it needs 7 to 1"),
    (BRAND, "accent = \"#0b5a68\"", "accent = \"#ffd400\"", "the nearest darker shade that passes is"),
    (BRAND, "accent = ", "# accent = ", "the brand has no `accent`"),
    (BRAND, "accent = ", "# accent = ", "add a line such as `accent = \"#0b5a68\"`"),
    (
        BRAND,
        "coach = \"maren\"",
        "coach = \"maren\"\nemergency_line = \"Call 112.\"",
        "is a sentence, but it goes into one",
    ),
    (BRAND, "coach = \"maren\"", "coach = \"maren\"\nemergency_line = \"Call 112.\"", "write only whom to call"),
    (BRAND, "Maren Holt", "<Your name>", "a text is still as written for a start; sheets carry them as they are"),
    (EXERCISE, "feel = \"", "feel = \"<", "until then nobody is given this"),
    (EXERCISE, "steps = [", "steps = [\"<Stand.>\", \"<Sit.>\",", "2 texts are still as written for a start"),
    (EXERCISE, "feel = \"", "feel = \"<", "take the angle brackets away"),
    (BRAND, "language = \"en\"", "language = \"EN\"", "a language is two or three small letters"),
    (BRAND, "language = \"en\"", "language = \"fr\"", "this language has no standing texts"),
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
    // What the record says of the time since the last visit.
    (CLIENT, "on = 2026-11-20", FIRST_DIARY, "`diary` is about the last program, but this is the first visit"),
    (CLIENT, VISIT, OTHER_DIARY, "name an exercise that was given there"),
    (CLIENT, VISIT, DOUBLE_DIARY, "`knee-to-wall` stands twice in `diary`"),
    (CLIENT, VISIT, LONG_DIARY, "30 days done, but the last visit was 14 days ago"),
    // How plain it reads.
    (EXERCISE, "feel = \"A mild", "feel = \"A posterior", "“posterior” is not an everyday word here"),
    (PLAIN, "aim = 6.0", "aim = 0.5", "take shorter words and shorter sentences"),
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
    (EXERCISE, "[[effects]]", PART, "this is no part of a picture"),
    (
        EXERCISE,
        "sides = [",
        "video = \"http://tern.example/a\"\nsides = [",
        "is not an address that a handout can print",
    ),
    (EXERCISE, EFFECTS, "", "the exercise acts on nothing"),
    (EXERCISE, RUNGS, "", "the exercise has 1 rungs"),
    (EXERCISE, "min = 1, start = 2", "min = 2, start = 1", "must rise from min over start to max"),
    (EXERCISE, "reps = { min = 6, start = 8, max = 10 }\nhold_s", "hold", "the dose has neither `reps` nor `hold_s`"),
    (
        EXERCISE,
        "\nstart = \"",
        "\nmoving = true\nstart = \"",
        "`moving` is for a dose in seconds, without counted times",
    ),
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
    (POSES, "distance = 17", "distance = \"far\"", "a number between -10000 and 10000"),
    (POSES, "view = [-98, 6]", "view = [1]", "this list must hold 2 numbers"),
    (POSES, "at = [-22, 4]", "at = [1, 2, 3, 4]", "a place has at most three coordinates"),
    (POSES, "site = \"right.knee\"", "site = \"knee\"", "`knee` needs a side"),
    (POSES, "site = \"right.knee\", ", "", "`kinleaf list places` names all places"),
    (POSES, "authored = \"right\"", "authored = \"zzzzzzzzz\"", "known: left, right, both"),
    (POSES, "left.knee.flexion = 12", "left.knee.flexion = 200", "`knee.flexion` goes from -5 to 155"),
    (POSES, "left.knee.flexion = 12", "left.knee.flexion = 200", "write an angle that a body has"),
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
    (POSES, "view = [-98, 6]", "view = [-98, 6]\ncrop = { zebra = 1, site = \"head\" }", "key of `crop`"),
    (POSES, "pose = \"back\"\n", "", "a frame needs a pose"),
    (POSES, "kind = \"wall\"", "kind = \"wall\", name = \"window\"", "needs a `wall`, but the picture has none"),
    (POSES, "caption", "zebra = 1\ncaption", "key of a frame"),
    (POSES, "caption", "hold = 3\ncaption", "`hold` says only that the pose is held"),
    (SQUAT_POSES, "caption", "hold = true\ncaption", "this frame is held, but the dose of rung 1 has no `hold_s`"),
    (POSES, "caption", angle!("zebra = 1"), "key of `angle`"),
    (POSES, "caption", angle!("joint = \"right.hip\""), "an angle needs a joint and two lines"),
    (POSES, "caption", angle!("joint = \"right.toe\""), "`right.toe` is no joint at which an angle can be marked"),
    (POSES, "caption", angle!("joint = \"right.hip\", from = \"feet\", to = \"right.hip\""), "leads nowhere"),
    (POSES, "caption", angle!("r = 1"), "an angle needs an arc of at least 4, not 1"),
    (POSES, "from = \"right.toe\"", "zebra = 1, from = \"right.toe\"", "key of `distance`"),
    (POSES, "from = \"right.toe\", ", "", "a distance needs a place to measure from"),
    (
        POSES,
        "from = \"right.toe\", label",
        "from = \"right.toe\" }]\nlook = [{ label",
        "a distance needs words to print at it",
    ),
    (POSES, "label = '", WORDY, "words at a mark have at most 80 characters"),
    (POSES, "view = [-98, 6]", "view = [-98, 6]\ncrop = { site = \"head\", radius = 1 }", "a close-up reaches"),
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
    (POSES, "distance = 17, ", "", "a wall needs `distance`"),
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

pub const CLIENT: &str = "clients/ana.toml";
pub const BRAND: &str = "layouts/brand.toml";
pub const WORDS: &str = "layouts/words/en.toml";
pub const PLAIN: &str = "layouts/quality/en.toml";
pub const VOCABULARY: &str = "exercises/vocabulary.toml";
pub const PHASES: &str = "exercises/phases.toml";
pub const PLANNING: &str = "exercises/planning.toml";
pub const EXERCISE: &str = "exercises/stretch/knee-to-wall.toml";
pub const SQUAT: &str = "exercises/put-to-use/chair-squat.toml";
pub const TEST: &str = "exercises/tests/knee-to-wall.toml";
pub const NECK: &str = "exercises/tests/neck-turn.toml";
pub const GRADED: &str = "exercises/tests/bend-and-lift-look.toml";
pub const BASES: &str = "exercises/poses/library.toml";
pub const POSES: &str = "exercises/poses/knee-to-wall.toml";
pub const SQUAT_POSES: &str = "exercises/poses/chair-squat.toml";
pub const SIGNS: &str = "exercises/poses/tests/knee-to-wall.toml";

const WORDY: &str = "label = 'as far as you can go today without any effort at all, and then a little less than that ";
const LONG: &str = "\"Ana Silva Ana Silva Ana Silva Ana Silva Ana Silva Ana Silva Ana Silva Ana Silva Ana\"";
const OVERRIDE: &str =
    "[[overrides]]\nquestion = \"chest-pain\"\nby = \"maren\"\non = 2026-11-20\nwhy = \"x\"\n[[visits]]";
const REFERRAL: &str =
    "[[referrals]]\nregion = \"ankle\"\nto = \"Dr Lee\"\nwhy = \"x\"\non = 2026-11-10\nclosed = 2026-11-09\n[[visits]]";
const ENDLESS: &str = "feel = \"{% for a in range(9999) %}{% for b in range(9999) %}x{% endfor %}{% endfor %}";
const VISIT: &str = "[[visits]]\non = 2026-11-20\n";
const FIRST_DIARY: &str =
    "on = 2026-11-20\ndiary = [{ exercise = \"knee-to-wall\", days = 3, discomfort = 1, felt = \"right\" }]";
const OTHER_DIARY: &str = since!("{ exercise = \"chair-squat\", days = 3, discomfort = 1, felt = \"right\" }");
const DOUBLE_DIARY: &str = since!(
    "{ exercise = \"knee-to-wall\", days = 3, discomfort = 1, felt = \"right\" },
    { exercise = \"knee-to-wall\", days = 4, discomfort = 1, felt = \"right\" }"
);
const LONG_DIARY: &str = since!("{ exercise = \"knee-to-wall\", days = 30, discomfort = 1, felt = \"right\" }");
const PART: &str = "[[pictures]]\nfile = \"a.png\"\nalt = \"A.\"\ncrop = [50, 0, 80, 100]\n[[effects]]";
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
